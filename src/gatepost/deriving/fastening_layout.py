"""How many fasteners, how far apart and from edges and ends, and what one of them holds as a guide."""

from __future__ import annotations

import numpy as np

from .. import holding
from ..library import Table
from .fastening import steps
from .values import Array, Words

PARALLEL_DEG = 45.0
"""Below this angle the parts lie along each other, and the fasteners stand in a row along the joint."""


MANY_HOLES = 4
"""From so many holes across a board on, one of them is more than one place away from the middle one."""


def distances(
    fastener_family: Words,
    shank_mm: Array,
    through_gravity: Array,
    hold_gravity: Array,
    pilot: Words,
    bore: Words,
    carries: Words,
    scheme: Words,
    fastener_spacings: Table,
    constants: Table,
) -> dict[str, Array]:
    """Least distances of the published tables: to an edge and an end of the wood, and between two fasteners [mm].

    By the denser of the two woods; wood without a figure counts as dense. Where it is not written whether the hole is
    bored, it counts as bored where it must be. A screw thicker than a nail keeps the distances of bolts.
    """
    thick = fastener_family.is_in("screw") & (shank_mm > constants.number("thin_shank_mm", "value"))
    as_lag = np.where(thick, fastener_family.values.index("lag screw"), fastener_family.codes)
    family = Words(as_lag, fastener_family.values)
    bored = pilot.is_in("yes") | (~pilot.known & bore.is_in("always")) | family.is_in("bolt", "lag screw")
    loaded = carries.is_in("shear")
    dense = np.where(np.isnan(through_gravity) | np.isnan(hold_gravity), np.inf, np.fmax(through_gravity, hold_gravity))
    rows = _rows(family, dense, bored, scheme, fastener_spacings)

    def column(name: str) -> Array:
        return np.append(fastener_spacings.numbers(name), np.nan)[rows]

    end_loaded = np.fmax(column("end_loaded_times") * shank_mm, column("end_loaded_least_mm"))
    return {
        "edge_mm": np.where(loaded, column("edge_loaded_times"), column("edge_times")) * shank_mm,
        "end_mm": np.where(loaded, end_loaded, column("end_times") * shank_mm),
        "edge_free_mm": column("edge_times") * shank_mm,
        "along_least_mm": column("along_times") * shank_mm,
        "across_least_mm": column("across_times") * shank_mm,
    }


def _rows(names: Words, gravity: Array, bored: Array, scheme: Words, table: Table) -> Array:
    """Row of the table for each joint; the last (unknown) where none fits."""
    out = np.full(np.shape(bored), -1)
    asked = zip(
        table.words("family"), table.words("scheme"), table.words("bored"), table.numbers("gravity_over"), strict=True
    )
    for at, (family, whose, is_bored, over) in enumerate(asked):
        fits = names.is_in(family) & scheme.is_in(whose) & (bored == (is_bored == "yes")) & (gravity > over)
        out = np.where(fits, at, out)
    return out


def layout(
    fastener_family: Words,
    on_plate: Words,
    edge_mm: Array,
    edge_free_mm: Array,
    end_mm: Array,
    across_least_mm: Array,
    through_width_mm: Array,
    contact_mm: Array,
    angle_deg: Array,
    a_length_mm: Array,
    b_length_mm: Array,
    fastener_counts: Table,
) -> dict[str, Array]:
    """How many in one joint and how far apart: across each board at a crossing, along the run of parts that lie along each other."""
    boards = np.fmax(np.round(np.where(np.isnan(contact_mm), through_width_mm, contact_mm) / through_width_mm), 1)
    width = np.fmin(contact_mm, through_width_mm)
    usual = steps(fastener_family, width, fastener_counts, "count")
    spare = width - edge_mm - edge_free_mm
    crossing = np.fmax(np.fmin(usual, np.floor(spare / across_least_mm) + 1), 1)
    apart = np.where(width / crossing / 2 >= edge_mm, width / crossing, spare / (crossing - 1))
    run = np.fmin(a_length_mm, b_length_mm) - 2 * end_mm
    every = steps(fastener_family, np.where(np.isnan(width), 0, width), fastener_counts, "along_mm")
    in_row = np.fmax(np.ceil(run / every), 1) + 1
    along = (angle_deg < PARALLEL_DEG) & ~np.isnan(in_row)
    known = ~np.isnan(usual)
    plate = on_plate.is_in("yes")
    count = np.where(along, in_row, np.where(known, boards * crossing, np.nan))
    return {
        "advised_count": np.where(plate, np.nan, count),
        "spacing_mm": np.where(
            plate, np.nan, np.where(along, run / (in_row - 1), np.where(crossing > 1, apart, np.nan))
        ),
        "in_a_row": np.where(along, 0, np.where(known, 1, -1)),
    }


