"""Free text as shops write it: known phrases set columns, sizes and retentions are read, the rest is left over."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from ..library import Library
from ..units import KG_M3_PER_PCF, plain
from .sizes import Context, take_sizes
from .vocabulary import AMBIGUOUS, IGNORED, MAY_MEAN, UNKNOWN, Vocabulary, normal, vocabulary

SIZE = "size"
_RETENTION = re.compile(
    r"(?<![\w.])(\d*\.\d+|\d+)\s*(pcf|lb/ft3|lb/ft\^3|kg/m3|kg/m\^3|kg/cu m)(?!\w)|(?<![\w./])(0?\.\d{2,3})(?![\w./])"
)

IMPLIED = "treated_how"
COAT = "finish_kind"


@dataclass
class Reading:
    """What one cell sets, column to value, and the words left over."""

    sets: dict[str, Any] = field(default_factory=dict)
    told_with: dict[str, int] = field(default_factory=dict)
    left: list[str] = field(default_factory=list)


def read_phrase(text: str, columns: tuple[str, ...], library: Library, context: Context) -> Reading:
    """Read one cell of free text.

    columns  facts that the cell may set; SIZE among them reads sizes too
    """
    reading = Reading()
    rest = plain(text)
    known = vocabulary(library, tuple(column for column in columns if column != SIZE), context.scheme)
    if "retention_kg_m3" in columns:
        rest = _take_retention(rest, reading, lambda: SIZE not in columns or _treated(text, known))
    if SIZE in columns:
        sets, rest = take_sizes(rest, library, context)
        reading.sets |= sets
    films = _films(library) if COAT in columns else frozenset()
    for phrase, sets in matches(rest, known):
        _last_coat(reading, sets, films)
        _set_all(reading, sets)
        if not sets:
            reading.left.append(phrase)
    return reading


def _treated(text: str, known: Vocabulary) -> bool:
    return any("treatment_kind" in sets or "preservative" in sets for _, sets in matches(text, known))


def _take_retention(text: str, reading: Reading, bare: Callable[[], bool]) -> str:
    """A retention, and the text without it; a bare .40 is one only where `bare` says so, else it may be inches."""
    match = _RETENTION.search(text)
    if match is None or (match[3] and not bare()):
        return text
    value = float(match[1] or match[3])
    metric = (match[2] or "").startswith("kg")
    reading.sets["retention_kg_m3"] = value if metric else round(value * KG_M3_PER_PCF, 3)
    return text[: match.start()] + " " + text[match.end() :]


def matches(text: str, known: Vocabulary) -> Iterator[tuple[str, dict[str, str]]]:
    """Whole words of a text from left to right, the longest phrase first; words on no list with nothing set."""
    tokens = normal(text).split()
    at = 0
    while at < len(tokens):
        lengths = range(min(known.longest, len(tokens) - at), 0, -1)
        found = ((n, sets) for n in lengths if (sets := known.get(" ".join(tokens[at : at + n]))))
        length, sets = next(found, (1, {}))
        yield " ".join(tokens[at : at + length]), sets
        at += length


def _films(library: Library) -> frozenset[str]:
    """Finishes that form a film."""
    table = library.table("finishes")
    return frozenset(kind for kind, row in table.index.items() if table.words("film")[row] == "yes")


def _last_coat(reading: Reading, sets: Mapping[str, str], films: frozenset[str]) -> None:
    """A film is the last coat, also where oil, wax or stain was named before it."""
    if sets.get(COAT) in films and reading.sets.get(COAT) not in films:
        reading.sets.pop(COAT, None)


def _set_all(reading: Reading, sets: Mapping[str, str]) -> None:
    """What one phrase sets; a plain wood ends the doubt that an earlier, ambiguous word left."""
    if sets.get("species", UNKNOWN) != UNKNOWN and reading.sets.get("species") == UNKNOWN:
        reading.sets.pop(AMBIGUOUS, None)
        reading.sets.pop(MAY_MEAN, None)
    settled = reading.sets.get("species", UNKNOWN) != UNKNOWN
    for column, value in sets.items():
        if not (settled and column in (AMBIGUOUS, MAY_MEAN)):
            _set(reading, column, value, sum(told != UNKNOWN for told in sets.values()))


def _set(reading: Reading, column: str, value: str, told_with: int) -> None:
    """A plain word beats an earlier "unknown"; the first stays, but what it only implied yields to a word that says it.

    told_with  how many facts the phrase tells: a preservative's name implies pressure, "brushed on" says how
    """
    implied = value != UNKNOWN and column == IMPLIED and told_with < reading.told_with.get(column, 0)
    if column != IGNORED and (implied or reading.sets.get(column, UNKNOWN) == UNKNOWN):
        reading.sets[column] = value
        reading.told_with[column] = told_with


def unlisted(words: Iterable[str]) -> list[str]:
    """Left-over words that say something: those with a letter."""
    return [word for word in words if re.search(r"[a-z]", word)]
