"""Files of rules asked directly: each complaint as its reader sees it, with its place."""

from __future__ import annotations

import re

import pytest
import yaml

from gatepost import yamlfile
from gatepost.errors import InputError
from gatepost.judging import check_file, load_rules
from gatepost.judging.rules import compiled
from gatepost.library import library
from test_judge_by_hand import WIDTH
from test_rule_proofs import GOOD, problems

BAD = "ours.yaml:{}: post-too-slim-here: {}"
NAME_RULE = "rule: a name is three to six small words joined by hyphens, and states the fault"
FACTS = "must be facts with values, for example {exposure: weather}"
PROOF = "matters; add a near_miss that breaks it alone"


@pytest.mark.parametrize(
    ("change", "line", "what"),
    [
        ({"severity": "high"}, 3, "severity: must be stop, fix or note, not 'high'"), ({"over": "part"}, 4, "over: must be parts, joints or project, not 'part'"), ({"message": "Only {wdth_mm} wide."}, 8, "message: {wdth_mm} is no column of parts; did you mean width_mm or length_mm?"),
        ({"remedy": "{wdth}"}, 9, "remedy: {wdth} is no column of parts"), ({"why": "{wdth}"}, 10, "why: {wdth} is no column of parts"), ({"source": "zz"}, 11, "source: 'zz' is no key of sources.yaml; write a key or practice"),
        ({"when": ["role == 'post'", "width_mm < 60", "lies == 'flat'"]}, 14, "example: does not satisfy the clause `lies == 'flat'`"), ({"near_miss": [{"role": "rail"}]}, 7, f"when: nothing shows that the clause `width_mm < 60` {PROOF}"),
        ({"near_miss": [{"role": "rail", "width_mm": 90}, {"width_mm": 90}, {"role": "rail"}]}, 16, "near_miss: must break exactly one clause; it breaks 2"), ({"near_miss": [{"role": "rail"}, {"width_mm": 90}, {"width_mm": 40}]}, 18, "near_miss: must break exactly one clause; it breaks 0"),
        ({"near_miss": [{"role": "rail"}, {"width_mm": 90}, {"role": "rail", "width_mm": None}]}, 18, None), ({"cured": [{"width_mm": 90}, {"width_mm": 55}]}, 20, "cured: does not silence the rule"), ({"cured": [{"width_mm": None}]}, 19, "cured: does not silence the rule"),
        ({"example": {"role": "pots", "width_mm": 50}}, 13, "example: role: 'pots' is not allowed; did you mean post?"), ({"example": {"rol": "post", "width_mm": 50}}, 13, "example: rol is no column of parts; did you mean role?"), ({"example": {"role": "post", "width_mm": True}}, 13, "example: width_mm: True is not allowed"),
        ({"near_miss": [{"role": "rail"}, "role"]}, 17, f"near_miss: {FACTS}"), ({"cured": [{"width_mm": 90}, "role"]}, 20, f"cured: {FACTS}"), ({"near_miss": [{"role": "rail"}, {"width_mm": 90}, {"width_mm": "x"}]}, 18, "near_miss: width_mm: 'x' is not allowed"), ({"cured": [{"width_mm": 90}, {"width_mm": "x"}]}, 20, "cured: width_mm: 'x' is not allowed"),
        ({"when": ["role == 'post'"] * 21}, 6, "when: more than 20 clauses; split the rule; GATEPOST_CLAUSES changes the limit of 20"), ({"when": ["role == 'post'", "wdth_mm < 60"]}, 7, f"when: character 1: {WIDTH}"), ({"explains": ["a", 3]}, 22, "explains: must be the name of a rule, not 3"),
        ({"example": {"role": "post"}}, 13, "example: does not satisfy the clause `width_mm < 60`"), ({"near_miss": [{"role": "rail"}, {"width_mm": 90}, {"width_mm": 1, "length_mm": [1]}]}, 18, "near_miss: length_mm: [1] is not allowed"),
    ],
)  # fmt: skip
def test_each_complaint_of_a_rule_says_what_and_where(change, line, what):
    """Each is the only one, but for the unknown width, which breaks one clause and leaves the other undecided."""
    wanted = what or "near_miss: must break exactly one clause; it breaks 1"
    assert problems(change) == [BAD.format(line, wanted)]


