"""How much the part moves: moisture through the year, swing across the width, gap to leave."""

from __future__ import annotations

from typing import Any

import numpy as np

from .. import moisture
from ..library import Table
from ..project import Climate
from .values import Array, Words

WET_PLACES = ("ground", "fresh water", "salt water")
OPEN_AIR = ("sheltered", "weather")
BAR_RATIO = 2.0


def ring_angle_deg(grain: Any, grain_deg: Array, ring_angles: Table) -> Array:
    """Ring angle: as written in degrees, else the least (flattest) of the words' angles."""
    angles = ring_angles.numbers("ring_angle_deg")
    out = np.full(len(grain_deg), np.nan)
    for word, row in ring_angles.index.items():
        out = np.where(grain.has(word), np.fmin(out, angles[row]), out)
    return np.where(np.isnan(grain_deg), out, grain_deg)


def mc_range(
    thickness_mm: Array,
    width_mm: Array,
    worst_exposure: Words,
    is_wood: Words,
    climate: Climate,
    constants: Table,
    emc_coefficients: Table,
) -> dict[str, Array]:
    """Moisture content of the member in its driest and wettest month and over the year [%].

    In the open air it follows the monthly equilibrium with the lag of its thickness; in ground or water its wet side is
    fibre saturation. Indoors, and without a site, unknown.
    """
    emc = moisture.emc_pct(climate.t_mean_c, climate.rh_pct, coefficients(emc_coefficients))
    thick = np.fmin(thickness_mm, width_mm) / 1000
    other = np.fmax(thickness_mm, width_mm) / 1000
    slab = np.where(other / thick < BAR_RATIO, moisture.effective_thickness(thick, other), thick)
    sizes, place = np.unique(slab, return_inverse=True)
    year = moisture.member_year(emc, sizes, constants.number("diffusion_m2_s", "value"))[place]
    known = worst_exposure.is_in(*OPEN_AIR, *WET_PLACES) & is_wood.is_in("yes")
    wet = worst_exposure.is_in(*WET_PLACES)
    low, high, mean = year.min(axis=1), year.max(axis=1), year.mean(axis=1)
    saturated = constants.number("shrinkage_start_pct", "value")
    values = {
        "mc_low_pct": low,
        "mc_high_pct": np.where(wet, saturated, high),
        "mc_mean_pct": np.where(wet, np.nan, mean),
    }
    return {name: np.where(known & ~np.isnan(slab), column, np.nan) for name, column in values.items()}


def coefficients(emc_coefficients: Table) -> Array:
    """Rows W, K, K1, K2; columns constant, linear, quadratic."""
    rows = [emc_coefficients.index[name] for name in ("W", "K", "K1", "K2")]
    columns = [name for name in emc_coefficients.header if name.startswith(("constant", "linear", "quadratic"))]
    return np.stack([emc_coefficients.numbers(name)[rows] for name in columns], axis=1)


def mc_build_pct(moisture_pct: Array, moisture_word: Words, work_emc_pct: Array, seasoning: Table) -> Array:
    """Moisture content on the day of assembly: as written, else by the seasoning word, else the air of that day."""
    likely = seasoning.numbers("mc_likely_pct")
    by_word = moisture_word.recode({word: likely[row] for word, row in seasoning.index.items()})
    written = np.where(np.isnan(moisture_pct), by_word, moisture_pct)
    return np.where(np.isnan(written), work_emc_pct, written)


def _change(
    width_mm: Array,
    product: Words,
    ring_angle_deg: Array,
    tangential: tuple[Array, Array],
    radial: tuple[Array, Array],
    from_pct: Array,
    to_pct: Array,
    panels: Table,
    products: Table,
) -> Array:
    """Change of width between two moisture contents: lumber by the handbook's equations, panels by their own figures."""
    coefficient = moisture.across_grain(tangential[0], radial[0], ring_angle_deg)
    shrinkage = moisture.across_grain(tangential[1], radial[1], ring_angle_deg)
    lumber = moisture.width_change(width_mm, coefficient, shrinkage, from_pct, to_pct)
    across = panels.numbers("across_pct_per_pct")
    per_pct = product.recode({word: across[row] / 100 for word, row in panels.index.items()})
    top = np.minimum(to_pct, moisture.SATURATED_PCT) - np.minimum(from_pct, moisture.SATURATED_PCT)
    panel = width_mm * per_pct * top
    solid = [word for word, row in products.index.items() if products.words("moves_as")[row] == "lumber"]
    return np.where(product.is_in(*solid), lumber, panel)


def _band(name: str, change: Array, constants: Table) -> dict[str, Array]:
    """A change as likely, low and high by the published variation of shrinkage between boards."""
    spread = constants.number("shrinkage_variation", "value") * constants.number("band_deviations", "value")
    plain = np.maximum(change, 0)
    return {f"{name}_mm": plain, f"{name}_mm_low": plain * (1 - spread), f"{name}_mm_high": plain * (1 + spread)}


def swing(
    width_mm: Array,
    product: Words,
    ring_angle_deg: Array,
    shrink_tangential_pct: Array,
    shrink_radial_pct: Array,
    coef_tangential: Array,
    coef_radial: Array,
    mc_low_pct: Array,
    mc_high_pct: Array,
    panel_movement: Table,
    constants: Table,
    products: Table,
) -> dict[str, Array]:
    """Change of width between the driest and the wettest month, with its band [mm]."""
    directions = (coef_tangential, shrink_tangential_pct), (coef_radial, shrink_radial_pct)
    return _band(
        "swing",
        _change(width_mm, product, ring_angle_deg, *directions, mc_low_pct, mc_high_pct, panel_movement, products),
        constants,
    )


def from_build(
    width_mm: Array,
    product: Words,
    ring_angle_deg: Array,
    shrink_tangential_pct: Array,
    shrink_radial_pct: Array,
    coef_tangential: Array,
    coef_radial: Array,
    mc_low_pct: Array,
    mc_high_pct: Array,
    mc_build_pct: Array,
    panel_movement: Table,
    constants: Table,
    products: Table,
) -> dict[str, Array]:
    """Growth to the wettest month and shrinkage to the driest, from the day of assembly, with their bands [mm]."""
    directions = (coef_tangential, shrink_tangential_pct), (coef_radial, shrink_radial_pct)
    grow = _change(width_mm, product, ring_angle_deg, *directions, mc_build_pct, mc_high_pct, panel_movement, products)
    shrink = -_change(
        width_mm, product, ring_angle_deg, *directions, mc_build_pct, mc_low_pct, panel_movement, products
    )
    return {**_band("grow", grow, constants), **_band("shrink", shrink, constants)}


def gap(grow_mm: Array, grow_mm_low: Array, grow_mm_high: Array, gap_least_mm: Array) -> dict[str, Array]:
    """Gap to leave on the day of assembly: the growth to come and what should remain on the wettest day [mm]."""
    return {
        "gap_mm": grow_mm + gap_least_mm,
        "gap_mm_low": grow_mm_low + gap_least_mm,
        "gap_mm_high": grow_mm_high + gap_least_mm,
    }


def leaf_grow_mm(grow_mm: Array, across: Array) -> Array:
    """Growth of all boards of a leaf or floor together [mm]."""
    return grow_mm * across
