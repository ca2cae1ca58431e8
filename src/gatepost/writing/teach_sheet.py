"""One part in two or three materials: the numbers, the client's page, and the longer tables that follow it as data and as Markdown."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any, cast

import numpy as np

from ..choosing.teach import SIDES, WOOD, Comparison, Ending, Side
from ..choosing.years_ahead import ENDS, Turn
from ..errors import InputError
from . import client_page, markdown, models
from . import teach_models as shapes
from .blocks import Block, Bullets, Entry, Heading, Paragraph, Table
from .client_words import band, lasts, money, sides_of
from .findings import cited, finding
from .quantities import coarse
from .save import rendered, save
from .spec import PAPERS, block_out
from .values import plain_value, years

SUFFIXES = (".html", ".pdf", ".md", ".json")
NO_PRICES = "No price file is given, so nothing is said of cost: add prices, or call with --prices FILE."
CAUTION = "Bands are not promises: wood differs from board to board, and detail and upkeep move a life as much as the wood does."
COSTS = ("material", "labour", "finish")


def checked_suffix(path: Path) -> str:
    """The suffix, if there is a format for it."""
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise InputError(f"{path}: the suffix must be one of {', '.join(SUFFIXES)}")
    return suffix


def write(made: Comparison, path: Path, units: str, day: date) -> None:
    """Write the comparison; the suffix tells the format."""
    suffix = checked_suffix(path)
    numbers = comparison_out(made, units)
    sheet = client_page.document(numbers, day, PAPERS[made.sides[0].facts.project.scheme])
    if suffix in (".html", ".pdf"):
        save(rendered(sheet, suffix), path)
        return
    sheet.add(*annex(numbers, made))
    if suffix == ".md":
        save(markdown.render(sheet), path)
        return
    blocks = [block_out(block) for block in sheet.blocks]
    out = shapes.TeachOut(title=sheet.title, line=sheet.line, blocks=blocks, comparison=numbers)
    save(out.model_dump_json(indent=1) + "\n", path)


def comparison_out(made: Comparison, units: str) -> shapes.Comparison:
    """The numbers."""
    project = made.sides[0].facts.project
    part = made.sides[0].facts.parts.iloc[made.row]
    sides = [_side_out(side, made, units) for side in made.sides]
    sizes = {str(name): plain_value(part[name]) for name in ("length_mm", "width_mm", "thickness_mm")}
    return shapes.Comparison(
        project=project.name,
        part=str(part["part"]),
        qty=int(part["qty"]),
        size=coarse(sizes, units) if any(sizes.values()) else "",
        wanted_years=float(part["life_years"]),
        currency=project.prices.currency if project.prices else None,
        interest_pct=made.interest_pct,
        **dict(zip(SIDES, sides, strict=False)),
        clearly_less_per_year=made.clearly["per_year"],
        clearly_less_over_life=made.clearly["wanted"],
        least_to_buy=cast(Any, made.least["first"]),
        likely_least_over_life=cast(Any, made.least["wanted_likely"]),
        turns=[_turn(one) for one in made.turns],
        place=made.place,
        changes=made.changes,
        drawn_to_years=made.drawn_to_years,
        notes=[*made.remarks, *project.said, *([] if project.prices else [NO_PRICES])],
    )


def _turn(one: Turn) -> shapes.TurnOut:
    def named(at: int | None) -> Any:
        return None if at is None else SIDES[at]

    return shapes.TurnOut(
        other=SIDES[one.other],
        cheaper=named(one.cheaper),
        first_cheaper=named(one.first_cheaper),
        even_year=one.even_year,
        looked_to_years=one.looked_to_years,
        fall_pct=one.fall_pct,
    )


def _side_out(side: Side, made: Comparison, units: str) -> shapes.TaughtSide:
    part, costs = side.facts.parts.iloc[made.row], side.costs or {}
    life = models.Years(**{end: _years(part[f"service_life_{end}_years"]) for end in ENDS})
    fails = [_fails(one, side) for one in side.endings]
    grave = [one.rule.rule.severity for one in side.found]
    out = shapes.TaughtSide(
        choice=side.choice,
        price=_price(side.price),
        finish_price=_price(side.finish_price),
        first_cost=_money(costs.get("first")),
        **{name: _money(costs.get(name)) for name in COSTS},
        upkeep=_upkeep(side),
        spent=_spent(side),
        due=_due(side),
        upkeep_cost_per_year=_upkeep_a_year(side, float(part["life_years"])),
        life_years=life,
        lasts=lasts(life),
        models=[shapes.ModelLife(model=name, low=_years(low), high=_years(high)) for name, low, high in side.models],
        cost_per_year=_band(costs, "per_year"),
        cost_over_life=_band(costs, "wanted"),
        lasts_wanted=side.meets,
        why=side.why,
        fails_first=fails[0] if fails else None,
        fails=fails,
        worst=models.Finding(**asdict(finding(side.review, side.found[0], units))) if side.found else None,
        stop=grave.count("stop"),
        fix=grave.count("fix"),
        assumed=_assumed(side),
    )
    out.blanks = _blanks(out, side)
    return out


def _money(value: float | None) -> float | None:
    return None if value is None or not np.isfinite(value) else round(float(value), 2)


def _years(value: Any) -> float | None:
    plain = plain_value(value)
    return None if plain is None else round(float(plain), 1)


def _band(costs: dict[str, float], name: str) -> shapes.CostBand:
    return shapes.CostBand(**{end: _money(costs.get(f"{name}_{end}")) for end in ("low", "likely", "high")})


def _price(item: dict[str, Any] | None) -> shapes.PriceOut | None:
    return None if item is None else shapes.PriceOut(item=item["item"], line=int(item["line"]), unit=item["unit"])


def _fails(one: Ending, side: Side) -> shapes.FailsOut:
    joint = None if one.what == WOOD else str(side.facts.joints["joint"].iat[one.joint])
    band = models.Years(**{end: _years(value) for end, value in one.years.items()})
    what = "the wood" if joint is None else f"the metal of {joint}"
    return shapes.FailsOut(what=what, joint=joint, years=band, lasts=lasts(band))


def _upkeep(side: Side) -> list[shapes.YearOut]:
    if side.by_year is None:
        return []
    count = len(side.by_year["care"])
    rows = [{name: _money(float(values[year])) for name, values in side.by_year.items()} for year in range(count)]
    return [shapes.YearOut(year=year, **row) for year, row in enumerate(rows)]


def _spent(side: Side) -> list[shapes.SpentOut]:
    if side.spent is None:
        return []
    rows = zip(*(side.spent[end] for end in ENDS), strict=True)
    return [
        shapes.SpentOut(year=year, low=_money(low), likely=_money(likely), high=_money(high))
        for year, (low, likely, high) in enumerate(rows)
    ]


def _due(side: Side) -> shapes.DueOut:
    made = side.marks
    return shapes.DueOut(
        coats=made.coats,
        replaced=made.replaced,
        coat_every_years=made.every_years if np.isfinite(made.every_years) else None,
        care_every_year=side.by_year is not None and bool((side.by_year["care"] > 0).any()),
    )


def _upkeep_a_year(side: Side, wanted: float) -> float | None:
    if side.by_year is None:
        return None
    return _money(float((side.by_year["care"] + side.by_year["coats"]).sum()) / wanted)


def _blanks(out: shapes.TaughtSide, side: Side) -> dict[str, str]:
    """Why a number is missing."""
    told: dict[str, str] = {}
    costs = side.costs
    if costs is None:
        return dict.fromkeys(("first_cost", "cost_per_year", "cost_over_life"), "no price file is given")
    if out.first_cost is None:
        told["first_cost"] = _why_no_cost(out, side)
    if out.life_years.likely is None:
        told["life_years"] = "no published life is known for this material where it stands"
    reason = told.get("first_cost") or told.get("life_years")
    for name in ("cost_per_year", "cost_over_life"):
        band = getattr(out, name)
        if band.likely is None and reason:
            told[name] = reason
        elif band.high is None:
            told[name] = "no upper end: the wood may fail at once, as sapwood does"
        elif band.low is None:
            told[name] = "no lower end: the test ended while its wood still stood"
    return told


def _why_no_cost(out: shapes.TaughtSide, side: Side) -> str:
    if side.price is None:
        return f'no price fits "{side.choice}"; add a row to the price file'
    if out.material is None:
        return "a size of the part is not written"
    return (
        "the price file has no price for the finish"
        if side.finish_price is None
        else "the coats or a size of the finish are not written"
    )


def _assumed(side: Side) -> list[str]:
    """What the numbers of one side rest on."""
    said = [f"{name} taken as {value}" for name, value in side.assumed]
    if side.costs is None or side.price is None:
        return said
    said.append(f"priced as {side.price['item']}, line {side.price['line']} of the price file")
    if side.waste_share:
        said.append(f"{side.waste_share:.0%} of what is bought is cut away (common practice)")
    if np.isnan(side.price["labour"]):
        said.append("the price file gives no labour for it: none is counted")
    every = side.costs["coat_every_likely"]
    if np.isfinite(every):
        said.append(f"one new coat every {every:g} years; a replaced part gets all its coats again")
    return said


def annex(out: shapes.Comparison, made: Comparison) -> list[Block]:
    """What follows the client's page: every number side by side, year by year, what fails, and what it rests on."""
    blocks: list[Block] = [Heading("The numbers side by side"), Paragraph(_verdict(out)), _beside(out)]
    if any(side.upkeep for side in sides_of(out)):
        blocks += [Heading("Year by year"), _yearly(out)]
    blocks += [Heading("Life by each model"), *_lives(out), Heading("What fails first"), *_failing(out, made)]
    return [*blocks, Heading("What the numbers rest on"), Bullets(_rests(out)), Paragraph(CAUTION)]


