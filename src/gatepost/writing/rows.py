"""Rows of a sheet's tables: facts as plain values, rows that say the same put together, columns that say nothing left out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pandas as pd

from ..deriving import Facts
from ..units import printed_number
from .blocks import Measured, Table
from .values import NO_BAND, WHOLE, plain_value


def records(facts: Facts, over: str) -> list[dict[str, Any]]:
    """Rows of the parts or the joints as plain values."""
    frame = facts.parts if over == "parts" else facts.joints
    columns = {str(name): _plain(frame[name]) for name in frame.columns}
    return [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]


def _plain(column: pd.Series) -> list[Any]:
    """What `plain_value` makes of each value, a column at a time: long lists have a hundred thousand cells."""
    values = column.tolist()
    if column.dtype.kind != "f":
        return [plain_value(value) for value in values]
    return [
        None if math.isnan(value) else int(value) if value.is_integer() and abs(value) < WHOLE else value
        for value in values
    ]


def together(table: Table) -> Table:
    """Rows that say the same of several names as one row, the names in its first cell; in the order of the first of each.

    >>> together(Table(["part", "wood"], [["post", "oak"], ["rail", "pine"], ["stile", "oak"]])).rows
    [['post, stile', 'oak'], ['rail', 'pine']]
    """
    names: dict[tuple[str, ...], list[str]] = {}
    first: list[int] = []
    for at, (name, *rest) in enumerate(table.rows):
        first += [at] if tuple(rest) not in names else []
        told = names.setdefault(tuple(rest), [])
        told += [name] if name not in told else []
    numbers = {at: replace(one, values=[one.values[row] for row in first]) for at, one in table.measured.items()}
    return replace(table, rows=[[", ".join(told), *rest] for rest, told in names.items()], measured=numbers)


def trimmed(table: Table) -> Table:
    """The table without columns in which no row has anything to say."""
    used = [at for at in range(len(table.header)) if at == 0 or any(row[at] not in ("", NO_BAND) for row in table.rows)]
    return Table(
        [table.header[at] for at in used],
        [[row[at] for at in used] for row in table.rows],
        tuple(new for new, at in enumerate(used) if at in table.right),
        table.caption,
        {new: table.measured[at] for new, at in enumerate(used) if at in table.measured},
    )


def measured(
    rows: list[dict[str, Any]], names: Sequence[str], first: int, units: str, step: int = 16
) -> dict[int, Measured]:
    """The numbers of columns of sizes that begin at `first`; none where a cell holds two units."""
    if units == "both":
        return {}
    return {
        at: Measured(units, [printed_number(row[name], units, step) for row in rows])
        for at, name in enumerate(names, first)
    }
