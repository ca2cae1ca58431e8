"""A review: the judge's findings with what they rest on, what waits for a fact, and what the shop has accepted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd

from .deriving import Facts, derive
from .deriving.reasons import Reasons, inputs
from .judging import SEVERITIES, Compiled, Judgement, judge, load_rules
from .library import Over
from .missing import Missing, Unknowns
from .project import Project

UNKNOWN_FACT = "fact-not-given-or-known"
STALE_ACCEPTANCE = "accepted-finding-not-found"


@dataclass(frozen=True)
class Found:
    """One finding: rule, place, the rule that accounts for it, and the blanks it rests on."""

    rule: Compiled
    over: Over
    row: int
    explained_by: str | None
    rests_on: tuple[str, ...]
    accepted: str | None = None


@dataclass
class Review:
    """All that a review says; numbers and names only, text is made when it is written."""

    facts: Facts
    judgement: Judgement
    found: list[Found]
    missing: list[Missing]
    stale: list[dict[str, str | None]] = field(default_factory=list)

    @property
    def counts(self) -> dict[str, int]:
        """Findings by severity; accepted ones not counted, missing facts and stale acceptances as notes."""
        out = dict.fromkeys(SEVERITIES, 0)
        for one in self.found:
            if one.accepted is None:
                out[one.rule.rule.severity] += 1
        out["note"] += len(self.missing) + len(self.stale)
        return out

    def reaches(self, severity: str) -> bool:
        """Is there a finding at or above the severity?"""
        return reaches(self.counts, severity)


def reaches(counts: Mapping[str, int], severity: str) -> bool:
    """Is there a finding at or above the severity among so many of each?"""
    return any(counts[one] for one in SEVERITIES[: SEVERITIES.index(severity) + 1])


def review(project: Project, rules: Sequence[Compiled] | None = None, extra: Sequence[Path] = ()) -> Review:
    """Derive, judge and gather; see `review_facts`."""
    return review_facts(derive(project), rules, extra)


def review_facts(facts: Facts, rules: Sequence[Compiled] | None = None, extra: Sequence[Path] = ()) -> Review:
    """Judge and gather.

    facts  what `derive` returns
    rules  compiled rules, by default those of the library and of the files `extra`
    """
    project = facts.project
    rules = load_rules(facts.library, extra) if rules is None else rules
    parts, joints, whole = facts.encoded
    judged = judge(parts, joints, whole, rules, project.scheme)
    found = _found(judged, facts)
    found, stale = _accepted(found, facts)
    unknowns = Unknowns(facts.library, project.site is not None)
    rows = unknowns.add(judged, Reasons(facts.library, parts, joints, whole))
    return Review(facts, judged, found, unknowns.missing(rows), stale)


def _found(judged: Judgement, facts: Facts) -> list[Found]:
    out = []
    assumed = {over: _by_row(frame) for over, frame in facts.project.assumed.items()}
    for row in judged.found.itertuples():
        one = judged.rules[int(row.rule)]
        by = judged.rules[int(row.explained_by)].rule.rule if row.explained_by >= 0 else None
        out.append(Found(one, row.over, int(row.row), by, _rests_on(one, row.over, int(row.row), facts, assumed)))
    return out


def _by_row(frame: pd.DataFrame) -> dict[int, dict[str, tuple[Any, str]]]:
    out: dict[int, dict[str, tuple[Any, str]]] = {}
    for row, column, value, kind in frame.itertuples(index=False):
        out.setdefault(row, {})[column] = (value, kind)
    return out


def _rests_on(
    one: Compiled, over: Over, row: int, facts: Facts, assumed: dict[str, dict[int, dict[str, tuple[Any, str]]]]
) -> tuple[str, ...]:
    """Blank cells that the finding's clauses read, with what they were taken for."""
    told: dict[str, None] = {}
    for name in one.columns:
        for home, column in inputs(facts.library, over, name):
            if home == "project":
                continue
            at = row if home == over else int(facts.joints[f"{name[0]}_row"].iat[row]) if name[0] in "ab" else -1
            value, kind = assumed[home].get(at, {}).get(column, (None, ""))
            if kind == "default" or (kind == "none" and column == name):
                written = facts.library.register.facts[home][column].written or column
                told[f"{written} taken as {value:g}" if isinstance(value, float) else f"{written} taken as {value}"] = (
                    None
                )
    return tuple(told)


def _accepted(found: list[Found], facts: Facts) -> tuple[list[Found], list[dict[str, str | None]]]:
    """Findings that the shop lives with, marked; and acceptances that match nothing."""
    entries = facts.project.accepted
    if not entries:
        return found, []
    used = [False] * len(entries)
    out = []
    for one in found:
        name = name_of(facts, one.over, one.row)
        reason = None
        for i, entry in enumerate(entries):
            if entry["rule"] == one.rule.rule.rule and (entry["part"] is None or entry["part"].lower() == name.lower()):
                reason, used[i] = entry["reason"], True
        out.append(Found(one.rule, one.over, one.row, one.explained_by, one.rests_on, reason))
    return out, [entry for entry, hit in zip(entries, used, strict=True) if not hit]


def name_of(facts: Facts, over: Over, row: int) -> str:
    """Name of a part or joint; of the project for the project."""
    return facts.names[over][row]
