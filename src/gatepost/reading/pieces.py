"""A long CSV list piece by piece: the same rows as when it is read whole, in little memory."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Any

from ..errors import InputError, Problem
from ..library import Register
from .files import ENCODINGS, Rows, delimiter
from .headers import LOOK_DOWN, find_header

PIECE_ROWS = 65_536
"""Rows that are read, judged and forgotten at a time."""
BYTES_AT_ONCE = 1 << 20


class Pieces:
    """A parts list in CSV as pieces, each with the heading row first.

    given  rows of the list so far, as `Counts` counts them: without the heading row and empty lines at the very end
    """

    def __init__(self, path: Path, register: Register, rows: int = PIECE_ROWS) -> None:
        self.path, self.register, self.rows = path, register, rows
        self.given = 0

    def __iter__(self) -> Iterator[Rows]:
        try:
            mark, encoding = _encoding(self.path)
            with self.path.open("rb") as raw:
                raw.seek(len(mark))
                with io.TextIOWrapper(raw, encoding) as text:
                    yield from self._of(text)
        except OSError as error:
            raise InputError([Problem(str(self.path), None, None, f"cannot be read: {error.strerror}")]) from None

    def _of(self, text: io.TextIOWrapper) -> Iterator[Rows]:
        first = list(islice(text, LOOK_DOWN))
        chained = _Lines(first, text)
        reader = csv.reader(chained, delimiter=delimiter("".join(first)), strict=True)
        heads: list[str] = []
        seen, at, skip = 0, 0, 0
        for lines, cells in self._blocks(reader):
            if not heads:
                stripped = [[cell.strip() for cell in row] for row in cells[:LOOK_DOWN]]
                header = find_header(Rows(str(self.path), lines, stripped), "parts", self.register)
                heads, at, skip = stripped[header.row], lines[header.row], header.row + 1
            self._count(seen, cells)
            seen += len(cells)
            yield Rows(str(self.path), [at, *lines[skip:]], [heads, *cells[skip:]], piece=True)
            skip = 0

    def _blocks(self, reader: Any) -> Iterator[tuple[list[int], list[list[str]]]]:
        """Rows with the line where each begins, in the first block as many as may stand above a heading; a quote that is never closed is an error."""
        lines: list[int] = []
        cells: list[list[str]] = []
        start, most = 1, max(self.rows, LOOK_DOWN)
        try:
            for row in reader:
                lines.append(start)
                cells.append(row)
                start = reader.line_num + 1
                if len(cells) == most:
                    yield lines, cells
                    lines, cells, most = [], [], self.rows
        except csv.Error as error:
            raise InputError([Problem(str(self.path), start, None, f"not CSV that can be read: {error}")]) from None
        if cells:
            yield lines, cells

    def _count(self, seen: int, cells: list[list[str]]) -> None:
        last = next((at for at in range(len(cells) - 1, -1, -1) if any(cell.strip() for cell in cells[at])), None)
        self.given = self.given if last is None else seen + last


class _Lines:
    """Lines that were looked at, then the rest of the file."""

    def __init__(self, first: list[str], rest: io.TextIOWrapper) -> None:
        self.first, self.rest = iter(first), rest

    def __iter__(self) -> Iterator[str]:
        yield from self.first
        yield from self.rest


def _encoding(path: Path) -> tuple[bytes, str]:
    """The byte order mark and the encoding in which the whole file is text."""
    with path.open("rb") as file:
        start = file.read(4)
        mark, encodings = next((mark, ways) for mark, ways in ENCODINGS if start.startswith(mark))
        for encoding in encodings:
            file.seek(len(mark))
            if _is_text(file, encoding):
                return mark, encoding
    raise InputError([Problem(str(path), None, None, "not a text file; save the list as CSV in UTF-8, or as .xlsx")])


def _is_text(file: io.BufferedReader, encoding: str) -> bool:
    decoder = codecs.getincrementaldecoder(encoding)()
    try:
        while block := file.read(BYTES_AT_ONCE):
            if "\0" in decoder.decode(block):
                return False
        decoder.decode(b"", True)
    except UnicodeDecodeError:
        return False
    return True
