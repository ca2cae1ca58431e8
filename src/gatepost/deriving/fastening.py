"""Which fastener a joint takes: the member it goes through, kind and size from what the trade sells, holes, places."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..library import Table
from .values import Array, Words

FAMILIES = ("none", "screw", "nail", "lag screw", "bolt", "staple")
FULL, PART, THROUGH, NOT = 0, 1, 2, 3
"""How the advised size holds: full penetration, PART_SHARE of it, through a thin panel, or no size of the kind does."""
PART_SHARE = 0.7
NO_LIMIT_MM = 1000.0
PLATE_MM = 3.0
"""A hinge leaf or strap, near enough for the length of a screw."""
BLOCK, FAR = 4096, 1e6
USUAL_ROOT = 0.65
"""Root of a screw as a share of its shank where no table tells: about two thirds (common practice, no source)."""
WHEN = ("never", "near ends", "always")
THIN_MM = 20.0
"""Into a panel thinner than this nails and staples may come through, as shingle schedules have it (3/4 in or through)."""
INSIDE_MM = 2.0
"""A point stays this far from the far face."""
BOLT_ENDS_DIAMETERS = 1.5
"""Washers, nut and a thread to spare, in diameters of the bolt."""


def members(
    method: Words,
    a_thickness_mm: Array,
    b_thickness_mm: Array,
    a_width_mm: Array,
    b_width_mm: Array,
    a_specific_gravity: Array,
    b_specific_gravity: Array,
    a_role: Words,
    b_role: Words,
    a_lies: Words,
    b_lies: Words,
    into: Words,
    roles: Table,
    fastener_methods: Table,
) -> dict[str, Array]:
    """The thinner part is fastened through, the other holds: its edge where the first is a floor, a cap or the like on it.

    A hinge, strap or base is fastened into one part: its plate counts as what is fastened through, the thinner part holds.
    """
    first = ~(b_thickness_mm < a_thickness_mm)
    known = ~np.isnan(a_thickness_mm) & ~np.isnan(b_thickness_mm)
    edges = [word for word, row in roles.index.items() if roles.words("on_edges")[row] == "yes"]
    edge = np.where(
        first, a_role.is_in(*edges) & b_lies.is_in("upright"), b_role.is_in(*edges) & a_lies.is_in("upright")
    )
    holds = np.where(first, b_thickness_mm, a_thickness_mm)
    holds = np.where(edge, np.fmax(holds, np.where(first, b_width_mm, a_width_mm)), holds)
    holds = np.where(into.is_in("end grain"), NO_LIMIT_MM, holds)
    thin = np.fmin(a_thickness_mm, b_thickness_mm)
    plate = on_plate(method, fastener_methods) == 0
    return {
        "through_side": np.where(known, np.where(first, 0, 1), -1),
        "through_mm": np.where(known, np.where(plate, PLATE_MM, thin), np.nan),
        "hold_mm": np.where(known, np.where(plate, thin, holds), np.nan),
        "through_width_mm": np.where(first, a_width_mm, b_width_mm),
        "hold_gravity": np.where(first, b_specific_gravity, a_specific_gravity),
        "through_gravity": np.where(first, a_specific_gravity, b_specific_gravity),
    }


def on_plate(method: Words, fastener_methods: Table) -> Array:
    """0 (yes) where the method fastens a plate of metal to one part, 1 (no), -1 unknown."""
    return method.relabel(("yes", "no"), _column(fastener_methods, "on_plate"))


def family(method: Words, fastener_kind: Words, fastener_kinds: Table, fastener_methods: Table) -> dict[str, Array]:
    """Family and kind to take: the kind that is written, else that of the method."""
    by_kind = fastener_kind.relabel(FAMILIES, _column(fastener_kinds, "family"))
    by_method = method.relabel(FAMILIES, _column(fastener_methods, "family"))
    kind_of_method = method.relabel(fastener_kind.values, _column(fastener_methods, "kind"))
    return {
        "fastener_family": np.where(by_kind >= 0, by_kind, by_method),
        "advised_kind": np.where(by_kind >= 0, fastener_kind.codes, kind_of_method),
    }


def _column(table: Table, name: str) -> dict[str, str]:
    return dict(zip(table.words(table.header[0]), table.words(name), strict=True))


def advised(
    fastener_family: Words,
    advised_kind: Words,
    on_plate: Words,
    through_mm: Array,
    hold_mm: Array,
    scheme: Words,
    fastener_penetration: Table,
    fastener_gauges: Table,
    fastener_stock: Table,
) -> dict[str, Array]:
    """The size of the trade that fits: gauge by the thickness it goes through, then the shortest that holds in full.

    None holds in full: the shortest that holds in part without coming out; else no size.
    """
    gauges = [steps(fastener_family, through_mm, fastener_gauges, f"{end}_mm") for end in ("least", "most")]
    times = fastener_penetration.numbers("penetration_diameters")
    times = advised_kind.recode({word: times[row] for word, row in fastener_penetration.index.items()})
    joints = np.column_stack([through_mm, hold_mm, *gauges, times])
    size, hold = np.full(len(joints), -1), np.full(len(joints), -1)
    for name in FAMILIES[1:]:
        stock = _Stock.of(fastener_stock, name, scheme)
        bolted_plate = on_plate.is_in("yes") & fastener_family.is_in("bolt")
        rows = np.flatnonzero(fastener_family.is_in(name) & ~np.isnan(joints[:, :4]).any(axis=1) & ~bolted_plate)
        for start in range(0, len(rows), BLOCK):
            block = rows[start : start + BLOCK]
            size[block], hold[block] = stock.fit(*joints[block].T[:, :, None])
    return {"advised_size": size, "advised_hold": hold}


@dataclass(frozen=True)
class _Stock:
    """What the trade of a scheme sells of a family: rows of the table, diameters and lengths."""

    rows: Array
    diameter: Array
    length: Array
    family: str

    @classmethod
    def of(cls, table: Table, name: str, scheme: Words) -> _Stock:
        """The rows of a family in the project's scheme."""
        sold = scheme.values[int(scheme.codes.flat[0])] if len(scheme.codes) else ""
        told = zip(table.words("family"), table.words("scheme"), strict=True)
        rows = np.array([at for at, row in enumerate(told) if row == (name, sold)], int)
        return cls(rows, table.numbers("diameter_mm")[rows], table.numbers("length_mm")[rows], name)

    def fit(self, through: Array, hold: Array, least: Array, most: Array, times: Array) -> tuple[Array, Array]:
        """Row of the stock and how well it holds, for joints down and sizes across."""
        gauge = (self.diameter >= least) & (self.diameter <= most)
        off = np.abs(self.diameter - (least + most) / 2) * FAR + self.length
        out, how = np.full(len(through), -1), np.full(len(through), NOT)
        for degree, fits in reversed(list(enumerate(self._ways(gauge, through, hold, times)))):
            some = fits.any(axis=1)
            best = np.where(fits, off, np.inf).argmin(axis=1) if len(self.rows) else np.zeros(len(through), int)
            out[some], how[some] = self.rows[best[some]], degree
        return out, how

    def _ways(self, gauge: Array, through: Array, hold: Array, times: Array) -> tuple[Array, ...]:
        """Sizes that hold in full, in part, or through a thin panel, the best way first."""
        if self.family == "bolt":
            return (gauge & (self.length >= through + hold + BOLT_ENDS_DIAMETERS * self.diameter),)
        inside = gauge & (self.length <= through + hold - INSIDE_MM)
        full, part = (inside & (self.length >= through + share * times * self.diameter) for share in (1, PART_SHARE))
        thin = (hold < THIN_MM) & (self.family in ("nail", "staple"))
        return full, part, gauge & thin & (self.length >= through + hold + INSIDE_MM)


