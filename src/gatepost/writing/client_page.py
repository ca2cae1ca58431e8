"""The client's page: one part in two or three materials, on one sheet of paper, in plain words. Made from the numbers of the JSON alone."""

from __future__ import annotations

from datetime import date
from typing import Literal

from .. import __version__
from ..choosing.teach import SIDES
from . import client_picture
from . import teach_models as shapes
from .blocks import Bullets, Document, Entry, Heading, Table
from .client_words import (
    LETTERS,
    NOT_KNOWN,
    comes_likely_to,
    counted,
    is_open,
    least,
    lettered,
    money,
    short,
    sides_of,
    upkeep,
)

MOST_JOINT, MOST_CHANGES = 32, 5
NAMED = dict(zip(SIDES, LETTERS, strict=True))
NO_PRICES = "No prices were given, so this page tells life and upkeep, and nothing of cost."
NO_PROMISE = "Wood differs from board to board. The years are ranges from published tests and guides, and no promise for one board."
NOT_COUNTED = "A new part costs what the first one cost. To take out the old one, and screws and glue, are not counted."
NO_COAT_LIFE = "How long such a finish lasts is not known, so the years of new coats are left open."
SAME = "Sizes, joints and finish are the same in each choice."


def document(out: shapes.Comparison, day: date, paper: Literal["A4", "Letter"]) -> Document:
    """The page: the answer, the choices side by side, the years drawn, what was assumed, what would change it."""
    title = f"Which material for the {short(out.part)}?"
    made = Document(title, _line(out, day), day=day, paper=paper, one_page=True)
    made.add(Entry("In short", _answer(out)), _beside(out), *client_picture.figures(out))
    made.add(Heading("What we assumed"), Bullets(_assumed(out)))
    return made.add(Heading("What would change the answer"), Bullets(_changes(out)))


def _line(out: shapes.Comparison, day: date) -> str:
    size = f", {out.size}" if out.size else ""
    return f"{short(out.project)}; {counted(out.qty, 'piece')}{size}; {day.isoformat()}; gatepost {__version__}"


def _answer(out: shapes.Comparison) -> str:
    """The page in a few sentences."""
    said = [f"You asked for {counted(out.wanted_years, 'year')}.", *_lasting(out)]
    return " ".join([*said, *_costing(out), *out.place])


def _lasting(out: shapes.Comparison) -> list[str]:
    told = {
        "yes": "should last that long",
        "maybe": "may not last that long",
        "no": "will most likely not last that long",
    }
    said = []
    for meets, words in told.items():
        names = [name for name, side in lettered(out) if side.lasts_wanted == meets]
        if names:
            said.append(f"{_and(names)} {words}.")
    unknown = [name for name, side in lettered(out) if side.lasts_wanted is None]
    return said + ([f"How long {_and(unknown)} would last here is not known."] if unknown else [])


