"""Slotted joints as plain drawings (SVG): the board across its grain, the fixed point, the slots and their length."""

from __future__ import annotations

from ..planning import Slotted
from ..units import print_size
from .blocks import Figure
from .strokes import ACROSS, BOLD, END, LINE, line, lines, rect, stacked, strip, text

LEFT, TOP, HIGH, WIDE = 64, 40, 130, 120
"""Where the board stands in its cell, its height across the grain and the length of it that is shown; px."""
GRAIN = 5
LEAST_ROUND, LEAST_LONGER = 4.0, 10.0
"""The least half width of a hole that is drawn, and by how much a slot is drawn longer than a hole at least; px."""
FIXED = "fixed point"


def figures(slots: list[Slotted], units: str) -> list[Figure]:
    """Joints with slots, three in a strip."""
    return [_strip(slots[at : at + ACROSS], units) for at in range(0, len(slots), ACROSS)]


def _strip(slots: list[Slotted], units: str) -> Figure:
    names = "; ".join(", ".join(one.joints) for one in slots)
    words = " ".join(f"{', '.join(one.joints)}: {sentence(one, units)}" for one in slots)
    return Figure(strip([draw(one, units) for one in slots]), f"Slots: {names}", words)


def sentence(one: Slotted, units: str) -> str:
    """The drawing in words."""
    apart = print_size(one.places_mm[1] - one.places_mm[0], units)
    at = ("of two", "one") if len(one.places_mm) == 2 else (f"of {len(one.places_mm)}", f"number {one.fixed + 1}")
    return (
        f"{at[0]} holes across the grain of {', '.join(one.boards)}, {apart} apart, {at[1]} is round and is the fixed point; "
        f"the others are slots across the grain, {_long(one, units)} and {_wide(one, units)}."
    )


def draw(one: Slotted, units: str) -> tuple[str, float]:
    """Strokes and height of one joint: a length of the board, its grain across the page; equal input gives equal text."""
    scale = HIGH / one.width_mm
    x, middle = LEFT + WIDE / 2, TOP + HIGH / 2
    half = max((one.hole_mm or 0.0) * scale / 2, LEAST_ROUND)
    long = max(one.slot_mm * scale / 2, half + LEAST_LONGER / 2)
    body = [text(6, 16, ", ".join(one.joints), BOLD), *_board(one, units)]
    for number, place in enumerate(one.places_mm):
        y = middle + place * scale
        body += _fixed(x, y, half) if number == one.fixed else _slot(x, y, half, long, units, one)
    below = TOP + HIGH + 34
    told = [
        f"Board: {', '.join(one.boards)}",
        f"Slot {_long(one, units)},",
        _wide(one, units),
        "Washer over each slot; not drawn tight",
    ]
    return "".join([*body, lines(6, below, told)]), below + LINE * len(told)


def _long(one: Slotted, units: str) -> str:
    return f"{print_size(one.slot_mm, units)} long"


def _wide(one: Slotted, units: str) -> str:
    return "as wide as the shank" if one.hole_mm is None else f"{print_size(one.hole_mm, units, 64)} wide"


def _board(one: Slotted, units: str) -> list[str]:
    """The board with its grain, the part behind it in broken lines, and its width."""
    grain = [
        line(LEFT + 4, y, LEFT + WIDE - 4, y, 0.3, ' stroke-dasharray="14 5"')
        for y in (TOP + HIGH * (at + 0.5) / GRAIN for at in range(GRAIN))
    ]
    behind = [line(LEFT + WIDE / 2 + side * 16, TOP - 12, LEFT + WIDE / 2 + side * 16, TOP + HIGH + 12, 0.8, ' stroke-dasharray="5 4"') for side in (-1, 1)]  # fmt: skip
    edge = [line(LEFT, y, LEFT + WIDE, y, 2) for y in (TOP, TOP + HIGH)]
    width = [
        line(LEFT - 10, TOP, LEFT - 10, TOP + HIGH, 0.7),
        stacked(LEFT - 15, TOP + HIGH / 2 + 4, print_size(one.width_mm, units), END),
    ]
    return [*grain, *behind, *edge, *width]


def _fixed(x: float, y: float, half: float) -> list[str]:
    return [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{half:.1f}" fill="black"/>', _label(x, y, FIXED)]


def _slot(x: float, y: float, half: float, long: float, units: str, one: Slotted) -> list[str]:
    body = rect(x - half, y - long, 2 * half, 2 * long, 1.2, f' rx="{half:.1f}"').replace('fill="none"', 'fill="white"')
    return [body, _label(x, y, f"slot {print_size(one.slot_mm, units)}")]


def _label(x: float, y: float, words: str) -> str:
    start = LEFT + WIDE + 8
    return line(x + 10, y, start - 3, y, 0.5) + text(start, y + 4, words)
