"""A whole list: rows to typed columns, with what was blank, unlisted or contradicting kept apart."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from operator import itemgetter
from typing import Any

import numpy as np
import pandas as pd

from ..errors import InputError, Problem
from ..library import UNKNOWN, Column, Library, Over
from ..limits import limit
from ..limits import over as over_limit
from ..units import print_size, unit_of
from .cells import Cell, Unreadable, is_plain_text, read_cell, read_texts
from .coded import Coded, coded_texts
from .files import Rows, Texts
from .headers import Header, Heading, find_header
from .phrases import matches
from .sizes import Context
from .vocabulary import vocabulary

_NO_PART = re.compile(r"(sub)?totals?\b|sum\b|grand total", re.I)
_NO_PART_FIRST = "sſtgSTG"
"""Letters that begin what is no part; looking at one is quicker than the whole pattern."""
_FIGURES = re.compile(r"[\d/]+")
MATERIAL = "material"
NO_ROWS = "holds a heading but no rows; write at least one"
SAME_SIZE_MM, SAME_SIZE_SHARE = 1.0, 0.1


@dataclass
class ListRead:
    """One list as read: values by fact name, remarks and contradictions of the rows that have some, and counts."""

    values: dict[str, Coded]
    lines: Sequence[int]
    given: int
    unused: list[str] = field(default_factory=list)
    remarks: dict[int, list[str]] = field(default_factory=dict)
    contradictions: dict[int, list[str]] = field(default_factory=dict)
    piece: bool = False
    said: tuple[str, ...] = ()
    looked_up: int = 0

    def __len__(self) -> int:
        return len(self.lines)

    def column(self, name: str) -> Coded:
        """A fact of the rows, made blank where nothing was read of it."""
        return self.values.setdefault(name, Coded.blank(len(self)))


def read_list(rows: Rows, over: Over, library: Library, context: Context) -> ListRead:
    """Read one list; every cell that cannot be read is reported at once."""
    header = find_header(rows, over, library.register)
    texts = _texts(rows, header)
    kept = np.flatnonzero(_are_parts(rows, header, texts))
    out = ListRead({}, _lines_of(rows, kept), _given(rows, header), header.unused, piece=rows.piece, said=rows.said)
    problems = _required(rows, header, texts, kept)
    if not len(kept) and not rows.piece:
        problems.append(Problem(rows.place, None, None, NO_ROWS))
    material = [h for h in header.headings if h.column.name == MATERIAL]
    for heading in material + [h for h in header.headings if h.column.name != MATERIAL]:
        codes, different = texts[heading.at]
        problems += _read_column(heading, rows.place, (codes[kept], different), out, library, context)
        problems += _numbers_merged(heading, rows, kept)
    if problems:
        raise InputError(sorted(problems, key=lambda problem: problem.line or 0))
    if out.looked_up > limit("NEAR_WORDS"):
        what = over_limit("NEAR_WORDS", "so many words are on no list that the nearest were not looked up for the last")
        out.said = (*out.said, f"{rows.place}: {what}")
    return out


def _lines_of(rows: Rows, kept: np.ndarray) -> Sequence[int]:
    """The line of each row that is kept."""
    if len(kept) and kept[-1] - kept[0] == len(kept) - 1:
        return rows.lines[kept[0] : kept[-1] + 1]
    return [rows.lines[at] for at in kept.tolist()]


def kept_rows(rows: Rows, header: Header) -> list[int]:
    """Where in `rows` the parts or joints stand, in the order of the frame that `read` delivers."""
    return [int(at) for at in np.flatnonzero(_are_parts(rows, header, _texts(rows, header)))]


def count_parts(rows: Rows, library: Library) -> int:
    """How many rows of a parts list are parts."""
    return len(kept_rows(rows, find_header(rows, "parts", library.register)))


def _texts(rows: Rows, header: Header) -> dict[int, Texts]:
    """The cells of each matched column; blank where a row is shorter."""
    if rows.coded is not None:
        return rows.coded
    shortest = min(map(len, rows.cells))
    columns = {heading.at: _column(rows.cells, heading.at, shortest) for heading in header.headings}
    free = {heading.at for heading in header.headings if heading.column.kind == "text"}
    return {
        at: (np.arange(len(cells)), list(map(str.strip, cells))) if at in free else coded_texts(cells)
        for at, cells in columns.items()
    }


def _column(cells: list[list[str]], at: int, shortest: int) -> list[str]:
    if at < shortest:
        return list(map(itemgetter(at), cells))
    return [row[at] if at < len(row) else "" for row in cells]


def _given(rows: Rows, header: Header) -> int:
    """Rows of the list: all but the heading row and empty lines at the very end."""
    if rows.coded is not None:
        return len(rows.lines) - 1
    last = next((at for at in range(len(rows.cells) - 1, -1, -1) if any(rows.cells[at])), header.row)
    return last + 1 - 1


def _are_parts(rows: Rows, header: Header, texts: dict[int, Texts]) -> np.ndarray:
    """A row is a part when a column that matters is filled; headings, blank, title and total rows are not."""
    count = len(rows.lines)
    filled, aside, named = np.zeros(count, int), np.zeros(count, bool), np.zeros(count, bool)
    for heading in header.headings:
        codes, different = texts[heading.at]
        here = np.array(list(map(bool, different)), bool)[codes]
        filled += here
        if heading.column.required:
            total = np.array([text[:1] in _NO_PART_FIRST and bool(_NO_PART.match(text)) for text in different], bool)[
                codes
            ]
            aside |= total & here & ~named
            named |= here
    out = ~aside & (filled > (1 if len(header.headings) > 1 else 0))
    out[: header.row + 1] = False
    return out & ~_heads_again(rows, header, texts)


def _heads_again(rows: Rows, header: Header, texts: dict[int, Texts]) -> np.ndarray:
    """Rows that repeat the headings that are used."""
    heads, out = rows.cells[header.row], np.ones(len(rows.lines), bool)
    for at, (codes, different) in sorted(texts.items(), key=lambda column: len(column[1][1])):
        if not out[header.row + 1 :].any():
            break
        out &= np.array([text == heads[at] for text in different], bool)[codes]
    return out


def _required(rows: Rows, header: Header, texts: dict[int, Texts], kept: np.ndarray) -> list[Problem]:
    problems = []
    for heading in header.headings:
        codes, different = texts[heading.at]
        blank = ~np.array(list(map(bool, different)), bool)
        for at in kept[blank[codes[kept]]] if heading.column.required else ():
            problems.append(Problem(rows.place, rows.lines[at], heading.column.written, "is blank; every row needs it"))
    return problems


def _read_column(
    heading: Heading, place: str, texts: Texts, out: ListRead, library: Library, context: Context
) -> list[Problem]:
    """Read one column, each different text once for all its rows."""
    column, (codes, different), most = heading.column, texts, limit("NEAR_WORDS")
    if is_plain_text(column, different):
        out.values[column.name] = Coded.chosen(codes, read_texts(different))
        return []
    here = unit_context(heading, context)
    present = np.bincount(codes, minlength=len(different)) > 0
    cells: list[Cell | Unreadable] = []
    for text, met in zip(different, present, strict=True):
        cell = _cell_or_error(text, column, library, replace(here, near=out.looked_up < most)) if met else Cell()
        out.looked_up += len(cell.remarks) if isinstance(cell, Cell) else 0
        cells.append(cell)
    bad = {code: str(cell) for code, cell in enumerate(cells) if isinstance(cell, Unreadable)}
    if bad:
        rows = np.flatnonzero(np.isin(codes, list(bad))).tolist()
        return [Problem(place, out.lines[row], column.written, bad[int(codes[row])]) for row in rows]
    _store([cell for cell in cells if isinstance(cell, Cell)], codes, column, out, library, context.units)
    return []


def _numbers_merged(heading: Heading, rows: Rows, kept: np.ndarray) -> list[Problem]:
    """A count in a cell that is merged over several rows may be that of each or of all: it is asked for."""
    what = "is one cell merged over several rows; write the number into each row"
    if heading.column.kind != "whole" or not rows.merged:
        return []
    return [
        Problem(rows.place, rows.lines[at], heading.column.written, what)
        for at in kept.tolist()
        if (at, heading.at) in rows.merged
    ]


def unit_context(heading: Heading, context: Context) -> Context:
    """The context of a column: a unit in its heading says what bare numbers mean."""
    return replace(context, units=unit_of(heading.unit) or heading.unit) if heading.unit else context


@lru_cache(maxsize=4096)
def _cell_or_error(text: str, column: Column, library: Library, context: Context) -> Cell | Unreadable:
    """What a text of a column says, for all its rows and all pieces of a list; nothing is put into the cell later."""
    try:
        return read_cell(text, column, library, context)
    except Unreadable as error:
        return error


def _store(cells: list[Cell], codes: np.ndarray, column: Column, out: ListRead, library: Library, units: str) -> None:
    """Put what each text says into its rows; a column's own cell beats the material, and the difference is kept."""
    remarked = np.array([bool(cell.remarks) for cell in cells], bool)
    for row in np.flatnonzero(remarked[codes]).tolist():
        out.remarks.setdefault(row, []).extend(cells[codes[row]].remarks)
    differing: list[tuple[int, int, str]] = []
    for name in dict.fromkeys(name for cell in cells for name in cell.sets):
        told = out.column(name)
        nothing_told = len(told.values) == 1
        new = np.array([told.place(cell.sets[name]) if name in cell.sets else 0 for cell in cells])[codes]
        if nothing_told:
            told.codes = new
            continue
        fact = library.register.facts[column.over].get(name)
        if fact is not None and column.name != MATERIAL:
            other = "the material" if column.over == "parts" else "another cell"
            for rows, said, before in _contradictions(told, new, column.over):
                shown = (_shown(one, fact, units) for one in (said, before))
                text = f"{column.written} says {next(shown)}, {other} says {next(shown)}"
                differing += [(int(row), list(cells[codes[row]].sets).index(name), text) for row in rows]
        unknown = told.place(UNKNOWN)
        told.codes = np.where((new > 0) & ((new != unknown) | (told.codes == 0)), new, told.codes)
    for at, _, text in sorted(differing, key=lambda one: one[:2]):
        out.contradictions.setdefault(at, []).append(text)


