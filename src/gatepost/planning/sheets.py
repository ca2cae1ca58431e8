"""Panels cut from sheets by cuts that go right through (guillotine cuts), with the face grain kept along the sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

EVERY_ORDER = 6
MOST_PIECES = 200
"""Up to six pieces every order is tried; more pieces than this are cut in runs of so many."""

Size = tuple[float, float]
"""Length along the sheet and width across it, mm."""


@dataclass(frozen=True)
class SheetPlan:
    """Sheets to buy.

    sheet   their size in mm; None where no sheet holds a piece
    count   sheets of the layout found
    least   no layout can do with fewer: by area, and by pieces of which no two share a sheet
    """

    sheet: Size | None
    count: int
    least: int
    too_large: tuple[Size, ...] = ()


def sheets(pieces: Sequence[Size], stock: Sequence[Size], kerf_mm: float) -> SheetPlan:
    """The size of sheet that takes the least area, and how many.

    pieces  length along the face grain and width of each; they are not turned
    stock   sizes that are sold
    Each piece goes into the smallest free rectangle that holds it, and what is left of that is split by the cut that
    leaves the larger whole. Several orders of the pieces are tried, every one for up to six pieces; the best is kept.
    """
    large = tuple(one for one in pieces if not any(_fits(one, sheet) for sheet in stock))
    good = [one for one in pieces if one not in large]
    sizes = [sheet for sheet in stock if all(_fits(one, sheet) for one in good)] or [max(stock, key=_area)]
    large += tuple(one for one in good if not _fits(one, sizes[0]))
    good = [one for one in good if _fits(one, sizes[0])]
    if not good:
        return SheetPlan(None, 0, 0, large)
    plans = [_on(good, sheet, kerf_mm, large) for sheet in sizes]
    return min(plans, key=lambda plan: plan.count * _area(plan.sheet or sizes[0]))


def _on(good: list[Size], sheet: Size, kerf_mm: float, large: tuple[Size, ...]) -> SheetPlan:
    runs = [good[at : at + MOST_PIECES] for at in range(0, len(good), MOST_PIECES)]
    count = sum(_best(run, sheet, kerf_mm) for run in runs)
    return SheetPlan(sheet, count, _least(good, sheet, kerf_mm), large)


def _best(good: list[Size], sheet: Size, kerf_mm: float) -> int:
    """The fewest sheets of the orders tried; stops where no fewer are possible."""
    least, count = _least(good, sheet, kerf_mm), len(good)
    for order in _orders(good):
        count = min(count, _cut(order, sheet, kerf_mm))
        if count <= least:
            break
    return count


def _orders(good: list[Size]) -> list[list[Size]]:
    sorted_ways = [
        sorted(good, key=_area, reverse=True),
        sorted(good, key=lambda one: (one[0], one[1]), reverse=True),
        sorted(good, key=lambda one: (one[1], one[0]), reverse=True),
    ]
    every = [list(one) for one in dict.fromkeys(permutations(good))] if len(good) <= EVERY_ORDER else []
    return [*sorted_ways, *every]


def _cut(order: list[Size], sheet: Size, kerf_mm: float) -> int:
    """Sheets used when the pieces come in this order."""
    free: list[Size] = []
    used = 0
    for piece in order:
        holds = [one for one in free if _fits(piece, one)]
        if not holds:
            used += 1
            holds = [sheet]
            free.append(sheet)
        best = min(holds, key=_area)
        free.remove(best)
        free += _split(best, piece, kerf_mm)
    return used


def _split(room: Size, piece: Size, kerf_mm: float) -> list[Size]:
    """What is left of a rectangle when a piece is cut from its corner, by the cut that leaves the larger whole."""
    along, across = room[0] - piece[0] - kerf_mm, room[1] - piece[1] - kerf_mm
    first = [(along, room[1]), (piece[0], across)]
    second = [(along, piece[1]), (room[0], across)]
    ways = [[one for one in way if min(one) > 0] for way in (first, second)]
    return max(ways, key=lambda way: max((_area(one) for one in way), default=0.0))


def _least(good: list[Size], sheet: Size, kerf_mm: float) -> int:
    whole = (sheet[0] + kerf_mm) * (sheet[1] + kerf_mm)
    area = math.ceil(sum((a + kerf_mm) * (b + kerf_mm) for a, b in good) / whole - 1e-9)
    alone = sum(2 * a + kerf_mm > sheet[0] and 2 * b + kerf_mm > sheet[1] for a, b in good)
    return max(area, alone, 1)


def _fits(piece: Size, room: Size) -> bool:
    return piece[0] <= room[0] + 1e-6 and piece[1] <= room[1] + 1e-6


def _area(size: Size) -> float:
    return size[0] * size[1]
