"""The schedule of fasteners: what it advises, against tables of design standards, and against the review itself."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import numpy as np
import pytest
import yaml

from gatepost import holding
from gatepost.choosing import schedule
from gatepost.deriving import derive
from gatepost.judging import load_rules
from gatepost.library import library
from gatepost.reading import read
from gatepost.reading.files import read_rows
from gatepost.reading.headers import find_header
from gatepost.review import review
from gatepost.writing import fastener_sheet

HERE = Path(__file__).resolve().parent
PROJECTS = sorted(
    [
        *(HERE / "projects").glob("*/project.yaml"),
        *(HERE.parent / f"data/demo/{name}/project.yaml" for name in ("faulty", "sound")),
    ]
)
LB, IN = 4.44822, 25.4
# Gravity on ovendry volume, as the tables have it, stands for that at 12 % here: the guide comes out a little high.
G = 0.50


@pytest.mark.parametrize(
    ("diameter_in", "k", "powers", "printed_lb_per_in"),
    [
        (0.162, 54.12, (2.5, 1), 40),  # 16d common nail, NDS table 12.2C (memory)
        (0.190, 108.25, (2, 1), 135),  # gauge 10 wood screw, NDS table 12.2B (memory)
        (0.375, 125.4, (1.5, 0.75), 305),  # 3/8 in lag screw, NDS table 12.2A (memory)
    ],
)
def test_a_fifth_of_the_handbook_pull_is_near_the_design_value(diameter_in, k, powers, printed_lb_per_in):
    ultimate = float(holding.withdrawal_n(IN, diameter_in * IN, G, k, *powers))
    assert ultimate / 5 / LB == pytest.approx(printed_lb_per_in, rel=0.15)


@pytest.mark.parametrize(
    ("metric", "inch"),
    [((54.12, 2.5, 1), (7850, 2.5, 1)), ((108.25, 2, 1), (15700, 2, 1)), ((125.4, 1.5, 0.75), (8100, 1.5, 0.75))],
)
def test_inch_and_metric_forms_of_the_handbook_agree(metric, inch):
    """Wood Handbook eqs. 8-1, 8-10, 8-13: both forms (memory; that of lag screws secondary)."""
    k, a, b = inch
    pounds = k * 0.45**a * (4 / IN) ** b * (40 / IN)
    assert float(holding.withdrawal_n(40, 4, 0.45, *metric)) == pytest.approx(pounds * LB, rel=0.01)


@pytest.mark.parametrize(
    ("diameter_in", "side_in", "main_in", "yield_psi", "printed_lb"),
    [
        (0.131, 0.75, 1.75, 100_000, 90),  # 8d common through 3/4 in, NDS table 12N (memory)
        (0.148, 1.5, 1.5, 90_000, 118),  # 10d common through 1-1/2 in, same table (memory)
        (0.162, 1.5, 2.0, 90_000, 141),  # 16d common through 1-1/2 in, same table (memory)
    ],
)
def test_yield_limit_prints_the_table_of_nails(diameter_in, side_in, main_in, yield_psi, printed_lb):
    bearing = 16600 * G**1.84 * 0.00689476
    load = holding.yield_limit_n(diameter_in * IN, side_in * IN, main_in * IN, bearing, bearing, yield_psi * 0.00689476)
    assert float(load) / LB == pytest.approx(printed_lb, abs=0.6)


def test_bolt_across_the_grain_stays_under_the_table_for_one_piece_across():
    """1/2 in bolt, 1-1/2 in twice, one piece across the grain: 300 lb (NDS table 12A, memory); both across must be less."""
    bearing = holding.bearing_mpa(G, 12.7)
    load = float(holding.yield_limit_n(12.7, 38.1, 38.1, bearing, bearing, 310)) / LB
    assert 200 < load <= 300


def test_guide_values_grow_with_what_holds_and_refuse_what_is_outside():
    depth = np.linspace(10, 60, 6)
    assert (np.diff(holding.withdrawal_n(depth, 4, 0.5, 54.12, 2.5, 1)) > 0).all()
    assert (np.diff(holding.yield_limit_n(4, 20, depth, 32, 32, 620)) >= 0).all()
    assert np.isnan(holding.withdrawal_n([10, 10, -1], [4, 0, 4], [1.4, 0.5, 0.5], 54.12, 2.5, 1)).all()
    assert np.isnan(holding.yield_limit_n([0, 4], [20, 0], 30, 32, 32, 620)).all()


def made(path):
    facts = derive(read(path))
    return schedule(facts, load_rules(facts.library))


@pytest.mark.parametrize("path", PROJECTS, ids=lambda path: path.parent.name)
def test_every_blank_of_the_schedule_has_its_reason(path):
    for joint in fastener_sheet.fasteners_out(made(path)).joints:
        asked = (
            "kind",
            "size",
            "count",
            "edge_mm",
            "end_mm",
            "spacing_mm",
            "bore",
            "pilot_mm",
            "clearance_mm",
            "slot_mm",
        )
        lives = ("withdrawal_n", "lateral_n", "first_rust_years", "metal_life_years")
        for name in ("kind",) if joint.kind is None else (*asked, *lives):
            value = getattr(joint, name)
            known = value.low if name.endswith("_years") else value
            assert known is not None or joint.blanks.get(name), (joint.joint, name)


@pytest.mark.parametrize("path", PROJECTS, ids=lambda path: path.parent.name)
def test_the_review_accepts_what_the_schedule_advises(path, tmp_path):
    """The advice is written into the joints list as a shop would, and reviewed: nothing is left that it could cure."""
    out = fastener_sheet.fasteners_out(made(path))
    taken = [joint for joint in out.joints if joint.kind]
    if not taken:
        assert all(joint.blanks["kind"] for joint in out.joints)
        return
    again = review(read(_with_advice(path, out, tmp_path)))
    for one in again.found:
        joint = out.joints[one.row] if one.over == "joints" else None
        if joint is not None and joint.kind and one.rule.rule.severity in ("stop", "fix"):
            assert one.rule.rule.rule in joint.still, (joint.joint, one.rule.rule.rule)
    facts = again.facts.joints
    for row, joint in enumerate(out.joints):
        if joint.kind and joint.size:
            assert facts["size_length_mm"].notna().iat[row], (joint.joint, joint.size)
            assert (facts["fastener_kind"].iat[row], facts["fastener_metal"].iat[row]) == (joint.kind, joint.metal)


def _with_advice(path, out, folder):
    """The project of `path` copied, its joints list with the advice in columns of the contract's names."""
    for file in path.parent.iterdir():
        if file.is_file():
            shutil.copy(file, folder / file.name)
    settings = yaml.safe_load(path.read_text(encoding="utf-8"))
    name = "joints-as-csv.csv" if isinstance(settings["joints"], list) else settings["joints"]
    if isinstance(settings["joints"], list):
        columns = list(dict.fromkeys(key for row in settings["joints"] for key in row))
        lines = [columns, *([row.get(key, "") for key in columns] for row in settings["joints"])]
        with (folder / name).open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(lines)
        (folder / path.name).write_text(yaml.safe_dump({**settings, "joints": name}), encoding="utf-8")
    rows = read_rows(folder / name)
    header = find_header(rows, "joints", library().register)
    at = {heading.column.written: heading.at for heading in header.headings}
    body = [cells for cells in rows.cells[header.row + 1 :] if cells[at["joint"]].strip()]
    new = {"fastener": "kind", "size": "size", "coating": "coating", "count": "count"}
    kept = [column for column in at if column not in new and column not in ("pilot", "edge", "end")]
    with (folder / name).open("w", encoding="utf-8", newline="") as file:
        write = csv.writer(file)
        write.writerow([*kept, *new, "pilot"])
        for cells, joint in zip(body, out.joints, strict=True):
            told = [getattr(joint, field) for field in new.values()]
            if joint.kind and joint.coating in ("none", "stainless"):
                told[2] = joint.metal
            bored = "" if joint.kind is None else "no" if joint.bore == "never" else "yes"
            old = [cells[at[column]] for column in kept]
            write.writerow([*old, *("" if value is None else value for value in told), bored])
    return folder / path.name
