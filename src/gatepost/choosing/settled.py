"""The project with everything of rank 1 in place, and why a material is or is not among the choices of a part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..deriving import derive
from ..errors import InputError, Problem
from ..judging import Compiled
from ..project import Project
from ..reading.choices import choices_frame
from .choose import Chosen, Option
from .offers import facts_changed
from .virtual import judged, taken
from .way_out import changed


def settled(made: Chosen) -> Project:
    """The project with ways out and the choices of rank 1 applied, as virtual cells."""
    base = made.ways.after
    known, project = base.library, base.project
    options: list[Option] = [
        made.ranked[row].options[made.taken[row]] if row in made.ranked else () for row in range(len(base.parts))
    ]
    parts = changed(project, "parts", np.arange(len(base.parts)), options, made.ways.part_offers, known).parts
    ways = [made.joints[row][0] if row in made.joints else () for row in range(len(base.joints))]
    joints = changed(project, "joints", np.arange(len(base.joints)), ways, made.ways.joint_offers, known).joints
    return replace(project, parts=parts, joints=joints)


@dataclass(frozen=True)
class Why:
    """Why a material is not offered: rules that its part breaks, and joints with the rules that they break; none passes."""

    rules: tuple[str, ...]
    joints: tuple[tuple[str, tuple[str, ...]], ...]


def why(made: Chosen, rules: Sequence[Compiled], row: int, text: str) -> Why:
    """Put the material into the part, leave the rest as chosen, and ask the judge.

    Raises InputError where the text names no wood or panel that the tables know.
    """
    base = made.ways.after
    known, project = base.library, settled(made)
    offer = choices_frame(["material"], [[text]], "parts", project.scheme, project.units, known)
    if offer["species"].isna().all() and (offer["product"] == "lumber").all():
        told = offer["unlisted_words"].iat[0]
        raise InputError([Problem("--why", None, None, told or f"{text} names no wood or panel of the tables")])
    at = np.where(np.arange(len(project.parts)) == row, 0, -1)
    parts = taken(project.parts, offer, at, facts_changed("parts", "material", known))
    facts = derive(replace(project, parts=parts), known)
    mine = judged(facts, "parts", rules)
    theirs = judged(facts, "joints", rules)
    ends = facts.joints[["a_row", "b_row"]].to_numpy()
    broken = []
    for joint in np.flatnonzero((ends == row).any(axis=1)):
        names = tuple(rules[number].rule.rule for number in theirs.numbers[theirs.bad[joint]])
        if names:
            broken.append((str(facts.joints["joint"].iat[joint]), names))
    own = tuple(rules[number].rule.rule for number in mine.numbers[mine.bad[row]])
    return Why(own, tuple(broken))
