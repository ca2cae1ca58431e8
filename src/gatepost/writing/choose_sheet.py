"""What to buy and the ways out: lines to be read, and the JSON."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from ..choosing import Chosen, Way, Ways, Why
from ..choosing.changes import Cells, Change
from ..choosing.offers import Offers
from ..deriving import Facts
from ..library import Over
from ..review import Review
from . import models
from .blocks import Block, Bullets, Document, Heading, Paragraph, Table
from .review_json import as_json
from .review_sheet import head_line
from .values import NO_BAND, years

LISTED = 4
"""Choices shown for each part and joint; the JSON lists LISTED_JSON."""
LISTED_JSON = 12
NO_PRICES = "No prices were given, so choices stand in this order: life enough for what is wanted, no lighter wood under people, the finish kept, less upkeep, the commoner wood, then the longer life."
BY = {
    "life": "Choices stand by their life, the longest first.",
    "upkeep": "Choices stand by the coats that they ask each year, the fewest first.",
    "cost": "Choices stand by what is paid at first: material, labour and finish, fasteners and hardware. What has no price comes after.",
    "cost-per-year": "Choices stand by the likely cost of a year of service: first cost and upkeep over the life; where no life is published the years wanted count, since no rule objects. What has no price comes after.",
}
STRENGTH = "A choice lasts; it need not carry as much. Before a lighter or weaker wood, or a thinner section, goes under people or load, let a licensed designer or the local code's span tables say that it may."
ENDS = ("low", "likely", "high")
LISTS = {"parts": ("species", "treatment", "panel", "finish"), "joints": ("fastener", "glue", "hardware")}


def way_lines(ways: Ways, facts: Facts) -> dict[tuple[Over, int], str]:
    """For each row with a stop or a fix its way out in one line."""
    out: dict[tuple[Over, int], str] = {}
    cells = Cells(facts)
    for mine, offers in ((ways.parts, ways.part_offers), (ways.joints, ways.joint_offers)):
        for way in mine:
            out[way.over, way.row] = way_line(way, cells, offers)
    for row in ways.cleared:
        out["joints", row] = "cleared by the changes of its parts"
    return out


def way_line(way: Way, cells: Cells, offers: Offers) -> str:
    """The changes of one way out, or what stands in the way."""
    if way.blocked_by:
        return f"no change tried clears it; in the way: {', '.join(way.blocked_by)}. An expert must decide"
    return "; ".join(_told(change) for change in cells.changes(way.over, way.row, way.offers, offers))


def _told(change: Change) -> str:
    return f"{change.column}: {change.new}" + (f" (now {change.old})" if change.old else "")


def choose_out(made: Chosen, review: Review, units: str) -> models.ReviewOut:
    """The review's JSON with choices and ways out."""
    out = as_json(review, units)
    cells = Cells(review.facts)
    broken, bands = _grave(review), _bands(made)
    for row, part in enumerate(out.parts):
        if row in made.ranked:
            part.choices = _part_choices(made, row, cells, bands, broken.get(("parts", row), []))
    for row, joint in enumerate(out.joints):
        joint.choices = _joint_choices(made, row, cells, broken.get(("joints", row), []))
    _add_ways(out, made.ways, cells)
    return out


def add_ways(out: models.ReviewOut, ways: Ways, facts: Facts) -> None:
    """Put the ways out into a review's JSON."""
    _add_ways(out, ways, Cells(facts))


def _add_ways(out: models.ReviewOut, ways: Ways, cells: Cells) -> None:
    for mine, offers in ((ways.parts, ways.part_offers), (ways.joints, ways.joint_offers)):
        for way in mine:
            target = out.parts[way.row] if way.over == "parts" else out.joints[way.row]
            told = cells.changes(way.over, way.row, way.offers, offers)
            target.way_out = [models.ChangeOut(column=one.column, from_=one.old, to=one.new) for one in told]
            target.blocked_by = list(way.blocked_by)


def _grave(review: Review) -> dict[tuple[Over, int], list[str]]:
    out: dict[tuple[Over, int], list[str]] = {}
    for one in review.found:
        if one.rule.rule.severity in ("stop", "fix"):
            out.setdefault((one.over, one.row), []).append(one.rule.rule.rule)
    return out


Bands = dict[str, np.ndarray]
"""Years of life and costs of every option tried, by name."""


def _bands(made: Chosen) -> Bands:
    out = {end: made.tried.parts[f"service_life_{end}_years"].to_numpy(float) for end in ENDS}
    if made.money is not None:
        out |= {name: made.money[name].to_numpy(float) for name in ("first", *(f"per_year_{end}" for end in ENDS))}
    return out


