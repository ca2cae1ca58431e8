"""One part in two materials: what each costs, how long it lasts, what fails first. Numbers and names only."""

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
from ..judging import SEVERITIES, Compiled
from ..library import Library
from ..project import Project
from ..reading.choices import material_choice
from ..review import Found, Review, review_facts
from .costs import part_costs, waste_share
from .offers import facts_changed
from .virtual import with_part

REMARKS = ("unlisted_count", "unlisted_words", "contradiction_count", "contradictions")
ENDS = ("low", "likely", "high")
WOOD = "wood"


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
    """The part as written beside the same part in the choice; `clearly` names for each cost the side that wins."""

    row: int
    written: Side
    against: Side
    interest_pct: float
    clearly: dict[str, str | None]
    remarks: list[str]


def compare(
    project: Project, part: str, against: str, rules: Sequence[Compiled], known: Library, interest_pct: float = 0.0
) -> Comparison:
    """Compare a part as written with the same part in another material; sizes, joints and finish stay.

    part, against  name of the part; a material as a shop writes it
    interest_pct   a year; without it nothing is discounted
    Raises InputError for a part or a material that is not known.
    """
    row = _row(project, part)
    choice, assumed, remarks = material_choice(against, project.scheme, project.units, known, "--against")
    names = (*facts_changed("parts", "material", known), *REMARKS)
    other = with_part(project, row, choice, names, assumed)
    here, there = (_side(one, row, rules, known, interest_pct) for one in (project, other))
    here, there = _telling_first(here, there), _telling_first(there, here)
    clearly = {name: _clearly(here, there, name) for name in ("per_year", "wanted")}
    return Comparison(row, here, there, interest_pct, clearly, remarks)


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
    costs, price, finish_price, yearly = None, None, None, None
    if project.prices is not None:
        frame = part_costs(parts.iloc[[row]].reset_index(drop=True), project.prices, project.scheme, known)
        costs = {str(name): float(value) for name, value in frame.iloc[0].items()}
        items = project.prices.items
        price, finish_price = (
            items.iloc[int(costs[name])].to_dict() if costs[name] >= 0 else None for name in ("price_row", "finish_row")
        )
        yearly = _by_year(costs, parts.iloc[row])
        costs |= _with_interest(costs, parts.iloc[row], interest_pct)
    return Side(
        str(parts["material"].iat[row] or parts["species"].iat[row]),
        review,
        costs,
        price,
        finish_price,
        waste_share(price, known) if price else 0.0,
        yearly,
        _models(parts.iloc[row]),
        _endings(review.facts, row),
        _found(review, row),
        _assumed(project, row, known),
    )


def _by_year(costs: dict[str, float], part: pd.Series) -> dict[str, np.ndarray]:
    """By the likely life; without one the purchases after the first are not known."""
    life, wanted = part["service_life_likely_years"], float(part["life_years"])
    known = life > 0
    made = _booked(costs, life if known else wanted, costs["coat_every_likely"], wanted)
    if not known:
        made["bought"][1:] = np.nan
    return made


def _booked(costs: dict[str, float], life: float, every: float, wanted: float) -> dict[str, np.ndarray]:
    return cost.by_year(costs["first"], costs["care"], costs["coat"], every, life, wanted)


def _with_interest(costs: dict[str, float], part: pd.Series, interest_pct: float) -> dict[str, float]:
    """The costs over the years wanted as a present sum; unchanged without interest."""
    if not interest_pct:
        return {}
    out = {}
    for end, other in zip(ENDS, reversed(ENDS), strict=True):
        life, every = part[f"service_life_{other}_years"], costs[f"coat_every_{other}"]
        made = _booked(costs, life, every, float(part["life_years"])) if life > 0 else None
        out[f"wanted_{end}"] = float(cost.present_cost(sum(made.values()), interest_pct)) if made else np.nan
    return out


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


def _telling_first(side: Side, other: Side) -> Side:
    """Of findings as grave as each other those first that the other material does not have."""
    both = {(one.over, one.row, one.rule.rule.rule) for one in other.found}
    grave = SEVERITIES.index

    def order(one: Found) -> tuple[int, bool]:
        return grave(one.rule.rule.severity), (one.over, one.row, one.rule.rule.rule) in both

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


def _clearly(here: Side, there: Side, name: str) -> str | None:
    """The side whose band of cost lies wholly below the other's."""
    if here.costs is None or there.costs is None:
        return None
    if cost.clearly_less(here.costs[f"{name}_high"], there.costs[f"{name}_low"]):
        return "written"
    return "against" if cost.clearly_less(there.costs[f"{name}_high"], here.costs[f"{name}_low"]) else None
