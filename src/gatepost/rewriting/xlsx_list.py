"""XLSX with changed cells: the sheet's own XML edited at the cell, everything else of the workbook kept byte for byte.

A library that loads and saves a workbook drops what it does not know (drawings, the last values of formulas).
"""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import dataclass, field
from xml.parsers import expat
from xml.sax.saxutils import escape

from openpyxl.utils import column_index_from_string, get_column_letter

from ..errors import InputError, Problem
from ..reading.workbook import sheets_of
from .plan import Edit

_CELL = re.compile(r"([A-Z]+)(\d+)")
_WHOLE_OR_DECIMAL = re.compile(r"-?(0|[1-9]\d{0,9})(\.\d{0,4}[1-9])?")
Piece = tuple[int, int, bytes]


@dataclass
class _Element:
    """A row or a cell of the sheet: where it stands in the bytes, and what of it must be kept."""

    start: int
    tag: str
    attributes: dict[str, str]
    head_end: int = 0
    end: int = 0
    inner_end: int = 0
    formula: bool = False
    value: bool = False
    cells: dict[int, _Element] = field(default_factory=dict)


def changed_xlsx(data: bytes, place: str, edits: list[Edit]) -> bytes:
    """The bytes of a workbook with the edits made in its first visible sheet; a cell with a formula is refused."""
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        sheet = _sheet_name(book)
        made = _changed_sheet(book.read(sheet), place, edits)
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as other:
            other.comment = book.comment
            for member in book.infolist():
                other.writestr(member, made if member.filename == sheet else book.read(member))
    return out.getvalue()


def _sheet_name(book: zipfile.ZipFile) -> str:
    """The file of the first visible sheet of cells."""
    first = next((one for one in sheets_of(book) if one.visible), None)
    if first is None:
        raise InputError("the workbook has no visible sheet")
    return first.file


class _Reader:
    """Rows and cells of a sheet with their places in its bytes."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        self.rows: dict[int, _Element] = {}
        self.open: list[_Element] = []
        self.sheet: _Element | None = None
        self.dimension: _Element | None = None
        self.parser = expat.ParserCreate()
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = self.end
        self.parser.Parse(data, True)

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        at = self.parser.CurrentByteIndex
        one = _Element(at, tag, attributes, _head_end(self.data, at))
        local, above = tag.rpartition(":")[2], self.open[-1] if self.open else None
        if local == "row":
            number = int(attributes.get("r", max(self.rows, default=0) + 1))
            self.rows[number] = one
        elif local == "c" and above is not None:
            where = _CELL.fullmatch(attributes.get("r", ""))
            above.cells[column_index_from_string(where[1]) if where else max(above.cells, default=0) + 1] = one
        elif local == "f" and above is not None:
            above.formula = True
        elif local in ("v", "is") and above is not None:
            above.value = True
        elif local == "dimension":
            self.dimension = one
        self.open.append(one)

    def end(self, _tag: str) -> None:
        one, at = self.open.pop(), self.parser.CurrentByteIndex
        if self.data[one.head_end - 2 : one.head_end] == b"/>":
            one.inner_end, one.end = one.head_end, one.head_end
        else:
            one.inner_end, one.end = at, self.data.index(b">", at) + 1


def _head_end(data: bytes, at: int) -> int:
    """Where the tag that begins at `at` ends; a > between quotes does not end it."""
    head = re.compile(rb"<[^\"'>]*(?:\"[^\"]*\"[^\"'>]*|'[^']*'[^\"'>]*)*>").match(data, at)
    if head is None:
        raise InputError("the sheet is not written in UTF-8")
    return head.end()


def _changed_sheet(data: bytes, place: str, edits: list[Edit]) -> bytes:
    sheet = _Reader(data)
    pieces, problems = list[Piece](), list[Problem]()
    by_row: dict[int, list[Edit]] = {}
    for edit in edits:
        by_row.setdefault(edit.at + 1, []).append(edit)
    for number, some in by_row.items():
        row = sheet.rows[number]
        for edit in some:
            old = row.cells.get(edit.column + 1)
            if old is not None and old.formula:
                what = "holds a formula; put its value in the cell and try again"
                problems.append(Problem(place, number, edit.heading, what))
        pieces += [*_row_pieces(row, number, some), *_spans_dropped(data, row)]
    if problems:
        raise InputError(problems)
    for start, end, new in sorted([*pieces, *_dimension(sheet, edits)], reverse=True):
        data = data[:start] + new + data[end:]
    return data


def _row_pieces(row: _Element, number: int, edits: list[Edit]) -> list[Piece]:
    """Cells replaced in their place; new ones before the next cell to the right, several there in order."""
    prefix = row.tag.removesuffix("row")
    out, new = [], dict[int, bytes]()
    for edit in sorted(edits, key=lambda edit: edit.column):
        column = edit.column + 1
        old = row.cells.get(column)
        made = _cell(prefix, f"{get_column_letter(column)}{number}", old, edit.text)
        if old is not None:
            out.append((old.start, old.end, made))
        else:
            right = [cell.start for other, cell in row.cells.items() if other > column]
            at = min(right, default=row.inner_end)
            new[at] = new.get(at, b"") + made
    return out + [(at, at, made) for at, made in new.items()]


def _spans_dropped(data: bytes, row: _Element) -> list[Piece]:
    """The columns that a row says it spans are a hint to readers, and wrong once a cell is added."""
    hint = re.compile(rb"\s+spans=(\"[^\"]*\"|'[^']*')").search(data, row.start, row.head_end)
    return [(hint.start(), hint.end(), b"")] if hint else []


def _cell(prefix: str, where: str, old: _Element | None, text: str) -> bytes:
    """A cell with the style of the old one: a number where one stood or nothing did, else text."""
    style = f' s="{old.attributes["s"]}"' if old is not None and "s" in old.attributes else ""
    numeric = old is None or (old.value and old.attributes.get("t", "n") == "n")
    if numeric and _WHOLE_OR_DECIMAL.fullmatch(text):
        return f'<{prefix}c r="{where}"{style}><{prefix}v>{text}</{prefix}v></{prefix}c>'.encode()
    inner = f'<{prefix}is><{prefix}t xml:space="preserve">{escape(text)}</{prefix}t></{prefix}is>'
    return f'<{prefix}c r="{where}"{style} t="inlineStr">{inner}</{prefix}c>'.encode()


def _dimension(sheet: _Reader, edits: list[Edit]) -> list[Piece]:
    """The extent of the sheet, widened to the columns that were added; readers stop at it."""
    one = sheet.dimension
    corners = [] if one is None else _CELL.findall(one.attributes.get("ref", ""))
    most = max((edit.column + 1 for edit in edits), default=0)
    if one is None or not corners or column_index_from_string(corners[-1][0]) >= most:
        return []
    ref = f"{''.join(corners[0])}:{get_column_letter(most)}{corners[-1][1]}"
    head = sheet.data[one.start : one.head_end]
    return [(one.start, one.head_end, head.replace(one.attributes["ref"].encode(), ref.encode()))]
