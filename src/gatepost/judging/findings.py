"""Findings: where a rule holds, and where it waits for a fact. Numbers only; text is made last."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..clauses import Clause, Masks
from ..encode import FrameColumns, JointColumns, is_unknown
from ..library import Column, Over
from .rules import SEVERITIES, Compiled

BLOCK = 131_072
"""Rows judged at once."""


@dataclass(frozen=True)
class Judgement:
    """What the judge found.

    found     rule (number in `rules`), over, row, explained_by (rule number or -1); worst first
    waits     by rule number and unknown column: rows where no clause denies the rule and the column keeps it undecided
    """

    rules: Sequence[Compiled]
    found: pd.DataFrame
    waits: Mapping[tuple[int, str], np.ndarray]

    @property
    def waiting(self) -> pd.DataFrame:
        """`waits` as a frame of rule, over, row, column."""
        lengths = [len(rows) for rows in self.waits.values()]
        rule = np.array([number for number, _ in self.waits], int)
        return pd.DataFrame(
            {
                "rule": np.repeat(rule, lengths),
                "over": np.repeat(np.array([self.rules[number].rule.over for number in rule], object), lengths),
                "row": np.concatenate([np.array([], int), *self.waits.values()]),
                "column": np.repeat(np.array([name for _, name in self.waits], object), lengths),
            }
        )


def judge(
    parts: FrameColumns,
    joints: JointColumns,
    project: FrameColumns,
    rules: Sequence[Compiled],
    scheme: str,
    speak: np.ndarray | None = None,
) -> Judgement:
    """Ask every rule of the scheme about every row.

    parts, joints, project   encoded columns of the facts
    rules                    compiled rules; those of the other scheme stay silent
    scheme                   us or eu
    speak                    which rules are asked, as a mask; by default all
    """
    tables: dict[Over, FrameColumns] = {"parts": parts, "joints": joints, "project": project}
    asked = (
        enumerate(rules) if speak is None else ((number, rules[number]) for number in np.flatnonzero(speak).tolist())
    )
    spoken = [(number, one) for number, one in asked if one.rule.scheme in (scheme, "both")]
    found: list[tuple[int, Over, np.ndarray]] = []
    waiting: dict[tuple[int, str], list[np.ndarray]] = {}
    for over, table in tables.items():
        own = [(number, one) for number, one in spoken if one.rule.over == over]
        for start in range(0, len(table.frame), BLOCK):
            _judge_block(_Block(table, start), own, found, waiting)
    frame = _explained(_stacked(found, rules), rules, joints)
    return Judgement(rules, frame, _in_order(waiting, rules))


class _Block:
    """Some rows of a table as clauses read them; few enough that their masks stay near the processor."""

    def __init__(self, table: FrameColumns, start: int) -> None:
        self.table, self.start = table, start
        self.count = min(BLOCK, len(table.frame) - start)
        self.asked: dict[str, Masks] = {}
        self._kept: dict[str, np.ndarray] = {}
        self._unknown: dict[str, np.ndarray] = {}
        self._undecided: dict[str, np.ndarray | None] = {}

    def get(self, name: str) -> np.ndarray:
        """The encoded column in these rows; a column of the project has one value for all."""
        if name not in self._kept:
            values = self.table.get(name)
            part = values[self.start : self.start + self.count] if len(values) == len(self.table.frame) else values
            self._kept[name] = part.astype(np.int16) if _is_code(self.column(name)) else part
        return self._kept[name]

    def column(self, name: str) -> Column:
        """The register's entry for a column that a clause names."""
        column = self.table.register.find(self.table.over, name)
        assert column is not None
        return column

    def masks(self, clause: Clause) -> Masks:
        """Equal clauses are asked once for all rules."""
        if clause.text not in self.asked:
            self.asked[clause.text] = clause.ask(self)
        return self.asked[clause.text]

    def undecided(self, clause: Clause) -> np.ndarray | None:
        """Where a clause is neither true nor false, as a mask; None where it is decided in every row."""
        if clause.text not in self._undecided:
            yes, no = self.masks(clause)
            mask = ~(yes | no)
            self._undecided[clause.text] = mask if mask.any() else None
        return self._undecided[clause.text]

    def unknown(self, name: str) -> np.ndarray:
        """Where a column is unknown, as a mask."""
        if name not in self._unknown:
            self._unknown[name] = is_unknown(self.column(name), self.get(name))
        return self._unknown[name]


def _is_code(column: Column) -> bool:
    return not column.is_number and column.kind != "words"


def _judge_block(
    block: _Block,
    rules: list[tuple[int, Compiled]],
    found: list[tuple[int, Over, np.ndarray]],
    waiting: dict[tuple[int, str], list[np.ndarray]],
) -> None:
    """Add where rules hold in a block of rows, and what keeps them waiting there."""
    for number, one in rules:
        yes, no = np.ones(block.count, bool), np.zeros(block.count, bool)
        for clause in one.clauses:
            holds, denied = block.masks(clause)
            yes &= holds
            no |= denied
            if no.all():
                break
        else:
            found.append((number, one.rule.over, yes.nonzero()[0] + block.start))
            waits = ~(yes | no)
            for name, rows in _unknown(one, block, waits) if waits.any() else ():
                waiting.setdefault((number, name), []).append(rows + block.start)


