"""How hard the air of the place is on metal: by the deposits where they are known, else by the distance to the sea."""

from __future__ import annotations

from dataclasses import fields

import numpy as np

from .. import corrosion
from ..library import Library, Table
from ..project import Climate
from .values import Array

LOSS_OF = {
    "steel": "steel_rate_um_y",
    "zinc": "zinc_rate_um_y",
    "copper": "copper_rate_um_y",
    "aluminium": "aluminium_rate_g_m2_y",
}
"""The fact of the first year's loss, for each metal of ISO 9223; aluminium by mass."""
COEFFICIENTS = tuple(field.name for field in fields(corrosion.Response))
WORST_OF = ("steel", "zinc", "copper")
DEPOSITS, COAST = 0, 1
NOT_GIVEN, INSIDE, OUTSIDE = 0, 1, 2


def year_means(climate: Climate) -> dict[str, Array]:
    """Plain means of the twelve months [°C, %]; NaN where a month is not known."""
    return {"t_year_c": np.atleast_1d(climate.t_mean_c.mean()), "rh_year_pct": np.atleast_1d(climate.rh_pct.mean())}


def _ranges(table: Table) -> corrosion.Ranges:
    bounds = zip(table.numbers("low"), table.numbers("high"), strict=True)
    return [(float(low), float(high)) for low, high in bounds]


def deposits_range(
    t_year_c: Array,
    rh_year_pct: Array,
    so2_mg_m2_d: Array,
    chloride_mg_m2_d: Array,
    corrosion_response_range: Table,
) -> Array:
    """Place of the word (not given, inside, outside): do the year and the deposits lie where the formula holds?"""
    inputs = [t_year_c, rh_year_pct, so2_mg_m2_d, chloride_mg_m2_d]
    fits = np.where(corrosion.within(inputs, _ranges(corrosion_response_range)), INSIDE, OUTSIDE)
    return np.where(np.isnan(so2_mg_m2_d) | np.isnan(chloride_mg_m2_d), NOT_GIVEN, fits)


def first_year(
    t_year_c: Array,
    rh_year_pct: Array,
    so2_mg_m2_d: Array,
    chloride_mg_m2_d: Array,
    corrosion_response: Table,
    corrosion_response_range: Table,
) -> dict[str, Array]:
    """First-year loss of each metal by dose and response; NaN without deposits and outside the ranges [µm, g/m²]."""
    inputs = (t_year_c, rh_year_pct, so2_mg_m2_d, chloride_mg_m2_d)
    ranges = _ranges(corrosion_response_range)
    return {
        fact: corrosion.first_year_loss(*inputs, _response(corrosion_response, metal), ranges)
        for metal, fact in LOSS_OF.items()
    }


def _response(table: Table, metal: str) -> corrosion.Response:
    return corrosion.Response(*(table.number(metal, name) for name in COEFFICIENTS))


def classes(
    coast_km: Array,
    so2_mg_m2_d: Array,
    chloride_mg_m2_d: Array,
    steel_rate_um_y: Array,
    zinc_rate_um_y: Array,
    copper_rate_um_y: Array,
    aluminium_rate_g_m2_y: Array,
    corrosivity_by_coast: Table,
    metal_loss: Table,
    known: Library,
) -> dict[str, Array]:
    """Class of the air for each metal, the worst of steel, zinc and copper, and what they rest on; -1 unknown."""
    order = known.register.facts["project"]["corrosivity"].values
    given = ~np.isnan(so2_mg_m2_d) & ~np.isnan(chloride_mg_m2_d)
    coast = _by_coast(coast_km, corrosivity_by_coast, order)
    rates = zip(LOSS_OF, (steel_rate_um_y, zinc_rate_um_y, copper_rate_um_y, aluminium_rate_g_m2_y), strict=True)
    out = {metal: np.where(given, _by_loss(rate, metal, metal_loss, order), coast) for metal, rate in rates}
    worst = np.max([out[metal] for metal in WORST_OF], axis=0)
    rests = np.where(worst < 0, -1, np.where(given, DEPOSITS, COAST))
    by_metal = {f"corrosivity_{metal}": places for metal, places in out.items()}
    return {"corrosivity": worst, "corrosivity_from": rests, **by_metal}


def _by_loss(rate: Array, metal: str, losses: Table, order: tuple[str, ...]) -> Array:
    """Class by the limits of the metal: of thickness, or of mass where no thickness is printed."""
    of = np.array([word == metal for word in losses.words("metal")])
    names = np.array(losses.words("corrosivity"))[of]
    highest = losses.numbers("high_um_y")[of]
    highest = losses.numbers("high_g_m2_y")[of] if np.isnan(highest).all() else highest
    place = corrosion.class_place(rate, highest[:-1])
    places = np.array([*(order.index(name) for name in names), -1])
    return places[place]


def _by_coast(coast_km: Array, table: Table, order: tuple[str, ...]) -> Array:
    out = np.full(np.shape(coast_km), -1)
    bounds = zip(*(table.numbers(n) for n in ("over_km", "to_km")), table.words("corrosivity"), strict=True)
    for over, to, name in bounds:
        out = np.where((coast_km >= over) & ~(coast_km >= to), order.index(name), out)
    return out
