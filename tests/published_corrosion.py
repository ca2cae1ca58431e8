"""Routes to published figures of metal loss: equation against table, one column of a work against another."""

from __future__ import annotations

from typing import Any

from gatepost import corrosion
from gatepost.library import library

Given = dict[str, Any]
EXPONENT = {"no": "exponent", "yes": "exponent_cautious"}


def times_first_year(given: Given) -> float:
    """The loss as so many times the first year's; `curve: yes` goes without the straight line after 20 years."""
    after = corrosion.LONGEST_YEARS if given.get("curve") == "yes" else corrosion.STRAIGHT_AFTER_YEARS
    return float(corrosion.loss(given["years"], 1, _exponent(given), after))


def years_of_times(given: Given) -> float:
    """The year of a printed loss, by the closed inverse."""
    return float(corrosion.years_until(given["times"], 1, _exponent(given)))


def mass_lost(given: Given) -> float:
    """Mass that follows from the thickness lost, a column of another work or of the same, and the metal's density."""
    return _lost_um(given) * given["g_cm3"]


def zinc_rate(given: Given) -> float:
    """A limit of the zinc of a class, as another work has it."""
    return _lost_um({**given, "metal": "zinc"})


def straight_life(given: Given) -> float:
    """Years of a coat of zinc that wears as fast each year as in the first."""
    return float(corrosion.years_until(given["um"], _lost_um({**given, "metal": "zinc"}), 1))


def _exponent(given: Given) -> float:
    return library().table("loss_exponents").number(given["metal"], EXPONENT[given.get("cautious", "no")])


def _lost_um(given: Given) -> float:
    wanted = given["metal"], given["corrosivity"]
    table = library().table("metal_loss")
    row = list(zip(table.words("metal"), table.words("corrosivity"), strict=True)).index(wanted)
    return float(table.numbers(f"{given['end']}_um_y")[row])


ROUTES = {made.__name__: made for made in (times_first_year, years_of_times, mass_lost, zinc_rate, straight_life)}
