"""How long untreated parts last: each model under its own name, then their envelope."""

from __future__ import annotations

from typing import Any

import numpy as np

from .. import decay
from ..library import Table
from .values import Array, Words, distinct, once_a_kind
from .wetness import kind_months, kinds_of, year_days

WET_PLACES = ("ground", "fresh water")
OPEN_TIMES, MOST_YEARS = 2.0, 100.0
"""The top of a class that is open above is put at twice its low end, and 100 stands for 100 or more (practice)."""
FAR_APART = 2.0
MEAN_DECIMALS = 6
"""Else the mean of one value of 20 comes out a hair below 20, and a wish for 20 is not met."""
SAPWOOD, SAPWOOD_AS5604 = "5", "4"
MODELS = {
    "stakes": "stakes in the ground",
    "fdp": "FD P 20-651 by use class",
    "as5604": "AS 5604 (2005) by class, most woods recalled",
    "crossbrace": "cross-brace test of 22 years",
    "dose": "simplified dose-response, recalled",
    "treated": "field tests of treated wood",
}
DIPPED = ("dip", "brush")
ONSET_RATING = 1.0


def _ends(table: Table, low: str, high: str) -> tuple[Array, Array]:
    lows, highs = table.numbers(low), table.numbers(high)
    return lows, np.where(np.isnan(highs), np.minimum(lows * OPEN_TIMES, MOST_YEARS), highs)


def stakes(
    heart_class_whole: Words, wood_part: Words, worst_exposure: Words, treatment_kind: Words, class_life: Table
) -> dict[str, Array]:
    """Band of a 50 x 50 mm stake in the ground: of the heartwood, of sapwood (class 5), or from one to the other."""
    lows, highs = _ends(class_life, "life_low_years", "life_high_years")
    rows = class_life.index
    low, high = (heart_class_whole.recode({word: ends[row] for word, row in rows.items()}) for ends in (lows, highs))
    sap_low, sap_high = lows[rows[SAPWOOD]], highs[rows[SAPWOOD]]
    here = worst_exposure.is_in(*WET_PLACES) & treatment_kind.is_in("none") & wood_part.known & ~np.isnan(low)
    low = np.where(wood_part.is_in("heart"), low, sap_low)
    high = np.where(wood_part.is_in("sap"), sap_high, high)
    return {
        "life_stakes_low_years": np.where(here, low, np.nan),
        "life_stakes_high_years": np.where(here, high, np.nan),
    }


def fdp(
    species: Words,
    use_class: Words,
    wood_part: Words,
    treatment_kind: Words,
    species_longevity: Table,
    longevity_years: Table,
) -> dict[str, Array]:
    """Band by species and use class; the work speaks of sapwood-free wood only."""
    lows, highs = _ends(longevity_years, "low_years", "high_years")
    low, high = (np.full((len(species.values) + 1, len(use_class.values) + 1), np.nan) for _ in range(2))
    for row in species_longevity.records():
        at = species.values.index(row["species"]), use_class.values.index(row["use_class"])
        low[at], high[at] = (ends[longevity_years.index[row["longevity"]]] for ends in (lows, highs))
    here = wood_part.is_in("heart") & treatment_kind.is_in("none")
    return {
        "life_fdp_low_years": np.where(here, low[species.codes, use_class.codes], np.nan),
        "life_fdp_high_years": np.where(here, high[species.codes, use_class.codes], np.nan),
    }


@once_a_kind
def as5604(
    species: Words,
    wood_part: Words,
    worst_exposure: Words,
    treatment_kind: Words,
    decay_as5604: Table,
    life_as5604: Table,
) -> dict[str, Array]:
    """Band by the wood's class in the ground and its class in the weather; sapwood of every wood is class 4."""
    out = {f"life_as5604_{end}_years": np.full(len(species.codes), np.nan) for end in ("low", "high")}
    sap = life_as5604.index[SAPWOOD_AS5604]
    for place, column, exposure in (
        ("ground", "class_in_ground", "ground"),
        ("above", "class_above_ground", "weather"),
    ):
        rows = [life_as5604.index[word] for word in decay_as5604.words(column)]
        here = worst_exposure.is_in(exposure) & treatment_kind.is_in("none") & species.known
        lows, highs = _ends(life_as5604, f"{place}_low_years", f"{place}_high_years")
        for end, years, mixed in (("low", lows, lows[sap]), ("high", highs, None)):
            heart = species.recode({wood: years[rows[at]] for wood, at in decay_as5604.index.items()})
            band = _of_part(wood_part, heart, years[sap], mixed)
            out[f"life_as5604_{end}_years"] = np.where(here, band, out[f"life_as5604_{end}_years"])
    return out


