"""The shapes of the JSON; docs/json.md is generated from them."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel as PydanticModel
from pydantic import ConfigDict, Field

CONTRACT = 1


class BaseModel(PydanticModel):
    """A shape that is built only when it is used, so that a text sheet does not pay for JSON."""

    model_config = ConfigDict(defer_build=True)


class Counts(BaseModel):
    """Findings by severity; accepted ones are not counted."""

    stop: int = 0
    fix: int = 0
    note: int = 0


class Rows(BaseModel):
    """Rows of the lists: given is read and set aside together."""

    given: int = 0
    read: int = 0
    set_aside: int = 0


class SiteOut(BaseModel):
    """The place whose climate is used."""

    name: str
    lat: float | None = None
    lon: float | None = None
    country: str | None = None
    height_m: float | None = None
    coast_km: float | None = None
    source: str = ""
    status: str = ""
    said: list[str] = Field(default_factory=list, description="what was assumed or taken from near")


class Finding(BaseModel):
    """One finding, with the facts behind it."""

    rule: str
    topic: str
    severity: Literal["stop", "fix", "note"]
    message: str
    remedy: str
    why: str
    source: str
    status: str
    explained_by: str | None = None
    rests_on: list[str] = Field(default_factory=list, description="blank cells, and what they were taken for")
    facts: dict[str, Any] = Field(default_factory=dict)


class Years(BaseModel):
    """A band: low, likely, high; null where none is known."""

    low: float | None = None
    likely: float | None = None
    high: float | None = None


class ChoiceOut(BaseModel):
    """One choice that no rule rejects while the rest stands at rank 1."""

    choice: str
    rank: int
    set: dict[str, str] = Field(default_factory=dict, description="columns of the list, and what to write there")
    cost: float | None = Field(None, description="at first, material, labour and finish, in the currency of the prices")
    cost_per_year: Years = Field(
        default_factory=Years, description="cost of a year of service, by the band of the life"
    )
    life_years: Years = Field(default_factory=Years)
    because: list[str] = Field(default_factory=list, description="rules that the row breaks as it is written")


class ChangeOut(BaseModel):
    """One change of the way out; `from` is what stands there now."""

    model_config = ConfigDict(defer_build=True, populate_by_name=True)
    column: str
    from_: str | None = Field(None, alias="from")
    to: str


class PartOut(BaseModel):
    """A part: its classes, its facts, its findings; from choose also its choices (species, treatment, panel, finish) and way out."""

    part: str | None
    exposure: str | None = None
    use_category: str | None = None
    use_class: str | None = None
    raised_by: list[str] = Field(default_factory=list)
    facts: dict[str, Any] = Field(default_factory=dict)
    findings: list[Finding] = Field(default_factory=list)
    choices: dict[str, list[ChoiceOut]] | None = Field(
        None, description="from choose: species, treatment, panel, finish"
    )
    way_out: list[ChangeOut] | None = Field(None, description="the smallest change that clears stops and fixes")
    blocked_by: list[str] | None = Field(None, description="rules that nothing tried clears")


class JointOut(BaseModel):
    """A joint: its parts, its facts, its findings; from choose also its choices (fastener, glue, hardware) and way out."""

    joint: str | None
    part_a: str | None = None
    part_b: str | None = None
    facts: dict[str, Any] = Field(default_factory=dict)
    findings: list[Finding] = Field(default_factory=list)
    choices: dict[str, list[ChoiceOut]] | None = Field(None, description="from choose: fastener, glue, hardware")
    way_out: list[ChangeOut] | None = Field(None, description="the smallest change that clears stops and fixes")
    blocked_by: list[str] | None = Field(None, description="rules that nothing tried clears")


class AcceptedOut(BaseModel):
    """A finding that the shop has decided to live with."""

    name: str
    reason: str
    finding: Finding


class ReviewOut(BaseModel):
    """What `gatepost review --format json` prints."""

    gatepost: str
    contract: int = CONTRACT
    project: str
    site: SiteOut | None = None
    scheme: Literal["us", "eu"] = "us"
    counts: Counts
    rows: Rows
    parts: list[PartOut] = Field(default_factory=list)
    joints: list[JointOut] = Field(default_factory=list)
    project_findings: list[Finding] = Field(default_factory=list)
    accepted: list[AcceptedOut] = Field(default_factory=list)
    said: list[str] = Field(default_factory=list, description="what was assumed, and how untidy files were read")


class MovementPart(BaseModel):
    """How one part moves; the plain field is the likely value, _low and _high its band."""

    part: str | None
    width_mm: float | None = None
    mc_low_pct: float | None = Field(None, description="driest month")
    mc_low_pct_low: float | None = None
    mc_low_pct_high: float | None = None
    mc_high_pct: float | None = Field(None, description="wettest month; above 30 there is free water")
    mc_high_pct_low: float | None = None
    mc_high_pct_high: float | None = None
    mc_build_pct: float | None = None
    swing_mm: float | None = None
    swing_mm_low: float | None = None
    swing_mm_high: float | None = None
    grow_mm: float | None = None
    grow_mm_low: float | None = None
    grow_mm_high: float | None = None
    shrink_mm: float | None = None
    shrink_mm_low: float | None = None
    shrink_mm_high: float | None = None
    gap_mm: float | None = None
    gap_mm_low: float | None = None
    gap_mm_high: float | None = None
    width_driest_mm: float | None = Field(None, description="width in the driest month, from width_mm on the day")
    width_wettest_mm: float | None = Field(None, description="the same in the wettest month")
    mc_mean_pct: float | None = Field(None, description="mean over the year")
    dry_weeks_low: float | None = Field(None, description="weeks for the stock to come near its service moisture")
    dry_weeks_high: float | None = None
    movement_from: str | None = None
    unknown_for: str | None = Field(None, description="what keeps the swing unknown")


class MovementOut(BaseModel):
    """What `gatepost movement --format json` prints."""

    site: SiteOut | None
    notes: list[str] = Field(default_factory=list)
    parts: list[MovementPart]


class RuleOut(BaseModel):
    """One rule."""

    rule: str
    topic: str
    severity: str
    scheme: str
    message: str
    remedy: str
    why: str
    source: str
    status: str


class RulesOut(BaseModel):
    """What `gatepost rules --format json` prints."""

    rules: list[RuleOut]


class LookupOut(BaseModel):
    """What `gatepost lookup --format json` prints."""

    table: str
    rows: list[dict[str, str | None]]


class MonthOut(BaseModel):
    """One month of a place."""

    month: int
    t_c: float | None
    rh_pct: float | None
    rain_days: float | None
    emc_pct: float | None
    soft: bool = Field(False, description="below freezing or above 90 % humidity the moisture content is soft")


class MetalInAir(BaseModel):
    """What the air of a place does to one metal; losses where the deposits are known."""

    metal: str
    corrosivity: str | None
    first_year: float | None = Field(None, description="loss in the first year")
    unit: str = Field(description="of the loss: µm, or g/m² for aluminium")


class SitePage(BaseModel):
    """What `gatepost site --format json` prints."""

    site: str
    lat: float | None
    lon: float | None
    months: list[MonthOut]
    scheffer_index: float | None
    decay_zone: str | None
    corrosivity: str | None
    corrosivity_from: str | None = None
    metals: list[MetalInAir] = Field(default_factory=list)
    t_year_c: float | None = None
    rh_year_pct: float | None = None
    so2_mg_m2_d: float | None = None
    chloride_mg_m2_d: float | None = None
    height_m: float | None = None
    coast_km: float | None = None
    source: str = ""
    status: str = ""
    said: list[str] = Field(default_factory=list)


class BlockOut(BaseModel):
    """One block of a document; `kind` names which of the other fields are filled."""

    kind: Literal["heading", "paragraph", "table", "entry", "bullets", "figure"]
    text: str | None = None
    level: int | None = None
    title: str | None = None
    caption: str | None = None
    header: list[str] | None = None
    rows: list[list[str]] | None = None
    lines: list[list[str]] | None = None
    items: list[str] | None = None
    description: str | None = Field(None, description="a figure in words; its drawing is left out")


PAGES: tuple[type[BaseModel], ...] = (ReviewOut, MovementOut, RulesOut, LookupOut, SitePage)


class Written(BaseModel):
    """The fastener of a joint as the shop wrote it."""

    kind: str | None = None
    metal: str | None = None
    coating: str | None = None
    size: str | None = None
    count: float | None = None


class Avoided(BaseModel):
    """A fastener that costs less, and the rule that rejects it here."""

    kind: str
    metal: str
    coating: str
    rule: str


class FastenerOut(BaseModel):
    """What to take for one joint. A null has its reason in `blanks`, under its own name."""

    joint: str | None
    qty: int
    part_a: str | None
    part_b: str | None
    method: str | None
    written: Written
    kind: str | None = None
    metal: str | None = None
    coating: str | None = None
    size: str | None = None
    length_mm: float | None = None
    diameter_mm: float | None = Field(None, description="of the shank")
    penetration_mm: float | None = Field(None, description="in the part that holds")
    hold: str | None = Field(None, description="full, part (seven tenths of the full penetration), through, none")
    head: str | None = None
    count: int | None = Field(None, description="in one joint")
    total: int | None = Field(None, description="in all such joints, without a margin")
    in_a_row: str | None = Field(None, description="yes: along the joint; no: across a crossing")
    spacing_mm: float | None = None
    edge_mm: float | None = Field(None, description="least distance to an edge")
    end_mm: float | None = Field(None, description="least distance to an end")
    bore: str | None = Field(None, description="never, near ends, always")
    pilot_mm: float | None = None
    pilot_mm_low: float | None = None
    pilot_mm_high: float | None = None
    clearance_mm: float | None = Field(None, description="hole for the shank in the part that is fastened through")
    slot_needed: str | None = None
    slot_mm: float | None = Field(None, description="length of the slots; 0 where none is needed")
    withdrawal_n: float | None = Field(None, description="guide value for one fastener; no structural design")
    lateral_n: float | None = Field(None, description="guide value for one fastener; no structural design")
    first_rust_years: Years = Field(default_factory=Years, description="until the zinc is gone")
    metal_life_years: Years = Field(default_factory=Years, description="until a tenth of the shank is gone")
    avoid: list[Avoided] = Field(default_factory=list)
    still: list[str] = Field(default_factory=list, description="rules that every choice here breaks")
    because: list[str] = Field(default_factory=list, description="rules that reject what costs less")
    blanks: dict[str, str] = Field(default_factory=dict, description="why a field is null")


class FastenersOut(BaseModel):
    """What `gatepost fasteners --format json` prints."""

    notes: list[str]
    joints: list[FastenerOut]
