"""Facts from parts: columns are added, rows never."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import pandas as pd

from ..encode import FrameColumns, JointColumns
from ..library import OVERS, Library, Over, library
from ..project import Project
from .engine import Making, Node

__all__ = ["Facts", "Node", "Tables", "derive", "derive_only"]

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
    def encoded(self) -> Tables:
        """The three frames as the judge reads them; what derive has encoded already is not encoded again."""
        tables = _encoded(self.library, self.parts, self.joints, self.whole)
        for table in tables:
            table.keep(self.made.get(table.over, {}))
        return tables


def derive(project: Project, knowledge: Library | None = None) -> Facts:
    """Add every derived fact to the parts, the joints and the project.

    project    what `read` delivers
    knowledge  the library, by default the one that came with the package
    """
    known = knowledge or library()
    tables = _encoded(known, project.parts, project.joints, project.whole)
    making = Making(known, *tables, {"climate": project.climate})
    making.run()
    parts, joints, whole = (making.frame(over) for over in OVERS)
    return Facts(project, parts, joints, whole, known, making.encoded())


def derive_only(project: Project, wanted: frozenset[Node], known: Library) -> Tables:
    """The encoded columns of a project with the wanted facts and what they rest on; no frames."""
    tables = _encoded(known, project.parts, project.joints, project.whole)
    making = Making(known, *tables, {"climate": project.climate})
    making.run(wanted)
    for over, values in making.encoded().items():
        tables[OVERS.index(over)].keep(values)
    return tables


def _encoded(known: Library, parts: pd.DataFrame, joints: pd.DataFrame, whole: pd.DataFrame) -> Tables:
    project_columns = FrameColumns("project", known.register, whole)
    part_columns = FrameColumns("parts", known.register, parts, project_columns)
    return part_columns, JointColumns(known.register, joints, part_columns, project_columns), project_columns
