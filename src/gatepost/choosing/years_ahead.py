"""One part over the years: what was spent by when, what falls due when, and what would turn the order of two choices."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from .. import cost
from ..deriving.life import MOST_YEARS

ENDS = ("low", "likely", "high")
LOOK_TIMES = 2
"""How far beyond the years wanted a turn of the order is looked for."""
MOST_FALL_PCT = 90.0
"""Beyond this no fall of a price is told: nothing is that much cheaper."""
STEP_PCT = 5.0
BEYOND, MOST_TIMES = 1.15, 3.0
"""The picture of the lives reaches so far beyond what it shows, and no further than so many times the years wanted."""

Costs = Mapping[str, float]


@dataclass(frozen=True)
class Marks:
    """What falls due in which year after the start, by the likely life; None where it is not known.

    coats, replaced  years, rounded up
    every_years      from one coat to the next; infinite without a finish, NaN where not known
    """

    coats: list[int] | None
    replaced: list[int] | None
    every_years: float


@dataclass(frozen=True)
class Turn:
    """What would turn the order of cost of the part as written and another side, both by the likely life; places of sides.

    cheaper          over the years wanted; None where a cost is not known or both cost the same
    first_cheaper    to buy
    even_year        from this year on, as far as it was looked, the one that is dearer to buy has cost less; None: never
    looked_to_years  how far it was looked
    fall_pct         by how much the price of the dearer one's material must fall for the two to cost the same
    """

    other: int
    cheaper: int | None
    first_cheaper: int | None
    even_year: int | None
    looked_to_years: float
    fall_pct: float | None


def spent(costs: Costs, part: pd.Series, wanted: float, interest_pct: float = 0.0) -> dict[str, np.ndarray]:
    """All that was spent by the end of each year, from year 0: least, likely and most; NaN where not known.

    A long life and rare coats make the low end. A life without a high end may be endless; one without a low end, or of
    none, may ask for any number of purchases: then the most is not known after the start.
    """
    lives = {end: float(part[f"service_life_{end}_years"]) for end in ENDS}
    longest = np.inf if np.isnan(lives["high"]) and lives["low"] > 0 else lives["high"]
    likely, least, most = (
        _spent(costs, life, costs[f"coat_every_{other}"], wanted, interest_pct)
        for life, other in ((lives["likely"], "likely"), (longest, "high"), (lives["low"], "low"))
    )
    return {"low": np.fmin(least, likely) if longest > 0 else least, "likely": likely, "high": _above(most, likely)}


def _above(most: np.ndarray, likely: np.ndarray) -> np.ndarray:
    return np.where(np.isnan(most), np.nan, np.fmax(most, likely))


def _spent(costs: Costs, life: float, every: float, wanted: float, interest_pct: float) -> np.ndarray:
    known = life > 0
    made = cost.by_year(costs["first"], costs["care"], costs["coat"], every, life if known else wanted, wanted)
    total = cost.spent(made["bought"] + made["care"] + made["coats"], interest_pct)
    return total if known else np.where(np.arange(len(total)) == 0, total, np.nan)


def marks(part: pd.Series, every_years: float, wanted: float) -> Marks:
    """When a new coat and a new part fall due; without a published life the coats of the years wanted."""
    life = float(part["service_life_likely_years"])
    starts, coats = cost.moments(every_years, life if life > 0 else wanted, wanted)
    return Marks(_whole(coats), _whole(starts[1:]) if life > 0 else None, every_years)


def _whole(times: np.ndarray) -> list[int] | None:
    return None if np.isnan(times).any() else np.ceil(times - 1e-9).astype(int).tolist()


def turn(other: int, costs: list[Costs], parts: list[pd.Series], wanted: float, interest_pct: float = 0.0) -> Turn:
    """What would turn the order of the part as written and another side; costs and facts of both. With interest no fall of a price is told."""
    far = LOOK_TIMES * wanted
    near, long = (
        [spent(one, part, years, interest_pct)["likely"] for one, part in zip(costs, parts, strict=True)]
        for years in (wanted, far)
    )
    cheaper, first = _lesser(near[0][-1], near[1][-1]), _lesser(near[0][0], near[1][0])
    fall = None if cheaper is None or interest_pct else _fall(costs, parts, near, 1 - cheaper, wanted)
    even = None if first is None else _even_year(long[first], long[1 - first])
    places = {0: 0, 1: other, None: None}
    return Turn(other, places[cheaper], places[first], even, far, fall)


def _lesser(one: float, other: float) -> int | None:
    if np.isnan(one) or np.isnan(other) or np.isclose(one, other):
        return None
    return int(other < one)


def _even_year(first: np.ndarray, later: np.ndarray) -> int | None:
    """The year from which the later one has cost less, and stays so."""
    if np.isnan(first).any() or np.isnan(later).any() or later[-1] >= first[-1]:
        return None
    return int(np.flatnonzero(later >= first)[-1]) + 1


def _fall(costs: list[Costs], parts: list[pd.Series], near: list[np.ndarray], at: int, wanted: float) -> float | None:
    """In percent of the price of its material, up to the next whole step."""
    life = float(parts[at]["service_life_likely_years"])
    material = costs[at]["material"] * (cost.times_within(life, wanted) + 1)
    fall = float((near[at][-1] - near[1 - at][-1]) / material) * 100
    fall = float(np.ceil(fall / STEP_PCT - 1e-9) * STEP_PCT)
    return fall if fall <= MOST_FALL_PCT else None


def drawn_to(parts: list[pd.Series], wanted: float) -> float:
    """How far a picture of the lives reaches [years]: beyond the years wanted, and to the last end if that is not too far."""
    ends = np.array([float(part[f"service_life_{end}_years"]) for part in parts for end in ("low", "high")])
    last = max(ends[ends < MOST_YEARS], default=0.0)
    return float(np.ceil(max(BEYOND * wanted, min(BEYOND * last, MOST_TIMES * wanted))))
