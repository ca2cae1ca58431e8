"""Rows out of the first visible sheet of a workbook; what a reader of values would lose is read from the sheet itself."""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree
from xml.parsers import expat

from openpyxl import load_workbook
from openpyxl.utils.cell import coordinate_from_string, range_boundaries

from ..errors import InputError, Problem
from ..limits import MB, limit, over
from ..units import unit_of
from .files import NO_VALUE, Rows, cell_text

LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
"""Where a sheet ends: ECMA-376, part 1, as the programs that write it have it."""
SHOWN = 10
_LITERAL = re.compile(r'"([^"]*)"|\\(.)')


class Refused(Exception):
    """The workbook is beyond a limit; the message says which, `line` where."""

    def __init__(self, what: str, line: int | None = None) -> None:
        super().__init__(what)
        self.line = line


def xlsx_rows(data: bytes, place: str) -> Rows:
    """Rows of the first visible sheet; formulas by the values they last had, a merged cell for each of its rows.

    InputError for what is no workbook, is beyond a limit, or names other files in its markup.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as book:
            _check_size(book)
            sheets = sheets_of(book)
            seen = _Seen(book.read(sheets[0].file)) if sheets and sheets[0].visible else _Seen()
        cells = _values(data, sheets, seen) if seen.rows else []
        merged = _filled(cells, seen)
    except Refused as error:
        raise InputError([Problem(place, error.line, None, str(error))]) from None
    except Exception as error:
        what = f"not a workbook that can be read ({type(error).__name__}); save it again as .xlsx"
        raise InputError([Problem(place, None, None, what)]) from None
    said = tuple(
        f"{place}: {one}" for one in [*_of_sheets(sheets), *_of_hidden(seen, cells), *_of_merged(seen, merged)]
    )
    return Rows(place, list(range(1, len(cells) + 1)), cells, merged=frozenset(merged), said=said)


@dataclass(frozen=True)
class SheetFile:
    """A sheet of cells: its title, its file in the workbook, and whether it shows."""

    title: str
    file: str
    visible: bool


def sheets_of(book: zipfile.ZipFile) -> list[SheetFile]:
    """The sheets of cells of a workbook, the visible ones first."""
    root = _relations(book, "_rels/.rels", "")
    main = next(target for kind, target in root.values() if kind.endswith("/officeDocument"))
    folder, name = posixpath.split(main)
    links = _relations(book, f"{folder}/_rels/{name}.rels", folder)
    out = []
    for sheet in ElementTree.fromstring(book.read(main)).iterfind("{*}sheets/{*}sheet"):
        kind, target = links[next(sheet.attrib[key] for key in sheet.attrib if key.endswith("}id"))]
        if kind.endswith("/worksheet"):
            out.append(SheetFile(sheet.get("name", ""), target, sheet.get("state", "visible") == "visible"))
    return sorted(out, key=lambda one: not one.visible)


def _relations(book: zipfile.ZipFile, name: str, folder: str) -> dict[str, tuple[str, str]]:
    """Kind and file of each relation; a file's name counts from `folder` unless it begins with a stroke."""
    found = ElementTree.fromstring(book.read(name)).iterfind("{*}Relationship")
    return {
        one.attrib["Id"]: (
            one.attrib["Type"],
            posixpath.normpath(posixpath.join("/", folder, one.attrib["Target"]))[1:],
        )
        for one in found
    }


def _check_size(book: zipfile.ZipFile) -> None:
    """Refuse what would unpack to too much, before it is; and markup that defines words of its own or names files."""
    members = book.infolist()
    if len(members) > limit("WORKBOOK_FILES"):
        raise Refused(over("WORKBOOK_FILES", "holds more files than are read"))
    if sum(one.file_size for one in members) > limit("UNPACKED_MB") * MB:
        raise Refused(over("UNPACKED_MB", "unpacks to more than is read, in MB"))
    for one in members:
        if one.filename.endswith((".xml", ".rels")) and b"<!" in (book.read(one).replace(b"\0", b"")):
            _check_markup(book.read(one))


def _check_markup(data: bytes) -> None:
    parser = expat.ParserCreate()

    def refuse(*_: object) -> None:
        raise Refused("its markup defines words of its own, which no list needs; save it again as .xlsx")

    parser.StartDoctypeDeclHandler = refuse
    parser.Parse(data, True)


