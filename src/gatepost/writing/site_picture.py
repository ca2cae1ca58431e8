"""The year at a place as a picture (SVG): moisture of sheltered wood, rain days, temperature."""

from __future__ import annotations

import textwrap
from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..errors import InputError, Problem
from ..library import Library
from .models import SitePage
from .plotting import BLACK, GREY, drawn, in_a_valley, months_axis, number_at
from .save import save
from .sheets import MONTHS, SOFT, site_notes, site_where

WIDTH_IN, PANELS_IN, TOP_IN, FOOT_IN, LINE_IN = 7.2, 5.4, 0.85, 0.5, 0.155
LINE_SIGNS = 116
MOISTURE_PCT, RAIN_DAYS, WARMTH_C = (4.0, 24.0), (0.0, 30.0), (0.0, 30.0)
"""Least reach of the axes, so that pictures of two places can be laid side by side."""


def write(page: SitePage, path: Path, library: Library) -> None:
    """Draw a place's year into an SVG file; the old file stays whole until the new one is."""
    if path.suffix.lower() != ".svg":
        what = f'the suffix is "{path.suffix}"; the picture of a year is written as .svg'
        raise InputError([Problem(str(path), None, None, what)])
    save(draw(page, library), path)


def draw(page: SitePage, library: Library) -> str:
    """The picture as SVG text; equal input gives equal text."""
    svg = drawn(lambda: _figure(page, site_notes(page, library)))
    return _described(svg, page)


def _figure(page: SitePage, notes: list[str]) -> Figure:
    if any(month.soft for month in page.months):
        notes = [f"Hollow points: {SOFT}", *notes]
    lines = [line for note in notes for line in textwrap.wrap(note, LINE_SIGNS, subsequent_indent="   ")]
    title = textwrap.wrap(f"{page.site}: the year that gatepost uses", 60)
    top, foot = TOP_IN + 0.22 * (len(title) - 1), FOOT_IN + LINE_IN * len(lines)
    height = top + PANELS_IN + foot
    figure = Figure(figsize=(WIDTH_IN, height))
    grid = {"left": 0.105, "right": 0.975, "top": 1 - top / height, "bottom": (foot + 0.1) / height, "hspace": 0.3}
    moisture, rain, warmth = figure.subplots(3, 1, sharex=True, height_ratios=[5, 3, 2.2], gridspec_kw=grid)
    figure.text(0.025, 1 - 0.12 / height, "\n".join(title), fontsize=12, fontweight="bold", va="top")
    figure.text(0.025, 1 - (top - 0.46) / height, site_where(page), fontsize=9, color=GREY, va="top")
    for number, line in enumerate(lines):
        figure.text(0.025, (foot - 0.4 - LINE_IN * number) / height, line, fontsize=7.5, va="top")
    _moisture(moisture, page)
    _rain(rain, page)
    _warmth(warmth, page)
    return figure


def _year(page: SitePage, name: str) -> np.ndarray:
    return np.array([np.nan if (value := getattr(m, name)) is None else value for m in page.months], float)


def _panel(axes: Axes, title: str, values: np.ndarray, reach: tuple[float, float], step: float) -> None:
    """Frame, ticks and title of one panel; a month without a figure gets a dash, a year without any a word."""
    known = values[~np.isnan(values)]
    low, high = (min([reach[0], *known]), max([reach[1], *known]))
    axes.set_ylim(np.floor(low / step) * step if low < reach[0] else low, np.ceil(high / step) * step)
    axes.set_yticks(np.arange(np.ceil(axes.get_ylim()[0] / step) * step, axes.get_ylim()[1] + step / 2, step))
    months_axis(axes)
    axes.set_title(title, loc="left", fontsize=9)
    if not len(known):
        axes.text(0.5, 0.5, "not known", transform=axes.transAxes, ha="center", va="center", color=GREY)
    for month in np.flatnonzero(np.isnan(values)) if len(known) else []:
        axes.annotate("–", (month, axes.get_ylim()[0]), (0, 2), textcoords="offset points", ha="center", color=GREY)


def _labels(axes: Axes, values: np.ndarray, form: str, away: float, valleys: bool = False) -> None:
    """The figure at each point, above it; with `valleys`, below a point that lies lower than its neighbours."""
    for month in np.flatnonzero(~np.isnan(values)):
        below = valleys and in_a_valley(values, int(month))
        number_at(axes, int(month), values[month], form, -away if below else away)


def _moisture(axes: Axes, page: SitePage) -> None:
    values, soft = _year(page, "emc_pct"), np.array([month.soft for month in page.months])
    _panel(axes, "Moisture content of sheltered wood [%]", values, MOISTURE_PCT, 4)
    axes.plot(values, color=BLACK, linewidth=1.3)
    for which, face in ((~soft, BLACK), (soft, "white")):
        axes.plot(np.flatnonzero(which), values[which], "o", markersize=5, markerfacecolor=face, markeredgecolor=BLACK)
    _labels(axes, values, ".1f", 7, valleys=True)


def _rain(axes: Axes, page: SitePage) -> None:
    values = _year(page, "rain_days")
    _panel(axes, "Days with rain", values, RAIN_DAYS, 10)
    known = np.flatnonzero(~np.isnan(values))
    axes.bar(known, values[known], width=0.55, color="0.6", edgecolor=BLACK, linewidth=0.6)
    _labels(axes, values, ".0f", 2)


def _warmth(axes: Axes, page: SitePage) -> None:
    values = _year(page, "t_c")
    _panel(axes, "Mean temperature [°C]", values, WARMTH_C, 10)
    axes.axhline(0, color=GREY, linewidth=0.8)
    axes.plot(values, color=BLACK, linewidth=1, marker="o", markersize=2.5)
    _labels(axes, values, ".0f", 4)


def _described(svg: str, page: SitePage) -> str:
    """The picture with a title and a description for who cannot see it."""
    start = svg.index("<svg ")
    end = svg.index(">", start)
    title = f"The year at {page.site}: moisture of sheltered wood, rain days, temperature"
    words = f'\n <title id="title">{escape(title)}</title>\n <desc id="desc">{escape(_words(page))}</desc>'
    return f'{svg[:end]} role="img" aria-labelledby="title desc">{words}{svg[end + 1 :]}'


def _words(page: SitePage) -> str:
    months = [
        f"{MONTHS[m.month - 1]}: moisture {_or(m.emc_pct, '.1f', ' %')}{' (soft)' if m.soft else ''}, "
        f"rain days {_or(m.rain_days, '.0f', '')}, {_or(m.t_c, '.0f', ' °C')}"
        for m in page.months
    ]
    return "; ".join(months) + "."


def _or(value: float | None, form: str, unit: str) -> str:
    return "not known" if value is None else format(value, form) + unit
