"""The spec sheet as a document: place, parts, joints, safety, findings, sources."""

from __future__ import annotations

from datetime import date
from typing import Any, Literal

from .. import __version__
from ..choosing import schedule
from ..deriving.board_year import board_year
from ..library import Column
from ..planning import Work, plan
from ..review import Review
from ..units import print_size, printed_number
from . import models
from .blocks import Block, Bullets, Document, Entry, Figure, Heading, Measured, Paragraph, Table
from .findings import cited, notes
from .movement_sheet import RAIN_ASSUMED, movement_blocks, movement_out
from .panel_picture import pictures
from .plan_sheet import (
    cut_blocks,
    fastener_blocks,
    glue_finish_blocks,
    lowered,
    panel_blocks,
    shopping_blocks,
    step_blocks,
)
from .review_json import as_json
from .review_sheet import accepted_blocks, count_line, finding_blocks, head_line, said_blocks
from .values import NO_BAND, filled, plain_value, show, years

_PART_COLUMNS = ("qty", "thickness_mm", "width_mm", "length_mm")
CAUTION = "This sheet advises on durability. It is no structural design and takes the place of no label, local code or licensed practice; where they differ from it, they win."


def document(review: Review, units: str, day: date) -> Document:
    """The whole sheet, in the order that the bench works through it."""
    project = review.facts.project
    work = plan(review.facts, schedule(review.facts, review.judgement.rules))
    out = Document(f"{project.name}: spec sheet", f"{head_line(review)}; {day.isoformat()}; gatepost {__version__}")
    out.day, out.paper = day, PAPERS[project.scheme]
    out.add(Paragraph(CAUTION), Paragraph(count_line(review)), *_place(review), *_board(review, units))
    out.add(Heading("Parts"), _parts(review, units), Heading("Treatment and class"), _classes(review, units))
    out.add(Heading("Movement across the width"), *_movement(review, units), Paragraph(RAIN_ASSUMED))
    out.add(Heading("How long the wood lasts"), *_life(review), *_index(review), *panel_blocks(review.facts, units))
    out.add(*(Figure(svg, f"Panel: {name}", DRAWN) for name, svg in pictures(review.facts, units)))
    if len(review.facts.joints):
        out.add(Heading("Joints as written"), _joints(review))
        out.add(Heading("Fasteners to take"), *fastener_blocks(work, units))
    out.add(*glue_finish_blocks(work, units), *step_blocks(work, units), *cut_blocks(work), *_safety(review, units))
    out.add(Heading("Findings still open"), *lowered(finding_blocks(review, units)))
    unknown = notes(review)
    if unknown:
        out.add(
            Heading("Not known", 3),
            *(Entry("Not known", note.message, [("To do", note.remedy), ("Waits", note.why)]) for note in unknown),
        )
    out.add(*accepted_blocks(review, units), *said_blocks(review), *_sources(review, work))
    return out.add(*shopping_blocks(work, units))


DRAWN = "The panel seen from its better face, the face grain as an arrow, sealed edges thick; the table of panels says the same."
PAPERS: dict[str, Literal["A4", "Letter"]] = {"us": "Letter", "eu": "A4"}
"""The paper that the scheme's shops print on."""


_DEPOSITS = (
    *("so2_mg_m2_d", "chloride_mg_m2_d", "t_year_c", "rh_year_pct"),
    *("corrosivity_steel", "corrosivity_zinc", "corrosivity_copper", "corrosivity_aluminium"),
)
"""Figures of the place that are shown where the deposits are known."""


def _place(review: Review) -> list[Block]:
    whole = {str(name): plain_value(value) for name, value in review.facts.whole.iloc[0].items()}
    if review.facts.project.site is None:
        return [Heading("Place"), Paragraph("No site is given, so nothing that depends on the climate is known.")]
    figures: tuple[str, ...] = (
        "scheffer_index",
        "decay_zone",
        "corrosivity",
        "corrosivity_from",
        "rain_days_year",
        "coast_km",
        "height_m",
    )
    if whole["so2_mg_m2_d"] is not None:
        figures += _DEPOSITS
    register = review.facts.library.register.facts["project"]
    rows = [[register[name].meaning, show(register[name], whole[name], "mm")] for name in figures]
    table = Table(["figure", "value"], rows, caption=str(whole["site_name"]))
    return [Heading("Place"), table, *_air_said(whole, review)]


def _board(review: Review, units: str) -> list[Block]:
    """The year at the place as a picture; nothing where the climate is not known."""
    from .moisture_picture import figure

    drawing = figure(board_year(review.facts.project.climate, review.facts.library), units)
    return [drawing] if drawing else []


def _air_said(whole: dict[str, Any], review: Review) -> list[Block]:
    """What the years of metal rest on, where the deposits are known."""
    if whole["zinc_rate_um_y"] is None:
        return []
    times = review.facts.library.table("constants").number("response_band_times", "value")
    said = f"The years of metal take the loss that the deposits give, {times:g} times either way (recalled)."
    return [Paragraph(said)]


