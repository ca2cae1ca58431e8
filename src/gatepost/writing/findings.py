"""Findings as words: messages filled from their rows, missing facts and stale acceptances as findings too."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from ..library import Column, Library
from ..missing import Missing
from ..review import STALE_ACCEPTANCE, UNKNOWN_FACT, Found, Review, name_of
from .values import facts_of, filled

MOST_NAMES = 6


@dataclass(frozen=True)
class Finding:
    """One finding in words, with the facts behind it."""

    rule: str
    topic: str
    severity: str
    message: str
    remedy: str
    why: str
    source: str
    status: str
    explained_by: str | None = None
    rests_on: list[str] = field(default_factory=list)
    facts: dict[str, Any] = field(default_factory=dict)


def finding(review: Review, one: Found, units: str) -> Finding:
    """One finding in words."""
    rule, facts = one.rule.rule, review.facts
    message, remedy, why = (
        filled(text, facts, one.over, one.row, units) for text in (rule.message, rule.remedy, rule.why)
    )
    return Finding(
        rule=rule.rule,
        topic=rule.topic,
        severity=rule.severity,
        message=message,
        remedy=remedy,
        why=why,
        source=rule.source,
        status=one.rule.status,
        explained_by=one.explained_by,
        rests_on=list(one.rests_on),
        facts=facts_of(facts, one.over, one.row, one.rule.columns),
    )


def missing_finding(review: Review, one: Missing) -> Finding:
    """A fact that is not known, as a finding of the project."""
    facts = review.facts
    return missing_note(facts.library, one, listed([name_of(facts, one.over, row) for row in one.rows]))


def missing_note(library: Library, one: Missing, names: str) -> Finding:
    """A fact that is not known, as a finding of the project; `names` are those of its parts."""
    column = library.register.facts[one.over][one.column]
    where = f"{names}: " if one.over != "project" else ""
    if one.in_tables:
        message = f"{where}the tables hold no figure for {column.meaning.split(';')[0]}."
        remedy = "Judge this by hand; or write a material that the tables know."
    else:
        message, remedy = f"{where}{column.meaning.split(';')[0]} is not known.", f"Write it {_place_of(column)}."
    rules = listed(list(one.rules))
    return Finding(
        rule=UNKNOWN_FACT,
        topic="input",
        severity="note",
        message=message,
        remedy=remedy,
        why=f"Until then these rules cannot decide: {rules}.",
        source="practice",
        status="practice",
        facts={one.column: None},
    )


def _place_of(column: Column) -> str:
    if column.over == "project":
        return "in the project file, under site, work or stands"
    written = [column.written] if column.written else list(column.origins)
    return f"in the {column.over} list under {' or '.join(written)}"


def stale_finding(entry: dict[str, str | None]) -> Finding:
    """An acceptance that matches no finding."""
    where = f" for {entry['part']}" if entry["part"] else ""
    return Finding(
        rule=STALE_ACCEPTANCE,
        topic="input",
        severity="note",
        message=f"the accepted finding {entry['rule']}{where} does not occur.",
        remedy="Take it out of the project file; or correct the names. A fact that is not known cannot be accepted: write it.",
        why="An acceptance that matches nothing may hide a misspelt name.",
        source="practice",
        status="practice",
    )


def listed(names: list[str]) -> str:
    """A few names, and how many more there are."""
    unique = list(dict.fromkeys(names))
    return listed_first(unique[:MOST_NAMES], len(unique))


def listed_first(first: list[str], count: int) -> str:
    """The first few of so many names, and how many more there are."""
    return ", ".join(first) + (f" and {count - len(first)} more" if count > len(first) else "")


def notes(review: Review) -> list[Finding]:
    """Findings of the project that no rule speaks: missing facts and stale acceptances."""
    return [missing_finding(review, one) for one in review.missing] + [stale_finding(entry) for entry in review.stale]


_HOW = {"seen": "read", "secondary": "quoted", "memory": "recalled", "practice": "common practice"}


def known_how(status: str) -> str:
    """How a figure is known, in a word."""
    return _HOW[status]


def cited(review: Review, key: str, status: str) -> str:
    """A source as it is printed; how it is known where it was not read in the work itself."""
    if key == "practice":
        return "common practice, no source"
    how = {"seen": "", "secondary": " (read where another work repeats it)", "memory": " (recalled, not read)"}[status]
    return f"{review.facts.library.sources[key].work}{how}"
