"""Blank cells: what each is taken for, and a record of every such reading."""

from __future__ import annotations

from typing import Any

import pandas as pd

from ..library import UNKNOWN, Column, Library, Over
from .lists import ListRead

Assumed = list[tuple[int, str, Any, str]]


def fill(read: ListRead, over: Over, library: Library, project: dict[str, Any]) -> pd.DataFrame:
    """Fill the blanks of a list in place; returns what was assumed: row, column, value, kind (default or none).

    A default that depends on another column (defaults.csv) comes first, then the register's own.
    A cell that was written but says "unknown" stays unknown.
    """
    assumed: Assumed = []
    ways = default_ways(over, library)
    for column in library.register.facts[over].values():
        if column.derived:
            continue
        values = read.values.setdefault(column.name, [None] * len(read))
        blank = [row for row, value in enumerate(values) if value is None]
        for given, word, value in ways.get(column.name, ()):
            others = read.values.get(given) or [None] * len(read)
            holding = {other for other in set(others) if word in str(other).split(" + ")}
            here = {row for row in blank if others[row] in holding} if holding else set()
            _put(values, column, sorted(here), value, "default", assumed)
            blank = [row for row in blank if row not in here]
        _fill_plain(values, column, blank, project, assumed)
    return pd.DataFrame(assumed, columns=["row", "column", "value", "kind"])


def unsaid(read: ListRead, over: Over, library: Library) -> pd.DataFrame:
    """Before blanks are filled: where each fact whose default hangs on another was not written; rows by facts."""
    nothing = [None] * len(read)
    names = default_ways(over, library)
    return pd.DataFrame(
        {name: [value is None for value in read.values.get(name, nothing)] for name in names}, dtype=bool
    )


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


def _fill_plain(values: list[Any], column: Column, blank: list[int], project: dict[str, Any], assumed: Assumed) -> None:
    if column.blank == "default":
        value = project.get(column.name) if column.default == "project" else column.default
        _put(values, column, blank, str(value) if column.values else value, "default", assumed)
    elif column.blank == "none" and (column.kind == "words" or "none" in column.values):
        _put(values, column, blank, "none", "none", assumed)


def _put(values: list[Any], column: Column, rows: list[int], value: Any, kind: str, assumed: Assumed) -> None:
    """ "unknown" leaves the cell unknown and stops later defaults."""
    if value is None:
        return
    for row in rows:
        values[row] = value
    if column.written and not column.quiet and value != UNKNOWN:
        shown = float(value) if column.is_number else value
        assumed += [(row, column.name, shown, kind) for row in rows]
