"""The fasteners on the spec sheet: what each joint takes, how it is set, slots drawn, what it holds, how long it lasts."""

from __future__ import annotations

from typing import Any

from ..planning import Bench
from . import fastener_sheet, models, slot_picture
from .blocks import Block, Bullets, Heading, Measured, Table
from .rows import measured, records, together, trimmed
from .values import NO_BAND, years

NO_METAL = "no metal: "


def joint_blocks(made: Bench, units: str) -> list[Block]:
    """The schedule by joint; nothing where there is no joint."""
    if not len(made.review.facts.joints):
        return []
    out = fastener_sheet.fasteners_out(made.work.schedule)
    written = records(made.review.facts, "joints")
    taken = [joint for joint in out.joints if joint.kind]
    blocks: list[Block] = [Heading("Fasteners to take"), *_schedule(out, written)]
    if taken:
        blocks += [Heading("How to set them", 3), *_set(taken, units), *slot_picture.figures(made.slots, units)]
        blocks += [Heading("How long they last", 3), *_lasts(taken)]
    return [*blocks, Bullets(list(fastener_sheet.NOTES))] if taken else blocks


def _schedule(out: models.FastenersOut, written: list[dict[str, Any]]) -> list[Block]:
    header = ["joint", "qty", "parts", "as written", "take", "each", "in all"]
    reasons: dict[str, int] = {}
    rows = []
    for joint, row in zip(out.joints, written, strict=True):
        each, total = _numbers(joint, reasons)
        rows.append(
            [
                str(joint.joint),
                str(joint.qty),
                f"{joint.part_a} to {joint.part_b}",
                _written(row),
                _take(joint, reasons),
                each,
                total,
            ]
        )
    caption = "Each: in one joint, as written, else as worked out. In all: without a margin; the shopping list adds it."
    because = [f"({number}) {why[:1].upper()}{why[1:]}." for why, number in reasons.items()]
    return [Table(header, rows, (1, 5, 6), caption), *([Bullets(because)] if because else [])]


def _numbers(joint: models.FastenerOut, reasons: dict[str, int]) -> tuple[str, str]:
    if not joint.kind:
        return "", ""
    shown = NO_BAND if "count" not in joint.blanks else _noted(joint.blanks["count"], reasons)
    each = shown if joint.count is None else f"{joint.count:.0f}"
    return each, shown if joint.total is None else f"{joint.total:.0f}"


def _noted(why: str, reasons: dict[str, int]) -> str:
    return f"({reasons.setdefault(why, len(reasons) + 1)})"


def _take(joint: models.FastenerOut, reasons: dict[str, int]) -> str:
    """Kind, size and metal; or why no metal is taken."""
    if not joint.kind:
        return NO_METAL + joint.blanks["kind"]
    size = joint.size or (_noted(joint.blanks["size"], reasons) if "size" in joint.blanks else "")
    return f"{joint.kind} {size}".strip() + f", {fastener_sheet.metal(joint)}"


def _written(row: dict[str, Any]) -> str:
    """The joint as the list has it: how it is held, fastener, size, coat, glue, and the years of that metal where known."""
    method = row["method"] or "not known"
    if row["fastener_kind"] in (None, "none"):
        return ", ".join(filter(None, [str(method), _glue(row)]))
    metal, coat = row["fastener_metal"] or "metal not known", row["coating_kind"]
    coated = metal if coat in ("none", "stainless") else f"{coat or 'coat not known'} {metal}"
    life = years(row["metal_life_low_years"], row["metal_life_high_years"])
    more = [_glue(row), "" if life == NO_BAND else f"lasts {life} years"]
    return ", ".join(filter(None, [f"{method}: {row['fastener_kind']} {row['size'] or ''}".strip(), coated, *more]))


def _glue(row: dict[str, Any]) -> str:
    return "" if row["glue"] in (None, "none") else str(row["glue"])


def _set(taken: list[models.FastenerOut], units: str) -> list[Block]:
    """Holes, distances and guide values, joints that are set alike together; then heads, and why a cell is a number in brackets."""
    table, reasons = fastener_sheet.setting(taken, units), {}  # type: ignore[var-annotated]
    loads = [
        [*_load(joint, "withdrawal_n", reasons, units), *_load(joint, "lateral_n", reasons, units)] for joint in taken
    ]
    rows = [[*row, *load] for row, load in zip(table.rows, loads, strict=True)]
    header, right = [*table.header, "pull", "side load"], (*table.right, len(table.header), len(table.header) + 1)
    caption = f"{table.caption} Pull and side load: guide values for one fastener."
    said = [f"({number}) {why[:1].upper()}{why[1:]}." for why, number in reasons.items()]
    return [
        trimmed(together(Table(header, rows, right, caption, _drills(taken, units)))),
        Bullets([*_depths(taken), *_heads(taken), *said]),
    ]


def _drills(taken: list[models.FastenerOut], units: str) -> dict[int, Measured]:
    """The numbers of holes and distances, in the order of the columns."""
    rows = [joint.model_dump() for joint in taken]
    rows = [row | ({"pilot_mm": None, "clearance_mm": None} if row["bore"] == "never" else {}) for row in rows]
    return {
        **measured(rows, ("pilot_mm", "clearance_mm"), 2, units, 64),
        **measured(rows, ("edge_mm", "end_mm"), 4, units),
    }


def _load(joint: models.FastenerOut, name: str, reasons: dict[str, int], units: str) -> list[str]:
    return [
        _noted(joint.blanks[name], reasons)
        if name in joint.blanks
        else fastener_sheet.force(getattr(joint, name), units)
    ]


def _depths(taken: list[models.FastenerOut]) -> list[str]:
    """Joints whose fasteners do not go as deep as the full side load asks, and those that go in too little to count."""
    out = []
    for hold, said in (("part", "Goes in part of the depth that is asked"), ("none", "Goes in too little to count")):
        joints = [str(joint.joint) for joint in taken if joint.hold == hold]
        out += [f"{said}: {', '.join(joints)}."] if joints else []
    return out


def _heads(taken: list[models.FastenerOut]) -> list[str]:
    heads: dict[str, list[str]] = {}
    for joint in taken:
        kinds = heads.setdefault(str(joint.head), [])
        kinds += [str(joint.kind)] if joint.kind not in kinds else []
    return [f"{', '.join(kinds)[:1].upper()}{', '.join(kinds)[1:]}: {head}." for head, kinds in heads.items()]


def _lasts(taken: list[models.FastenerOut]) -> list[Block]:
    """Years of the metal that is taken, joints of the same years together; why no figure is given."""
    rows = [[str(joint.joint), _years(joint, "first_rust_years"), _years(joint, "metal_life_years")] for joint in taken]
    caption = "Years to first rust, and to the loss of a tenth of the shank."
    return [together(Table(["joints", "first rust", "metal life"], rows, caption=caption))]


def _years(joint: models.FastenerOut, name: str) -> str:
    band = getattr(joint, name)
    return joint.blanks.get(name) or f"{years(band.low, band.high)} years"
