"""How long the metal of a joint lasts: zinc, then steel, in the air of the place; which metal of a pair wastes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .. import corrosion
from ..library import Table
from .joint import surface_index_v
from .values import Array, ManyWords, Words

SITE = "site"
SALTY = ("salt spray", "pool")
SALTY_FROM = "C4"
SOLID = ("lumber", "round")
LIKE_PLAIN_WOOD = ("none", "preservative")
WET_PLACES = ("weather", "ground", "fresh water", "salt water")
SMALL, ALIKE, LARGE = 0, 1, 2
BAND = ("low", "likely", "high")

Ends = dict[str, Array]


def corrosion_moisture(worst_exposure: Words, mc_high_pct: Array, constants: Table) -> Array:
    """Place of the stage (dry, doubtful, wet); -1 unknown. Rain and ground wet the wood, a heated room keeps it dry."""
    limits = [constants.number(f"metal_moisture_{end}_pct", "value") for end in ("low", "high")]
    roofed = np.where(worst_exposure.is_in("sheltered"), corrosion.moisture_stage(mc_high_pct, *limits), -1)
    indoor = np.where(worst_exposure.is_in("indoor"), corrosion.DRY, roofed)
    return np.where(worst_exposure.is_in(*WET_PLACES), corrosion.WET, indoor)


def wood_attacks_metal(
    is_wood: Words,
    product: Words,
    acid_wood: Words,
    treatment_kind: Words,
    preservative: Words,
    corrosion_moisture: Words,
    corrosion_in_wood: Table,
) -> Array:
    """0 (yes) where damp wood eats metal faster than the air does, 1 (no), -1 where something is unknown.

    Most wood does not: one that no table calls acid counts as plain.
    """
    words = corrosion_in_wood.words("air_rate_serves")
    serves = preservative.relabel(("yes", "no"), {word: words[row] for word, row in corrosion_in_wood.index.items()})
    modified = treatment_kind.known & ~treatment_kind.is_in(*LIKE_PLAIN_WOOD)
    harsh = modified | (serves == 1) | product.is_in(*SOLID) & acid_wood.is_in("some", "yes")
    mild = treatment_kind.is_in(*LIKE_PLAIN_WOOD) & (serves == 0) & ~harsh
    harmless = is_wood.is_in("no") | corrosion_moisture.is_in("dry") | mild
    return np.where(harmless, 1, np.where(harsh & corrosion_moisture.is_in("doubtful", "wet"), 0, -1))


class _Air(NamedTuple):
    """The air of the place for one metal: its class, and the first year's loss with its band where deposits tell it."""

    corrosivity: Words
    rate_um_y: Array
    times: float

    def rate(self, end: str) -> Array:
        return self.rate_um_y * {"low": 1 / self.times, "likely": 1.0, "high": self.times}[end]


def _rate(metal: str, end: str, exposure: Words, air: _Air, losses: Table, places: Table) -> Array:
    """First-year loss of a metal by its exposure: the site's own, else that of a class (the site's, a fixed one) [µm]."""
    rows = zip(losses.words("corrosivity"), losses.words("metal"), losses.numbers(f"{end}_um_y"), strict=True)
    by_class = {name: rate for name, made_of, rate in rows if made_of == metal}
    classes = dict(zip(places.words("exposure"), places.words("corrosivity"), strict=True))
    fixed = exposure.recode({word: by_class.get(name, np.nan) for word, name in classes.items()})
    follows = [word for word, name in classes.items() if name == SITE]
    here = np.where(np.isnan(air.rate_um_y), air.corrosivity.recode(by_class), air.rate(end))
    return np.where(exposure.is_in(*follows), here, fixed)


def _years(depths_um: Ends, metal: str, exposure: Words, air: _Air, tables: tuple[Table, ...]) -> Ends:
    """Years until the depths of metal are gone: the fast end of the loss with the cautious exponent is the low end."""
    losses, exponents, places = tables
    steady, cautious = (exponents.number(metal, name) for name in ("exponent", "exponent_cautious"))
    speeds = {"low": ("high", cautious), "likely": ("likely", steady), "high": ("low", steady)}
    return {
        end: corrosion.years_until(depths_um[end], _rate(metal, fast, exposure, air, losses, places), b)
        for end, (fast, b) in speeds.items()
    }


