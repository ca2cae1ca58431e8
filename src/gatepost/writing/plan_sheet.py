"""The bench's part of the spec sheet: panels, fasteners, glue and finish, order of work, cuts to treat, shopping list."""

from __future__ import annotations

from collections import Counter
from typing import Any

from ..deriving import Facts
from ..planning import STAGES, Bench, BoardOrder, Coats, Cut, SheetOrder, Work
from ..units import print_size, print_sizes
from . import fastener_sheet, models, panel_picture
from .blocks import Block, Bullets, Heading, Paragraph, Table
from .panel_picture import is_panel
from .quantities import area, coarse, litres, mass, stock_length
from .rows import records, together, trimmed
from .values import filled, one_unit, plain_value, show

WORKED = {"crosscut": "cut ends", "drilled": "bored holes", "ripped": "sawn edges", "planed": "planed faces"}
HARD = "\u00a0"
"""A space where no line breaks."""
STATUS_SAID = {"memory": "recalled, not read", "practice": "common practice", "secondary": "read where others quote it"}


def lowered(blocks: list[Block], level: int = 3) -> list[Block]:
    """The same blocks with their headings set lower."""
    return [Heading(block.text, level) if isinstance(block, Heading) else block for block in blocks]


def panel_blocks(facts: Facts, units: str) -> list[Block]:
    """The panels, which way each goes and what is done to its edges, as a list and drawn; nothing where there is none."""
    register = facts.library.register.facts["parts"]
    names = ("best_face", "face_grain", "cover", "edges", "gap_mm")
    rows = [
        [str(part["part"]), coarse(part, units), *(show(register[name], part[name], units) for name in names)]
        for part in records(facts, "parts")
        if is_panel(facts, part)
    ]
    if not rows:
        return []
    header = ["panel", "size", "better face", "face grain", "cover", "edges", "gap today"]
    caption = "Face grain: along or across the span. Size: length along the face grain first. Drawn from the better face: sealed edges thick, a gap as a broken line."
    return [Heading("Panels"), together(Table(header, rows, caption=caption)), *panel_picture.figures(facts, units)]


def glue_finish_blocks(work: Work, units: str) -> list[Block]:
    """Where glue and finish go, and what the day must be like; nothing where the list has neither."""
    found = [*_glue(work, units), *_finish(work, units)]
    return [Heading("Glue and finish"), *found] if found else []


def _glue(work: Work, units: str) -> list[Block]:
    facts = work.facts
    register, joints = facts.library.register.facts["joints"], records(facts, "joints")
    times = {row["glue_kind"]: row for row in facts.library.table("glue_times").records()}
    rows = []
    for order in work.glues:
        first, told = joints[order.rows[0]], times.get(order.glue)
        hours = [f"{told[f'{name}_low_{unit}']} to {told[f'{name}_high_{unit}']} {said}" if told else "as the label says"
                 for name, unit, said in (("open", "min", "min"), ("clamp", "h", "h"))]  # fmt: skip
        least = (
            "as the label says"
            if first["glue_least_c"] is None
            else show(register["glue_least_c"], first["glue_least_c"], units)
        )
        rows.append(
            [order.glue, _names(joints, "joint", order.rows), first["glue_class"] or "not known", least, *hours]
        )
    if not rows:
        return []
    whole = work.facts.whole.iloc[0]
    day = (
        ""
        if plain_value(whole["work_c"]) is None
        else f" The day of assembly is taken as {float(whole['work_c']):.0f} °C."
    )
    caption = "Class: EN 204, or limited or full weather. Times are recalled and go by kind; the label wins."
    note = (
        "Glue wood near the moisture that it will serve at, 10 to 12 % outdoors, on faces planed within a day (recalled). "
        f"Press enough to close the line and squeeze out a bead; epoxy wants little. End grain alone holds hardly anything.{day}"
    )
    header = ["glue", "joints", "class", "not below", "open time", "in clamps"]
    return [Table(header, rows, caption=caption), Paragraph(note)]


def _finish(work: Work, units: str) -> list[Block]:
    facts = work.facts
    parts = records(facts, "parts")
    said = {row["finish_kind"]: row for row in facts.library.table("finish_conditions").records()}
    rows = [
        [
            one.finish,
            _faces(parts, one),
            "not written" if one.coats is None else str(one.coats),
            _names(parts, "part", one.rows),
        ]
        for one in work.coats
    ]
    if not rows:
        return []
    items = [f"{name[:1].upper()}{name[1:]}: {one_unit(said[name]['condition'], units)} ({_how(said[name]['status'])})."
             for name in dict.fromkeys(one.finish for one in work.coats) if name in said]  # fmt: skip
    items.append("End grain drinks most of all: give it a second coat at once, while the first is wet.")
    return [Table(["finish", "faces", "coats", "parts"], rows, right=(2,)), Bullets(items)]


def _how(status: str) -> str:
    return STATUS_SAID.get(status, "read in the work")


def _faces(parts: list[dict[str, Any]], one: Coats) -> str:
    return ", ".join(dict.fromkeys(str(parts[row]["finish_faces"]) for row in one.rows)) + f", {one.texture}"


