"""The spec sheet as a document: place, parts, joints, work, safety, findings, sources, shopping list."""

from __future__ import annotations

from datetime import date
from typing import Any, Literal

from .. import __version__
from ..planning import FINDINGS, Bench, Used
from ..review import Review
from . import models, plan_models
from .blocks import Block, Bullets, Document, Heading, Paragraph, Table
from .choose_sheet import add_ways
from .fastener_sheet import fasteners_out
from .findings import known_how
from .joints_sheet import joint_blocks
from .moisture_picture import figure
from .movement_sheet import movement_out
from .open_findings import Numbers, finding_blocks, safety_blocks
from .parts_sheet import part_blocks, wood_blocks
from .plan_sheet import cut_blocks, glue_finish_blocks, lowered, panel_blocks, shopping_blocks, step_blocks
from .review_json import as_json
from .review_sheet import accepted_blocks, count_line, head_line
from .values import plain_value, show

CAUTION = "This sheet advises on durability. It is no structural design and takes the place of no label, local code or licensed practice; where they differ from it, they win."
PAPERS: dict[str, Literal["A4", "Letter"]] = {"us": "Letter", "eu": "A4"}
"""The paper that the scheme's shops print on."""


def document(made: Bench, units: str, day: date) -> Document:
    """The whole sheet, in the order that the bench works through it."""
    review, work = made.review, made.work
    project, numbers = review.facts.project, {one.key: number for number, one in enumerate(made.sources, 1)}
    out = Document(f"{project.name}: spec sheet", f"{head_line(review)}; {day.isoformat()}; gatepost {__version__}")
    out.day, out.paper = day, PAPERS[project.scheme]
    out.add(Paragraph(CAUTION), Paragraph(count_line(review)), *_place(review), *_year(made, units), *_assumed(review))
    out.add(*part_blocks(review, units), *wood_blocks(review, units), *panel_blocks(review.facts, units))
    out.add(*joint_blocks(made, units), *glue_finish_blocks(work, units), *step_blocks(made, units))
    out.add(*cut_blocks(work), *safety_blocks(made, units, numbers), *finding_blocks(made, units, numbers))
    out.add(*lowered(accepted_blocks(review, units)), *_sources(made, numbers))
    return out.add(*shopping_blocks(work, units))


_DEPOSITS = (
    *("so2_mg_m2_d", "chloride_mg_m2_d", "t_year_c", "rh_year_pct"),
    *("corrosivity_steel", "corrosivity_zinc", "corrosivity_copper", "corrosivity_aluminium"),
)
"""Figures of the place that are shown where the deposits are known."""
_FIGURES = (
    *("scheffer_index", "decay_zone", "corrosivity", "corrosivity_from"),
    *("rain_days_year", "coast_km", "height_m"),
)


def _place(review: Review) -> list[Block]:
    whole = {str(name): plain_value(value) for name, value in review.facts.whole.iloc[0].items()}
    if review.facts.project.site is None:
        return [Heading("Place"), Paragraph("No site is given, so nothing that depends on the climate is known.")]
    figures = _FIGURES + (_DEPOSITS if whole["so2_mg_m2_d"] is not None else ())
    register = review.facts.library.register.facts["project"]
    rows = [[register[name].meaning, show(register[name], whole[name], "mm")] for name in figures]
    table = Table(["figure", "value"], rows, caption=str(whole["site_name"]))
    return [Heading("Place"), table, *_air_said(whole, review)]


def _year(made: Bench, units: str) -> list[Block]:
    """The year at the place as a picture; nothing where the climate is not known."""
    drawing = figure(made.year, units)
    return [drawing] if drawing else []


def _air_said(whole: dict[str, Any], review: Review) -> list[Block]:
    """What the years of metal rest on, where the deposits are known."""
    if whole["zinc_rate_um_y"] is None:
        return []
    times = review.facts.library.table("constants").number("response_band_times", "value")
    said = f"The years of metal take the loss that the deposits give, {times:g} times either way (recalled)."
    return [Paragraph(said)]


def _assumed(review: Review) -> list[Block]:
    """What was taken for the project, and for cells that are blank and that a finding rests on."""
    blanks = list(dict.fromkeys(text for one in review.found for text in one.rests_on))
    items = [f"{text[:1].upper()}{text[1:]}." for text in review.facts.project.said]
    items += [f"Where a cell is blank: {'; '.join(sorted(blanks))}."] if blanks else []
    return [Heading("Assumed", 3), Bullets(items)] if items else []


def _sources(made: Bench, numbers: Numbers) -> list[Block]:
    """The works by the numbers that the findings name, what each is used for, and how it is known."""
    works = made.review.facts.library.sources
    rows = [[str(numbers[one.key]), _used(works[one.key].work, one), known_how(one.status)] for one in made.sources]
    blocks: list[Block] = [Heading("Sources")]
    if rows:
        blocks.append(Table(["no.", "work and edition; figures taken from it", "known"], rows, caption=_KNOWN))
    said = f"Common practice, no source: {', '.join(made.practice)}." if made.practice else ""
    return [*blocks, *([Paragraph(said)] if said else [])] if rows or said else []


_KNOWN = (
    "The findings name these works by number. Read: in the work itself or a faithful copy. Quoted: where another work repeats it. Recalled: from memory, so check it "
    "before you lean on it. The weakest of its uses counts. gatepost lookup sources tells what of each was read."
)


def _used(work: str, one: Used) -> str:
    figures = ", ".join(use for use in one.uses if use != FINDINGS)
    return f"{work}; {figures}" if figures else work


def as_data(made: Bench, units: str, day: date) -> plan_models.SpecOut:
    """The sheet as data, and the numbers it was made from."""
    sheet = document(made, units, day)
    review = as_json(made.review, units)
    add_ways(review, made.ways, made.review.facts)
    return plan_models.SpecOut(
        title=sheet.title,
        line=sheet.line,
        blocks=[block_out(block) for block in sheet.blocks],
        review=review,
        place={str(name): plain_value(value) for name, value in made.review.facts.whole.iloc[0].items()},
        year=plan_models.year_out(made),
        movement=movement_out(made.review.facts),
        fasteners=fasteners_out(made.work.schedule),
        work=plan_models.work_out(made),
    )


def block_out(block: Block) -> models.BlockOut:
    """A block as data."""
    fields = dict(block.__dict__)
    if "lines" in fields:
        fields |= {"lines": [list(line) for line in fields["lines"]], "items": fields.pop("beneath")}
    for name in ("right", "measured", "even", "svg"):
        fields.pop(name, None)
    return models.BlockOut(kind=type(block).__name__.lower(), **fields)
