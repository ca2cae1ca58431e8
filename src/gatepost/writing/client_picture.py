"""The pictures of the client's page: how long each choice lasts, what was spent by when, what falls due. No text of the lists."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Plot
from matplotlib.ticker import MaxNLocator

from . import teach_models as shapes
from .blocks import Figure
from .client_words import LETTERS, NOT_KNOWN, comes_to, counted, lettered, sides_of
from .plotting import BLACK, GREY, PALE, drawn

WIDE_IN = 7.2
LABELS, BETWEEN = 0.16, 0.04
"""Shares of the width: the names at the left, as wide as the first column of the page's table; right of each panel."""
LIFE_END, LIFE_NAMES = 0.8, 0.815
ROW_IN, LIFE_TOP_IN, LIFE_FOOT_IN = 0.23, 0.2, 0.34
MONEY_IN, DUE_ROW_IN, TOP_IN, FOOT_IN, APART_IN = {2: 1.4, 3: 1.15}, 0.17, 0.22, 0.34, 0.1
BAR, STRIPE_SHARE = 0.3, 0.0125
DARK, BAND = "0.35", "0.82"
LIFE_TITLE = "How long it lasts. Dark: it should stand. Striped: it may fail in these years. Broken line: the years you asked for."
MONEY_TITLE = "What has been spent by when, in {currency}. Heavy line: most likely. Grey: from the least to the most. Thin broken lines: the other choices."
DUE_TITLE = "What falls due when. Square: a new part is likely due. Dots: new coats. Grey: when a new part may be due."


def figures(out: shapes.Comparison) -> list[Figure]:
    """The pictures; that of the lives and that of the money only where one is known."""
    life = [Figure(drawn(lambda: _lives(out)), LIFE_TITLE, _lives_said(out))]
    title = (
        DUE_TITLE
        if not has_money(out)
        else f"{MONEY_TITLE.format(currency=out.currency)} Below: {DUE_TITLE[0].lower()}{DUE_TITLE[1:]}"
    )
    known = any(side.life_years.low is not None for side in sides_of(out))
    return [*(life if known else []), Figure(drawn(lambda: _years(out)), title, _years_said(out))]


def has_money(out: shapes.Comparison) -> bool:
    """Is the cost over the years of any choice known?"""
    return any(side.cost_over_life.likely is not None for side in sides_of(out))


def _lives(out: shapes.Comparison) -> Plot:
    sides = sides_of(out)
    high = LIFE_TOP_IN + ROW_IN * len(sides) + LIFE_FOOT_IN
    plot = Plot(figsize=(WIDE_IN, high))
    axes = plot.add_axes((LABELS, LIFE_FOOT_IN / high, LIFE_END - LABELS, ROW_IN * len(sides) / high))
    axes.set_xlim(0, out.drawn_to_years)
    axes.set_ylim(len(sides) - 0.5, -0.5)
    axes.set_yticks(range(len(sides)), LETTERS[: len(sides)], fontweight="bold")
    axes.tick_params(axis="y", length=0, pad=8)
    _year_ticks(axes)
    for row, side in enumerate(sides):
        _bar(axes, row, side, out.drawn_to_years)
        axes.annotate(side.lasts, (LIFE_NAMES, row), xycoords=("figure fraction", "data"), va="center")
    axes.axvline(out.wanted_years, color=BLACK, linewidth=1, linestyle=(0, (4, 2)))
    said = f"{counted(out.wanted_years, 'year')} asked for"
    axes.annotate(said, (out.wanted_years, -0.5), (0, 3), textcoords="offset points", ha="center", fontsize=8)
    return plot


