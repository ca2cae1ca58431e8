"""What to buy: for each part and joint the choices that no rule rejects, ranked, and one assignment that holds together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import product

import numpy as np
import pandas as pd

from ..deriving import Facts, derive
from ..errors import InputError, Problem
from ..frames import number, places, says
from ..judging import Compiled
from ..project import Prices
from .costs import part_costs
from .group import AS_IT_IS, Assignment, Option, Ranked, cheapest, groups
from .joint_costs import JointCosts, joint_costs
from .pairs import Pairs
from .savings import with_fasteners
from .solving import Ways, find_ways
from .virtual import judged
from .way_out import changed


@dataclass
class Chosen:
    """The whole answer.

    ways        ways out of the details, taken before choosing
    ranked      by part row: what holds by itself; parts that are no wood have none
    tried       facts of every option tried; the rankings say which row is which
    taken       by part row: the place in its ranking of the choice that holds together with the rest
    others      by part row: places that hold with the rest as taken
    joints      by joint row: the option taken, and the others that hold with the rest
    money       what every option tried costs, where prices are given
    joint_money  the same of fasteners and hardware, where they rank
    unproven    whether a group was too large to prove that nothing cheaper exists
    broken      joints that nothing tried satisfies
    """

    ways: Ways
    ranked: dict[int, Ranked]
    tried: Facts
    taken: dict[int, int]
    others: dict[int, list[int]]
    joints: dict[int, tuple[Option, list[Option]]]
    money: pd.DataFrame | None = None
    joint_money: JointCosts | None = None
    unproven: bool = False
    broken: list[int] = field(default_factory=list)

    def broken_in(self, group: Sequence[int], ends: Sequence[tuple[int, int]]) -> bool:
        """Whether a joint of the group is one that nothing tried satisfies."""
        return any(ends[at][0] in group for at in self.broken)


Rank = Callable[[Facts, np.ndarray, Sequence[Option], pd.DataFrame | None], np.ndarray]
"""Cost of each virtual row: facts of the rows, the part of each, the option of each, what each costs; smaller is better."""


@dataclass(frozen=True)
class Ranking:
    """What makes one choice better than another: of parts once the offers are known, of joints by what they cost."""

    parts: Callable[[Ways], Rank]
    joints: Callable[[Ways], JointCosts | None]


def choose(facts: Facts, rules: Sequence[Compiled], ranking: Ranking) -> Chosen:
    """Choose materials, finishes, fasteners, hardware and glue that hold together.

    facts  what `derive` returns
    """
    ways = find_ways(facts, rules)
    rows, options, tried = _try(ways)
    paid = money(tried)
    verdict, before = judged(tried, "parts", rules), judged(ways.after, "parts", rules)
    kept = np.array([option == () for option in options])
    bad = verdict.holds | (verdict.waits & ~(before.waits[rows] & kept[:, None]))
    ranked = _ranked(rows, options, ~bad.any(axis=1), ranking.parts(ways)(tried, rows, options, paid))
    joint_money = ranking.joints(ways)
    pairs = Pairs(ways.after, rules, ways.part_offers, ways.joint_offers, ways.joint_rows, ranked, joint_money)
    out = Chosen(ways, ranked, tried, {}, {}, {}, paid, joint_money)
    _assign(out, pairs)
    _alternatives(out, pairs)
    return out


def money(facts: Facts) -> pd.DataFrame | None:
    """What parts cost, a row each, where the project has prices."""
    prices = facts.project.prices
    return None if prices is None else part_costs(facts.parts, prices, facts.project.scheme, facts.library)


def _try(ways: Ways) -> tuple[np.ndarray, list[Option], Facts]:
    """Every material with every finish, on each wooden part."""
    offers, base = ways.part_offers, ways.after
    finishes = [(), *((int(at),) for at in offers.rows_of("finish"))]
    rows: list[int] = []
    options: list[Option] = []
    for row, mine in ways.part_rows.items():
        materials = [(), *((int(at),) for at in mine if offers.column[at] == "material")]
        for first, second in product(materials, finishes):
            rows.append(row)
            options.append((*first, *second))
    at = places(rows)
    project = changed(base.project, "parts", at, options, offers, base.library)
    return at, options, derive(project, base.library, base.made["project"])


def _ranked(rows: np.ndarray, options: list[Option], good: np.ndarray, cost: np.ndarray) -> dict[int, Ranked]:
    """Options that no rule rejects, best first; the row as it is where every one is rejected."""
    out = {}
    for row in dict.fromkeys(rows.tolist()):
        mine = np.flatnonzero((rows == row) & good)
        if not len(mine):
            mine = np.flatnonzero(rows == row)[:1]
        mine = mine[np.lexsort((mine, cost[mine]))]
        out[row] = Ranked([options[at] for at in mine], mine, cost[mine])
    return out


def _assign(out: Chosen, pairs: Pairs) -> None:
    """The cheapest assignment of each group of parts that joints tie together, then with what its fasteners cost."""
    ends = pairs.ends
    pairs.fetch([(at, 0, 0) for at, (a, b) in enumerate(ends) if min(a, b) >= 0])
    tied = groups(len(out.ways.after.parts), [end for end in ends if min(end) >= 0])
    for group in tied:
        _keep(out, group, _cheapest(out, pairs, group))
    if out.joint_money is not None:
        whole = [group for group in tied if not out.broken_in(group, ends)]
        out.taken |= with_fasteners(whole, out.taken, pairs, out.joint_money)
    for at, (a, b) in enumerate(ends):
        if min(a, b) >= 0:
            out.joints[at] = (pairs.best(at, out.taken[a], out.taken[b]), [])


def _cheapest(out: Chosen, pairs: Pairs, group: list[int]) -> tuple[Assignment, list[int]]:
    """The assignment of one group, and its joints."""
    ends, place = pairs.ends, {part: at for at, part in enumerate(group)}
    joints = [at for at, (a, b) in enumerate(ends) if a in place and b in place]
    made = cheapest(
        [out.ranked.get(part, AS_IT_IS).costs for part in group],
        [(place[ends[at][0]], place[ends[at][1]]) for at in joints],
        lambda at, first, second: pairs(joints[at], first, second),
        [pairs.least(at) for at in joints],
    )
    return made, joints


def _keep(out: Chosen, group: list[int], found: tuple[Assignment, list[int]]) -> None:
    made, joints = found
    out.taken |= dict(zip(group, made.choice, strict=True))
    out.unproven |= not made.proven
    out.broken += [joints[at] for at in made.broken]


def _alternatives(out: Chosen, pairs: Pairs) -> None:
    """For each part the other options that hold with the joints and neighbours as taken; for joints likewise.

    A joint that nothing satisfies speaks against none.
    """
    asked = []
    whole = [(at, ends) for at, ends in enumerate(pairs.ends) if min(ends) >= 0 and at not in out.broken]
    for part, ranked in out.ranked.items():
        for place in _listed(ranked, out.taken[part]):
            for at, ends in whole:
                if part in ends:
                    first, second = (place if end == part else out.taken[end] for end in ends)
                    asked.append((part, place, at, first, second))
    held = pairs.holds_with([(at, first, second, out.joints[at][0]) for _, _, at, first, second in asked])
    broken = {(part, place) for (part, place, *_), good in zip(asked, held, strict=True) if not good}
    for part, ranked in out.ranked.items():
        out.others[part] = [
            place
            for place in _listed(ranked, out.taken[part])
            if place == out.taken[part] or (part, place) not in broken
        ]
    for at, (option, _) in list(out.joints.items()):
        a, b = pairs.ends[at]
        out.joints[at] = (option, pairs.passing(at, out.taken[a], out.taken[b]))


MOST_LISTED = 60
"""So many options of a part are looked at for the list of others."""


def _listed(ranked: Ranked, taken: int) -> list[int]:
    first = range(min(len(ranked.options), MOST_LISTED))
    return [*first, *([taken] if taken >= MOST_LISTED else [])]


def ranking(by: str | None, prices: Prices | None) -> Ranking:
    """What ranks: `by`, or the cost of a year where prices are given, else the order without prices.

    Raises InputError where a cost is asked for and no price is given.
    """
    if prices is None and by in ("cost", "cost-per-year"):
        raise InputError(
            [Problem("--by", None, None, f"{by} needs prices: give --prices FILE, or rank by life or upkeep")]
        )
    if prices is not None and by not in ("life", "upkeep"):
        return Ranking(lambda ways: by_cost(ways, by or "cost-per-year"), lambda ways: _paid(ways, by != "cost"))
    return Ranking(lambda ways: by_life(ways, by or ""), lambda _: None)


def _paid(ways: Ways, a_year: bool) -> JointCosts | None:
    return joint_costs(ways.after, ways.joint_offers, ways.joint_rows, a_year)


def by_life(ways: Ways, wanted: str = "") -> Rank:
    """Without prices: life enough, no weaker under people, the finish kept, less upkeep, the commoner wood, the longer life.

    wanted  `life` puts the longer life first, `upkeep` the lesser upkeep
    """
    offers = ways.part_offers

    def rank(facts: Facts, rows: np.ndarray, options: Sequence[Option], _: pd.DataFrame | None) -> np.ndarray:
        parts = facts.parts
        life = number(parts, "service_life_likely_years")
        short = life < number(parts, "life_years")
        long = np.where(np.isnan(life), 0.0, np.minimum(life, 100.0))
        repainted = np.array([any(offers.column[at] == "finish" for at in option) for option in options])
        rare = np.array([sum(offers.common[at] for at in option) for option in options])
        keys = [-long, rare, upkeep_a_year(facts), repainted, lighter(facts, ways.after, rows), short]
        keys += {"life": [-long], "upkeep": [upkeep_a_year(facts)]}.get(wanted, [])
        return _within(np.lexsort(keys), rows)

    return rank


def by_cost(ways: Ways, wanted: str) -> Rank:
    """With prices: the likely cost of a year of service (`cost-per-year`), or what is paid at first (`cost`).

    Where no life is published the years wanted count, since no rule objects. What has no price comes after, in the
    order of `by_life`.
    """
    plain = by_life(ways)

    def rank(facts: Facts, rows: np.ndarray, options: Sequence[Option], costs: pd.DataFrame | None) -> np.ndarray:
        assert costs is not None
        paid = yearly(costs, facts.parts) if wanted == "cost-per-year" else number(costs, "first")
        most = np.nanmax(paid) if np.isfinite(paid).any() else 0.0
        after = plain(facts, rows, options, None)
        return np.where(np.isfinite(paid), paid + after * TIE, most + 1 + after)

    return rank


def yearly(money: pd.DataFrame, parts: pd.DataFrame) -> np.ndarray:
    """Likely cost of a year of service; over the years wanted where the life is not known."""
    life, wanted = (number(parts, name) for name in ("service_life_likely_years", "life_years"))
    plain = money["first"] / wanted + money["care"] + money["coat"] / money["coat_every_likely"]
    out: np.ndarray = np.where(np.isnan(life), plain, money["per_year_likely"])
    return out


TIE = 1e-9
"""Decides between equal costs by the order without prices."""
LIGHTER = 0.9
"""A wood this much lighter than the one that is written counts as weaker, where people are carried (our own line)."""


def lighter(facts: Facts, base: Facts, rows: np.ndarray) -> np.ndarray:
    """Where a part that carries people would be of a clearly lighter wood than as it is written."""
    before = number(base.parts, "specific_gravity")[rows]
    weak = number(facts.parts, "specific_gravity") < LIGHTER * before
    return says(facts.parts, "bears_people", "yes") & weak


def upkeep_a_year(facts: Facts) -> np.ndarray:
    """Coats a year that the finish asks: none where it is bare, every year where no interval is known."""
    every = number(facts.parts, "upkeep_years")
    return np.where(says(facts.parts, "finish_kind", "none"), 0.0, 1 / np.where(every > 0, every, 1.0))


def _within(order: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Places in an order, counted anew within each part: 0, 1, 2 ..."""
    out = np.zeros(len(order))
    for row in np.unique(rows):
        mine = order[rows[order] == row]
        out[mine] = np.arange(len(mine))
    return out