def _of_part(wood_part: Words, heart: Array, sap: float, mixed: float | None) -> Array:
    """An end of a band by what the part holds; mixed stock takes `mixed`, else its heartwood's, if that is known."""
    blend = heart if mixed is None else np.where(np.isnan(heart), np.nan, mixed)
    known = [wood_part.is_in(word) for word in ("heart", "sap", "mixed")]
    return np.select(known, [heart, np.full(len(heart), sap), blend], np.nan)


def crossbrace(
    species: Words, wood_part: Words, worst_exposure: Words, treatment_kind: Words, life_crossbrace: Table
) -> Array:
    """Least years in the weather of a test that ended while its wood still stood; mixed stock where both parts did."""
    years: dict[str, dict[str, float]] = {"heart": {}, "sap": {}}
    for row in life_crossbrace.records():
        years[row["wood_part"]][row["species"]] = float(row["low_years"])
    heart, sap = (species.recode(years[part]) for part in ("heart", "sap"))
    known = [wood_part.is_in(word) for word in ("heart", "sap", "mixed")]
    low = np.select(known, [heart, sap, np.minimum(heart, sap)], np.nan)
    return np.where(worst_exposure.is_in("weather") & treatment_kind.is_in("none"), low, np.nan)


@once_a_kind
def treated(
    species: Words, preservative: Words, treated_how: Words, worst_exposure: Words, life_treated: Table
) -> dict[str, Array]:
    """Band in the ground of wood treated as in a field test that was read; no other treated wood has one."""
    out = {end: np.full(len(species.codes), np.nan) for end in ("low", "high")}
    pairs = zip(life_treated.records(), *(life_treated.numbers(f"{end}_years") for end in out), strict=True)
    for row, *band in pairs:
        dipped = row["treated_how"] in DIPPED
        how = treated_how.is_in(row["treated_how"]) if dipped else ~treated_how.is_in(*DIPPED)
        here = worst_exposure.is_in("ground") & species.is_in(row["species"]) & how
        here &= preservative.is_in(row["preservative"])
        for end, years in zip(out, band, strict=True):
            out[end] = np.where(here, years, out[end])
    return {f"life_treated_{end}_years": years for end, years in out.items()}


def dose(**facts: Any) -> dict[str, Array]:
    """Doses of decay in a year by both dose-response models, from the monthly moisture and temperature [days]."""
    here = facts["worst_exposure"].is_in("sheltered", "weather") & facts["is_wood"].is_in("yes")
    out: dict[str, Array] = {}
    kinds, place = kinds_of(facts)
    for case, name in (("likely", ""), ("low", "_low"), ("high", "_high")):
        year, t_c = kind_months(case, kinds, facts), facts["climate"].t_mean_c
        for model, daily in (("", simple(year, t_c, facts["dose_model"])), ("_lm", _logistic(year, t_c, facts))):
            out[f"dose{model}_days{name}"] = np.where(here, year_days(daily)[place], np.nan)
    return out


def simple(moisture_pct: Array, t_c: Array, dose_model: Table) -> Array:
    """Dose of a day in each month by the simplified model [days]."""
    full_pct, full_c, power = (dose_model.number(f"simple_{name}", "value") for name in ("full_pct", "full_c", "power"))
    return decay.simple_dose(moisture_pct, t_c, full_pct, full_c, power)


def _logistic(moisture_pct: Array, t_c: Array, facts: dict[str, Any]) -> Array:
    terms, values = facts["dose_terms"].words("term"), facts["dose_terms"].numbers("value")
    wet, warm = ([v for term, v in zip(terms, values, strict=True) if term == name] for name in ("moisture", "heat"))
    return decay.logistic_dose(
        moisture_pct, t_c, wet, warm, facts["dose_model"].number("logistic_heat_weight", "value")
    )


