"""A panel as a plain drawing (SVG): better face, face grain, cover, edges and gaps; black on white, no script."""

from __future__ import annotations

from typing import Any
from xml.sax.saxutils import escape

from ..deriving import Facts
from ..library import Column
from ..units import print_size
from .plan_sheet import is_panel, records
from .values import show

WIDE = 560
LEFT, TOP, MOST_WIDE, MOST_HIGH, LEAST = 70, 56, 420, 180, 24
"""The drawing field, where the panel stands in it, and the least side that is drawn; in px."""
GAP = 9
BOLD = 'font-weight="bold"'
THICK = {"sealed": 5, "banded": 5, "capped": 2.5, "open": 1}
EDGES = {"sealed": "edges sealed", "banded": "edges banded", "capped": "edges capped", "open": "edges bare"}


def pictures(facts: Facts, units: str) -> list[tuple[str, str]]:
    """Name and drawing of each panel whose length and width are written."""
    register = facts.library.register.facts["parts"]
    panels = [part for part in records(facts, "parts") if is_panel(facts, part)]
    sized = [part for part in panels if part["length_mm"] is not None and part["width_mm"] is not None]
    return [(str(part["part"]), draw(part, units, register, number)) for number, part in enumerate(sized, 1)]


def draw(part: dict[str, Any], units: str, register: dict[str, Column], number: int = 1) -> str:
    """One panel, length across the page; equal input gives equal text.

    part    plain values of a row of the parts
    number  tells the drawings of one page apart, for their titles are referred to
    """
    scale = min(MOST_WIDE / part["length_mm"], MOST_HIGH / part["width_mm"])
    w, h = (max(part[name] * scale, LEAST) for name in ("length_mm", "width_mm"))
    title, told = f"Panel: {part['part']}", _told(part, units, register)
    body = [*_edges(part, w, h), *_gap(part, units, register, w, h), *_grain(w, h), *_sizes(part, units, w, h)]
    words = [_text(LEFT, TOP + h + 62 + 16 * at, line) for at, line in enumerate(told)]
    high = round(TOP + h + 62 + 16 * len(told))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {high}" width="{WIDE}" height="{high}" role="img" '
        f'aria-labelledby="panel-{number}-title panel-{number}-desc" font-family="sans-serif" font-size="12">'
        f'<title id="panel-{number}-title">{_clean(title)}</title>'
        f'<desc id="panel-{number}-desc">{_clean(_sentence(part, units, told))}</desc>'
        f'<rect width="{WIDE}" height="{high}" fill="white"/>'
        f"{_text(LEFT, 20, title, BOLD)}{''.join(body)}{''.join(words)}</svg>"
    )


def _told(part: dict[str, Any], units: str, register: dict[str, Column]) -> list[str]:
    face = "not written" if part["best_face"] is None else str(part["best_face"])
    grain = "not written" if part["face_grain"] is None else f"{part['face_grain']} the span"
    cover = "none" if part["cover"] in (None, "none") else str(part["cover"])
    gap = "" if part["gap_mm"] is None else f"; gap to leave today {show(register['gap_mm'], part['gap_mm'], units)}"
    return [f"Better face: {face}. Face grain: {grain}.", f"Cover: {cover}; {EDGES[part['edges']]}{gap}."]


def _sentence(part: dict[str, Any], units: str, told: list[str]) -> str:
    size = f"{print_size(part['length_mm'], units)} by {print_size(part['width_mm'], units)}"
    return f"A rectangle {size}, with an arrow along the face grain. {' '.join(told)}"


def _edges(part: dict[str, Any], w: float, h: float) -> list[str]:
    """The outline; heavy where the edges are sealed or banded, a cap line above where they are capped."""
    out = [_rect(LEFT, TOP, w, h, THICK[part["edges"]])]
    if part["edges"] == "capped":
        out.append(_line(LEFT - 5, TOP - 4, LEFT + w + 5, TOP - 4, 3))
    if part["cover"] not in (None, "none"):
        out += [_line(LEFT + 2 + at * w / 6, TOP + 10, LEFT - 8 + (at + 1) * w / 6, TOP + 4, 1) for at in range(6)]
    return out


def _gap(part: dict[str, Any], units: str, register: dict[str, Column], w: float, h: float) -> list[str]:
    """A broken line around the panel where a gap is left."""
    if part["gap_mm"] is None or part["gap_mm"] <= 0:
        return []
    said = f"gap {show(register['gap_mm'], part['gap_mm'], units)}"
    around = _rect(LEFT - GAP, TOP - GAP, w + 2 * GAP, h + 2 * GAP, 1, ' stroke-dasharray="5 4"')
    return [around, _text(LEFT + w + GAP + 4, TOP + 10, said)]


def _grain(w: float, h: float) -> list[str]:
    """An arrow with two heads along the face grain, which runs along the length."""
    x, y, half = LEFT + w / 2, TOP + h / 2, w * 0.3
    heads = [
        f"{x + side * half:.1f},{y:.1f} {x + side * (half - 9):.1f},{y - 4:.1f} {x + side * (half - 9):.1f},{y + 4:.1f}"
        for side in (-1, 1)
    ]
    label = [_text(x, y - 7, "face grain", 'text-anchor="middle"')] if h > 40 else []
    return [_line(x - half, y, x + half, y, 1.5), *(f'<polygon points="{points}"/>' for points in heads), *label]


def _sizes(part: dict[str, Any], units: str, w: float, h: float) -> list[str]:
    """Length beneath and width at the left."""
    long, wide = print_size(part["length_mm"], units), print_size(part["width_mm"], units)
    y = TOP + h + 24
    return [
        _line(LEFT, y, LEFT + w, y, 0.7), _line(LEFT, y - 4, LEFT, y + 4, 0.7), _line(LEFT + w, y - 4, LEFT + w, y + 4, 0.7),
        _text(LEFT + w / 2, y + 15, long, 'text-anchor="middle"'),
        _text(LEFT - GAP - 6, TOP + h / 2 + 4, wide, 'text-anchor="end"'),
    ]  # fmt: skip


def _rect(x: float, y: float, w: float, h: float, stroke: float, more: str = "") -> str:
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{w:.1f}" height="{h:.1f}" fill="none" stroke="black" '
        f'stroke-width="{stroke:g}"{more}/>'
    )


def _line(x1: float, y1: float, x2: float, y2: float, stroke: float) -> str:
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="black" stroke-width="{stroke:g}"/>'


def _text(x: float, y: float, text: str, more: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" {more}>{_clean(text)}</text>'


def _clean(text: str) -> str:
    return escape("".join(sign if sign.isprintable() else " " for sign in text))
