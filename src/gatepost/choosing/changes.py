"""Ways and options as columns of the lists and what to write there, beside what stands there now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from ..deriving import Facts
from ..library import Over
from .offers import Offers


@dataclass(frozen=True)
class Change:
    """One cell of a list: its column, what stands there and what to write."""

    over: Over
    row: int
    column: str
    old: str | None
    new: str


def changes(facts: Facts, over: Over, row: int, option: Sequence[int], offers: Offers) -> list[Change]:
    """The cells that an option writes and that say something else now.

    A column in which nothing was written and that the material or fastener names already is left blank.
    """
    out = []
    for at in option:
        first = next(iter(offers.writes[at]))
        for column, text in offers.writes[at].items():
            old = _old(facts, over, row, column)
            if text not in (old, _now(facts, over, row, column)) and (
                column == first or old is not None or column in ALWAYS
            ):
                out.append(Change(over, row, column, old, text))
    return out


ALWAYS = ("upkeep", "size", "coating", "count", "pilot", "wood_part", "incised")
"""Columns that are written even where nothing stands, for the first of the choice does not name them."""


def _now(facts: Facts, over: Over, row: int, column: str) -> str | None:
    """The value of the fact, whether written or a default."""
    fact = facts.library.register.written[over][column]
    value = (facts.parts if over == "parts" else facts.joints)[fact.name].iat[row]
    if value is None or pd.isna(value):
        return None
    if fact.kind == "size":
        return f"{value:g} mm"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _old(facts: Facts, over: Over, row: int, column: str) -> str | None:
    """What the list says now; None for a blank, or for a cell that a default fills."""
    fact = facts.library.register.written[over][column]
    assumed = facts.project.assumed.get(over)
    blank = assumed is not None and ((assumed["row"] == row) & (assumed["column"] == fact.name)).any()
    return None if blank else _now(facts, over, row, column)
