"""Panels as plain drawings (SVG): better face, face grain, cover, edges and gaps."""

from __future__ import annotations

from typing import Any

from ..deriving import Facts
from ..library import Column
from ..units import print_size
from .blocks import Figure
from .rows import records
from .strokes import ACROSS, BOLD, END, LINE, MIDDLE, dimension, line, lines, rect, stacked, strip, text
from .values import show

LEFT, TOP, MOST_WIDE, MOST_HIGH, LEAST = 72, 40, 170, 100, 20
"""Where the panel stands in its cell, the field it is drawn in, and the least side that is drawn; px."""
GAP = 8
THICK = {"sealed": 5, "banded": 5, "capped": 2.5, "open": 1}
EDGES = {"sealed": "sealed", "banded": "banded", "capped": "capped", "open": "bare"}
DRAWN_BY = ("length_mm", "width_mm", "thickness_mm", "best_face", "face_grain", "cover", "edges", "gap_mm")


def is_panel(facts: Facts, part: dict[str, Any]) -> bool:
    """Whether the product moves as a panel does."""
    table = facts.library.table("products")
    return part["product"] in table.index and table.words("moves_as")[table.index[part["product"]]] == "panel"


def figures(facts: Facts, units: str) -> list[Figure]:
    """Each panel whose length and width are written, like ones together, three in a strip."""
    register = facts.library.register.facts["parts"]
    alike: dict[tuple[Any, ...], tuple[dict[str, Any], list[str]]] = {}
    for part in records(facts, "parts"):
        if is_panel(facts, part) and part["length_mm"] is not None and part["width_mm"] is not None:
            names = alike.setdefault(tuple(part[name] for name in DRAWN_BY), (part, []))[1]
            names += [str(part["part"])] if str(part["part"]) not in names else []
    cells = [(part, ", ".join(names)) for part, names in alike.values()]
    return [_strip(cells[at : at + ACROSS], units, register) for at in range(0, len(cells), ACROSS)]


def _strip(cells: list[tuple[dict[str, Any], str]], units: str, register: dict[str, Column]) -> Figure:
    drawn = [draw(part, name, units, register) for part, name in cells]
    names = "; ".join(name for _, name in cells)
    words = " ".join(f"{name}: {sentence(part, units, register)}" for part, name in cells)
    return Figure(strip(drawn), f"Panels: {names}", words)


def draw(part: dict[str, Any], name: str, units: str, register: dict[str, Column]) -> tuple[str, float]:
    """Strokes and height of one panel, seen from its better face, length across the page; equal input gives equal text.

    part  plain values of a row of the parts
    """
    scale = min(MOST_WIDE / part["length_mm"], MOST_HIGH / part["width_mm"])
    w, h = (max(part[one] * scale, LEAST) for one in ("length_mm", "width_mm"))
    told = _told(part, units, register)
    shape = [*_edges(part, w, h), *_gap(part, w, h), *_grain(w, h)]
    sizes = [
        dimension(LEFT, TOP + h + 20, w, print_size(part["length_mm"], units)),
        stacked(LEFT - GAP - 5, TOP + h / 2 + 4, print_size(part["width_mm"], units), END),
    ]
    below = TOP + h + 56
    return "".join([text(6, 16, name, BOLD), *shape, *sizes, lines(6, below, told)]), below + LINE * len(told)


def _told(part: dict[str, Any], units: str, register: dict[str, Column]) -> list[str]:
    face = "not written" if part["best_face"] is None else str(part["best_face"])
    grain = "not written" if part["face_grain"] is None else f"{part['face_grain']} the span"
    cover = "none" if part["cover"] in (None, "none") else str(part["cover"])
    gap = "not known" if part["gap_mm"] is None else show(register["gap_mm"], part["gap_mm"], units)
    return [
        f"Better face: {face}",
        f"Face grain: {grain}",
        f"Edges {EDGES[part['edges']]}; cover: {cover}",
        f"Gap to leave today: {gap}",
    ]


def sentence(part: dict[str, Any], units: str, register: dict[str, Column]) -> str:
    """The drawing in words."""
    size = f"{print_size(part['length_mm'], units)} by {print_size(part['width_mm'], units)}"
    return f"a rectangle {size}, an arrow along the face grain. {'. '.join(_told(part, units, register))}."


def _edges(part: dict[str, Any], w: float, h: float) -> list[str]:
    """The outline; heavy where the edges are sealed or banded, a cap line above where they are capped."""
    out = [rect(LEFT, TOP, w, h, THICK[part["edges"]])]
    if part["edges"] == "capped":
        out.append(line(LEFT - 5, TOP - 4, LEFT + w + 5, TOP - 4, 3))
    if part["cover"] not in (None, "none"):
        out += [line(LEFT + 2 + at * w / 6, TOP + 9, LEFT - 6 + (at + 1) * w / 6, TOP + 4, 1) for at in range(6)]
    return out


def _gap(part: dict[str, Any], w: float, h: float) -> list[str]:
    """A broken line around the panel where a gap is left."""
    if part["gap_mm"] is None or part["gap_mm"] <= 0:
        return []
    return [rect(LEFT - GAP, TOP - GAP, w + 2 * GAP, h + 2 * GAP, 1, ' stroke-dasharray="5 4"')]


def _grain(w: float, h: float) -> list[str]:
    """An arrow with two heads along the face grain, which runs along the length."""
    x, y, half = LEFT + w / 2, TOP + h / 2 + 3, w * 0.3
    heads = [
        f"{x + side * half:.1f},{y:.1f} {x + side * (half - 9):.1f},{y - 4:.1f} {x + side * (half - 9):.1f},{y + 4:.1f}"
        for side in (-1, 1)
    ]
    label = [text(x, y - 7, "face grain", MIDDLE)] if h > 40 else []
    return [line(x - half, y, x + half, y, 1.5), *(f'<polygon points="{points}"/>' for points in heads), *label]
