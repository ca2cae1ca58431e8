"""Facts from parts: columns are added, rows never."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import pandas as pd

from ..encode import FrameColumns, JointColumns
from ..library import OVERS, Library, Over, library
from ..project import Project, named
from .engine import Making, Node

__all__ = ["Facts", "Node", "Tables", "derive", "derive_only"]

Whole = Mapping[str, np.ndarray]
Tables = tuple[FrameColumns, JointColumns, FrameColumns]


@dataclass(frozen=True)
class Facts:
    """The facts of a project: one wide frame each for parts, joints and the project (one row)."""

    project: Project
    parts: pd.DataFrame
    joints: pd.DataFrame
    whole: pd.DataFrame
    library: Library
    made: dict[Over, dict[str, np.ndarray]] = field(default_factory=dict, repr=False)

    @cached_property
    def names(self) -> Mapping[Over, list[str]]:
        """Names of the parts, the joints and the project; of a row without one its number."""
        parts, joints = (
            named(names, np.arange(len(names))).tolist() for names in (self.parts["part"], self.joints["joint"])
        )
        return {"parts": parts, "joints": joints, "project": [self.project.name]}

    @cached_property
    def encoded(self) -> Tables:
        """The three frames as the judge reads them; what derive has encoded already is not encoded again."""
        tables = _encoded(self.library, self.parts, self.joints, self.whole)
        for table in tables:
            table.keep(self.made.get(table.over, {}))
        return tables


def derive(project: Project, knowledge: Library | None = None, whole: Whole | None = None) -> Facts:
    """Add every derived fact to the parts, the joints and the project.

    project    what `read` delivers
    knowledge  the library, by default the one that came with the package
    whole      facts of the project that stand as they are, for rows that are not the whole of it
    """
    known = knowledge or library()
    tables = _encoded(known, project.parts, project.joints, project.whole)
    making = Making(known, *tables, {"climate": project.climate}, _standing(whole, known))
    making.run()
    parts, joints, whole = (making.frame(over) for over in OVERS)
    return Facts(project, parts, joints, whole, known, making.encoded())


def derive_only(project: Project, wanted: frozenset[Node], known: Library, whole: Whole | None = None) -> Tables:
    """The encoded columns of a project with the wanted facts and what they rest on; no frames. `whole` as for `derive`."""
    tables = _encoded(known, project.parts, project.joints, project.whole)
    making = Making(known, *tables, {"climate": project.climate}, _standing(whole, known))
    making.run(wanted)
    for over, values in making.encoded().items():
        tables[OVERS.index(over)].keep(values)
    return tables


def _standing(whole: Whole | None, known: Library) -> dict[Node, np.ndarray]:
    facts = known.register.facts["project"]
    return {("project", name): values for name, values in (whole or {}).items() if facts[name].derived}


def _encoded(known: Library, parts: pd.DataFrame, joints: pd.DataFrame, whole: pd.DataFrame) -> Tables:
    project_columns = FrameColumns("project", known.register, whole)
    part_columns = FrameColumns("parts", known.register, parts, project_columns)
    return part_columns, JointColumns(known.register, joints, part_columns, project_columns), project_columns
