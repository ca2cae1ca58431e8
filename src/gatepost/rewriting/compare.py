"""A project before and after its cells were changed: what differs beyond the changes, and what did not come through."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pandas as pd

from ..library import UNKNOWN, Library, Over
from ..project import Project
from ..reading.cells import read_cell
from ..reading.sizes import Context
from .plan import Change, same

SINGLE = ("size", "number", "whole", "word", "words")
"""Kinds of columns whose own fact is told by nothing that beats them."""
REMARKS = ("unlisted_count", "unlisted_words", "contradiction_count", "contradictions")
SETTLED = ("treatment_kind", "preservative", "treatment_mark", "finish_coats", "finish_primer")
"""Facts that the reading settles by one another."""


def differences(old: Project, new: Project, changes: Sequence[Change], known: Library) -> list[str]:
    """What is not as it must be, a sentence each; nothing when only the changed cells say something else."""
    out = [f"{name} of the project" for name in _settings_that_differ(old, new)]
    frames: tuple[tuple[Over, pd.DataFrame, pd.DataFrame], ...] = (
        ("parts", old.parts, new.parts),
        ("joints", old.joints, new.joints),
    )
    for over, before, after in frames:
        mine = [change for change in changes if change.over == over]
        if len(before) != len(after):
            out.append(f"{len(after)} {over} instead of {len(before)}")
            continue
        out += _strayed(over, before, after, _may_differ(over, old, new, mine, known))
        out += [told for change in mine if (told := _not_said(change, after, new, known))]
    return out


def _settings_that_differ(old: Project, new: Project) -> list[str]:
    names = ("name", "scheme", "units", "counts", "accepted", "rule_files")
    out = [name for name in names if getattr(old, name) != getattr(new, name)]
    return out + [str(name) for name in old.whole if not same(old.whole[name].iat[0], new.whole[name].iat[0])]


def _may_differ(
    over: Over, old: Project, new: Project, changes: Sequence[Change], known: Library
) -> dict[int, set[str]]:
    """For each changed row the facts that may say something else: those of the cell, and blanks filled by them."""
    out: dict[int, set[str]] = {}
    for change in changes:
        column = known.register.written[over][change.column]
        mine = out.setdefault(change.row, {*REMARKS, *(SETTLED if over == "parts" else ())})
        mine |= {*_told_by(change, new, known), *column.reads, *([column.word_column] if column.word_column else [])}
        mine |= {name for name, fact in known.register.facts[over].items() if change.column in fact.origins}
    for project in (old, new):
        told = project.assumed[over]
        for row, name in zip(told["row"], told["column"], strict=True):
            if row in out:
                out[row].add(name)
    return out


def _told_by(change: Change, project: Project, known: Library) -> dict[str, Any]:
    """The facts that the text of a change tells."""
    column = known.register.written[change.over][change.column]
    return {column.name: None, **read_cell(change.value, column, known, Context(project.units, project.scheme)).sets}


def _strayed(over: Over, before: pd.DataFrame, after: pd.DataFrame, may: dict[int, set[str]]) -> list[str]:
    out = []
    for name in before:
        pairs = zip(before[name].to_numpy(object), after[name].to_numpy(object), strict=True)
        out += [
            f"{over} row {row + 1}: {name} is {new} and was {old}"
            for row, (old, new) in enumerate(pairs)
            if not same(old, new) and name not in may.get(row, ())
        ]
    return out


def _not_said(change: Change, after: pd.DataFrame, project: Project, known: Library) -> str | None:
    """A changed cell whose own fact reads otherwise, for another cell beats it."""
    column = known.register.written[change.over][change.column]
    if column.kind not in SINGLE:
        return None
    meant = _told_by(change, project, known).get(column.name)
    found = after[column.name].iat[change.row]
    if meant in (None, UNKNOWN) or same(meant, found):
        return None
    return f"{change.over} row {change.row + 1}: {change.column} is {found}, and {change.value} was to be written"
