"""Facts of the project as a whole: does any part ...? 0 (yes) or 1 (no)."""

from __future__ import annotations

import numpy as np

from ..library import Table
from .values import Array, ManyWords, Texts, Words


def _any(here: Array) -> Array:
    return np.array([0 if here.any() else 1])


def parts_count(parts_part: Texts) -> Array:
    """Rows of the parts list."""
    return np.array([len(parts_part.values)])


def any_outdoors(parts_worst_exposure: Words) -> Array:
    """Does a part stand in weather, ground or water?"""
    return _any(parts_worst_exposure.is_in("weather", "ground", "fresh water", "salt water"))


def any_ground(parts_worst_exposure: Words) -> Array:
    """Does a part go into the ground?"""
    return _any(parts_worst_exposure.is_in("ground"))


def any_treated(parts_treatment_kind: Words) -> Array:
    """Is a part treated with preservative?"""
    return _any(parts_treatment_kind.is_in("preservative"))


def any_treated_worked(parts_treatment_kind: Words, parts_worked: ManyWords) -> Array:
    """Is treated stock cut or bored?"""
    return _any(parts_treatment_kind.is_in("preservative") & parts_worked.known & ~parts_worked.has("none"))


def any_sensitizer(parts_dust_hazard: Words) -> Array:
    """Is there a wood whose dust is listed as a sensitizer or worse?"""
    return _any(parts_dust_hazard.is_in("sensitizer", "cancer"))


def any_bearing_people(parts_bears_people: Words) -> Array:
    """Does a part carry people?"""
    return _any(parts_bears_people.is_in("yes"))


def any_guard(parts_role: Words) -> Array:
    """Is there a guard?"""
    return _any(parts_role.is_in("guard"))


def any_handrail(parts_role: Words) -> Array:
    """Is there a handrail or a guard to hold?"""
    return _any(parts_role.is_in("handrail", "guard"))


def any_plaything(parts_role: Words) -> Array:
    """Is a part there for children to play on?"""
    return _any(parts_role.is_in("plaything"))


def any_film_finish(parts_finish_kind: Words, finishes: Table) -> Array:
    """Does a part get a finish that forms a film?"""
    films = [kind for kind, row in finishes.index.items() if finishes.words("film")[row] == "yes"]
    return _any(parts_finish_kind.is_in(*films))


def any_short_stock(parts_length_mm: Array, parts_is_wood: Words, constants: Table) -> Array:
    """Is a wooden part shorter than a machine safely holds [mm]? Parts of unknown length do not count."""
    return _any(parts_is_wood.is_in("yes") & (parts_length_mm < constants.number("short_stock_mm", "value")))


def any_oil_finish(parts_finish_kind: Words) -> Array:
    """Is a part finished with oil?"""
    return _any(parts_finish_kind.is_in("oil"))


def any_resin(joints_glue_kind: Words, glues: Table) -> Array:
    """Is a sensitizing resin used as glue?"""
    sensitizing = [kind for kind, row in glues.index.items() if glues.words("sensitizer")[row] == "yes"]
    return _any(joints_glue_kind.is_in(*sensitizing))


def any_glued(joints_glued: Words) -> Array:
    """Is a joint glued?"""
    return _any(joints_glued.is_in("yes"))


def nominal_size_count(parts_nominal_size: Words) -> Array:
    """Parts whose nominal size was read as the actual one."""
    return np.array([parts_nominal_size.is_in("yes").sum()])
