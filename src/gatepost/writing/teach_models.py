"""The shapes of the JSON of teach; docs/json.md is generated from them."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .models import BaseModel, BlockOut, Finding, Years


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
    years: Years


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
    upkeep_cost_per_year: float | None = Field(None, description="care and coats over the years wanted, a year")
    life_years: Years = Field(default_factory=Years)
    models: list[ModelLife] = Field(default_factory=list)
    cost_per_year: CostBand = Field(default_factory=CostBand, description="of service")
    cost_over_life: CostBand = Field(default_factory=CostBand, description="over the years wanted, with replacements")
    fails_first: FailsOut | None = None
    fails: list[FailsOut] = Field(default_factory=list)
    worst: Finding | None = Field(None, description="the worst finding on the part or its joints")
    stop: int = 0
    fix: int = 0
    assumed: list[str] = Field(default_factory=list)
    blanks: dict[str, str] = Field(default_factory=dict, description="why a field is null")


class Comparison(BaseModel):
    """One part in two materials."""

    project: str
    part: str
    qty: int
    wanted_years: float
    currency: str | None = None
    interest_pct: float = 0
    written: TaughtSide
    against: TaughtSide
    clearly_less_per_year: Literal["written", "against"] | None = Field(
        None, description="null where the bands overlap or an end is not known"
    )
    clearly_less_over_life: Literal["written", "against"] | None = None
    notes: list[str] = Field(default_factory=list)


class TeachOut(BaseModel):
    """What `gatepost teach -o FILE.json` writes: the document as data, and the numbers it was made from."""

    title: str
    line: str
    blocks: list[BlockOut]
    comparison: Comparison
