"""The project with everything of rank 1 in place, and why a material is or is not among the choices of a part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..deriving import Facts, derive
from ..judging import Compiled
from ..project import Project
from ..reading.shelf import named_whole
from ..reading.sizes import Context
from .changes import Cells, Change
from .choose import Chosen
from .group import AS_IT_IS, Option
from .offers import Offers, material_offer
from .virtual import judged
from .way_out import changed

MATERIAL_FACTS = ("product", "species", "wood_part", "treatment_kind", "preservative", "treatment_mark", "grade")
"""Facts by which two materials are the same to a buyer."""


def settled(made: Chosen) -> Project:
    """The project with ways out and the choices of rank 1 applied, as virtual cells."""
    base = made.ways.after
    known, project = base.library, base.project
    options = [made.ranked.get(row, AS_IT_IS).options[made.taken[row]] for row in range(len(base.parts))]
    parts = changed(project, "parts", np.arange(len(base.parts)), options, made.ways.part_offers, known).parts
    ways = [made.joints[row][0] if row in made.joints else () for row in range(len(base.joints))]
    joints = changed(project, "joints", np.arange(len(base.joints)), ways, made.ways.joint_offers, known).joints
    return replace(project, parts=parts, joints=joints)


@dataclass(frozen=True)
class Why:
    """Why a material is not offered, or where it stands.

    rules   that the part breaks in it; joints  that break a rule beside it, with the rules; none of both: it passes
    option  of the part, the first in its ranking that takes this very material; None where none was tried
    """

    rules: tuple[str, ...]
    joints: tuple[tuple[str, tuple[str, ...]], ...]
    option: Option | None


def why(made: Chosen, rules: Sequence[Compiled], row: int, text: str) -> Why:
    """Put the material into the part, leave the rest as chosen, and ask the judge.

    Raises InputError where the text names no wood or panel whole that the tables know.
    """
    base = made.ways.after
    known, project = base.library, settled(made)
    offer = material_offer(
        named_whole(text, "--why", known, Context(project.units, project.scheme)), base.project, known
    )
    options: list[Option] = [(0,) if at == row else () for at in range(len(project.parts))]
    parts = changed(project, "parts", np.arange(len(project.parts)), options, offer, known).parts
    facts = derive(replace(project, parts=parts), known, base.made["project"])
    mine, theirs = judged(facts, "parts", rules), judged(facts, "joints", rules)
    bad = theirs.beyond(judged(base, "joints", rules)).bad
    ends = facts.joints[["a_row", "b_row"]].to_numpy()
    broken = []
    for joint in np.flatnonzero((ends == row).any(axis=1)):
        names = tuple(rules[number].rule.rule for number in theirs.numbers[bad[joint]])
        if names:
            broken.append((str(facts.joints["joint"].iat[joint]), names))
    own = tuple(rules[number].rule.rule for number in mine.numbers[mine.bad[row]])
    return Why(own, tuple(broken), _same_material(made, row, offer))


def _same_material(made: Chosen, row: int, offer: Offers) -> Option | None:
    """The first option of the part whose material reads as the offer does."""
    if row not in made.ranked:
        return None
    offers = made.ways.part_offers
    facts = [name for name in MATERIAL_FACTS if offer.frame[name].notna().iat[0]]
    same = (offers.frame[facts].astype(object) == offer.frame[facts].astype(object).iloc[0]).all(axis=1).to_numpy()
    options = made.ranked[row].options
    order = [options[place] for place in [made.taken[row], *made.others[row]]]
    return next((option for option in order if any(same[at] and offers.sort[at] for at in option)), None)


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
