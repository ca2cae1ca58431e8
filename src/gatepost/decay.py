"""Decay hazard of a climate: pure functions of arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .arrays import floats, quiet

Array = np.ndarray

LOGISTIC_MOST_PCT = 100.0


def scheffer_index(t_c: ArrayLike, rain_days: ArrayLike) -> Array:
    """Climate index of decay above ground, form in degrees Fahrenheit: sum of (T - 35)(D - 3)/30 over the months.

    t_c        mean temperature of each month, last axis twelve months [°C]
    rain_days  days with at least 0.25 mm of rain in each month
    A month below 35 °F or with fewer than 3 rain days adds nothing; a missing month makes the index NaN.

    Scheffer 1971 (constants recalled). Madison, Wisconsin, is of the order of 44 to 52.
    """
    t, days = floats(t_c, rain_days)
    return _sum(t * 1.8 + 32 - 35, days, 30)


def scheffer_index_metric(t_c: ArrayLike, rain_days: ArrayLike) -> Array:
    """The same index in its metric form, sum of (T - 2)(D - 3)/16.7; 1 to 5 lower than the other form."""
    t, days = floats(t_c, rain_days)
    return _sum(t - 2, days, 16.7)


def _sum(warmth: Array, rain_days: Array, divisor: float) -> Array:
    return (np.maximum(warmth, 0) * np.maximum(rain_days - 3, 0)).sum(axis=-1) / divisor


def logistic_dose(
    moisture_pct: ArrayLike, t_c: ArrayLike, moisture_terms: ArrayLike, heat_terms: ArrayLike, heat_weight: float
) -> Array:
    """Dose of one day for the logistic dose-response model, 0 to about 1 [days].

    moisture_pct    daily mean of the wood; below 25 % no dose; above 100, where its polynomial runs away, NaN [%]
    t_c             daily mean of the wood; outside 0 to 40 °C no dose [°C]
    moisture_terms  coefficients of u^5 ... u^0; heat_terms of T^4 ... T^0
    heat_weight     how much heavier heat weighs than moisture

    Brischke and Meyer-Veltrup 2016 (recalled); its own rating curve goes with it, never the simplified model's dose.
    """
    u, t = floats(moisture_pct, t_c)
    wet = np.where(u >= 25, np.maximum(np.polyval(np.asarray(moisture_terms), u), 0), 0)
    warm = np.where((t > 0) & (t < 40), np.maximum(np.polyval(np.asarray(heat_terms), t), 0), 0)
    dose = np.where((wet > 0) & (warm > 0), (heat_weight * warm + wet) / (heat_weight + 1), 0.0)
    return np.where(np.isnan(u) | np.isnan(t) | (u > LOGISTIC_MOST_PCT) | (u < 0), np.nan, dose)


def logistic_rating(total_dose: ArrayLike, steepness: tuple[float, float]) -> Array:
    """Mean decay rating, 0 sound to 4 failed, after a total dose [days]: 4 exp(-exp(t0 - t1 dose)); below 0 NaN."""
    [dose] = floats(total_dose)
    rating = 4 * np.exp(-np.exp(steepness[0] - steepness[1] * dose))
    return np.where(dose >= 0, rating, np.nan)


def logistic_dose_for(rating: ArrayLike, steepness: tuple[float, float]) -> Array:
    """Total dose at which the mean rating is reached; rating above 0 and below 4, else NaN [days]."""
    [rating] = floats(rating)
    with quiet():
        dose = (steepness[0] - np.log(-np.log(rating / 4))) / steepness[1]
    return np.where((rating > 0) & (rating < 4), dose, np.nan)


def simple_dose(moisture_pct: ArrayLike, t_c: ArrayLike, full_pct: float, full_c: float, power: float) -> Array:
    """Dose of one day for the simplified model, 0 to 1 [days].

    full_pct, full_c  moisture and temperature from which on each counts whole [%], [°C]
    power             of the moisture below that

    Isaksson, Brischke and Thelandersson 2013 (recalled); goes with its own critical dose of 325 days.
    """
    u, t = floats(moisture_pct, t_c)
    wet = np.clip(u / full_pct, 0, 1) ** power
    warm = np.clip(t / full_c, 0, 1)
    return np.where(np.isnan(u) | np.isnan(t) | (u > 200) | (u < 0), np.nan, wet * warm)


def years_to(total_dose: ArrayLike, dose_a_year: ArrayLike) -> Array:
    """Years until a total dose is reached; infinite where no dose comes in a year, NaN unknown [years]."""
    total, yearly = floats(total_dose, dose_a_year)
    with quiet():
        return np.where(yearly == 0, np.where(np.isnan(total), np.nan, np.inf), total / yearly)


def exposure_index(
    place: ArrayLike,
    local: ArrayLike,
    shelter: ArrayLike,
    ground: ArrayLike,
    detail: ArrayLike,
    consequence: ArrayLike,
    calibration: float = 1.0,
) -> Array:
    """Design exposure index: product of place, local exposure, rain protection, ground distance, detail and consequence.

    All factors of one edition, dimensionless; 1 is a horizontal spruce member in the rain at Helsinki without a water
    trap. Above ground only (use class 3). Accepted where it is below the resistance index: no onset of decay in 30
    years. SP Rapport 2012:22, form seen.
    """
    factors = (place, local, shelter, ground, detail, consequence)
    [out] = floats(calibration)
    for factor in floats(*factors):
        out = out * factor
    return np.where(out > 0, out, np.nan)