def first_rust(
    fastener_metal: Words,
    coating_kind: Words,
    zinc_um: Array,
    worse_exposure: Words,
    corrosivity_zinc: Words,
    zinc_rate_um_y: Array,
    a_wood_attacks_metal: Words,
    b_wood_attacks_metal: Words,
    coatings: Table,
    constants: Table,
    metal_loss: Table,
    loss_exponents: Table,
    corrosivity_by_exposure: Table,
) -> dict[str, Array]:
    """Years until the zinc on a steel fastener is gone; NaN for other metals and where wood attacks it."""
    single = coatings.numbers("zinc_single_um")
    thinnest = np.fmin(zinc_um, coating_kind.recode({word: single[row] for word, row in coatings.index.items()}))
    depths = {"low": np.where(np.isnan(zinc_um), np.nan, thinnest), "likely": zinc_um, "high": zinc_um}
    air = _Air(corrosivity_zinc, zinc_rate_um_y, constants.number("response_band_times", "value"))
    tables = metal_loss, loss_exponents, corrosivity_by_exposure
    years = _years(depths, "zinc", worse_exposure, air, tables)
    known = fastener_metal.is_in("steel") & a_wood_attacks_metal.is_in("no") & b_wood_attacks_metal.is_in("no")
    return {f"first_rust_{end}_years": np.where(known, years[end], np.nan) for end in BAND}


def metal_life(
    fastener_metal: Words,
    size_diameter_mm: Array,
    worse_exposure: Words,
    corrosivity_steel: Words,
    steel_rate_um_y: Array,
    corrosivity_copper: Words,
    copper_rate_um_y: Array,
    first_rust_low_years: Array,
    first_rust_likely_years: Array,
    first_rust_high_years: Array,
    a_wood_attacks_metal: Words,
    b_wood_attacks_metal: Words,
    constants: Table,
    metal_loss: Table,
    loss_exponents: Table,
    corrosivity_by_exposure: Table,
) -> dict[str, Array]:
    """Years until a tenth of the shank's diameter is gone, zinc first; NaN where no rate was published."""
    depth = corrosion.ring_depth_um(size_diameter_mm, constants.number("shank_loss_share", "value"))
    times = constants.number("response_band_times", "value")
    airs = {
        "steel": _Air(corrosivity_steel, steel_rate_um_y, times),
        "copper": _Air(corrosivity_copper, copper_rate_um_y, times),
    }
    tables = metal_loss, loss_exponents, corrosivity_by_exposure
    zinc = dict(zip(BAND, (first_rust_low_years, first_rust_likely_years, first_rust_high_years), strict=True))
    known = a_wood_attacks_metal.is_in("no") & b_wood_attacks_metal.is_in("no")
    out = {end: np.full(np.shape(depth), np.nan) for end in BAND}
    for metal, air in airs.items():
        bare = _years(dict.fromkeys(BAND, depth), metal, worse_exposure, air, tables)
        for end in BAND:
            years = bare[end] + (zinc[end] if metal == "steel" else 0)
            here = known & fastener_metal.is_in(metal)
            out[end] = np.where(here, np.minimum(years, corrosion.LONGEST_YEARS), out[end])
    return {f"metal_life_{end}_years": years for end, years in out.items()}


def galvanic_limit_v(
    worse_exposure: Words, a_near: ManyWords, b_near: ManyWords, corrosivity: Words, galvanic_limits: Table
) -> Array:
    """Greatest difference of anodic index that the place allows [V]; NaN where the coast would decide and is unknown."""

    def by_exposure(column: str) -> Array:
        values = galvanic_limits.numbers(column)
        return worse_exposure.recode({word: values[row] for word, row in galvanic_limits.index.items()})

    near = np.any([side.has(word) for side in (a_near, b_near) for word in SALTY], axis=0)
    counts = worse_exposure.recode(
        {w: float(galvanic_limits.words("coast_counts")[row] == "yes") for w, row in galvanic_limits.index.items()}
    )
    coastal = corrosivity.codes >= corrosivity.values.index(SALTY_FROM)
    salty = near | (counts == 1) & coastal
    open_question = ~near & (counts == 1) & ~corrosivity.known
    limit = np.where(salty, by_exposure("limit_salt_v"), by_exposure("limit_v"))
    return np.where(open_question, np.nan, limit)


def anode(
    fastener_metal: Words, coating_kind: Words, hardware_metal: Words, hardware_coat: Words, metals: Table
) -> Array:
    """Place of the piece that wastes (none, fastener, hardware); -1 where a metal is unknown."""
    fastener = surface_index_v(fastener_metal, coating_kind, metals)
    hardware = surface_index_v(hardware_metal, hardware_coat, metals)
    baser = np.where(fastener > hardware, 1, np.where(hardware > fastener, 2, 0))
    return np.where(np.isnan(fastener) | np.isnan(hardware), -1, baser)


def anode_area(anode: Words, hardware_kind: Words, hardware_areas: Table) -> Array:
    """Place of the word (small, alike, large): the piece that wastes beside the other; -1 where neither wastes."""
    beside = hardware_areas.words("beside_fastener")
    larger = [beside[hardware_areas.index[word]] == "larger" for word in hardware_areas.index]
    sizes = {word: float(is_larger) for word, is_larger in zip(hardware_areas.index, larger, strict=True)}
    is_larger = hardware_kind.recode(sizes)
    place = np.where(is_larger == 0, ALIKE, np.where(anode.is_in("fastener"), SMALL, LARGE))
    return np.where(np.isnan(is_larger) | ~anode.is_in("fastener", "hardware"), -1, place)
