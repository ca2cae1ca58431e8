"""A dearer wood that saves at its fasteners: the cheapest whole among the materials nearest to those taken."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from itertools import product

from .group import AS_IT_IS, NEVER, Assignment, Option, Ranked, cheapest
from .joint_costs import JointCosts
from .pairs import Pairs

NEAREST = 4
"""Materials of each part that are looked at, the one taken among them."""


def with_fasteners(
    groups: Sequence[Sequence[int]], taken: Mapping[int, int], pairs: Pairs, money: JointCosts
) -> dict[int, int]:
    """Places in the rankings that cost least together with fasteners and hardware; nothing where the search gave up.

    groups  parts that joints tie together, each joint held
    taken   the cheapest by what the parts alone cost
    """
    mine = [_Nearest(group, taken, pairs, money) for group in groups]
    pairs.fetch([key for one in mine for key in one.asked()])
    return {part: place for one in mine for part, place in one.cheaper().items()}


class _Nearest:
    """The choices of one group that may cost less with its fasteners: of each material the cheapest."""

    def __init__(self, group: Sequence[int], taken: Mapping[int, int], pairs: Pairs, money: JointCosts) -> None:
        at = {part: number for number, part in enumerate(group)}
        self.group, self.pairs, self.money = group, pairs, money
        self.ranked = [pairs.ranked.get(part, AS_IT_IS) for part in group]
        self.joints = [j for j, (a, b) in enumerate(pairs.ends) if a in at and b in at]
        self.ends = [(at[pairs.ends[j][0]], at[pairs.ends[j][1]]) for j in self.joints]
        self.least = [money.ranked(j, pairs.options[j][0], pairs.joint_offers) for j in self.joints]
        now = [self._paid(j, taken[a], taken[b]) for j, (a, b) in ((j, pairs.ends[j]) for j in self.joints)]
        self.slack = sum(now) - sum(self.least)
        self.places = [self._places(*one) for one in zip(self.ranked, (taken[part] for part in group), strict=True)]

    def _paid(self, joint: int, first: int, second: int) -> float:
        """What fasteners and hardware of the joint cost for the two choices at the least; NEVER where none passes."""
        passing = self.pairs.passing(joint, first, second)
        return self.money.ranked(joint, passing[0], self.pairs.joint_offers) if passing else NEVER

    def _places(self, ranked: Ranked, taken: int) -> list[int]:
        """The choice taken, and of each other material the cheapest, as far as savings may pay for it."""
        column, costs = self.pairs.part_offers.column, ranked.costs
        found: dict[Option, int] = {}
        for place, option in enumerate(ranked.options):
            material = tuple(at for at in option if column[at] == "material")
            if costs[place] - costs[taken] < self.slack:
                found.setdefault(material, place)
        others = [place for place in found.values() if place != taken]
        return sorted([taken, *others[: NEAREST - 1]])

    def asked(self) -> list[tuple[int, int, int]]:
        """Joints and pairs of choices that are asked."""
        return [
            (j, first, second)
            for j, (a, b) in zip(self.joints, self.ends, strict=True)
            for first, second in product(self.places[a], self.places[b])
            if a != b or first == second
        ]

    def cheaper(self) -> dict[int, int]:
        """Part to place, the cheapest whole of them."""
        places = self.places
        costs = [ranked.costs[mine] for ranked, mine in zip(self.ranked, places, strict=True)]

        @cache
        def paid(at: int, i: int, k: int) -> float:
            a, b = self.ends[at]
            return self._paid(self.joints[at], places[a][i], places[b][k])

        made: Assignment = cheapest(costs, self.ends, paid, self.least)
        if made.broken:  # the search gave up before it came to what is taken
            return {}
        return {part: mine[at] for part, mine, at in zip(self.group, places, made.choice, strict=True)}
