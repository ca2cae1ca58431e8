"""Which works the figures of a sheet rest on: those of the findings, of the steps, and of the tables that were looked up."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from ..choosing import Schedule
from ..deriving import Facts
from ..library import STATUSES
from ..review import Found
from .steps import Due

PRACTICE, EVERY, FINDINGS = "practice", "*", "findings"


@dataclass(frozen=True)
class Used:
    """One work: what it is used for, and how it is known there: the weakest status of all uses."""

    key: str
    uses: tuple[str, ...]
    status: str


def sources(facts: Facts, schedule: Schedule, found: list[Found], steps: list[Due]) -> tuple[list[Used], list[str]]:
    """The works by key; and what rests on common practice alone."""
    told = [(one.rule.rule.source, one.rule.status, FINDINGS) for one in found]
    told += [(one.step.source, _status(facts, one.step.source), "order of work") for one in steps]
    told += _of_tables(facts, schedule)
    uses: dict[str, dict[str, None]] = {}
    worst: dict[str, str] = {}
    for key, status, use in told:
        if key != PRACTICE:
            uses.setdefault(key, {})[use] = None
            worst[key] = max(worst.get(key, STATUSES[0]), status, key=STATUSES.index)
    practice = list(dict.fromkeys(use for key, _, use in told if key == PRACTICE))
    return [Used(key, tuple(uses[key]), worst[key]) for key in sorted(uses)], practice


def _status(facts: Facts, key: str) -> str:
    return PRACTICE if key == PRACTICE else facts.library.sources[key].status


def _of_tables(facts: Facts, schedule: Schedule) -> list[tuple[str, str, str]]:
    """Source, status and use of each row of a table that the project's own words pick, as sheet_sources.csv lists them."""
    out = []
    for ask in facts.library.table("sheet_sources").records():
        picked = _words(facts, schedule, ask)
        for row in facts.library.table(ask["table"]).records():
            if (EVERY in picked or row[ask["key"]] in picked) and row.get("scheme", "both") in (
                facts.project.scheme,
                "both",
            ):
                out += [(key, row["status"], ask["use"]) for key in re.split(r";\s*", row["source"])]
    return list(dict.fromkeys(out))


def _words(facts: Facts, schedule: Schedule, ask: dict[str, str]) -> set[Any]:
    """The words that pick rows: those of a column, or a word that stands in sheet_sources.csv where any row has the fact."""
    frames = {"parts": facts.parts, "joints": facts.joints, "taken": _taken(schedule), "project": facts.whole}
    told = {str(word) for word in frames[ask["over"]][ask["fact"]].dropna().unique()} - {"none"}
    return told if not ask["word"] else {ask["word"]} if told else set()


def _taken(schedule: Schedule) -> Any:
    return schedule.virtual.joints.iloc[[one.at for one in schedule.advice if one.at >= 0]]
