"""What weather the part stands: use class and use category, and what raised them."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from .. import yamlfile
from ..clauses import Clause, compile_clause
from ..library import Library, Table
from .values import Array, ManyWords, Words, distinct, once_a_kind

UNKNOWN_ZONE = "moderate"
_AXES = {
    "massivity": ("low", "medium", "high"),
    "design": ("draining", "medium", "trapping"),
    "wetting": ("low", "moderate", "high"),
}


def worst(exposure: ManyWords) -> Array:
    """The worse of the part's zones, as a place in the register's order."""
    return exposure.worst


class _Step:
    def __init__(self, entry: dict[str, Any], known: Library) -> None:
        facts = known.register.facts["parts"]
        self.because = entry["step"]
        self.clauses: list[Clause] = [compile_clause(str(text), "parts", known.register) for text in entry["when"]]
        self.use_class = facts["use_class"].values.index(entry["use_class"])
        self.use_category = facts["use_category"].values.index(entry["use_category"])


@lru_cache(maxsize=4)
def steps(known: Library) -> tuple[_Step, ...]:
    """The steps of class_steps.yaml, compiled."""
    located = yamlfile.load_file(known.folder / "class_steps.yaml", "data/class_steps.yaml")
    return tuple(_Step(entry, known) for entry in located.data)


class _Given:
    """The facts at hand, as clauses read them."""

    def __init__(self, facts: dict[str, Any]) -> None:
        self.facts = facts

    def get(self, name: str) -> Array:
        values = self.facts[name]
        if isinstance(values, Words):
            return values.codes
        return values.bits if isinstance(values, ManyWords) else values


@once_a_kind
def classes(known: Library, **facts: Any) -> dict[str, Array]:
    """Use class, use category and what raised them; unknown where the exposure, or in weather the thickness, is.

    Weather follows the published matrix of massivity, design and climate; the steps of class_steps.yaml raise it.
    """
    columns = known.register.facts["parts"]
    names, categories = columns["use_class"].values, columns["use_category"].values
    base, exposed = facts["use_class_base"], facts["worst_exposure"]
    use_class, reasons = _weathered(exposed.relabel(names, _column(base, "use_class")), names, facts)
    start = exposed.relabel(categories, _column(base, "use_category"))
    use_category = np.where(use_class >= 0, _weather_category(start, use_class, names, categories, facts), -1)
    for step in steps(known):
        given = _Given({**facts, "use_class": Words(use_class, names)})
        here = np.logical_and.reduce(
            [np.broadcast_to(clause.ask(given)[0], use_class.shape) for clause in step.clauses]
        )
        here &= (use_class >= 0) & facts["is_wood"].is_in("yes")
        reasons.append((step.because, here & ((use_class < step.use_class) | (use_category < step.use_category))))
        use_class = np.where(here, np.maximum(use_class, step.use_class), use_class)
        use_category = np.where(here, np.maximum(use_category, step.use_category), use_category)
    return {"use_class": use_class, "use_category": use_category, "raised_by": _texts(reasons, len(use_class))}


def _column(table: Table, name: str) -> dict[str, str]:
    words = table.words(name)
    return {key: words[i] for key, i in table.index.items()}


def _weather_category(
    start: Array, use_class: Array, names: tuple[str, ...], categories: tuple[str, ...], facts: dict[str, Any]
) -> Array:
    """UC3A for a film that sheds water on a part that drains; else the exposure's own."""
    films = [kind for kind, film in _column(facts["finishes"], "film").items() if film == "yes"]
    shed = (
        facts["worst_exposure"].is_in("weather")
        & facts["finish_kind"].is_in(*films)
        & (use_class == names.index("3.1"))
    )
    return np.where(shed, categories.index("UC3A"), start)


def _weathered(start: Array, names: tuple[str, ...], facts: dict[str, Any]) -> tuple[Array, list[tuple[str, Array]]]:
    """The class in the weather by the matrix, and the reasons that lifted it above its mildest cell."""
    massivity, design, wetting = _massivity(facts), _design(facts), _wetting(facts["decay_zone"])
    cells = _matrix(facts["use_class_matrix"], names)
    weather, asked = facts["worst_exposure"].is_in("weather"), cells[massivity, design, wetting]
    lifted = weather & (asked >= 0)
    reasons = [(text, lifted & here & (cells[massivity, 0, wetting] < asked)) for text, here in _design_reasons(facts)]
    limits = facts["massivity_limits"].numbers("over_mm")
    reasons += [
        (
            f"thicker than {limits[i]:.0f} mm, so it dries slowly",
            lifted & (massivity == i) & (cells[0, design, wetting] < asked),
        )
        for i in (1, 2)
    ]
    zone = facts["decay_zone"]
    for i, name in enumerate(zone.values):
        reasons.append(
            (
                f"the climate's decay hazard is {name}",
                lifted & (zone.codes == i) & (cells[massivity, design, 0] < asked),
            )
        )
    return np.where(weather, asked, start), reasons


def _matrix(table: Table, names: tuple[str, ...]) -> Array:
    """Use class by massivity, design, wetting; the last cell of each axis means unknown."""
    cells = np.full((4, 4, 4), -1)
    for row in table.records():
        massivity, design, wetting = (axis.index(row[name]) for name, axis in _AXES.items())
        cells[massivity, design, wetting] = names.index(row["use_class"])
    return cells


def _massivity(facts: dict[str, Any]) -> Array:
    limits = facts["massivity_limits"].numbers("to_mm")[:2]
    thickness = facts["thickness_mm"]
    return np.where(np.isnan(thickness), 3, np.searchsorted(limits, np.nan_to_num(thickness), side="left"))


def _design(facts: dict[str, Any]) -> Array:
    table, detail, lies = facts["designs"], facts["detail"], facts["lies"]
    cells = np.full((len(detail.values) + 1, len(lies.values) + 1), 3)
    for row in table.records():
        cells[detail.values.index(row["detail"]), lies.values.index(row["lies"])] = _AXES["design"].index(row["design"])
    return cells[detail.codes, lies.codes]


def _design_reasons(facts: dict[str, Any]) -> list[tuple[str, Array]]:
    detail, lies = facts["detail"], facts["lies"]
    out: dict[str, Array] = {}
    for row in facts["designs"].records():
        if row["because"]:
            here = detail.is_in(row["detail"]) & lies.is_in(row["lies"])
            out[row["because"]] = out[row["because"]] | here if row["because"] in out else here
    return list(out.items())


def _wetting(zone: Words) -> Array:
    """Without a site the climate counts as moderate."""
    return np.where(zone.known, zone.codes, zone.values.index(UNKNOWN_ZONE))


def _texts(reasons: list[tuple[str, Array]], count: int) -> Array:
    """The reasons that hold, joined by "; ", one text a row; None where none does."""
    flags = np.zeros(count, np.int64)
    for i, (_, here) in enumerate(reasons):
        flags |= np.where(here, 1 << i, 0)
    kinds, place = distinct([flags])
    texts = [
        "; ".join(text for i, (text, _) in enumerate(reasons) if int(kind) & (1 << i)) or None for kind in kinds[:, 0]
    ]
    return np.array([*texts, None])[place]
