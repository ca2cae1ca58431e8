"""Located problems: what is wrong, where, and what to write instead."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

LIKENESS = 0.6
LONGEST = 1200
_LAST_OF_PLANES = "".join(chr(0x10000 * plane + last) for plane in range(17) for last in (0xFFFE, 0xFFFF))
STEERING = re.compile(f"[\\x00-\\x1f\\x7f-\\x9f\\ud800-\\udfff\\u2028-\\u202e\\u2066-\\u2069{_LAST_OF_PLANES}]")
"""Control characters, lone surrogates, line separators, signs that turn the writing round, and no characters at all."""


def harmless(text: str) -> str:
    """Text with a space for each control character, lone surrogate, line separator and sign that turns the writing round.

    >>> harmless("post" + chr(7) + "cap"), harmless("½ × größe")
    ('post cap', '½ × größe')
    """
    if text.isascii() and text.isprintable():
        return text
    return STEERING.sub(" ", text)


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
        return harmless(head + (f"{self.column}: " if self.column else "") + _short(self.what))


def _short(text: str) -> str:
    """A message with the middle of what it quotes left out, where that is longer than anyone reads."""
    return text if len(text) <= LONGEST else f"{text[: LONGEST // 2]} … {text[-LONGEST // 2 :]}"


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
