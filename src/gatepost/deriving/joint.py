"""What the joint is: glued or fastened, how deep the fastener goes, how the two parts move apart."""

from __future__ import annotations

import numpy as np

from ..library import Table
from .values import Array, Words

ZINC_COATED = "zinc-coated steel"
STEEL, BARE = "steel", ("none", "stainless")


def glued(method: Words, glue_kind: Words, methods: Table) -> Array:
    """0 (yes) where the method is a glued one or a glue is named, 1 (no), -1 where neither tells."""
    kinds = methods.words("glued")
    by_method = method.relabel(("yes", "no", "if glue"), {word: kinds[row] for word, row in methods.index.items()})
    named = glue_kind.known & ~glue_kind.is_in("none")
    without = glue_kind.is_in("none") & np.isin(by_method, (1, 2)) | (by_method == 1)
    return np.where((by_method == 0) | named, 0, np.where(without, 1, -1))


def fastened(method: Words, fastener_kind: Words, methods: Table) -> Array:
    """0 (yes) where the method is a fastened one or a fastener is named, 1 (no), -1 where neither tells."""
    kinds = methods.words("fastened")
    by_method = method.relabel(("yes", "no"), {word: kinds[row] for word, row in methods.index.items()})
    named = fastener_kind.known & ~fastener_kind.is_in("none")
    return np.where(named, 0, by_method)


def surface_index_v(metal: Words, coat: Words, metals: Table) -> Array:
    """Anodic index of the surface: of zinc where steel carries it [V]."""
    volts = metals.numbers("anodic_index_v")
    plain = metal.recode({word: volts[row] for word, row in metals.index.items()})
    bare = coat.is_in("none", "polymer coated")
    zinc = np.where(coat.known, np.where(bare, plain, volts[metals.index[ZINC_COATED]]), np.nan)
    return np.where(metal.is_in("steel"), zinc, plain)


def potential_gap_v(
    fastener_metal: Words, coating_kind: Words, hardware_metal: Words, hardware_coat: Words, metals: Table
) -> Array:
    """Difference of anodic index between fastener and hardware [V]; NaN where either metal is unknown or none."""
    return np.abs(
        surface_index_v(fastener_metal, coating_kind, metals) - surface_index_v(hardware_metal, hardware_coat, metals)
    )


def zinc_in_doubt(
    fastener_galvanized: Words, coating_kind: Words, hardware_galvanized: Words, hardware_coat: Words
) -> Array:
    """Place of none, fastener, hardware or both: what is called galvanized and has no coat that is known by it."""
    fastener = fastener_galvanized.is_in("yes") & ~coating_kind.known
    hardware = hardware_galvanized.is_in("yes") & ~hardware_coat.known
    return fastener + 2 * hardware


def fastener_surface(fastener_metal: Words, coating_kind: Words, zinc_um: Array) -> Array:
    """Metal and coat of the fastener as text: bare steel; zinc plated steel, 5 µm of zinc. None where unknown."""
    return _surface(fastener_metal, coating_kind, zinc_um)


def hardware_surface(hardware_metal: Words, hardware_coat: Words, hardware_zinc_um: Array) -> Array:
    """The same of the hardware."""
    return _surface(hardware_metal, hardware_coat, hardware_zinc_um)


def _surface(metal: Words, coat: Words, zinc_um: Array) -> Array:
    rows = zip(metal.codes, coat.codes, zinc_um, strict=True)
    return np.array([*(_surface_text(_word(metal, m), _word(coat, c), zinc) for m, c, zinc in rows), None], object)[:-1]


def _word(words: Words, code: int) -> str | None:
    return words.values[code] if code >= 0 else None


def _surface_text(metal: str | None, coat: str | None, zinc_um: float) -> str | None:
    if metal != STEEL:
        return metal
    if coat is None:
        return f"{metal}, coat not known"
    if coat in BARE:
        return f"bare {metal}"
    return f"{coat} {metal}" + ("" if np.isnan(zinc_um) else f", {zinc_um:.0f} µm of zinc")


