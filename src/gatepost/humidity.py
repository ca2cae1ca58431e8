"""Humidity of air: pure functions of arrays. Temperatures in °C."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .arrays import floats

Array = np.ndarray

COLDEST_C, HOTTEST_C = -45.0, 60.0


def rh_from_dew_point_pct(t_c: ArrayLike, dew_c: ArrayLike, slope: float, offset_c: float) -> Array:
    """Relative humidity over water, 0 to 100 [%]; a dew point above the temperature counts as 100.

    t_c, dew_c       air and dew point, -45 to 60; outside NaN [°C]
    slope, offset_c  Magnus constants of the vapour pressure over water: exp(slope t / (offset_c + t))
    Within 0.3 of the reference equations of moist air from 0 to 50 °C; below freezing weather stations keep to water.

    WMO guide to instruments, form and constants recalled. At 20 °C a dew point of 9.3 °C is half of saturation:
    >>> round(float(rh_from_dew_point_pct(20, 9.3, 17.62, 243.12)))
    50
    """
    t, dew = floats(t_c, dew_c)
    good = (np.minimum(t, dew) >= COLDEST_C) & (np.maximum(t, dew) <= HOTTEST_C)
    t, dew = np.where(good, t, np.nan), np.where(good, dew, np.nan)
    return 100 * np.exp(np.minimum(slope * (dew / (offset_c + dew) - t / (offset_c + t)), 0))