def _names(rows: list[dict[str, Any]], column: str, at: tuple[int, ...]) -> str:
    return ", ".join(dict.fromkeys(str(rows[row][column]) for row in at))


def step_blocks(made: Bench, units: str) -> list[Block]:
    """The steps that this project asks for, stage by stage, and the numbers of what to take care of at each."""
    rows, stage = [], ""
    for number, one in enumerate(made.work.steps, 1):
        names = (filled(one.step.each, made.work.facts, one.step.over, row, units) for row in one.rows)
        first = one.step.stage != stage
        stage = one.step.stage
        care = ", ".join(str(care.number) for care in made.cares if care.stage == stage) if first else ""
        text = one_unit(one.step.text, units)
        rows.append([str(number), stage if first else "", text, ", ".join(dict.fromkeys(names)), care])
    if not rows:
        return []
    caption = f"Stages: {', '.join(STAGES)}; those without a step here are left out. Care: numbers of the table Safety."
    return [Heading("Order of work"), trimmed(Table(["no.", "stage", "step", "for", "care"], rows, caption=caption))]


def cut_blocks(work: Work) -> list[Block]:
    """Each opening of treated stock; nothing where no stock is treated."""
    by_part: dict[int, list[Cut]] = {}
    for cut in work.cuts:
        by_part.setdefault(cut.part, []).append(cut)
    if not by_part:
        return []
    parts, joints = records(work.facts, "parts"), records(work.facts, "joints")
    rows = [
        [
            str(parts[part]["part"]),
            str(parts[part]["qty"]),
            "; ".join(_opened(cut, joints) for cut in found),
            work.brushes[part][0],
        ]
        for part, found in by_part.items()
    ]
    said = (
        f"Brush on {next(iter(work.brushes.values()))[1]}, before assembly, until the wood takes no more. The treatment is a shell, and each cut is "
        "a door through it. A hole that a screw fills at once needs none. Wear gloves and glasses, keep it off soil and "
        "plants, and follow the label."
    )
    header = ["part", "qty", "opened, in all pieces", "the list says"]
    return [Heading("Cuts to treat"), Paragraph(said), Table(header, rows, right=(1,))]


def _opened(cut: Cut, joints: list[dict[str, Any]]) -> str:
    what = WORKED.get(cut.opened, cut.opened)
    number = "" if cut.each is None else f"up to {cut.each} " if cut.joint < 0 else f"{cut.each} "
    return f"{number}{what}" + ("" if cut.joint < 0 else f" ({joints[cut.joint]['joint']})")


def shopping_blocks(work: Work, units: str) -> list[Block]:
    """What to buy: boards, panels, other pieces, fasteners, finish and glue."""
    found = [
        *_boards(work.wood.boards, units),
        *_sheets(work.wood.sheets, units),
        *_pieces(work, units),
        *_boxes(work, units),
        *_tins(work, units),
    ]
    return [Heading("Shopping list"), *found] if found else []


def material(row: dict[str, Any]) -> str:
    """Wood or product, grade, part of the tree and treatment in words."""
    name = row["species"] or (row["product"] if row["product"] != "lumber" else "wood not known")
    more = [row["product"]] if row["species"] and row["product"] != "lumber" else []
    treated = row["preservative"] if row["treatment_kind"] == "preservative" else row["treatment_kind"]
    treatment = (
        []
        if treated == "none"
        else [f"{treated or 'treatment not known'}, {row['treatment_category'] or 'grade not known'}"]
    )
    heart = [{"heart": "heartwood", "sap": "sapwood"}[row["wood_part"]]] if row["wood_part"] in ("heart", "sap") else []
    origin = [] if row["origin"] in (None, "new") else [row["origin"]]
    return ", ".join(
        str(one) for one in (name, *more, *([row["grade"]] if row["grade"] else []), *heart, *treatment, *origin)
    )


def _boards(orders: list[BoardOrder], units: str) -> list[Block]:
    rows = [
        [
            material(one.material),
            _section(one, units),
            _buy(one, units),
            str(one.spare),
            "; ".join(_cut(board, units) for board in one.plan.boards),
        ]
        for one in orders
        if one.plan.boards
    ]
    long = [f"{material(one.material)}, {_section(one, units)}: {print_size(mm, units)} is longer than any length that is listed; ask for it."
            for one in orders for mm in dict.fromkeys(one.plan.too_long)]  # fmt: skip
    out: list[Block] = [Heading("Boards", 3)] if rows or long else []
    if rows:
        header = ["material", "section", "buy", "spare", "cut from each"]
        out += [Table(header, rows, right=(1, 3), caption=_proof(orders, units)), Paragraph(_BOARDS)]
    return out + ([Bullets(long)] if long else [])


_BOARDS = (
    "Spare: boards more, for knots, splits and slips; hardwood of random width and length wants more. "
    "A saw cut is counted between pieces, but no squaring of the ends: sort the boards first, and take the next length where an end is split."
)


