"""Moisture in wood and the movement that follows: pure functions of arrays. Temperatures in °C, lengths in mm or m."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .arrays import floats, inside, quiet

Array = np.ndarray

COLDEST_C, HOTTEST_C = -40.0, 132.2
SOFT_RH_PCT = 90.0
FREEZING_C = 0.0
SMALL_LOW_PCT, SMALL_HIGH_PCT = 6.0, 14.0
SATURATED_PCT = 30.0
BLOCK = 65536


def emc_pct(
    t: ArrayLike, rh_pct: ArrayLike, coefficients: ArrayLike, coldest: float = COLDEST_C, hottest: float = HOTTEST_C
) -> Array:
    """Equilibrium moisture content of wood [%].

    t             temperature, in the unit of the coefficients; outside coldest to hottest the answer is NaN
    rh_pct        relative humidity, 0 to below 100 [%]; outside NaN
    coefficients  rows W, K, K1, K2; columns constant, linear, quadratic in t
    Below freezing and above 90 % relative humidity the answer is soft: see `emc_is_soft`.

    Wood Handbook (FPL-GTR-282), eq. 4-5. With the Celsius set, 21.1 °C and 50 % (Table 4-2: 9.2):
    >>> c = [[349, 1.29, 0.0135], [0.805, 7.36e-4, -2.73e-6], [6.27, -9.38e-3, -3.03e-4], [1.91, 4.07e-2, -2.93e-4]]
    >>> round(float(emc_pct(21.1, 50, c)), 1)
    9.2
    """
    t, rh_pct = floats(t, rh_pct)
    w, k, k1, k2 = (c[0] + c[1] * t + c[2] * t**2 for c in floats(*np.asarray(coefficients)))
    kh = k * rh_pct / 100
    with quiet():
        bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
        emc = 1800 / w * (kh / (1 - kh) + bound)
    return np.where(inside(t, coldest, hottest) & inside(rh_pct, 0, 99.99), emc, np.nan)


def emc_is_soft(t_c: ArrayLike, rh_pct: ArrayLike) -> Array:
    """Is the sorption equation beyond the range of its table, or steep: below 0 °C, or above 90 % humidity?"""
    t, rh = floats(t_c, rh_pct)
    return (t < FREEZING_C) | (rh > SOFT_RH_PCT)


def across_grain(tangential: ArrayLike, radial: ArrayLike, ring_angle_deg: ArrayLike) -> Array:
    """Shrinkage or coefficient across the width of a board, from its two directions (same unit as given).

    ring_angle_deg   0 flat sawn, 90 quarter sawn; outside NaN [deg]

    Plane strain transformation, recalled, no single work. Flat sawn is all tangential:
    >>> float(across_grain(7.5, 3.8, 0))
    7.5
    """
    t, r, angle = floats(tangential, radial, ring_angle_deg)
    flat = np.cos(np.radians(angle)) ** 2
    return np.where(inside(angle, 0, 90), t * flat + r * (1 - flat), np.nan)


def coefficient_from_shrinkage(shrinkage_pct: ArrayLike, start_pct: ArrayLike = SATURATED_PCT) -> Array:
    """Dimensional change coefficient for each percent of moisture content [1/%].

    shrinkage_pct   from green to ovendry [%]
    start_pct       moisture content at which shrinkage starts, 30 for most woods, 22 for a few [%]

    Footnote of Wood Handbook Table 13-5, recalled and then checked by arithmetic against its rows.
    """
    s, f = floats(shrinkage_pct, start_pct)
    with quiet():
        return s / (100 * f - s * (f - 10))


def small_change(width: ArrayLike, coefficient: ArrayLike, from_pct: ArrayLike, to_pct: ArrayLike) -> Array:
    """Change in width, positive when it grows (unit of width).

    coefficient       change for each percent of moisture content [1/%]
    from_pct, to_pct  moisture content, 6 to 14; outside NaN [%]

    Wood Handbook eq. 13-2. Red alder, flat sawn, 100 mm, 8 to 12 percent:
    >>> round(float(small_change(100, 0.00256, 8, 12)), 2)
    1.02
    """
    w, c, start, end = floats(width, coefficient, from_pct, to_pct)
    change = w * c * (end - start)
    good = inside(from_pct, SMALL_LOW_PCT, SMALL_HIGH_PCT) & inside(to_pct, SMALL_LOW_PCT, SMALL_HIGH_PCT)
    return np.where(good, change, np.nan)


def wide_change(width: ArrayLike, shrinkage_pct: ArrayLike, from_pct: ArrayLike, to_pct: ArrayLike) -> Array:
    """Change in width over any range up to fibre saturation, positive when it grows (unit of width).

    shrinkage_pct     from green to ovendry [%]
    from_pct, to_pct  moisture content, 0 to 30; outside NaN [%]

    Wood Handbook eq. 13-3 (form recalled, its conditions read).
    """
    w, s, start, end = floats(width, shrinkage_pct, from_pct, to_pct)
    with quiet():
        change = w * (end - start) / (SATURATED_PCT * 100 / s - SATURATED_PCT + start)
    good = inside(start, 0, SATURATED_PCT) & inside(end, 0, SATURATED_PCT) & (s > 0)
    return np.where(good, change, np.nan)


def width_change(
    width: ArrayLike, coefficient: ArrayLike, shrinkage_pct: ArrayLike, from_pct: ArrayLike, to_pct: ArrayLike
) -> Array:
    """Change in width: eq. 13-2 where both moisture contents lie in 6 to 14 %, eq. 13-3 outside, never past 30 %.

    Moisture contents above fibre saturation count as fibre saturation; a missing coefficient leaves eq. 13-3.
    """
    low, high = np.minimum(from_pct, SATURATED_PCT), np.minimum(to_pct, SATURATED_PCT)
    small = small_change(width, coefficient, low, high)
    return np.where(np.isnan(small), wide_change(width, shrinkage_pct, low, high), small)


def swing_band_gap(
    width: Array,
    coefficient: Array,
    shrinkage_pct: Array,
    from_pct: Array,
    to_pct: Array,
    spread: ArrayLike,
    least: ArrayLike,
) -> Array:
    """Swing, its low and high, and the gap to leave, shape (4, boards), worked in blocks that fit the cache.

    width          at the first moisture content (its unit is that of the answers)
    coefficient    change for each percent of moisture content across the width, NaN where not known [1/%]
    shrinkage_pct  across the width, from green to ovendry [%]
    spread         share by which boards that move little or much differ from the likely one
    least          gap that should remain (unit of width)
    """
    out = np.empty((4, len(width)))
    spread, least = (np.broadcast_to(values, len(width)) for values in floats(spread, least))
    for start in range(0, len(width), BLOCK):
        rows = slice(start, start + BLOCK)
        swing = _block_change(width[rows], coefficient[rows], shrinkage_pct[rows], from_pct[rows], to_pct[rows])
        np.maximum(swing, 0, out=out[0, rows])
        reach = out[0, rows] * spread[rows]
        np.subtract(out[0, rows], reach, out=out[1, rows])
        np.add(out[0, rows], reach, out=out[2, rows])
        np.add(out[0, rows], least[rows], out=out[3, rows])
    return out


def _block_change(width: Array, coefficient: Array, shrinkage_pct: Array, from_pct: Array, to_pct: Array) -> Array:
    """`width_change` in the fewest passes: each equation alone where a whole block is its own, else both."""
    ends = from_pct.min(), from_pct.max(), to_pct.min(), to_pct.max()
    if not min(ends) >= 0 or not shrinkage_pct.min() > 0:
        return width_change(width, coefficient, shrinkage_pct, from_pct, to_pct)
    if max(ends[0], ends[2]) > SMALL_HIGH_PCT:
        return _block_wide(width, shrinkage_pct, from_pct, to_pct)
    small = to_pct - from_pct
    small *= width
    small *= coefficient
    is_small = ~np.isnan(small)
    if not (min(ends) >= SMALL_LOW_PCT and max(ends) <= SMALL_HIGH_PCT and is_small.all()):
        is_small &= (np.minimum(from_pct, to_pct) >= SMALL_LOW_PCT) & (np.maximum(from_pct, to_pct) <= SMALL_HIGH_PCT)
        np.copyto(small, _block_wide(width, shrinkage_pct, from_pct, to_pct), where=~is_small)
    return small


def _block_wide(width: Array, shrinkage_pct: Array, from_pct: Array, to_pct: Array) -> Array:
    """`wide_change` up to fibre saturation, for moisture contents of 0 or more and shrinkage above 0."""
    start, change = np.minimum(from_pct, SATURATED_PCT), np.minimum(to_pct, SATURATED_PCT)
    change -= start
    change *= width
    start -= SATURATED_PCT
    start += SATURATED_PCT * 100 / shrinkage_pct
    change /= start
    return change


def effective_thickness(a: ArrayLike, b: ArrayLike) -> Array:
    """Thickness of the slab that dries as fast as a bar a by b (same unit): 1/L² = 1/a² + 1/b²; b missing: L = a."""
    a, b = floats(a, b)
    with quiet():
        return np.where(np.isnan(b), a, 1 / np.sqrt(1 / a**2 + 1 / b**2))


def slab_response(thickness_m: ArrayLike, diffusion_m2_s: float, cycles_per_year: ArrayLike) -> Array:
    """Complex response of the mean moisture of a slab to a cycle at both of its faces (1 follows at once, 0 not at all).

    thickness_m     full thickness, both faces open [m]
    diffusion_m2_s  moisture diffusion coefficient [m2/s]

    Closed solution of periodic diffusion into a slab: tanh(z)/z, z = L/2 sqrt(i w/D).
    """
    thickness, cycles = floats(thickness_m, cycles_per_year)
    omega = 2 * np.pi * cycles / (365.25 * 86400)
    z = thickness / 2 * np.sqrt(1j * omega / diffusion_m2_s)
    with quiet():
        return np.where(z == 0, 1, np.tanh(z) / z)


def member_year(emc_months_pct: ArrayLike, thickness_m: ArrayLike, diffusion_m2_s: float) -> Array:
    """Mean moisture content of members by month, shape (members, 12) [%].

    emc_months_pct  equilibrium moisture content of the air, twelve months [%]
    thickness_m     thickness with both faces open, one a member; NaN gives NaN [m]
    """
    months = np.arange(12)
    cycles = np.arange(-5, 7)
    waves = np.exp(2j * np.pi * np.outer(cycles, months) / 12)
    emc, thickness = floats(emc_months_pct, thickness_m)
    spectrum = np.conj(waves) @ emc / 12
    response = slab_response(thickness[:, None], diffusion_m2_s, np.abs(cycles))
    response = np.where(cycles < 0, np.conj(response), response)
    return np.real((response * spectrum) @ waves)
