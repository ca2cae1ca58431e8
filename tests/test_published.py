"""Published values against gatepost: tests/published/, one file a work. `python tests/test_published.py` prints a summary."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from gatepost import yamlfile
from gatepost.library import STATUSES, library
from published_routes import ROUTES

FOLDER = Path(__file__).parent / "published"
LEAST = 150
SLACK = 1e-9
KEYS = {"place", "route", "given", "value", "tolerance", "status", "disagrees", "off_by_at_most"}


@dataclass(frozen=True)
class Check:
    """One published value: its place in the work, the way it is reached again, and whether it agrees."""

    file: str
    work: str
    place: str
    route: str
    given: dict[str, Any]
    value: Any
    status: str
    tolerance: float | None = None
    disagrees: str | None = None
    off_by_at_most: float | None = None

    @property
    def is_number(self) -> bool:
        return not isinstance(self.value, str)

    def off_by(self) -> float:
        """How far gatepost is from the published number; 0 or 1 for words."""
        reached = ROUTES[self.route](self.given)
        return abs(reached - self.value) if self.is_number else float(reached != self.value)


@lru_cache(maxsize=1)
def documents() -> dict[str, dict[str, Any]]:
    """The files of tests/published by name."""
    return {path.stem: yamlfile.load_file(path).data for path in sorted(FOLDER.glob("*.yaml"))}


@lru_cache(maxsize=1)
def checks() -> tuple[Check, ...]:
    """Every check of every file."""
    return tuple(
        Check(file=name, work=document["work"], **check)
        for name, document in documents().items()
        for check in document["checks"]
    )


def summary() -> list[dict[str, Any]]:
    """One row a file: work, what is checked, values that agree and those that do not, and how many were only recalled."""
    rows = []
    for name, document in documents().items():
        here = [check for check in checks() if check.file == name]
        agree = [check for check in here if not check.disagrees]
        statuses = Counter(check.status for check in agree)
        rows.append(
            {
                "file": name,
                "work": document["work"],
                "about": document["about"],
                "agree": len(agree),
                "disagree": len(here) - len(agree),
                "recalled": statuses["memory"],
                "read": len(agree) - statuses["memory"],
            }
        )
    return rows


@pytest.mark.parametrize("check", checks(), ids=lambda check: f"{check.file}: {check.place}")
def test_value(check: Check) -> None:
    off = check.off_by()
    tolerance = (check.tolerance or 0.0) + SLACK
    if check.disagrees is None:
        assert off <= tolerance, f"gatepost reaches {ROUTES[check.route](check.given)}, the work has {check.value}"
    else:
        assert off > tolerance, "this value agrees now; take out `disagrees`"
        assert not check.is_number or off <= check.off_by_at_most + SLACK


@pytest.mark.parametrize("name", documents())
def test_file(name: str) -> None:
    document = documents()[name]
    assert set(document) == {"work", "about", "checks"}
    assert document["work"] in library().sources
    places = [check["place"] for check in document["checks"]]
    assert [place for place, times in Counter(places).items() if times > 1] == []
    for check in document["checks"]:
        assert set(check) <= KEYS
        assert check["status"] in STATUSES


def test_every_number_has_its_tolerance() -> None:
    bad = [c for c in checks() if c.is_number and not (c.tolerance and c.tolerance > 0)]
    assert bad == []
    assert [c for c in checks() if c.is_number and c.disagrees and c.off_by_at_most is None] == []


def test_no_value_is_graded_above_its_work() -> None:
    """A value read in a work that was only recalled cannot be better than recalled."""
    rank = {name: place for place, name in enumerate(STATUSES)}
    assert [c for c in checks() if rank[c.status] < rank[library().sources[c.work].status]] == []


def test_enough_values_agree() -> None:
    assert sum(row["agree"] for row in summary()) >= LEAST


def test_summary_counts_every_check_once() -> None:
    rows = summary()
    assert sum(row["agree"] + row["disagree"] for row in rows) == len(checks())
    assert all(row["read"] + row["recalled"] == row["agree"] for row in rows)


if __name__ == "__main__":
    for row in summary():
        print("{file}: {agree} agree ({read} read, {recalled} recalled), {disagree} do not".format(**row))
