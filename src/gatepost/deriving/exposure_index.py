"""The exposure index of the guideline against its resistance index; factors that were never read stay unknown."""

from __future__ import annotations

import numpy as np

from .. import decay
from ..library import Table
from .values import Array, Texts, Words

ANY_PLACE, PEOPLE = "any", "people"


def _given(table: Table, factor: str) -> dict[str, float]:
    """The values of a factor by what is given."""
    rows = zip(table.words("factor"), table.words("given"), table.numbers("value"), strict=True)
    return {given: value for name, given, value in rows if name == factor and given}


def _ground(height_clear_mm: Array, table: Table) -> Array:
    """Factor for the distance to the ground, by the last limit that the height passes."""
    rows = [at for at, name in enumerate(table.words("factor")) if name == "ground"]
    limits, values = table.numbers("over_mm")[rows], table.numbers("value")[rows]
    step = np.searchsorted(limits, np.nan_to_num(height_clear_mm), side="left") - 1
    return np.where(np.isnan(height_clear_mm) | (step < 0), np.nan, values[np.maximum(step, 0)])


def exposure(
    site_name: Texts, worst_exposure: Words, height_clear_mm: Array, detail: Words, index_factors: Table
) -> Array:
    """Index of place, local exposure, rain, distance to the ground and detail."""
    name = str(site_name.values[0] or "").split(",")[0]
    return decay.exposure_index(
        _given(index_factors, "place").get(name, np.nan),
        _given(index_factors, "local")[ANY_PLACE],
        worst_exposure.recode(_given(index_factors, "shelter")),
        _ground(height_clear_mm, index_factors),
        detail.recode(_given(index_factors, "detail")),
        1.0,
        _given(index_factors, "calibration")[ANY_PLACE],
    )


def design(exposure_index: Array, swap: Words, bears_people: Words, index_factors: Table) -> Array:
    """The index times the factor for what a failure would cost; a part that carries people counts as the gravest."""
    factors = _given(index_factors, "consequence")
    return exposure_index * np.where(bears_people.is_in("yes"), factors[PEOPLE], swap.recode(factors))


def resistance(
    en350_low: Array,
    wood_part: Words,
    treatment_kind: Words,
    treatment_category: Words,
    hard_to_treat: Words,
    index_resistance: Table,
) -> Array:
    """Index of the heartwood by its class, lower where sapwood may be in it; or of the treatment by its category.

    The better end of a range of classes counts: so the guideline itself ranks oak, larch and western redcedar.
    """
    number = index_resistance.numbers
    row = _row(en350_low, number("class_to"))
    slow = hard_to_treat.is_in("yes") | (row < index_resistance.index["D"])
    heart, mixed = (np.append(number(name), np.nan)[row] for name in ("value", "value_with_sapwood"))
    bare = np.where(wood_part.is_in("heart"), heart, np.where(wood_part.is_in("mixed"), mixed, np.nan))
    bare = np.where(slow, bare, np.nan)
    treated = _treated(treatment_category, index_resistance)
    kinds = [treatment_kind.is_in("none"), treatment_kind.is_in("preservative")]
    return np.select(kinds, [bare, treated], np.nan)


def _row(heart_class: Array, class_to: Array) -> Array:
    """Row of the class that the wood's durability falls in; the row after the last where it is unknown or none."""
    last = int(np.isfinite(class_to).sum())
    row = np.searchsorted(class_to[:last], np.nan_to_num(heart_class), side="left")
    return np.where(np.isnan(heart_class) | (row >= last), len(class_to), row)


def _treated(treatment_category: Words, table: Table) -> Array:
    """The best class whose least category the treatment meets."""
    out = np.full(len(treatment_category.codes), np.nan)
    for category, value in zip(reversed(table.words("least_category")), reversed(table.numbers("value")), strict=True):
        if category:
            met = treatment_category.codes >= treatment_category.values.index(category)
            out = np.where(met, value, out)
    return out


def accepted(design_exposure_index: Array, resistance_index: Array) -> Array:
    """0 (yes) where the exposure stays below the resistance, 1 (no), -1 unknown."""
    known = ~np.isnan(design_exposure_index) & ~np.isnan(resistance_index)
    return np.where(known, (design_exposure_index >= resistance_index).astype(int), -1)
