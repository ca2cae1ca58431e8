"""Findings: where a rule holds, and where it waits for a fact. Numbers only; text is made last."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..clauses import Masks
from ..encode import FrameColumns, JointColumns
from ..library import Over
from .rules import SEVERITIES, Compiled


@dataclass(frozen=True)
class Judgement:
    """What the judge found.

    found     rule (number in `rules`), over, row, explained_by (rule number or -1); worst first
    waiting   rule, over, row, column: a rule that no clause denies and that this unknown column keeps undecided
    """

    rules: Sequence[Compiled]
    found: pd.DataFrame
    waiting: pd.DataFrame


def judge(
    parts: FrameColumns, joints: JointColumns, project: FrameColumns, rules: Sequence[Compiled], scheme: str
) -> Judgement:
    """Ask every rule of the scheme about every row.

    parts, joints, project   encoded columns of the facts
    rules                    compiled rules; those of the other scheme stay silent
    scheme                   us or eu
    """
    tables: dict[Over, FrameColumns] = {"parts": parts, "joints": joints, "project": project}
    asked: dict[tuple[Over, str], Masks] = {}
    found, waiting = [], []
    for number, one in enumerate(rules):
        if one.rule.scheme not in (scheme, "both"):
            continue
        table = tables[one.rule.over]
        yes, no = _ask(one, table, asked)
        found.append((number, one.rule.over, np.flatnonzero(yes)))
        waits = np.flatnonzero(~yes & ~no)
        if len(waits):
            waiting += [(number, one.rule.over, name, rows) for name, rows in _unknown(one, table, asked, waits)]
    frame = _explained(_stacked(found, rules), rules, joints)
    return Judgement(rules, frame, _waiting_frame(waiting))


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


def _unknown(
    one: Compiled, table: FrameColumns, asked: dict[tuple[Over, str], Masks], rows: np.ndarray
) -> list[tuple[str, np.ndarray]]:
    """Which unknown columns keep the rule waiting, and in which of `rows`."""
    out: dict[str, np.ndarray] = {}
    for clause in one.clauses:
        yes, no = asked[(one.rule.over, clause.text)]
        open_rows = rows[~(np.broadcast_to(yes | no, len(table.frame))[rows])]
        for name in clause.columns if len(open_rows) else ():
            missing = open_rows[_is_unknown(np.broadcast_to(table.get(name), len(table.frame))[open_rows], name, table)]
            if len(missing):
                out[name] = np.union1d(out[name], missing) if name in out else missing
    return list(out.items())


def _is_unknown(values: np.ndarray, name: str, table: FrameColumns) -> np.ndarray:
    column = table.register.find(table.over, name)
    assert column is not None
    if column.is_number:
        return np.isnan(values)
    return values == 0 if column.kind == "words" else values < 0


def _stacked(found: list[tuple[int, Over, np.ndarray]], rules: Sequence[Compiled]) -> pd.DataFrame:
    """Findings as one frame, worst first, then in the order of the rows."""
    rule = np.concatenate([np.full(len(rows), number) for number, _, rows in found] or [np.array([], int)]).astype(int)
    row = np.concatenate([rows for _, _, rows in found] or [np.array([], int)]).astype(int)
    grave = np.array([SEVERITIES.index(one.rule.severity) for one in rules] or [0])
    place = np.array([("parts", "joints", "project").index(one.rule.over) for one in rules] or [0])
    order = np.lexsort((rule, row, place[rule], grave[rule]))
    over = np.array([*(one.rule.over for one in rules), None], object)
    return pd.DataFrame({"rule": rule[order], "over": over[rule[order]], "row": row[order]})


def _explained(found: pd.DataFrame, rules: Sequence[Compiled], joints: JointColumns) -> pd.DataFrame:
    """Add explained_by: the rule of the same row, or of one of the joint's parts, that accounts for a finding."""
    number_of = {one.rule.rule: i for i, one in enumerate(rules)}
    by_rule = {rule: set(zip(rows["over"], rows["row"], strict=True)) for rule, rows in found.groupby("rule")}
    explained = np.full(len(found), -1)
    for number, places in by_rule.items():
        for name in rules[int(number)].rule.explains:
            other = number_of[name]
            for at in np.flatnonzero(found["rule"].to_numpy() == other):
                if _touches(found["over"].iat[at], int(found["row"].iat[at]), places, joints.frame):
                    explained[at] = number
    return found.assign(explained_by=explained)


def _touches(over: str, row: int, places: set[tuple[str, int]], joints: pd.DataFrame) -> bool:
    if (over, row) in places or ("project", 0) in places:
        return True
    if over == "joints":
        return any(("parts", int(joints[f"{side}_row"].iat[row])) in places for side in "ab")
    rows = [r for o, r in places if o == "joints"]
    return over == "parts" and any(row in (joints["a_row"].iat[r], joints["b_row"].iat[r]) for r in rows)


def _waiting_frame(waiting: list[tuple[int, Over, str, np.ndarray]]) -> pd.DataFrame:
    rows = [(rule, over, int(row), name) for rule, over, name, where in waiting for row in where]
    return pd.DataFrame(rows, columns=["rule", "over", "row", "column"])
