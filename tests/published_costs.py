"""Routes to published costs: chains of replacements, equal sums a year, a year of service."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from gatepost import cost

Given = dict[str, Any]


def worth_of_chain(given: Given) -> float:
    """Present worth of a chain of replacements; what it earns is care below zero."""
    yearly = cost.by_year(given["first"], -given["earned"], 0, np.inf, given["life"], given["years"])
    return float(-cost.present_cost(sum(yearly.values()), given["interest_pct"]))


def equal_a_year(given: Given) -> float:
    """The equal sum a year that pays for all that one life costs."""
    yearly = cost.by_year(given["first"], -given["earned"], 0, np.inf, given["life"], given["life"])
    one = cost.present_cost([0.0, *[1.0] * given["life"]], given["interest_pct"])
    return float(cost.present_cost(sum(yearly.values()), given["interest_pct"]) / one)


def year_of_service(given: Given) -> float:
    """Cost of a year of service without interest, of something whose care a year is a share of its first cost."""
    first = given["care"] / given["share"]
    return float(cost.cost_per_year(first, given["care"], 0, np.inf, given["life"]))


ROUTES: dict[str, Callable[[Given], Any]] = {
    made.__name__: made for made in (worth_of_chain, equal_a_year, year_of_service)
}
