"""Movement of the parts: the table that the movement verb and the spec sheet share, and its JSON."""

from __future__ import annotations

import numpy as np

from ..deriving import Facts
from ..deriving.reasons import Reasons
from ..units import print_size
from . import models
from .blocks import Block, Document, Heading, Paragraph, Table
from .review_json import site_out
from .values import plain_value

RAIN_ASSUMED = "Moisture of parts in the rain is a model with assumptions, not a measurement: read the band, not the figure. Above 30 % there is free water, and the size no longer changes."
"""Said wherever moisture is shown."""


def movement_out(facts: Facts) -> models.MovementOut:
    """Movement of every wooden part as JSON."""
    reasons = Reasons(facts.library, *facts.encoded)
    parts = []
    for row, values in enumerate(facts.parts.to_dict("records")):
        if values["is_wood"] == "no":
            continue
        fields = {name: plain_value(values[name]) for name in models.MovementPart.model_fields if name in values}
        unknown = _unknown_for(reasons, facts, row) if fields["swing_mm"] is None else None
        parts.append(models.MovementPart(**fields, unknown_for=unknown))
    return models.MovementOut(site=site_out(facts.project.site), notes=movement_notes(facts), parts=parts)


def _unknown_for(reasons: Reasons, facts: Facts, row: int) -> str:
    if facts.parts["worst_exposure"].iat[row] == "indoor":
        return "the climate indoors is not known"
    if np.isnan(facts.project.climate.rain_days).any() and facts.parts["worst_exposure"].iat[row] != "sheltered":
        return "the rain days of the place are not known"
    modified = facts.library.table("modified_wood")
    kind = facts.parts["treatment_kind"].iat[row]
    if kind in modified.index and modified.words("moves_as_raw")[modified.index[kind]] == "no":
        return "modified wood takes up less water than raw wood, and no figure was read: ask its maker"
    register = facts.library.register
    roots = reasons.roots("parts", "swing_mm", row)
    names = [register.facts[over][name].written or register.facts[over][name].meaning for over, name, _ in roots]
    return (
        ", ".join(dict.fromkeys(names))
        if names != [register.facts["parts"]["swing_mm"].meaning]
        else "no shrinkage figure of this material in the tables"
    )


def movement_notes(facts: Facts) -> list[str]:
    """What must be known to read the figures."""
    notes = [
        RAIN_ASSUMED,
        "Figures are for the width across the grain: the likely value, and behind it the band from a dry year and a board that moves little to a wet year and a board that moves much.",
    ]
    if facts.parts["mc_build_pct"].isna().any():
        notes.append(
            "Growth, shrinkage and gap need the moisture on the day of assembly: give --built MONTH, `work` in the project, or a moisture column."
        )
    elif facts.parts["moisture_pct"].isna().any():
        notes.append(
            "Where no moisture is written for a part, it is taken to be in balance with the air of the day of assembly."
        )
    return notes + list(facts.project.site.said if facts.project.site else ())


def movement_document(facts: Facts, units: str) -> Document:
    """Movement to be read."""
    out = movement_out(facts)
    document = Document(f"{facts.project.name}: seasonal movement", f"{out.site.name if out.site else 'no site given'}")
    return document.add(*movement_blocks(out, units), *(Paragraph(note) for note in out.notes))


def movement_blocks(out: models.MovementOut, units: str) -> list[Block]:
    """Widths through the year, and the stock that should dry first."""
    header = ["part", "on the day", "driest month", "wettest month", "moves in a year", "gap to leave", "not known for"]
    rows = [_movement_row(part, units) for part in out.parts]
    if not any(row[-1] for row in rows):
        header, rows = header[:-1], [row[:-1] for row in rows]
    caption = "Width of one board and its moisture content, on the day of assembly and in the driest and wettest month."
    table = Table(header, rows, right=tuple(range(1, 6)), caption=caption)
    return [table, *drying_blocks(out, units)]


def _movement_row(part: models.MovementPart, units: str) -> list[str]:
    times = (
        _width(part.width_mm, part.mc_build_pct, units),
        _width(part.width_driest_mm, part.mc_low_pct, units),
        _width(part.width_wettest_mm, part.mc_high_pct, units),
    )
    bands = _band(part, "swing_mm", units), _band(part, "gap_mm", units)
    return [str(part.part), *times, *bands, part.unknown_for or ""]


def drying_blocks(out: models.MovementOut, units: str) -> list[Block]:
    """Boards that are wetter than they will be in service, how long they take, and what they lose."""
    wet = [part for part in out.parts if part.dry_weeks_high and part.dry_weeks_high >= 1]
    rows = [
        [
            str(part.part),
            _percent(part.mc_build_pct),
            _percent(part.mc_mean_pct),
            weeks(part),
            _band(part, "shrink_mm", units),
        ]
        for part in wet
    ]
    if not rows:
        return []
    header = ["part", "now", "settles near", "weeks to dry", "shrinks by the driest month"]
    caption = "From a single board in free air to a slow stack, both under cover; a model, so weigh or meter a board."
    return [Heading("Let these dry first"), Table(header, rows, right=(1, 2, 3, 4), caption=caption)]


def weeks(part: models.MovementPart) -> str:
    """Weeks to dry as a band of whole weeks."""
    low, high = (round(value or 0) for value in (part.dry_weeks_low, part.dry_weeks_high))
    return f"up to {high}" if low == 0 else f"{low} to {high}" if low != high else f"{high}"


def _width(width_mm: float | None, mc_pct: float | None, units: str) -> str:
    texts = [print_size(width_mm, units)] if width_mm is not None else []
    texts += [f"at {mc_pct:.0f}\u00a0%"] if mc_pct is not None else []
    return " ".join(texts) or "–"


def _percent(value: float | None) -> str:
    return "–" if value is None else f"{value:.0f} %"


def _band(part: models.MovementPart, name: str, units: str) -> str:
    return band(getattr(part, name), getattr(part, f"{name}_low"), getattr(part, f"{name}_high"), units)


def band(likely: float | None, low: float | None, high: float | None, units: str) -> str:
    """The likely value with low and high behind it; one alone where all print alike."""
    if likely is None or low is None or high is None:
        return "–"
    shown, first, last = (print_size(value, units) for value in (likely, low, high))
    if first == last or last.startswith("under"):
        return last
    return f"{shown} (up to {last})" if first.startswith(("under", "0")) else f"{shown} ({first} to {last})"
