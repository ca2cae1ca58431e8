"""What a panel bears: stiffness the way it spans, how far it bends, how far its stamp reaches. Never a design."""

from __future__ import annotations

import numpy as np

from ..library import Table
from .values import Array, Words

GRAVITY_N_KG = 9.81
ONE_SPAN, MORE_SPANS = 5 / 384, 0.0069


def modulus(product: Words, face_grain: Words, panel_stiffness: Table) -> dict[str, Array]:
    """Low and high end of the published bending stiffness, along or across the face grain [GPa]."""
    out = {}
    for end in ("low", "high"):
        ways = [_of(product, panel_stiffness, f"{way}_{end}_gpa") for way in face_grain.values]
        chosen = np.select([face_grain.is_in(way) for way in face_grain.values], ways, np.nan)
        out[f"panel_modulus_gpa_{end}"] = chosen
    return out


def _of(product: Words, table: Table, column: str) -> Array:
    numbers = table.numbers(column)
    return product.recode({word: numbers[row] for word, row in table.index.items()})


def deflection(
    panel_modulus_gpa_low: Array,
    panel_modulus_gpa_high: Array,
    face_grain: Words,
    span_mm: Array,
    thickness_mm: Array,
    width_mm: Array,
    length_mm: Array,
    weight_kg: Array,
) -> dict[str, Array]:
    """Bending between supports under the load spread evenly over the part [mm], and the span over it.

    A beam on two supports bends 5/384 of w L⁴ / (E I), one over three spans and more 0.0069 of it in its end span
    (textbook beam formulas); a panel counts as such where it is at least twice as long as the span.
    The length of a panel runs along its face grain.
    """
    runs, strip = (
        np.where(face_grain.is_in("along"), *pair) for pair in ((length_mm, width_mm), (width_mm, length_mm))
    )
    runs = np.where(face_grain.known, np.maximum(runs, span_mm), np.nan)
    share = np.where(runs >= 2 * span_mm, MORE_SPANS, ONE_SPAN)
    load_n_mm = weight_kg * GRAVITY_N_KG / runs
    inertia_mm4 = strip * thickness_mm**3 / 12
    bends = [
        share * load_n_mm * span_mm**4 / (1000 * gpa * inertia_mm4)
        for gpa in (panel_modulus_gpa_high, panel_modulus_gpa_low)
    ]
    return {
        "deflection_mm_low": bends[0],
        "deflection_mm_high": bends[1],
        "span_over_deflection_low": span_mm / bends[1],
        "span_over_deflection_high": span_mm / bends[0],
    }


def span_most_mm(product: Words, role: Words, thickness_mm: Array, panel_spans: Table) -> Array:
    """Span of the highest rating stamped on a panel of this thickness; NaN for other roles and thinner panels [mm]."""
    least = panel_spans.numbers("thickness_least_mm")
    row = np.searchsorted(least, np.nan_to_num(thickness_mm), side="right") - 1
    rated = product.is_in("plywood", "OSB") & (thickness_mm >= least[0])
    by_role = np.select(
        [role.is_in("roof"), role.is_in("floor", "step")],
        [panel_spans.numbers("roof_mm")[row], panel_spans.numbers("floor_mm")[row]],
        np.nan,
    )
    return np.where(rated, by_role, np.nan)


def load_told(weight_kg: Array) -> Array:
    """0 (yes) where a load is written, else 1 (no)."""
    return np.where(np.isnan(weight_kg), 1, 0)