@pytest.mark.parametrize(
    ("name", "good"),
    [("a-b-c", True), ("a-b-c-d-e-f", True), ("a1-b2-c3", True), ("a-b", False), ("a-b-c-d-e-f-g", False), ("A-b-c", False), ("a-b-c-", False), ("a-b-" + "c" * 76, True), ("a-b-" + "c" * 77, False)],
)  # fmt: skip
def test_names_of_rules(name, good):
    assert problems({"rule": name}) == ([] if good else [f"ours.yaml:1: {name}: {NAME_RULE}"])


def test_every_fact_of_a_case_is_looked_at():
    """After a word that is no column, and after one that takes any text."""
    told = problems({"example": {"rol": "post", "part": "x", "role": "post", "width_mm": True}})
    assert [line.split(": ", 2)[2] for line in told] == [
        "example: rol is no column of parts; did you mean role?", "example: width_mm: True is not allowed",
    ]  # fmt: skip


def test_twenty_clauses_are_enough():
    asked = {"when": ["role == 'post'", *["width_mm < 60"] * 19], "near_miss": [{"role": "rail"}]}
    assert all("nothing shows" in one for one in problems(asked))
    assert len(problems(asked)) == 19


def test_complaints_come_in_the_order_of_the_lines():
    told = problems({"why": "{wdth}", "severity": "x"}, {"rule": "Bad"}, {"explains": [3]})
    lines = [int(re.match(r"ours\.yaml:(\d+)", one)[1]) for one in told]
    assert len(told) == 4
    assert lines == sorted(lines)


@pytest.mark.parametrize(("text", "place"), [("rules: 3", "ours.yaml:1"), ("", "ours.yaml"), ("3", "ours.yaml:1")])
def test_a_file_is_a_list_of_rules(text, place):
    rules, told = check_file(yamlfile.load(text, "ours.yaml", strict=False), library())
    assert rules == []
    assert [str(one) for one in told] == [f"{place}: must be a list of rules, each beginning with `- rule:`"]


def test_what_is_no_rule_is_told_apart_and_the_rest_still_read():
    text = yaml.safe_dump([3, {**GOOD, "cured": None}, {}], sort_keys=False)
    rules, told = check_file(yamlfile.load(text, "ours.yaml", strict=False), library())
    assert [one.rule.rule for one in rules] == ["post-too-slim-here"]
    assert str(told[0]) == "ours.yaml:1: rule 1: must be a rule: keys with values"
    assert str(told[1]) == f"ours.yaml:1: rule 1: {NAME_RULE}"
    assert {str(one).split(":")[2] for one in told[2:]} == {" rule 3"}


def test_a_file_proved_beforehand_is_compiled_as_one_that_proves_itself():
    for path in sorted((library().folder / "rules").glob("*.yaml"))[:2]:
        located = yamlfile.load_file(path, f"data/rules/{path.name}", False)
        (proved, problems), quick = check_file(located, library()), compiled(located, library())
        assert problems == []
        assert len(quick) == len(proved) > 5
        for one, other in zip(quick, proved, strict=True):
            assert (one.rule, one.status, one.place, one.line) == (other.rule, other.status, other.place, other.line)
            assert [(c.text, c.columns) for c in one.clauses] == [(c.text, c.columns) for c in other.clauses]


def test_all_that_is_wrong_in_a_file_is_told_at_once(tmp_path):
    """A key that stands twice, which the reader of YAML finds, and a word that the rules do not have."""
    path = tmp_path / "ours.yaml"
    path.write_text(yaml.safe_dump([{**GOOD, "severity": "high"}], sort_keys=False) + "  over: parts\n")
    with pytest.raises(InputError) as caught:
        load_rules(library(), [path])
    told = [str(one) for one in caught.value.problems]
    assert len(told) == 2
    assert "severity: must be stop, fix or note, not 'high'" in told[0]
    assert "over" in told[1]


