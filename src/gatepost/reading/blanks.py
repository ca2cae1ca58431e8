"""Blank cells: what each is taken for, and a record of every such reading."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np
import pandas as pd

from ..library import UNKNOWN, Column, Library, Over
from .coded import Coded
from .lists import ListRead

Assumed = list[tuple[np.ndarray, str, Any, str]]
"""Rows, and the column, the value and the kind that hold for all of them."""


def fill(read: ListRead, over: Over, library: Library, project: dict[str, Any]) -> Assumed:
    """Fill the blanks of a list in place; returns what was assumed, of kind default or none; of a piece nothing is kept.

    A default that depends on another column (defaults.csv) comes first, then the register's own.
    A cell that was written but says "unknown" stays unknown.
    """
    assumed: Assumed = []
    ways = default_ways(over, library)
    for column in library.register.facts[over].values():
        if column.derived:
            continue
        told = read.column(column.name)
        for given, word, value in ways.get(column.name, ()):
            others = read.values.get(given)
            if others is not None:
                here = others.where(partial(_holds, word))
                _put(told, column, here & (told.codes == 0), value, "default", assumed)
        _fill_plain(told, column, project, assumed)
    return [] if read.piece else assumed


def _holds(word: str, value: Any) -> bool:
    return word in str(value).split(" + ")


def assumed_frame(assumed: Assumed) -> pd.DataFrame:
    """What was taken for blanks, a line each: row, column, value, kind."""
    lengths = [len(rows) for rows, *_ in assumed]
    columns = {
        name: np.repeat(np.array([*(one[at] for one in assumed), None], object)[:-1], lengths)
        for at, name in enumerate(("column", "value", "kind"), 1)
    }
    rows = np.concatenate([rows for rows, *_ in assumed]) if assumed else np.array([], int)
    return pd.DataFrame({"row": rows, **columns})


def unsaid(read: ListRead, over: Over, library: Library) -> pd.DataFrame:
    """Before blanks are filled: where each fact whose default hangs on another was not written; rows by facts."""
    return pd.DataFrame({name: read.column(name).codes == 0 for name in default_ways(over, library)}, dtype=bool)


def default_ways(over: Over, library: Library) -> dict[str, list[tuple[str, str, str]]]:
    """Defaults of each fact that depend on another: the other fact, its word, the value."""
    register = library.register
    named = {name: column.name for name, column in register.written[over].items()}
    out: dict[str, list[tuple[str, str, str]]] = {}
    for row in library.table("defaults").records():
        if row["list"] == over:
            fact, given = (named.get(row[key], row[key]) for key in ("column", "given"))
            out.setdefault(fact, []).append((given, row["is"], row["value"]))
    return out


def _fill_plain(told: Coded, column: Column, project: dict[str, Any], assumed: Assumed) -> None:
    blank = told.codes == 0
    if column.blank == "default":
        value = project.get(column.name) if column.default == "project" else column.default
        _put(told, column, blank, str(value) if column.values else value, "default", assumed)
    elif column.blank == "none" and (column.kind == "words" or "none" in column.values):
        _put(told, column, blank, "none", "none", assumed)


def _put(told: Coded, column: Column, here: np.ndarray, value: Any, kind: str, assumed: Assumed) -> None:
    """ "unknown" leaves the cell unknown and stops later defaults."""
    rows = np.flatnonzero(here)
    if value is None or not len(rows):
        return
    told[rows] = value
    if column.written and not column.quiet and value != UNKNOWN:
        assumed.append((rows, column.name, float(value) if column.is_number else value, kind))
