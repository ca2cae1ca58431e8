"""A long CSV list piece by piece: the same rows as when it is read whole, in little memory."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import accumulate, chain, islice, zip_longest
from pathlib import Path
from typing import Any

import numpy as np

from ..errors import InputError, Problem
from ..library import Register
from ..limits import limit, over
from .files import ENCODINGS, Rows, delimiter, not_csv
from .headers import LOOK_DOWN, Header, find_header

PIECE_ROWS = 65_536
"""Rows that are read, judged and forgotten at a time."""
ROWS_AT_ONCE = 500
BYTES_AT_ONCE = 1 << 20


class Pieces:
    """A parts list in CSV as pieces, each with the heading row first.

    given  rows of the list so far, as `Counts` counts them: without the heading row and empty lines at the very end
    """

    def __init__(self, path: Path, register: Register, rows: int = PIECE_ROWS) -> None:
        self.path, self.register, self.rows = path, register, rows
        self.given = self.seen = 0

    def __iter__(self) -> Iterator[Rows]:
        try:
            with self._text() as text:
                yield from self._of(_reader(text))
        except OSError as error:
            raise InputError([Problem(str(self.path), None, None, f"cannot be read: {error.strerror}")]) from None
        except csv.Error as error:
            raise InputError([Problem(str(self.path), self._broken(), None, not_csv(error))]) from None

    @contextmanager
    def _text(self) -> Iterator[io.TextIOWrapper]:
        mark, encoding = _encoding(self.path)
        with self.path.open("rb") as raw:
            raw.seek(len(mark))
            with io.TextIOWrapper(raw, encoding) as text:
                yield text

    def _broken(self) -> int:
        """The line where the row begins that cannot be read."""
        start = 1
        with self._text() as text, suppress(csv.Error):
            reader = _reader(text)
            for _ in reader:
                start = reader.line_num + 1
        return start

    def _of(self, reader: Any) -> Iterator[Rows]:
        narrow = self._narrow(reader)
        first = list(islice(narrow, LOOK_DOWN))
        lines = _lines(first, 1, reader.line_num)
        stripped = [[cell.strip() for cell in row] for row in first]
        header = find_header(Rows(str(self.path), lines, stripped), "parts", self.register)
        self.seen = header.row + 1
        columns = _Columns(str(self.path), stripped[header.row], lines[header.row], header)
        ready = [(lines[self.seen :], first[self.seen :])]
        for some_lines, cells in chain(ready, self._blocks(reader, narrow)):
            self._count(cells)
            columns.add(some_lines, cells)
            if len(columns) >= self.rows:
                yield columns.rows()
                columns.clear()
        if len(columns):
            yield columns.rows()

    def _blocks(self, reader: Any, narrow: Iterator[list[str]]) -> Iterator[tuple[Sequence[int], list[list[str]]]]:
        """A few rows at a time, while they are near the processor, with the line where each begins."""
        start = reader.line_num + 1
        while cells := list(islice(narrow, min(self.rows, ROWS_AT_ONCE))):
            yield _lines(cells, start, reader.line_num), cells
            start = reader.line_num + 1

    def _narrow(self, reader: Any) -> Iterator[list[str]]:
        """The rows, none with more cells than a row may have."""
        most = limit("COLUMNS")
        for row in reader:
            if len(row) > most:
                what = over("COLUMNS", "more cells in a row than are read")
                raise InputError([Problem(str(self.path), reader.line_num, None, what)])
            yield row

    def _count(self, cells: list[list[str]]) -> None:
        last = next((at for at in range(len(cells) - 1, -1, -1) if any(cell.strip() for cell in cells[at])), None)
        self.given = self.given if last is None else self.seen + last
        self.seen += len(cells)


class _Places(dict[str, int]):
    """The place of each different text in the order they come."""

    def __missing__(self, text: str) -> int:
        place = self[text] = len(self)
        return place


class _Columns:
    """Rows column by column, the heading row first: each different text once, free text as it stands."""

    def __init__(self, place: str, heads: list[str], line: int, header: Header) -> None:
        self.place, self.heads, self.line = place, heads, line
        self.free = {heading.at for heading in header.headings if heading.column.kind == "text"}
        self.clear()

    def clear(self) -> None:
        """Forget all rows but the heading row."""
        self.lines = [self.line]
        self.cells: list[list[Any]] = []
        self.places: list[_Places] = []
        self._append([self.heads])

    def __len__(self) -> int:
        return len(self.lines) - 1

    def add(self, lines: Sequence[int], cells: list[list[str]]) -> None:
        """Add rows; one that is shorter than the others is blank there."""
        self._append(cells)
        self.lines.extend(lines)

    def _append(self, cells: list[list[str]]) -> None:
        columns = list(zip_longest(*cells, fillvalue=""))
        columns += [("",) * len(cells)] * (len(self.cells) - len(columns))
        for at, texts in enumerate(columns):
            if at == len(self.cells):
                self.cells.append([])
                self.places.append(_Places())
                self._extend(at, ("",) * len(self.lines) if len(self) else ())
            self._extend(at, texts)

    def _extend(self, at: int, texts: tuple[str, ...]) -> None:
        self.cells[at].extend(texts if at in self.free else map(self.places[at].__getitem__, texts))

    def rows(self) -> Rows:
        """The rows added so far."""
        coded = [
            (np.arange(len(cells)), list(map(str.strip, cells)))
            if at in self.free
            else (np.array(cells), list(map(str.strip, self.places[at])))
            for at, cells in enumerate(self.cells)
        ]
        return Rows(self.place, self.lines, [self.heads], piece=True, coded=coded)


def _reader(text: io.TextIOWrapper) -> Any:
    """Rows of the file; a quote that is never closed is an error."""
    csv.field_size_limit(limit("CELL_SIGNS"))
    first = list(islice(text, LOOK_DOWN))
    return csv.reader(chain(first, text), delimiter=delimiter("".join(first)), strict=True)


def _lines(cells: list[list[str]], start: int, last: int) -> Sequence[int]:
    """The line where each row begins; a cell may hold line breaks."""
    if last - start + 1 == len(cells):
        return range(start, last + 1)
    spans = (1 + sum(cell.count("\n") for cell in row) for row in cells)
    return list(accumulate(spans, initial=start))[:-1]


def _encoding(path: Path) -> tuple[bytes, str]:
    """The byte order mark and the encoding in which the whole file is text."""
    with path.open("rb") as file:
        start = file.read(4)
        mark, encodings = next((mark, ways) for mark, ways in ENCODINGS if start.startswith(mark))
        for encoding in encodings:
            file.seek(len(mark))
            if _is_text(file, encoding, path):
                return mark, encoding
    raise InputError([Problem(str(path), None, None, "not a text file; save the list as CSV in UTF-8, or as .xlsx")])


def _is_text(file: io.BufferedReader, encoding: str, path: Path) -> bool:
    """Is the whole file text? InputError for a line that runs through a whole block: it would be held at once."""
    decoder = codecs.getincrementaldecoder(encoding)()
    try:
        while block := file.read(BYTES_AT_ONCE):
            if len(block) == BYTES_AT_ONCE and b"\n" not in block and b"\r" not in block:
                what = f"holds a line of more than {BYTES_AT_ONCE // 1_000_000} MB; is a quote or a line end missing?"
                raise InputError([Problem(str(path), None, None, what)])
            if "\0" in decoder.decode(block):
                return False
        decoder.decode(b"", True)
    except UnicodeDecodeError:
        return False
    return True
