"""The place factor of the exposure index: read where it was read, else worked out by the way of the guideline's authors."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from ..library import Library, Table
from ..project import Climate
from .life import simple
from .values import Array, Texts, Words
from .wetness import CASES, months, year_days

READ, COMPUTED, UNKNOWN = 0, 1, -1
WORDS = ("rain_situation", "wetting_group", "finish_kind")


def place(site_name: Texts, climate: Climate, known: Library, **tables: Any) -> dict[str, Array]:
    """Likely factor, its ends, and whether it was read or computed; one value each [-].

    Computed: the dose of a year of the reference member here over that at the reference place, by the simplified
    dose-response model; the ends are those of the moisture model. Hours of a weather file do not count, for the
    reference place has none.
    """
    name = str(site_name.values[0] or "").split(",")[0]
    read = given(tables["index_factors"], "place").get(name)
    factors = [read] * len(CASES) if read is not None else _computed(climate, known, tables)
    kind = READ if read is not None else UNKNOWN if np.isnan(factors[0]) else COMPUTED
    values = {"": factors[0], "_low": min(factors), "_high": max(factors)}
    made = {f"index_place{end}": np.atleast_1d(value) for end, value in values.items()}
    return {**made, "index_place_kind": np.array([kind])}


def given(table: Table, factor: str) -> dict[str, float]:
    """The values of a factor of the guideline by what is given."""
    rows = zip(table.words("factor"), table.words("given"), table.numbers("value"), strict=True)
    return {given: value for name, given, value in rows if name == factor and given}


def _computed(climate: Climate, known: Library, tables: dict[str, Any]) -> list[float]:
    """Dose here over dose at the reference place, for each case of the moisture model."""
    reference = tables["index_reference"]
    key = reference.words("word")[reference.index["place"]]
    there = Climate.of_rows(known.rows_of("climate_monthly", key))
    facts = {**member(reference, known), **tables}
    here = replace(climate, hours=None)
    return [_dose(case, here, facts) / _dose(case, there, facts) for case in CASES]


def member(reference: Table, known: Library) -> dict[str, Any]:
    """The reference member as the moisture model takes its parts."""
    words = dict(zip(reference.words("quantity"), reference.words("word"), strict=True))
    lists = {name: known.register.facts["parts"][name].values for name in WORDS}
    density = known.table("density").number(words["species"], "specific_gravity_12")
    return {
        **{name: np.array([reference.number(name, "value")]) for name in ("thickness_mm", "width_mm")},
        **{name: Words(np.array([values.index(words[name])]), values) for name, values in lists.items()},
        "specific_gravity": np.array([density]),
    }


def _dose(case: str, climate: Climate, facts: dict[str, Any]) -> float:
    year = months(case, {**facts, "climate": climate})
    return float(year_days(simple(year, climate.t_mean_c, facts["dose_model"]))[0])
