"""The judge against a slow one: every shipped rule asked row by row in plain Python, on the faulty demo and on one full of blanks."""

from __future__ import annotations

import ast
import functools
import math
import operator
from pathlib import Path

import pytest

from gatepost.deriving import derive
from gatepost.library import library
from gatepost.reading import read
from gatepost.review import review_facts

KNOWN = library()
FACTS = KNOWN.register.facts
DEMO = Path(__file__).resolve().parents[1] / "data" / "demo"
SIGNS = {
    ast.Lt: operator.lt,
    ast.LtE: operator.le,
    ast.Gt: operator.gt,
    ast.GtE: operator.ge,
    ast.Eq: operator.eq,
    ast.NotEq: operator.ne,
}
ACTS = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: lambda a, b: a / b if b else math.copysign(math.inf, a),
}
BLANKS = "parts:\n  - {part: a, material: oak, exposure: weather}\n  - {part: b, material: PT pine 4x4, exposure: ground}\n  - {part: c, material: plywood}\njoints:\n  - {joint: j, part_a: a, part_b: b, method: screws}\n  - {joint: k, part_a: c, part_b: zz}\n"


@functools.cache
def reviewed(name):
    return review_facts(derive(read(name)))


@pytest.fixture(params=["faulty", "sound", "blanks", "blanks eu"])
def made(request, tmp_path_factory):
    if not request.param.startswith("blanks"):
        return reviewed(DEMO / request.param / "project.yaml")
    path = tmp_path_factory.mktemp("p") / "project.yaml"
    path.write_text(BLANKS + ("scheme: eu\n" if request.param.endswith("eu") else ""))
    return reviewed(path)


def plain(value):
    return None if value is None or value != value else value


class Row:
    """Facts of one row by name, as (value, order of the words)."""

    def __init__(self, facts, over, at):
        self.facts, self.over, self.at = facts, over, at

    def get(self, name):
        frames = {"parts": self.facts.parts, "joints": self.facts.joints}
        if self.over != "project" and name in FACTS[self.over]:
            return plain(frames[self.over][name].iloc[self.at]), FACTS[self.over][name].values
        if name in FACTS["project"]:
            return plain(self.facts.whole[name].iloc[0]), FACTS["project"][name].values
        side, _, rest = name.partition("_")
        column = FACTS["parts"][rest]
        if side == "worse":
            pair = [self.get(f"{one}_{rest}")[0] for one in "ab"]
            worst = (
                None
                if None in pair
                else max((word for text in pair for word in text.split(" + ")), key=column.values.index)
            )
            return worst, column.values
        row = self.facts.joints[f"{side}_row"].iloc[self.at]
        return (None if row < 0 else plain(frames["parts"][rest].iloc[row])), column.values


def value_of(node, row):
    if isinstance(node, ast.Constant):
        return node.value, ()
    if isinstance(node, ast.Name):
        return row.get(node.id)
    if isinstance(node, ast.UnaryOp):
        value = value_of(node.operand, row)[0]
        return (None if value is None else -value), ()
    a, b = value_of(node.left, row)[0], value_of(node.right, row)[0]
    return (None if a is None or b is None else plain(ACTS[type(node.op)](a, b))), ()


def compared(left, op, right, row):
    if isinstance(op, ast.In | ast.NotIn):
        if isinstance(right, ast.Name):
            held = row.get(right.id)[0]
            found = None if held is None else left.value in held.split(" + ")
        else:
            held = row.get(left.id)[0]
            found = None if held is None else held in [item.value for item in right.elts]
        return found if found is None or isinstance(op, ast.In) else not found
    (a, order), (b, _) = value_of(left, row), value_of(right, row)
    if a is None or b is None:
        return None
    return SIGNS[type(op)](order.index(a), order.index(b)) if isinstance(a, str) else SIGNS[type(op)](a, b)


def every(answers):
    return False if False in answers else None if None in answers else True


def asked(node, row):
    """True, False or None of one condition, by Kleene's tables."""
    if isinstance(node, ast.BoolOp):
        answers = [asked(value, row) for value in node.values]
        if isinstance(node.op, ast.And):
            return every(answers)
        return True if True in answers else None if None in answers else False
    if isinstance(node, ast.UnaryOp):
        answer = asked(node.operand, row)
        return None if answer is None else not answer
    sides = [node.left, *node.comparators]
    return every([compared(sides[i], op, sides[i + 1], row) for i, op in enumerate(node.ops)])


def slow(made):
    """Places where each rule holds, and where it waits."""
    facts, holds, waits = made.facts, set(), set()
    counts = {"parts": len(facts.parts), "joints": len(facts.joints), "project": 1}
    for number, one in enumerate(made.judgement.rules):
        if one.rule.scheme not in (facts.project.scheme, "both"):
            continue
        trees = [ast.parse(text, mode="eval").body for text in one.rule.when]
        for at in range(counts[one.rule.over]):
            answer = every([asked(tree, Row(facts, one.rule.over, at)) for tree in trees])
            if answer is not False:
                (holds if answer else waits).add((number, one.rule.over, at))
    return holds, waits


def test_the_judge_finds_and_waits_where_a_slow_one_does(made):
    holds, waits = slow(made)
    found, waiting = made.judgement.found, made.judgement.waiting
    assert set(zip(found["rule"], found["over"], found["row"], strict=True)) == holds
    assert len(found) == len(holds)
    assert set(zip(waiting["rule"], waiting["over"], waiting["row"], strict=True)) == waits
    for rule, over, at, column in waiting.itertuples(index=False):
        assert Row(made.facts, over, at).get(column)[0] is None
        assert column in made.judgement.rules[rule].columns


def test_a_finding_is_explained_by_a_rule_that_names_it_and_touches_it(made):
    found, rules, joints = made.judgement.found, made.judgement.rules, made.facts.joints
    places = set(zip(found["rule"], found["over"], found["row"], strict=True))

    def touches(over, at, other, there):
        ends = {(o, r) for o, r in [(over, at), (other, there)] if o == "joints"}
        parts = {int(joints[f"{side}_row"].iloc[r]) for _, r in ends for side in "ab"}
        apart = {over, other} == {"parts", "joints"} and (at if over == "parts" else there) in parts
        return other == "project" or (over, at) == (other, there) or apart

    for rule, over, at, by in found.itertuples(index=False):
        able = {
            n
            for n, other, there in places
            if rules[rule].rule.rule in rules[n].rule.explains and touches(over, at, other, there)
        }
        assert by in able if able else by == -1


def test_worst_comes_first_and_each_accepted_word_is_counted_once(made):
    rank = ["stop", "fix", "note"]
    grave = [rank.index(made.judgement.rules[n].rule.severity) for n in made.judgement.found["rule"]]
    assert grave == sorted(grave)
    assert sum(made.counts.values()) == len(made.found) + len(made.missing) + len(made.stale)


def test_the_demos_are_not_empty_of_what_is_tested():
    faulty = reviewed(DEMO / "faulty" / "project.yaml").judgement
    assert (faulty.found["explained_by"] >= 0).any()
    assert len(faulty.found) > 20
