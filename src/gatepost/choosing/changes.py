"""Ways and options as columns of the lists and what to write there, beside what stands there now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from ..deriving import Facts
from ..library import Over
from .offers import Offers

ALWAYS = ("upkeep", "size", "coating", "count", "pilot", "wood_part", "incised")
"""Columns that are written even where nothing stands, for the first of the choice does not name them."""


@dataclass(frozen=True)
class Change:
    """One cell of a list: its column, what stands there and what to write."""

    over: Over
    row: int
    column: str
    old: str | None
    new: str


class Cells:
    """The lists of a project as they were written: what stands in a cell, and what a default took it for."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.frames = {"parts": facts.parts, "joints": facts.joints}
        self.blank = {
            (over, row, column)
            for over, frame in facts.project.assumed.items()
            for row, column in zip(frame["row"], frame["column"], strict=True)
        }

    def changes(self, over: Over, row: int, option: Sequence[int], offers: Offers) -> list[Change]:
        """The cells that an option writes and that say something else now.

        A column in which nothing was written and that the material or fastener names already is left blank.
        """
        out = []
        for at in option:
            first = next(iter(offers.writes[at]))
            for column, text in offers.writes[at].items():
                now, blank = self._now(over, row, column)
                old = None if blank else now
                if text != now and (column == first or old is not None or column in ALWAYS):
                    out.append(Change(over, row, column, old, text))
        return out

    def _now(self, over: Over, row: int, column: str) -> tuple[str | None, bool]:
        """The value of the cell, and whether it is blank and a default fills it."""
        fact = self.facts.library.register.written[over][column]
        value = self.frames[over][fact.name].iat[row]
        if value is None or pd.isna(value):
            return None, True
        text = f"{value:g}" if isinstance(value, float) else str(value)
        return f"{text} mm" if fact.kind == "size" else text, (over, row, fact.name) in self.blank
