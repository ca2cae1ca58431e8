"""The schedule of fasteners: what to buy, how to set it, how long it lasts; and its JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ..choosing import Advice, Schedule
from ..library import Library
from ..units import print_size
from . import models
from .blocks import Block, Bullets, Document, Heading, Paragraph, Table
from .values import plain_value, years

GUIDE = "Pull and side load are guide values for one fastener from handbook equations, less in end grain and in the weather. They are no structural design: guards, stairs, decks, swings and whatever people hang on or stand under need a licensed designer and the local code."
NOTES = (
    GUIDE,
    "The cheapest kind, metal and coat is taken that no rule of the review rejects; prices are not asked.",
    "Lengths and counts are common practice within the published least distances; the box of the fastener wins where it says otherwise.",
    "Bore in a scrap of the same board first: a pilot hole is a band, not a number.",
)
NEWTONS_PER_POUND = 4.44822
FROM = {
    "hold": "advised_hold",
    "kind": "fastener_kind",
    "metal": "fastener_metal",
    "coating": "coating_kind",
    "slot_mm": "slot_length_mm",
    "clearance_mm": "shank_hole_mm",
    "length_mm": "fastener_length_mm",
    "diameter_mm": "shank_mm",
    "penetration_mm": "penetration_found_mm",
    "first_rust_years": "first_rust_low_years",
    "metal_life_years": "metal_life_low_years",
}
"""Fields of the JSON that stand under another name among the facts."""


def fasteners_out(made: Schedule) -> models.FastenersOut:
    """The schedule as JSON."""
    return models.FastenersOut(notes=list(NOTES), joints=[_joint(made, one) for one in made.advice])


def _joint(made: Schedule, one: Advice) -> models.FastenerOut:
    row = {str(k): plain_value(v) for k, v in made.facts.joints.iloc[one.row].items()}
    written = models.Written(
        kind=row["fastener_kind"],
        metal=row["fastener_metal"],
        coating=row["coating_kind"],
        size=row["size"],
        count=row["count"],
    )
    out = models.FastenerOut(
        **{name: row[name] for name in ("joint", "qty", "part_a", "part_b", "method")}, written=written
    )
    if one.at < 0:
        out.blanks["kind"] = one.because
        return out
    facts = {str(k): plain_value(v) for k, v in made.virtual.joints.iloc[one.at].items()}
    for name in models.FastenerOut.model_fields:
        fact = FROM.get(name, name)
        if fact in facts and not name.endswith("_years") and name not in ("joint", "qty", "part_a", "part_b", "method"):
            setattr(out, name, facts[fact])
    out.size = _named(made.facts.library, out.size)
    out.total = None if out.count is None else int(out.count) * int(row["qty"])
    out.head = _head(made.facts.library, facts["fastener_family"])
    out.avoid = [models.Avoided(kind=a[0], metal=a[1], coating=a[2], rule=rule) for a, rule in one.avoid]
    out.because = list(dict.fromkeys(rule.removesuffix(", undecided") for _, rule in one.avoid))
    for name in ("first_rust", "metal_life"):
        ends = {end: facts[f"{name}_{end}_years"] for end in ("low", "likely", "high")}
        setattr(out, f"{name}_years", models.Years(**ends))
    out.still = list(one.still)
    out.blanks = _blanks(made.facts.library, facts, one)
    return out


def _named(library: Library, size: str | None) -> str | None:
    table = library.table("fastener_stock")
    return table.words("name")[table.index[size]] if size in table.index else size


def _head(library: Library, family: str) -> str:
    table = library.table("fastener_heads")
    return table.words("head")[table.index[family]]


def _blanks(library: Library, facts: dict[str, Any], one: Advice) -> dict[str, str]:
    """A reason for every blank: what the table says of this metal, else the cells that are not written, else the table."""
    names = {fact: name for name, fact in FROM.items()}
    out = {}
    for fact, cells in (one.blanks or {}).items():
        said = [row for row in library.table("fastener_blanks").records() if _speaks(row, fact, facts)]
        of_metal = [row["because"] for row in said if row["fastener_metal"]]
        asked = [f"not known: {', '.join(cells)}"] if cells else []
        texts = [*of_metal, *asked, *(row["because"] for row in said), "its size is not known"]
        out[names.get(fact, fact)] = texts[0]
    return out


def _speaks(row: dict[str, str], fact: str, facts: dict[str, Any]) -> bool:
    of_kind = row["family"] in ("", facts["fastener_family"]) and row["fastener_metal"] in ("", facts["fastener_metal"])
    return row["fact"] == fact and of_kind


def records(made: Schedule) -> list[dict[str, Any]]:
    """The schedule as flat rows, a joint each; reasons of blanks in one cell."""
    rows = []
    for joint in fasteners_out(made).joints:
        row = joint.model_dump(
            exclude={"written", "avoid", "because", "blanks", "still", "first_rust_years", "metal_life_years"}
        )
        reasons = "; ".join(f"{name}: {text}" for name, text in joint.blanks.items())
        bands = {
            f"{name}_{end}_years": getattr(getattr(joint, f"{name}_years"), end)
            for name in ("first_rust", "metal_life")
            for end in ("low", "likely", "high")
        }
        texts = {"because": " ".join(joint.because), "still": " ".join(joint.still), "blanks": reasons}
        rows.append({**row, **bands, **texts})
    return rows


def document(made: Schedule, units: str) -> Document:
    """The schedule to be read."""
    taken = [joint for joint in fasteners_out(made).joints if joint.kind]
    sheet = Document(f"{made.facts.project.name}: fasteners")
    return sheet.add(*body(made, units, _totals(taken)))


def body(made: Schedule, units: str, totals: Sequence[Block] = ()) -> list[Block]:
    """All blocks of the schedule; `totals` stand after the joints."""
    out = fasteners_out(made)
    taken = [joint for joint in out.joints if joint.kind]
    found = [*blocks(taken, units), *_without(out), *totals, *_avoid(taken)]
    return [*found, Heading("To know"), Bullets(out.notes)]


def blocks(taken: list[models.FastenerOut], units: str) -> list[Block]:
    """The three tables of the schedule; empty where no joint takes metal."""
    if not taken:
        return [Paragraph("No joint of this project takes a metal fastener.")]
    return [
        Heading("What to take"),
        *_buy(taken),
        Heading("How to set it"),
        setting(taken, units),
        Bullets(list(dict.fromkeys(f"{str(j.kind).capitalize()}: {j.head}." for j in taken))),
        Heading("What it holds and how long"),
        *_hold(taken, units),
    ]


def _buy(taken: list[models.FastenerOut]) -> list[Block]:
    """What to buy; a size that is not known has the number of its reason, and the reasons stand beneath."""
    header = ["joint", "kind", "size", "metal and coat", "each", "in all"]
    reasons: dict[str, int] = {}
    rows = []
    for j in taken:
        cells = {"size": j.size or "–", "count": _whole(j.count), "total": _whole(j.total)}
        for name in ("size", "count"):
            if name in j.blanks:
                cells[name] = f"({reasons.setdefault(j.blanks[name], len(reasons) + 1)})"
        rows.append([str(j.joint), str(j.kind), cells["size"], metal(j), cells["count"], cells["total"]])
    caption = "Each: in one joint, as written, else as worked out. In all: without a margin; buy a tenth more."
    because = [f"({number}) {why[:1].upper()}{why[1:]}." for why, number in reasons.items()]
    return [Table(header, rows, right=(4, 5), caption=caption), *([Bullets(because)] if because else [])]


def metal(one: models.FastenerOut | models.Avoided) -> str:
    """Metal and coat in words, stainless and bare metals without a coat."""
    if one.coating in (None, "none", "stainless"):
        return str(one.metal)
    return f"{one.coating} {one.metal}"


def setting(taken: list[models.FastenerOut], units: str) -> Table:
    """Holes, distances and slots, a row a joint."""
    header = ["joint", "bore", "pilot", "clearance hole", "from edges", "from ends", "apart", "slots"]
    rows = []
    for j in taken:
        drills = [
            "–" if value is None or j.bore == "never" else print_size(value, units, 64)
            for value in (j.pilot_mm, j.clearance_mm)
        ]
        sizes = ["–" if value is None else print_size(value, units) for value in (j.edge_mm, j.end_mm, j.spacing_mm)]
        apart = f"{sizes[2]}, row" if j.in_a_row == "yes" and j.spacing_mm is not None else sizes[2]
        rows.append([str(j.joint), j.bore or "–", *drills, *sizes[:2], apart, _slots(j, units)])
    caption = "Pilot: the hole in the part that holds. Clearance: the hole in the part that is fastened through. Distances to edges and ends are the least. Row: in a row along the joint, else across the board. Slots: all holes but one, the middle one of several."
    return Table(header, rows, right=(2, 3, 4, 5, 6), caption=caption)


def _slots(one: models.FastenerOut, units: str) -> str:
    if one.slot_needed != "yes":
        return "no" if one.slot_needed == "no" else "–"
    return "yes" if one.slot_mm is None else f"{print_size(one.slot_mm, units)} long"


def _hold(taken: list[models.FastenerOut], units: str) -> list[Block]:
    """Guide values and years; a blank has the number of its reason, and the reasons stand beneath."""
    header = ["joint", "holds", "pull", "side load", "first rust", "metal life"]
    reasons: dict[str, int] = {}
    rows = []
    for j in taken:
        cells = {
            "withdrawal_n": force(j.withdrawal_n, units),
            "lateral_n": force(j.lateral_n, units),
            "first_rust_years": years(j.first_rust_years.low, j.first_rust_years.high),
            "metal_life_years": years(j.metal_life_years.low, j.metal_life_years.high),
        }
        for name, why in j.blanks.items():
            if name in cells:
                cells[name] = f"({reasons.setdefault(why, len(reasons) + 1)})"
        rows.append([str(j.joint), j.hold or "–", *cells.values()])
    caption = "Holds: full or part of the penetration asked. Pull and side load: guide values for one fastener. Years: to first rust, and to the loss of a tenth of the shank."
    because = [f"({number}) {why[:1].upper()}{why[1:]}." for why, number in reasons.items()]
    return [Table(header, rows, right=(2, 3, 4, 5), caption=caption), Bullets(because)]


def force(newtons: float | None, units: str) -> str:
    """A guide value to two figures, in pounds for inches and in newtons else."""
    if newtons is None:
        return "–"
    pounds, metric = f"{_two(newtons / NEWTONS_PER_POUND)} lb", f"{_two(newtons)} N"
    return {"in": pounds, "mm": metric}.get(units, f"{pounds} ({metric})")


def _two(value: float) -> str:
    return f"{float(f'{value:.2g}'):.0f}" if value >= 10 else f"{value:.1g}"


def _whole(value: float | None) -> str:
    return "–" if value is None else f"{value:.0f}"


def _without(out: models.FastenersOut) -> list[Block]:
    """Joints without metal, and why."""
    bare = [joint for joint in out.joints if joint.kind is None]
    items = [f"{joint.joint}: {joint.blanks['kind']}." for joint in bare]
    return [Heading("No metal here"), Bullets(items)] if items else []


def _totals(taken: list[models.FastenerOut]) -> list[Block]:
    """The order: pieces of each kind, size and metal."""
    counted: dict[tuple[str, str, str], int] = {}
    for j in taken:
        if j.size and j.total:
            key = (str(j.kind), j.size, metal(j))
            counted[key] = counted.get(key, 0) + j.total
    rows = [[*key, str(pieces)] for key, pieces in sorted(counted.items())]
    return [Heading("In all"), Table(["kind", "size", "metal and coat", "pieces"], rows, right=(3,))] if rows else []


def _avoid(taken: list[models.FastenerOut]) -> list[Block]:
    """Cheaper fasteners that a rule rejects, each with the joints; and what no fastener can cure."""
    kinds: dict[tuple[str, str], dict[str, None]] = {}
    for rule in dict.fromkeys(one.rule for j in taken for one in j.avoid):
        for j in taken:
            names = ", ".join(dict.fromkeys(metal(one) for one in j.avoid if one.rule == rule))
            if names:
                kinds.setdefault((rule, names), {})[str(j.joint)] = None
    rows = [[rule, names, ", ".join(joints)] for (rule, names), joints in kinds.items()]
    found: list[Block] = []
    if rows:
        caption = "Cheaper metals and coats that a rule rejects; gatepost rules RULE explains it."
        found += [Heading("What to avoid"), Table(["rule", "not this", "joints"], rows, caption=caption)]
    still = [f"{j.joint}: {', '.join(j.still)}." for j in taken if j.still]
    return found + ([Heading("What no fastener here cures"), Bullets(still)] if still else [])