class _Seen:
    """What the markup of a sheet tells beside values, rows and columns from 0: cells merged and hidden, and formulas
    that no program has worked out. Raises Refused where the sheet spans more than is read."""

    def __init__(self, data: bytes = b"") -> None:
        self.rows = self.spans = 0
        self.unworked: set[tuple[int, int]] = set()
        self.merges: list[tuple[int, int, int, int]] = []
        self.hidden_rows: list[int] = []
        self.hidden_columns: list[int] = []
        self._most = limit("SHEET_CELLS")
        self._row = self._column = -1
        self._formula = self._text = False
        self._open = ""
        if data:
            parser = expat.ParserCreate()
            parser.StartElementHandler, parser.EndElementHandler = self._start, self._end
            parser.CharacterDataHandler = self._characters
            parser.Parse(data, True)

    def _start(self, tag: str, at: dict[str, str]) -> None:
        local = tag.rpartition(":")[2]
        self._open = local
        if local == "row":
            self._begin_row(at)
        elif local == "c":
            self._begin_cell(at)
        elif local == "f":
            self._formula = True
        elif local == "mergeCell":
            left, top, right, bottom = (one or 1 for one in range_boundaries(at["ref"]))
            self.merges.append((top - 1, left - 1, bottom - 1, right - 1))
        elif local == "col" and at.get("hidden") in ("1", "true"):
            self._hide(int(at["min"]) - 1, min(int(at["max"]), LAST_COLUMN))

    def _hide(self, first: int, last: int) -> None:
        if len(self.hidden_columns) + last - first > LAST_COLUMN:
            raise Refused("its columns are told more than once; save it again as .xlsx")
        self.hidden_columns += range(first, last)

    def _begin_row(self, at: dict[str, str]) -> None:
        before = self._row
        self._row = int(at.get("r", self._row + 2)) - 1
        self._column = -1
        if 0 <= self._row <= before:
            raise Refused("holds rows that are not in order; save it again as .xlsx", self._row + 1)
        if not 0 <= self._row < LAST_ROW:
            raise Refused(f"a sheet ends at row {LAST_ROW}; save it again as .xlsx", self._row + 1)
        self.rows = max(self.rows, self._row + 1)
        if at.get("hidden") in ("1", "true"):
            self.hidden_rows.append(self._row)

    def _begin_cell(self, at: dict[str, str]) -> None:
        before = self._column
        if "r" in at:
            letters, _ = coordinate_from_string(at["r"])
            self._column = range_boundaries(f"{letters}1")[0] - 1
        else:
            self._column += 1
        if self._column <= before:
            raise Refused("holds cells that are not in order; save it again as .xlsx", self._row + 1)
        self.spans += self._column - before
        if self.spans + self.rows > self._most:
            raise Refused(over("SHEET_CELLS", "the sheet spans more cells than are read"), self._row + 1)
        self._formula = self._text = False
        self._kind = at.get("t", "n")

    def _characters(self, text: str) -> None:
        if self._open in ("v", "t") and text.strip():
            self._text = True

    def _end(self, tag: str) -> None:
        local = tag.rpartition(":")[2]
        self._open = ""
        if local == "c" and self._formula and not self._text and self._kind != "str":
            self.unworked.add((self._row, self._column))


def _values(data: bytes, sheets: list[SheetFile], seen: _Seen) -> list[list[str]]:
    """The cells of the first visible sheet as text."""
    book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
    sheet = book[sheets[0].title]
    sheet.reset_dimensions()
    cells = [[_cell(one) for one in row] for row in sheet.iter_rows()]
    most = limit("CELL_SIGNS")
    for number, row in enumerate(cells):
        if any(len(text) > most for text in row):
            raise Refused(over("CELL_SIGNS", "a cell is longer than is read"), number + 1)
    for row_, column in seen.unworked:
        if row_ < len(cells):
            cells[row_] += [""] * (column + 1 - len(cells[row_]))
            cells[row_][column] = NO_VALUE
    return cells


def _cell(cell: Any) -> str:
    """A cell as a person sees it: a share as percent, with the unit that its format writes behind it."""
    value = cell.value
    if isinstance(value, int | float) and not isinstance(value, bool):
        return _number(value, cell.number_format or "")
    return cell_text(value)


def _number(value: float, shown_as: str) -> str:
    literals = " ".join(one or other for one, other in _LITERAL.findall(shown_as)).strip()
    bare = _LITERAL.sub("", shown_as)
    if "%" in bare:
        return f"{value * 100:.10g} %"
    text = cell_text(value)
    return f"{text} {literals}" if unit_of(literals) else text


def _filled(cells: list[list[str]], seen: _Seen) -> set[tuple[int, int]]:
    """Give each row of a merged cell the text of its first; returns the cells that got it."""
    if sum(min(bottom, len(cells)) - top for top, _, bottom, _ in seen.merges if top < len(cells)) > limit(
        "SHEET_CELLS"
    ):
        raise Refused(over("SHEET_CELLS", "merged cells span more than is read"))
    got: set[tuple[int, int]] = set()
    for top, left, bottom, _ in seen.merges:
        text = cells[top][left] if top < len(cells) and left < len(cells[top]) else ""
        for row in range(top + 1, min(bottom + 1, len(cells))) if text else ():
            cells[row] += [""] * (left + 1 - len(cells[row]))
            if not cells[row][left]:
                cells[row][left] = text
                got.add((row, left))
    return got


def _of_sheets(sheets: list[SheetFile]) -> list[str]:
    others = [f"{one.title} (hidden)" if not one.visible else one.title for one in sheets[1:]]
    if not others or not sheets[0].visible:
        return []
    return [f"only the first sheet that shows, {sheets[0].title}, is read; not read: {_some(others)}"]


def _of_hidden(seen: _Seen, cells: list[list[str]]) -> list[str]:
    rows = [str(row + 1) for row in seen.hidden_rows if row < len(cells) and any(cells[row])]
    columns = [
        next((row[at] for row in cells if at < len(row) and row[at]), "")
        for at in seen.hidden_columns
        if any(at < len(row) and row[at] for row in cells)
    ]
    out = [f"rows that are hidden in the sheet are read like the others: {_some(rows)}"] if rows else []
    if columns:
        out.append(f"columns that are hidden in the sheet are read like the others: {_some(columns)}")
    return out


def _of_merged(seen: _Seen, merged: set[tuple[int, int]]) -> list[str]:
    rows = [f"{top + 1} to {bottom + 1}" for top, left, bottom, _ in seen.merges if (top + 1, left) in merged]
    return [f"a cell that is merged over several rows counts for each of them: rows {_some(rows)}"] if rows else []


def _some(names: list[str]) -> str:
    more = len(names) - SHOWN
    return ", ".join(names[:SHOWN]) + (f" and {more} more" if more > 0 else "")
