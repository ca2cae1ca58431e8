"""What may be offered to each joint: fasteners of the schedule, other coats and sizes, other methods, single changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from ..deriving import Facts
from ..frames import picked, places, plain, says, stacked, tells, words
from .fasteners import offers_of_family, sized, sized_offers
from .offers import Offers, joint_singles
from .virtual import with_joints

COAT, SIZE, FASTENER, METHOD = 1.0, 1.0, 2.0, 4.0
"""Effort of another coat on the same fastener, another size of it, another fastener, another way of joining."""
STEP = 0.2
"""A little more for each fastener that costs more."""


@dataclass(frozen=True)
class _Group:
    """Offers of one sort: the joint of each, its facts, what is written, the column and the effort."""

    rows: np.ndarray
    frame: pd.DataFrame
    names: tuple[str, ...]
    column: str
    effort: np.ndarray


def joint_offers(facts: Facts) -> tuple[Offers, dict[int, np.ndarray]]:
    """All offers, and the rows of those that suit each joint."""
    single = joint_singles(facts.project, facts.library)
    made = [_fasteners(facts), _coats(facts), _sizes(facts), _methods(facts)]
    columns = list(single.frame.columns)
    frame = stacked([single.frame, *(group.frame[columns] for group in made)])
    writes = [_written(joint, facts, group.names) for group in made for joint in group.frame[TOLD].to_dict("records")]
    owner = places([*([-1] * len(single.frame)), *(row for group in made for row in group.rows)])
    offers = Offers(
        frame,
        plain([*single.column, *(group.column for group in made for _ in group.rows)]),
        single.writes + writes,
        np.concatenate([single.effort, *(group.effort for group in made)]),
    )
    return offers, {row: np.flatnonzero((owner == -1) | (owner == row)) for row in range(len(facts.joints))}


def _fasteners(facts: Facts) -> _Group:
    """Every fastener of the family in the size that fits."""
    rows, offer, project = sized_offers(facts)
    fits = tells(project.joints, "size")
    effort = FASTENER + STEP * _place(rows, offer)
    names = ("fastener", "coating", "pilot", "size", "count", "edge", "end")
    return _Group(rows[fits], picked(project.joints, fits), names, "fastener", effort[fits])


def _coats(facts: Facts) -> _Group:
    """The fastener as it is written, in every metal and coat of its family."""
    table = facts.library.table("fastener_choices")
    told = tells(facts.joints, "fastener_kind") & tells(facts.joints, "size_length_mm")
    coats = zip(*(table.words(name) for name in ("family", "fastener_metal", "coating_kind")), strict=True)
    rows, offer = offers_of_family(facts)
    kept = told[rows] & np.isin(offer, _first_of(list(coats)))
    rows, offer = rows[kept], offer[kept]
    changes = {name: [table.words(name)[at] for at in offer] for name in ("fastener_metal", "coating_kind")}
    project = with_joints(facts.project, rows, changes, facts.library)
    return _Group(rows, project.joints, ("fastener", "coating"), "fastener", COAT + STEP * _place(rows, offer))


def _sizes(facts: Facts) -> _Group:
    """The fastener as it is written, in the size that fits."""
    table = facts.library.table("fastener_stock")
    size = words(facts.joints, "advised_size")
    rows = np.flatnonzero(tells(facts.joints, "advised_size") & tells(facts.joints, "fastener_kind"))
    at = [table.index[size[row]] for row in rows]
    changes: dict[str, Sequence[object]] = {
        f"size_{name}_mm": table.numbers(f"{name}_mm")[at].tolist() for name in ("diameter", "length")
    }
    project = with_joints(facts.project, rows, changes | {"size": [size[row] for row in rows]}, facts.library)
    return _Group(rows, project.joints, ("size",), "fastener", np.full(len(rows), SIZE))


def _methods(facts: Facts) -> _Group:
    """Other ways of joining with the fasteners that belong to them; hinges, straps and bases keep theirs."""
    methods, choices = facts.library.table("fastener_methods"), facts.library.table("fastener_choices")
    other = [
        (word, at)
        for word, row in methods.index.items()
        for at, family in enumerate(choices.words("family"))
        if word in OFFERED and family == methods.words("family")[row]
    ]
    mine = np.flatnonzero(~says(facts.joints, "on_plate", "yes") & tells(facts.joints, "method"))
    now = words(facts.joints, "method")
    ways = [(row, word, at) for row in mine.tolist() for word, at in other if word != now[row]]
    rows, offer = places(row for row, *_ in ways), places(at for *_, at in ways)
    project = sized(facts, rows, offer, [word for _, word, _ in ways])
    fits = tells(project.joints, "size")
    effort = METHOD + STEP * _place(rows, offer)
    names = ("method", "fastener", "coating", "pilot", "size", "count", "edge", "end")
    return _Group(rows[fits], picked(project.joints, fits), names, "method", effort[fits])


TOLD = [
    *("method", "fastener_kind", "fastener_metal", "coating_kind"),
    *("pilot", "size", "count", "edge_found_mm", "end_found_mm"),
]
OFFERED = ("screws", "slotted screws", "bolts", "lag screws", "nails")
"""Ways of joining that stand in for another."""


def _first_of(keys: Sequence[object]) -> list[int]:
    return [at for at, key in enumerate(keys) if keys.index(key) == at]


def _place(rows: np.ndarray, offer: np.ndarray) -> np.ndarray:
    """Place of each offer among those of its joint, cheapest first."""
    least = {row: int(offer[rows == row].min()) for row in set(rows.tolist())}
    return offer - places(least[row] for row in rows.tolist())


def _written(joint: dict[Any, Any], facts: Facts, names: tuple[str, ...]) -> dict[str, str]:
    """The named cells as a shop writes them."""
    table = facts.library.table("fastener_stock")
    coat = joint["fastener_metal"] if joint["coating_kind"] in ("none", "stainless") else joint["coating_kind"]
    cells = {"method": joint["method"], "fastener": joint["fastener_kind"], "coating": coat, "pilot": joint["pilot"]}
    size = joint["size"]
    cells["size"] = table.words("name")[table.index[size]] if size in table.index else size
    cells["count"] = None if pd.isna(joint["count"]) else f"{joint['count']:.0f}"
    for column, name in (("edge", "edge_found_mm"), ("end", "end_found_mm")):
        cells[column] = None if pd.isna(joint[name]) else f"{np.ceil(joint[name] * 2) / 2:g} mm"
    return {name: str(cells[name]) for name in names if isinstance(cells[name], str)}