def steps(names: Words, values: Array, table: Table, column: str | Array) -> Array:
    """A column along a table of steps (family, the limit that a value must pass), NaN where family or value is unknown."""
    numbers = table.numbers(column) if isinstance(column, str) else column
    limit = next(name for name in table.header if name.endswith(("_over", "_over_mm")))
    out = np.full(np.shape(values), np.nan)
    for name in dict.fromkeys(table.words("family")):
        rows = [at for at, word in enumerate(table.words("family")) if word == name]
        step = np.searchsorted(table.numbers(limit)[rows], np.nan_to_num(values), side="left") - 1
        out = np.where(names.is_in(name) & ~np.isnan(values), numbers[rows][np.maximum(step, 0)], out)
    return out


def used(
    fastener_family: Words, size_diameter_mm: Array, size_length_mm: Array, advised_size: Words, fastener_stock: Table
) -> dict[str, Array]:
    """Shank, root and length of the fastener: as written, else of the size advised; roots in proportion to shanks."""
    diameter, root, length = (
        np.append(fastener_stock.numbers(f"{name}_mm"), np.nan)[advised_size.codes]
        for name in ("diameter", "root", "length")
    )
    threaded = fastener_family.is_in("screw", "lag screw")
    share = np.where(threaded, np.where(np.isnan(root), USUAL_ROOT, root / diameter), 1.0)
    shank = np.where(np.isnan(size_diameter_mm), diameter, size_diameter_mm)
    long = np.where(np.isnan(size_length_mm), length, size_length_mm)
    return {"shank_mm": shank, "root_mm": shank * share, "fastener_length_mm": long}


def holes(
    fastener_family: Words,
    shank_mm: Array,
    root_mm: Array,
    through_gravity: Array,
    hold_gravity: Array,
    fastener_holes: Table,
) -> dict[str, Array]:
    """Pilot hole in the holding piece, hole for the shank in the other, and when to bore, by the denser of the two."""
    of_root = np.array([float(word == "root") for word in fastener_holes.words("pilot_of")])
    when = np.array([float(WHEN.index(word)) for word in fastener_holes.words("when")])

    def at(gravity: Array, column: str | Array) -> Array:
        return steps(fastener_family, gravity, fastener_holes, column)

    base = np.where(at(hold_gravity, of_root) == 1, root_mm, shank_mm)
    low, high = (base * at(hold_gravity, f"pilot_{end}") for end in ("low", "high"))
    bore = at(np.fmax(hold_gravity, through_gravity), when)
    shank_hole = shank_mm * at(hold_gravity, "clearance_times") + at(hold_gravity, "clearance_add_mm")
    return {
        "pilot_mm": (low + high) / 2,
        "pilot_mm_low": low,
        "pilot_mm_high": high,
        "shank_hole_mm": shank_hole,
        "bore": np.where(np.isnan(bore), -1, bore).astype(int),
    }
