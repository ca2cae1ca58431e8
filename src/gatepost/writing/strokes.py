"""Strokes of the plain drawings (SVG): black on white, no script; three small drawings stand beside each other in a strip."""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape

CELL, ACROSS = 300, 3
"""Width of one small drawing, and how many stand in a strip; px."""
BOLD, MIDDLE, END = 'font-weight="bold"', 'text-anchor="middle"', 'text-anchor="end"'
MOST_SIGNS = 38
LINE = 16


def strip(cells: Sequence[tuple[str, float]]) -> str:
    """Drawings side by side; each is its strokes and its height."""
    wide, high = CELL * ACROSS, round(max(height for _, height in cells))
    body = "".join(f'<g transform="translate({CELL * at} 0)">{strokes}</g>' for at, (strokes, _) in enumerate(cells))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{wide}" height="{high}" '
        f'font-family="sans-serif" font-size="12"><rect width="{wide}" height="{high}" fill="white"/>{body}</svg>'
    )


def rect(x: float, y: float, w: float, h: float, stroke: float, more: str = "") -> str:
    """A box, not filled."""
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{w:.1f}" height="{h:.1f}" fill="none" stroke="black" '
        f'stroke-width="{stroke:g}"{more}/>'
    )


def line(x1: float, y1: float, x2: float, y2: float, stroke: float, more: str = "") -> str:
    """A straight line."""
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="black" stroke-width="{stroke:g}"{more}/>'


def text(x: float, y: float, words: str, more: str = "") -> str:
    """One line of words; cut short where it would run into the next drawing."""
    clean = "".join(sign if sign.isprintable() else " " for sign in words)
    shown = clean if len(clean) <= MOST_SIGNS else clean[: MOST_SIGNS - 2] + " …"
    return f'<text x="{x:.1f}" y="{y:.1f}" {more}>{escape(shown)}</text>'


def lines(x: float, y: float, told: Sequence[str]) -> str:
    """Lines of words beneath each other."""
    return "".join(text(x, y + LINE * at, one) for at, one in enumerate(told))


def stacked(x: float, y: float, size: str, more: str = "") -> str:
    """A size in one unit on a line, one in two units on two."""
    first, *second = size.split(" (")
    return text(x, y, first, more) + "".join(text(x, y + LINE - 2, f"({one}", more) for one in second)


def dimension(x: float, y: float, w: float, words: str) -> str:
    """A length beneath what it measures."""
    ends = line(x, y - 4, x, y + 4, 0.7) + line(x + w, y - 4, x + w, y + 4, 0.7)
    return line(x, y, x + w, y, 0.7) + ends + text(x + w / 2, y + 15, words, MIDDLE)
