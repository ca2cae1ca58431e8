"""Findings of a long list as CSV, worst first: spooled by severity, so that nothing is printed before all is judged."""

from __future__ import annotations

import csv
import io
import tempfile
from collections.abc import Iterator, Sequence
from typing import IO

from ..judging import SEVERITIES, Compiled
from ..large import Catalogue, Gathered, Piece, names_of
from .findings import Finding, listed_first, missing_note
from .review_sheet import HEADINGS, PROSE
from .values import filled

BLOCK_CHARACTERS = 1 << 20


class LargeCsv:
    """Lines of findings by severity, in files that vanish when they are closed."""

    def __init__(self, rules: Sequence[Compiled], prose: bool) -> None:
        self.rules, self.prose = rules, prose
        self.files: dict[str, IO[str]] = {one: _spool() for one in SEVERITIES}
        self.counts = dict.fromkeys(SEVERITIES, 0)
        self.notes = ""
        self.tails = [_line([one.rule.rule, one.rule.topic, one.rule.severity])[:-1] for one in rules]

    def __enter__(self) -> LargeCsv:
        return self

    def __exit__(self, *error: object) -> None:
        for file in self.files.values():
            file.close()

    def add(self, piece: Piece, units: str) -> None:
        """Write the findings of a piece."""
        found = piece.found
        severities = [self.rules[number].rule.severity for number in range(len(self.rules))]
        rule, row = found["rule"].tolist(), found["row"].tolist()
        names = [_line([name])[:-1] if _needs_quotes(name) else name for name in names_of(piece.project, piece.numbers)]
        kept: dict[str, list[str]] = {one: [] for one in SEVERITIES}
        for number, at in zip(rule, row, strict=True):
            kept[severities[number]].append(self._text(piece, number, at, names, units))
        for severity, lines in kept.items():
            self.counts[severity] += len(lines)
            self.files[severity].write("".join(lines))

    def _text(self, piece: Piece, number: int, row: int, names: list[str], units: str) -> str:
        rule = self.rules[number].rule
        head = (
            f"{piece.numbers[row] + 1},part,{names[row]}"
            if rule.over == "parts"
            else _line(["1", "project", piece.project.name])[:-1]
        )
        if piece.facts is None or not self.prose:
            return f"{head},{self.tails[number]}\n"
        texts = [filled(text, piece.facts, rule.over, row, units) for text in (rule.message, rule.remedy)]
        return f"{head},{self.tails[number]},{_line(texts)}"

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


def _needs_quotes(name: str) -> bool:
    return not name.replace(" ", "").isalnum() or not name


def _line(cells: list[str]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerow(cells)
    return text.getvalue()
