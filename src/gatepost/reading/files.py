"""Rows out of CSV, XLSX and standard input: plain text cells with the line where each row stands."""

from __future__ import annotations

import csv
import io
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..errors import InputError, Problem

MOST_BYTES = 200_000_000


@dataclass(frozen=True)
class Rows:
    """Rows of one list: cells as text, and the line (or sheet row) of each."""

    place: str
    lines: list[int]
    cells: list[list[str]]


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


def csv_rows(data: bytes, place: str) -> Rows:
    """Rows of CSV bytes; comma, semicolon or tab, whichever the fullest line holds most of."""
    text = _decoded(data, place)
    delimiter = max(",;\t", key=lambda sign: max((line.count(sign) for line in text.splitlines()[:30]), default=0))
    reader = csv.reader(io.StringIO(text), delimiter=delimiter)
    lines, cells = [], []
    try:
        start = 1
        for row in reader:
            lines.append(start)
            cells.append([cell.strip() for cell in row])
            start = reader.line_num + 1
    except csv.Error as error:
        raise InputError([Problem(place, reader.line_num, None, f"not CSV that can be read: {error}")]) from None
    return Rows(place, lines, cells)


def _decoded(data: bytes, place: str) -> str:
    encodings = ["utf-16"] if data[:2] in (b"\xff\xfe", b"\xfe\xff") else ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
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
    problems: list[Problem] = []
    cells = [[_cell(value, place, line, problems) for value in row] for line, row in enumerate(values, 1)]
    if problems:
        raise InputError(problems)
    return Rows(place, list(range(1, len(cells) + 1)), cells)


def _cell(value: Any, place: str, line: int, problems: list[Problem]) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.10g}"
    if hasattr(value, "isoformat"):
        what = f"the sheet turned a cell into a date ({value:%Y-%m-%d}); format the cell as text and write the fraction again"
        problems.append(Problem(place, line, None, what))
    return str(value).strip()
