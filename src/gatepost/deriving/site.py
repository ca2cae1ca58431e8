"""Facts of the place."""

from __future__ import annotations

from typing import Any

import numpy as np

from .. import decay, moisture
from ..library import Library, Table
from ..project import Climate, Site
from . import corrosivity
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


def rain_days_year(climate: Climate) -> Array:
    """Days with rain in a year."""
    return np.atleast_1d(climate.rain_days.sum())


def facts_of_place(site: Site, known: Library) -> dict[str, Any]:
    """Scheffer index, decay zone and what the air does to metal at a place alone, as plain values; None where unknown."""
    facts = known.register.facts["project"]
    index = scheffer_index(site.climate)
    made = {
        "scheffer_index": index,
        "decay_zone": decay_zone(index, known.table("scheffer_zones")),
        **_air_of_place(site, known),
    }
    return {name: _plain(values[0], facts[name].values) for name, values in made.items()}


def _air_of_place(site: Site, known: Library) -> dict[str, Array]:
    coast_km, so2, chloride = (_known(value) for value in (site.coast_km, site.so2_mg_m2_d, site.chloride_mg_m2_d))
    means, ranges = corrosivity.year_means(site.climate), known.table("corrosion_response_range")
    year = means["t_year_c"], means["rh_year_pct"]
    rates = corrosivity.first_year(*year, so2, chloride, known.table("corrosion_response"), ranges)
    by_coast, losses = known.table("corrosivity_by_coast"), known.table("metal_loss")
    found = corrosivity.classes(
        coast_km, so2, chloride, **rates, corrosivity_by_coast=by_coast, metal_loss=losses, known=known
    )
    return {**means, **rates, **found}


def _known(value: float | None) -> Array:
    return np.array([np.nan if value is None else value])


def _plain(value: Any, words: tuple[str, ...]) -> Any:
    if words:
        return None if value < 0 else words[int(value)]
    return None if np.isnan(value) else float(value)
