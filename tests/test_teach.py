"""Teach: the numbers of one part in two materials, each reached again by another road."""

from __future__ import annotations

import csv
import json
import shutil

import pytest

from calling import run
from gatepost.writing.teach_models import TeachOut
from test_commands import DEMO, FAULTY, SOUND

PRICES = "item,unit,price,currency\nwhite oak,board foot,6,USD\nwhite oak heartwood,board foot,8,USD\neastern white pine,board foot,2,USD\n"


def taught(tmp_path, project, part, against, *more):
    path = tmp_path / "out.json"
    done = run("teach", project, "--part", part, "--against", against, "-o", path, *more)
    assert done.returncode == 0, done.stderr
    return TeachOut.model_validate_json(path.read_text()).comparison


def project(tmp_path, parts, prices=PRICES, life=20):
    (tmp_path / "parts.csv").write_text(parts)
    (tmp_path / "project.yaml").write_text(
        f"site: Madison, WI\nlife: {life}\nparts: parts.csv\n" + ("prices: prices.csv\n" if prices else "")
    )
    if prices:
        (tmp_path / "prices.csv").write_text(prices)
    return tmp_path / "project.yaml"


PARTS = (
    "qty,part,material,thickness,width,length,exposure,finish\n6,slat,white oak heartwood,1 1/2,5 1/2,96,weather,none\n"
)


def reviewed(path, name):
    found = json.loads(run("review", path, "--format", "json").stdout)
    part = next(part for part in found["parts"] if part["part"] == name)
    joints = [joint for joint in found["joints"] if name in (joint["part_a"], joint["part_b"])]
    every = [*part["findings"], *(finding for joint in joints for finding in joint["findings"])]
    return part["facts"], {severity: sum(one["severity"] == severity for one in every) for severity in ("stop", "fix")}


@pytest.mark.parametrize(
    ("name", "against", "cell"),
    [
        ("bench seat", "black locust heartwood", "black locust heartwood"),
        ("hinge post", "red pine", "red pine 6x6"),
        ("gate stile", "western red cedar", "western red cedar"),
        ("rafter", "PT southern pine MCA 0.15 pcf UC4A", "PT southern pine MCA 0.15 pcf UC4A"),
    ],
)
def test_each_side_is_the_review_of_a_list_that_says_so(name, against, cell, tmp_path):
    """The other side is reached by rewriting the cell in the list itself; a size in the material stays."""
    out = taught(tmp_path, FAULTY, name, against)
    folder = tmp_path / "rewritten"
    shutil.copytree(DEMO / "faulty", folder)
    with (folder / "parts.csv").open(newline="") as file:
        rows = [[*row[:2], cell, *row[3:]] if row and row[0] == name else row for row in csv.reader(file)]
    with (folder / "parts.csv").open("w", newline="") as file:
        csv.writer(file).writerows(rows)
    for side, path in ((out.written, FAULTY), (out.against, folder / "project.yaml")):
        facts, counts = reviewed(path, name)
        assert (side.stop, side.fix) == (counts["stop"], counts["fix"])
        for end in ("low", "likely", "high"):
            life = facts[f"service_life_{end}_years"]
            assert getattr(side.life_years, end) == (None if life is None else pytest.approx(life, abs=0.05))
        assert "; ".join(one.model for one in side.models) == (facts["life_models"] or "")


def test_first_cost_is_the_price_of_the_lumber_bought(tmp_path):
    """Six 2x6 of 8 feet are 48 board feet (a lumber tally); 15 % of the bought lumber is cut away (practice)."""
    out = taught(tmp_path, project(tmp_path, PARTS), "slat", "eastern white pine")
    assert out.currency == "USD"
    assert out.written.first_cost == pytest.approx(48 * 8 / 0.85, abs=0.01)
    assert out.against.first_cost == pytest.approx(48 * 2 / 0.85, abs=0.01)
    assert out.written.price.line == 3


def test_costs_follow_from_the_life_that_is_printed(tmp_path):
    out = taught(tmp_path, project(tmp_path, PARTS), "slat", "white oak")
    side = out.written
    for end, other in (("low", "high"), ("likely", "likely"), ("high", "low")):
        life = getattr(side.life_years, other)
        assert getattr(side.cost_per_year, end) == pytest.approx(side.first_cost / life, rel=0.01)
    assert side.cost_over_life.likely == sum(year.bought + year.care + year.coats for year in side.upkeep)
    assert [year.year for year in side.upkeep] == list(range(21))


