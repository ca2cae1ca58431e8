"""Columns and rows of a frame as arrays: numbers, where a word stands, places, and rows counted anew."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import pandas as pd


def number(frame: pd.DataFrame, name: str) -> np.ndarray:
    """A column as floats; NaN where unknown."""
    return frame[name].to_numpy(float)


def words(frame: pd.DataFrame, name: str) -> np.ndarray:
    """A column as plain values, whichever way the frame keeps it."""
    return frame[name].to_numpy(object)


def says(frame: pd.DataFrame, name: str, word: str) -> np.ndarray:
    """Where a column says the word, as a mask; an unknown one says none."""
    return (frame[name].astype(object) == word).to_numpy(bool)


def tells(frame: pd.DataFrame, name: str) -> np.ndarray:
    """Where a column says anything, as a mask."""
    return frame[name].notna().to_numpy(bool)


def places(numbers: Iterable[int]) -> np.ndarray:
    """Row numbers as an array of whole numbers, also where there are none."""
    return np.array([*numbers], int)


def plain(values: Iterable[Any]) -> np.ndarray:
    """Any values as an array that keeps each as it is."""
    each = [*values]
    out = np.empty(len(each), object)
    out[:] = each
    return out


def picked(frame: pd.DataFrame, rows: np.ndarray) -> pd.DataFrame:
    """The rows of a frame (repeats allowed), or those where a mask is true, counted from 0."""
    return frame.iloc[rows].reset_index(drop=True)


def stacked(frames: Sequence[pd.DataFrame]) -> pd.DataFrame:
    """Frames below each other, their rows counted from 0."""
    return pd.concat(frames, ignore_index=True)


def rows_with_any(mask: np.ndarray) -> np.ndarray:
    """Rows of a mask of two axes in which anything is true."""
    out: np.ndarray = np.logical_or.reduce(mask, axis=1)
    return out
