"""What the fasteners and the hardware of a joint cost, as they are and for each offer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from ..deriving import Facts
from ..frames import number, places, says
from ..project import Prices
from .costs import fastener_prices, hardware_prices
from .offers import FASTENER, Offers
from .way_out import changed

HARDWARE = "hardware_coating"
BY_PIECE = "piece"


@dataclass(frozen=True)
class JointCosts:
    """First cost of all the joints of a row; NaN where no price by the piece fits, nothing where there is none.

    fastener, hardware  joints by what stands there now, then by offers: (joints, 1 + offers); NaN where not offered
    years               wanted of the joint; 1 where costs are not spread over years
    """

    fastener: np.ndarray
    hardware: np.ndarray
    years: np.ndarray

    def first(self, joint: int, option: Sequence[int], offers: Offers) -> float:
        """What fasteners and hardware of the joint cost with the option."""
        return float(sum(table[joint, _place(option, offers, column)] for table, column in self._tables))

    def ranked(self, joint: int, option: Sequence[int], offers: Offers) -> float:
        """Cost that ranks: a year's, or the first; what has no price counts as more than the dearest that has."""
        return float(sum(table[joint, _place(option, offers, column)] for table, column in self._a_year))

    @property
    def _tables(self) -> tuple[tuple[np.ndarray, str], ...]:
        return (self.fastener, FASTENER[0]), (self.hardware, HARDWARE)

    @cached_property
    def _a_year(self) -> tuple[tuple[np.ndarray, str], ...]:
        return tuple((_known(table) / self.years[:, None], column) for table, column in self._tables)


def _place(option: Sequence[int], offers: Offers, column: str) -> int:
    return next((1 + at for at in option if offers.column[at] == column), 0)


def _known(costs: np.ndarray) -> np.ndarray:
    """Unknown costs of each joint as one more than its dearest; 0 where none is known."""
    dearest = np.where(np.isnan(costs), -1.0, costs).max(axis=1)
    return np.where(np.isnan(costs), dearest[:, None] + 1.0, costs)


def joint_costs(base: Facts, offers: Offers, rows: Mapping[int, np.ndarray], a_year: bool) -> JointCosts | None:
    """Costs of the joints of a project with prices; None without.

    rows    offers of each joint
    a_year  spread over the years that the first part of the joint is wanted
    """
    prices = base.project.prices
    if prices is None:
        return None
    life = np.append(number(base.parts, "life_years"), np.nan)[base.joints["a_row"]]
    years = np.where((life > 0) & a_year, life, 1.0)
    return JointCosts(_fasteners(base, offers, rows, prices), _hardware(base, offers, rows, prices), years)


def _fasteners(base: Facts, offers: Offers, rows: Mapping[int, np.ndarray], prices: Prices) -> np.ndarray:
    joint, offer, frame = _frame(base, offers, rows, FASTENER[0])
    advised, count = number(base.joints, "advised_count")[joint], number(frame, "count")
    none = says(frame, "fastener_kind", "none")
    each = _each(fastener_prices(frame, prices), prices) * np.where(np.isnan(count), advised, count)
    return _table(base, offers, joint, offer, np.where(none, 0.0, each))


def _hardware(base: Facts, offers: Offers, rows: Mapping[int, np.ndarray], prices: Prices) -> np.ndarray:
    """One piece of hardware a joint."""
    joint, offer, frame = _frame(base, offers, rows, HARDWARE)
    none = says(frame, "hardware_kind", "none")
    return _table(base, offers, joint, offer, np.where(none, 0.0, _each(hardware_prices(frame, prices), prices)))


def _frame(
    base: Facts, offers: Offers, rows: Mapping[int, np.ndarray], column: str
) -> tuple[np.ndarray, np.ndarray, pd.DataFrame]:
    """Each joint as it is (offer -1), and with each offer of the column that it may take."""
    mine = offers.rows_of(column)
    asked: list[tuple[int, tuple[int, ...]]] = [(row, ()) for row in range(len(base.joints))]
    asked += [(row, (int(at),)) for row, allowed in rows.items() for at in np.intersect1d(allowed, mine)]
    joint, ways = places(row for row, _ in asked), [way for _, way in asked]
    offer = places(next(iter(way), -1) for way in ways)
    return joint, offer, changed(base.project, "joints", joint, ways, offers, base.library).joints


def _each(rows: np.ndarray, prices: Prices) -> np.ndarray:
    """Price of one piece; NaN where none fits, or it is not sold by the piece or the box."""
    each = np.where(says(prices.items, "measure", BY_PIECE), number(prices.items, "price"), np.nan)
    return np.append(each, np.nan)[rows]


def _table(base: Facts, offers: Offers, joint: np.ndarray, offer: np.ndarray, each: np.ndarray) -> np.ndarray:
    out = np.full((len(base.joints), 1 + len(offers.frame)), np.nan)
    out[joint, 1 + offer] = number(base.joints, "qty")[joint] * each
    return out
