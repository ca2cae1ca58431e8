"""Facts that are unknown and that rules wait for, one entry a cell that would tell them."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from .deriving.reasons import Reasons, Way
from .judging import Judgement
from .library import Library, Over

OF_THE_SITE = ("coast_km", "scheffer_index", "decay_zone", "rain_days_year")
Cell = tuple[Over, str]
First = tuple[int, int, int, int]


@dataclass(frozen=True)
class Missing:
    """One fact that is unknown and that rules wait for: where, and which rules."""

    over: Over
    column: str
    rows: tuple[int, ...]
    rules: tuple[str, ...]
    in_tables: bool


@dataclass
class _Gathered:
    """What was gathered of one cell: where it was met first, in how many rows, and the rules by number."""

    first: First
    count: int = 0
    rules: dict[int, str] = field(default_factory=dict)


class Unknowns:
    """Gathers what waits, of a whole list or of one piece of it after another."""

    def __init__(self, library: Library, site_given: bool) -> None:
        self.library, self.site_given = library, site_given
        self.cells: dict[Cell, _Gathered] = {}
        self.rows: dict[Cell, list[np.ndarray]] = {}

    def add(self, judged: Judgement, reasons: Reasons, start: int = 0) -> dict[Cell, np.ndarray]:
        """Add what waits in a piece whose first part is row `start` of the list; returns the rows of each entry in it."""
        here: dict[Cell, np.ndarray] = {}
        for (rule, name), waiting in judged.waits.items():
            one = judged.rules[rule]
            column = one.columns.index(name)
            for at, way, rows in self._ways(one.rule.over, name, waiting, reasons):
                cell = way[:2]
                met = self.cells.setdefault(cell, _Gathered((rule, column, at[0] + start, at[1])))
                met.first = min(met.first, (rule, column, at[0] + start, at[1]))
                met.rules[rule] = one.rule.rule
                here.setdefault(cell, np.zeros(len(reasons.tables[cell[0]].frame), bool))[rows] = True
        entries: dict[Cell, np.ndarray] = {}
        for cell, mask in here.items():
            self.cells[cell].count += int(mask.sum())
            entry = self.entry(cell)
            entries[entry] = entries[entry] | mask if entry in entries else mask
        found = {entry: np.flatnonzero(mask) for entry, mask in entries.items()}
        for entry, rows in found.items():
            self.rows.setdefault(entry, []).append(rows + (start if entry[0] == "parts" else 0))
        return found

    def _ways(
        self, over: Over, name: str, waiting: np.ndarray, reasons: Reasons
    ) -> list[tuple[tuple[int, int], Way, np.ndarray]]:
        """Cells behind a fact in the waiting rows, as they are met row by row, with their own rows."""
        out = []
        for place, (way, mask) in enumerate(reasons.causes(over, name).items()):
            met = waiting[mask[waiting]]
            if len(met) and not self._told_elsewhere(way):
                out.append(((int(met[0]), place), way, reasons.rows(over, way)[met]))
        return sorted(out, key=lambda one: one[0])

    def _told_elsewhere(self, way: Way) -> bool:
        """A missing site has a rule of its own."""
        return way[1] == "climate" or (way[0] == "project" and not self.site_given and way[1] in OF_THE_SITE)

    def entry(self, cell: Cell) -> Cell:
        """Facts that the same cell of a list would tell (treatment and its preservative) are one entry."""
        column = self.library.register.facts[cell[0]][cell[1]]
        return cell[0], column.written or (column.origins[0] if column.origins else column.name)

    def missing(self) -> list[Missing]:
        """One entry for each cell that would tell, what the tables lack last, what most rows lack first."""
        facts = self.library.register.facts
        met = sorted(self.cells.items(), key=lambda one: one[1].first)
        met.sort(key=lambda one: (facts[one[0][0]][one[0][1]].derived, -one[1].count))
        groups: dict[Cell, list[Cell]] = {}
        for cell, _ in met:
            groups.setdefault(self.entry(cell), []).append(cell)
        return [self._entry(entry, cells) for entry, cells in groups.items()]

    def _entry(self, entry: Cell, cells: list[Cell]) -> Missing:
        over, name = cells[0]
        rules = dict.fromkeys(rule for cell in cells for _, rule in sorted(self.cells[cell].rules.items()))
        rows = tuple(np.concatenate(self.rows[entry]).tolist())
        return Missing(over, name, rows, tuple(rules), self.library.register.facts[over][name].derived)
