"""A column of a list as read: each different value once, and which of them stands in each row."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from typing import Any

import numpy as np
import pandas as pd

from ..encode import typed
from ..library import Column


class Coded:
    """One fact of a list: `codes` of the rows into `values`; place 0 is None, nothing is said."""

    def __init__(self, codes: np.ndarray, values: list[Any]) -> None:
        self.codes, self.values = codes, values
        self._places: dict[Hashable, int] | None = None

    @classmethod
    def blank(cls, count: int) -> Coded:
        """A column of which no row says anything."""
        return cls(np.zeros(count, np.int64), [None])

    @classmethod
    def of(cls, values: Iterable[Any]) -> Coded:
        """A value for each row."""
        out = cls(np.zeros(0, np.int64), [None])
        out.codes = np.array([out.place(value) for value in values], np.int64)
        return out

    @classmethod
    def chosen(cls, codes: np.ndarray, values: list[Any]) -> Coded:
        """The value that each code names, None among them."""
        if None in values:
            return cls.of(values).take(codes)
        return cls(codes + 1, [None, *values])

    def __len__(self) -> int:
        return len(self.codes)

    def __getitem__(self, row: int) -> Any:
        return self.values[self.codes[row]]

    def __setitem__(self, rows: Any, value: Any) -> None:
        """Put a value into a row, an array of rows, or where a mask is true."""
        self.codes[rows] = self.place(value)

    def place(self, value: Any) -> int:
        """Place of a value, which is taken in when it is new."""
        if self._places is None:
            self._places = {one: place for place, one in enumerate(self.values)}
        if value not in self._places:
            self._places[value] = len(self.values)
            self.values.append(value)
        return self._places[value]

    def take(self, rows: np.ndarray) -> Coded:
        """The column of other rows, each named by its place among these."""
        return Coded(self.codes[rows], self.values)

    def where(self, test: Callable[[Any], bool]) -> np.ndarray:
        """Rows whose value passes a test, as a mask; each different value is tested once."""
        return np.array([test(value) for value in self.values], bool)[self.codes]

    def is_in(self, *words: Any) -> np.ndarray:
        """Rows that hold one of the words, None among them where it is asked for, as a mask."""
        return self.where(lambda value: value in words)

    def typed(self, column: Column) -> Any:
        """The values in the frame's type; None and "unknown" are unknown."""
        values = typed(column, self.values)
        if len(self.values) == 1 and isinstance(values, np.ndarray):
            return np.full(len(self), values[0], values.dtype)
        if isinstance(values, pd.Categorical):
            return pd.Categorical.from_codes(values.codes[self.codes], dtype=values.dtype, validate=False)
        return values[self.codes]


def coded_texts(texts: Sequence[str]) -> tuple[np.ndarray, list[str]]:
    """The different texts of a column in the order they come, and which of them stands in each row."""
    cells = np.empty(len(texts), object)
    cells[:] = texts
    codes, different = pd.factorize(cells)
    return codes, [text.strip() for text in different]
