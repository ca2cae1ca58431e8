"""Ways and options as columns of the lists and what to write there, beside what stands there now."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Sequence
from dataclasses import dataclass
from math import isclose
from typing import Any

import numpy as np
import pandas as pd

from ..deriving import Facts
from ..frames import words
from ..library import Over
from ..reading.choices import choices_frame
from ..reading.sizes import Context
from ..units import MM_PER_IN, print_size
from .offers import MATERIAL, WITH, Offers

SIZES = ("thickness_mm", "width_mm", "length_mm")
SPOKEN = {
    "grain": {"rift": "rift sawn", "quarter": "quarter sawn"},
    "pith": {"in": "pith in", "out": "pith out"},
    "moisture_word": {word: word for word in ("wet", "air-dried", "kiln-dried")},
}
"""What the text of a material may tell besides the material, and how that is said in the next one."""

NEAR = 0.05
"""So near to a sixteenth, in sixteenths, a size is one: tables in mm are rounded to a tenth."""
ALWAYS = ("upkeep", "fastener", "size", "coating", "count", "pilot", "edge", "end", "wood_part", "incised")
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
        self.frames: dict[Over, pd.DataFrame] = {"parts": facts.parts, "joints": facts.joints}
        self.read: dict[tuple[Over, str], np.ndarray] = {}
        self.blank = {
            (over, row, column)
            for over, frame in facts.project.assumed.items()
            for row, column in zip(frame["row"], frame["column"], strict=True)
        }
        texts = list(dict.fromkeys(text for text in facts.parts["material"] if isinstance(text, str)))
        names = list(dict.fromkeys((*SIZES, *SPOKEN, *MATERIAL)))
        self.carried = dict(zip(texts, self._carried(texts, names), strict=True))
        self.parts = facts.parts[names].to_dict("records")

    def _carried(self, texts: list[str], names: list[str]) -> list[dict[Hashable, Any]]:
        """What each text of a material tells; a list may name its woods in other columns alone."""
        if not texts:
            return []
        project, known = self.facts.project, self.facts.library
        read = choices_frame(
            ["material"], [[text] for text in texts], "parts", Context(project.units, project.scheme), known
        )
        return read[names].to_dict("records")

    def changes(
        self, over: Over, row: int, option: Sequence[int], offers: Offers, beside: Collection[str] = ()
    ) -> list[Change]:
        """The cells that an option writes and that say something else now, or once the columns `beside` are changed.

        A column in which nothing was written and that the material or fastener names already is left blank.
        """
        out = []
        for at in option:
            first = next(iter(offers.writes[at]))
            writes = offers.writes[at] | (self._besides(row, offers.writes[at]) if first == "material" else {})
            for column, text in writes.items():
                now, blank = self._now(over, row, column)
                old = None if blank else now
                single = column == first and column not in WITH  # changed because a fact beside its own must change
                sure = single or column in beside or column not in offers.writes[at]
                if sure or (text != now and (column == first or old is not None or column in ALWAYS)):
                    out.append(Change(over, row, column, None if old == text else old, text))
        return out

    def _besides(self, row: int, writes: dict[str, str]) -> dict[str, str]:
        """What the text of the material told besides and the new one must tell too: sizes, grain, grade ..."""
        part = self.parts[row]
        if not isinstance(part["material"], str):
            return {}
        told = self.carried[part["material"]]
        sizes = [told[name] for name in SIZES if not pd.isna(told[name])]
        spoken = [says.get(told[name]) for name, says in SPOKEN.items() if told[name] == part[name]]
        spoken += [_by(sizes, self.facts.project.units)] if sizes else []
        untold = {
            name: str(told[name])
            for name in MATERIAL
            if name not in (*writes, "incised") and _is_said(told[name]) and told[name] == part[name]
        }
        return {"material": ", ".join([writes["material"], *filter(None, spoken)]), **untold}

    def _now(self, over: Over, row: int, column: str) -> tuple[str | None, bool]:
        """The value of the cell, and whether it is blank and a default fills it."""
        fact = self.facts.library.register.written[over][column]
        value = self._values(over, fact.name)[row]
        if value is None or pd.isna(value):
            return None, True
        text = f"{value:g}" if isinstance(value, float) else str(value)
        return f"{text} mm" if fact.kind == "size" else text, (over, row, fact.name) in self.blank

    def _values(self, over: Over, name: str) -> np.ndarray:
        if (over, name) not in self.read:
            self.read[over, name] = words(self.frames[over], name)
        return self.read[over, name]


def _is_said(value: object) -> bool:
    return isinstance(value, str) and value not in ("none", "mixed")


def _by(sizes_mm: Sequence[float], units: str) -> str:
    """Sizes with their unit, so that no name of a size is read in them: in sixteenths where they are."""
    if units == "in" and all(
        isclose(size * 16 / MM_PER_IN, round(size * 16 / MM_PER_IN), abs_tol=NEAR) for size in sizes_mm
    ):
        return " x ".join(print_size(size, "in").rstrip('"') for size in sizes_mm) + " in"
    return " x ".join(f"{size:.6g}" for size in sizes_mm) + " mm"
