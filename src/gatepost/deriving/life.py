"""How long untreated parts last: each model under its own name, then their envelope."""

from __future__ import annotations

from typing import Any

import numpy as np

from .. import decay
from ..library import Table
from ..rain import MONTH_DAYS
from .values import Array, Words
from .wetness import months

WET_PLACES = ("ground", "fresh water")
OPEN_TIMES, MOST_YEARS = 2.0, 100.0
"""The top of a class that is open above is put at twice its low end, and 100 stands for 100 or more (practice)."""
FAR_APART = 2.0
SAPWOOD = "5"
MODELS = {"stakes": "stakes in the ground", "fdp": "FD P 20-651 by use class", "dose": "simplified dose-response"}


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


def dose(**facts: Any) -> dict[str, Array]:
    """Dose of decay in a year by the simplified model, from the monthly moisture and temperature [days]."""
    model = facts["dose_model"]
    full_pct, full_c, power = (model.number(f"simple_{name}", "value") for name in ("full_pct", "full_c", "power"))
    out = {}
    for case in ("likely", "low", "high"):
        year = months(case, facts)
        daily = decay.simple_dose(year, facts["climate"].t_mean_c, full_pct, full_c, power)
        total = (daily * MONTH_DAYS).sum(axis=1)
        out[case] = np.where(
            facts["worst_exposure"].is_in("sheltered", "weather") & facts["is_wood"].is_in("yes"), total, np.nan
        )
    return {"dose_days": out["likely"], "dose_days_low": out["low"], "dose_days_high": out["high"]}


def dose_life(
    dose_times: Array, dose_days: Array, dose_days_low: Array, dose_days_high: Array, dose_model: Table
) -> dict[str, Array]:
    """Years to the onset of decay by the simplified model, for woods whose resistance was published."""
    critical = dose_model.number("simple_critical_days", "value") * dose_times
    ends = {"low": dose_days_high, "likely": dose_days, "high": dose_days_low}
    return {f"life_dose_{end}_years": decay.years_to(critical, days) for end, days in ends.items()}


def service_life(**facts: Array) -> dict[str, Array]:
    """Envelope of the models that speak; likely is the geometric mean of their middles; do these differ twofold?"""
    lows, highs = (np.stack([facts[f"life_{name}_{end}_years"] for name in MODELS]) for end in ("low", "high"))
    middles = (lows + highs) / 2
    known = ~np.isnan(middles)
    any_known = known.any(axis=0)
    low, high = np.where(known, lows, np.inf).min(axis=0), np.where(known, highs, -np.inf).max(axis=0)
    logs = np.where(known & (middles > 0), np.log(np.where(middles > 0, middles, 1)), 0)
    likely = np.exp(logs.sum(axis=0) / np.maximum(known.sum(axis=0), 1))
    least, most = np.where(known, middles, np.inf).min(axis=0), np.where(known, middles, -np.inf).max(axis=0)
    apart = np.where(any_known, np.where(most > FAR_APART * least, 0, 1), -1)
    values = {"low": low, "likely": likely, "high": high}
    out: dict[str, Array] = {
        f"service_life_{end}_years": np.where(any_known, value, np.nan) for end, value in values.items()
    }
    return {**out, "models_disagree": apart, "life_models": _spoken(known), "life_known": np.where(any_known, 0, 1)}


def _spoken(known: Array) -> Array:
    """Names of the models that spoke, one text a row; None where none did."""
    flags = (known * (1 << np.arange(len(known)))[:, None]).sum(axis=0)
    kinds, place = np.unique(flags, return_inverse=True)
    names = list(MODELS.values())
    texts = ["; ".join(name for i, name in enumerate(names) if int(kind) & (1 << i)) or None for kind in kinds]
    return np.array([*texts, None], object)[place]