def slots(
    fastener_family: Words,
    in_a_row: Words,
    shank_mm: Array,
    spacing_mm: Array,
    a_width_mm: Array,
    a_swing_mm: Array,
    a_swing_mm_high: Array,
    constants: Table,
) -> dict[str, Array]:
    """Whether part_a is likely to move more between two fasteners across it than a plain hole gives, and how long a slot is [mm].

    One fastener is fixed, the middle one of several; a slot holds the shank, the most that the wood between the fixed
    fastener and the outermost moves, and a little more.
    """
    apart = np.where(np.isnan(spacing_mm), 0.0, spacing_mm) / a_width_mm
    moves = apart * a_swing_mm
    crosses = fastener_family.is_in("screw", "bolt", "lag screw") & in_a_row.is_in("no")
    needed = np.where(moves > constants.number("slot_from_mm", "value"), 0, 1)
    needed = np.where(crosses, np.where(np.isnan(moves), -1, needed), 1)
    holes = np.round(a_width_mm / np.where(apart > 0, spacing_mm, np.nan))
    outermost = np.where(holes >= MANY_HOLES, np.floor(holes / 2), 1)
    length = shank_mm + outermost * apart * a_swing_mm_high + 2 * constants.number("slot_end_mm", "value")
    return {"slot_needed": needed, "slot_length_mm": np.where(needed == 1, 0.0, np.where(needed == 0, length, np.nan))}


def guide(
    fastener_family: Words,
    advised_kind: Words,
    shank_mm: Array,
    root_mm: Array,
    fastener_length_mm: Array,
    through_mm: Array,
    hold_mm: Array,
    through_gravity: Array,
    hold_gravity: Array,
    into: Words,
    worse_exposure: Words,
    fastener_holding: Table,
    fastener_yield: Table,
    constants: Table,
) -> dict[str, Array]:
    """What one fastener holds, pulled and loaded across [N]; guide values from handbook equations, no structural design."""
    depth = np.where(worse_exposure.known, np.clip(fastener_length_mm - through_mm, 0, hold_mm), np.nan)
    ends, wet = into.is_in("end grain"), worse_exposure.codes >= worse_exposure.values.index("weather")
    pull = holding.withdrawal_n(depth, shank_mm, hold_gravity, *_of_family(fastener_family, fastener_holding))
    rows = fastener_holding.index
    factors = {name: fastener_holding.numbers(name) for name in ("end_grain_times", "driven_wet_times")}
    end_times, wet_times = (
        fastener_family.recode({name: factors[key][row] for name, row in rows.items()}) for key in factors
    )
    wet_times = np.where(advised_kind.is_in("ring-shank nail"), 1.0, wet_times)
    pull = (
        pull
        * np.where(ends, end_times, 1)
        * np.where(wet, wet_times, 1)
        / constants.number("withdrawal_safety", "value")
    )
    return {
        "withdrawal_n": pull,
        "lateral_n": _lateral(
            fastener_family,
            shank_mm,
            root_mm,
            depth,
            through_mm,
            (through_gravity, hold_gravity),
            (ends, wet),
            fastener_yield,
            constants,
        ),
    }


def _of_family(names: Words, table: Table) -> list[Array]:
    columns = ("withdrawal_k", "gravity_power", "diameter_power")
    return [names.recode({name: table.numbers(key)[row] for name, row in table.index.items()}) for key in columns]


def _lateral(
    names: Words,
    shank: Array,
    root: Array,
    depth: Array,
    through: Array,
    gravities: tuple[Array, Array],
    ends_wet: tuple[Array, Array],
    fastener_yield: Table,
    constants: Table,
) -> Array:
    """The yield limit, less where the point is short, in end grain and in wet wood."""
    bends = np.where(names.is_in("screw", "lag screw"), root, shank)
    side, main = (holding.bearing_mpa(gravity, shank) for gravity in gravities)
    strength = steps(names, bends, fastener_yield, "yield_mpa")
    load = holding.yield_limit_n(bends, through, depth, side, main, strength)
    full, least = (constants.number(f"lateral_depth_{name}", "value") * shank for name in ("full", "least"))
    short = np.where(depth < least, np.nan, np.fmin(depth / full, 1))
    short = np.where(names.is_in("bolt"), 1.0, short)
    ends, wet = (
        np.where(holds, constants.number(f"lateral_{name}_times", "value"), 1.0)
        for holds, name in zip(ends_wet, ("end_grain", "wet"), strict=True)
    )
    return load * short * ends * wet
