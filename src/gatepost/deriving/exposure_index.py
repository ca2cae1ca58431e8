"""The exposure index of the guideline against its resistance index; factors that were never read stay unknown."""

from __future__ import annotations

import numpy as np

from .. import decay
from ..library import Table
from .index_place import UNKNOWN, given
from .life import is_solid
from .values import Array, Words

ANY_PLACE, PEOPLE = "any", "people"
ENDS = ("", "_low", "_high")
YES, NO, NEAR = 0, 1, 2


def _ground(height_clear_mm: Array, table: Table) -> Array:
    """Factor for the distance to the ground, by the last limit that the height passes."""
    rows = [at for at, name in enumerate(table.words("factor")) if name == "ground"]
    limits, values = table.numbers("over_mm")[rows], table.numbers("value")[rows]
    step = np.searchsorted(limits, np.nan_to_num(height_clear_mm), side="left") - 1
    return np.where(np.isnan(height_clear_mm) | (step < 0), np.nan, values[np.maximum(step, 0)])


def exposure(
    index_place: Array,
    index_place_low: Array,
    index_place_high: Array,
    index_place_kind: Words,
    worst_exposure: Words,
    height_clear_mm: Array,
    detail: Words,
    index_factors: Table,
) -> dict[str, Array]:
    """Index of place, local exposure, rain, distance to the ground and detail, and its ends by those of the place."""
    others = (
        given(index_factors, "local")[ANY_PLACE],
        worst_exposure.recode(given(index_factors, "shelter")),
        _ground(height_clear_mm, index_factors),
        detail.recode(given(index_factors, "detail")),
        1.0,
        given(index_factors, "calibration")[ANY_PLACE],
    )
    places = zip(ENDS, (index_place, index_place_low, index_place_high), strict=True)
    out = {f"exposure_index{end}": decay.exposure_index(place, *others) for end, place in places}
    kind = np.where(np.isnan(out["exposure_index"]), UNKNOWN, index_place_kind.codes)
    return {**out, "exposure_index_kind": kind}


def design(
    exposure_index: Array,
    exposure_index_low: Array,
    exposure_index_high: Array,
    swap: Words,
    bears_people: Words,
    index_factors: Table,
) -> dict[str, Array]:
    """The index times the factor for what a failure would cost; a part that carries people counts as the gravest."""
    factors = given(index_factors, "consequence")
    times = np.where(bears_people.is_in("yes"), factors[PEOPLE], swap.recode(factors))
    ends = zip(ENDS, (exposure_index, exposure_index_low, exposure_index_high), strict=True)
    return {f"design_exposure_index{end}": index * times for end, index in ends}


def resistance(
    en350_low: Array,
    wood_part: Words,
    treatment_kind: Words,
    treatment_category: Words,
    hard_to_treat: Words,
    product: Words,
    products: Table,
    index_resistance: Table,
) -> Array:
    """Index of the heartwood by its class, lower where sapwood may be in it; or of the treatment by its category; panels have none.

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
    return np.where(is_solid(product, products), np.select(kinds, [bare, treated], np.nan), np.nan)


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


def accepted(
    design_exposure_index_low: Array, design_exposure_index_high: Array, resistance_index: Array
) -> dict[str, Array]:
    """Yes where the exposure stays below the resistance; near where only one of its ends does; unknown else."""
    known = ~np.isnan(design_exposure_index_low) & ~np.isnan(design_exposure_index_high) & ~np.isnan(resistance_index)
    below = [design_exposure_index_high < resistance_index, design_exposure_index_low >= resistance_index]
    answer = np.select(below, [YES, NO], NEAR)
    return {"index_accepted": np.where(known, answer, UNKNOWN), "index_known": np.where(known, YES, NO)}
