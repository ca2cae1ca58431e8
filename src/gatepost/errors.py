"""Located problems: what is wrong, where, and what to write instead."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches


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
    by_lower = {known.lower(): known for known in among}
    return [by_lower[hit] for hit in get_close_matches(word.lower(), by_lower, count, 0.6)]


def did_you_mean(word: str, among: Iterable[str]) -> str:
    """A closing half sentence that offers the nearest words, or nothing."""
    hits = nearest(word, among)
    return f"; did you mean {' or '.join(hits)}?" if hits else ""
