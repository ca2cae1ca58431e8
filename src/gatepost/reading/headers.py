"""Headings matched to columns of the register, without regard to case, spaces and underscores."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ..errors import InputError, Problem, did_you_mean
from ..library import Column, Over, Register
from .files import Rows

LOOK_DOWN = 30
_UNIT = re.compile(
    r"(?:[(\[]|[\s_,/])\s*(mm|cm|m|in|inches|inch|ft|feet|\"|″|%|°|deg|(?:milli|centi)?met(?:er|re)s)\.?\s*[)\]]?\s*$",
    re.I,
)
_IN = re.compile(r"\s+in\s*$", re.I)


@dataclass(frozen=True)
class Heading:
    """One matched heading: which cell, which column, and the unit it names."""

    at: int
    column: Column
    unit: str | None


@dataclass(frozen=True)
class Header:
    """Where the header row stands in the rows, what it matches, and the headings not used."""

    row: int
    headings: list[Heading]
    unused: list[str]

    @property
    def names(self) -> set[str]:
        return {heading.column.written or "" for heading in self.headings}


def squeezed(text: str) -> str:
    """A heading without case, spaces, underscores and signs."""
    return re.sub(r"[^a-z0-9]", "", text.lower())


def find_header(rows: Rows, over: Over, register: Register) -> Header:
    """The first row that names the required columns; InputError when none does."""
    names = _names(over, register)
    required = {name for name, column in register.written[over].items() if column.required}
    for number, cells in enumerate(rows.cells[:LOOK_DOWN]):
        header = _matched(number, cells, names)
        if _is_header(header, over, required):
            header = _lower(header, rows, over, required, names)
            _refuse_twice(header, rows)
            return header
    raise InputError([_missing(rows, over, required, names)])


def _is_header(header: Header, over: Over, required: set[str]) -> bool:
    return required <= header.names and bool(over != "parts" or header.names & {"material", "species"})


def _lower(header: Header, rows: Rows, over: Over, required: set[str], names: dict[str, Column]) -> Header:
    """The second line of headings where cells of the first are merged with it, and it names more columns."""
    below = header.row + 1
    if not any(row == below for row, _ in rows.merged):
        return header
    lower = _matched(below, rows.cells[below], names)
    return lower if _is_header(lower, over, required) and len(lower.headings) > len(header.headings) else header


def _names(over: Over, register: Register) -> dict[str, Column]:
    out: dict[str, Column] = {}
    for name, column in register.written[over].items():
        out[squeezed(name)] = column
    for column in register.written[over].values():
        for other in column.synonyms:
            out.setdefault(squeezed(other), column)
    return out


def _matched(number: int, cells: list[str], names: dict[str, Column]) -> Header:
    headings, unused = [], []
    for at, text in enumerate(cells):
        unit = None if squeezed(text) in names else _UNIT.search(text)
        bare = text[: unit.start()] if unit else text
        column = names.get(squeezed(bare)) or (names.get(squeezed(_IN.sub("", bare))) if unit else None)
        if column is not None:
            headings.append(Heading(at, column, unit[1].lower() if unit else None))
        elif bare.strip():
            unused.append(text.strip())
    return Header(number, headings, unused)


def _refuse_twice(header: Header, rows: Rows) -> None:
    seen: dict[str, str] = {}
    problems = []
    for heading in header.headings:
        name = heading.column.written or ""
        text = rows.cells[header.row][heading.at]
        if name in seen:
            problems.append(
                Problem(
                    rows.place,
                    rows.lines[header.row],
                    text,
                    f'means the same as the heading "{seen[name]}"; keep one of them',
                )
            )
        seen.setdefault(name, text)
    if problems:
        raise InputError(problems)


def _missing(rows: Rows, over: Over, required: set[str], names: dict[str, Column]) -> Problem:
    if not any(any(cells) for cells in rows.cells):
        return Problem(rows.place, None, None, "the list is empty; write a heading row and a row for each part")
    best = max(
        (row for row in rows.cells[:LOOK_DOWN]), key=lambda row: len(_matched(0, row, names).headings), default=[]
    )
    found = _matched(0, best, names)
    need = sorted(required - found.names) + (
        [] if over != "parts" or found.names & {"material", "species"} else ["material (or species)"]
    )
    hint = next((h for text in found.unused for name in need if (h := did_you_mean(text, [name.split()[0]]))), "")
    line = rows.lines[rows.cells.index(best)] if best else None
    return Problem(rows.place, line, None, f"no heading row names {' and '.join(need)}{hint}")
