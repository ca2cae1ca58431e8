"""How much the part moves: moisture through the year, swing across the width, gap to leave."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from .. import moisture
from ..library import Table
from .values import Array, Words


def ring_angle_deg(grain: Any, grain_deg: Array, ring_angles: Table) -> Array:
    """Ring angle: as written in degrees, else the least (flattest) of the words' angles."""
    angles = ring_angles.numbers("ring_angle_deg")
    out = np.full(len(grain_deg), np.nan)
    for word, row in ring_angles.index.items():
        out = np.where(grain.has(word), np.fmin(out, angles[row]), out)
    return np.where(np.isnan(grain_deg), out, grain_deg)


def mc_build_pct(moisture_pct: Array, moisture_word: Words, work_emc_pct: Array, seasoning: Table) -> Array:
    """Moisture content on the day of assembly: as written, else by the seasoning word, else the air of that day."""
    likely = seasoning.numbers("mc_likely_pct")
    by_word = moisture_word.recode({word: likely[row] for word, row in seasoning.index.items()})
    written = np.where(np.isnan(moisture_pct), by_word, moisture_pct)
    return np.where(np.isnan(written), work_emc_pct, written)


@dataclass(frozen=True)
class _Board:
    """What decides how a part moves: its width, its shrinkage and coefficient across it, how far boards differ."""

    width_mm: Array
    shrinkage_pct: Array
    coefficient: Array
    panel_per_pct: Array
    solid: Array
    spread: Array

    @classmethod
    def of(cls, facts: dict[str, Any]) -> _Board:
        """From the facts; a wood without figures moves as its group, with a wider band; modified wood has no figure."""
        groups, kind, angle = facts["shrinkage_groups"], facts["wood_kind"], facts["ring_angle_deg"]
        known = _known(facts["shrink_tangential_pct"], facts["shrink_radial_pct"])
        row = np.where(kind.known, kind.codes, groups.index["any"])
        tangential = np.where(known, facts["shrink_tangential_pct"], groups.numbers("tangential_pct")[row])
        radial = np.where(known, facts["shrink_radial_pct"], groups.numbers("radial_pct")[row])
        panels, constants = facts["panel_movement"], facts["constants"]
        per_pct = panels.numbers("across_pct_per_pct") / 100
        spread = constants.number("shrinkage_variation", "value") * constants.number("band_deviations", "value")
        return cls(
            np.where(_modified(facts["treatment_kind"], facts["modified_wood"]), np.nan, facts["width_mm"]),
            moisture.across_grain(tangential, radial, angle),
            moisture.across_grain(facts["coef_tangential"], facts["coef_radial"], angle),
            facts["product"].recode({word: per_pct[at] for word, at in panels.index.items()}),
            _solid(facts["product"], facts["products"]),
            np.where(known, spread, groups.numbers("spread")[row]),
        )

    def change(self, from_pct: Array, to_pct: Array) -> Array:
        """Change of width between two moisture contents [mm]."""
        lumber = moisture.width_change(self.width_mm, self.coefficient, self.shrinkage_pct, from_pct, to_pct)
        low, high = (np.minimum(mc, moisture.SATURATED_PCT) for mc in (from_pct, to_pct))
        return np.where(self.solid, lumber, self.width_mm * self.panel_per_pct * (high - low))

    def band(self, name: str, likely: Array, low: Array, high: Array) -> dict[str, Array]:
        """A movement as likely, low and high: moisture at its ends, boards that move little and much."""
        plain = np.maximum(likely, 0)
        least = np.minimum(np.maximum(low, 0) * (1 - np.minimum(self.spread, 1)), plain)
        most = np.maximum(high * (1 + self.spread), plain)
        return {f"{name}_mm": plain, f"{name}_mm_low": least, f"{name}_mm_high": most}


def _modified(treatment_kind: Words, modified_wood: Table) -> Array:
    """Where the wood no longer takes up water as the raw wood does, and no figure was read."""
    less = modified_wood.words("moves_as_raw")
    return treatment_kind.is_in(*(word for word, row in modified_wood.index.items() if less[row] == "no"))


def _known(tangential: Array, radial: Array) -> Array:
    return ~(np.isnan(tangential) | np.isnan(radial))


def _solid(product: Words, products: Table) -> Array:
    moves = products.words("moves_as")
    return product.is_in(*(word for word, row in products.index.items() if moves[row] == "lumber"))


def movement_from(product: Words, products: Table, shrink_tangential_pct: Array, shrink_radial_pct: Array) -> Array:
    """0 the wood's own figures, 1 those of its group, 2 a panel's."""
    own = np.where(_known(shrink_tangential_pct, shrink_radial_pct), 0, 1)
    return np.where(product.known, np.where(_solid(product, products), own, 2), -1)


def swing(**facts: Any) -> dict[str, Array]:
    """Change of width between the driest and the wettest month, with its band [mm]."""
    board, dry, wet = _Board.of(facts), "mc_low_pct", "mc_high_pct"
    likely = board.change(facts[dry], facts[wet])
    low = board.change(facts[f"{dry}_high"], facts[f"{wet}_low"])
    high = board.change(facts[f"{dry}_low"], facts[f"{wet}_high"])
    return board.band("swing", likely, low, high)


def from_build(**facts: Any) -> dict[str, Array]:
    """From the day of assembly: growth to the wettest month, shrinkage to the driest, their bands, and both widths [mm]."""
    board, start = _Board.of(facts), facts["mc_build_pct"]
    grow = [board.change(start, facts[f"mc_high_pct{end}"]) for end in ("", "_low", "_high")]
    shrink = [-board.change(start, facts[f"mc_low_pct{end}"]) for end in ("", "_high", "_low")]
    widths = {"width_driest_mm": board.width_mm - shrink[0], "width_wettest_mm": board.width_mm + grow[0]}
    return {**board.band("grow", *grow), **board.band("shrink", *shrink), **widths}


def gap(
    grow_mm: Array, grow_mm_low: Array, grow_mm_high: Array, gap_least_mm: Array, gap_counts: Words, across: Array
) -> dict[str, Array]:
    """Gap to leave on the day of assembly: the growth to come and what should remain on the wettest day [mm].

    Between boards each grows into its own gap; at the latch of a leaf all boards do; in a groove half of the panel.
    """
    times = np.where(gap_counts.is_in("all"), across, np.where(gap_counts.is_in("half"), across / 2, 1.0))
    grows = {"gap_mm": grow_mm, "gap_mm_low": grow_mm_low, "gap_mm_high": grow_mm_high}
    return {name: grow * times + gap_least_mm for name, grow in grows.items()}


def leaf_grow_mm(grow_mm: Array, across: Array) -> Array:
    """Growth of all boards of a leaf or floor together [mm]."""
    return grow_mm * across


def break_strain_permille(species: Words, product: Words, tension_across: Table, constants: Table) -> Array:
    """Strain across the grain at which solid wood tears: strength over stiffness [parts in 1000].

    The published strength is a mean of the radial and tangential directions; so the stiffness is taken likewise.
    """
    along_mpa = 1000 * tension_across.numbers("bending_modulus_gpa") * constants.number("modulus_along_times", "value")
    shares = (tension_across.numbers("tangential_share") + tension_across.numbers("radial_share")) / 2
    strains = 1000 * tension_across.numbers("tension_mpa") / (along_mpa * shares)
    by_wood = species.recode({wood: strains[row] for wood, row in tension_across.index.items()})
    return np.where(product.is_in("lumber"), by_wood, np.nan)
