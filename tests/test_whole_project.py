"""The project as a whole: each fact of its file is asked by a rule, and what the shop accepts is never lost."""

from __future__ import annotations

import json

import pytest

from gatepost.cli import main
from gatepost.deriving.reasons import inputs
from gatepost.judging import load_rules
from gatepost.library import library

KNOWN = library()
FACTS = ["termites", "coast_km", "life_wanted_years", "work_c", "work_rh_pct", "stands_height_mm", "stands_base_mm", "stands_anchored"]  # fmt: skip
STOP = "non-durable-wood-in-ground"
PARTS = "part,material,exposure,role,thickness,width\n" + "".join(
    f"{name},Norway spruce,ground,post,90,90\n" for name in ("left", "right")
)


def asked_by(fact):
    """Rules whose clauses rest on a fact of the project; life stands for the part's own where that is blank."""
    names = {fact, "life_years"} if fact == "life_wanted_years" else {fact}
    rules = load_rules(KNOWN)
    return [
        one.rule.rule
        for one in rules
        if any(name in names for column in one.columns for _, name in inputs(KNOWN, one.rule.over, column))
    ]


@pytest.mark.parametrize("fact", FACTS)
def test_each_fact_of_the_project_is_asked_by_a_rule(fact):
    assert asked_by(fact), fact


def run(capsys, *words):
    try:
        main([str(word) for word in words])
        status = 0
    except SystemExit as done:
        status = done.code or 0
    out = capsys.readouterr()
    return status, out.out, out.err


@pytest.fixture
def project(tmp_path):
    def write(accepted):
        (tmp_path / "parts.csv").write_text(PARTS, encoding="utf-8")
        lines = "".join(f"  - {entry}\n" for entry in accepted)
        text = f"site: Madison, WI\nunits: mm\nlife: 2\nparts: parts.csv\naccepted:\n{lines}"
        (tmp_path / "project.yaml").write_text(text, encoding="utf-8")
        return tmp_path / "project.yaml"

    return write


def caution():
    return next(one.rule.why for one in load_rules(KNOWN) if one.rule.rule == STOP)


@pytest.mark.parametrize("form", ["table", "md", "csv"])
def test_an_accepted_stop_keeps_its_caution_in_every_output(capsys, project, form):
    status, out, err = run(
        capsys, "review", project([f"{{rule: {STOP}, reason: one summer}}"]), "--format", form, "--fail-on", "stop"
    )
    assert status == 0
    told = " ".join((out + err).split())
    assert " ".join(caution().split()) in told
    assert ("one summer" in told) == (form != "csv")


@pytest.mark.parametrize("suffix", ["md", "html", "json"])
def test_an_accepted_stop_keeps_its_caution_on_the_spec_sheet(capsys, project, tmp_path, suffix):
    sheet = tmp_path / f"sheet.{suffix}"
    assert run(capsys, "spec", project([f"{{rule: {STOP}, reason: one summer}}"]), "-o", sheet)[0] == 0
    assert caution() in sheet.read_text(encoding="utf-8")


def review(capsys, path):
    return json.loads(run(capsys, "review", path, "--format", "json")[1])


def test_an_acceptance_holds_for_its_part_alone(capsys, project):
    found = review(capsys, project([f"{{rule: {STOP}, part: left, reason: one summer}}"]))
    assert [one["name"] for one in found["accepted"]] == ["left"]
    assert found["accepted"][0]["finding"]["severity"] == "stop"
    assert found["counts"]["stop"] == 1
    right = next(one for one in found["parts"] if one["part"] == "right")
    assert STOP in [one["rule"] for one in right["findings"]]


@pytest.mark.parametrize(
    "entry", ["{rule: no-such-rule-here, reason: x}", f"{{rule: {STOP}, part: middle, reason: x}}"]
)
def test_an_acceptance_that_matches_nothing_is_a_note(capsys, project, entry):
    found = review(capsys, project([entry]))
    assert found["accepted"] == []
    assert found["counts"]["stop"] == 2
    assert [one["severity"] for one in found["project_findings"] if one["rule"] == "accepted-finding-not-found"] == [
        "note"
    ]