def _contradictions(told: Coded, new: np.ndarray, over: Over) -> list[tuple[np.ndarray, Any, Any]]:
    """Where a column's new values differ from those told before: rows, the new value, the old."""
    both = np.flatnonzero((told.codes > 0) & (new > 0) & (told.codes != new))
    pairs = told.codes[both] * len(told.values) + new[both]
    out = []
    for pair in pd.unique(pairs):
        before, value = told.values[pair // len(told.values)], told.values[pair % len(told.values)]
        if _contradicts(before, value, over):
            out.append((both[pairs == pair], value, before))
    return out


def _contradicts(before: Any, value: Any, over: Over) -> bool:
    return before not in (None, UNKNOWN) and value != UNKNOWN and _differs(before, value, over)


def _differs(first: Any, second: Any, over: Over) -> bool:
    """Sizes of boards may differ a little and mean the same; the wire of a nail may not."""
    if isinstance(first, int | float) and isinstance(second, int | float):
        least_mm = SAME_SIZE_MM if over == "parts" else 0.0
        return abs(first - second) > max(least_mm, SAME_SIZE_SHARE * max(abs(first), abs(second)))
    return bool(first != second)


def _shown(value: Any, column: Column, units: str) -> str:
    """A value as it is printed: a size in the project's units, inches to 1/32."""
    if column.unit == "mm":
        return print_size(value, units, 32)
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def role_from_name(name: str, library: Library, context: Context) -> str | None:
    """The role that a part's name speaks of: the last word that is one."""
    return _role_of_words(_FIGURES.sub(" ", name).strip(), library, context.scheme)


@lru_cache(maxsize=100_000)
def _role_of_words(words: str, library: Library, scheme: str) -> str | None:
    known = vocabulary(library, ("role",), scheme)
    roles = [sets["role"] for _, sets in matches(words, known) if "role" in sets]
    return roles[-1] if roles and roles[-1] != UNKNOWN else None


def frame_of(out: ListRead, over: Over, library: Library) -> pd.DataFrame:
    """All read columns of the register as one frame: numbers, categories and text; unknown as NaN or None.

    Texts of a piece stay as they are: a frame of its own kind of text is slow to make, and a piece is soon forgotten.
    """
    nothing = Coded.blank(len(out))
    columns = {
        name: out.values.get(name, nothing).typed(column)
        for name, column in library.register.facts[over].items()
        if not column.derived
    }
    if out.piece:
        columns = {
            name: pd.Series(values, dtype=object)
            if isinstance(values, np.ndarray) and values.dtype.kind == "O"
            else values
            for name, values in columns.items()
        }
    return pd.DataFrame(columns, index=pd.RangeIndex(len(out)), copy=not out.piece)