def _part_choices(
    made: Chosen, row: int, cells: Cells, bands: Bands, because: list[str]
) -> dict[str, list[models.ChoiceOut]]:
    """Materials with the finish of rank 1, and finishes with the material of rank 1, ranked."""
    offers, ranked, taken = made.ways.part_offers, made.ranked[row], made.taken[row]
    own = ranked.options[taken]
    as_it_is = {column: _own_label(made, row, column) for column in ("material", "finish")}
    lists: dict[str, list[models.ChoiceOut]] = {name: [] for name in LISTS["parts"]}
    ranks = {"material": 0, "finish": 0}
    for place in [taken, *(at for at in made.others[row] if at != taken)]:
        option = ranked.options[place]
        for column in ("material", "finish"):
            rest = [at for at in option if offers.column[at] != column]
            if rest != [at for at in own if offers.column[at] != column]:
                continue
            mine = [at for at in option if offers.column[at] == column]
            if place != taken and mine == [at for at in own if offers.column[at] == column]:
                continue
            label, sort = _label(offers, column, mine) if mine else as_it_is[column]
            if any(one.choice == label for one in lists[sort]):
                continue
            ranks[column] += 1
            if ranks[column] > LISTED_JSON:
                continue
            if label is not None:
                lists[sort].append(
                    _choice(made, row, label, ranks[column], mine, int(ranked.at[place]), cells, bands, because)
                )
    return lists


def _label(offers: Offers, column: str, mine: Sequence[int]) -> tuple[str | None, str]:
    """What the choice is called, and the list it stands in."""
    if column == "finish":
        return offers.writes[mine[0]]["finish"], "finish"
    return offers.writes[mine[0]]["material"], _sort(offers.frame, mine[0])


def _own_label(made: Chosen, row: int, column: str) -> tuple[str | None, str]:
    """The row's own material or finish as it is written, and the list it stands in."""
    frame = made.ways.after.parts
    names = ("product", "treatment_kind", "finish", "material", "species", "treatment", "grade")
    base = {name: frame[name].iat[row] for name in names}
    if column == "finish":
        return base["finish"] if isinstance(base["finish"], str) else "none", "finish"
    sort = _sort(frame, row)
    words = (
        ("material",)
        if isinstance(base["material"], str) and base["material"] != "none"
        else ("species", "treatment", "grade")
    )
    told = [base[name] for name in words if isinstance(base[name], str) and base[name] != "none"]
    return (", ".join(told) or None), sort


def _known(value: float) -> float | None:
    return None if pd.isna(value) or value == float("inf") else round(float(value), 2)


def _sort(frame: pd.DataFrame, row: int) -> str:
    """The list that a material stands in."""
    product, treatment = (frame[name].array[row] for name in ("product", "treatment_kind"))
    if isinstance(product, str) and product not in ("lumber", "round", "glulam"):
        return "panel"
    return "treatment" if isinstance(treatment, str) and treatment != "none" else "species"


def _choice(
    made: Chosen,
    row: int,
    label: str,
    rank: int,
    mine: Sequence[int],
    at: int,
    cells: Cells,
    bands: Bands,
    because: list[str],
) -> models.ChoiceOut:
    told = {end: None if np.isnan(bands[end][at]) else float(bands[end][at]) for end in ENDS}
    beside = _beside(made.ways, "parts", row)
    told_cells = {one.column: one.new for one in cells.changes("parts", row, mine, made.ways.part_offers, beside)}
    return models.ChoiceOut(
        choice=label, rank=rank, set=told_cells, life_years=models.Years(**told), because=because, **_paid(bands, at)
    )


def _paid(bands: Bands, at: int) -> dict[str, Any]:
    """First cost and the band of a year's cost, where prices are given."""
    if "first" not in bands:
        return {}
    costs = {end: _known(bands[f"per_year_{end}"][at]) for end in ENDS}
    return {"cost": _known(bands["first"][at]), "cost_per_year": models.Years(**costs)}


def _beside(ways: Ways, over: Over, row: int) -> set[str]:
    """Columns that the way out of a row writes: a choice beside it says them again."""
    mine, offers = (ways.parts, ways.part_offers) if over == "parts" else (ways.joints, ways.joint_offers)
    return {column for way in mine if way.row == row for at in way.offers for column in offers.writes[at]}


