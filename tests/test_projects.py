"""Whole projects in, JSON out, compared by value with what was looked at and kept."""

from __future__ import annotations

import json

import pytest

import projects


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
