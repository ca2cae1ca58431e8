"""One part in two or three materials: what each costs, how long it lasts, what fails first. Numbers and names only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from .. import cost
from ..deriving import Facts, derive
from ..deriving.life import MODELS
from ..errors import InputError, Problem, did_you_mean
from ..frames import picked, places
from ..judging import SEVERITIES, Compiled
from ..library import Library
from ..project import Project
from ..reading.choices import material_choice
from ..reading.sizes import Context
from ..review import Found, Review, review_facts
from .client_words import said_of
from .costs import coat_every, part_costs, waste_share
from .offers import facts_changed
from .virtual import with_part
from .years_ahead import ENDS, Marks, Turn, drawn_to, marks, spent, turn

REMARKS = ("unlisted_count", "unlisted_words", "contradiction_count", "contradictions")
SIDES = ("written", "against", "third")
WOOD = "wood"
SPOKEN_PART = {"heart": "heartwood", "sap": "sapwood"}
MOST_SAID = {"material": 2, "place": 1, "change": 2}


@dataclass(frozen=True)
class Ending:
    """Something of the part that wears out: the wood, or the metal of a joint (its row), with a band of years."""

    what: str
    joint: int
    years: dict[str, float]


@dataclass(frozen=True)
class Side:
    """The part in one material.

    review    of the whole project with the part in it
    costs     row of `part_costs`, None without prices
    price     the row of the price file that was taken, None where none fits; `finish_price` the same of the finish
    waste_share  of the bought material
    by_year   what falls in each year, from year 0; bought, care and coats
    spent     all that was spent by the end of each year: low, likely, high
    marks     what falls due in which year, prices or not
    why       why the material lasts or fails, in plain words
    meets     does it last the years wanted: yes, maybe, no; None where no life is known
    models    the models of life that spoke, with their bands
    endings   what is known to wear out, the first to fail first
    found     findings on the part and its joints, worst first, accepted ones left out
    assumed   blank cells of the material, and what they were taken for
    """

    choice: str
    review: Review
    costs: dict[str, float] | None
    price: dict[str, Any] | None
    finish_price: dict[str, Any] | None
    waste_share: float
    by_year: dict[str, np.ndarray] | None
    spent: dict[str, np.ndarray] | None
    marks: Marks
    why: list[str]
    meets: str | None
    models: list[tuple[str, float, float]]
    endings: list[Ending]
    found: list[Found]
    assumed: list[tuple[str, str]]

    @property
    def facts(self) -> Facts:
        """The facts of the project with the part in this material."""
        return self.review.facts


@dataclass(frozen=True)
class Comparison:
    """The part as written, then the same part in one or two other materials.

    clearly   for each cost the side (by its name in SIDES) whose band lies below every other
    least     the side that costs least to buy (first) and, by the likely life, over the years wanted; of those known
    turns     what would turn the order of cost of the part as written and each other; none without prices
    place     what the place does to it, in plain words; changes  what else would change the answer
    drawn_to_years  how far a picture of the lives reaches
    """

    row: int
    sides: tuple[Side, ...]
    interest_pct: float
    clearly: dict[str, str | None]
    least: dict[str, str | None]
    remarks: list[str]
    turns: list[Turn]
    place: list[str]
    changes: list[str]
    drawn_to_years: float


def compare(
    project: Project,
    part: str,
    against: Sequence[str],
    rules: Sequence[Compiled],
    known: Library,
    interest_pct: float = 0.0,
) -> Comparison:
    """Compare a part as written with the same part in other materials; sizes, joints and finish stay.

    part, against  name of the part; one or two materials as a shop writes them
    interest_pct   a year; without it nothing is discounted
    Raises InputError for a part or a material that is not known, for too many materials, and for a life wanted of 0.
    """
    if not 0 < len(against) < len(SIDES):
        raise InputError([Problem("--against", None, None, "more than two materials; write one or two")])
    row = _row(project, part)
    if not float(project.parts["life_years"].iat[row]) > 0:
        raise InputError([Problem("--part", None, None, f'"{part}" is wanted for 0 years; write its `life`')])
    names = (*facts_changed("parts", "material", known), *REMARKS)
    others, remarks = [], []
    for text in against:
        choice, assumed, said = material_choice(text, Context(project.units, project.scheme), known, "--against")
        others.append(with_part(project, row, choice, names, assumed))
        remarks += said
    made = [_side(one, row, rules, known, interest_pct) for one in (project, *others)]
    sides = tuple(_telling_first(one, [other for other in made if other is not one]) for one in made)
    clearly = {name: _clearly(sides, name) for name in ("per_year", "wanted")}
    least = {name: _least(sides, name) for name in ("first", "wanted_likely")}
    rows = [side.facts.parts.iloc[row] for side in sides]
    place, changes = (_said(sides, row, topic) for topic in ("place", "change"))
    wanted = float(rows[0]["life_years"])
    turns = _turns(sides, rows, wanted, interest_pct)
    return Comparison(
        row,
        sides,
        interest_pct,
        clearly,
        least,
        list(dict.fromkeys(remarks)),
        turns,
        place,
        changes,
        drawn_to(rows, wanted),
    )


def _said(sides: Sequence[Side], row: int, topic: str) -> list[str]:
    """What is said of any side, each once, no more than of one."""
    every = [text for side in sides for text in said_of(side.facts, row, topic, MOST_SAID[topic])]
    return list(dict.fromkeys(every))[: MOST_SAID[topic]]


def _turns(sides: Sequence[Side], rows: list[pd.Series], wanted: float, interest_pct: float) -> list[Turn]:
    first = sides[0].costs
    return [
        turn(at, [first, side.costs], [rows[0], rows[at]], wanted, interest_pct)
        for at, side in enumerate(sides)
        if at and first is not None and side.costs is not None
    ]


def _row(project: Project, part: str) -> int:
    names = [" ".join(str(name).lower().split()) for name in project.parts["part"]]
    wanted = " ".join(part.lower().split())
    if wanted in names:
        return names.index(wanted)
    hint = did_you_mean(part, project.parts["part"].dropna().astype(str))
    raise InputError(
        [Problem("--part", None, None, f'"{part}" is no part of the list{hint or "; write a name of the parts list"}')]
    )


def _side(project: Project, row: int, rules: Sequence[Compiled], known: Library, interest_pct: float) -> Side:
    review = review_facts(derive(project, known), rules)
    parts = review.facts.parts
    part, wanted = parts.iloc[row], float(parts["life_years"].iat[row])
    costs, price, finish_price, yearly, gone = None, None, None, None, None
    if project.prices is not None:
        frame = part_costs(picked(parts, places([row])), project.prices, project.scheme, known)
        costs = {str(name): float(value) for name, value in frame.iloc[0].items()}
        items = project.prices.items
        price, finish_price = (
            items.iloc[int(costs[name])].to_dict() if costs[name] >= 0 else None for name in ("price_row", "finish_row")
        )
        yearly = _by_year(costs, part)
        gone = spent(costs, part, wanted, interest_pct)
        costs |= {f"wanted_{end}": float(values[-1]) for end, values in gone.items()}
    return Side(
        _named(project.parts.iloc[row]),
        review,
        costs,
        price,
        finish_price,
        waste_share(price, known) if price else 0.0,
        yearly,
        gone,
        marks(part, float(coat_every(parts.iloc[[row]], known)["likely"][0]), wanted),
        said_of(review.facts, row, "material", MOST_SAID["material"]),
        _meets(part, wanted),
        _models(part),
        _endings(review.facts, row),
        _found(review, row),
        _assumed(project, row, known),
    )


NOT_NAMED = "wood not known"


def _named(part: pd.Series) -> str:
    """The material as it is written, with what other columns tell of it."""
    said = next((part[name] for name in ("material", "species", "product") if isinstance(part[name], str)), NOT_NAMED)
    more = [*(part[name] for name in ("grade", "treatment")), SPOKEN_PART.get(str(part["wood_part"]))]
    told = [text for text in more if isinstance(text, str) and text != "none" and text.lower() not in said.lower()]
    return ", ".join([said, *told])


def _by_year(costs: dict[str, float], part: pd.Series) -> dict[str, np.ndarray]:
    """By the likely life; without one the purchases after the first are not known."""
    life, wanted = part["service_life_likely_years"], float(part["life_years"])
    known = life > 0
    every = costs["coat_every_likely"]
    made = cost.by_year(costs["first"], costs["care"], costs["coat"], every, life if known else wanted, wanted)
    if not known:
        made["bought"][1:] = np.nan
    return made


def _meets(part: pd.Series, wanted: float) -> str | None:
    """Does the wood last the years wanted, by the ends of its band?"""
    low, high = (float(part[f"service_life_{end}_years"]) for end in ("low", "high"))
    if np.isnan(low):
        return None
    return "yes" if low >= wanted else "no" if high < wanted else "maybe"


def _models(part: pd.Series) -> list[tuple[str, float, float]]:
    """The models that spoke of solid wood, each with its band; the high end may be unknown."""
    spoke = str(part["life_models"]).split("; ") if pd.notna(part["life_models"]) else []
    return [
        (title, float(part[f"life_{name}_low_years"]), float(part.get(f"life_{name}_high_years", np.nan)))
        for name, title in MODELS.items()
        if title in spoke
    ]


def _endings(facts: Facts, row: int) -> list[Ending]:
    """What wears out, by the likely year, else the least."""
    part = facts.parts.iloc[row]
    out = [Ending(WOOD, -1, {end: float(part[f"service_life_{end}_years"]) for end in ENDS})]
    for joint in _joints(facts, row):
        years = {end: float(facts.joints[f"metal_life_{end}_years"].iat[joint]) for end in ENDS}
        out.append(Ending("metal", joint, years))
    known = [one for one in out if not np.isnan(one.years["low"])]
    return sorted(known, key=lambda one: one.years["low"] if np.isnan(one.years["likely"]) else one.years["likely"])


def _joints(facts: Facts, row: int) -> list[int]:
    at = (facts.joints["a_row"].to_numpy() == row) | (facts.joints["b_row"].to_numpy() == row)
    return [int(joint) for joint in np.flatnonzero(at)]


def _telling_first(side: Side, others: Sequence[Side]) -> Side:
    """Of findings as grave as each other those first that not every other material has."""
    shared = [{(one.over, one.row, one.rule.rule.rule) for one in other.found} for other in others]
    grave = SEVERITIES.index

    def order(one: Found) -> tuple[int, bool]:
        name = (one.over, one.row, one.rule.rule.rule)
        return grave(one.rule.rule.severity), all(name in found for found in shared)

    return replace(side, found=sorted(side.found, key=order))


def _found(review: Review, row: int) -> list[Found]:
    joints = set(_joints(review.facts, row))
    return [
        one
        for one in review.found
        if one.accepted is None
        and ((one.over == "parts" and one.row == row) or (one.over == "joints" and one.row in joints))
    ]


def _assumed(project: Project, row: int, known: Library) -> list[tuple[str, str]]:
    """Columns of the material that were blank, and what was taken."""
    frame, facts = project.assumed["parts"], known.register.facts["parts"]
    of_material = frame["column"].isin(facts_changed("parts", "material", known))
    here = frame[(frame["row"] == row) & (frame["kind"] == "default") & of_material]
    shown = [
        (facts[str(name)].written or str(name), value)
        for name, value in zip(here["column"], here["value"], strict=True)
    ]
    return [(name, f"{value:g}" if isinstance(value, float) else str(value)) for name, value in shown]


def _clearly(sides: Sequence[Side], name: str) -> str | None:
    """The side whose band of cost lies wholly below that of each other."""
    for at, side in enumerate(sides):
        others = [other for other in sides if other is not side]
        if all(_less(side, other, name) for other in others):
            return SIDES[at]
    return None


def _least(sides: Sequence[Side], name: str) -> str | None:
    """The side that costs least, of two or more that are known; None where two do."""
    costs = {SIDES[at]: side.costs[name] for at, side in enumerate(sides) if side.costs is not None}
    known = sorted((value, at) for at, value in costs.items() if not np.isnan(value))
    return known[0][1] if len(known) > 1 and not np.isclose(known[0][0], known[1][0]) else None


def _less(one: Side, other: Side, name: str) -> bool:
    if one.costs is None or other.costs is None:
        return False
    return bool(cost.clearly_less(one.costs[f"{name}_high"], other.costs[f"{name}_low"]))
