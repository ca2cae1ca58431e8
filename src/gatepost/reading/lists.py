"""A whole list: rows to typed columns, with what was blank, unlisted or contradicting kept apart."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import Any

import pandas as pd

from ..encode import typed
from ..errors import InputError, Problem
from ..library import UNKNOWN, Column, Library, Over
from ..limits import limit
from ..limits import over as over_limit
from ..units import print_size, unit_of
from .cells import Cell, Unreadable, read_cell
from .files import Rows
from .headers import Header, Heading, find_header
from .phrases import matches
from .sizes import Context
from .vocabulary import vocabulary

_NO_PART = re.compile(r"(sub)?totals?\b|sum\b|grand total", re.I)
MATERIAL = "material"
SAME_SIZE_MM, SAME_SIZE_SHARE = 1.0, 0.1


@dataclass
class ListRead:
    """One list as read: values by fact name (None where nothing is said), remarks, and counts."""

    values: dict[str, list[Any]]
    remarks: list[list[str]]
    contradictions: list[list[str]]
    lines: list[int]
    given: int
    unused: list[str] = field(default_factory=list)
    said: tuple[str, ...] = ()
    looked_up: int = 0

    def __len__(self) -> int:
        return len(self.lines)


def read_list(rows: Rows, over: Over, library: Library, context: Context) -> ListRead:
    """Read one list; every cell that cannot be read is reported at once."""
    header = find_header(rows, over, library.register)
    kept = kept_rows(rows, header)
    out = ListRead(
        {},
        [[] for _ in kept],
        [[] for _ in kept],
        [rows.lines[at] for at in kept],
        _given(rows, header),
        header.unused,
        rows.said,
    )
    problems = _required(rows, header, kept)
    if not kept:
        problems.append(Problem(rows.place, None, None, "holds a heading but no rows; write at least one"))
    material = [h for h in header.headings if h.column.name == MATERIAL]
    for heading in material + [h for h in header.headings if h.column.name != MATERIAL]:
        problems += _read_column(heading, rows, kept, out, library, context)
    if problems:
        raise InputError(sorted(problems, key=lambda problem: problem.line or 0))
    if out.looked_up > limit("NEAR_WORDS"):
        what = over_limit("NEAR_WORDS", "so many words are on no list that the nearest were not looked up for the last")
        out.said = (*out.said, f"{rows.place}: {what}")
    return out


def kept_rows(rows: Rows, header: Header) -> list[int]:
    """Where in `rows` the parts or joints stand, in the order of the frame that `read` delivers."""
    heads = rows.cells[header.row]
    return [at for at, cells in enumerate(rows.cells) if at > header.row and cells != heads and _is_part(cells, header)]


def _given(rows: Rows, header: Header) -> int:
    """Rows of the list: all but the heading row and empty lines at the very end."""
    last = max((at for at, cells in enumerate(rows.cells) if any(cells)), default=header.row)
    return last + 1 - 1


def _is_part(cells: list[str], header: Header) -> bool:
    """A row is a part when a column that matters is filled; blank, title and total rows are not."""
    filled = [h for h in header.headings if h.at < len(cells) and cells[h.at].strip()]
    if not filled:
        return False
    name = next((cells[h.at] for h in filled if h.column.required), "")
    if _NO_PART.match(name.strip()):
        return False
    return len(filled) > 1 or len(header.headings) == 1


def _required(rows: Rows, header: Header, kept: list[int]) -> list[Problem]:
    problems = []
    for heading in header.headings:
        for at in kept if heading.column.required else ():
            cells = rows.cells[at]
            if heading.at >= len(cells) or not cells[heading.at].strip():
                problems.append(
                    Problem(rows.place, rows.lines[at], heading.column.written, "is blank; every row needs it")
                )
    return problems


def _read_column(
    heading: Heading, rows: Rows, kept: list[int], out: ListRead, library: Library, context: Context
) -> list[Problem]:
    """Read one column, each different text once for all its rows."""
    column, most = heading.column, limit("NEAR_WORDS")
    here = unit_context(heading, context)
    rows_of: dict[str, list[int]] = {}
    for row, at in enumerate(kept):
        rows_of.setdefault(rows.cells[at][heading.at] if heading.at < len(rows.cells[at]) else "", []).append(row)
    problems = _numbers_merged(heading, rows, kept)
    for text, here_rows in rows_of.items():
        cell = _cell_or_error(text, column, library, replace(here, near=out.looked_up < most))
        if isinstance(cell, Unreadable):
            problems += [Problem(rows.place, rows.lines[kept[row]], column.written, str(cell)) for row in here_rows]
        else:
            _store(cell, column, here_rows, out, library, context.units)
    return problems


def _numbers_merged(heading: Heading, rows: Rows, kept: list[int]) -> list[Problem]:
    """A count in a cell that is merged over several rows may be that of each or of all: it is asked for."""
    what = "is one cell merged over several rows; write the number into each row"
    if heading.column.kind != "whole":
        return []
    return [
        Problem(rows.place, rows.lines[at], heading.column.written, what)
        for at in kept
        if (at, heading.at) in rows.merged
    ]


def unit_context(heading: Heading, context: Context) -> Context:
    """The context of a column: a unit in its heading says what bare numbers mean."""
    return replace(context, units=unit_of(heading.unit) or heading.unit) if heading.unit else context


def _cell_or_error(text: str, column: Column, library: Library, context: Context) -> Cell | Unreadable:
    try:
        return read_cell(text, column, library, context)
    except Unreadable as error:
        return error


def _store(cell: Cell, column: Column, rows: list[int], out: ListRead, library: Library, units: str) -> None:
    """Put what one text says into its rows; a column's own cell beats the material, and the difference is kept."""
    out.looked_up += len(cell.remarks)
    for row in rows if cell.remarks else ():
        out.remarks[row] += cell.remarks
    for name, value in cell.sets.items():
        if name not in out.values:
            out.values[name] = [None] * len(out)
        values = out.values[name]
        for row in rows:
            told = library.register.facts[column.over].get(name)
            if told is not None and column.name != MATERIAL and _contradicts(values[row], value, column.over):
                said, before = (_shown(one, told, units) for one in (value, values[row]))
                other = "the material" if column.over == "parts" else "another cell"
                out.contradictions[row].append(f"{column.written} says {said}, {other} says {before}")
            if value != UNKNOWN or values[row] is None:
                values[row] = value


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
    known = vocabulary(library, ("role",), context.scheme)
    roles = [sets["role"] for _, sets in matches(re.sub(r"[\d/]+", " ", name), known) if "role" in sets]
    return roles[-1] if roles and roles[-1] != UNKNOWN else None


def frame_of(out: ListRead, over: Over, library: Library) -> pd.DataFrame:
    """All read columns of the register as one frame: numbers, categories and text; unknown as NaN or None."""
    nothing = [None] * len(out)
    columns = {
        name: typed(column, out.values.get(name, nothing))
        for name, column in library.register.facts[over].items()
        if not column.derived
    }
    return pd.DataFrame(columns, index=pd.RangeIndex(len(out)))
