"""The cheapest assignment of choices to parts that joints tie together: exact, by the cost that is certain first."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from operator import itemgetter

import numpy as np

NEVER = float("inf")
MOST_STATES = 5_000
"""Assignments looked at for one group; beyond, the best found so far stands and is marked as not proven."""

Option = tuple[int, ...]
"""Places in the offers that are taken together; none keeps the row as it is."""


@dataclass(frozen=True)
class Ranked:
    """The options of a part that hold by themselves, best first, with their rows in the virtual facts."""

    options: list[Option]
    at: np.ndarray
    costs: np.ndarray


AS_IT_IS = Ranked([()], np.array([-1]), np.zeros(1))
"""The one choice of a part that is no wood."""

PairCost = Callable[[int, int, int], float]
"""Cost of a joint (its place) for the choices (places in the lists) of its two parts; NEVER where none passes."""


@dataclass(frozen=True)
class Assignment:
    """Place of the choice of each part, the whole cost, and whether no cheaper one exists.

    broken  places of the joints that no choice found satisfies
    """

    choice: tuple[int, ...]
    cost: float
    proven: bool
    broken: tuple[int, ...] = ()


def cheapest(
    costs: Sequence[np.ndarray], joints: Sequence[tuple[int, int]], pair: PairCost, least: Sequence[float]
) -> Assignment:
    """Choose for one group.

    costs   of each part's choices, rising; every part has one at least
    joints  the two parts of each joint (places in `costs`), or the same twice
    pair    cost of a joint for two choices
    least   what each joint costs at the least

    Best first. An assignment that breaks a joint is followed only by those that move on one of that joint's parts, one
    that holds only by those that might save at a joint what a part costs more: each cheaper assignment is reached so.
    """
    start = (0,) * len(costs)
    queue, seen = [(_cost(costs, start, least), start)], {start}
    best, fallen = (NEVER, start), []
    while queue and queue[0][0] < best[0] and len(seen) < MOST_STATES:
        _, state = heapq.heappop(queue)
        paid = [pair(at, state[a], state[b]) for at, (a, b) in enumerate(joints)]
        broken = tuple(at for at, cost in enumerate(paid) if cost == NEVER)
        if broken:
            fallen.append((broken, state))
        best = min(best, (_cost(costs, state, paid), state), key=itemgetter(0))
        for part in _movable(joints, paid, least, broken):
            _push(queue, seen, state, part, costs, least)
    proven = not queue or queue[0][0] >= best[0]
    if best[0] < NEVER:
        return Assignment(best[1], best[0], proven)
    broken, nearest = min(fallen, key=lambda one: len(one[0]), default=((), start))
    return Assignment(nearest, NEVER, proven, broken)


def _cost(costs: Sequence[np.ndarray], state: tuple[int, ...], joints: Sequence[float]) -> float:
    """What the choices cost, with what their joints do."""
    return sum(float(c[i]) for c, i in zip(costs, state, strict=True)) + sum(joints)


def _movable(
    joints: Sequence[tuple[int, int]],
    paid: Sequence[float],
    least: Sequence[float],
    broken: tuple[int, ...],
) -> list[int]:
    """Parts of the first broken joint; where none is broken, parts of the joints that cost more than they must."""
    if broken:
        return list(dict.fromkeys(joints[broken[0]]))
    return list(dict.fromkeys(part for at, ends in enumerate(joints) if paid[at] > least[at] for part in ends))


def _push(
    queue: list[tuple[float, tuple[int, ...]]],
    seen: set[tuple[int, ...]],
    state: tuple[int, ...],
    part: int,
    costs: Sequence[np.ndarray],
    least: Sequence[float],
) -> None:
    if state[part] + 1 >= len(costs[part]):
        return
    following = (*state[:part], state[part] + 1, *state[part + 1 :])
    if following not in seen:
        seen.add(following)
        heapq.heappush(queue, (_cost(costs, following, least), following))


def groups(count: int, joints: Sequence[tuple[int, int]]) -> list[list[int]]:
    """Parts that joints tie together, each part in one group."""
    leader = list(range(count))

    def find(part: int) -> int:
        while leader[part] != part:
            leader[part] = leader[leader[part]]
            part = leader[part]
        return part

    for a, b in joints:
        leader[find(a)] = find(b)
    out: dict[int, list[int]] = {}
    for part in range(count):
        out.setdefault(find(part), []).append(part)
    return list(out.values())
