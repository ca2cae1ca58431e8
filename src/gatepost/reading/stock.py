"""The stock file: rows of what a shop can take, in the columns of the parts list that a choice sets."""

from __future__ import annotations

from collections.abc import Sequence

from ..errors import InputError, Problem
from ..library import Library
from ..project import Stock
from .assemble import completed
from .cells import BLANKS
from .files import Rows
from .headers import LOOK_DOWN, Header, find_header, squeezed
from .lists import read_list
from .shelf import TOLD, shelved
from .sizes import Context

NAMES = ("material", "species")
FINISH = ("finish", "upkeep")


def read_stock(rows: Rows, library: Library, context: Context) -> Stock:
    """Read a stock file; InputError with every cell that cannot be read. Words on no list, rows that name no
    material whole, and unused columns are said."""
    named = _named(rows, library)
    header = find_header(named, "parts", library.register)
    used = _choices_only(named, header)
    read = read_list(used, "parts", library, context)
    frame = completed(read, "parts", library, {})[0]
    places = [f"{rows.place}:{line}" for line in read.lines]
    said = [f"{places[row]}: {remark}" for row in sorted(read.remarks) for remark in read.remarks[row]]
    writes = _writes(used, header, read.lines)
    materials, why_not = shelved(frame, writes, places, library, context)
    finishes = [row for row in ({n: row[n] for n in FINISH if n in row} for row in writes) if "finish" in row]
    return Stock(rows.place, materials, _once(finishes), (*rows.said, *said, *why_not, *_unused(rows, header)))


def _once(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    return [row for at, row in enumerate(rows) if row not in rows[:at]]


def _unused(rows: Rows, header: Header) -> list[str]:
    """One sentence on the columns that are not used, if there are such."""
    used = {"material", *TOLD, *FINISH}
    dropped = [rows.cells[header.row][h.at - 1] for h in header.headings if h.at and h.column.written not in used]
    unused = ", ".join([*dropped, *header.unused])
    what = "columns that tell neither a material nor a finish are not used"
    return [f"{rows.place}: {what}: {unused}"] if unused else []


def _named(rows: Rows, library: Library) -> Rows:
    """The rows with a name each, which a parts list needs and a stock list does not."""
    written = library.register.written["parts"]
    words = {squeezed(word) for name in NAMES for word in (name, *written[name].synonyms)}
    found = (at for at, cells in enumerate(rows.cells[:LOOK_DOWN]) if any(squeezed(text) in words for text in cells))
    at = next(found, None)
    if at is None:
        what = "no heading row names material or species; a stock file has columns of the parts list"
        raise InputError([Problem(rows.place, None, None, what)])
    names = {squeezed(word) for word in ("part", *written["part"].synonyms)}
    heads = ["" if squeezed(text) in names else text for text in rows.cells[at]]
    named = [[f"stock {row}", *cells] for row, cells in enumerate(rows.cells)]
    named[at] = ["part", *heads]
    blank = [[] if not any(cells[1:]) else cells for cells in named]
    return Rows(rows.place, rows.lines, blank)


def _choices_only(rows: Rows, header: Header) -> Rows:
    """The rows without the columns that describe a place in a project."""
    keep = {0, *(h.at for h in header.headings if h.column.side == "choice")}
    cells = [[text if at in keep else "" for at, text in enumerate(row)] for row in rows.cells]
    return Rows(rows.place, rows.lines, cells)


def _writes(rows: Rows, header: Header, lines: Sequence[int]) -> list[dict[str, str]]:
    of_line = dict(zip(rows.lines, rows.cells, strict=True))
    columns = [(h.column.written or h.column.name, h.at) for h in header.headings if h.at]
    return [
        {name: row[at] for name, at in columns if at < len(row) and row[at].strip().lower() not in BLANKS}
        for row in (of_line[line] for line in lines)
    ]