def test_the_two_sides_swap(tmp_path):
    there = taught(tmp_path, project(tmp_path, PARTS), "slat", "white oak")
    back = taught(
        tmp_path, project(tmp_path, PARTS.replace("white oak heartwood", "white oak")), "slat", "white oak heartwood"
    )
    assert there.written == back.against
    assert there.against == back.written


def test_a_material_against_itself_is_never_clearly_cheaper(tmp_path):
    out = taught(tmp_path, SOUND, "bench seat", "western red cedar heartwood")
    assert out.clearly_less_per_year is None
    assert out.clearly_less_over_life is None
    assert out.written.cost_per_year == out.against.cost_per_year


def test_a_project_that_outlives_the_wood_buys_it_again(tmp_path):
    short, long = (
        taught(tmp_path, project(tmp_path, PARTS, life=life), "slat", "white oak").written for life in (5, 60)
    )
    times = [round(side.cost_over_life.high / side.first_cost, 3) for side in (short, long)]
    assert times == [1, 60 / short.life_years.low]


def test_interest_is_said_and_makes_later_costs_smaller(tmp_path):
    path = project(tmp_path, PARTS, life=60)
    plain, discounted = (taught(tmp_path, path, "slat", "white oak", *more) for more in ((), ("--interest", "5")))
    assert discounted.interest_pct == 5
    assert plain.written.first_cost < discounted.written.cost_over_life.high < plain.written.cost_over_life.high


def test_upkeep_falls_in_the_years_that_the_client_keeps(tmp_path):
    out = taught(tmp_path, SOUND, "bench seat", "black locust heartwood")
    coated = [year.year for year in out.against.upkeep if year.coats]
    assert coated == list(range(2, 15, 2))
    assert out.wanted_years == 15


def test_without_prices_lives_and_findings_are_compared_and_it_says_so(tmp_path):
    out = taught(tmp_path, project(tmp_path, PARTS, prices=None), "slat", "white oak")
    assert (out.currency, out.written.first_cost, out.written.upkeep) == (None, None, [])
    assert out.written.life_years.low
    assert any("No price file" in note for note in out.notes)
    assert out.written.blanks["first_cost"]


def test_what_is_not_priced_is_null_and_says_why(tmp_path):
    parts = PARTS.replace(",none\n", ',"paint, 2 coats"\n')
    out = taught(tmp_path, project(tmp_path, parts), "slat", "ipe")
    assert out.written.first_cost is None
    assert "finish" in out.written.blanks["first_cost"]
    assert "no price fits" in out.against.blanks["first_cost"]
    assert out.against.cost_per_year.likely is None


@pytest.mark.parametrize(
    ("part", "against", "said"),
    [
        ("gate bord", "white oak", "gate board"),
        ("gate board", "wite oak", "white oak"),
        ("gate board", "thing", "parts list"),
        ("gate board", "4x4", "parts list"),
        ("gate board", "", "parts list"),
    ],
)
def test_an_unknown_part_or_material_is_refused_with_the_nearest(part, against, said, tmp_path):
    done = run("teach", FAULTY, "--part", part, "--against", against, "-o", tmp_path / "out.md")
    assert done.returncode == 2
    assert said in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_another_suffix_is_refused(tmp_path):
    done = run("teach", FAULTY, "--part", "gate board", "--against", "white oak", "-o", tmp_path / "out.docx")
    assert done.returncode == 2
    assert ".md" in done.stderr


def test_the_sheet_holds_the_numbers_of_the_json(tmp_path):
    out = taught(tmp_path, FAULTY, "gate board", "black locust heartwood", "--date", "2026-05-01")
    run(
        "teach",
        FAULTY,
        "--part",
        "gate board",
        "--against",
        "black locust heartwood",
        "-o",
        tmp_path / "out.md",
        "--date",
        "2026-05-01",
    )
    text = (tmp_path / "out.md").read_text()
    assert "2026-05-01" in text
    for side in (out.written, out.against):
        assert f"{side.first_cost:.0f} USD" in text
        assert side.worst.rule in text
        assert side.choice in text


@pytest.mark.parametrize("verb", [["review"], ["movement"], ["fasteners"]])
def test_every_verb_that_reads_a_project_checks_its_prices(verb, tmp_path):
    (tmp_path / "bad.csv").write_text("item,unit,price,currency\nwhite oak,board foot,-1,USD\n")
    done = run(*verb, SOUND, "--prices", tmp_path / "bad.csv")
    assert done.returncode == 2
    assert "bad.csv:2: price" in done.stderr
