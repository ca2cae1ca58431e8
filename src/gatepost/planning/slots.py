"""Where the slots of a joint stand, and which hole is the fixed point."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from ..choosing import Advice, Schedule


@dataclass(frozen=True)
class Slotted:
    """Joints that are slotted alike; places are from the middle of the board across its grain, sizes in mm.

    joints   their names
    board    the parts that move
    places   a hole each, from one edge of the board to the other
    fixed    number of the hole that is not slotted
    hole_mm  width of the slots; None where the hole for the shank is not known
    """

    joints: tuple[str, ...]
    boards: tuple[str, ...]
    width_mm: float
    places_mm: tuple[float, ...]
    fixed: int
    slot_mm: float
    hole_mm: float | None


def slotted(made: Schedule) -> list[Slotted]:
    """The joints for which slots are advised, those with the same holes together."""
    alike: dict[tuple[Any, ...], tuple[list[str], list[str]]] = {}
    for one in made.advice:
        row = made.virtual.joints.iloc[one.at] if one.at >= 0 else None
        if row is not None and row["slot_needed"] == "yes":
            width = float(made.facts.parts["width_mm"].iat[int(made.facts.joints["a_row"].iat[one.row])])
            key = (
                width,
                _holes(row, width),
                float(row["spacing_mm"]),
                float(row["slot_length_mm"]),
                _known(row["shank_hole_mm"]),
            )
            names = alike.setdefault(key, ([], []))
            names[0].append(_name(made, one, "joint"))
            names[1].append(_name(made, one, "part_a"))
    return [_slotted(key, *names) for key, names in alike.items()]


def _name(made: Schedule, one: Advice, column: str) -> str:
    return str(made.facts.joints[column].iat[one.row])


def _known(value: Any) -> float | None:
    return None if pd.isna(value) else float(value)


def _holes(row: Any, width_mm: float) -> int:
    """Holes across one board: the fasteners of the joint shared out to the boards that stand side by side in it."""
    contact = row["contact_mm"]
    boards = 1 if pd.isna(contact) else max(round(float(contact) / width_mm), 1)
    return max(round(float(row["count"]) / boards), 2)


def _slotted(key: tuple[Any, ...], joints: list[str], boards: list[str]) -> Slotted:
    width, holes, apart, slot, hole = key
    places = tuple((at - (holes - 1) / 2) * apart for at in range(holes))
    return Slotted(tuple(joints), tuple(dict.fromkeys(boards)), width, places, holes // 2, slot, hole)