def _joint_choices(
    made: Chosen, row: int, cells: Cells, because: list[str]
) -> dict[str, list[models.ChoiceOut]] | None:
    """Fasteners, glues and hardware that hold while the rest of the joint stands at rank 1."""
    if row not in made.joints:
        return None
    offers = made.ways.joint_offers
    taken, passing = made.joints[row]
    names = {"fastener": "fastener", "glue": "glue", "hardware": "hardware_coating"}
    lists: dict[str, list[models.ChoiceOut]] = {name: [] for name in LISTS["joints"]}
    for name, column in names.items():
        rest = [at for at in taken if offers.column[at] != column]
        alike = [way for way in passing if [at for at in way if offers.column[at] != column] == rest]
        ways = [taken, *(way for way in alike if way != taken)]
        now = _now(made.ways.after.joints, row, name)
        told: dict[str, tuple[str, Sequence[int]]] = {}
        for option in ways:
            label = _joint_label(now, name, [offers.writes[at] for at in option if offers.column[at] == column])
            if label is not None:
                told.setdefault(_alike(label), (label, option))
        first = 1 if ways[0] in (option for _, option in told.values()) else 2  # rank 1 is to have none of it
        for rank, (label, way) in enumerate(list(told.values())[:LISTED_JSON], first):
            mine = [at for at in way if offers.column[at] == column]
            changes = cells.changes("joints", row, mine, offers, _beside(made.ways, "joints", row))
            cost = None if made.joint_money is None else _known(made.joint_money.first(row, way, offers))
            told_cells = {one.column: one.new for one in changes}
            lists[name].append(models.ChoiceOut(choice=label, rank=rank, set=told_cells, cost=cost, because=because))
    return lists


def _alike(label: str) -> str:
    """The label without what two writings of one size differ in."""
    return re.sub(r" in\b|[ -]", "", label)


LABEL: dict[str, dict[str, tuple[str, ...]]] = {
    "fastener": {"fastener": ("fastener_kind",), "size": ("size",), "coating": ("coating_kind", "fastener_metal")},
    "glue": {"glue": ("glue_kind",)},
    "hardware": {"hardware": ("hardware_kind",), "hardware_coating": ("hardware_coat", "hardware_metal")},
}
"""Cells that name a choice of a joint, and the facts that tell what stands there where the choice does not write it."""


def _now(frame: pd.DataFrame, row: int, name: str) -> dict[str, list[str]]:
    """What stands in a joint in the cells that name a choice."""
    found = {cell: [frame[fact].iat[row] for fact in facts] for cell, facts in LABEL[name].items()}
    return {cell: [one for one in words if isinstance(one, str)] for cell, words in found.items()}


def _joint_label(now: dict[str, list[str]], name: str, mine: Sequence[dict[str, str]]) -> str | None:
    """What the choice is called: what it writes, and what stays of the joint; None where the joint has no such thing.

    now   what stands in the joint by cell
    mine  what the choice writes, if anything
    """
    writes = mine[0] if mine else {}
    words: list[str] = []
    for cell in LABEL[name]:
        told = [writes[cell]] if cell in writes else now[cell]
        if cell == name and (not told or told[0] == "none"):
            return None
        words += [one for one in told if one not in ("none", "steel", "stainless")][:1]
    return ", ".join(dict.fromkeys(words))


def document(made: Chosen, review: Review, units: str, part: str | None = None, by: str | None = None) -> Document:
    """What to buy, to be read; of one part with `part`."""
    out = choose_out(made, review, units)
    sheet = Document(f"{review.facts.project.name}: what to buy", head_line(review))
    prices = review.facts.project.prices
    sheet.add(Paragraph(BY.get(by or ("cost-per-year" if prices else ""), NO_PRICES)), Paragraph(STRENGTH))
    if prices is not None:
        sheet.add(
            Paragraph(f"Prices: {prices.place}, in {prices.currency}."), *(Paragraph(text) for text in prices.said)
        )
    parts = [one for one in out.parts if one.choices is not None and part in (None, one.part)]
    joints = [one for one in out.joints if one.choices is not None and part in (None, one.part_a, one.part_b)]
    sheet.add(Heading("Parts"), _part_table(parts, prices is not None), Heading("Joints"), _joint_table(joints))
    return sheet.add(*_ways(out, part), *_broken(made, out))


def records(out: models.ReviewOut) -> list[dict[str, object]]:
    """A row a choice: where it stands, its list and rank, what it is and what to write."""
    rows: list[dict[str, object]] = []
    every: list[tuple[str, int, models.PartOut | models.JointOut]] = [
        *(("part", number, part) for number, part in enumerate(out.parts, 1)),
        *(("joint", number, joint) for number, joint in enumerate(out.joints, 1)),
    ]
    for kind, number, one in every:
        for name, choices in (one.choices or {}).items():
            head = {"row": number, "kind": kind, "name": getattr(one, kind), "list": name}
            rows += [{**head, **_record(choice)} for choice in choices]
    return rows


