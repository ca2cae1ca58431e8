"""A dearer wood that saves at its fasteners: the cheapest whole among the materials nearest to those taken."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from .group import Assignment, cheapest
from .pairs import Pairs

if TYPE_CHECKING:
    from .choose import Ranked

NEAREST = 4
"""Materials of each part that are looked at, the one taken among them."""


def with_fasteners(
    groups: Sequence[Sequence[int]], taken: Mapping[int, int], ranked: Mapping[int, Ranked], pairs: Pairs
) -> dict[int, int]:
    """Places in the rankings that cost less together with fasteners and hardware; nothing for the others.

    groups  parts that joints tie together
    taken   the cheapest by what the parts alone cost
    """
    mine = [_Nearest(group, taken, ranked, pairs) for group in groups]
    mine = [one for one in mine if one.slack > 0]
    pairs.fetch([key for one in mine for key in one.asked()])
    return {part: place for one in mine for part, place in one.cheaper().items()}


class _Nearest:
    """The choices of one group that may cost less with its fasteners: of each material the cheapest."""

    def __init__(
        self, group: Sequence[int], taken: Mapping[int, int], ranked: Mapping[int, Ranked], pairs: Pairs
    ) -> None:
        at = {part: number for number, part in enumerate(group)}
        self.group, self.pairs, self.ranked = group, pairs, ranked
        self.joints = [j for j, (a, b) in enumerate(pairs.ends) if a in at and b in at]
        self.ends = [(at[pairs.ends[j][0]], at[pairs.ends[j][1]]) for j in self.joints]
        now = [(j, taken[a], taken[b]) for j, (a, b) in ((j, pairs.ends[j]) for j in self.joints)]
        least = [pairs.paid_least(j) for j in self.joints]
        self.least, self.slack = least, sum(pairs.paid(*key) for key in now) - sum(least)
        self.slack = self.slack if np.isfinite(self.slack) else 0.0
        self.places = [self._places(part, taken[part]) for part in group]

    def _places(self, part: int, taken: int) -> list[int]:
        """The choice taken, and of each other material the cheapest, as far as savings may pay for it."""
        if part not in self.ranked:
            return [taken]
        options, costs = self.ranked[part].options, self.ranked[part].costs
        column = self.pairs.part_offers.column
        found: dict[tuple[int, ...], int] = {}
        for place, option in enumerate(options):
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
        costs = [
            self.ranked[part].costs[places] if part in self.ranked else np.zeros(1)
            for part, places in zip(self.group, self.places, strict=True)
        ]
        paid = self._paid()
        made: Assignment = cheapest(costs, self.ends, lambda at, i, k: paid[at, i, k], self.least)
        if made.broken:
            return {}
        return {
            part: self.places[at][choice] for at, (part, choice) in enumerate(zip(self.group, made.choice, strict=True))
        }

    def _paid(self) -> dict[tuple[int, int, int], float]:
        """What each joint costs for each two of the choices: place of the joint, of the two choices."""
        return {
            (at, i, k): self.pairs.paid(self.joints[at], first, second)
            for at, (a, b) in enumerate(self.ends)
            for (i, first), (k, second) in product(enumerate(self.places[a]), enumerate(self.places[b]))
            if a != b or i == k
        }
