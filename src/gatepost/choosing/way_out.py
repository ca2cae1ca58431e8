"""The smallest set of changes to a row's choice columns that clears its stops and fixes and brings on no other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd

from ..deriving import Facts
from ..deriving.reasons import inputs
from ..frames import picked, places, tells, words
from ..judging import Compiled
from ..library import Library, Over
from ..project import Project
from .blanks import Told, refilled
from .offers import WITH, Offers, facts_also, facts_changed, facts_of
from .virtual import Verdicts, judged, mixed, verdicts

EXACT = 2
"""Up to so many changes every combination is tried; beyond, the best BEAM of each length are extended."""
BEAM, MOST = 12, 5
BLOCK = 30_000
OTHER = 0.05
NOTHING = places(())


@dataclass(frozen=True)
class Way:
    """Changes of one row: places in the offers; none and `blocked_by` where nothing tried clears it."""

    over: Over
    row: int
    offers: tuple[int, ...]
    blocked_by: tuple[str, ...] = ()


@dataclass(frozen=True)
class Search:
    """What a search needs: the project, its verdicts as it is, the rules, and what may be offered to each row."""

    facts: Facts
    over: Over
    rules: Sequence[Compiled]
    offers: Offers
    allowed: dict[int, np.ndarray]
    before: Verdicts

    @classmethod
    def of(
        cls, facts: Facts, over: Over, rules: Sequence[Compiled], offers: Offers, allowed: dict[int, np.ndarray]
    ) -> Search:
        """With the verdicts of the rows as they are."""
        return cls(facts, over, rules, offers, allowed, judged(facts, over, rules))

    def offered(self, row: int) -> np.ndarray:
        """What may be offered to a row; nothing to a part that is no wood."""
        return self.allowed.get(row, NOTHING)

    def efforts(self, row: int) -> np.ndarray:
        """Effort of each offer on a row, and a little for each fact that becomes another: what is nearest comes first."""
        other = np.zeros(len(self.offers.effort))
        for mine, new, blank, now in self._facts:
            other[mine] += ~(blank if pd.isna(now[row]) else new == now[row])
        return self.offers.effort + OTHER * other

    @cached_property
    def _facts(self) -> list[tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]]:
        """For each column of the offers and each fact that it sets: the offers, the fact in them, where they leave it
        blank, and the fact in the rows."""
        frame = self.facts.parts if self.over == "parts" else self.facts.joints
        out = []
        for column in dict.fromkeys(self.offers.column):
            mine = self.offers.rows_of(column)
            for name in facts_changed(self.over, column, self.facts.library):
                blank = ~tells(self.offers.frame, name)
                out.append((mine, words(self.offers.frame, name)[mine], blank[mine], words(frame, name)))
        return out

    def names(self, numbers: np.ndarray) -> tuple[str, ...]:
        """Rules of the places in the masks."""
        return tuple(self.rules[self.before.numbers[at]].rule.rule for at in numbers)


def ways_out(search: Search) -> list[Way]:
    """For each failing row the smallest change, the least effort among the smallest; or what stands in the way."""
    found: dict[int, Way] = {}
    open_rows = search.before.failing
    beams: dict[int, list[tuple[int, ...]]] = {row: [()] for row in open_rows}
    for length in range(1, MOST + 1):
        tries = [(row, way) for row in open_rows for way in _tries(search, row, length, beams[row])]
        if not tries:
            break
        bad = _bad(search, tries)
        for row in list(open_rows):
            mine = places(at for at, (other, _) in enumerate(tries) if other == row)
            if not len(mine):
                continue
            left = bad[mine].sum(axis=1)
            if left.min() == 0:
                clear = [tries[at][1] for at in mine[left == 0]]
                efforts = search.efforts(row)
                best = min(clear, key=lambda way, efforts=efforts: (efforts[list(way)].sum(), way))  # type: ignore[misc]
                found[row] = Way(search.over, row, best)
                open_rows.remove(row)
            else:
                near = mine[np.argsort(left, kind="stable")[:BEAM]]
                beams[row] = [tries[at][1] for at in near]
                found[row] = Way(search.over, row, (), search.names(np.flatnonzero(bad[near[0]])))
    return [
        found.get(row, Way(search.over, row, (), search.names(np.flatnonzero(search.before.holds[row]))))
        for row in search.before.failing
    ]


def _tries(search: Search, row: int, length: int, beam: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Combinations to try: all that touch a column the failing rules read while they are few, else extensions."""
    allowed = search.offered(row)
    if length > EXACT:
        return list(
            dict.fromkeys(
                tuple(sorted((*way, int(at))))
                for way in beam
                for at in allowed
                if _fits(search.offers, (*way, int(at)))
            )
        )
    near = _relevant(search, row)
    asked = [int(at) for at in allowed if search.offers.column[at] in near]
    if length == 1:
        return [(at,) for at in asked]
    pairs = {tuple(sorted((one, int(at)))) for one in asked for at in allowed}
    return sorted(pair for pair in pairs if _fits(search.offers, pair))


