"""The project with everything of rank 1 in place, and why a material is or is not among the choices of a part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..deriving import Facts, derive
from ..errors import InputError, Problem
from ..judging import Compiled
from ..project import Project
from ..reading.choices import choices_frame
from .changes import Cells, Change
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


def first_changes(made: Chosen, facts: Facts) -> list[Change]:
    """The cells of the lists that ways out and choices of rank 1 write; what a choice says stands for what a way said."""
    cells, ways = Cells(facts), made.ways
    found: dict[tuple[str, int, str], Change] = {}
    for mine, offers in ((ways.parts, ways.part_offers), (ways.joints, ways.joint_offers)):
        for way in mine:
            found |= {_key(one): one for one in cells.changes(way.over, way.row, way.offers, offers)}
    for row, ranked in made.ranked.items():
        option = ranked.options[made.taken[row]]
        found |= {
            _key(one): one for one in cells.changes("parts", row, option, ways.part_offers, _said(found, "parts", row))
        }
    for row, (option, _) in made.joints.items():
        found |= {
            _key(one): one
            for one in cells.changes("joints", row, option, ways.joint_offers, _said(found, "joints", row))
        }
    return list(found.values())


def _key(one: Change) -> tuple[str, int, str]:
    return one.over, one.row, one.column


def _said(found: dict[tuple[str, int, str], Change], over: str, row: int) -> set[str]:
    """Columns that the way out of a row writes."""
    return {column for where, at, column in found if (where, at) == (over, row)}
