"""What wood and panels to buy: boards by material and section out of stock lengths, panels out of sheets."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from ..deriving import Facts
from ..library import Library
from .packing import MOST_FILLINGS, Plan, pack
from .sheets import SheetPlan, sheets

MATERIAL = (
    "species",
    "product",
    "grade",
    "wood_part",
    "origin",
    "preservative",
    "treatment_kind",
    "treatment_category",
)
SHARE, LEAST = 4, 200
"""One section may take a quarter of the effort that is left for the whole list, and this much in any case."""
SIZES = ("length_mm", "width_mm", "thickness_mm")


@dataclass(frozen=True)
class BoardOrder:
    """Boards of one material and section: the plan, and how many more to buy for knots and slips."""

    material: dict[str, Any]
    thickness_mm: float
    width_mm: float
    pieces: int
    plan: Plan
    spare: int


@dataclass(frozen=True)
class SheetOrder:
    """Sheets of one panel."""

    material: dict[str, Any]
    thickness_mm: float
    pieces: int
    plan: SheetPlan


@dataclass
class Wood:
    """The wood, the panels, what is bought by the piece (row and number), and rows whose sizes are not written."""

    boards: list[BoardOrder] = field(default_factory=list)
    sheets: list[SheetOrder] = field(default_factory=list)
    pieces: list[int] = field(default_factory=list)
    unsized: list[int] = field(default_factory=list)


def wood(facts: Facts) -> Wood:
    """Share every part out to what is bought; no part is in two lists, and none is lost."""
    out = Wood()
    alike: dict[tuple[Any, ...], list[dict[str, Any]]] = {}
    for at, row in enumerate(facts.parts.to_dict("records")):
        way = _bought_as(facts.library, row)
        if way == "piece":
            out.pieces.append(at)
        elif any(pd.isna(row[name]) for name in SIZES):
            out.unsized.append(at)
        else:
            alike.setdefault(_key(row, way), []).append(row)
    left = MOST_FILLINGS
    for key, rows in alike.items():
        if key[0] == "board":
            out.boards.append(_boards(rows, facts, max(left // SHARE, LEAST)))
            left -= out.boards[-1].plan.looked
        else:
            out.sheets.append(_sheets(rows, facts))
    return out


def _bought_as(known: Library, row: dict[str, Any]) -> str:
    """Board, sheet or piece: by what the part does, else by its product, else by the piece."""
    ways = {(one["column"], one["word"]): one["bought_as"] for one in known.table("bought_as").records()}
    return ways.get(("role", row["role"])) or ways.get(("product", row["product"])) or "piece"


def _key(row: dict[str, Any], way: str) -> tuple[Any, ...]:
    """Rows with the same key come out of the same boards; a panel's width is cut, not bought."""
    section = (row["thickness_mm"], *([row["width_mm"]] if way == "board" else []))
    return (way, *_material(row).values(), *(round(float(mm), 2) for mm in section))


def _material(row: dict[str, Any]) -> dict[str, Any]:
    return {name: None if pd.isna(row[name]) else row[name] for name in MATERIAL}


def _boards(rows: list[dict[str, Any]], facts: Facts, effort: int) -> BoardOrder:
    lengths = [float(row["length_mm"]) for row in rows for _ in range(int(row["qty"]))]
    constants = facts.library.table("constants")
    stock = [float(one["length_mm"]) for one in _of_scheme(facts, "stock_lengths")]
    made = pack(lengths, stock, constants.number("kerf_mm", "value"), effort)
    spare = math.ceil(sum(board.count for board in made.boards) * constants.number("board_spare_share", "value"))
    section = (float(rows[0]["thickness_mm"]), float(rows[0]["width_mm"]))
    return BoardOrder(_material(rows[0]), *section, len(lengths), made, spare)


def _sheets(rows: list[dict[str, Any]], facts: Facts) -> SheetOrder:
    sizes = [(float(row["length_mm"]), float(row["width_mm"])) for row in rows for _ in range(int(row["qty"]))]
    stock = [(float(one["length_mm"]), float(one["width_mm"])) for one in _of_scheme(facts, "stock_sheets")]
    made = sheets(sizes, stock, facts.library.table("constants").number("kerf_mm", "value"))
    return SheetOrder(_material(rows[0]), float(rows[0]["thickness_mm"]), len(sizes), made)


def _of_scheme(facts: Facts, table: str) -> list[dict[str, str]]:
    return [row for row in facts.library.table(table).records() if row["scheme"] == facts.project.scheme]
