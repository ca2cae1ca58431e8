"""What a part costs: amounts, first cost, upkeep, replacement over the years. Arrays only; NaN means unknown.

Money is in one currency, whichever it is. Without a rate nothing is discounted: a sum next year counts as much as now.
"""

from __future__ import annotations

import numpy as np

Array = np.ndarray
Given = np.ndarray | float

M3_PER_BOARD_FOOT = 0.3048**3 / 12
"""A board foot is a twelfth of a cubic foot of nominal size."""
MM3_PER_M3, MM2_PER_M2, MM_PER_M = 1e9, 1e6, 1e3
_HAIR = 1e-9
"""Else twenty years of two-year coats count one coat too many by rounding."""


def volume_m3(pieces: Given, thickness_mm: Given, width_mm: Given, length_mm: Given) -> Array:
    """Volume of all pieces.

    >>> float(round(volume_m3(12 / 1, 25.4, 304.8, 304.8) / M3_PER_BOARD_FOOT, 6))
    12.0
    """
    return np.multiply(pieces, thickness_mm) * width_mm * length_mm / MM3_PER_M3


def nominal_mm(dressed_mm: Given, allowance_mm: float, steps_mm: Array) -> Array:
    """Size that a dressed piece was sawn to: the least step that is larger by what planing takes off.

    steps_mm  sizes that are sawn, rising; beyond the last unknown

    >>> nominal_mm([38.1, 19.05], 3.2, [25.4, 50.8]).tolist()
    [50.8, 25.4]
    """
    size = np.asarray(dressed_mm, float)
    at = np.searchsorted(np.asarray(steps_mm, float), np.nan_to_num(size) + allowance_mm - _HAIR)
    return np.where(np.isnan(size), np.nan, np.append(steps_mm, np.nan)[at])


def face_m2(pieces: Given, width_mm: Given, length_mm: Given) -> Array:
    """One broad face of all pieces."""
    return np.multiply(pieces, width_mm) * length_mm / MM2_PER_M2


def coat_m2(pieces: Given, thickness_mm: Given, width_mm: Given, length_mm: Given, faces: Given) -> Array:
    """Area under one coat.

    faces  0 all six, 1 one broad face, 2 the four edges; others unknown
    """
    t, w, length = (np.asarray(one, float) for one in (thickness_mm, width_mm, length_mm))
    edges = 2 * t * (w + length)
    area = np.select([np.equal(faces, one) for one in (0, 1, 2)], [2 * w * length + edges, w * length, edges], np.nan)
    return np.multiply(pieces, area) / MM2_PER_M2


def first_cost(amount: Given, price: Given, labour: Given, waste_share: Given) -> Array:
    """Material with its offcuts, and the work on what stays.

    amount       in the unit of the price
    waste_share  of the material that is bought and cut away, 0 to below 1
    """
    return np.asarray(amount) * price / (1 - np.asarray(waste_share)) + np.asarray(amount) * labour


def times_within(every_years: Given, years: Given) -> Array:
    """How often something that comes every so many years falls after the start and before the end.

    NaN where either is unknown or not above zero; never (infinite) is 0 times.
    """
    every, until = np.broadcast_arrays(np.asarray(every_years, float), np.asarray(years, float))
    with np.errstate(divide="ignore", invalid="ignore"):
        times = np.maximum(np.ceil(until / every - _HAIR) - 1, 0)
    return np.where((every > 0) & (until > 0), times, np.nan)


def life_cost(first: Given, care: Given, coat: Given, coat_every_years: Given, life_years: Given) -> Array:
    """First cost, yearly care and coats of one part until it fails.

    care              a year
    coat              of one new coat
    coat_every_years  infinite where none is given
    """
    return np.asarray(first) + care * np.asarray(life_years) + _coats(coat, times_within(coat_every_years, life_years))


def cost_per_year(first: Given, care: Given, coat: Given, coat_every_years: Given, life_years: Given) -> Array:
    """Cost of one year of service: all that one part costs until it fails, by the years that it serves."""
    return life_cost(first, care, coat, coat_every_years, life_years) / np.asarray(life_years, float)


def chain_cost(
    first: Given, care: Given, coat: Given, coat_every_years: Given, life_years: Given, wanted_years: Given
) -> Array:
    """Cost over the years wanted: replaced by the same whenever it fails, coats counted anew from each replacement."""
    more = times_within(life_years, wanted_years)
    rest = np.asarray(wanted_years) - more * np.asarray(life_years)
    coats = times_within(coat_every_years, life_years)
    coats = more * np.where(more > 0, coats, 0) + times_within(coat_every_years, rest)
    return (more + 1) * np.asarray(first) + care * np.asarray(wanted_years) + _coats(coat, coats)


def _coats(coat: Given, times: Array) -> Array:
    """Where no coat comes its price need not be known."""
    return np.where(times == 0, 0, coat * times)


def by_year(
    first: float, care: float, coat: float, coat_every_years: float, life_years: float, wanted_years: float
) -> dict[str, Array]:
    """The same year by year: purchases, care and coats of year 0 (the start) to the last year wanted.

    What falls within a year is counted at its end; nothing is bought or coated at the very end.
    """
    last = int(np.ceil(wanted_years - _HAIR))
    starts, coats = moments(coat_every_years, life_years, wanted_years)
    years = np.full(last + 1, care)
    years[0] = 0
    years[-1] *= 1 - (last - wanted_years)
    bought, coated = _booked(starts, last), _booked(coats, last)
    return {"bought": bought * first, "care": years, "coats": _coats(coat, coated)}


def moments(coat_every_years: float, life_years: float, wanted_years: float) -> tuple[Array, Array]:
    """Years of the purchases (the first at 0) and of the new coats, counted anew from each purchase; NaN where unknown.

    life_years  infinite where it is never bought again
    """
    more = float(times_within(life_years, wanted_years))
    if np.isnan(more):
        return np.array([0.0, np.nan]), np.array([np.nan])
    starts = np.append(0.0, np.arange(1, more + 1) * life_years)
    ends = np.minimum(starts + life_years, wanted_years)
    coats = [at + _within(coat_every_years, end - at) for at, end in zip(starts, ends, strict=True)]
    return starts, np.concatenate(coats)


def _within(every_years: float, years: float) -> Array:
    times = float(times_within(every_years, years))
    return np.array([np.nan]) if np.isnan(times) else every_years * np.arange(1, times + 1)


def _booked(times: Array, last: int) -> Array:
    """How many of the times fall within each year, counted at its end; unknown where a time is."""
    if np.isnan(times).any():
        return np.full(last + 1, np.nan)
    return np.bincount(np.ceil(times - _HAIR).astype(int), minlength=last + 1).astype(float)


def present_cost(yearly: Given, rate_pct: float = 0.0) -> Array:
    """Present sum of costs at the ends of the years 0, 1, 2 ... along the last axis."""
    return spent(yearly, rate_pct)[..., -1]


def spent(yearly: Given, rate_pct: float = 0.0) -> Array:
    """Present sum of all costs so far, at the ends of the years 0, 1, 2 ... along the last axis."""
    yearly = np.asarray(yearly, float)
    return (yearly / (1 + rate_pct / 100) ** np.arange(yearly.shape[-1])).cumsum(axis=-1)


def clearly_less(one_high: Given, other_low: Given) -> Array:
    """Is a band clearly below another? Only if the two do not overlap; an unknown end settles nothing."""
    return np.asarray(one_high) < np.asarray(other_low)
