"""Numbers of a comparison in a layman's words: years, money, upkeep."""

from __future__ import annotations

import math

from . import teach_models as shapes
from .models import Years
from .plain import plain
from .values import MOST_YEARS

CENTS_BELOW = 20
BY_FIVES, FIVES = 20, 5
MOST_NAME = 48
NOT_KNOWN = "not known"
LETTERS = "ABC"


def sides_of(out: shapes.Comparison) -> list[shapes.TaughtSide]:
    """The part as written, then the others."""
    return [side for side in (out.written, out.against, out.third) if side]


def lettered(out: shapes.Comparison) -> list[tuple[str, shapes.TaughtSide]]:
    """Each side with the letter that the page calls it by."""
    return list(zip(LETTERS, sides_of(out), strict=False))


def short(text: str, most: int = MOST_NAME) -> str:
    """A name as far as a line of the page holds it.

    >>> short("gate board"), short("W" * 80, 5)
    ('gate board', 'WWWW…')
    """
    clear = " ".join(plain(text).split())
    return clear if len(clear) <= most else clear[: most - 1].rstrip() + "…"


def counted(number: float, what: str) -> str:
    """
    >>> counted(1, "year"), counted(20, "year"), counted(2.5, "year")
    ('1 year', '20 years', '2.5 years')
    """
    return f"{number:g} {what}{'' if number == 1 else 's'}"


def lasts(of: Years) -> str:
    """A band of years as a layman reads it: above 20 by fives, rounded outwards.

    >>> lasts(Years(low=0, high=38)), lasts(Years(low=10, high=20)), lasts(Years(low=60, high=100))
    ('up to 40 years', '10 to 20 years', '60 years or more')
    """
    if of.low is None:
        return NOT_KNOWN
    low = least(of.low)
    if of.high is None:
        return f"at least {counted(low, 'year')}"
    high = math.ceil(of.high / FIVES) * FIVES if of.high > BY_FIVES else round(of.high)
    if is_open(of) and low:
        return f"{low} years or more"
    if low == high:
        return f"about {counted(low, 'year')}"
    return f"{low} to {counted(high, 'year')}" if low else f"up to {counted(high, 'year')}"


def least(years: float) -> int:
    """The low end of a band as it is printed: whole years, above 20 by fives, never more than it is."""
    return math.floor(years / FIVES) * FIVES if years >= BY_FIVES else math.floor(years)


def is_open(of: Years) -> bool:
    """Does the band end where its scale does?"""
    return of.high is not None and of.high >= MOST_YEARS


def money(value: float | None, currency: str) -> str:
    """A sum as it is printed: small ones with cents."""
    if value is None:
        return NOT_KNOWN
    sum_ = f"{value:.2f}".removesuffix(".00") if 0 < abs(value) < CENTS_BELOW else f"{value:.0f}"
    return f"{sum_} {currency}"


def band(of: shapes.CostBand, currency: str) -> str:
    """A band of cost."""
    if of.likely is None and of.low is None:
        return NOT_KNOWN
    low, high = (None if end is None else money(end, currency) for end in (of.low, of.high))
    if low is None or high is None:
        return f"likely {money(of.likely, currency)}" + (
            f", at least {low}" if low else f", at most {high}" if high else ""
        )
    return low if low == high else f"{low.removesuffix(f' {currency}')} to {high}"


def comes_to(of: shapes.CostBand, currency: str) -> str:
    """A band of cost in a layman's words; an end that is not known is an open one.

    >>> comes_to(shapes.CostBand(low=330, likely=330, high=None), "USD")
    '330 USD or more'
    """
    if of.low is not None and of.high is None:
        return f"{money(of.low, currency)} or more"
    return band(of, currency)


def comes_likely_to(of: shapes.CostBand, currency: str) -> str:
    """The same with the likely sum, where that is not an end of the band.

    >>> comes_likely_to(shapes.CostBand(low=330, likely=500, high=None), "USD")
    '330 USD or more, most likely 500 USD'
    """
    said = comes_to(of, currency)
    ends = [money(end, currency) for end in (of.low, of.high)]
    likely = money(of.likely, currency)
    return said if of.low is None or likely in ends else f"{said}, most likely {likely}"


def upkeep(side: shapes.TaughtSide, currency: str | None) -> str:
    """What is done to a side over the years, and what that costs a year."""
    due = side.due
    if due.coats is None:
        return NOT_KNOWN
    done = [f"new coats about every {counted(due.coat_every_years, 'year')}"] if due.coat_every_years else []
    done += ["care each year"] if due.care_every_year else []
    if not done:
        return "no coats to renew"
    cost = "" if currency is None else f", {money(side.upkeep_cost_per_year, currency)} a year"
    return " and ".join(done) + (cost if side.upkeep_cost_per_year is not None else "")