def verdict(
    parts: FrameColumns, joints: JointColumns, project: FrameColumns, rules: Sequence[Compiled], over: Over
) -> tuple[np.ndarray, np.ndarray]:
    """Where each rule holds, and where it is undecided: two masks, rows of `over` by rules; all schemes are asked."""
    tables: dict[Over, FrameColumns] = {"parts": parts, "joints": joints, "project": project}
    asked: dict[tuple[Over, str], Masks] = {}
    masks = [_ask(one, tables[over], asked) for one in rules]
    shape = (len(tables[over].frame), 0)
    holds = np.column_stack([yes for yes, _ in masks]) if masks else np.zeros(shape, bool)
    denied = np.column_stack([no for _, no in masks]) if masks else np.zeros(shape, bool)
    return holds, ~holds & ~denied


def _ask(one: Compiled, table: FrameColumns, asked: dict[tuple[Over, str], Masks]) -> Masks:
    """Masks of the whole rule; equal clauses are asked once for all rules."""
    count = len(table.frame)
    yes, no = np.ones(count, bool), np.zeros(count, bool)
    for clause in one.clauses:
        key = (one.rule.over, clause.text)
        if key not in asked:
            asked[key] = clause.ask(table)
        yes &= asked[key][0]
        no |= asked[key][1]
    return yes, no


def _unknown(one: Compiled, block: _Block, waits: np.ndarray) -> list[tuple[str, np.ndarray]]:
    """Which unknown columns keep the rule waiting where `waits` is true, and in which rows."""
    out: dict[str, np.ndarray] = {}
    for clause in one.clauses:
        undecided = block.undecided(clause)
        for name in () if undecided is None else clause.columns:
            missing = waits & undecided & block.unknown(name)
            out[name] = out[name] | missing if name in out else missing
    return [(name, rows) for name, mask in out.items() if len(rows := mask.nonzero()[0])]


def _stacked(found: list[tuple[int, Over, np.ndarray]], rules: Sequence[Compiled]) -> pd.DataFrame:
    """Findings as one frame, worst first, then in the order of the rows."""
    rule = np.concatenate([np.array([], int), *(np.full(len(rows), number) for number, _, rows in found)])
    row = np.concatenate([np.array([], int), *(rows for _, _, rows in found)])
    grave = np.array([SEVERITIES.index(one.rule.severity) for one in rules], int)
    place = np.array([("parts", "joints", "project").index(one.rule.over) for one in rules], int)
    order = np.lexsort((rule, row, place[rule], grave[rule]))
    over = np.array([one.rule.over for one in rules], object)
    return pd.DataFrame({"rule": rule[order], "over": over[rule[order]], "row": row[order]})


def _explained(found: pd.DataFrame, rules: Sequence[Compiled], joints: JointColumns) -> pd.DataFrame:
    """Add explained_by: the rule of the same row, or of one of the joint's parts, that accounts for a finding."""
    number_of = {one.rule.rule: i for i, one in enumerate(rules)}
    explained = np.full(len(found), -1)
    rule, row = found["rule"].to_numpy(), found["row"].to_numpy()
    present = np.flatnonzero(np.bincount(rule, minlength=len(rules))).tolist()
    for number in present:
        accounted = {number_of[name] for name in rules[number].rule.explains if name in number_of}
        for other in sorted(accounted & set(present)):
            at = np.flatnonzero(rule == other)
            overs = rules[number].rule.over, rules[other].rule.over
            explained[at[_touches(*overs, row[rule == number], row[at], joints.frame)]] = number
    return found.assign(explained_by=explained)


def _touches(over: Over, other: Over, places: np.ndarray, rows: np.ndarray, joints: pd.DataFrame) -> np.ndarray:
    """Which `rows` of `other` are touched by a rule of `over` that holds in `places`: its own, a joint's parts, all by the project."""
    if over == "project":
        return np.ones(len(rows), bool)
    if over == other:
        return _among(rows, places)
    if other == "project":
        return np.zeros(len(rows), bool)
    parts = [joints[f"{side}_row"].to_numpy() for side in "ab"]
    if over == "parts":
        return _among(parts[0][rows], places) | _among(parts[1][rows], places)
    return _among(rows, np.concatenate([side[places] for side in parts]))


def _among(rows: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Which rows are among the places; -1, a row on no list, is not."""
    here = np.zeros(max(rows.max(initial=0), places.max(initial=0)) + 2, bool)
    here[places] = True
    here[-1] = False
    return here[rows]


def _in_order(
    waiting: dict[tuple[int, str], list[np.ndarray]], rules: Sequence[Compiled]
) -> dict[tuple[int, str], np.ndarray]:
    """What waits in the order of the rules, their columns and the rows."""
    keys = sorted(waiting, key=lambda key: (key[0], rules[key[0]].columns.index(key[1])))
    return {key: np.concatenate(waiting[key]) for key in keys}
