"""How deep preservative must go, what the wood lets it do, and whether the inside of the stick stays bare."""

from __future__ import annotations

import numpy as np

from ..library import Table
from .values import Array, Words, once_a_kind

WHOLE_WOOD = ("lumber", "round", "glulam")
COATS = ("dip", "brush")
NO, MAYBE, YES = 0, 1, 2


def incising_needed(species: Words, hard_to_treat: Words, incising: Table) -> Array:
    """0 (yes) or 1 (no): as the woods are listed, else as the wood takes preservative; -1 where neither tells."""
    words = incising.words("incising_needed")
    listed = species.relabel(hard_to_treat.values, {name: words[row] for name, row in incising.index.items()})
    return np.where(listed >= 0, listed, hard_to_treat.codes)


@once_a_kind
def penetration_needed(
    treatment_kind: Words,
    product: Words,
    scheme: Words,
    use_category: Words,
    incising_needed: Words,
    thickness_mm: Array,
    penetration_asked: Table,
    preservative_penetration: Table,
) -> Array:
    """What the standard of the scheme asks to be penetrated, as a row of the table; -1 where none was found."""
    out = np.full(len(product.codes), -1)
    sides = zip(*(penetration_asked.numbers(name) for name in ("over_mm", "to_mm")), strict=True)
    for row, (over, to) in zip(penetration_asked.records(), sides, strict=True):
        here = scheme.is_in(row["scheme"]) & use_category.is_in(row["use_category"])
        here = here & product.is_in(*row["products"].split("; "))
        if row["incising_needed"]:
            here = here & incising_needed.is_in(row["incising_needed"])
        for bound, beyond in ((over, thickness_mm > over), (to, thickness_mm <= to)):
            here = here & (np.isnan(bound) | beyond)
        out = np.where(here, preservative_penetration.index[row["penetration_needed"]], out)
    return np.where(treatment_kind.is_in("preservative"), out, -1)


def untreated_core(
    treatment_kind: Words,
    treated_how: Words,
    product: Words,
    incising_needed: Words,
    incised: Words,
    wood_part: Words,
    thickness_mm: Array,
    penetration_needed_mm: Array,
) -> Array:
    """Does the inside stay bare? 0 no, 1 maybe (where there is heartwood), 2 yes; -1 unknown or not treated.

    A wood that resists keeps a bare core where two shells of the depth asked leave one, and where it was not
    incised; one that takes preservative does so in its sapwood. A dip or a brush leaves a skin on any wood.
    """
    resists, sap = incising_needed.is_in("yes") & ~product.is_in("round"), wood_part.is_in("sap")
    thick = (thickness_mm > 2 * penetration_needed_mm) | incised.is_in("no")
    through = np.where(incised.is_in("yes") & (thickness_mm <= 2 * penetration_needed_mm), NO, MAYBE)
    hard = np.where(sap, MAYBE, np.where(thick | np.isnan(penetration_needed_mm), YES, through))
    soft = np.where(sap, NO, np.where(wood_part.known, MAYBE, -1))
    deep = np.where(resists, hard, np.where(incising_needed.known, soft, -1))
    out = np.where(treated_how.is_in(*COATS), YES, deep)
    return np.where(treatment_kind.is_in("preservative") & product.is_in(*WHOLE_WOOD), out, -1)