def _bar(axes: Axes, row: int, side: shapes.TaughtSide, end: float) -> None:
    """Dark as long as it should stand, striped as long as it may; a point to the right where it goes on beyond the picture."""
    low, high = side.life_years.low, side.life_years.high
    if low is None:
        return
    axes.barh(row, min(low, end), 2 * BAR, color=DARK, linewidth=0)
    reach = min(end if high is None else high, end)
    step = end * STRIPE_SHARE
    axes.vlines(np.arange(low + step / 2, reach, step), row - BAR, row + BAR, color=BLACK, linewidth=0.7)
    axes.barh(row, reach, 2 * BAR, color="none", edgecolor=BLACK, linewidth=0.7)
    if high is None or high > end:
        axes.plot(end, row, ">", color=BLACK, markersize=7, clip_on=False)


def _year_ticks(axes: Axes) -> None:
    axes.xaxis.set_major_locator(MaxNLocator(6, integer=True))
    axes.set_xlabel("years", fontsize=8, labelpad=1)
    axes.tick_params(axis="x", labelsize=8, length=2, pad=2)


def _lives_said(out: shapes.Comparison) -> str:
    said = [f"{name}: {side.lasts}" for name, side in lettered(out)]
    return f"Years that each choice lasts, beside the {counted(out.wanted_years, 'year')} asked for. {'; '.join(said)}."


def _years(out: shapes.Comparison) -> Plot:
    """A column for each choice: the money above, what falls due below, on the same years."""
    sides = sides_of(out)
    due = _due_rows(out)
    low_in = DUE_ROW_IN * len(due)
    money_in = MONEY_IN[len(sides)]
    high = TOP_IN + (money_in + APART_IN if has_money(out) else 0.0) + low_in + FOOT_IN
    plot = Plot(figsize=(WIDE_IN, high))
    wide = (1 - LABELS) / len(sides)
    for at, side in enumerate(sides):
        left, across = LABELS + at * wide, wide - BETWEEN
        lower = plot.add_axes((left, FOOT_IN / high, across, low_in / high))
        _due(lower, side, due, out.wanted_years, named=at == 0)
        top = lower
        if has_money(out):
            top = plot.add_axes((left, (FOOT_IN + low_in + APART_IN) / high, across, money_in / high))
            _money(top, at, out, named=at == 0)
        top.set_title(_heading(side, LETTERS[at], out), loc="left", fontsize=9, fontweight="bold", pad=4)
    return plot


def _heading(side: shapes.TaughtSide, letter: str, out: shapes.Comparison) -> str:
    return f"{letter}: {comes_to(side.cost_over_life, out.currency or '')}" if has_money(out) else letter


