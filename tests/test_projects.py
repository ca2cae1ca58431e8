"""Whole projects in, JSON out, compared by value with what was looked at and kept."""

from __future__ import annotations

import functools
import json

import pytest

import projects
from gatepost.judging import TOPICS, load_rules
from gatepost.library import library


def compare(found, wanted, path=""):
    """Equal by value, numbers to nine digits; the message names the first place that differs."""
    if isinstance(wanted, dict):
        assert found.keys() == wanted.keys(), path
        for key in wanted:
            compare(found[key], wanted[key], f"{path}.{key}")
    elif isinstance(wanted, list):
        assert len(found) == len(wanted), path
        for i, (a, b) in enumerate(zip(found, wanted, strict=True)):
            compare(a, b, f"{path}[{i}]")
    elif isinstance(wanted, float):
        assert found == pytest.approx(wanted, rel=1e-9), path
    else:
        assert found == wanted, path


@pytest.mark.parametrize("name", projects.PROJECTS)
def test_review_is_the_one_that_was_kept(name):
    compare(projects.reviewed(name), json.loads(projects.kept(name).read_text(encoding="utf-8")))


@pytest.mark.parametrize("name", projects.PROJECTS)
def test_findings_name_their_place_and_follow_the_order_of_severity(name):
    found = projects.reviewed(name)
    for row in [*found["parts"], *found["joints"]]:
        grave = [["stop", "fix", "note"].index(f["severity"]) for f in row["findings"]]
        assert grave == sorted(grave)
        for one in row["findings"]:
            assert not {"{", "}"} & set(one["message"] + one["remedy"] + one["why"])
            assert "not known" not in one["message"], one


@pytest.mark.parametrize("name", projects.PROJECTS)
def test_one_note_at_most_for_each_unknown_column(name):
    notes = [f for f in projects.reviewed(name)["project_findings"] if f["rule"] == "fact-not-given-or-known"]
    columns = [column for note in notes for column in note["facts"]]
    assert len(columns) == len(set(columns))


RIGHT = (
    "demo_sound",
    "garden_bridge_eu",
    "garden_shed_us",
    "back_door_eu",
    "garden_deck_us",
    "planter_bench_us",
    "shed_and_table_eu",
)


@functools.cache
def spoken():
    """Names of the rules that speak on some whole project."""
    reviews = [projects.reviewed(name) for name in projects.PROJECTS]
    rows = [row for one in reviews for row in [*one["parts"], *one["joints"]]]
    findings = [f for row in rows for f in row["findings"]] + [f for one in reviews for f in one["project_findings"]]
    return {f["rule"] for f in findings}


@pytest.mark.parametrize("name", RIGHT)
def test_a_right_project_has_nothing_to_stop_or_to_fix(name):
    found = projects.reviewed(name)
    assert (found["counts"]["stop"], found["counts"]["fix"]) == (0, 0)


@pytest.mark.parametrize("topic", TOPICS)
def test_each_rule_is_reached_by_a_whole_project(topic):
    names = {one.rule.rule for one in load_rules(library()) if one.rule.topic == topic}
    assert sorted(names - spoken()) == []
