"""Why a fact is unknown, and which blanks a fact rests on: the needs of the register, walked backwards."""

from __future__ import annotations

from functools import lru_cache

import pandas as pd

from ..encode import FrameColumns, JointColumns
from ..library import Library, Over
from .engine import Node, resolve

Root = tuple[Over, str, int]


class Reasons:
    """Walks from an unknown fact to the cells that would make it known."""

    def __init__(self, library: Library, parts: FrameColumns, joints: JointColumns, project: FrameColumns) -> None:
        self.library = library
        self.tables: dict[Over, FrameColumns] = {"parts": parts, "joints": joints, "project": project}
        self.known: dict[Root, tuple[Root, ...]] = {}

    def roots(self, over: Over, name: str, row: int) -> tuple[Root, ...]:
        """The unknown written cells behind an unknown fact; the fact itself when none is (the tables are silent)."""
        homes = _homes(self.library, over, name, row, self.tables["joints"].frame)
        found: list[Root] = []
        for home in homes:
            found += self._of(home) or [home]
        own = [root for root in found if root[0] != "project"]
        return tuple(dict.fromkeys(own or found))

    def _of(self, node: Root) -> list[Root]:
        if node not in self.known:
            self.known[node] = tuple(self._walk(node))
        return list(self.known[node])

    def _walk(self, node: Root) -> list[Root]:
        over, name, row = node
        column = self.library.register.facts[over][name]
        if not column.derived:
            return [node] if self.unknown(node) else []
        found: list[Root] = []
        for need in column.needs:
            if need.startswith("table:") or need.endswith("?"):
                continue
            for home in _homes(self.library, over, need, row, self.tables["joints"].frame):
                if self.unknown(home):
                    found += self._of(home)
        return found

    def unknown(self, node: Root) -> bool:
        """Is the cell unknown? A joint's part that is on no list is not counted: its own finding says so."""
        over, name, row = node
        column = self.library.register.facts[over][name]
        if column.kind == "series":
            return bool((self.tables["project"].frame["site_given"] == "no").all())
        values = self.tables[over].frame[name]
        return bool(pd.isna(values.iat[row]))


def _homes(library: Library, over: Over, need: str, row: int, joints: pd.DataFrame) -> list[Root]:
    """The cells that a need names: a joint's a_, b_ or worse_ column is a cell of its parts."""
    home, name = resolve(library.register, over, need)
    if over == "joints" and home == "parts" and "." not in need:
        sides = "ab" if need.startswith("worse_") else need[0]
        rows = [int(joints[f"{side}_row"].iat[row]) for side in sides]
        return [("parts", name, r) for r in rows if r >= 0]
    if home == "project":
        return [("project", name, 0)]
    return [(home, name, row)] if home == over else []


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
