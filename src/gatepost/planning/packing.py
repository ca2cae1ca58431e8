"""Pieces cut from stock lengths with the least length bought: an exact search, and a proof of how good it is."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

PER_MM = 100
MOST_FILLINGS = 60_000
MOST_PATTERNS = 400
MOST_PIECES = 150
"""Fillings looked at in one list and at one node, and pieces searched at once; beyond these the plan may be unproven."""

Counts = tuple[int, ...]


@dataclass(frozen=True)
class Board:
    """So many boards of one stock length, each cut into the same pieces; lengths in mm, longest first."""

    stock_mm: float
    pieces_mm: tuple[float, ...]
    count: int


@dataclass(frozen=True)
class Plan:
    """Boards to buy.

    bought_mm  their length in all
    least_mm   no plan can do with less; equal to bought_mm where the plan is proven
    too_long   pieces that no stock length holds
    looked     fillings that the search looked at
    """

    boards: tuple[Board, ...]
    bought_mm: float
    least_mm: float
    too_long: tuple[float, ...] = ()
    looked: int = 0

    @property
    def proven(self) -> bool:
        """Whether no plan can buy less."""
        return self.bought_mm <= self.least_mm


def pack(pieces_mm: Sequence[float], stock_mm: Sequence[float], kerf_mm: float, effort: int = MOST_FILLINGS) -> Plan:
    """The boards whose length in all is least.

    pieces_mm  lengths to cut, one a piece
    stock_mm   lengths that are sold, without limit of number
    kerf_mm    width of a cut; a piece as long as the board needs none
    effort     fillings that are looked at before the best plan so far is taken
    The method is a branch and bound over fillings of a board (Gilmore and Gomory's patterns): the longest piece left
    takes every filling that nothing more fits into; what the material left must at least cost ends a branch.
    """
    longest = max(stock_mm)
    good = sorted((one for one in pieces_mm if one <= longest), reverse=True)
    too_long = tuple(sorted(one for one in pieces_mm if one > longest))
    if not good:
        return Plan((), 0.0, 0.0, too_long)
    search = _Search(good, stock_mm, kerf_mm, effort)
    search.run()
    return Plan(search.boards(), search.best / PER_MM, search.least() / PER_MM, too_long, search.looked)


@dataclass
class _Search:
    good: Sequence[float]
    stock_mm: Sequence[float]
    kerf_mm: float
    effort: int
    looked: int = 0
    cut_short: bool = False
    seen: dict[Counts, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        demand = Counter(_whole(one) for one in self.good)
        self.sizes = sorted(demand, reverse=True)
        self.mm = {_whole(one): one for one in (*self.good, *self.stock_mm)}
        self.demand = tuple(demand[size] for size in self.sizes)
        self.stock = sorted(_whole(one) for one in self.stock_mm)
        self.kerf = _whole(self.kerf_mm)
        self.step = math.gcd(*self.stock)
        self.taken: list[tuple[int, Counts, int]] = []
        self.best = 0
        self.best_taken: list[tuple[int, Counts, int]] = []

    def run(self) -> None:
        """Whole runs of the best filling first where there are very many pieces; then the search."""
        left, cost, first = self.demand, 0, []
        while sum(left) > MOST_PIECES:
            stock, filling = min(self.fillings(left), key=self._waste)
            times = min(left[i] // filling[i] for i in range(len(left)) if filling[i])
            first.append((stock, filling, times))
            left, cost = _minus(left, filling, times), cost + stock * times
        self.taken, self.best = first, 0
        self.floor = self.bound(self.demand)
        self.branch(left, cost)

    def branch(self, left: Counts, cost: int) -> None:
        """Search what is left; keeps the best whole plan."""
        if not any(left):
            if not self.best or cost < self.best:
                self.best, self.best_taken = cost, list(self.taken)
            return
        if self.best and self._hopeless(left, cost):
            return
        for stock, filling in sorted(self.fillings(left), key=self._waste):
            self.taken.append((stock, filling, 1))
            self.branch(_minus(left, filling, 1), cost + stock)
            self.taken.pop()
            if self.best <= self.floor:
                return
            if self.looked > self.effort:
                self.cut_short = True
                return

    def _hopeless(self, left: Counts, cost: int) -> bool:
        if cost + self.bound(left) >= self.best or self.seen.get(left, cost + 1) <= cost:
            return True
        self.seen[left] = cost
        return False

    def _waste(self, filled: tuple[int, Counts]) -> tuple[float, int]:
        stock, filling = filled
        used = sum(n * (size + self.kerf) for n, size in zip(filling, self.sizes, strict=True))
        return (stock + self.kerf - used) / stock, -stock

    def fillings(self, left: Counts) -> list[tuple[int, Counts]]:
        """Fillings with the longest piece left, each in the shortest stock that holds it, none with room for more."""
        first = next(i for i, n in enumerate(left) if n)
        out: dict[Counts, int] = {}
        for filling in self._filled(left, first, self.stock[-1] + self.kerf - self.sizes[first] - self.kerf):
            used = sum(n * (size + self.kerf) for n, size in zip(filling, self.sizes, strict=True)) - self.kerf
            self.looked += 1
            stock = next(one for one in self.stock if one >= used)
            rest = _minus(left, filling, 1)
            room = stock - used - self.kerf
            if not any(n and size <= room for n, size in zip(rest, self.sizes, strict=True)):
                out[filling] = stock
            if len(out) >= MOST_PATTERNS:
                self.cut_short = True
                break
        return [(stock, filling) for filling, stock in out.items()]

    def _filled(self, left: Counts, first: int, room: int) -> Iterator[Counts]:
        start = [0] * len(left)
        start[first] = 1
        rest = list(left)
        rest[first] -= 1
        yield from self._more(start, rest, first, room)

    def _more(self, filling: list[int], rest: list[int], at: int, room: int) -> Iterator[Counts]:
        if at == len(rest):
            yield tuple(filling)
            return
        size = self.sizes[at] + self.kerf
        for n in range(min(rest[at], max(room, 0) // size), -1, -1):
            filling[at] += n
            yield from self._more(filling, rest, at + 1, room - n * size)
            filling[at] -= n

    def bound(self, left: Counts) -> int:
        """The least that pieces left must cost: by their material, and by the pieces of which no two share a board."""
        shortest, longest = self.stock[0], self.stock[-1]
        need = sum(n * (size + self.kerf) for n, size in zip(left, self.sizes, strict=True))
        material = -(-need * shortest // (shortest + self.kerf))
        alone = 0
        for n, size in zip(left, self.sizes, strict=True):
            if n and 2 * (size + self.kerf) > longest + self.kerf:
                alone += n * next(one for one in self.stock if one >= size)
        return max(-(-material // self.step) * self.step, alone, shortest)

    def least(self) -> int:
        """What no plan can go below: the plan itself where the search was whole."""
        return self.floor if self.cut_short or sum(self.demand) > MOST_PIECES else self.best

    def boards(self) -> tuple[Board, ...]:
        """The plan, like boards together, longest stock first."""
        alike: Counter[tuple[int, Counts]] = Counter()
        for stock, filling, times in self.best_taken:
            alike[stock, filling] += times
        out = [Board(self.mm[stock], self._pieces(filling), n) for (stock, filling), n in alike.items()]
        return tuple(sorted(out, key=lambda board: (-board.stock_mm, [-one for one in board.pieces_mm])))

    def _pieces(self, filling: Counts) -> tuple[float, ...]:
        return tuple(self.mm[size] for n, size in zip(filling, self.sizes, strict=True) for _ in range(n))


def _minus(left: Counts, filling: Counts, times: int) -> Counts:
    return tuple(a - times * b for a, b in zip(left, filling, strict=True))


@lru_cache(maxsize=4096)
def _whole(mm: float) -> int:
    return round(mm * PER_MM)
