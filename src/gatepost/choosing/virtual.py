"""Virtual rows: joints of a project repeated with some of their cells changed, derived and judged like any other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from ..deriving import Facts, derive
from ..encode import typed
from ..judging import Compiled, judge
from ..library import Library
from ..project import Project

GRAVE = ("stop", "fix")


def with_joints(project: Project, rows: np.ndarray, changes: Mapping[str, Sequence[Any]], known: Library) -> Project:
    """The project with the joints of `rows` (repeats allowed), cells of the named facts replaced.

    changes  fact name to one plain value a row; None is unknown
    """
    frame = project.joints.iloc[rows].reset_index(drop=True)
    facts = known.register.facts["joints"]
    new = {name: typed(facts[name], values) for name, values in changes.items()}
    return replace(project, joints=frame.assign(**new))


@dataclass(frozen=True)
class Verdicts:
    """Facts of the virtual rows, and for each the rules that reject it: a stop or a fix that holds or waits."""

    facts: Facts
    rejected_by: list[frozenset[int]]


def verdicts(project: Project, rules: Sequence[Compiled], known: Library) -> Verdicts:
    """Derive and judge the joints of a (virtual) project; rules of parts and of the project are not asked."""
    asked = [one for one in rules if one.rule.over == "joints" and one.rule.severity in GRAVE]
    facts = derive(project, known)
    judged = judge(*facts.encoded, asked, project.scheme)
    against: list[set[int]] = [set() for _ in range(len(facts.joints))]
    both = pd.concat([judged.found[["rule", "row"]], judged.waiting[["rule", "row"]]])
    for rule, row in both.drop_duplicates().itertuples(index=False):
        against[row].add(list(rules).index(asked[rule]))
    return Verdicts(facts, [frozenset(one) for one in against])
