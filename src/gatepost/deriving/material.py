"""What the part is: durability of the wood, what its treatment resists, its veneers."""

from __future__ import annotations

import numpy as np

from ..library import Table
from .values import Array, Words, once_a_kind

SAPWOOD_CLASS = 5.0
OUTWARD = ("out", "up")
LUMBER = "southern pine sawn"
ROUNDING = 0.01


def _lists(
    decay_group: Words, en350_low: Array, en350_high: Array, scheme: Words, decay_groups: Table
) -> tuple[Array, Array, Array]:
    """Class by EN 350 (middle of its range), class by the US grouping, and where EN 350 is the one to use."""
    european = (en350_low + en350_high) / 2
    classes = decay_groups.numbers("heart_class")
    american = decay_group.recode({group: classes[row] for group, row in decay_groups.index.items()})
    own, other = np.where(scheme.is_in("eu"), european, american), np.where(scheme.is_in("eu"), american, european)
    return own, other, np.where(np.isnan(own), ~scheme.is_in("eu"), scheme.is_in("eu"))


def heart_class(decay_group: Words, en350_low: Array, en350_high: Array, scheme: Words, decay_groups: Table) -> Array:
    """Durability class of the heartwood from the scheme's own list, else from the other one."""
    own, other, _ = _lists(decay_group, en350_low, en350_high, scheme, decay_groups)
    return np.where(np.isnan(own), other, own)


def heart_class_from(
    decay_group: Words, en350_low: Array, en350_high: Array, scheme: Words, decay_groups: Table
) -> Array:
    """Which list heart_class came from: 0 EN 350, 1 US decay group, -1 neither."""
    own, other, european = _lists(decay_group, en350_low, en350_high, scheme, decay_groups)
    return np.where(np.isnan(own) & np.isnan(other), -1, np.where(european, 0, 1))


def natural_class(heart_class: Array, wood_part: Words) -> Array:
    """Class of what the part holds: its heartwood where only heart is promised, else sapwood's."""
    return np.where(wood_part.is_in("heart"), heart_class, np.where(np.isnan(heart_class), np.nan, SAPWOOD_CLASS))


def heart_class_whole(heart_class: Array) -> Array:
    """The class rounded to the worse whole one, as a place in 1 to 5."""
    return np.where(np.isnan(heart_class), -1, np.ceil(np.nan_to_num(heart_class)) - 1).astype(int)


@once_a_kind
def treatment_category(
    treatment_kind: Words,
    preservative: Words,
    treatment_mark: Words,
    retention_kg_m3: Array,
    treated_how: Words,
    preservatives: Table,
    retentions: Table,
    modified_wood: Table,
) -> Array:
    """Highest use category that the treatment resists, as a place in the register's order; -1 unknown.

    By its mark, else by its retention, else the most that a preservative for above ground is listed for.
    """
    by_mark = treatment_mark.codes
    by_retention = _by_retention(preservative, retention_kg_m3, retentions, treatment_mark.values)
    listed = preservatives.words("most_category")
    most = preservative.relabel(treatment_mark.values, {name: listed[row] for name, row in preservatives.index.items()})
    treated = np.where(by_mark > 0, by_mark, np.where(by_retention >= 0, by_retention, most))
    treated = np.where(treated_how.is_in("dip", "brush"), 0, treated)
    words = modified_wood.words("treatment_category")
    modified = treatment_kind.relabel(
        treatment_mark.values, {kind: words[i] for kind, i in modified_wood.index.items()}
    )
    out = np.where(treatment_kind.is_in("preservative"), treated, modified)
    return np.where(treatment_kind.is_in("none"), 0, out)


def _by_retention(preservative: Words, retention_kg_m3: Array, retentions: Table, categories: tuple[str, ...]) -> Array:
    """Highest category whose published retention is met; 0 where none is, -1 without a retention or a listing."""
    out = np.full(len(preservative.codes), -1)
    pairs = zip(
        retentions.words("preservative"),
        retentions.words("use_category"),
        retentions.words("commodity"),
        retentions.numbers("retention_kg_m3"),
        strict=True,
    )
    for name, category, commodity, least in pairs:
        if commodity != LUMBER or name not in preservative.values:
            continue
        here = preservative.is_in(name) & ~np.isnan(retention_kg_m3)
        met = np.where(retention_kg_m3 >= least * (1 - ROUNDING), categories.index(category), 0)
        out = np.where(here, np.maximum(out, met), out)
    return out


@once_a_kind
def retention_needed_kg_m3(preservative: Words, use_category: Words, retentions: Table) -> Array:
    """Published retention of the preservative for the use category; NaN where it has no listing."""
    out = np.full(len(preservative.codes), np.nan)
    pairs = zip(
        retentions.words("preservative"),
        retentions.words("use_category"),
        retentions.words("commodity"),
        retentions.numbers("retention_kg_m3"),
        strict=True,
    )
    for name, category, commodity, least in pairs:
        if commodity == LUMBER and name in preservative.values and category in use_category.values:
            out = np.where(preservative.is_in(name) & use_category.is_in(category), np.fmax(out, least), out)
    return out


def treatment_meets(treatment_category: Words, use_category: Words, treatment_kind: Words) -> Array:
    """0 (yes) or 1 (no) for treated parts, -1 where either category is unknown or nothing was put in."""
    known = treatment_category.known & use_category.known & ~treatment_kind.is_in("none")
    asked = use_category.relabel(treatment_category.values)
    return np.where(known, (treatment_category.codes < asked).astype(int), -1)


def weather_veneer(veneer_face: Words, veneer_back: Words, best_face: Words) -> Array:
    """Veneer of the face toward the weather, as a place among the veneer grades; -1 unknown."""
    outward = np.where(best_face.is_in(*OUTWARD), veneer_face.codes, veneer_back.codes)
    return np.where(best_face.known, outward, -1)
