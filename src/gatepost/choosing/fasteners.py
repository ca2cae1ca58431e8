"""The schedule of fasteners: for each joint the cheapest of what the trade sells that the judge does not reject."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from ..deriving import Facts, derive, derive_only
from ..deriving.reasons import Reasons
from ..encode import decode
from ..frames import number, plain, tells, words
from ..judging import Compiled
from ..project import Project
from .virtual import Verdicts, judged, with_joints

TAKEN = ("fastener_kind", "fastener_metal", "coating_kind")
SIZED = {
    "size_diameter_mm": "shank_mm",
    "size_length_mm": "fastener_length_mm",
    "count": "advised_count",
    "edge_found_mm": "edge_mm",
    "end_found_mm": "end_mm",
}
"""Cells of the joint, and the advice that is written into them before the judge is asked."""
MANY = 1000


@dataclass(frozen=True)
class Advice:
    """What to take for one joint.

    row         row of the joint
    at          row of the virtual facts; -1 where the joint takes no metal or its sort is not known
    because     why it takes none, or is not known
    avoid       kind, metal and coat that cost less, and the rule that rejects each
    still       rules that every choice breaks: not the fastener's fault
    blanks      unknown facts of the row, and the cells that would tell them
    """

    row: int
    at: int
    because: str
    avoid: tuple[tuple[tuple[str, ...], str], ...] = ()
    still: tuple[str, ...] = ()
    blanks: dict[str, tuple[str, ...]] | None = None


@dataclass(frozen=True)
class Schedule:
    """Advice for every joint of the project, and the facts of the virtual rows it points into."""

    facts: Facts
    virtual: Facts
    advice: list[Advice]


def schedule(facts: Facts, rules: Sequence[Compiled]) -> Schedule:
    """Choose for every joint.

    facts  what `derive` returns
    rules  compiled rules; those over joints that stop or ask for a fix judge the choices
    """
    known = facts.library
    rows, offer, project = sized_offers(facts)
    virtual = derive(project, known)
    against = judged(virtual, "joints", rules).beyond(judged(facts, "joints", rules), rows)
    reasons = Reasons(known, *virtual.encoded)
    advice = [
        _advise(row, np.flatnonzero(rows == row), offer, against, virtual, facts, rules, reasons)
        for row in range(len(facts.joints))
    ]
    return Schedule(facts, virtual, advice)


def sized_offers(facts: Facts) -> tuple[np.ndarray, np.ndarray, Project]:
    """Rows of joints, rows of offers of the same family (cheapest first), and the project with those virtual joints."""
    rows, offer = offers_of_family(facts)
    return rows, offer, sized(facts, rows, offer)


def offers_of_family(facts: Facts) -> tuple[np.ndarray, np.ndarray]:
    """Rows of joints, and rows of the offers of the same family, cheapest first."""
    of_offer = plain(facts.library.table("fastener_choices").words("family"))
    rows, offer = np.nonzero(words(facts.joints, "fastener_family")[:, None] == of_offer)
    return rows, offer


def sized(facts: Facts, rows: np.ndarray, offer: np.ndarray, methods: Sequence[str] | None = None) -> Project:
    """The joints of `rows` with the fasteners of `offer`, and another method where given, in the sizes that fit.

    Kind, metal and coat of each offer first, so that its size can be worked out; then the size and the advice with it.
    """
    known, offers = facts.library, facts.library.table("fastener_choices")
    told: dict[str, list[Any]] = {name: [offers.words(name)[at] for at in offer] for name in TAKEN}
    told |= {"method": list(methods)} if methods is not None else {}
    blank: dict[str, list[Any]] = {name: [None] * len(rows) for name in SIZED}
    wanted = (*SIZED.values(), "bore", "advised_size", "on_plate")
    project = with_joints(facts.project, rows, told | blank, known)
    first = derive_only(project, frozenset(("joints", name) for name in wanted), known)[1]
    register = known.register.facts["joints"]
    bore, size, plates = (
        [decode(register[name], code) for code in first.get(name)] for name in ("bore", "advised_size", "on_plate")
    )
    plate = plain(plates) == "yes"
    own = {name: _plain(first.get(fact)) for name, fact in SIZED.items()}
    own |= _kept(facts, rows, own, plate, methods is None)
    length = _plain(number(facts.joints, "size_length_mm")[rows])
    written = zip(words(facts.joints, "size")[rows], size, plate, length, strict=True)
    cells = {
        "pilot": ["no" if word == "never" else "yes" for word in bore],
        "size": [mine if on and long else new for mine, new, on, long in written],
    }
    return with_joints(facts.project, rows, told | own | cells, known)


def _kept(
    facts: Facts, rows: np.ndarray, sized: dict[str, list[Any]], plate: np.ndarray, same_method: bool
) -> dict[str, list[Any]]:
    """What stays as the shop wrote it: the count of the same method, and the size of what holds a hinge, strap or base."""
    out = {}
    for name in ("count", "size_diameter_mm", "size_length_mm"):
        own = _plain(number(facts.joints, name)[rows])
        always = name == "count" and same_method
        keeps = [value is not None and (always or on) for value, on in zip(own, plate, strict=True)]
        out[name] = [mine if keep else new for mine, new, keep in zip(own, sized[name], keeps, strict=True)]
    return out


def _plain(values: np.ndarray) -> list[Any]:
    return [None if np.isnan(value) else float(value) for value in values]


def _advise(
    row: int,
    mine: np.ndarray,
    offer: np.ndarray,
    against: Verdicts,
    virtual: Facts,
    facts: Facts,
    rules: Sequence[Compiled],
    reasons: Reasons,
) -> Advice:
    """The first offer that no rule rejects but those that reject every offer of the joint."""
    if not len(mine):
        return Advice(row, -1, _why_none(facts, row))
    bad = against.bad[mine]
    common = bad.all(axis=0)
    extra = bad & ~common
    sized = tells(virtual.joints, "size")[mine]
    pick = int(np.argmin(bad.sum(axis=1) + MANY * ~sized))
    name = [rules[number].rule.rule for number in against.numbers]
    offers = facts.library.table("fastener_choices")
    avoid = tuple(
        (
            tuple(offers.words(word)[offer[mine[at]]] for word in TAKEN),
            _against(extra[at], against.holds[mine[at]], name),
        )
        for at in range(pick)
        if extra[at].any()
    )
    still = tuple(name[at] for at in np.flatnonzero(bad[pick]))
    at = int(mine[pick])
    return Advice(row, at, "", avoid, still, _blanks(reasons, virtual, at))


def _against(extra: np.ndarray, holds: np.ndarray, name: list[str]) -> str:
    """The rule that rejects an offer: one that holds, else one that waits for a fact."""
    sure = extra & holds
    return name[int(np.argmax(sure))] if sure.any() else f"{name[int(np.argmax(extra))]}, undecided"


def _why_none(facts: Facts, row: int) -> str:
    """The reason that the table gives for a method without metal; else that the method is not known."""
    table, joint = facts.library.table("fastener_methods"), facts.joints.iloc[row]
    if joint["method"] in table.index:
        return table.words("because")[table.index[joint["method"]]]
    unlisted = [told for told in str(joint["unlisted_words"]).split("; ") if told.startswith("method ")]
    return next(iter(unlisted), "how the parts are held is not written")


WRITTEN = {"size": "advised_size", "count": "advised_count"}
"""Cells that are written, and the advice that stands in them: its needs tell what a blank is for."""
ADVICE = (
    *("size", "count", "pilot_mm", "shank_hole_mm", "bore", "spacing_mm", "edge_mm", "end_mm", "slot_length_mm"),
    *("withdrawal_n", "lateral_n", "first_rust_low_years", "metal_life_low_years"),
)


def _blanks(reasons: Reasons, facts: Facts, at: int) -> dict[str, tuple[str, ...]]:
    """Unknown facts of the advice, and the written cells that would tell them; none where the tables are silent."""
    register = facts.library.register
    out = {}
    for name in ADVICE:
        if pd.isna(facts.joints[name].iat[at]):
            found = reasons.roots("joints", WRITTEN.get(name, name), at)
            roots = [root for root in found if not register.facts[root[0]][root[1]].derived]
            out[name] = tuple(dict.fromkeys(_cell(facts, *root) for root in roots))
    return out


def _cell(facts: Facts, over: Any, name: str, row: int) -> str:
    column = facts.library.register.facts[over][name]
    told = column.written or (column.origins[0] if column.origins else column.meaning)
    return f"{told} of {facts.parts['part'].iat[row]}" if over == "parts" else told