def _money(axes: Axes, at: int, out: shapes.Comparison, named: bool) -> None:
    sides = sides_of(out)
    curves = [{end: _curve(side, end) for end in ("low", "likely", "high")} for side in sides]
    tops = [value for curve in curves for values in curve.values() for value in values if not np.isnan(value)]
    axes.set_xlim(0, out.wanted_years)
    axes.set_ylim(0, 1.12 * max(tops, default=1.0) or 1.0)
    axes.yaxis.set_major_locator(MaxNLocator(4))
    axes.grid(axis="y", color=PALE, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(axis="both", labelsize=8, length=2, labelbottom=False, labelleft=named)
    for other, curve in enumerate(curves):
        if other != at and len(curve["likely"]) and not np.isnan(curve["likely"][-1]):
            _ghost(axes, curve["likely"], LETTERS[other])
    _band(axes, **curves[at])


def _curve(side: shapes.TaughtSide, end: str) -> np.ndarray:
    values = [getattr(one, end) for one in side.spent]
    return np.array([np.nan if value is None else value for value in values], float)


def _ghost(axes: Axes, values: np.ndarray, letter: str) -> None:
    axes.step(range(len(values)), values, where="post", color=GREY, linewidth=0.9, linestyle=(0, (3, 2)))
    place = ((len(values) - 1) * 0.98, values[-1])
    axes.annotate(letter, place, (0, 1.5), textcoords="offset points", ha="right", fontsize=8, fontweight="bold")


def _band(axes: Axes, low: np.ndarray, likely: np.ndarray, high: np.ndarray) -> None:
    """The band with its likely line; where its top is not known, it is filled to the likely line and says so."""
    if not len(likely) or np.isnan(likely[0]):
        _said(axes, NOT_KNOWN)
        return
    across = np.arange(len(likely))
    top = np.where(np.isnan(high), likely, high)
    axes.fill_between(across, low, top, step="post", color=BAND, edgecolor=BLACK, linewidth=0.4)
    axes.step(across, likely, where="post", color=BLACK, linewidth=1.8)
    if len(likely) > 1 and np.isnan(likely[1]):
        axes.plot(0, likely[0], "o", color=BLACK, markersize=4, clip_on=False)
        _said(axes, "later costs not known")
    elif np.isnan(high).any():
        place = ((len(likely) - 1) * 0.03, likely[-1])
        axes.annotate("↑ may come to more", place, (0, 3), textcoords="offset points", fontsize=8)


def _said(axes: Axes, text: str) -> None:
    box = {"facecolor": "white", "edgecolor": "none", "pad": 1.5}
    axes.text(0.5, 0.15, text, transform=axes.transAxes, ha="center", va="center", fontsize=8, bbox=box)


Draw = Callable[[Axes, int, shapes.TaughtSide, float], None]


def _due_rows(out: shapes.Comparison) -> list[tuple[str, Draw]]:
    rows: list[tuple[str, Draw]] = [("new part", _new_parts), ("new coats", _coats)]
    return rows + ([("care", _care)] if any(side.due.care_every_year for side in sides_of(out)) else [])


def _due(axes: Axes, side: shapes.TaughtSide, rows: list[tuple[str, Draw]], wanted: float, named: bool) -> None:
    axes.set_xlim(0, wanted)
    axes.set_ylim(len(rows) - 0.5, -0.5)
    axes.set_yticks(range(len(rows)), [name for name, _ in rows] if named else [""] * len(rows))
    axes.tick_params(axis="y", length=0, labelsize=8)
    axes.spines["left"].set_visible(False)
    _year_ticks(axes)
    for row, (_, draw) in enumerate(rows):
        draw(axes, row, side, wanted)


def _new_parts(axes: Axes, row: int, side: shapes.TaughtSide, wanted: float) -> None:
    low, high = side.life_years.low, side.life_years.high
    if low is not None and low < wanted:
        reach = wanted if high is None else min(high, wanted)
        axes.barh(row, reach - low, 0.55, low, color=BAND, edgecolor=GREY, linewidth=0.5)
    _marks(axes, row, side.due.replaced, wanted, "s", "none likely" if low is not None and low < wanted else "none")


def _coats(axes: Axes, row: int, side: shapes.TaughtSide, wanted: float) -> None:
    _marks(axes, row, side.due.coats, wanted, "o", "none")


def _care(axes: Axes, row: int, side: shapes.TaughtSide, wanted: float) -> None:
    years = list(range(1, int(wanted) + 1)) if side.due.care_every_year else []
    _marks(axes, row, years, wanted, "|", "none")


def _marks(axes: Axes, row: int, years: list[int] | None, wanted: float, mark: str, none: str) -> None:
    if years:
        axes.plot(years, [row] * len(years), mark, color=BLACK, markersize=5 if mark == "s" else 4, clip_on=False)
    else:
        axes.text(wanted * 0.015, row, NOT_KNOWN if years is None else none, va="center", fontsize=8)


def _years_said(out: shapes.Comparison) -> str:
    return " ".join(_side_said(name, side, out) for name, side in lettered(out))


def _side_said(name: str, side: shapes.TaughtSide, out: shapes.Comparison) -> str:
    said = [f"{name}:"]
    if out.currency:
        said.append(f"spent in {counted(out.wanted_years, 'year')}: {comes_to(side.cost_over_life, out.currency)};")
    said.append(f"new part: {_in_years(side.due.replaced)}; new coats: {_in_years(side.due.coats)}.")
    return " ".join(said)


def _in_years(years: list[int] | None) -> str:
    if years is None:
        return NOT_KNOWN
    return "in year " + ", ".join(map(str, years)) if years else "none"