def _verdict(out: shapes.Comparison) -> str:
    if out.currency is None:
        return NO_PRICES
    names = dict(zip(SIDES, (side.choice for side in sides_of(out)), strict=False))
    told = []
    for winner, what in (
        (out.clearly_less_per_year, "a year of service"),
        (out.clearly_less_over_life, f"the {out.wanted_years:g} years wanted"),
    ):
        told.append(
            f"{names[winner]} clearly costs less for {what}."
            if winner
            else f"Neither clearly costs less for {what}: the bands overlap, or an end is not known."
        )
    return " ".join(told)


def _beside(out: shapes.Comparison) -> Table:
    header = ["", *(side.choice for side in sides_of(out))]
    rows = [["lasts, years", *(years(side.life_years.low, side.life_years.high) for side in sides_of(out))]]
    if out.currency:
        for title, name in (
            ("first cost", "first_cost"),
            ("of that material", "material"),
            ("labour", "labour"),
            ("finish", "finish"),
            ("upkeep a year", "upkeep_cost_per_year"),
        ):
            rows.append([title, *(money(getattr(side, name), out.currency) for side in sides_of(out))])
        for title, name in (
            ("cost of a year of service", "cost_per_year"),
            (f"cost over {out.wanted_years:g} years", "cost_over_life"),
        ):
            rows.append([title, *(band(getattr(side, name), out.currency) for side in sides_of(out))])
    rows.append(["findings", *(f"{side.stop} stop, {side.fix} fix" for side in sides_of(out))])
    right = tuple(range(1, len(header)))
    return Table(header, rows, right=right, caption=f"{out.qty} {'piece' if out.qty == 1 else 'pieces together'}.")