def _fits(offers: Offers, way: tuple[int, ...]) -> bool:
    """Each column is changed once, a material's own columns not beside the material."""
    columns = [offers.column[at] for at in way]
    groups = [set(WITH.get(column, (column,))) for column in columns]
    return all(not (one & other) for one, other in combinations(groups, 2))


def _relevant(search: Search, row: int) -> set[str]:
    """Columns of offers that the failing rules of the row read, through all that is worked out from them."""
    known = search.facts.library
    read: set[str] = set()
    for at in np.flatnonzero(search.before.holds[row]):
        read |= _inputs_of(tuple(search.rules[search.before.numbers[at]].columns), search.over, known)
    columns = dict.fromkeys(search.offers.column[search.offered(row)])
    return {column for column in columns if set(facts_changed(search.over, column, known)) & read}


@lru_cache(maxsize=1024)
def _inputs_of(columns: tuple[str, ...], over: Over, known: Library) -> frozenset[str]:
    nodes = (node for name in columns for node in inputs(known, over, name))
    return frozenset(name for home, name in nodes if home == over)


def _bad(search: Search, tries: list[tuple[int, tuple[int, ...]]]) -> np.ndarray:
    """For each try the rules that hold, or wait and did not wait before: tries by rules."""
    parts = [_bad_block(search, tries[at : at + BLOCK]) for at in range(0, len(tries), BLOCK)]
    return np.concatenate(parts)


def _bad_block(search: Search, tries: list[tuple[int, tuple[int, ...]]]) -> np.ndarray:
    rows = places(row for row, _ in tries)
    project = changed(
        search.facts.project, search.over, rows, [way for _, way in tries], search.offers, search.facts.library
    )
    return verdicts(project, search.over, search.rules, search.facts).beyond(search.before, rows).bad


def changed(
    project: Project, over: Over, rows: np.ndarray, ways: Sequence[tuple[int, ...]], offers: Offers, known: Library
) -> Project:
    """The project with the rows of `over` (repeats allowed) changed by the offers of each."""
    frame, _ = _said(project, over, rows, ways, offers, known)
    if over == "parts":
        return replace(project, parts=frame, joints=project.joints.iloc[:0])
    return replace(project, joints=frame)


def _said(
    project: Project, over: Over, rows: np.ndarray, ways: Sequence[tuple[int, ...]], offers: Offers, known: Library
) -> tuple[pd.DataFrame, Told]:
    """The changed rows, blanks taken anew, and which facts the changes say."""
    frame = picked(project.parts if over == "parts" else project.joints, rows)
    said: Told = {}
    new: dict[str, Any] = {}
    for column, pick in _picks(ways, offers).items():
        for told, facts in _told_by(column, pick, over, offers, known):
            new |= mixed(frame, new, offers.frame, np.where(told, pick, -1), facts)
            said |= {fact: told | said.get(fact, False) for fact in facts}
    return refilled(frame.assign(**new), picked(project.blank[over], rows), said, over, known), said


def _picks(ways: Sequence[tuple[int, ...]], offers: Offers) -> dict[str, np.ndarray]:
    """For each column that the ways change: the offer that each way takes there, -1 for none."""
    at = places(at for way in ways for at in way)
    owner = np.repeat(np.arange(len(ways)), [len(way) for way in ways])
    out: dict[str, np.ndarray] = {}
    for column in dict.fromkeys(offers.column[at]):
        here = offers.column[at] == column
        out[column] = np.full(len(ways), -1)
        out[column][owner[here]] = at[here]
    return out


def _told_by(
    column: str, pick: np.ndarray, over: Over, offers: Offers, known: Library
) -> Iterator[tuple[np.ndarray, tuple[str, ...]]]:
    """Where the picked offers of a column tell some facts, and which."""
    for name in WITH.get(column, (column,)):
        told = _picked(offers.told(name), pick)
        if told.any():
            yield told, facts_of(over, name, known)
    for name in facts_also(over, column, known):
        yield _picked(tells(offers.frame, name), pick), (name,)


def _picked(mask: np.ndarray, pick: np.ndarray) -> np.ndarray:
    """The mask of the offers at those picked; False where none is (-1)."""
    return np.append(mask, False)[pick]


def applied(project: Project, ways: Sequence[Way], offers: Offers, known: Library) -> Project:
    """The project with the changes of the ways in place, each row once; the other list as it was."""
    if not ways:
        return project
    over = ways[0].over
    by_row = {way.row: way.offers for way in ways}
    blank = project.blank[over]
    every = [by_row.get(row, ()) for row in range(len(blank))]
    frame, said = _said(project, over, np.arange(len(blank)), every, offers, known)
    left = blank.assign(**{fact: blank[fact] & ~told for fact, told in said.items() if fact in blank})
    made = replace(project, blank=project.blank | {over: left})
    return replace(made, parts=frame) if over == "parts" else replace(made, joints=frame)
