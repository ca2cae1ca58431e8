"""Why a fact is unknown, and which blanks a fact rests on: the needs of the register, walked backwards."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from ..encode import FrameColumns, JointColumns, is_unknown
from ..library import Library, Over
from .engine import Node, resolve
from .values import Array

Root = tuple[Over, str, int]
Way = tuple[Over, str, str]
"""A cell behind a fact: its table, its name, and by which side of a joint it is reached ("" the row itself)."""


class Reasons:
    """Walks from unknown facts to the cells that would make them known, all rows at once."""

    def __init__(self, library: Library, parts: FrameColumns, joints: JointColumns, project: FrameColumns) -> None:
        self.library = library
        self.tables: dict[Over, FrameColumns] = {"parts": parts, "joints": joints, "project": project}
        self.known: dict[Node, dict[Way, Array]] = {}
        self.told: dict[Node, dict[Way, Array]] = {}

    def roots(self, over: Over, name: str, row: int) -> tuple[Root, ...]:
        """The unknown written cells behind an unknown fact of one row; the fact itself when none is."""
        ways = self.causes(over, name).items()
        one = np.array([row])
        return tuple(
            dict.fromkeys((way[0], way[1], int(self.ends(over, way, one)[0])) for way, here in ways if here[row])
        )

    def causes(self, over: Over, name: str) -> dict[Way, Array]:
        """The unknown written cells behind an unknown fact, each with the rows of `over` where it is one, as a mask.

        Where none is (the tables are silent) the fact itself; cells of the project only where no other is.
        """
        if (over, name) not in self.told:
            self.told[(over, name)] = self._causes(over, name)
        return self.told[(over, name)]

    def _causes(self, over: Over, name: str) -> dict[Way, Array]:
        found: dict[Way, Array] = {}
        for home in _homes(self.library, over, name):
            blank = self._at(self.unknown((home[0], home[1])), over, home)
            hit = np.zeros(len(blank), bool)
            for way, here in self._seen_from(over, home).items():
                _join(found, way, here)
                hit |= here
            _join(found, home, blank & ~hit)
        own = [here for way, here in found.items() if way[0] != "project"]
        elsewhere = np.logical_or.reduce(own) if own else np.zeros(len(self.tables[over].frame), bool)
        return {way: here & ~elsewhere if way[0] == "project" else here for way, here in found.items()}

    def ends(self, over: Over, way: Way, rows: Array) -> Array:
        """The row of its table where a way ends, for each of the `rows` of `over`; -1 where it ends nowhere."""
        if way[2]:
            return self.tables["joints"].frame[f"{way[2]}_row"].to_numpy()[rows]
        return rows if way[0] == over else np.zeros(len(rows), int)

    def _at(self, here: Array, over: Over, way: Way) -> Array:
        """What holds where a way ends, for each row of `over`; nothing holds in a row of no list."""
        if not way[2] and way[0] == over:
            return here
        return np.append(here, False)[self.ends(over, way, np.arange(len(self.tables[over].frame)))]

    def _seen_from(self, over: Over, home: Way) -> dict[Way, Array]:
        """The cells behind the facts that `home` names, as masks over rows of `over`."""
        out: dict[Way, Array] = {}
        for (table, name, side), here in self._of((home[0], home[1])).items():
            way: Way = (table, name, home[2] if table == home[0] and home[2] else side)
            _join(out, way, self._at(here, over, home))
        return out

    def _of(self, node: Node) -> dict[Way, Array]:
        if node not in self.known:
            self.known[node] = self._walk(node)
        return self.known[node]

    def _walk(self, node: Node) -> dict[Way, Array]:
        over, name = node
        column = self.library.register.facts[over][name]
        if not column.derived:
            return {(over, name, ""): self.unknown(node)}
        found: dict[Way, Array] = {}
        for need in column.needs:
            if need.startswith("table:") or need.endswith("?"):
                continue
            for home in _homes(self.library, over, need):
                there = self._at(self.unknown((home[0], home[1])), over, home)
                for way, here in self._seen_from(over, home).items() if there.any() else ():
                    _join(found, way, here & there)
        return {way: here for way, here in found.items() if here.any()}

    def unknown(self, node: Node) -> Array:
        """Where is the cell unknown? A joint's part that is on no list is not counted: its own finding says so."""
        over, name = node
        table, column = self.tables[over], self.library.register.facts[over][name]
        if column.kind == "series":
            return (self.tables["project"].frame["site_given"] == "no").to_numpy()
        if column.kind == "text" or (column.kind == "phrase" and not column.values):
            return table.frame[name].isna().to_numpy()
        return np.broadcast_to(is_unknown(column, table.get(name)), len(table.frame))


def _join(found: dict[Way, Array], way: Way, here: Array) -> None:
    found[way] = found[way] | here if way in found else here


def _homes(library: Library, over: Over, need: str) -> list[Way]:
    """The cells that a need names: a joint's a_, b_ or worse_ column is a cell of its parts."""
    home, name = resolve(library.register, over, need)
    if over == "joints" and home == "parts" and "." not in need:
        return [("parts", name, side) for side in ("ab" if need.startswith("worse_") else need[0])]
    return [(home, name, "")] if home in (over, "project") else []


@lru_cache(maxsize=4096)
def inputs(library: Library, over: Over, name: str) -> tuple[Node, ...]:
    """The written columns that a fact rests on, itself included when it is one."""
    home, plain = resolve(library.register, over, name)
    column = library.register.facts[home][plain]
    if not column.derived:
        return ((home, plain),)
    out: list[Node] = []
    for need in column.needs:
        if not need.startswith("table:") and "." not in need:
            out += inputs(library, home, need)
    return tuple(dict.fromkeys(out))
