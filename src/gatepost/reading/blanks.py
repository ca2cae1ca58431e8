"""Blank cells: what each is taken for, and a record of every such reading."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from ..library import Column, Library, Over
from .lists import ListRead
from .phrases import UNKNOWN


def fill(frame: pd.DataFrame, read: ListRead, over: Over, library: Library, project: dict[str, Any]) -> pd.DataFrame:
    """Fill the blanks of `frame` in place; returns what was assumed: row, column, value, kind (default or none).

    A default that depends on another column (defaults.csv) comes first, then the register's own.
    A cell that was written but says "unknown" stays unknown.
    """
    assumed: list[tuple[int, str, Any, str]] = []
    table = [row for row in library.table("defaults").records() if row["list"] == over]
    named = {
        **{name: name for name in library.register.facts[over]},
        **{name: column.name for name, column in library.register.written[over].items()},
    }
    for column in library.register.facts[over].values():
        if column.derived or column.name not in frame:
            continue
        blank = frame[column.name].isna().to_numpy() & ~np.array(
            read.written.get(column.name, [False] * len(read)), bool
        )
        for row in table:
            if named[row["column"]] != column.name:
                continue
            here = blank & _is(frame[named[row["given"]]], row["is"])
            blank &= ~here
            if row["value"] != UNKNOWN:
                _put(frame, column, here, row["value"], "default", assumed)
        _fill_plain(frame, column, blank, project, assumed)
    return pd.DataFrame(assumed, columns=["row", "column", "value", "kind"])


def _is(values: pd.Series, word: str) -> np.ndarray:
    """Does the cell hold the word, alone or among several?"""
    return np.array([word in str(value).split(" + ") for value in values], bool)


def _fill_plain(
    frame: pd.DataFrame,
    column: Column,
    blank: np.ndarray,
    project: dict[str, Any],
    assumed: list[tuple[int, str, Any, str]],
) -> None:
    if column.blank == "default":
        value = project.get(column.name) if column.default == "project" else column.default
        value = str(value) if column.values else value
        _put(frame, column, blank, value, "default", assumed)
    elif column.blank == "none" and (column.kind == "words" or "none" in column.values):
        _put(frame, column, blank, "none", "none", assumed)


def _put(
    frame: pd.DataFrame,
    column: Column,
    here: np.ndarray,
    value: Any,
    kind: str,
    assumed: list[tuple[int, str, Any, str]],
) -> None:
    if value is None or not here.any():
        return
    frame.loc[here, column.name] = float(value) if column.is_number else value
    if column.written and not column.quiet:
        assumed += [(int(row), column.name, value, kind) for row in np.flatnonzero(here)]