def _proof(orders: list[BoardOrder], units: str) -> str:
    open_plans = [one for one in orders if one.plan.boards and not one.plan.proven]
    if not open_plans:
        return "Branch and bound over all cutting plans: no other plan buys less length."
    gaps = [
        f"{_section(one, units)}: at most {print_size(one.plan.bought_mm - one.plan.least_mm, units)} more than the least"
        for one in open_plans
    ]
    return f"Branch and bound over cutting plans, stopped for time; {'; '.join(gaps)}. The others buy the least length."


def _section(one: BoardOrder, units: str) -> str:
    return print_sizes([one.thickness_mm, one.width_mm], units)


def _buy(one: BoardOrder, units: str) -> str:
    counted: Counter[float] = Counter()
    for board in one.plan.boards:
        counted[board.stock_mm] += board.count
    return ", ".join(
        f"{n} of {stock_length(mm, units)}".replace(" ", HARD) for mm, n in sorted(counted.items(), reverse=True)
    )


def _cut(board: Any, units: str) -> str:
    pieces = ", ".join(
        f"{n} x {print_size(mm, units)}".replace(" ", HARD) for mm, n in Counter(board.pieces_mm).items()
    )
    first = f"{board.count} of {stock_length(board.stock_mm, units)}:".replace(" ", HARD)
    return f"{first} {pieces}"


def _sheets(orders: list[SheetOrder], units: str) -> list[Block]:
    rows, large = [], []
    for one in orders:
        sheet = one.plan.sheet
        if sheet:
            size = f"{stock_length(sheet[1], units)} x {stock_length(sheet[0], units)}"
            rows.append(
                [
                    material(one.material),
                    print_size(one.thickness_mm, units),
                    size,
                    str(one.plan.count),
                    str(one.plan.least),
                    str(one.pieces),
                ]
            )
        large += [
            f"{material(one.material)}: {print_size(a, units)} x {print_size(b, units)} is larger than any sheet that is listed; join it or ask for it."
            for a, b in dict.fromkeys(one.plan.too_large)
        ]
    out: list[Block] = [Heading("Panels by the sheet", 3)] if rows or large else []
    if rows:
        header = ["panel", "thickness", "sheet", "sheets", "not fewer than", "pieces"]
        caption = "Cuts right through the sheet, face grain along it, the best of several orders tried. Not fewer than: by area and by pieces that cannot share a sheet."
        out.append(Table(header, rows, right=(3, 4, 5), caption=caption))
    return out + ([Bullets(large)] if large else [])


def _pieces(work: Work, units: str) -> list[Block]:
    parts = records(work.facts, "parts")
    rows = [
        [
            str(parts[at]["part"]),
            str(parts[at]["material"] or parts[at]["product"] or ""),
            str(parts[at]["qty"]),
            coarse(parts[at], units),
        ]
        for at in work.wood.pieces
    ]
    out: list[Block] = []
    if rows:
        out += [Heading("By the piece", 3), Table(["part", "material", "pieces", "size"], rows, right=(2,))]
    if work.wood.unsized:
        names = ", ".join(str(parts[at]["part"]) for at in work.wood.unsized)
        out.append(Paragraph(f"Not counted, for a size is not written: {names}."))
    return out


def _boxes(work: Work, units: str) -> list[Block]:
    rows = []
    for one in work.fasteners:
        shown = models.Avoided(kind=one.kind, metal=one.metal, coating=one.coating, rule="")
        box = (
            "each"
            if one.unit == "pieces" and one.box == 1
            else f"{one.box:.0f}"
            if one.unit == "pieces"
            else f"{mass(one.box, one.box, units)}, about {one.pieces_a_box}"
        )
        rows.append(
            [one.kind, one.size, fastener_sheet.metal(shown), str(one.needed), str(one.with_spare), box, str(one.boxes)]
        )
    if not rows:
        return []
    header = ["kind", "size", "metal and coat", "needed", "with a tenth more", "box", "boxes"]
    caption = "Bolts with a nut and two washers each, of the same metal. Boxes differ by merchant; nails by weight are reckoned as steel rods."
    return [Heading("Fasteners", 3), Table(header, rows, right=(3, 4, 6), caption=caption)]


def _tins(work: Work, units: str) -> list[Block]:
    rows = [
        [
            one.finish,
            area(one.area_m2, units),
            litres(one.litres, units),
            "" if one.counted else "one coat; how many is not written",
        ]
        for one in work.tins
    ]
    for glue in work.glues:
        surface = "not known" if glue.area_m2 is None else area(glue.area_m2, units)
        rows.append([f"{glue.glue} glue", surface, "not known" if glue.grams is None else mass(*glue.grams, units), ""])
    if not rows:
        return []
    caption = "Area of all coats together. With a tenth more. From the coverage of planed or rough wood, low to high; the label wins. Glue: by the area of the glue lines, both cheeks of a tenon."
    table = Table(["what", "area", "amount", "note"], rows, right=(1,), caption=caption)
    return [Heading("Finish and glue", 3), trimmed(table)]
