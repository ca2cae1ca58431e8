"""A long CSV list piece by piece: the same rows as when it is read whole, in little memory.

Where every line of a piece is a row, as a sheet saves it, the columns are read at once and each different text once;
else row by row, as a short list is.
"""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import accumulate, chain, islice, repeat
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from ..errors import InputError, Problem
from ..library import Register
from ..limits import limit, over
from .files import ENCODINGS, Rows, Texts, delimiter, not_csv, not_utf8
from .headers import LOOK_DOWN, Header, find_header

PIECE_ROWS = 131_072
"""Rows that are read, judged and forgotten at a time."""
PIECE_SIGNS = 16_000_000
"""Letters, figures and signs in a piece, or a little more: long lines make it shorter."""
LINES_AT_ONCE = 256
BYTES_AT_ONCE = 1 << 20
MARK = "\ufeff"
"""The byte order mark, which a reader of columns would take away."""


class Pieces:
    """A parts list in CSV as pieces, each with the heading row first.

    place  how messages name the list
    given  rows of the list so far, as `Counts` counts them: without the heading row and empty lines at the very end
    said   what a shop should know of how the file was read, once all of it was
    """

    def __init__(self, path: Path, place: str, register: Register, rows: int = PIECE_ROWS) -> None:
        self.path, self.place, self.register, self.rows = path, place, register, rows
        self.given = self.seen = 0
        self.said: tuple[str, ...] = ()

    def __iter__(self) -> Iterator[Rows]:
        try:
            with self._text() as text:
                yield from self._of(text)
        except OSError as error:
            raise InputError([Problem(self.place, None, None, f"cannot be read: {error.strerror}")]) from None
        except csv.Error as error:
            raise InputError([Problem(self.place, self._broken(), None, not_csv(error))]) from None

    @contextmanager
    def _text(self) -> Iterator[io.TextIOWrapper]:
        mark, encoding = _encoding(self.path, self.place)
        with self.path.open("rb") as raw:
            raw.seek(len(mark))
            with io.TextIOWrapper(raw, encoding) as text:
                yield text

    def _broken(self) -> int:
        """The line where the row begins that cannot be read."""
        start = 1
        with self._text() as text, suppress(csv.Error):
            first = list(islice(text, LOOK_DOWN))
            reader = _reader(chain(first, text), delimiter("".join(first)))
            for _ in reader:
                start = reader.line_num + 1
        return start

    def _of(self, text: io.TextIOWrapper) -> Iterator[Rows]:
        lines = list(islice(text, LOOK_DOWN))
        sign = delimiter("".join(lines))
        starts, cells, line = self._row_by_row(lines, text, sign, 1)
        stripped = [[cell.strip() for cell in row] for row in cells]
        header = find_header(Rows(self.place, starts, stripped), "parts", self.register)
        heads = _Heads(stripped[header.row], starts[header.row], header)
        self.seen = header.row + 1
        self._say(text.encoding, lines)
        each_a_row = len(cells) == len(lines) == line - 1
        starts, cells, lines = starts[self.seen :], cells[self.seen :], lines[self.seen :]
        if not each_a_row:
            self._count(cells)
            yield self._rows(heads, starts, cells)
            lines = []
        elif cells:
            line = starts[0]
        while lines := lines + _some(text, self.rows - len(lines)):
            self._say(text.encoding, lines)
            texts = _columns(lines, heads, sign)
            if texts is None:
                starts, cells, line = self._row_by_row(lines, text, sign, line)
                self._count(cells)
                yield self._rows(heads, starts, cells)
            else:
                self._count(lines, lambda line: next(_reader([line], sign)))
                numbers = [heads.line, *range(line, line + len(lines))]
                line += len(lines)
                yield Rows(self.place, numbers, [heads.cells], piece=True, coded=texts)
            lines = []

    def _rows(self, heads: _Heads, starts: Sequence[int], cells: list[list[str]]) -> Rows:
        return Rows(self.place, [heads.line, *starts], [heads.cells, *cells], piece=True)

    def _row_by_row(
        self, lines: list[str], text: io.TextIOWrapper, sign: str, line: int
    ) -> tuple[Sequence[int], list[list[str]], int]:
        """The rows that begin in the lines, the line where each begins, and the line after them all."""
        reader, most, cells = _reader(chain(lines, text), sign), limit("COLUMNS"), list[list[str]]()
        while reader.line_num < len(lines):
            some = list(islice(reader, min(len(lines) - reader.line_num, LINES_AT_ONCE)))
            if max(map(len, some), default=0) > most:
                what = over("COLUMNS", "more cells in a row than are read")
                at = next(place for place, row in enumerate(some) if len(row) > most)
                where = _starts([*cells, *some], line)[len(cells) + at]
                raise InputError([Problem(self.place, where, None, what)])
            cells += some
        return _starts(cells, line), cells, line + reader.line_num

    def _say(self, encoding: str, lines: list[str]) -> None:
        if encoding == "cp1252" and not self.said:
            self.said = not_utf8("".join(lines), self.place)

    def _count(self, rows: Sequence[Any], cells_of: Callable[[Any], list[str]] = lambda row: row) -> None:
        """Count rows; of lines that are rows, `cells_of` tells the cells."""
        filled = (at for at in range(len(rows) - 1, -1, -1) if any(cell.strip() for cell in cells_of(rows[at])))
        last = next(filled, None)
        self.given = self.given if last is None else self.seen + last
        self.seen += len(rows)