def test_a_rule_stands_where_its_name_does(tmp_path):
    path = tmp_path / "ours.yaml"
    name = GOOD["rule"]
    path.write_text(
        yaml.safe_dump(
            [{**{key: value for key, value in GOOD.items() if key != "rule"}, "rule": name}], sort_keys=False
        )
    )
    line = path.read_text().splitlines().index(f"  rule: {name}") + 1
    assert (load_rules(library(), [path])[-1].line, line > 5) == (line, True)


def loaded(tmp_path, *changes):
    path = tmp_path / "ours.yaml"
    path.write_text(yaml.safe_dump([{**GOOD, **change} for change in changes], sort_keys=False))
    return path, load_rules(library(), [path])


def test_a_rule_of_ones_own_comes_last_with_its_place_and_status(tmp_path):
    source = next(iter(library().sources))
    path, rules = loaded(tmp_path, {}, {"rule": "of-a-known-work", "source": source, "cured": None})
    one, other = rules[-2:]
    assert (one.rule.rule, one.status, one.place, one.line) == ("post-too-slim-here", "practice", str(path), 1)
    assert (other.rule.rule, other.status) == ("of-a-known-work", library().sources[source].status)
    assert other.line > 1
    assert (one.rule.scheme, one.rule.explains, one.rule.cured, other.rule.cured) == ("both", [], [{"width_mm": 90}], [])  # fmt: skip
    assert one.columns == ("role", "width_mm")
    assert [clause.text for clause in one.clauses] == ["role == 'post'", "width_mm < 60"]
    assert all(shipped.place.startswith("data/rules/") and shipped.line for shipped in rules[:-2])


def names(*explains):
    return [{"rule": f"rule-called-{name}", "explains": [f"rule-called-{n}" for n in told]} for name, told in explains]


@pytest.mark.parametrize(
    ("explains", "circle"),
    [
        ([("a", "b"), ("b", "c"), ("c", "")], ""), ([("a", "a")], "a"), ([("a", "b"), ("b", "a")], "ab"), ([("a", "b"), ("b", "c"), ("c", "b"), ("d", "")], "bc"),
        ([("a", "bc"), ("b", "c"), ("c", "")], ""), ([("a", "b"), ("b", "a"), ("c", "a"), ("d", "c")], "ab"), ([("a", "b"), ("b", "a"), ("c", ""), ("d", "c")], "ab"),
        ([("a", "ab"), ("b", "c"), ("c", "cd"), ("d", "")], "abc"), ([("a", "bb"), ("b", "")], ""), ([("a", "b"), ("b", "cd"), ("c", "a"), ("d", "")], "abc"),
    ],
)  # fmt: skip
def test_circles_of_explaining(tmp_path, explains, circle):
    what = "explains: the rule explains itself in a circle, or stands between such circles"
    if not circle:
        loaded(tmp_path, *names(*explains))
        return
    with pytest.raises(InputError) as caught:
        loaded(tmp_path, *names(*explains))
    told = [str(one) for one in caught.value.problems]
    assert [re.sub(r":\d+:", "::", one) for one in told] == [f"{tmp_path}/ours.yaml:: rule-called-{name}: {what}" for name in circle]  # fmt: skip


def test_names_between_files(tmp_path):
    shipped = load_rules(library())[0]
    with pytest.raises(InputError) as caught:
        loaded(tmp_path, {"rule": shipped.rule.rule}, {"explains": ["post-too-slim-there"]}, {"rule": "x"})
    told = [str(one) for one in caught.value.problems]
    assert len(told) == 3
    assert told[0].endswith(f"x: {NAME_RULE}")
    assert told[1] == f"{tmp_path}/ours.yaml:1: {shipped.rule.rule}: the name stands twice; first in {shipped.place}"
    assert re.search(r"ours\.yaml:\d+: post-too-slim-here: explains: 'post-too-slim-there' is no rule; did you mean post-too-slim-here", told[2])  # fmt: skip
