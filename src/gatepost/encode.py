"""Frames as clauses read them: numbers as floats, words as places in the register's order, several words as bits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

import numpy as np
import pandas as pd

from .library import UNKNOWN, Column, Over, Register


class FrameColumns:
    """Encoded columns of one frame; columns of the project stand for every row."""

    def __init__(
        self, over: Over, register: Register, frame: pd.DataFrame, project: FrameColumns | None = None
    ) -> None:
        self.over, self.register, self.frame, self.project = over, register, frame, project
        self._kept: dict[str, np.ndarray] = {}

    def get(self, name: str) -> np.ndarray:
        """The encoded column; KeyError for a name that the register does not know here."""
        if name not in self._kept:
            self._kept[name] = self._make(name)
        return self._kept[name]

    def keep(self, encoded: Mapping[str, np.ndarray]) -> None:
        """Take columns that are encoded already."""
        self._kept |= encoded

    @property
    def kept(self) -> Mapping[str, np.ndarray]:
        """The columns encoded so far."""
        return self._kept

    def _make(self, name: str) -> np.ndarray:
        if name in self.frame.columns:
            return encode(self.register.facts[self.over][name], self.frame[name])
        if self.project is not None:
            return self.project.get(name)
        raise KeyError(name)


class JointColumns(FrameColumns):
    """Encoded columns of the joints, with those of their two parts as a_, b_ and worse_."""

    def __init__(self, register: Register, frame: pd.DataFrame, parts: FrameColumns, project: FrameColumns) -> None:
        super().__init__("joints", register, frame, project)
        self.parts = parts

    def _make(self, name: str) -> np.ndarray:
        prefix, _, rest = name.partition("_")
        if name in self.frame.columns or prefix not in ("a", "b", "worse") or rest not in self.register.facts["parts"]:
            return super()._make(name)
        if prefix == "worse":
            return self.worse(rest)
        return self.of_part(prefix, rest)

    def of_part(self, side: str, name: str) -> np.ndarray:
        """A part's column at the joint's part; unknown where the joint names no listed part."""
        values = self.parts.get(name)
        if len(values) == 0:
            return np.full(len(self.frame), unknown_of(values))
        row = self.frame[f"{side}_row"].to_numpy()
        return np.where(row >= 0, values[row], unknown_of(values, self.register.facts["parts"][name].kind))

    def worse(self, name: str) -> np.ndarray:
        """The worse of the two parts' ordered words; unknown where either is."""
        a, b = self.get(f"a_{name}"), self.get(f"b_{name}")
        if self.register.facts["parts"][name].kind == "words":
            a, b = highest_bit(a), highest_bit(b)
        return np.where((a < 0) | (b < 0), -1, np.maximum(a, b))


def unknown_of(values: np.ndarray, kind: str = "word") -> float | int:
    """How an encoded column writes unknown."""
    if values.dtype.kind == "f":
        return np.nan
    return 0 if kind == "words" else -1


def is_unknown(column: Column, values: np.ndarray) -> np.ndarray:
    """Where an encoded column is unknown, as a mask."""
    if column.is_number:
        return np.isnan(values)
    return values == 0 if column.kind == "words" else values < 0


def encode(column: Column, values: pd.Series) -> np.ndarray:
    """One column of a frame as clauses read it."""
    if column.is_number:
        return values.to_numpy(float)
    if column.kind == "words":
        return bits(column, values)
    if isinstance(values.dtype, pd.CategoricalDtype):
        return values.cat.codes.to_numpy().astype(np.int64)
    return pd.Categorical(values, categories=list(column.values)).codes.astype(np.int64)


def bits(column: Column, values: pd.Series) -> np.ndarray:
    """Cells such as "ground + weather" as one bit a word; 0 where unknown."""
    codes, texts = pd.factorize(values)
    of_text = np.array([*(_bits_of(column, str(text)) for text in texts), 0], dtype=np.int64)
    return of_text[codes]


def _bits_of(column: Column, text: str) -> int:
    return sum({1 << column.values.index(word) for word in text.split(" + ")})


def highest_bit(values: np.ndarray) -> np.ndarray:
    """Place of the highest bit, -1 for 0."""
    _, exponent = np.frexp(values.astype(float))
    return np.where(values == 0, -1, exponent - 1)


def decode(column: Column, code: Any) -> Any:
    """The plain value behind one encoded number: a float, a word, words joined by " + ", or None."""
    if column.is_number:
        return None if np.isnan(code) else float(code)
    if column.kind == "words":
        return " + ".join(word for i, word in enumerate(column.values) if int(code) & (1 << i)) or None
    return None if code < 0 else column.values[int(code)]


@lru_cache(maxsize=1024)
def words_type(words: tuple[str, ...], ordered: bool) -> pd.CategoricalDtype:
    """The frame's type of a column of these words, one for all frames."""
    return pd.CategoricalDtype(list(words), ordered)


def typed(column: Column, values: Sequence[Any]) -> Any:
    """Values of one column in the frame's type; None and "unknown" are unknown."""
    if column.is_number:
        return np.array([np.nan if value in (None, UNKNOWN) else float(value) for value in values], float)
    if column.values and column.kind != "words":
        places = {value: place for place, value in enumerate(column.values)}
        return worded(column, np.array([places.get(value, -1) for value in values], dtype=int))
    return np.array([None if value == UNKNOWN else value for value in values], dtype=object)


def worded(column: Column, codes: np.ndarray) -> pd.Categorical:
    """Words of the register by their places, -1 for unknown."""
    return pd.Categorical.from_codes(codes, dtype=words_type(column.values, column.ordered), validate=False)