def comes_out_mm(size_length_mm: Array, through_mm: Array, hold_mm: Array) -> Array:
    """Length of the fastener beyond both members; below 0 the point stays inside [mm]."""
    return size_length_mm - through_mm - hold_mm


def penetration_found_mm(size_length_mm: Array, a_thickness_mm: Array, b_thickness_mm: Array, fastened: Words) -> Array:
    """Length in the thicker part when the fastener is driven through the thinner one [mm]."""
    through = np.minimum(a_thickness_mm, b_thickness_mm)
    depth = np.clip(size_length_mm - through, 0, np.maximum(a_thickness_mm, b_thickness_mm))
    return np.where(fastened.is_in("yes"), depth, np.nan)


def penetration_mm(fastener_kind: Words, size_diameter_mm: Array, fastener_penetration: Table) -> Array:
    """Least penetration to hold, as a multiple of the fastener's diameter [mm]."""
    times = fastener_penetration.numbers("penetration_diameters")
    return size_diameter_mm * fastener_kind.recode(
        {word: times[row] for word, row in fastener_penetration.index.items()}
    )


def differential_mm(
    contact_mm: Array, angle_deg: Array, a_width_mm: Array, a_swing_mm: Array, b_width_mm: Array, b_swing_mm: Array
) -> Array:
    """How far the faces want to move apart over the contact, in the direction across part_a's grain [mm].

    Part_b moves along that direction only by the part of its own movement that lies in it: cos² of the angle.
    """
    a, b = a_swing_mm / a_width_mm, b_swing_mm / b_width_mm
    along = np.cos(np.radians(angle_deg)) ** 2
    return contact_mm * np.abs(a - np.where(along < 1e-9, 0, b) * along)


def fixed_swing_mm(
    contact_mm: Array, fastener_at: Words, slots: Words, count: Array, a_width_mm: Array, a_swing_mm: Array
) -> Array:
    """Movement of part_a between its outermost fixed fasteners [mm]; 0 where one line only is fixed."""
    free = (
        slots.is_in("all but the middle", "all but one edge", "all")
        | fastener_at.is_in("middle", "one edge")
        | (count == 1)
    )
    held = slots.known & fastener_at.known
    return np.where(free, 0.0, np.where(held, contact_mm * a_swing_mm / a_width_mm, np.nan))


def set_differential_mm(
    contact_mm: Array,
    angle_deg: Array,
    a_width_mm: Array,
    a_grow_mm: Array,
    a_shrink_mm: Array,
    b_width_mm: Array,
    b_grow_mm: Array,
    b_shrink_mm: Array,
) -> Array:
    """The same from the day of assembly: to the wettest or the driest month, whichever parts the faces more [mm]."""
    wet = differential_mm(contact_mm, angle_deg, a_width_mm, a_grow_mm, b_width_mm, b_grow_mm)
    dry = differential_mm(contact_mm, angle_deg, a_width_mm, a_shrink_mm, b_width_mm, b_shrink_mm)
    return np.maximum(wet, dry)


def held_strain_permille(differential_mm: Array, contact_mm: Array) -> Array:
    """Strain of part_a across its grain when the joint lets nothing give [parts in 1000]."""
    return 1000 * differential_mm / contact_mm


def held_strain_times(held_strain_permille: Array, a_break_strain_permille: Array) -> Array:
    """The strain over the one at which the wood tears."""
    return held_strain_permille / a_break_strain_permille


def distances_told(end_found_mm: Array, edge_found_mm: Array, pilot: Words, method: Words) -> Array:
    """0 (yes) where a distance to end or edge is written, else 1 (no); -1 where it is and nobody says if the hole is bored."""
    told = ~(np.isnan(end_found_mm) & np.isnan(edge_found_mm))
    needs_no_telling = pilot.known | method.is_in("bolts", "lag screws")
    return np.where(told, np.where(needs_no_telling, 0, -1), 1)
