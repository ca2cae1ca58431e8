"""Rows out of CSV, XLSX and standard input: plain text cells with the line where each row stands."""

from __future__ import annotations

import csv
import io
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ..errors import InputError, Problem
from ..limits import MB, file_bytes, limit, over

if TYPE_CHECKING:
    import pandas as pd

Texts = tuple[np.ndarray, list[str]]
"""A column of cells: which text stands in each row, and the different texts."""

NOT_CSV = "not CSV that can be read"
STANDARD_INPUT = "standard input"
DATE = "date "
"""How a cell begins that a sheet holds as a date or a time."""
NO_VALUE = "formula without a value"
"""What stands for a cell with a formula that no program has worked out."""


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
    coded  the used columns by place instead of the cells, of which then only the heading row stands
    merged  cells (row, column; from 0) that are the same cell as the one above
    said    what a shop should know of how the file was read
    """

    place: str
    lines: Sequence[int]
    cells: list[list[str]]
    piece: bool = False
    coded: dict[int, Texts] | None = None
    merged: frozenset[tuple[int, int]] = frozenset()
    said: tuple[str, ...] = ()


def read_rows(path: Path | None) -> Rows:
    """Rows of a CSV or XLSX file, or of CSV on standard input when `path` is None."""
    if path is None:
        return csv_rows(standard_input(), STANDARD_INPUT)
    place = str(path)
    data = file_bytes(path, place, "LIST_MB")
    if path.suffix.lower() == ".xlsx":
        # The library of workbooks is slow to load.
        from .workbook import xlsx_rows

        return xlsx_rows(data, place)
    return csv_rows(data, place)


def standard_input() -> bytes:
    """All of standard input; InputError where it is larger than a list may be."""
    most = limit("LIST_MB") * MB
    data = sys.stdin.buffer.read(most + 1)
    if len(data) > most:
        raise InputError([Problem(STANDARD_INPUT, None, None, over("LIST_MB", "larger than is read, in MB"))])
    return data


def frame_rows(frame: pd.DataFrame, place: str) -> Rows:
    """Rows of a frame with a column a heading; numbers as they print, unknown ones blank."""
    texts = [
        [cell_text(value) for value in frame[name].astype(object).where(frame[name].notna(), None)] for name in frame
    ]
    cells = [list(map(str, frame.columns)), *map(list, zip(*texts, strict=True))]
    return Rows(place, list(range(1, len(cells) + 1)), cells)


def cell_text(value: Any) -> str:
    """A value as the text of a cell; a date is marked as one."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.10g}"
    if hasattr(value, "isoformat"):
        return f"{DATE}{value.isoformat()}"
    return str(value).strip()


def csv_rows(data: bytes, place: str) -> Rows:
    """Rows of CSV bytes; comma, semicolon or tab. A quote that is never closed is an error, not one long cell."""
    found = decoded(data, place)
    sign = delimiter(found.text)
    csv.field_size_limit(limit("CELL_SIGNS"))
    reader = csv.reader(_narrow(found.text, sign, place), delimiter=sign, strict=True)
    lines, cells, start = [], [], 1
    try:
        for row in reader:
            lines.append(start)
            cells.append([cell.strip() for cell in row])
            start = reader.line_num + 1
    except csv.Error as error:
        raise InputError([Problem(place, start, None, not_csv(error))]) from None
    return Rows(place, lines, cells, said=_guessed(found, place))


def not_csv(error: csv.Error) -> str:
    """What is said of rows that are no CSV."""
    if "field larger" in str(error):
        return over("CELL_SIGNS", "a cell is longer than is read; is a quote missing?")
    return f"{NOT_CSV}: {error}"


def _narrow(text: str, sign: str, place: str) -> Iterator[str]:
    """The lines of a text, none with more cells than a row may have."""
    most = limit("COLUMNS")
    for number, line in enumerate(io.StringIO(text, newline=None), 1):
        if line.count(sign) >= most:
            raise InputError([Problem(place, number, None, over("COLUMNS", "more cells in a row than are read"))])
        yield line


def _guessed(found: Decoded, place: str) -> tuple[str, ...]:
    """A file without a mark that is not UTF-8 is taken for the usual old encoding; where that shows, it is said."""
    return not_utf8(found.text, place) if found.encoding == "cp1252" else ()


def not_utf8(text: str, place: str) -> tuple[str, ...]:
    """What is said of a text that was read in the usual old encoding; nothing where that does not show."""
    odd = next((sign for sign in text if not sign.isascii()), None) if not text.isascii() else None
    return () if odd is None else (f"{place}: is not UTF-8; it is read as Windows-1252, with letters such as {odd}",)


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
