"""Facts of the place."""

from __future__ import annotations

from typing import Any

import numpy as np

from .. import decay, moisture
from ..library import Library, Table
from ..project import Climate, Site
from .values import Array
from .wetness import coefficients


def work_emc_pct(work_c: Array, work_rh_pct: Array, emc_coefficients: Table) -> Array:
    """Equilibrium moisture content in the air of the day of assembly [%]."""
    return moisture.emc_pct(work_c, work_rh_pct, coefficients(emc_coefficients))


def scheffer_index(climate: Climate) -> Array:
    """Scheffer climate index, form in degrees Fahrenheit."""
    return np.atleast_1d(decay.scheffer_index(climate.t_mean_c, climate.rain_days))


def decay_zone(scheffer_index: Array, scheffer_zones: Table) -> Array:
    """Place of the zone (low, moderate, high); -1 unknown. A value on a limit belongs to the milder zone."""
    limits = scheffer_zones.numbers("index_over")[1:]
    return np.where(np.isnan(scheffer_index), -1, np.searchsorted(limits, np.nan_to_num(scheffer_index), side="left"))


def corrosivity(coast_km: Array, corrosivity_by_coast: Table, known: Library) -> Array:
    """Place of the corrosivity class by distance to the sea; -1 unknown."""
    order = known.register.facts["project"]["corrosivity"].values
    out = np.full(np.shape(coast_km), -1)
    bounds = zip(
        *(corrosivity_by_coast.numbers(n) for n in ("over_km", "to_km")),
        corrosivity_by_coast.words("corrosivity"),
        strict=True,
    )
    for over, to, name in bounds:
        out = np.where((coast_km >= over) & ~(coast_km >= to), order.index(name), out)
    return out


def rain_days_year(climate: Climate) -> Array:
    """Days with rain in a year."""
    return np.atleast_1d(climate.rain_days.sum())


def facts_of_place(site: Site, known: Library) -> dict[str, Any]:
    """Scheffer index, decay zone and corrosivity of a place alone, as plain values; None where unknown."""
    facts = known.register.facts["project"]
    index = scheffer_index(site.climate)
    coast = np.array([np.nan if site.coast_km is None else site.coast_km])
    zone = int(decay_zone(index, known.table("scheffer_zones"))[0])
    metal = int(corrosivity(coast, known.table("corrosivity_by_coast"), known)[0])
    return {
        "scheffer_index": None if np.isnan(index[0]) else float(index[0]),
        "decay_zone": None if zone < 0 else facts["decay_zone"].values[zone],
        "corrosivity": None if metal < 0 else facts["corrosivity"].values[metal],
    }
