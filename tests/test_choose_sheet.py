"""What `choose` prints for a person and as rows: every part, its choices with life and money, why a material is not offered."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from calling import run

DEMO = Path(__file__).resolve().parents[1] / "data" / "demo"
FAULTY, SOUND = DEMO / "faulty" / "project.yaml", DEMO / "sound" / "project.yaml"
PARTS = "part,material,thickness,width,length,exposure\npost,PT pine 4x4,,,1800 mm,ground\nslat,larch,25 mm,100 mm,900 mm,weather\n"


@pytest.fixture(scope="module")
def chosen():
    """The choices of the priced demo as JSON, to look for in what is printed."""
    return json.loads(run("choose", SOUND, "--format", "json").stdout)


def words(text):
    return " ".join(text.split())


def test_the_table_names_every_part_with_its_first_choice_and_the_money(chosen):
    done = run("choose", SOUND, "--format", "md")
    assert (done.returncode, done.stderr) == (0, "")
    rows = {
        cells[1]: cells
        for line in done.stdout.splitlines()
        if len(cells := [one.strip() for one in line.split("|")]) > 6
    }
    priced = [part for part in chosen["parts"] if part["choices"]]
    assert len(priced) > 20
    for part in priced:
        cells = rows[part["part"].replace("|", "\\|")]
        every = [one for name in ("species", "treatment", "panel") for one in part["choices"].get(name, [])]
        first = min(every, key=lambda one: one["rank"])
        assert cells[2] == first["choice"]
        if first["cost"] is not None:
            assert cells[5].startswith(f"{first['cost']:.0f}; ")
    assert "prices.csv, in USD." in words(done.stdout)
    assert "## Joints" in done.stdout


def test_rows_are_the_choices_of_the_json(chosen):
    rows = list(csv.DictReader(io.StringIO(run("choose", SOUND, "--format", "csv").stdout)))
    every = [
        (one["part"], name, c) for one in chosen["parts"] for name, many in (one["choices"] or {}).items() for c in many
    ]
    every += [
        (one["joint"], name, c)
        for one in chosen["joints"]
        for name, many in (one["choices"] or {}).items()
        for c in many
    ]
    assert len(rows) == len(every) > 100
    for row, (name, of, choice) in zip(rows, every, strict=True):
        assert (row["name"].lstrip("'"), row["list"], row["rank"]) == (name, of, str(choice["rank"]))
        assert row["set"].lstrip("'") == "; ".join(f"{column}={text}" for column, text in choice["set"].items())


def test_without_prices_that_is_said_and_no_money_stands_there():
    done = run("choose", "-", stdin=PARTS)
    assert done.returncode == 0
    assert "first cost" not in done.stdout
    assert "No joint takes a fastener, glue or hardware." in words(done.stdout)
    assert "Life in years, where a model speaks." in words(done.stdout)


def test_details_to_change_beside_the_material_are_told_of_the_named_part_alone():
    whole, one = (
        words(run("choose", FAULTY, "--format", "md", *more).stdout) for more in ([], ["--part", "board post"])
    )
    for text in (whole, one):
        assert "To change first" in text
    assert "- board post: " in one
    assert "- gate board: " not in one
    assert "- gate board: " in whole


def test_why_tells_the_rank_of_what_is_offered_and_of_what_stands_lower():
    offered = json.loads(run("choose", FAULTY, "--part", "gate board", "--format", "json").stdout)
    part = next(one for one in offered["parts"] if one["part"] == "gate board")
    first = next(
        one for name in ("species", "treatment", "panel") for one in part["choices"].get(name, []) if one["rank"] == 1
    )
    told = run("choose", FAULTY, "--part", "gate board", "--why", first["choice"])
    assert told.stdout == f"{first['choice']} is offered for gate board, at rank 1.\n"


@pytest.mark.parametrize(("arguments", "said"), [
    (["choose", SOUND, "--why", "oak"], "--part"),
    (["choose", SOUND, "--part", "no such part"], "no part is called no such part"),
    (["teach", SOUND, "--part", "no such part", "--against", "oak", "-o", "a.md"], "no such part"),
    (["rules", "no-such-rule"], "no-such-rule"),
    (["movement", SOUND, "--built", "Maj"], "--built"),
])  # fmt: skip
def test_a_call_that_names_nothing_says_so(arguments, said, tmp_path):
    done = run(*arguments, cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert list(tmp_path.iterdir()) == []
