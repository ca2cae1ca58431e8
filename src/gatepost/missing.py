"""Facts that are unknown and that rules wait for, one entry a cell that would tell them."""

from __future__ import annotations

from collections.abc import Mapping
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
class Waiting:
    """What was gathered of one cell: where it was met first, in how many rows, and the rules by number."""

    first: First
    count: int = 0
    rules: dict[int, str] = field(default_factory=dict)


class Unknowns:
    """Gathers what waits, of a whole list or of one piece of it after another."""

    def __init__(self, library: Library, site_given: bool) -> None:
        self.library, self.site_given = library, site_given
        self.cells: dict[Cell, Waiting] = {}

    def add(self, judged: Judgement, reasons: Reasons, numbers: np.ndarray | None = None) -> dict[Cell, np.ndarray]:
        """Add what waits in a list, or in a piece whose parts are the rows `numbers` of the list.

        Returns the rows of each entry, as they stand in the list or the piece.
        """
        here: dict[Cell, np.ndarray] = {}
        for (rule, name), waiting in judged.waits.items():
            one = judged.rules[rule]
            for (row, place), way, rows in self._ways(one.rule.over, name, waiting, reasons):
                first = (rule, one.columns.index(name), row if numbers is None else int(numbers[row]), place)
                met = self.cells.setdefault(way[:2], Waiting(first))
                met.first = min(met.first, first)
                met.rules[rule] = one.rule.rule
                if way[:2] not in here:
                    here[way[:2]] = np.zeros(len(reasons.tables[way[0]].frame), bool)
                here[way[:2]][rows] = True
        entries: dict[Cell, np.ndarray] = {}
        for cell, mask in here.items():
            self.cells[cell].count += int(mask.sum())
            entry = self.entry(cell)
            entries[entry] = entries[entry] | mask if entry in entries else mask
        return {entry: np.flatnonzero(mask) for entry, mask in entries.items()}

    def join(self, cells: Mapping[Cell, Waiting]) -> None:
        """Add what was gathered of another piece of the list."""
        for cell, other in cells.items():
            met = self.cells.setdefault(cell, Waiting(other.first))
            met.first = min(met.first, other.first)
            met.count += other.count
            met.rules |= other.rules

    def _ways(
        self, over: Over, name: str, waiting: np.ndarray, reasons: Reasons
    ) -> list[tuple[tuple[int, int], Way, np.ndarray]]:
        """Cells behind a fact in the waiting rows, as they are met row by row, with their own rows."""
        out = []
        for place, (way, mask) in enumerate(reasons.causes(over, name).items()):
            met = waiting[mask[waiting]]
            if len(met) and not self._told_elsewhere(way):
                out.append(((int(met[0]), place), way, reasons.ends(over, way, met)))
        return sorted(out, key=lambda one: one[0])

    def _told_elsewhere(self, way: Way) -> bool:
        """A missing site has a rule of its own."""
        return way[1] == "climate" or (way[0] == "project" and not self.site_given and way[1] in OF_THE_SITE)

    def entry(self, cell: Cell) -> Cell:
        """Facts that the same cell of a list would tell (treatment and its preservative) are one entry."""
        column = self.library.register.facts[cell[0]][cell[1]]
        return cell[0], column.written or (column.origins[0] if column.origins else column.name)

    def missing(self, rows: Mapping[Cell, np.ndarray]) -> list[Missing]:
        """One entry for each cell that would tell, what the tables lack last, what most rows lack first.

        rows  of each entry its rows, where they are wanted
        """
        facts = self.library.register.facts
        met = sorted(self.cells.items(), key=lambda one: one[1].first)
        met.sort(key=lambda one: (facts[one[0][0]][one[0][1]].derived, -one[1].count))
        groups: dict[Cell, list[Cell]] = {}
        for cell, _ in met:
            groups.setdefault(self.entry(cell), []).append(cell)
        return [self._entry(cells, rows.get(entry, np.array([], int))) for entry, cells in groups.items()]

    def _entry(self, cells: list[Cell], rows: np.ndarray) -> Missing:
        over, name = cells[0]
        rules = dict.fromkeys(rule for cell in cells for _, rule in sorted(self.cells[cell].rules.items()))
        return Missing(over, name, tuple(rows.tolist()), tuple(rules), self.library.register.facts[over][name].derived)
