"""What a maker receives and returns: numbers as float arrays, words as places in the register's order."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, reduce, wraps
from typing import Any

import numpy as np
import pandas as pd

Array = np.ndarray
FEW = 3


@dataclass(frozen=True)
class Words:
    """A column of single words: `codes` into `values`, -1 where unknown."""

    codes: Array
    values: tuple[str, ...]

    @property
    def known(self) -> Array:
        return self.codes >= 0

    def is_in(self, *words: str) -> Array:
        """True where the word is one of `words`; False where unknown. Few words are quicker compared than looked up."""
        if 0 < len(words) <= FEW:
            return reduce(np.logical_or, (self.codes == self.values.index(word) for word in words))
        kept = np.zeros(len(self.values) + 1, bool)
        kept[[self.values.index(word) for word in words]] = True
        return kept[self.codes]

    def recode(self, places: Mapping[str, float], missing: float = np.nan) -> Array:
        """A number for each word; `missing` for words without one and for unknown."""
        return np.array([*(places.get(word, missing) for word in self.values), missing], float)[self.codes]

    def relabel(self, values: tuple[str, ...], words: Mapping[str, str] | None = None) -> Array:
        """Codes into another list of words, through a translation; -1 where there is none."""
        places = [self._place(values, word if words is None else words.get(word)) for word in self.values]
        return np.array([*places, -1])[self.codes]

    @staticmethod
    def _place(values: tuple[str, ...], word: str | None) -> int:
        return values.index(word) if word in values else -1


@dataclass(frozen=True)
class ManyWords:
    """A column whose cells hold several words: one bit a word in the order of `values`, 0 where unknown."""

    bits: Array
    values: tuple[str, ...]

    @property
    def known(self) -> Array:
        return self.bits != 0

    def has(self, word: str) -> Array:
        """True where the cell holds the word; False where unknown."""
        return (self.bits & (1 << self.values.index(word))) != 0

    @cached_property
    def worst(self) -> Array:
        """Place of the last word in the register's order, -1 where unknown."""
        _, exponent = np.frexp(self.bits.astype(float))
        return np.where(self.bits == 0, -1, exponent - 1)


@dataclass(frozen=True)
class Texts:
    """A column of free text, None where there is none."""

    values: Array


MOST_KEYS = 1 << 40


def distinct(columns: Sequence[Array]) -> tuple[Array, Array]:
    """The different rows of columns of whole numbers, shape (kinds, columns), and which of them each row is.

    >>> kinds, place = distinct([np.array([3, 1, 3]), np.array([0, 2, 0])])
    >>> kinds.tolist(), place.tolist()
    ([[3, 0], [1, 2]], [0, 1, 0])
    """
    whole = [np.asarray(column, np.int64) for column in np.broadcast_arrays(*columns)]
    first, place = _first_of_kind(whole)
    return np.stack([column[first] for column in whole], axis=1), place


def _first_of_kind(whole: Sequence[Array]) -> tuple[Array, Array]:
    """A row of each kind of rows, and which kind each row is."""
    key, span = np.zeros(len(whole[0]), np.int64), 1
    for column in whole:
        least, most = int(column.min(initial=0)), int(column.max(initial=0))
        if span * (most - least + 1) > MOST_KEYS:
            key, different = pd.factorize(key)
            span = len(different)
        key, span = key * (most - least + 1) + (column - least), span * (most - least + 1)
    place, _ = pd.factorize(key)
    first = np.zeros(place.max(initial=-1) + 1, np.int64)
    first[place[::-1]] = np.arange(len(place))[::-1]
    return first, place


def once_a_kind(maker: Callable[..., Any]) -> Callable[..., Any]:
    """A maker that is called by names and works out equal rows once; for facts of words, and of numbers that repeat."""

    @wraps(maker)
    def made(**facts: Any) -> Any:
        count = max((_length(value) for value in facts.values()), default=0)
        rows = {name: value for name, value in facts.items() if count > 1 and _length(value) == count}
        if not rows:
            return maker(**facts)
        first, place = _first_of_kind([_codes(value) for value in rows.values()])
        out = maker(**{**facts, **{name: _taken(value, first) for name, value in rows.items()}})
        return {name: one[place] for name, one in out.items()} if isinstance(out, dict) else out[place]

    return made


def _length(value: Any) -> int:
    """Rows of a fact; 0 of what is no fact of rows."""
    if isinstance(value, Words):
        return len(value.codes)
    if isinstance(value, ManyWords):
        return len(value.bits)
    return len(value) if isinstance(value, np.ndarray) else 0


def _codes(value: Any) -> Array:
    if isinstance(value, Words):
        return value.codes
    codes, _ = pd.factorize(value.bits if isinstance(value, ManyWords) else value)
    return codes


def _taken(value: Any, rows: Array) -> Any:
    if isinstance(value, Words):
        return replace(value, codes=value.codes[rows])
    return ManyWords(value.bits[rows], value.values) if isinstance(value, ManyWords) else value[rows]
