"""Moisture of members by month where rain reaches them: pure functions of arrays.

A proposal, not a published standard: two faces as parallel conductances, a lag by thickness, a monthly march, and a
band. Shapes: members (n, 1) against months (12,) give (n, 12). Its constants are assumptions and stand in a table.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .arrays import floats, inside

Array = np.ndarray

MONTH_DAYS = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
SATURATED_PCT = 30.0
DRIEST_PCT = 4.0
ZERO_C_K = 273.15
GAS_J_MOL_K = 8.314


@dataclass(frozen=True)
class Air:
    """Twelve months of a place: temperature [°C], relative humidity [0 to 1], rain days [days]."""

    t_c: Array
    rh: Array
    rain_days: Array


@dataclass(frozen=True)
class Face:
    """One broad face of each member, shape (n, 1).

    rain_share  share of rain days that reach the face, 0 to 1
    film_kpa_h  how long a film of water lasts: hours for each kPa of drying power
    snow        does snow lie on it
    """

    rain_share: Array
    film_kpa_h: Array
    snow: Array


@dataclass(frozen=True)
class Case:
    """One reading of the assumptions: likely, low or high.

    rain_times  factor on the rain days
    uptake      how much faster a wet face feeds water than a dry face gives it up
    offset_pct  added to the equilibrium of the air
    """

    rain_times: float
    uptake: float
    offset_pct: float


def drying_power_kpa(t_c: ArrayLike, rh: ArrayLike) -> Array:
    """Vapour pressure that the air can still take up, at least 0.05 [kPa].

    Magnus form over water; temperature -45 to 60 °C, humidity 0 to 1; outside NaN.
    >>> round(float(drying_power_kpa(1.7, 0.884)), 2)
    0.08
    """
    t_c, rh = floats(t_c, rh)
    saturated = 0.6112 * np.exp(17.62 * t_c / (243.12 + t_c))
    power = np.maximum(saturated * (1 - rh), 0.05)
    return np.where(inside(t_c, -45, 60) & inside(rh, 0, 1), power, np.nan)


def wet_share(face: Face, air: Air, rain_times: float, hours_of_rain: float) -> Array:
    """Share of the month that a face is wet, 0 to 1.

    Each rain day wets it for hours_of_rain and as long as its film lasts; frozen water does not count. A face that no
    rain reaches is dry even where the rain days are not known.
    """
    hours = hours_of_rain + face.film_kpa_h / drying_power_kpa(air.t_c, air.rh)
    days = np.minimum(air.rain_days * rain_times, MONTH_DAYS)
    unfrozen = 1 / (1 + np.exp(-(air.t_c + 3 * face.snow) / 2.5))
    share = (1 - np.exp(-face.rain_share * days * hours / (24 * MONTH_DAYS))) * unfrozen
    return np.where(face.rain_share == 0, 0.0, share)


def target_pct(
    faces: tuple[Face, Face], air: Air, emc_pct: Array, wet_pct: Array, case: Case, hours_of_rain: float
) -> Array:
    """Moisture content that the month drives the member to [%].

    emc_pct  equilibrium of the air by month
    wet_pct  moisture content of wood at a wet face, by how permeable it is
    """
    dry = np.maximum(emc_pct + case.offset_pct, DRIEST_PCT)
    pull, weight = np.zeros(1), np.zeros(1)
    for face in faces:
        wet = wet_share(face, air, case.rain_times, hours_of_rain)
        pull = pull + case.uptake * wet * wet_pct + (1 - wet) * dry
        weight = weight + case.uptake * wet + (1 - wet)
    return pull / weight


def diffusion_m2_s(mc_pct: ArrayLike, t_c: ArrayLike, density_factor: ArrayLike) -> Array:
    """Moisture diffusion across the grain [m2/s].

    mc_pct          moisture content; above 30 it counts as 30 [%]
    t_c             temperature; below -10 it counts as -10 [°C]
    density_factor  1 for softwood, 0.4 for dense hardwood
    """
    mc, t, factor = floats(mc_pct, t_c, density_factor)
    u = np.minimum(mc, SATURATED_PCT) / 100
    kelvin = np.maximum(t, -10.0) + ZERO_C_K
    heat = np.exp(-(38500 - 29300 * u) / GAS_J_MOL_K * (1 / kelvin - 1 / 293.15))
    return factor * 8e-11 * np.exp(4 * u) * heat


def lag_days(thickness_m: ArrayLike, diffusion: ArrayLike) -> Array:
    """Time constant of the mean moisture of a member with both faces open [days]."""
    thickness, d = floats(thickness_m, diffusion)
    return thickness**2 / (1.4 * np.pi**2 * d) / 86400


def march(target: Array, lag: Array, years: int = 6) -> Array:
    """Monthly means of a member that follows `target` with the lag, after the year has repeated itself [%]."""
    x = MONTH_DAYS / lag
    keep, mean_share = np.exp(-x), (1 - np.exp(-x)) / x
    state = target.mean(axis=-1)
    out = np.empty_like(target)
    for _ in range(years):
        for month in range(12):
            goal = target[..., month]
            out[..., month] = goal + (state - goal) * mean_share[..., month]
            state = goal + (state - goal) * keep[..., month]
    return out


def member_months(
    faces: tuple[Face, Face],
    air: Air,
    emc_pct: Array,
    wet_pct: Array,
    thickness_m: Array,
    density_factor: Array,
    case: Case,
    hours_of_rain: float,
) -> Array:
    """Monthly moisture content of members, shape (n, 12) [%]; unknown inputs give NaN."""
    goal = target_pct(faces, air, emc_pct, wet_pct, case, hours_of_rain)
    goal = np.broadcast_to(goal, (len(thickness_m), 12))
    lag = lag_days(thickness_m, diffusion_m2_s(goal, air.t_c, density_factor))
    return march(goal, lag)