def dose_life(
    dose_times: Array,
    dose_days: Array,
    dose_days_low: Array,
    dose_days_high: Array,
    treatment_kind: Words,
    dose_model: Table,
) -> dict[str, Array]:
    """Years to the onset of decay by the simplified model, for untreated woods whose resistance was published."""
    critical = dose_model.number("simple_critical_days", "value") * dose_times
    critical = np.where(treatment_kind.is_in("none"), critical, np.nan)
    ends = {"low": dose_days_high, "likely": dose_days, "high": dose_days_low}
    return {f"life_dose_{end}_years": decay.years_to(critical, days) for end, days in ends.items()}


def dose_lm_life(
    dose_lm_days: Array,
    dose_lm_days_low: Array,
    dose_lm_days_high: Array,
    wood_part: Words,
    treatment_kind: Words,
    dose_model: Table,
) -> dict[str, Array]:
    """Years to a mean rating of 1 by the logistic model, for untreated sapwood, the like of which it was made from."""
    curve = (dose_model.number("logistic_t0", "value"), dose_model.number("logistic_t1", "value"))
    here = wood_part.is_in("sap") & treatment_kind.is_in("none")
    needed = np.where(here, decay.logistic_dose_for(ONSET_RATING, curve), np.nan)
    ends = {"low": dose_lm_days_high, "likely": dose_lm_days, "high": dose_lm_days_low}
    return {f"life_dose_lm_{end}_years": decay.years_to(needed, days) for end, days in ends.items()}


def service_life(product: Words, products: Table, **bands: Array) -> dict[str, Array]:
    """Envelope of the models that speak of solid wood; likely is the geometric mean; do they differ twofold?

    A band counts with its middle. One without a high end (a test that ended too soon) only says "at least": it counts
    with its low end where the others fall short of that, or where no other speaks.
    """
    solid = is_solid(product, products)
    lows, highs = (_stacked(bands, end, solid) for end in ("low", "high"))
    known, closed = ~np.isnan(lows), ~np.isnan(lows) & ~np.isnan(highs)
    worth = np.where(closed, (lows + highs) / 2, lows)
    short = np.isnan(closed_mean := _geometric_mean(worth, closed)) | (lows > closed_mean)
    any_known = known.any(axis=0)
    low = np.where(known, lows, np.inf).min(axis=0)
    high = np.where(closed, highs, -np.inf).max(axis=0)
    reached = closed.any(axis=0) & (high >= np.where(known, lows, -np.inf).max(axis=0))
    least, most = np.where(closed, worth, np.inf).min(axis=0), np.where(known, worth, -np.inf).max(axis=0)
    return {
        "service_life_low_years": np.where(any_known, low, np.nan),
        "service_life_likely_years": _geometric_mean(worth, closed | (known & short)),
        "service_life_high_years": np.where(reached, high, np.nan),
        "models_disagree": np.where(any_known, np.where(most > FAR_APART * least, 0, 1), -1),
        "life_models": _spoken(known),
        "life_known": np.where(any_known, 0, 1),
        "life_open": np.where(any_known & ~closed.any(axis=0), 0, 1),
    }


def is_solid(product: Words, products: Table) -> Array:
    """Does the product move, and rot, as lumber does?"""
    moves = products.words("moves_as")
    return product.is_in(*(word for word, row in products.index.items() if moves[row] == "lumber"))


def _stacked(bands: dict[str, Array], end: str, solid: Array) -> Array:
    """One end of every model's band, a row a model; NaN where the model has no such end or does not speak."""
    nothing = np.full(len(solid), np.nan)
    return np.where(solid, np.stack([bands.get(f"life_{name}_{end}_years", nothing) for name in MODELS]), np.nan)


def _geometric_mean(values: Array, counted: Array) -> Array:
    """Over the models that count; NaN where none does."""
    logs = np.where(counted & (values > 0), np.log(np.where(values > 0, values, 1)), 0).sum(axis=0)
    count = counted.sum(axis=0)
    mean = np.round(np.exp(logs / np.maximum(count, 1)), MEAN_DECIMALS)
    return np.where(count > 0, mean, np.nan)


def _spoken(known: Array) -> Array:
    """Names of the models that spoke, one text a row; None where none did."""
    flags = (known * (1 << np.arange(len(known)))[:, None]).sum(axis=0)
    kinds, place = distinct([flags])
    names = list(MODELS.values())
    texts = ["; ".join(name for i, name in enumerate(names) if int(kind) & (1 << i)) or None for kind in kinds[:, 0]]
    return np.array([*texts, None])[place]
