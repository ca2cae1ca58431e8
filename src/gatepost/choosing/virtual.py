"""Virtual rows: rows of a project repeated with some of their cells changed, derived and judged like any other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from ..deriving import Facts, Tables, derive_only
from ..deriving.engine import resolve
from ..encode import typed
from ..frames import picked, places, rows_with_any, stacked
from ..judging import Compiled, verdict
from ..library import Library, Over
from ..project import Project

GRAVE = ("stop", "fix")


def with_joints(project: Project, rows: np.ndarray, changes: Mapping[str, Sequence[Any]], known: Library) -> Project:
    """The project with the joints of `rows` (repeats allowed), cells of the named facts replaced.

    changes  fact name to one plain value a row; None is unknown
    """
    facts = known.register.facts["joints"]
    new = {name: typed(facts[name], values) for name, values in changes.items()}
    return replace(project, joints=picked(project.joints, rows).assign(**new))


def with_part(project: Project, row: int, choice: pd.DataFrame, names: Sequence[str], assumed: pd.DataFrame) -> Project:
    """The whole project with the named facts of one part taken from a choice (one row), and what that assumes.

    assumed  what was taken for blanks in the choice: row, column, value, kind
    """
    rows = np.where(np.arange(len(project.parts)) == row, 0, -1)
    old, new = project.assumed["parts"], assumed[assumed["column"].isin(names)].assign(row=row)
    kept = old[~((old["row"] == row) & old["column"].isin(names))]
    both = stacked([frame for frame in (kept, new) if len(frame)] or [kept])
    return replace(project, parts=taken(project.parts, choice, rows, names), assumed=project.assumed | {"parts": both})


def taken(base: pd.DataFrame, offers: pd.DataFrame, rows: np.ndarray, names: Sequence[str]) -> pd.DataFrame:
    """The frame with the named columns taken from the offers of `rows`, one a row of the frame; -1 keeps the cell."""
    return base.assign(**mixed(base, {}, offers, rows, names))


def mixed(
    base: pd.DataFrame, new: Mapping[str, Any], offers: pd.DataFrame, rows: np.ndarray, names: Sequence[str]
) -> dict[str, Any]:
    """The named columns of `taken`; a column that is in `new` already counts as it stands there."""
    use = rows >= 0
    if not use.any():
        return {}
    return {
        name: _mixed(pd.Series(new[name]) if name in new else base[name], offers[name], rows, use) for name in names
    }


def _mixed(base: pd.Series, offer: pd.Series, rows: np.ndarray, use: np.ndarray) -> Any:
    if isinstance(base.dtype, pd.CategoricalDtype):
        codes = np.where(use, offer.array.codes[rows], base.array.codes)
        return pd.Categorical.from_codes(codes, dtype=base.dtype, validate=False)
    return np.where(use, offer.to_numpy()[rows], base.to_numpy())


@dataclass(frozen=True)
class Verdicts:
    """Rows by rules: where a grave rule holds and where it waits for a fact; `numbers` are the places of the rules."""

    numbers: np.ndarray
    holds: np.ndarray
    waits: np.ndarray

    @property
    def bad(self) -> np.ndarray:
        """Where a rule speaks against a choice: it holds or waits."""
        return self.holds | self.waits

    @property
    def failing(self) -> list[int]:
        """Rows in which a rule holds."""
        return np.flatnonzero(rows_with_any(self.holds)).tolist()

    def beyond(self, before: Verdicts, rows: np.ndarray | None = None) -> Verdicts:
        """What waited for a fact before waits on, and speaks against none; `rows` of `before` that these were made of."""
        waited = before.waits if rows is None else before.waits[rows]
        return Verdicts(self.numbers, self.holds, self.waits & ~waited)


def verdicts(project: Project, over: Over, rules: Sequence[Compiled], base: Facts) -> Verdicts:
    """Derive what the rules ask of a virtual project, and ask those over its parts or joints that stop or ask for a fix.

    base  the project that its rows come from: the facts of the whole stay those
    """
    known = base.library
    numbers = _grave(rules, over, project.scheme)
    wanted = frozenset(resolve(known.register, over, name) for number in numbers for name in rules[number].columns)
    return _verdicts(derive_only(project, wanted, known, base.made["project"]), over, rules, numbers)


def judged(facts: Facts, over: Over, rules: Sequence[Compiled]) -> Verdicts:
    """The same of facts that are derived already."""
    return _verdicts(facts.encoded, over, rules, _grave(rules, over, facts.project.scheme))


def _verdicts(tables: Tables, over: Over, rules: Sequence[Compiled], numbers: list[int]) -> Verdicts:
    holds, waits = verdict(*tables, [rules[number] for number in numbers], over)
    return Verdicts(places(numbers), holds, waits)


def _grave(rules: Sequence[Compiled], over: Over, scheme: str) -> list[int]:
    return [
        number
        for number, one in enumerate(rules)
        if one.rule.over == over and one.rule.severity in GRAVE and one.rule.scheme in (scheme, "both")
    ]
