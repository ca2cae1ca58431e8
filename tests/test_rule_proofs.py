"""No rule loads unproved: each way to be wrong is found, located, and told with the others."""

from __future__ import annotations

import pytest
import yaml

from gatepost import yamlfile
from gatepost.errors import InputError
from gatepost.judging import check_file, load_rules
from gatepost.library import library

GOOD = {
    "rule": "post-too-slim-here", "topic": "detail", "severity": "note", "over": "parts", "when": ["role == 'post'", "width_mm < 60"], "message": "Only {width_mm} wide.",
    "remedy": "Wider.", "why": "It bends.", "source": "practice", "example": {"role": "post", "width_mm": 50}, "near_miss": [{"role": "rail"}, {"width_mm": 90}], "cured": [{"width_mm": 90}],
}  # fmt: skip


def problems(*changes):
    text = yaml.safe_dump([{**GOOD, **change} for change in changes], sort_keys=False)
    return [str(problem) for problem in check_file(yamlfile.load(text, "ours.yaml", strict=False), library())[1]]


def test_the_good_rule_is_good():
    assert problems({}) == []


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"severity": "high"}, "stop, fix or note"), ({"topic": "rot"}, "species"), ({"scheme": "uk"}, "us, eu or both"), ({"over": "part"}, "parts, joints or project"),
        ({"rule": "R001"}, "small words"), ({"source": "WH-9999"}, "sources.yaml"), ({"message": "Only {wdth_mm} wide."}, "width_mm"), ({"sevrity": "fix"}, "severity"),
        ({"when": ["role == 'post'", "width_mm < 60", "lies == 'flat'"]}, "does not satisfy"), ({"near_miss": [{"role": "rail"}]}, "nothing shows that the clause `width_mm < 60`"),
        ({"near_miss": [{"role": "rail", "width_mm": 90}, {"width_mm": 90}, {"role": "rail"}]}, "it breaks 2"), ({"near_miss": [{"role": "rail"}, {"width_mm": 90}, {"width_mm": 40}]}, "it breaks 0"),
        ({"cured": [{"width_mm": 55}]}, "does not silence"), ({"example": {"role": "post", "width_mm": 70}}, "does not satisfy"), ({"example": {"role": "post"}}, "does not satisfy"),
        ({"example": {"role": "pots", "width_mm": 50}}, "not allowed"), ({"example": {"rol": "post", "width_mm": 50}}, "no column"), ({"when": []}, "empty"), ({"remedy": ""}, "empty"),
        ({"near_miss": ["role"]}, "facts with values"), ({"when": "role == 'post'"}, "a list"), ({"when": ["role == 'post'"] * 21}, "more than 20"), ({"why": None}, "must be text"),
    ],
)  # fmt: skip
def test_each_fault_is_found(change, word):
    found = problems(change)
    assert any(word in text for text in found), found
    assert all(text.startswith("ours.yaml:") for text in found)


def test_faults_of_several_rules_come_together():
    assert (
        len({text.split(":")[2] for text in problems({"severity": "x"}, {"rule": "other-post-too-slim", "topic": "y"})})
        == 2
    )


@pytest.mark.parametrize("text", ["rules: 3", "", "- 3", "- [a]", "- rule: a\n  rule: b"])
def test_files_of_another_shape_are_refused(text):
    assert check_file(yamlfile.load(text, "x", strict=False), library())[1]


def test_names_twice_and_circles_are_refused_between_files(tmp_path):
    rules = [
        {**GOOD, "rule": "first-of-the-circle", "explains": ["second-of-the-circle"]},
        {**GOOD, "rule": "second-of-the-circle", "explains": ["first-of-the-circle"]},
    ]
    rules += [
        {**GOOD, "rule": "non-durable-wood-in-ground"},
        {**GOOD, "rule": "explains-what-is-not", "explains": ["no-such-rule"]},
    ]
    path = tmp_path / "ours.yaml"
    path.write_text(yaml.safe_dump(rules))
    with pytest.raises(InputError) as caught:
        load_rules(library(), [path])
    told = str(caught.value)
    assert told.count("itself in a circle") == 2
    assert "twice" in told
    assert "no-such-rule" in told


def test_every_shipped_rule_is_read_and_all_topics_speak():
    rules = load_rules(library())
    assert len(rules) >= 100
    topics = [one.rule.topic for one in rules]
    assert min(topics.count(topic) for topic in set(topics)) >= 8
    assert len(set(topics)) == 10


def test_no_milder_rule_explains_a_graver_one():
    rules = {one.rule.rule: one.rule for one in load_rules(library())}
    rank = ["note", "fix", "stop"]
    for rule in rules.values():
        for name in rule.explains:
            assert rank.index(rule.severity) >= rank.index(rules[name].severity), (rule.rule, name)


def test_a_file_that_cannot_be_read_hides_nothing_of_the_next(tmp_path):
    (tmp_path / "torn.yaml").write_text("- [", encoding="utf-8")
    (tmp_path / "three.yaml").write_text("3", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_rules(library(), [tmp_path / "torn.yaml", tmp_path / "three.yaml"])
    told = [str(one) for one in caught.value.problems]
    assert [one.split(":")[0] for one in told] == [str(tmp_path / name) for name in ("torn.yaml", "three.yaml")]
