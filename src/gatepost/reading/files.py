"""Rows out of CSV, XLSX and standard input: plain text cells with the line where each row stands."""

from __future__ import annotations

import csv
import io
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ..errors import InputError, Problem

if TYPE_CHECKING:
    import pandas as pd

Texts = tuple[np.ndarray, list[str]]
"""A column of cells: which text stands in each row, and the different texts."""

MOST_BYTES = 200_000_000
NOT_CSV = "not CSV that can be read"
DATE = "date "
"""How a cell begins that a sheet holds as a date or a time."""


ENCODINGS: tuple[tuple[bytes, tuple[str, ...]], ...] = (
    (b"\xff\xfe", ("utf-16-le",)),
    (b"\xfe\xff", ("utf-16-be",)),
    (b"\xef\xbb\xbf", ("utf-8", "cp1252")),
    (b"", ("utf-8", "cp1252")),
)


@dataclass(frozen=True)
class Rows:
    """Rows of one list: cells as text, and the line (or sheet row) of each.

    piece  a part of a longer list, its heading row first: it may hold no parts, and what blanks are taken for is not kept
    coded  the columns instead of the cells, of which then only the heading row stands
    """

    place: str
    lines: Sequence[int]
    cells: list[list[str]]
    piece: bool = False
    coded: list[Texts] | None = None


def read_rows(path: Path | None) -> Rows:
    """Rows of a CSV or XLSX file, or of CSV on standard input when `path` is None."""
    if path is None:
        return csv_rows(sys.stdin.buffer.read(), "standard input")
    place = str(path)
    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError([Problem(place, None, None, f"larger than {MOST_BYTES // 1_000_000} MB; split the list")])
        data = path.read_bytes()
    except OSError as error:
        raise InputError([Problem(place, None, None, f"cannot be read: {error.strerror}")]) from None
    return xlsx_rows(data, place) if path.suffix.lower() == ".xlsx" else csv_rows(data, place)


def frame_rows(frame: pd.DataFrame, place: str) -> Rows:
    """Rows of a frame with a column a heading; numbers as they print, unknown ones blank."""
    texts = [[_cell(value) for value in frame[name].astype(object).where(frame[name].notna(), None)] for name in frame]
    cells = [list(map(str, frame.columns)), *map(list, zip(*texts, strict=True))]
    return Rows(place, list(range(1, len(cells) + 1)), cells)


def csv_rows(data: bytes, place: str) -> Rows:
    """Rows of CSV bytes; comma, semicolon or tab. A quote that is never closed is an error, not one long cell."""
    text = decoded(data, place).text
    reader = csv.reader(io.StringIO(text, newline=None), delimiter=delimiter(text), strict=True)
    lines, cells, start = [], [], 1
    try:
        for row in reader:
            lines.append(start)
            cells.append([cell.strip() for cell in row])
            start = reader.line_num + 1
    except csv.Error as error:
        raise InputError([Problem(place, start, None, f"{NOT_CSV}: {error}")]) from None
    return Rows(place, lines, cells)


def delimiter(text: str) -> str:
    """The sign that most of the first lines hold; of two alike, the one that the fullest line holds most of."""
    counts = {sign: [line.count(sign) for line in text.splitlines()[:30]] for sign in ",;\t"}
    return max(counts, key=lambda sign: (sum(map(bool, counts[sign])), max(counts[sign], default=0)))


@dataclass(frozen=True)
class Decoded:
    """A text file: the byte order mark it begins with (or nothing), how the rest is encoded, and its text."""

    mark: bytes
    encoding: str
    text: str


def decoded(data: bytes, place: str) -> Decoded:
    """The text of a CSV file; InputError for bytes that are no text."""
    mark, encodings = next(((mark, ways) for mark, ways in ENCODINGS if data.startswith(mark)))
    for encoding in encodings:
        try:
            text = data[len(mark) :].decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return Decoded(mark, encoding, text)
    raise InputError([Problem(place, None, None, "not a text file; save the list as CSV in UTF-8, or as .xlsx")])


def xlsx_rows(data: bytes, place: str) -> Rows:
    """Rows of the first visible sheet; formulas by the values they last had."""
    from openpyxl import load_workbook

    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        sheet = next((s for s in book.worksheets if s.sheet_state == "visible"), None)
        values = [] if sheet is None else [list(row) for row in sheet.iter_rows(values_only=True)]
    except Exception as error:
        raise InputError(
            [
                Problem(
                    place,
                    None,
                    None,
                    f"not a workbook that can be read ({type(error).__name__}); save it again as .xlsx",
                )
            ]
        ) from None
    cells = [[_cell(value) for value in row] for row in values]
    return Rows(place, list(range(1, len(cells) + 1)), cells)


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.10g}"
    if hasattr(value, "isoformat"):
        return f"{DATE}{value.isoformat()}"
    return str(value).strip()
