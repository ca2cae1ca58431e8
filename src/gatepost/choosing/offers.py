"""What a shop could write instead, as data: materials, finishes and single changes, read once as any list is read."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache, partial

import numpy as np
import pandas as pd

from ..deriving import Facts
from ..frames import number, places, plain, says, stacked, words
from ..library import Library, Over
from ..project import Project, Stock
from ..reading.choices import choices_frame
from ..reading.sizes import Context

MATERIAL = ("material", "product", "species", "wood_part", "treatment", "grade", "incised", "origin")
"""Columns of the list that together name a material; they change as one."""
FINISH = ("finish", "upkeep")
FASTENER = ("fastener", "size", "coating", "count", "pilot", "edge", "end")
WITH = {"material": MATERIAL, "finish": FINISH, "fastener": FASTENER, "method": ("method", *FASTENER)}
"""Columns that change as one, by the first of them."""
EFFORT_OF_MATERIAL = 4.0


@dataclass(frozen=True)
class Offers:
    """Rows of choices: their facts, the column that each changes, what it writes, and the effort of it.

    frame    facts of each row, as `read` delivers them
    column   the changed column of each row; a material counts as one column, a finish with its upkeep as one
    writes   column to text, a row each: what a shop would write
    effort   small is easy; adds up over changes
    common   of materials: 1 the most common; 0 of other changes of parts, and none of those of joints
    sort     of materials: lumber, panel or round; "" of other changes of parts, and none of those of joints
    """

    frame: pd.DataFrame
    column: np.ndarray
    writes: list[dict[str, str]]
    effort: np.ndarray
    sort: np.ndarray = field(default_factory=partial(places, ()))
    common: np.ndarray = field(default_factory=partial(places, ()))

    def rows_of(self, *columns: str) -> np.ndarray:
        """Rows that change one of the columns."""
        return np.flatnonzero(np.isin(self.column, columns))

    def told(self, name: str) -> np.ndarray:
        """Whether each row writes the column; what it does not tell stays as the part has it."""
        return np.isin(np.arange(len(self.writes)), [at for at, row in enumerate(self.writes) if name in row])


ADVICE = {"gap": ("gap_mm", "gap_mm_high")}
"""Columns whose offers are worked out for each part: the facts that tell them."""


def part_offers(facts: Facts) -> tuple[Offers, dict[int, np.ndarray]]:
    """Materials of the scheme, finishes and single changes, and which of them may be offered to each wooden part."""
    known, project = facts.library, facts.project
    common = _part_offers(project, known)
    own = _own(facts)
    offers = _both(common, _of_rows(own, project, known)) if own else common
    single = np.flatnonzero(common.sort == "")
    sorts = {sort: np.flatnonzero(common.sort == sort) for sort in ("lumber", "panel", "round")}
    mine: dict[int, list[int]] = {}
    for at, (row, _) in enumerate(own):
        mine.setdefault(row, []).append(len(common.frame) + at)
    product = words(facts.parts, "product")
    wood = map(int, np.flatnonzero(~says(facts.parts, "is_wood", "no")))
    rows = {row: places([*sorts[sort_of(product[row])], *single, *mine.get(row, ())]) for row in wood}
    return offers, rows


def sort_of(product: object) -> str:
    """The sort of material that stands in for a product without changing its size."""
    if product in ("lumber", "glulam") or not isinstance(product, str):
        return "lumber"
    return "round" if product == "round" else "panel"


def _own(facts: Facts) -> list[tuple[int, dict[str, str]]]:
    """Offers worked out for one part: its row and what is written, rounded up to half a millimetre."""
    out = []
    for column, names in ADVICE.items():
        for name in names:
            values = number(facts.parts, name)
            for row in map(int, np.flatnonzero(~np.isnan(values))):
                out.append((row, {column: f"{np.ceil(values[row] * 2) / 2:g} mm"}))
    return out


def material_offer(cells: dict[str, str], project: Project, known: Library) -> Offers:
    """One material alone, named whole; see reading/shelf.py."""
    effort = [EFFORT_OF_MATERIAL]
    return _offers("parts", [cells], ["material"], effort, _context(project), known, ["lumber"])


def _context(project: Project) -> Context:
    return Context(project.units, project.scheme)


def _of_rows(own: list[tuple[int, dict[str, str]]], project: Project, known: Library) -> Offers:
    writes = [write for _, write in own]
    column = [next(iter(write)) for write in writes]
    return _offers("parts", writes, column, [1.0] * len(own), _context(project), known, [""] * len(own))


def _both(first: Offers, second: Offers) -> Offers:
    """The offers of both, those of the first first."""
    frames = [first.frame, second.frame[first.frame.columns]]
    lists = ((getattr(one, name) for one in (first, second)) for name in ("column", "effort", "sort", "common"))
    column, effort, sort, common = (np.concatenate(list(both)) for both in lists)
    return Offers(stacked(frames), column, first.writes + second.writes, effort, sort, common)


def _part_offers(project: Project, known: Library) -> Offers:
    """Materials and finishes, of the shop's own list where it has one, and single changes of parts."""
    materials, sort, common = _materials(project, known)
    finishes, effort = _finishes(project.stock, known)
    single = [row for row in known.table("way_values").records() if row["list"] == "parts"]
    writes = [*materials, *finishes, *({row["column"]: row["value"]} for row in single)]
    column = ["material"] * len(materials) + ["finish"] * len(finishes) + [row["column"] for row in single]
    effort = [*(EFFORT_OF_MATERIAL + value for value in common), *effort, *(float(row["effort"]) for row in single)]
    sort += [""] * (len(finishes) + len(single))
    return _offers("parts", writes, column, effort, _context(project), known, sort)


