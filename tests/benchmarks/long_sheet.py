"""A project of 400 parts, invented by repetition: how long its review and each format of its sheet take. Prints, asserts nothing.

    python tests/benchmarks/long_sheet.py [DIR]

The parts are those of the sound demo, repeated in bays with other lengths; with DIR the sheets are kept there.
"""

from __future__ import annotations

import csv
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

import yaml

from gatepost import road
from gatepost.planning import bench
from gatepost.writing import save

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo" / "sound"
PARTS = 400
DAY = date(2026, 5, 1)


def bays(rows: list[list[str]], names: tuple[str, ...], least: int) -> list[list[str]]:
    """The list again for bay after bay until it has so many rows; each name with the number of its bay."""
    header, body = rows[0], [row for row in rows[1:] if row[0].strip() and row[0] != "TOTAL"]
    at = [header.index(name) for name in names]
    out = []
    for bay in range(1, least // len(body) + 2):
        for row in body:
            copy = list(row)
            for place in at:
                copy[place] = f"{row[place]} {bay}" if row[place] else ""
            out.append(_shorter(header, copy, bay))
    return [header, *out[:least]] if least == PARTS else [header, *out]


def _shorter(header: list[str], row: list[str], bay: int) -> list[str]:
    """A whole length, some inches shorter from bay to bay."""
    place = header.index("length") if "length" in header else -1
    if place >= 0 and row[place].isdigit():
        row[place] = str(int(row[place]) - bay % 4)
    return row


def project(folder: Path) -> Path:
    """Write the lists of the long project."""
    told = yaml.safe_load((DEMO / "project.yaml").read_text(encoding="utf-8"))
    parts = _rows(DEMO / told["parts"])
    made = bays(parts, ("part",), PARTS)
    _write(folder / "parts.csv", made)
    known = {row[0] for row in made[1:]}
    joints = bays(_rows(DEMO / told["joints"]), ("joint", "part_a", "part_b"), PARTS)
    a, b = joints[0].index("part_a"), joints[0].index("part_b")
    _write(folder / "joints.csv", [joints[0], *(row for row in joints[1:] if {row[a], row[b]} <= known)])
    told |= {"name": "Long orchard", "parts": "parts.csv", "joints": "joints.csv"}
    told.pop("prices", None)
    (folder / "project.yaml").write_text(yaml.safe_dump(told), encoding="utf-8")
    return folder / "project.yaml"


def _rows(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def _write(path: Path, rows: list[list[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)


def timed(what: str, call, review: float = 0.0):
    """Call, and print the seconds and how many reviews they are."""
    start = time.perf_counter()
    made = call()
    took = time.perf_counter() - start
    print(f"{what:8} {took:6.2f} s" + (f"  {took / review:5.2f} reviews" if review else ""))
    return made, took


def main() -> None:
    """Measure the review, the plan of the bench, and each format."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(scratch)
        path = project(folder)
        road.judge(road.derive(road.read(DEMO / "project.yaml")))  # tables are read once, before the clock runs
        made, review = timed("review", lambda: road.judge(road.derive(road.read(path))))
        print(f"{len(made.facts.parts)} parts, {len(made.facts.joints)} joints, {len(made.found)} findings")
        planned, plan = timed("plan", lambda: bench(made), review)
        for suffix in save.SUFFIXES:
            _, took = timed(
                suffix, lambda suffix=suffix: save.write(planned, folder / f"sheet{suffix}", "in", DAY), review
            )
            print(f"{'':8} with plan and review {(took + plan + review) / review:.2f} reviews")


if __name__ == "__main__":
    main()
