"""The language of conditions against a slow reading of its own, and what it refuses."""

from __future__ import annotations

import ast
import operator
import random

import numpy as np
import pandas as pd
import pytest

from gatepost.clauses import ClauseError, compile_clause
from gatepost.encode import FrameColumns, typed
from gatepost.library import library

REGISTER = library().register
PARTS = REGISTER.facts["parts"]
NUMBERS = ["thickness_mm", "width_mm", "pitch_deg"]
ORDERED = ["use_class", "wood_part", "treatment_category"]
PLAIN = ["role", "product", "lies"]
MANY = ["exposure", "near"]
SIGNS = {"<": operator.lt, "<=": operator.le, ">": operator.gt, ">=": operator.ge, "==": operator.eq, "!=": operator.ne}


def slow(node, row):
    """True, False or None (unknown) of one clause for one row, by plain Python."""
    if isinstance(node, ast.BoolOp):
        values = [slow(value, row) for value in node.values]
        decisive = not isinstance(node.op, ast.And)
        return decisive if decisive in values else None if None in values else not decisive
    if isinstance(node, ast.UnaryOp):
        value = slow(node.operand, row)
        return None if value is None else not value
    left, op, right = node.left, node.ops[0], node.comparators[0]
    if isinstance(op, ast.In | ast.NotIn):
        if isinstance(left, ast.Constant):
            held = row[right.id]
            found = None if held is None else left.value in held.split(" + ")
        else:
            found = None if row[left.id] is None else row[left.id] in ast.literal_eval(right)
        return found if isinstance(op, ast.In) or found is None else not found
    sign = SIGNS[{ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "==", ast.NotEq: "!="}[type(op)]]
    a, b = value_of(left, row), value_of(right, row)
    if a is None or b is None:
        return None
    if isinstance(a, str) and not isinstance(op, ast.Eq | ast.NotEq):
        order = PARTS[left.id].values
        a, b = order.index(a), order.index(b)
    return sign(a, b)


def value_of(node, row):
    if isinstance(node, ast.Name):
        return row[node.id]
    if isinstance(node, ast.Constant):
        return node.value
    a, b = value_of(node.left, row), value_of(node.right, row)
    if a is None or b is None:
        return None
    return {ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul}[type(node.op)](a, b)


def a_clause(rng, depth=0):
    kind = rng.choice(["number", "ordered", "plain", "many", "sum"] + (["and", "or", "not"] if depth < 3 else []))
    if kind in ("and", "or"):
        return f"({a_clause(rng, depth + 1)} {kind} {a_clause(rng, depth + 1)})"
    if kind == "not":
        return f"(not {a_clause(rng, depth + 1)})"
    if kind == "number":
        return f"{rng.choice(NUMBERS)} {rng.choice(list(SIGNS))} {rng.choice([0, 10, 20, 30])}"
    if kind == "sum":
        return f"{rng.choice(NUMBERS)} + 2 * {rng.choice(NUMBERS)} {rng.choice(list(SIGNS))} {rng.choice(NUMBERS)} - 5"
    if kind == "ordered":
        name = rng.choice(ORDERED)
        return f"{name} {rng.choice(list(SIGNS))} {rng.choice(PARTS[name].values)!r}"
    if kind == "plain":
        name = rng.choice(PLAIN)
        words = rng.sample(PARTS[name].values, min(3, len(PARTS[name].values)))
        return rng.choice(
            [f"{name} {rng.choice(['in', 'not in'])} {words}", f"{name} {rng.choice(['==', '!='])} {words[0]!r}"]
        )
    name = rng.choice(MANY)
    return f"{rng.choice(PARTS[name].values)!r} {rng.choice(['in', 'not in'])} {name}"


def a_row(rng):
    row = {name: rng.choice([None, 0.0, 5.0, 10.0, 20.0, 30.0]) for name in NUMBERS}
    row |= {name: rng.choice([None, *PARTS[name].values]) for name in [*ORDERED, *PLAIN]}
    for name in MANY:
        words = [word for word in PARTS[name].values if rng.random() < 0.3]
        row[name] = " + ".join(words) or None
    return row


def test_masks_are_those_of_a_slow_reading():
    rng = random.Random(7)
    rows = [a_row(rng) for _ in range(60)]
    frame = pd.DataFrame({name: typed(PARTS[name], [row[name] for row in rows]) for name in rows[0]})
    columns = FrameColumns("parts", REGISTER, frame)
    undecided = 0
    for _ in range(400):
        text = a_clause(rng)
        yes, no = (np.broadcast_to(mask, len(rows)) for mask in compile_clause(text, "parts", REGISTER).ask(columns))
        wanted = [slow(ast.parse(text, mode="eval").body, row) for row in rows]
        assert list(yes) == [value is True for value in wanted], text
        assert list(no) == [value is False for value in wanted], text
        undecided += wanted.count(None)
    assert undecided > 1000


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("__import__('os').system('x')", "comparison"), ("role.__class__ == 'x'", ""), ("(lambda: 1)() > 0", ""), ("[x for x in role] == 1", ""), ("width_mm[0] > 1", ""),
        ("f'{role}' == 'post'", ""), ("width_mm ** 9 > 1", "+ - * /"), ("width_mm", "comparison"), ("True", "comparison"), ("width_mm > True", ""), ("wdth_mm > 3", "width_mm"),
        ("role == 'pots'", "post"), ("role > 'post'", "no order"), ("exposure == 'ground'", "several"), ("'ground' in role", "one value"), ("width_mm in [1, 2]", "number"),
        ("part == 'x'", "free text"), ("climate > 1", "free text"), ("width_mm > 'post'", ""), ("role == width_mm", ""), ("use_class < use_category", "same words"), ("width_mm >", "read"),
        ("width_mm is 3", ""), ("width_mm > 1 if role == 'post' else 2", ""), ("x := 3", ""), ("(" * 300 + "width_mm > 1" + ")" * 300, ""), ("width_mm > 1 and " * 200 + "width_mm > 1", "longer"),
    ],
)  # fmt: skip
def test_all_else_is_refused(text, word):
    with pytest.raises(ClauseError) as caught:
        compile_clause(text, "parts", REGISTER)
    assert word in caught.value.what
    assert caught.value.at >= 1


def test_a_joint_asks_its_parts():
    clause = compile_clause("a_width_mm > 2 * b_width_mm and worse_exposure >= 'weather'", "joints", REGISTER)
    assert clause.columns == ("a_width_mm", "b_width_mm", "worse_exposure")
    with pytest.raises(ClauseError):
        compile_clause("worse_role == 'post'", "joints", REGISTER)
    with pytest.raises(ClauseError):
        compile_clause("a_width_mm > 3", "parts", REGISTER)


def test_where_the_limits_are_lifted_a_clause_too_deep_is_still_told(monkeypatch):
    """How deep the system itself reads differs; beyond its own depth it is told in one of two ways."""
    monkeypatch.setenv("GATEPOST_CLAUSE_SIGNS", "100000")
    monkeypatch.setenv("GATEPOST_CLAUSE_DEPTH", "100000")
    told = set()
    for deep in (2000, 4000, 9000):
        with pytest.raises(ClauseError) as caught:
            compile_clause("not " * deep + "thickness_mm < 3", "parts", REGISTER)
        told.add(str(caught.value))
    assert "nested too deeply" in told
    assert told <= {"nested too deeply", "not a comparison that can be read"}