def _materials(project: Project, known: Library) -> tuple[list[dict[str, str]], list[str], list[float]]:
    """What is written, the sort and how common it is: of the stock each row alike, else of the scheme's materials."""
    if project.stock is not None:
        written = project.stock.materials
        return written, [sort_of(row.get("product")) for row in written], [1.0] * len(written)
    rows = [row for row in known.table("material_choices").records() if row["scheme"] in (project.scheme, "both")]
    return [_material(row) for row in rows], [row["sort"] for row in rows], [float(row["common"]) for row in rows]


def _finishes(stock: Stock | None, known: Library) -> tuple[list[dict[str, str]], list[float]]:
    """Finishes and their effort: those of the stock where it names any, and bare wood."""
    rows = list(known.table("finish_choices").records())
    writes, effort = [_finish(row) for row in rows], [float(row["effort"]) for row in rows]
    if stock is None or not stock.finishes:
        return writes, effort
    bare = [at for at, row in enumerate(writes) if row["finish"] == "none"]
    own = [*stock.finishes, *(writes[at] for at in bare)]
    return own, [*([min(effort)] * len(stock.finishes)), *(effort[at] for at in bare)]


def joint_singles(project: Project, known: Library) -> Offers:
    """Single changes of joints; fasteners are offered by the schedule."""
    single = [row for row in known.table("way_values").records() if row["list"] == "joints"]
    bare = {"fastener": "none", "coating": "none"}
    writes = [{row["column"]: row["value"], **(bare if row["column"] == "method" else {})} for row in single]
    effort = [float(row["effort"]) for row in single]
    return _offers("joints", writes, [row["column"] for row in single], effort, _context(project), known)


def _material(row: dict[str, str]) -> dict[str, str]:
    told = {name: row[name] for name in MATERIAL[1:-1] if row[name]}
    plain = {} if row["treatment"] == "none" else {"incised": "no"}
    return {"material": row["choice"], **plain, **told, "origin": "new"}


def _finish(row: dict[str, str]) -> dict[str, str]:
    told = {"finish": row["choice"]}
    return told | ({"upkeep": row["upkeep_years"]} if row["upkeep_years"] else {})


def _offers(
    over: Over,
    writes: list[dict[str, str]],
    column: list[str],
    effort: list[float],
    context: Context,
    known: Library,
    sort: list[str] | None = None,
) -> Offers:
    columns = list(dict.fromkeys(name for row in writes for name in row))
    cells = [[row.get(name, "") for name in columns] for row in writes]
    frame = choices_frame(columns, cells, over, context, known)
    made = Offers(frame, plain(column), writes, np.array(effort))
    if sort is None:
        return made
    rare = np.where(plain(sort) == "", 0.0, made.effort - EFFORT_OF_MATERIAL)
    return replace(made, sort=plain(sort), common=rare)


@lru_cache(maxsize=512)
def facts_changed(over: Over, column: str, known: Library) -> tuple[str, ...]:
    """Facts that a change of the column, and of those that change with it, may set."""
    names = (fact for name in WITH.get(column, (column,)) for fact in facts_of(over, name, known))
    return tuple(dict.fromkeys(names))


@lru_cache(maxsize=512)
def facts_of(over: Over, name: str, known: Library) -> tuple[str, ...]:
    """Facts that one written column sets: its own, and those read out of it in the first place."""
    facts = known.register.facts[over]
    read = [one for one, fact in facts.items() if fact.made_by == "read" and fact.origins and fact.origins[0] == name]
    return tuple(dict.fromkeys([known.register.written[over][name].name, *read]))


@lru_cache(maxsize=512)
def facts_also(over: Over, column: str, known: Library) -> tuple[str, ...]:
    """Facts of a joint that the column tells besides, if it tells them: the metal of the hardware by its coating."""
    facts = known.register.facts[over]
    return tuple(
        name for name, fact in facts.items() if over == "joints" and column in fact.origins[1:] and column not in WITH
    )
