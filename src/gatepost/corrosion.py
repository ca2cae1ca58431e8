"""Metal wasting away in the open air, and wood wet enough to eat it: pure functions of arrays.

Losses may be in µm or in g/m², as long as all of one call are in the same unit.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .arrays import floats, inside, quiet

Array = np.ndarray

STRAIGHT_AFTER_YEARS = 20.0
LONGEST_YEARS = 100.0
DRY, DOUBTFUL, WET = 0, 1, 2


def loss(
    years: ArrayLike, first_year: ArrayLike, exponent: ArrayLike, straight_after_years: float = STRAIGHT_AFTER_YEARS
) -> Array:
    """Metal lost by a time of standing outdoors: D = r t^b, and a straight line at the slope reached after 20 years.

    years                 time outdoors, 0 to 100; outside NaN [years]
    first_year            loss in the first year, not negative; negative NaN [µm or g/m²]
    exponent              b of the metal, above 0 to 1; outside NaN [-]
    straight_after_years  where the line takes over; 100 keeps the curve to its end [years]

    ISO 9224:2012, law and Table 3 (read in a transcription): guiding values, of flat metal in free air. Carbon steel
    at ten years, where the table has 3.334 times the first year:
    >>> round(float(loss(10, 1, 0.523)), 3)
    3.334
    """
    t, r, b = floats(years, first_year, exponent)
    with quiet():
        curved = np.minimum(t, straight_after_years) ** b
        straight = _slope(b, straight_after_years) * np.maximum(t - straight_after_years, 0)
        return np.where(inside(t, 0, LONGEST_YEARS) & (r >= 0) & _fair(b), r * (curved + straight), np.nan)


def years_until(lost: ArrayLike, first_year: ArrayLike, exponent: ArrayLike) -> Array:
    """Years until a loss is reached, the closed inverse of `loss`; 100 stands for 100 or more.

    lost        loss that is waited for, not negative; negative NaN [µm or g/m²]
    first_year  loss in the first year, not negative; negative NaN [same unit]
    exponent    b of the metal, above 0 to 1 (1: the straight line through the first year); outside NaN [-]

    85 µm of zinc at 2.1 µm every year, the straight line of the galvanizers:
    >>> round(float(years_until(85, 2.1, 1)), 1)
    40.5
    """
    d, r, b = floats(lost, first_year, exponent)
    with quiet():
        share = np.where(d == 0, 0, d / r)
        straight = STRAIGHT_AFTER_YEARS + (share - STRAIGHT_AFTER_YEARS**b) / _slope(b, STRAIGHT_AFTER_YEARS)
        years = np.where(share <= STRAIGHT_AFTER_YEARS**b, share ** (1 / b), straight)
        return np.where((d >= 0) & (r >= 0) & _fair(b), np.minimum(years, LONGEST_YEARS), np.nan)


def _slope(exponent: Array, years: float) -> Array:
    return exponent * years ** (exponent - 1)


def _fair(exponent: Array) -> Array:
    return (exponent > 0) & (exponent <= 1)


def ring_depth_um(diameter_mm: ArrayLike, share: ArrayLike) -> Array:
    """Depth lost all round a shank when its diameter is down by a share [µm].

    diameter_mm  of the shank, positive; else NaN [mm]
    share        part of the diameter that is gone, 0 to 1; outside NaN [-]

    >>> float(ring_depth_um(4, 0.1))
    200.0
    """
    d, part = floats(diameter_mm, share)
    return np.where((d > 0) & inside(part, 0, 1), 1000 * d * part / 2, np.nan)


def moisture_stage(mc_pct: ArrayLike, low_pct: float, high_pct: float) -> Array:
    """Stage of wood for the metal in it: 0 dry, 1 doubtful, 2 wet, -1 where the moisture content is unknown.

    mc_pct             moisture content, not negative; negative unknown [%]
    low_pct, high_pct  below the one the metal hardly corrodes, above the other it does [%]

    >>> moisture_stage([12, 15, 18, 22], 15, 18).tolist()
    [0, 1, 1, 2]
    """
    [mc] = floats(mc_pct)
    stage = np.where(mc < low_pct, DRY, np.where(mc <= high_pct, DOUBTFUL, WET))
    return np.where(mc >= 0, stage, -1)