def _records(review: Review, over: str) -> list[dict[str, Any]]:
    frame = review.facts.parts if over == "parts" else review.facts.joints
    return [{str(name): plain_value(value) for name, value in row.items()} for row in frame.to_dict("records")]


def _parts(review: Review, units: str) -> Table:
    header = ["part", "qty", "material", "thickness", "width", "length", "stands in", "finish"]
    records, rows = _records(review, "parts"), []
    for row in records:
        sizes = ["" if row[name] is None else print_size(row[name], units) for name in _PART_COLUMNS[1:]]
        rows.append(
            [
                str(row["part"]),
                str(row["qty"]),
                row["material"] or row["species"] or "",
                *sizes,
                row["exposure"] or "not written",
                row["finish"] or "none",
            ]
        )
    measured = {
        column: Measured(units, [printed_number(row[name], units) for row in records])
        for column, name in enumerate(_PART_COLUMNS[1:], 3)
        if units != "both"
    }
    caption = "Sizes as bought; nominal lumber sizes are shown as actual ones."
    return Table(header, rows, right=(1, 3, 4, 5), caption=caption, measured=measured)


def _classes(review: Review, units: str) -> Table:
    register = review.facts.library.register.facts["parts"]
    scheme = review.facts.project.scheme
    name = "use_category" if scheme == "us" else "use_class"
    header = [
        "part",
        "use category" if scheme == "us" else "use class",
        "raised by",
        "wood and its heartwood class",
        "treatment",
        "retention needed",
        "preservative must enter",
        "meets it",
    ]
    rows = []
    for row in _records(review, "parts"):
        if row["is_wood"] == "no":
            continue
        wood = _wood(row, register, units)
        treatment = (
            "none"
            if row["treatment_kind"] == "none"
            else f"{row['preservative'] or row['treatment_kind']}, {row['treatment_category'] or 'grade not known'}"
        )
        needed = (
            ""
            if row["retention_needed_kg_m3"] is None
            else show(register["retention_needed_kg_m3"], row["retention_needed_kg_m3"], units)
        )
        meets = "" if row["treatment_kind"] == "none" else row["treatment_meets"] or "not known"
        rows.append(
            [
                str(row["part"]),
                row[name] or "not known",
                row["raised_by"] or "",
                wood,
                treatment,
                needed,
                _depth(row),
                meets,
            ]
        )
    return Table(
        header,
        rows,
        caption="Heartwood class 1 lasts longest, 5 least; sapwood counts as 5 whatever the wood. The retention is that of southern pine. "
        + _DEPTHS[scheme],
    )


_DEPTHS = {
    "us": "The depth is that of AWPA T1 for sawn wood, recalled and not read.",
    "eu": "NP is the penetration class of EN 351-1, as the Nordic classes use it.",
}
_CORES = {"yes": "inside stays bare", "maybe": "heartwood may stay bare"}


def _depth(row: dict[str, Any]) -> str:
    """How deep preservative must go for the place, and whether the inside of the stick stays bare."""
    return "; ".join(filter(None, [row["penetration_needed"], _CORES.get(row["untreated_core"])]))


def _wood(row: dict[str, Any], register: dict[str, Column], units: str) -> str:
    """Species, part of the tree and heartwood class of lumber; product and grade of a panel."""
    if row["species"] is None and row["product"] not in (None, "lumber"):
        return f"{row['product']} {row['grade'] or 'of unknown grade'}"
    name = row["species"] or "wood not known"
    heart = show(register["heart_class"], row["heart_class"], units)
    if row["wood_part"] == "mixed":
        return f"{name}: heart {heart}, may hold sapwood (5)"
    return f"{name}, sapwood: 5" if row["wood_part"] == "sap" else f"{name}, {row['wood_part']}: {heart}"


def _movement(review: Review, units: str) -> list[Block]:
    return lowered(movement_blocks(movement_out(review.facts), units))


_MODELS = {
    "stakes": "stakes in the ground",
    "fdp": "FD P 20-651 (2011)",
    "as5604": "AS 5604 (2005)",
    "crossbrace": "cross-brace test",
    "treated": "treated posts",
    "dose": "dose-response (2013)",
}


def _life(review: Review) -> list[Block]:
    """The models side by side, and their envelope."""
    rows = []
    for row in _records(review, "parts"):
        if row["life_known"] == "yes":
            bands = [years(row[f"life_{name}_low_years"], row.get(f"life_{name}_high_years")) for name in _MODELS]
            apart = "models differ more than twofold" if row["models_disagree"] == "yes" else ""
            envelope = years(row["service_life_low_years"], row["service_life_high_years"])
            said = [f"{title} {band}" for title, band in zip(_MODELS.values(), bands, strict=True) if band != NO_BAND]
            wanted = years(row["life_years"], row["life_years"])
            rows.append([str(row["part"]), "; ".join(said), envelope, wanted, apart])
    note = (
        "Bands in years, never a single year; 100 stands for 100 or more. Stakes are of 50 x 50 mm; FD P 20-651 speaks of "
        "sapwood-free wood; the dose-response figures are recalled and tell the onset of decay; the AS 5604 classes of most "
        "woods are recalled, those of the others and the years read only where another page quotes them. A test that ended while its "
        "wood still stood says only at least. Most treated wood, and woods that no model names, have no published band here."
    )
    if not rows:
        return [Paragraph("No published model speaks of these parts. " + note)]
    header = ["part", "by model", "together", "wanted", "note"]
    if not any(row[-1] for row in rows):
        header, rows = header[:-1], [row[:-1] for row in rows]
    return [Table(header, rows, right=(2, 3)), Paragraph(note)]


