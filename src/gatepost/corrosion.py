"""Metal wasting away in the open air, and wood wet enough to eat it: pure functions of arrays.

Losses may be in µm or in g/m², as long as all of one call are in the same unit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .arrays import floats, inside, quiet

Array = np.ndarray

STRAIGHT_AFTER_YEARS = 20.0
LONGEST_YEARS = 100.0
DRY, DOUBTFUL, WET = 0, 1, 2
TURNING_C = 10.0

Ranges = list[tuple[float, float]]


@dataclass(frozen=True)
class Response:
    """Coefficients of one metal in the dose-response function of ISO 9223, in the order of its two terms.

    so2_factor, so2_power, so2_per_pct  the term of sulphur dioxide: factor, power of the deposit, per percent of humidity
    so2_per_c_cold, so2_per_c_warm      its slope by temperature up to 10 °C and above
    salt_factor, salt_power, salt_per_pct, salt_per_c  the term of chloride, with one slope by temperature
    """

    so2_factor: float
    so2_power: float
    so2_per_pct: float
    so2_per_c_cold: float
    so2_per_c_warm: float
    salt_factor: float
    salt_power: float
    salt_per_pct: float
    salt_per_c: float


def first_year_loss(
    t_c: ArrayLike,
    rh_pct: ArrayLike,
    so2_mg_m2_d: ArrayLike,
    chloride_mg_m2_d: ArrayLike,
    response: Response,
    ranges: Ranges,
) -> Array:
    """Loss of a bare metal in its first year outdoors [µm; aluminium g/m²].

    t_c, rh_pct       means of the year [°C, %]
    so2_mg_m2_d       sulphur dioxide that settles [mg/m² a day]
    chloride_mg_m2_d  chloride that settles [mg/m² a day]
    response          coefficients of the metal
    ranges            lowest and highest of the four, in this order; NaN outside any of them

    ISO 9223:2012, equations 1 to 4 (read where others quote them). Steel at 10 °C and 75 %, with 1 mg of each, worked
    by hand as 1.77 exp(1.5) + 0.102 exp(2.875):
    >>> steel = Response(1.77, 0.52, 0.02, 0.15, -0.054, 0.102, 0.62, 0.033, 0.04)
    >>> ranges = [(-17.1, 28.7), (34, 93), (0.7, 150.4), (0.4, 760.5)]
    >>> round(float(first_year_loss(10, 75, 1, 1, steel, ranges)), 2)
    9.74
    """
    t, rh, so2, salt = floats(t_c, rh_pct, so2_mg_m2_d, chloride_mg_m2_d)
    per_c = np.where(t <= TURNING_C, response.so2_per_c_cold, response.so2_per_c_warm)
    with quiet():
        sulphur = so2**response.so2_power * np.exp(response.so2_per_pct * rh + per_c * (t - TURNING_C))
        sea = salt**response.salt_power * np.exp(response.salt_per_pct * rh + response.salt_per_c * t)
        loss = response.so2_factor * sulphur + response.salt_factor * sea
    return np.where(within([t, rh, so2, salt], ranges), loss, np.nan)


def within(values: list[Array], ranges: Ranges) -> Array:
    """True where every value lies in its range; ValueError when there are more of the one than of the other.

    >>> within(floats([5, 5], [50, 99]), [(-17.1, 28.7), (34, 93)]).tolist()
    [True, False]
    """
    each = [inside(value, *bounds) for value, bounds in zip(values, ranges, strict=True)]
    return np.logical_and.reduce(np.broadcast_arrays(*each))


def class_place(first_year: ArrayLike, highest: ArrayLike) -> Array:
    """Place of a class by the loss of the first year: 0 the mildest, -1 where the loss is unknown or negative.

    first_year  loss of the first year [µm or g/m²]
    highest     highest loss of each class but the last, rising; a loss on the line is the milder class [same unit]

    ISO 9223:2012 Table 2. Steel, where 50 µm is still C3:
    >>> class_place([1.3, 50, 50.1, 900], [1.3, 25, 50, 80, 200]).tolist()
    [0, 2, 3, 5]
    """
    r, lines = floats(first_year, highest)
    return np.where(r >= 0, np.searchsorted(lines, r), -1)


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
