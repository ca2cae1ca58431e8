"""The facts of whole projects against those that were looked at and kept beside their reviews; no rule is asked."""

from __future__ import annotations

import json

import pytest

import projects
from gatepost.deriving import derive
from gatepost.reading import read
from gatepost.writing.values import plain_value

NEVER_PRINTED = {"a_row", "b_row"}
"""Places of a joint's parts in the list; the review prints their names."""


def same(found, wanted):
    value = plain_value(found)
    return value == (pytest.approx(wanted, rel=1e-9) if isinstance(wanted, float) else wanted)


@pytest.mark.parametrize("name", projects.PROJECTS)
def test_facts_are_those_that_were_kept(name):
    """A fact that the review leaves out is blank, or one of the few it never prints."""
    kept = json.loads(projects.kept(name).read_text(encoding="utf-8"))
    facts = derive(read(projects.PROJECTS[name] / "project.yaml"))
    for over, frame in (("parts", facts.parts), ("joints", facts.joints)):
        rows = frame.to_dict("records")
        assert len(rows) == len(kept[over])
        for row, one in zip(rows, kept[over], strict=True):
            for fact, wanted in one["facts"].items():
                assert same(row[fact], wanted), fact
            told = {fact for fact, value in row.items() if plain_value(value) is not None}
            assert told - set(one["facts"]) <= NEVER_PRINTED
