"""The parts on the spec sheet: what to cut and how it moves, class and wood, years, treatment, exposure index."""

from __future__ import annotations

from typing import Any

from ..library import Column
from ..review import Review
from ..units import print_size
from .blocks import Block, Bullets, Heading, Paragraph, Table
from .movement_sheet import RAIN_ASSUMED, band, drying_blocks, movement_out
from .rows import measured, records, together, trimmed
from .values import NO_BAND, one_unit, show, years

SIZES = ("thickness_mm", "width_mm", "length_mm")
MOVED = ("width_mm", "width_driest_mm", "width_wettest_mm", "swing_mm_high")
MOVES = "Width of one board that measures today what the list says: in the driest and the wettest month of a likely year, and how much it moves in between at most. Gap: likely, and behind it the band."


def part_blocks(review: Review, units: str) -> list[Block]:
    """A row for each part; then how each width moves, and the stock that should dry first."""
    rows = records(review.facts, "parts")
    return [Heading("Parts"), _parts(review, rows, units), *_movement(review, rows, units)]


def _parts(review: Review, rows: list[dict[str, Any]], units: str) -> Table:
    name = class_column(review)
    header = ["part", "qty", "material", "thickness", "width", "length", "stands in", name.replace("_", " "), "finish"]
    cells = [
        [
            str(row["part"]),
            str(row["qty"]),
            _stock(row),
            *("" if row[size] is None else print_size(row[size], units) for size in SIZES),
            row["exposure"] or "not written",
            "" if row["is_wood"] == "no" else row[name] or "not known",
            row["finish"] or NO_BAND,
        ]
        for row in rows
    ]
    caption = "Sizes as bought, to be cut to these; nominal sizes are shown as actual ones. A dash: no finish."
    return trimmed(Table(header, cells, (1, 3, 4, 5), caption, measured(rows, SIZES, 3, units)))


def _stock(row: dict[str, Any]) -> str:
    """The stock to take: the material as written, and what other columns add to it."""
    said = str(row["material"] or row["species"] or "")
    heart = {"heart": "heartwood", "sap": "sapwood"}.get(row["wood_part"])
    more = [row["grade"], row["treatment"], None if heart and row["wood_part"] in said.lower() else heart]
    return ", ".join([said, *(one for one in more if one and one.lower() not in f"none, {said.lower()}")])


def _movement(review: Review, rows: list[dict[str, Any]], units: str) -> list[Block]:
    """Widths through the year, boards that move alike together; why some are not known; the stock that should dry first."""
    cells = [
        [str(row["part"]), *(print_size(row[name], units) for name in MOVED), _gap(row, units)]
        for row in rows
        if row["swing_mm_high"] is not None
    ]
    moves = movement_out(review.facts)
    unknown: dict[str, list[str]] = {}
    for part in moves.parts:
        if part.unknown_for:
            unknown.setdefault(part.unknown_for, []).append(str(part.part))
    reasons = [f"Movement not known of {', '.join(dict.fromkeys(names))}: {why}." for why, names in unknown.items()]
    header = ["parts", "width today", "driest month", "wettest month", "moves up to", "gap to leave today"]
    numbers = measured([row for row in rows if row["swing_mm_high"] is not None], MOVED, 1, units)
    table = trimmed(together(Table(header, cells, tuple(range(1, 6)), f"{MOVES} {_days(rows)}", numbers)))
    drying: list[Block] = [
        Heading(one.text, 3) if isinstance(one, Heading) else one for one in drying_blocks(moves, units)
    ]
    found: list[Block] = [table, Paragraph(RAIN_ASSUMED)] if cells else []
    found += [Bullets(reasons)] if reasons else []
    found += drying
    return [Heading("Movement across the width"), *found] if found else []


def _days(rows: list[dict[str, Any]]) -> str:
    found = sorted({round(row["mc_build_pct"]) for row in rows if row["mc_build_pct"] is not None})
    return f"Moisture today: {', '.join(f'{pct} %' for pct in found)}." if found else ""


def _gap(row: dict[str, Any], units: str) -> str:
    """What to leave as likely, with least and most behind it."""
    shown = band(row["gap_mm"], row["gap_mm_low"], row["gap_mm_high"], units)
    return "" if shown == NO_BAND else shown


def class_column(review: Review) -> str:
    """The fact that names the class under the project's scheme."""
    return "use_category" if review.facts.project.scheme == "us" else "use_class"


def wood_blocks(review: Review, units: str) -> list[Block]:
    """Class and why, wood and years; then what is treated; then the exposure index where it speaks."""
    rows = [row for row in records(review.facts, "parts") if row["is_wood"] != "no"]
    if not rows:
        return []
    return [
        Heading("Class, wood and years"),
        _classes(review, rows, units),
        Paragraph(_YEARS_NOTE),
        *_treatment(review, rows, units),
        *_index(review, rows),
    ]


def _classes(review: Review, rows: list[dict[str, Any]], units: str) -> Table:
    register, name = review.facts.library.register.facts["parts"], class_column(review)
    header = [
        "parts",
        name.replace("_", " "),
        "raised by",
        "wood and heartwood class",
        "years it lasts",
        "by",
        "wanted",
    ]
    wanted = {years(row["life_years"], row["life_years"]) for row in rows}
    cells = [
        [
            str(row["part"]),
            row[name] or "not known",
            one_unit(row["raised_by"] or "", units),
            _wood(row, register, units),
            years(row["service_life_low_years"], row["service_life_high_years"]),
            _models(row),
            years(row["life_years"], row["life_years"]) if len(wanted) > 1 else "",
        ]
        for row in rows
    ]
    caption = "Parts that say the same stand together. Heartwood class 1 lasts longest, 5 least; sapwood counts as 5 whatever the wood. Years: a band over the published models; a dash where none speaks."
    caption += f" Wanted: {wanted.pop()}." if len(wanted) == 1 else ""
    return trimmed(together(Table(header, cells, (6,), caption)))