def _yearly(out: shapes.Comparison) -> Table:
    """Years in which something falls; the others cost nothing."""
    currency = out.currency or ""
    rows = []
    for year in range(max(len(side.upkeep) for side in sides_of(out))):
        cells = [_year(side.upkeep[year]) for side in sides_of(out)]
        if any(cell != 0 for cell in cells):
            rows.append(["at the start" if year == 0 else str(year), *(money(cell, currency) for cell in cells)])
    caption = "By the likely life. Purchases, coats and care together; a year that is not listed costs nothing. Where no life is published, replacements are not in it."
    header = ["year", *(side.choice for side in sides_of(out))]
    return Table(header, rows, right=tuple(range(1, len(header))), caption=caption)


def _year(one: shapes.YearOut) -> float | None:
    """All that falls in a year; a replacement that is not known is left out, and the first purchase is not."""
    if one.care is None or one.coats is None or (one.bought is None and one.year == 0):
        return None if one.year == 0 else 0
    return (one.bought or 0) + one.care + one.coats


def _lives(out: shapes.Comparison) -> list[Block]:
    rows = [[side.choice, one.model, years(one.low, one.high)] for side in sides_of(out) for one in side.models]
    silent = [
        f"No published life is known for {side.choice} where it stands." for side in sides_of(out) if not side.models
    ]
    table: list[Block] = [Table(["material", "model", "years"], rows, right=(2,))] if rows else []
    return table + [Paragraph(text) for text in silent]


def _failing(out: shapes.Comparison, made: Comparison) -> list[Block]:
    blocks: list[Block] = []
    for side, source in zip(sides_of(out), made.sides, strict=True):
        first = side.fails_first
        told = f"{first.what}, {years(first.years.low, first.years.high)} years" if first else "not known"
        lines = []
        if side.worst:
            lines = [
                ("Worst finding", f"{side.worst.rule} ({side.worst.severity}): {side.worst.message}"),
                ("Why", side.worst.why),
            ]
            lines += [
                ("To do", side.worst.remedy),
                ("Source", cited(source.review, side.worst.source, side.worst.status)),
            ]
        blocks.append(Entry(side.choice, f"first to fail: {told}.", lines))
    return blocks


def _rests(out: shapes.Comparison) -> list[str]:
    both = [f"{side.choice}: {text}" for side in sides_of(out) for text in side.assumed]
    both += [
        f"{side.choice}: {name.replace('_', ' ')} not known: {text}"
        for side in sides_of(out)
        for name, text in side.blanks.items()
    ]
    if out.currency:
        interest = (
            f"at {out.interest_pct:g} % a year"
            if out.interest_pct
            else "not discounted: a sum in later years counts as much as now"
        )
        both += [
            f"Costs are {interest}.",
            "The cost of a year of service is that of the whole life of the part, even past the years wanted.",
            "A replacement costs what the part cost at first; taking out the old one is not counted.",
            "Fasteners, hardware and glue are not counted: the joints stay as they are written.",
        ]
    return [text[:1].upper() + text[1:] for text in [*both, *out.notes]]
