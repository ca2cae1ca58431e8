"""Findings of a long list as CSV, worst first: spooled by severity, so that nothing is printed before all is judged."""

from __future__ import annotations

import csv
import io
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from typing import IO

import numpy as np

from ..deriving import Facts
from ..judging import SEVERITIES, Compiled
from ..large import Catalogue, Gathered, Piece, names_of
from .findings import Finding, listed_first, missing_note
from .plain import FORMULAS, typed_in
from .review_sheet import HEADINGS, PROSE
from .values import filled

BLOCK_CHARACTERS = 1 << 20
_SPECIAL = ',"\r\n'
"""Signs for which a cell of CSV may need quotes."""

Lines = Mapping[str, tuple[int, str]]
"""Of each severity how many findings there are, and their lines."""


class Writer:
    """Findings of a piece as lines."""

    def __init__(self, rules: Sequence[Compiled], prose: bool) -> None:
        self.rules, self.prose = rules, prose
        self.severities = np.array([one.rule.severity for one in rules], object)
        self.tails = np.array([_line([one.rule.rule, one.rule.topic, one.rule.severity])[:-1] for one in rules], object)

    def lines(self, piece: Piece, units: str) -> Lines:
        """The lines of a piece."""
        number, row = (piece.found[name].to_numpy() for name in ("rule", "row"))
        grave = self.severities[number]
        heads = self._heads(piece, row)
        out = {}
        for severity in SEVERITIES:
            here = np.flatnonzero(grave == severity)
            out[severity] = len(here), "".join(self._lines(piece, heads, number[here], row[here], units))
        return out

    def _heads(self, piece: Piece, row: np.ndarray) -> np.ndarray:
        """Row, kind and name of each part of which there is a finding; of the project where its rules spoke."""
        if len(piece.found) and self.rules[piece.found["rule"].iat[0]].rule.over == "project":
            return np.array([_line(["1", "project", piece.project.name])[:-1]], object)
        found = np.flatnonzero(np.bincount(row, minlength=len(piece.numbers)))
        names = names_of(piece.project, piece.numbers)[found].tolist()
        together = "".join(names)
        if any(sign in together for sign in _SPECIAL) or {name[:1] for name in names} & set(FORMULAS):
            names = [_line([name])[:-1] for name in names]
        heads = np.empty(len(piece.numbers), object)
        heads[found] = [
            f"{at},part,{name}" for at, name in zip((piece.numbers[found] + 1).tolist(), names, strict=True)
        ]
        return heads

    def _lines(self, piece: Piece, heads: np.ndarray, number: np.ndarray, row: np.ndarray, units: str) -> list[str]:
        plain = zip(heads[row].tolist(), self.tails[number].tolist(), strict=True)
        if piece.facts is None or not self.prose:
            return [f"{head},{tail}\n" for head, tail in plain]
        told = (self._texts(piece.facts, *one, units) for one in zip(number.tolist(), row.tolist(), strict=True))
        return [f"{head},{tail},{texts}" for (head, tail), texts in zip(plain, told, strict=True)]

    def _texts(self, facts: Facts, number: int, row: int, units: str) -> str:
        rule = self.rules[number].rule
        return _line([filled(text, facts, rule.over, row, units) for text in (rule.message, rule.remedy)])


class LargeCsv:
    """Lines of findings by severity, in files that vanish when they are closed."""

    def __init__(self, rules: Sequence[Compiled], prose: bool) -> None:
        self.prose, self.writer = prose, Writer(rules, prose)
        self.files: dict[str, IO[str]] = {one: _spool() for one in SEVERITIES}
        self.counts = dict.fromkeys(SEVERITIES, 0)
        self.notes = ""

    def __enter__(self) -> LargeCsv:
        return self

    def __exit__(self, *error: object) -> None:
        for file in self.files.values():
            file.close()

    def add(self, piece: Piece, units: str) -> None:
        """Write the findings of a piece."""
        self.write(self.writer.lines(piece, units))

    def write(self, lines: Lines) -> None:
        """Put the lines of a piece behind those of the pieces before it."""
        for severity, (count, text) in lines.items():
            self.counts[severity] += count
            self.files[severity].write(text)

    def finish(self, catalogue: Catalogue, gathered: Gathered, name: str) -> None:
        """Add what is not known."""
        for one, names in gathered.missing():
            shown = listed_first([name for _, name in names.first], len(names.seen))
            note = missing_note(catalogue.known, one, shown)
            self.notes += _note(note, name, self.prose)
            self.counts[note.severity] += 1

    def blocks(self) -> Iterator[str]:
        """The whole text, block by block."""
        yield _line([*HEADINGS, *(PROSE if self.prose else [])])
        for file in self.files.values():
            file.seek(0)
            while block := file.read(BLOCK_CHARACTERS):
                yield block
        yield self.notes


def _note(note: Finding, project: str, prose: bool) -> str:
    texts = [note.message, note.remedy] if prose else []
    return _line(["1", "project", project, note.rule, note.topic, note.severity, *texts])


def _spool() -> IO[str]:
    return tempfile.TemporaryFile("w+", encoding="utf-8", errors="surrogatepass", newline="")


def _line(cells: list[str]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerow(map(typed_in, cells))
    return text.getvalue()