def _and(names: list[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _costing(out: shapes.Comparison) -> list[str]:
    """Who costs least at first, and who over the years."""
    if out.currency is None:
        return [NO_PRICES]
    word = "least" if out.third else "less"
    said = [f"{NAMED[out.least_to_buy]} costs {word} to buy."] if out.least_to_buy else []
    over = f"over the {counted(out.wanted_years, 'year')}"
    sides = lettered(out)
    unknown = [name for name, side in sides if side.cost_over_life.likely is None]
    if out.clearly_less_over_life:
        return [*said, f"{NAMED[out.clearly_less_over_life]} costs {word} {over}."]
    if out.likely_least_over_life:
        best, known = NAMED[out.likely_least_over_life], _and([name for name, _ in sides if name not in unknown])
        if unknown:
            said.append(f"Of {known}, {best} most likely costs less {over}.")
        else:
            said.append(f"{best} most likely costs {word} {over}, but that is not sure.")
    return said + ([f"What {_and(unknown)} would cost {over} is not known."] if unknown else [])


def _beside(out: shapes.Comparison) -> Table:
    sides = sides_of(out)
    header = ["", *(f"{name}: {short(side.choice)}" for name, side in lettered(out))]
    header[1] += " (as planned)"
    rows = [["It lasts", *(_life(side) for side in sides)]]
    if out.currency:
        rows.append(["To buy and fit", *(money(side.first_cost, out.currency) for side in sides)])
    rows.append(["Upkeep", *(upkeep(side, out.currency) for side in sides)])
    if out.currency:
        title = f"Cost in {counted(out.wanted_years, 'year')}"
        rows.append([title, *(comes_likely_to(side.cost_over_life, out.currency) for side in sides)])
    rows.append(["First to fail", *(_fails(side, out) for side in sides)])
    rows.append(["Why", *(" ".join(side.why) or NOT_KNOWN for side in sides)])
    if any(side.stop for side in sides):
        rows.append(["Before building", *(_open(side) for side in sides)])
    return Table(header, [[text[:1].upper() + text[1:] for text in row] for row in rows], even=True)


def _life(side: shapes.TaughtSide) -> str:
    life, said = side.life_years, side.lasts
    if life.low is None:
        return f"{said}: no test of it in such a place has been read"
    if life.high is None:
        return f"{said}: its test ended while it still stood"
    if is_open(life):
        return f"{said}. The scale of its source ends there. Read it as: rot is not likely to be what ends it."
    return f"{said}, but some may fail in the first years" if round(life.low) == 0 else said


def _fails(side: shapes.TaughtSide, out: shapes.Comparison) -> str:
    first = side.fails_first
    if first is None:
        return NOT_KNOWN
    what = f"the metal in the joint “{short(first.joint, MOST_JOINT)}”" if first.joint is not None else "the wood"
    if first.years.low is not None and first.years.low >= out.wanted_years:
        return f"{what}, later than the {counted(out.wanted_years, 'year')}"
    return f"{what}, {'at any time ' if first.lasts.startswith('up to') else 'after '}{first.lasts}"


def _open(side: shapes.TaughtSide) -> str:
    return f"{counted(side.stop, 'point')} of the plan must be put right first" if side.stop else "no such point"


def _assumed(out: shapes.Comparison) -> list[str]:
    said = [NO_PROMISE]
    if out.currency:
        later = (
            f"Costs of later years count less, by {out.interest_pct:g} percent a year."
            if out.interest_pct
            else "A cost in a later year counts the same as one now."
        )
        said += [f"Prices are those of the shop today, in {short(out.currency, 12)}. {later}", NOT_COUNTED]
    open_costs = [name for name, side in lettered(out) if side.first_cost is None]
    if out.currency and open_costs:
        said.append(f"Not all prices for {_and(open_costs)} are known, so its whole cost is left open.")
    if any(side.due.coats is None for side in sides_of(out)):
        said.append(NO_COAT_LIFE)
    bare = [name for name, side in lettered(out) if side.price and side.labour == 0]
    if bare:
        said.append(f"The price list holds no work for {_and(bare)}, so none is counted.")
    return [*said, SAME]


def _changes(out: shapes.Comparison) -> list[str]:
    sides = lettered(out)
    turns = [text for one in out.turns for text in _turn(one, out)]
    enough = [text for name, side in sides for text in _enough(name, side)]
    metal = [name for name, side in sides if _metal_first(side)]
    better = [f"In {_and(metal)} the metal fails before the wood. Better metal would let it last longer."]
    return [*turns, *enough, *(better if metal else []), *out.changes][:MOST_CHANGES]


def _enough(name: str, side: shapes.TaughtSide) -> list[str]:
    """For how long a side that may fail too soon should do."""
    low = side.life_years.low
    if low is None or side.lasts_wanted == "yes" or not least(low):
        return []
    return [f"If {counted(least(low), 'year')} {'is' if least(low) == 1 else 'are'} enough, {name} should do."]


def _metal_first(side: shapes.TaughtSide) -> bool:
    first = side.fails_first
    return first is not None and first.joint is not None and side.life_years.low is not None


def _turn(one: shapes.TurnOut, out: shapes.Comparison) -> list[str]:
    """By the likely lives: how many years, and how much less for the wood, would turn the order of two sides."""
    if one.cheaper is None or one.first_cheaper is None:
        return []
    first = NAMED[one.first_cheaper]
    later = NAMED[one.other] if one.first_cheaper == "written" else NAMED["written"]
    dear = NAMED[one.other] if one.cheaper == "written" else NAMED["written"]
    if one.even_year is None:
        said = f"{later} costs more to buy than {first} and is not likely to catch up within {counted(one.looked_to_years, 'year')}."
    else:
        said = f"{first} costs less to buy than {later}. Past about {counted(one.even_year, 'year')}, {later} has most likely cost less."
    if one.fall_pct is not None:
        said += f" If the material of {dear} cost {one.fall_pct:.0f} percent less, the two would be level over {counted(out.wanted_years, 'year')}."
    return [said]