def _record(choice: models.ChoiceOut) -> dict[str, object]:
    life = {f"life_{end}_years": getattr(choice.life_years, end) for end in ("low", "likely", "high")}
    cells = "; ".join(f"{column}={text}" for column, text in choice.set.items())
    return {"rank": choice.rank, "choice": choice.choice, "cost": choice.cost, **life, "set": cells}


def why_line(told: Why, made: Chosen, row: int, text: str, out: models.ReviewOut) -> str:
    """Why a material is not offered for a part, or its rank, in one line."""
    name = out.parts[row].part
    if told.rules:
        return f"{text} is not offered for {name}: {', '.join(told.rules)} (gatepost rules RULE explains it)."
    if told.joints:
        joints = "; ".join(f"{joint}: {', '.join(names)}" for joint, names in told.joints)
        return f"{text} is not offered for {name} while the rest stands at rank 1, for a joint breaks a rule: {joints}."
    offers = made.ways.part_offers
    label = next((offers.writes[at]["material"] for at in told.option or () if offers.sort[at]), text)
    lists = (out.parts[row].choices or {}).values()
    ranks = {one.choice: one.rank for choices in lists for one in choices}
    rank = ranks.get(text, ranks.get(label))
    if rank is not None:
        return f"{text} is offered for {name}, at rank {rank}."
    return f"{text} passes for {name}, but stands lower than what is listed."


def _money(one: models.ChoiceOut) -> str:
    """First cost, and the band of a year's cost."""
    first = NO_BAND if one.cost is None else f"{one.cost:.0f}"
    low, high = one.cost_per_year.low, one.cost_per_year.high
    if low is None:
        return f"{first}; –"
    return f"{first}; {low:.1f} to {high:.1f}" if high is not None else f"{first}; at least {low:.1f}"


def _part_table(parts: Sequence[models.PartOut], priced: bool) -> Block:
    rows = []
    for part in parts:
        choices = part.choices or {}
        materials = sorted((one for name in LISTS["parts"][:3] for one in choices[name]), key=lambda one: one.rank)
        finish = choices["finish"]
        life = materials[0].life_years if materials else models.Years()
        rest = "; ".join(one.choice for one in materials[1:LISTED])
        first = materials[0].choice if materials else "nothing passes"
        taken = [str(part.part), first, finish[0].choice if finish else NO_BAND, years(life.low, life.high)]
        rows.append([*taken, *([_money(materials[0]) if materials else NO_BAND] if priced else []), rest])
    header = ["part", "take", "finish", "life", *(["first cost; a year"] if priced else []), "or"]
    caption = "Life in years, where a model speaks. Each of the others holds too while the rest stays as taken."
    return Table(header, rows, caption=caption)


def _joint_table(joints: Sequence[models.JointOut]) -> Block:
    rows = []
    for joint in joints:
        choices = joint.choices or {}
        first = [choices[name][0].choice for name in LISTS["joints"] if choices[name]]
        rest = "; ".join(one.choice for one in choices["fastener"][1:LISTED])
        if first:
            rows.append([str(joint.joint), "; ".join(first), rest])
    if not rows:
        return Paragraph("No joint takes a fastener, glue or hardware.")
    return Table(["joint", "take", "or"], rows, caption="Sizes by the schedule: gatepost fasteners.")


def _ways(out: models.ReviewOut, part: str | None) -> list[Block]:
    """Details to change beside the material."""
    items = []
    every: list[models.PartOut | models.JointOut] = [*out.parts, *out.joints]
    for one in every:
        name = str(one.part if isinstance(one, models.PartOut) else one.joint)
        if one.way_out and part in (None, name):
            told = "; ".join(f"{c.column}: {c.to}" + (f" (now {c.from_})" if c.from_ else "") for c in one.way_out)
            items.append(f"{name}: {told}.")
        if one.blocked_by and part in (None, name):
            items.append(f"{name}: no change tried clears {', '.join(one.blocked_by)}; an expert must decide.")
    return [Heading("To change first"), Bullets(items)] if items else []


def _broken(made: Chosen, out: models.ReviewOut) -> list[Block]:
    found: list[Block] = []
    if made.broken:
        names = ", ".join(str(out.joints[row].joint) for row in made.broken)
        found.append(Paragraph(f"Nothing tried satisfies these joints: {names}."))
    if made.unproven:
        found.append(
            Paragraph("Too many parts hang together to prove that nothing cheaper exists; the best found stands.")
        )
    return found
