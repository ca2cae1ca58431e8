"""Fasteners by the box, finish by area and coverage, glue by the area of the joints."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from ..choosing import Schedule
from ..cost import MM2_PER_M2, coat_m2
from ..deriving import Facts

PRIMER = "primer"
FACES = ("all", "front", "edges")
"""Words of `finish_faces`, in the order that the area of a coat counts them by."""


@dataclass(frozen=True)
class FastenerOrder:
    """One sort of fastener: how many the joints take, how many with the spare, and the boxes that hold them.

    box  pieces or grams of a box, by `unit`; pieces_a_box follows from the mass of a nail
    """

    kind: str
    size: str
    metal: str
    coating: str
    needed: int
    with_spare: int
    box: float
    unit: str
    pieces_a_box: int
    boxes: int


@dataclass(frozen=True)
class Coats:
    """One coat or more of one finish on like faces.

    coats       number of them; None where the list does not say
    litres      low and high for all of these coats with the spare, for one coat where their number is not known; None without a published coverage
    """

    finish: str
    texture: str
    rows: tuple[int, ...]
    area_m2: float
    coats: int | None
    litres: tuple[float, float] | None


@dataclass(frozen=True)
class Tin:
    """One finish to buy: the area of all its coats, and litres low and high with the spare; None without a published coverage.

    counted  whether the number of coats is written everywhere; else one coat was taken
    """

    finish: str
    area_m2: float
    counted: bool
    litres: tuple[float, float] | None


@dataclass(frozen=True)
class GlueOrder:
    """Glue of one kind: the joints, the area of their glue lines and the mass with the spare, low and high."""

    glue: str
    rows: tuple[int, ...]
    area_m2: float | None
    grams: tuple[float, float] | None


def fasteners(made: Schedule) -> list[FastenerOrder]:
    """The order for the schedule, one line for each kind, size, metal and coat."""
    needed: dict[tuple[str, ...], int] = {}
    rows: dict[tuple[str, ...], Any] = {}
    for one in made.advice:
        row = made.virtual.joints.iloc[one.at] if one.at >= 0 else None
        if row is not None and pd.notna(row["size"]) and pd.notna(row["count"]):
            key = tuple(str(row[name]) for name in ("fastener_kind", "size", "fastener_metal", "coating_kind"))
            needed[key] = needed.get(key, 0) + int(row["count"]) * int(made.facts.joints["qty"].iat[one.row])
            rows.setdefault(key, row)
    return [_ordered(made.facts, key, rows[key], pieces) for key, pieces in sorted(needed.items()) if pieces]


def _ordered(facts: Facts, key: tuple[str, ...], row: Any, needed: int) -> FastenerOrder:
    kind, size, metal, coating = key
    constants, stock = facts.library.table("constants"), facts.library.table("fastener_stock")
    box = _box(facts, row["fastener_family"])
    spare = math.ceil(needed * (1 + constants.number("fastener_spare_share", "value")) - 1e-9)
    amount, in_box = float(box["box"]), int(float(box["box"]))
    if box["unit"] == "g":
        each = nail_grams(row["shank_mm"], row["fastener_length_mm"], constants.number("steel_g_mm3", "value"))
        in_box = max(int(amount / each), 1)
    name = stock.words("name")[stock.index[size]] if size in stock.index else size
    return FastenerOrder(
        kind, name, metal, coating, needed, spare, amount, box["unit"], in_box, math.ceil(spare / in_box)
    )


def _box(facts: Facts, family: str) -> dict[str, str]:
    boxes = facts.library.table("fastener_boxes").records()
    return next(row for row in boxes if (row["family"], row["scheme"]) == (family, facts.project.scheme))


def nail_grams(diameter_mm: float, length_mm: float, g_mm3: float) -> float:
    """Mass of a nail taken as a plain rod; head and point about cancel.

    >>> round(453.6 / nail_grams(3.33, 63.5, 0.00785))
    104
    """
    return math.pi / 4 * diameter_mm**2 * length_mm * g_mm3


def coats(facts: Facts) -> list[Coats]:
    """Every finish of the list with its area and volume; parts without a size are left to `unsized`."""
    alike: dict[tuple[str, str, str, float], list[int]] = {}
    for row, part in enumerate(facts.parts.to_dict("records")):
        if part["finish_kind"] not in (None, "none") and pd.notna(part["finish_kind"]):
            texture = "rough" if part["surface"] == "rough" else "smooth"
            key = (part["finish_kind"], texture, part["finish_primer"], part["finish_coats"])
            alike.setdefault(tuple(-1.0 if pd.isna(one) else one for one in key), []).append(row)  # type: ignore[arg-type]
    return [one for key, rows in alike.items() for one in _coats(facts, *key, rows)]


def _coats(facts: Facts, finish: str, texture: str, primer: str, number: float, rows: list[int]) -> list[Coats]:
    area = float(np.nansum(face_area_m2(facts.parts.iloc[rows])))
    whole = None if number < 0 else int(number)
    primed = int(primer not in ("none", -1.0))
    over = None if whole is None else max(whole - primed, 0)
    name = PRIMER if primer != "stain-blocking" else f"{primer} {PRIMER}"
    wanted = [(name, PRIMER, 1)] * primed + [(finish, finish, over)]
    return [
        Coats(shown, texture, tuple(rows), area, n, _litres(facts, key, texture, area, 1 if n is None else n))
        for shown, key, n in wanted
        if n != 0
    ]


def tins(made: list[Coats]) -> list[Tin]:
    """The finishes to buy, each once."""
    alike: dict[str, list[Coats]] = {}
    for one in made:
        alike.setdefault(one.finish, []).append(one)
    return [_tin(finish, found) for finish, found in alike.items()]


def _tin(finish: str, found: list[Coats]) -> Tin:
    known = [one.litres for one in found if one.litres is not None]
    litres = (sum(low for low, _ in known), sum(high for _, high in known)) if len(known) == len(found) else None
    area = sum(one.area_m2 * (1 if one.coats is None else one.coats) for one in found)
    return Tin(finish, area, all(one.coats is not None for one in found), litres)


def _litres(facts: Facts, finish: str, texture: str, area: float, number: int) -> tuple[float, float] | None:
    spare = 1 + facts.library.table("constants").number("finish_spare_share", "value")
    for row in facts.library.table("finish_cover").records():
        if (row["finish_kind"], row["texture"]) == (finish, texture):
            low, high = (area * number * spare / float(row[f"cover_{end}_m2_l"]) for end in ("high", "low"))
            return low, high
    return None


def face_area_m2(parts: pd.DataFrame) -> np.ndarray:
    """Area that gets the finish, of all pieces of each part: all faces, the front alone, or the edges and ends."""
    count, thick, wide, long = (
        parts[name].to_numpy(float) for name in ("qty", "thickness_mm", "width_mm", "length_mm")
    )
    return coat_m2(count, thick, wide, long, np.array([FACES.index(word) for word in parts["finish_faces"]]))


def glues(facts: Facts) -> list[GlueOrder]:
    """Glue by kind; a joint whose glue is not named counts under "not named"."""
    alike: dict[str, list[int]] = {}
    for row, joint in enumerate(facts.joints.to_dict("records")):
        if joint["glued"] == "yes":
            named = joint["glue_kind"]
            alike.setdefault("not named" if pd.isna(named) or named == "none" else named, []).append(row)
    return [_glue(facts, name, rows) for name, rows in alike.items()]


def _glue(facts: Facts, name: str, rows: list[int]) -> GlueOrder:
    areas = [_line_m2(facts, facts.joints.iloc[row]) for row in rows]
    known = [one for one in areas if one is not None]
    if not known:
        return GlueOrder(name, tuple(rows), None, None)
    constants = facts.library.table("constants")
    spare = 1 + constants.number("finish_spare_share", "value")
    low, high = (sum(known) * spare * constants.number(f"glue_spread_{end}_g_m2", "value") for end in ("low", "high"))
    return GlueOrder(name, tuple(rows), sum(known), (low, high))


def _line_m2(facts: Facts, joint: Any) -> float | None:
    """Area of the glue lines of all such joints: the contact by the narrower part, along the grain by the shorter; each cheek counts."""
    ends = [int(joint["a_row"]), int(joint["b_row"])]
    table = facts.library.table("joint_work")
    if min(ends) < 0 or joint["method"] not in table.index:
        return None
    by = "length_mm" if joint["angle_deg"] == 0 else "width_mm"
    other = min(float(facts.parts[by].iat[end]) for end in ends)
    contact = (
        float(joint["contact_mm"])
        if pd.notna(joint["contact_mm"])
        else min(float(facts.parts["width_mm"].iat[end]) for end in ends)
    )
    area = contact * other * table.number(joint["method"], "glue_faces") * float(joint["qty"]) / MM2_PER_M2
    return None if math.isnan(area) else area
