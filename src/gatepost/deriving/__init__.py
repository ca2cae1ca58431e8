"""Facts from parts: columns are added, rows never."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from ..encode import FrameColumns, JointColumns
from ..library import Library, library
from ..project import Project
from .engine import Making

__all__ = ["Facts", "derive"]


@dataclass(frozen=True)
class Facts:
    """The facts of a project: one wide frame each for parts, joints and the project (one row)."""

    project: Project
    parts: pd.DataFrame
    joints: pd.DataFrame
    whole: pd.DataFrame
    library: Library

    def encoded(self) -> tuple[FrameColumns, JointColumns, FrameColumns]:
        """The three frames as the judge reads them."""
        return _encoded(self.library, self.parts, self.joints, self.whole)


def derive(project: Project, knowledge: Library | None = None) -> Facts:
    """Add every derived fact to the parts, the joints and the project.

    project    what `read` delivers
    knowledge  the library, by default the one that came with the package
    """
    known = knowledge or library()
    parts, joints, whole = _encoded(known, project.parts, project.joints, project.whole)
    making = Making(known, {"parts": parts, "joints": joints, "project": whole}, {"climate": project.climate})
    making.run()
    return Facts(project, making.frame("parts"), making.frame("joints"), making.frame("project"), known)


def _encoded(
    known: Library, parts: pd.DataFrame, joints: pd.DataFrame, whole: pd.DataFrame
) -> tuple[FrameColumns, JointColumns, FrameColumns]:
    project_columns = FrameColumns("project", known.register, whole)
    part_columns = FrameColumns("parts", known.register, parts, project_columns)
    return part_columns, JointColumns(known.register, joints, part_columns, project_columns), project_columns
