"""The moisture of wood at a place through the year, as a picture: the band between sheltered wood and wood in the rain."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure as Plot

from ..deriving.board_year import BoardYear
from ..units import print_size
from .blocks import Figure
from .plotting import BLACK, drawn, months_axis, number_at
from .sheets import MONTHS

SIZE_IN = (7.2, 2.4)
REACH_PCT, STEP_PCT = (4.0, 32.0), 4.0
BOX = {"left": 0.06, "right": 0.85, "top": 0.9, "bottom": 0.1}


def figure(year: BoardYear, units: str) -> Figure | None:
    """The year at a place; None where a month of it is not known."""
    if np.isnan([year.sheltered, year.rained_on, year.low, year.high]).any():
        return None
    title = (
        f"Moisture of a bare board of {year.species} here, {print_size(year.thickness_mm, units)} thick, by month: "
        "sheltered, and lying flat in the rain. Pale grey: from the driest sheltered to the wettest rained-on reading of the model."
    )
    return Figure(drawn(lambda: _plot(year)), title, _words(year))


def _plot(year: BoardYear) -> Plot:
    plot = Plot(figsize=SIZE_IN)
    axes = plot.subplots(gridspec_kw=BOX)
    low = min(REACH_PCT[0], np.floor(year.low.min() / STEP_PCT) * STEP_PCT)
    high = max(REACH_PCT[1], np.ceil(year.high.max() / STEP_PCT) * STEP_PCT)
    axes.set_ylim(low, high)
    axes.set_yticks(np.arange(low, high + 1, STEP_PCT))
    months_axis(axes)
    axes.set_title("Moisture content [%]", loc="left", fontsize=9)
    across = np.arange(12)
    axes.fill_between(across, year.low, year.high, color="0.93", linewidth=0)
    axes.fill_between(across, year.sheltered, year.rained_on, color="0.8", linewidth=0)
    for values, style, name in ((year.rained_on, "s--", "in the rain"), (year.sheltered, "o-", "sheltered")):
        axes.plot(values, style, color=BLACK, linewidth=1.2, markersize=4)
        axes.annotate(name, (11, values[-1]), (9, 0), textcoords="offset points", va="center", fontsize=9)
    for month in across:
        # The wetter of the two is lettered above its point, the drier below, so that no figure lies in the band.
        for values, other in ((year.rained_on, year.sheltered), (year.sheltered, year.rained_on)):
            above = values[month] > other[month] or (values[month] == other[month] and values is year.rained_on)
            number_at(axes, int(month), values[month], ".0f", 6 if above else -6)
    return plot


def _words(year: BoardYear) -> str:
    months = (
        f"{name} {dry:.0f} % sheltered, {wet:.0f} % in the rain ({low:.0f} to {high:.0f})"
        for name, dry, wet, low, high in zip(MONTHS, year.sheltered, year.rained_on, year.low, year.high, strict=True)
    )
    return "; ".join(months) + "."
