"""Located problems: what is wrong, where, and what to write instead."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

LIKENESS = 0.6


@dataclass(frozen=True)
class Problem:
    """One thing wrong in one place; prints as `file:line: column: what`."""

    place: str
    line: int | None
    column: str | None
    what: str

    def __str__(self) -> str:
        where = [self.place, *([str(self.line)] if self.line else [])]
        head = ":".join(where) + ": "
        return head + (f"{self.column}: " if self.column else "") + self.what


class InputError(Exception):
    """The input or the call is wrong; carries every problem found, exit status 2."""

    exit_code = 2

    def __init__(self, problems: Iterable[Problem] | str) -> None:
        if isinstance(problems, str):
            problems = [Problem("gatepost", None, None, problems)]
        self.problems = list(problems)
        super().__init__("\n".join(map(str, self.problems)))


def nearest(word: str, among: Iterable[str], count: int = 3) -> list[str]:
    """The listed words most like `word`, best first; may be empty."""
    lower = word.lower()
    letters, by_lower = set(lower), {known.lower(): known for known in among}
    likely = [known for known in by_lower if abs(len(known) - len(lower)) <= 1 + len(lower) // 2]
    likely = [known for known in likely if 2 * len(letters & set(known)) >= len(letters)]
    return [by_lower[hit] for hit in get_close_matches(lower, likely, count, LIKENESS)]


def did_you_mean(word: str, among: Iterable[str]) -> str:
    """A closing half sentence that offers the nearest words, or nothing."""
    hits = nearest(word, among)
    return f"; did you mean {' or '.join(hits)}?" if hits else ""
