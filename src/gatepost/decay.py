"""Decay hazard of a climate: pure functions of arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

Array = np.ndarray


def scheffer_index(t_c: ArrayLike, rain_days: ArrayLike) -> Array:
    """Climate index of decay above ground, form in degrees Fahrenheit: sum of (T - 35)(D - 3)/30 over the months.

    t_c        mean temperature of each month, last axis twelve months [°C]
    rain_days  days with at least 0.25 mm of rain in each month
    A month below 35 °F or with fewer than 3 rain days adds nothing; a missing month makes the index NaN.

    Scheffer 1971 (constants recalled). Madison, Wisconsin, is of the order of 44 to 52.
    """
    return _sum(np.asarray(t_c, float) * 1.8 + 32 - 35, rain_days, 30)


def scheffer_index_metric(t_c: ArrayLike, rain_days: ArrayLike) -> Array:
    """The same index in its metric form, sum of (T - 2)(D - 3)/16.7; 1 to 5 lower than the other form."""
    return _sum(np.asarray(t_c, float) - 2, rain_days, 16.7)


def _sum(warmth: Array, rain_days: ArrayLike, divisor: float) -> Array:
    wet = np.asarray(rain_days, float) - 3
    return (np.maximum(warmth, 0) * np.maximum(wet, 0)).sum(axis=-1) / divisor
