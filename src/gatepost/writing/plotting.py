"""What the drawings share: one plain style in black and grey, text as text, equal input to equal SVG."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from .sheets import MONTHS

BLACK, GREY, PALE = "black", "0.45", "0.85"
STYLE: dict[Any, Any] = {
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 9,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.6,
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
    "svg.fonttype": "none",
    "svg.hashsalt": "gatepost",
    "text.parse_math": False,
}
NO_METADATA = dict.fromkeys(("Creator", "Date", "Format", "Type"))


def drawn(draw: Callable[[], Figure]) -> str:
    """The figure that `draw` makes, as SVG."""
    with matplotlib.rc_context():
        # A user's own style must not show in the picture.
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(STYLE)
        out = io.StringIO()
        draw().savefig(out, format="svg", metadata=NO_METADATA)
    return out.getvalue()


def months_axis(axes: Axes) -> None:
    """Twelve months across, and lines to read the height by."""
    axes.set_xlim(-0.6, 11.6)
    axes.set_xticks(range(12), MONTHS)
    axes.tick_params(axis="x", length=0, labelbottom=True)
    axes.grid(axis="y", color=PALE, linewidth=0.6)
    axes.set_axisbelow(True)


def number_at(axes: Axes, month: int, value: float, form: str, away: float) -> None:
    """A figure above its point, or below it where `away` is negative."""
    axes.annotate(
        format(value, form).replace("-", "−"),
        (month, value),
        (0, away),
        textcoords="offset points",
        ha="center",
        va="bottom" if away > 0 else "top",
        fontsize=8,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4},
    )


def in_a_valley(values: np.ndarray, month: int) -> bool:
    """Does a month lie lower than its neighbours?"""
    beside = [values[near] for near in (month - 1, month + 1) if 0 <= near < len(values)]
    return all(values[month] < value for value in beside)
