"""The shapes of the JSON of teach; docs/json.md is generated from them."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .models import BaseModel, BlockOut, Finding, Years

Side = Literal["written", "against", "third"]


class CostBand(BaseModel):
    """A band of cost, in the currency of the prices; null where an end is not known."""

    low: float | None = None
    likely: float | None = None
    high: float | None = None


class ModelLife(BaseModel):
    """What one model of life says of the part; a null high end means at least."""

    model: str
    low: float | None
    high: float | None


class FailsOut(BaseModel):
    """Something of the part that wears out."""

    what: str = Field(description="the wood, or the metal of a joint by its name")
    joint: str | None = Field(None, description="its name, where it is metal")
    years: Years
    lasts: str = Field("", description="the years in a layman's words")


class PriceOut(BaseModel):
    """The row of the price file that was taken."""

    item: str
    line: int
    unit: str


class YearOut(BaseModel):
    """What falls in one year; year 0 is the start, the others count at their end."""

    year: int
    bought: float | None = Field(description="null after the start where no life is published")
    care: float | None
    coats: float | None


class SpentOut(BaseModel):
    """All that was spent by the end of a year, with interest where it was asked for; null where not known."""

    year: int
    low: float | None
    likely: float | None
    high: float | None


class DueOut(BaseModel):
    """What falls due in which year after the start, by the likely life; null where not known."""

    coats: list[int] | None = None
    replaced: list[int] | None = None
    coat_every_years: float | None = Field(None, description="null without a finish too; then coats is empty")
    care_every_year: bool = False


class TurnOut(BaseModel):
    """What would turn the order of cost of the part as written and another side, both by the likely life."""

    other: Side
    cheaper: Side | None = Field(description="over the years wanted")
    first_cheaper: Side | None = Field(description="to buy")
    even_year: int | None = Field(description="from this year on the one dearer to buy has cost less; null: never")
    looked_to_years: float
    fall_pct: float | None = Field(
        description="fall of the price of the dearer material at which both cost the same over the years wanted"
    )


class TaughtSide(BaseModel):
    """The part in one material."""

    choice: str
    price: PriceOut | None = None
    finish_price: PriceOut | None = None
    material: float | None = Field(None, description="with the offcuts")
    labour: float | None = None
    finish: float | None = Field(None, description="the first coats")
    first_cost: float | None = Field(None, description="the three together")
    upkeep: list[YearOut] = Field(default_factory=list, description="by the likely life")
    spent: list[SpentOut] = Field(default_factory=list, description="by the years wanted; empty without prices")
    due: DueOut = Field(default_factory=DueOut)
    upkeep_cost_per_year: float | None = Field(None, description="care and coats over the years wanted, a year")
    life_years: Years = Field(default_factory=Years)
    lasts: str = Field("", description="the life in a layman's words")
    lasts_wanted: Literal["yes", "maybe", "no"] | None = Field(None, description="null where no life is known")
    models: list[ModelLife] = Field(default_factory=list)
    cost_per_year: CostBand = Field(default_factory=CostBand, description="of service")
    cost_over_life: CostBand = Field(default_factory=CostBand, description="over the years wanted, with replacements")
    why: list[str] = Field(default_factory=list, description="why the material lasts or fails, in plain words")
    fails_first: FailsOut | None = None
    fails: list[FailsOut] = Field(default_factory=list)
    worst: Finding | None = Field(None, description="the worst finding on the part or its joints")
    stop: int = 0
    fix: int = 0
    assumed: list[str] = Field(default_factory=list)
    blanks: dict[str, str] = Field(default_factory=dict, description="why a field is null")


class Comparison(BaseModel):
    """One part in two or three materials."""

    project: str
    part: str
    qty: int
    size: str = Field("", description="in the units that are printed")
    wanted_years: float
    currency: str | None = None
    interest_pct: float = 0
    written: TaughtSide
    against: TaughtSide
    third: TaughtSide | None = Field(None, description="where two choices are given")
    clearly_less_per_year: Side | None = Field(None, description="null where the bands overlap or an end is not known")
    clearly_less_over_life: Side | None = None
    least_to_buy: Side | None = Field(None, description="of those whose cost is known, where there are two or more")
    likely_least_over_life: Side | None = None
    turns: list[TurnOut] = Field(default_factory=list)
    place: list[str] = Field(default_factory=list, description="what the place does to the part, in plain words")
    changes: list[str] = Field(default_factory=list, description="what else would change the answer")
    drawn_to_years: float = Field(0, description="how far the picture of the lives reaches")
    notes: list[str] = Field(default_factory=list)


class TeachOut(BaseModel):
    """What `gatepost teach -o FILE.json` writes: the document as data, and the numbers it was made from."""

    title: str
    line: str
    blocks: list[BlockOut]
    comparison: Comparison