class _Heads:
    """The heading row, and the columns that are used: by place, and which of them hold free text."""

    def __init__(self, cells: list[str], line: int, header: Header) -> None:
        self.cells, self.line = cells, line
        self.used = sorted(heading.at for heading in header.headings)
        self.free = {heading.at for heading in header.headings if heading.column.kind == "text"}


def _some(text: io.TextIOWrapper, rows: int) -> list[str]:
    """Some lines of the file: as many as there are rows in a piece, fewer where they are long."""
    lines: list[str] = []
    signs = 0
    while len(lines) < rows and signs < PIECE_SIGNS:
        more = list(islice(text, min(rows - len(lines), LINES_AT_ONCE)))
        if not more:
            break
        lines += more
        signs += sum(map(len, more))
    return lines


def _columns(lines: list[str], heads: _Heads, sign: str) -> dict[int, Texts] | None:
    """The used columns of lines that are rows, the heading row first: each different text once, free text as it stands.

    None where they must be read row by row: rows of several lines, or that are no CSV.
    """
    rows, width = _of_one_width(lines, sign)
    text = "".join(rows)
    if not 1 < width <= limit("COLUMNS") or max(map(len, lines)) > limit("CELL_SIGNS") or MARK in text:
        return None
    # With its heading, which is no number, a column stays text: "01" is not 1.
    head = io.StringIO()
    csv.writer(head, delimiter=sign, lineterminator="\n").writerow([*heads.cells, *[""] * width][:width])
    types = {at: object if at in heads.free else "category" for at in heads.used if at < width}
    read = pd.read_csv(
        io.StringIO(head.getvalue() + text), sep=sign, header=None, names=range(width), usecols=list(types), index_col=False,
        dtype=types, na_filter=False, skip_blank_lines=False, low_memory=False,
    )  # fmt: skip
    none = np.minimum(np.arange(len(lines) + 1), 1)
    return {at: _texts(read[at]) if at < width else (none, [heads.cells[at], ""]) for at in heads.used}


def _of_one_width(lines: list[str], sign: str) -> tuple[list[str], int]:
    """Lines that are rows, shorter ones filled up with blank cells, and how many cells each has; 0 where one is no row."""
    quoted = [line for line in lines if '"' in line]
    try:
        rows = list(_reader(quoted, sign))
    except csv.Error:
        return [], 0
    if len(rows) != len(quoted):
        return [], 0
    plain = [line for line in lines if '"' not in line] if quoted else lines
    widths = {signs + 1 for signs in set(map(str.count, plain, repeat(sign)))} | set(map(len, rows))
    most, left = max(widths), iter(rows)
    if len(widths) == 1:
        return lines, most
    each = [len(next(left)) if '"' in line else line.count(sign) + 1 for line in lines]
    filled = (line.rstrip("\n") + sign * (most - own) + "\n" for line, own in zip(lines, each, strict=True))
    return list(filled), most


def _texts(column: pd.Series) -> Texts:
    """Free text as it stands; else each different text once."""
    if not isinstance(column.dtype, pd.CategoricalDtype):
        return np.arange(len(column)), list(map(str.strip, column.tolist()))
    return column.cat.codes.to_numpy(np.intp), [text.strip() for text in column.cat.categories]


def _reader(lines: Any, sign: str) -> Any:
    """Rows of lines; a quote that is never closed is an error."""
    csv.field_size_limit(limit("CELL_SIGNS"))
    return csv.reader(lines, delimiter=sign, strict=True)


def _starts(cells: list[list[str]], start: int) -> Sequence[int]:
    """The line where each row begins; a cell may hold line breaks."""
    spans = (1 + sum(cell.count("\n") for cell in row) for row in cells)
    return list(accumulate(spans, initial=start))[:-1]


def _encoding(path: Path, place: str) -> tuple[bytes, str]:
    """The byte order mark and the encoding in which the whole file is text."""
    with path.open("rb") as file:
        start = file.read(4)
        mark, encodings = next((mark, ways) for mark, ways in ENCODINGS if start.startswith(mark))
        for encoding in encodings:
            file.seek(len(mark))
            if _is_text(file, encoding, place):
                return mark, encoding
    raise InputError([Problem(place, None, None, "not a text file; save the list as CSV in UTF-8, or as .xlsx")])


def _is_text(file: io.BufferedReader, encoding: str, place: str) -> bool:
    """Is the whole file text? InputError for a line that runs through a whole block: it would be held at once."""
    decoder = codecs.getincrementaldecoder(encoding)()
    try:
        while block := file.read(BYTES_AT_ONCE):
            if len(block) == BYTES_AT_ONCE and b"\n" not in block and b"\r" not in block:
                what = f"holds a line of more than {BYTES_AT_ONCE // 1_000_000} MB; is a quote or a line end missing?"
                raise InputError([Problem(place, None, None, what)])
            if "\0" in decoder.decode(block):
                return False
        decoder.decode(b"", True)
    except UnicodeDecodeError:
        return False
    return True