_MODELS = {
    "stakes": "stakes in the ground",
    "fdp": "FD P 20-651 (2011)",
    "as5604": "AS 5604 (2005)",
    "crossbrace": "cross-brace test",
    "treated": "treated posts",
    "dose": "dose-response (2013)",
}
_YEARS_NOTE = (
    "Bands in years, never a single year; 100 stands for 100 or more. Stakes are of 50 x 50 mm (2 x 2 in); FD P 20-651 speaks of "
    "sapwood-free wood; the dose-response figures are recalled and tell the onset of decay; the AS 5604 classes of most "
    "woods are recalled, those of the others and the years read only where another page quotes them. A test that ended while its "
    "wood still stood says only at least. Most treated wood, and woods that no model names, have no published band."
)


def _models(row: dict[str, Any]) -> str:
    """The models behind the band, each with its own where there are several, and whether they conflict."""
    bands = {
        title: years(row[f"life_{name}_low_years"], row.get(f"life_{name}_high_years"))
        for name, title in _MODELS.items()
    }
    said = {title: shown for title, shown in bands.items() if shown != NO_BAND}
    if row["life_known"] != "yes" or not said:
        return ""
    apart = "; they conflict, more than twofold" if row["models_disagree"] == "yes" else ""
    return (
        next(iter(said)) if len(said) == 1 else "; ".join(f"{title} {shown}" for title, shown in said.items())
    ) + apart


def _wood(row: dict[str, Any], register: dict[str, Column], units: str) -> str:
    """Species, part of the tree and heartwood class of lumber; product and grade of a panel."""
    if row["species"] is None and row["product"] not in (None, "lumber"):
        return f"{row['product']} {row['grade'] or 'of unknown grade'}"
    name = f"{row['species'] or 'wood not known'}{' ' + row['grade'] if row['grade'] else ''}"
    heart = show(register["heart_class"], row["heart_class"], units)
    if row["wood_part"] == "mixed":
        return f"{name}: heart {heart}, may hold sapwood (5)"
    return f"{name}, sapwood: 5" if row["wood_part"] == "sap" else f"{name}, {row['wood_part']}: {heart}"


_DEPTHS = {
    "us": "The depth is that of AWPA T1 for sawn wood, recalled and not read.",
    "eu": "NP is the penetration class of EN 351-1, as the Nordic classes use it.",
}
_CORES = {"yes": "inside stays bare", "maybe": "heartwood may stay bare"}


def _treatment(review: Review, rows: list[dict[str, Any]], units: str) -> list[Block]:
    register = review.facts.library.register.facts["parts"]
    cells = [
        [
            str(row["part"]),
            f"{row['preservative'] or row['treatment_kind'] or 'not known'}, {row['treatment_category'] or 'grade not known'}",
            ""
            if row["retention_needed_kg_m3"] is None
            else show(register["retention_needed_kg_m3"], row["retention_needed_kg_m3"], units),
            _depth(review, row, units),
            row["treatment_meets"] or "not known",
        ]
        for row in rows
        if row["treatment_kind"] != "none"
    ]
    if not cells:
        return []
    header = ["treated parts", "treatment", "retention needed", "preservative must enter", "meets it"]
    retained = "The retention is that of southern pine. " if any(row[2] for row in cells) else ""
    caption = f"{retained}{_DEPTHS[review.facts.project.scheme]}"
    return [Heading("Treatment", 3), trimmed(together(Table(header, cells, caption=caption)))]


def _depth(review: Review, row: dict[str, Any], units: str) -> str:
    """How deep preservative must go for the place, and whether the inside of the stick stays bare."""
    asked, table = row["penetration_needed"], review.facts.library.table("preservative_penetration")
    column = {"in": "said_in", "mm": "said_mm"}.get(units, "penetration_needed")
    shown = asked and table.words(column)[table.index[asked]]
    return "; ".join(filter(None, [shown, _CORES.get(row["untreated_core"])]))


_EXPECTED = {"yes": "expected", "no": "not expected", "near": "near the limit"}


def _index(review: Review, parts: list[dict[str, Any]]) -> list[Block]:
    """The exposure-index guideline beside the bands: exposure against resistance; nothing where it speaks of no part."""
    register = review.facts.library.register.facts["parts"]
    rows = []
    for row in parts:
        if row["index_known"] == "yes":
            low, likely, high = (row[f"design_exposure_index{end}"] for end in ("_low", "", "_high"))
            stands = show(register["resistance_index"], row["resistance_index"], "mm")
            answer = _EXPECTED[row["index_accepted"]]
            rows.append([str(row["part"]), _ends(likely, low, high), stands, answer, row["exposure_index_kind"]])
    if not rows:
        return []
    header = ["part", "exposure index", "resistance index", "sound for 30 years", "place factor"]
    return [Heading("Exposure index", 3), together(Table(header, rows, right=(1, 2))), Paragraph(_INDEX_NOTE)]


def _ends(likely: float, low: float, high: float) -> str:
    return f"{likely:.1f}" if low == high else f"{likely:.1f} ({low:.1f} to {high:.1f})"


_INDEX_NOTE = (
    "Exposure-index guideline, Swedish edition (2012), above ground in the rain: no decay is expected to begin within 30 "
    "years where the exposure index, the cost of a failure counted in, stays below the resistance index. Its numbers are "
    "recalled but for the zones and the cost of a failure; the surroundings count as moderate. A computed place factor was "
    "worked out here by the guideline's way and not read in it; its ends are those of the moisture model, and outside Europe "
    "nobody has checked it."
)
