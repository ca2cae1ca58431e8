"""The JSON of the spec sheet: the document, and the numbers that it was made from."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np
from pydantic import Field

from ..planning import Bench
from .models import BaseModel, BlockOut, FastenersOut, MovementOut, ReviewOut


class YearOut(BaseModel):
    """Moisture content of a plain board at the place by month [%]; null where the climate is not known."""

    species: str
    thickness_mm: float
    width_mm: float
    sheltered: list[float | None]
    rained_on: list[float | None]
    low: list[float | None] = Field(description="driest reading of the sheltered board")
    high: list[float | None] = Field(description="wettest reading of the board in the rain")


class CutBoard(BaseModel):
    """So many boards of one stock length, each cut into the same pieces."""

    stock_mm: float
    count: int
    pieces_mm: list[float]


class BoardsOut(BaseModel):
    """Boards of one material and section; `least_mm` is what no plan can do with less."""

    material: dict[str, Any]
    thickness_mm: float
    width_mm: float
    pieces: int
    spare: int
    bought_mm: float
    least_mm: float
    boards: list[CutBoard]
    too_long_mm: list[float]


class SheetsOut(BaseModel):
    """Sheets of one panel; `least` is what no layout can do with fewer."""

    material: dict[str, Any]
    thickness_mm: float
    pieces: int
    sheet_mm: list[float] | None = Field(description="length and width")
    count: int
    least: int
    too_large_mm: list[list[float]]


class FastenersBought(BaseModel):
    """One sort of fastener; `box` in pieces or grams, by `unit`."""

    kind: str
    size: str
    metal: str
    coating: str
    needed: int
    with_spare: int
    box: float
    unit: str
    pieces_a_box: int
    boxes: int


class CoatsOut(BaseModel):
    """Coats of one finish on like faces; litres low and high for all of them, for one coat where their number is null."""

    finish: str
    texture: str
    parts: list[str]
    area_m2: float
    coats: int | None
    litres: tuple[float, float] | None


class TinOut(BaseModel):
    """One finish to buy: area of all its coats, litres low and high with the spare."""

    finish: str
    area_m2: float
    counted: bool = Field(description="false where a number of coats is not written and one was taken")
    litres: tuple[float, float] | None


class GlueOut(BaseModel):
    """Glue of one kind; grams low and high with the spare."""

    glue: str
    joints: list[str]
    area_m2: float | None
    grams: tuple[float, float] | None


class CutOut(BaseModel):
    """One sort of opening in treated stock; `count` in all such pieces."""

    part: str
    joint: str | None
    opened: str
    count: int | None
    got: str = Field(description="what the list says it got")
    brush_on: str


class StepOut(BaseModel):
    """One step of the work and the rows that ask for it."""

    stage: str
    step: str
    rows: list[str]
    source: str


class CareOut(BaseModel):
    """One rule of safety that found something, and when it matters."""

    number: int
    stage: str
    rule: str


class SlotsOut(BaseModel):
    """Joints slotted alike; places from the middle of the board across its grain; `fixed` counts from 0."""

    joints: list[str]
    boards: list[str]
    width_mm: float
    places_mm: list[float]
    fixed: int
    slot_mm: float
    hole_mm: float | None


class WorkOut(BaseModel):
    """What to buy, where glue and finish go, cuts to treat, order of work, safety by stage."""

    boards: list[BoardsOut]
    sheets: list[SheetsOut]
    pieces: list[str]
    unsized: list[str] = Field(description="parts that are not counted, for a size is not written")
    fasteners: list[FastenersBought]
    coats: list[CoatsOut]
    tins: list[TinOut]
    glues: list[GlueOut]
    cuts: list[CutOut]
    steps: list[StepOut]
    safety: list[CareOut]
    slots: list[SlotsOut]


class SpecOut(BaseModel):
    """What `gatepost spec -o FILE.json` writes: the document as data, and the numbers it was made from."""

    title: str
    line: str
    blocks: list[BlockOut]
    review: ReviewOut
    place: dict[str, Any] = Field(description="facts of the project as a whole")
    year: YearOut
    movement: MovementOut
    fasteners: FastenersOut
    work: WorkOut


def year_out(made: Bench) -> YearOut:
    """The year at the place as JSON."""
    months = {
        name: [None if np.isnan(value) else round(float(value), 2) for value in getattr(made.year, name)]
        for name in ("sheltered", "rained_on", "low", "high")
    }
    return YearOut(
        species=made.year.species, thickness_mm=made.year.thickness_mm, width_mm=made.year.width_mm, **months
    )


def work_out(made: Bench) -> WorkOut:
    """The plan of work as JSON."""
    work, facts = made.work, made.review.facts
    parts, joints = ([str(name) for name in facts.parts["part"]], [str(name) for name in facts.joints["joint"]])
    names = {"parts": parts, "joints": joints, "project": [facts.project.name]}
    return WorkOut(
        **_wood(made, parts),
        fasteners=[FastenersBought(**asdict(one)) for one in work.fasteners],
        coats=[CoatsOut(**_named(one, "parts", parts)) for one in work.coats],
        tins=[TinOut(**asdict(one)) for one in work.tins],
        glues=[GlueOut(**_named(one, "joints", joints)) for one in work.glues],
        cuts=[_cut(made, at, parts, joints) for at in range(len(work.cuts))],
        steps=[
            StepOut(
                stage=one.step.stage,
                step=one.step.text,
                rows=[names[one.step.over][row] for row in one.rows],
                source=one.step.source,
            )
            for one in work.steps
        ],
        safety=[CareOut(number=one.number, stage=one.stage, rule=one.found[0].rule.rule.rule) for one in made.cares],
        slots=[SlotsOut(**asdict(one)) for one in made.slots],
    )


def _wood(made: Bench, parts: list[str]) -> dict[str, Any]:
    wood = made.work.wood
    boards = [
        BoardsOut(
            **{name: getattr(one, name) for name in ("material", "thickness_mm", "width_mm", "pieces", "spare")},
            bought_mm=one.plan.bought_mm,
            least_mm=one.plan.least_mm,
            boards=[CutBoard(**asdict(board)) for board in one.plan.boards],
            too_long_mm=list(one.plan.too_long),
        )
        for one in wood.boards
    ]
    sheets = [
        SheetsOut(
            **{name: getattr(one, name) for name in ("material", "thickness_mm", "pieces")},
            sheet_mm=list(one.plan.sheet) if one.plan.sheet else None,
            count=one.plan.count,
            least=one.plan.least,
            too_large_mm=[list(size) for size in one.plan.too_large],
        )
        for one in wood.sheets
    ]
    return {
        "boards": boards,
        "sheets": sheets,
        "pieces": [parts[at] for at in wood.pieces],
        "unsized": [parts[at] for at in wood.unsized],
    }


def _named(one: Any, name: str, names: list[str]) -> dict[str, Any]:
    """A plan's fields with the names of its rows in place of their numbers."""
    fields = asdict(one)
    return fields | {name: [names[row] for row in fields.pop("rows")]}


def _cut(made: Bench, at: int, parts: list[str], joints: list[str]) -> CutOut:
    cut = made.work.cuts[at]
    got, advised = made.work.brushes[cut.part]
    joint = joints[cut.joint] if cut.joint >= 0 else None
    return CutOut(part=parts[cut.part], joint=joint, opened=cut.opened, count=cut.each, got=got, brush_on=advised)
