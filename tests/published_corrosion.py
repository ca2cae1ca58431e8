"""Routes to published figures of metal loss: equation against table, one column of a work against another."""

from __future__ import annotations

from typing import Any

from gatepost import corrosion
from gatepost.deriving.corrosivity import COEFFICIENTS
from gatepost.library import library

Given = dict[str, Any]
CLASSES = ("C1", "C2", "C3", "C4", "C5", "CX")
SETTLING = 0.8
"""mg of SO2 that settle on a square metre a day for each µg in a cubic metre of air (ISO 9223:2012, recalled)."""
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


def class_of_air(given: Given) -> str:
    """Class of a metal by dose and response, in air whose sulphur dioxide is told by volume."""
    table = library().table("corrosion_response_range")
    ranges = [(table.number(name, "low"), table.number(name, "high")) for name in table.index]
    so2_mg_m2_d = SETTLING * given["so2_ug_m3"]
    inputs = given["t_c"], given["rh_pct"], so2_mg_m2_d, given["chloride_mg_m2_d"]
    response = library().table("corrosion_response")
    row = corrosion.Response(*(response.number(given["metal"], name) for name in COEFFICIENTS))
    highest = [_lost_um({**given, "corrosivity": name, "end": "high"}) for name in CLASSES[:-1]]
    return CLASSES[int(corrosion.class_place(corrosion.first_year_loss(*inputs, row, ranges), highest))]


def _exponent(given: Given) -> float:
    return library().table("loss_exponents").number(given["metal"], EXPONENT[given.get("cautious", "no")])


def _lost_um(given: Given) -> float:
    wanted = given["metal"], given["corrosivity"]
    table = library().table("metal_loss")
    row = list(zip(table.words("metal"), table.words("corrosivity"), strict=True)).index(wanted)
    return float(table.numbers(f"{given['end']}_um_y")[row])


ROUTES = {
    made.__name__: made
    for made in (times_first_year, years_of_times, mass_lost, zinc_rate, straight_life, class_of_air)
}