_EXPECTED = {"yes": "expected", "no": "not expected", "near": "near the limit"}


def _index(review: Review) -> list[Block]:
    """The exposure-index guideline beside the bands: exposure against resistance; nothing where it speaks of no part."""
    register = review.facts.library.register.facts["parts"]
    rows = []
    for row in _records(review, "parts"):
        if row["index_known"] == "yes":
            low, likely, high = (row[f"design_exposure_index{end}"] for end in ("_low", "", "_high"))
            stands = show(register["resistance_index"], row["resistance_index"], "mm")
            answer = _EXPECTED[row["index_accepted"]]
            rows.append([str(row["part"]), _ends(likely, low, high), stands, answer, row["exposure_index_kind"]])
    if not rows:
        return []
    header = ["part", "exposure index", "resistance index", "sound for 30 years", "place factor"]
    return [Table(header, rows, right=(1, 2)), Paragraph(_INDEX_NOTE)]


def _ends(likely: float, low: float, high: float) -> str:
    return f"{likely:.1f}" if low == high else f"{likely:.1f} ({low:.1f} to {high:.1f})"


_INDEX_NOTE = (
    "Exposure-index guideline, Swedish edition (2012), above ground in the rain: no decay is expected to begin within 30 "
    "years where the exposure index, the cost of a failure counted in, stays below the resistance index. Its numbers are "
    "recalled but for the zones and the cost of a failure; the surroundings count as moderate. A computed place factor was "
    "worked out here by the guideline's way and not read in it; its ends are those of the moisture model, and outside Europe "
    "nobody has checked it."
)


def _joints(review: Review) -> Table:
    header = ["joint", "qty", "parts", "held by", "fastener", "size", "coating", "first rust", "metal life", "glue"]
    rows = []
    for row in _records(review, "joints"):
        parts = f"{row['part_a']} to {row['part_b']}"
        fastener = (
            ""
            if row["fastener_kind"] in (None, "none")
            else f"{row['fastener_kind']}, {row['fastener_metal'] or 'metal not known'}"
        )
        coat = row["coating_kind"] or "not known" if fastener else ""
        rust = years(row["first_rust_low_years"], row["first_rust_high_years"]) if fastener else ""
        metal = years(row["metal_life_low_years"], row["metal_life_high_years"]) if fastener else ""
        rows.append(
            [
                str(row["joint"]),
                str(row["qty"]),
                parts,
                row["method"] or "not known",
                fastener,
                row["size"] or "",
                coat,
                rust,
                metal,
                row["glue"] or "",
            ]
        )
    return Table(
        header,
        rows,
        right=(1, 7, 8),
        caption="Years to first rust and to the loss of a tenth of the shank; a dash where no figure was published (stainless, damp acid or treated wood, ground).",
    )


def _safety(review: Review, units: str) -> list[Block]:
    """Cautions of this project beside each other; the strictest stands in the rule."""
    items = []
    for one in review.found:
        rule = one.rule.rule
        if rule.topic == "safety":
            items.append(
                " ".join(filled(text, review.facts, one.over, one.row, units) for text in (rule.message, rule.remedy))
            )
    return [Heading("Safety"), Bullets(list(dict.fromkeys(items)))] if items else []


def _sources(review: Review, work: Work) -> list[Block]:
    used = {
        one.step.source: review.facts.library.sources[one.step.source].status
        for one in work.steps
        if one.step.source != "practice"
    }
    for one in review.found:
        if one.rule.rule.source != "practice":
            used.setdefault(one.rule.rule.source, one.rule.status)
    rows = [
        [key, cited(review, key, status), review.facts.library.sources[key].read]
        for key, status in sorted(used.items())
    ]
    return [Heading("Sources"), Table(["key", "work", "what was read"], rows)] if rows else []


def as_data(review: Review, units: str, day: date) -> models.SpecOut:
    """The sheet as data, and the review it was made from."""
    made = document(review, units, day)
    return models.SpecOut(
        title=made.title,
        line=made.line,
        blocks=[block_out(block) for block in made.blocks],
        review=as_json(review, units),
    )


def block_out(block: Block) -> models.BlockOut:
    """A block as data."""
    fields = dict(block.__dict__)
    if "lines" in fields:
        fields |= {"lines": [list(line) for line in fields["lines"]], "items": fields.pop("beneath")}
    for name in ("right", "measured", "even", "svg"):
        fields.pop(name, None)
    return models.BlockOut(kind=type(block).__name__.lower(), **fields)
