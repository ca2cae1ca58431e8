"""Changes of cells that the reading delivers, as edits of the cells that the shop wrote."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from ..errors import InputError, Problem
from ..library import Column, Library, Over
from ..reading.cells import Cell, Unreadable, read_cell
from ..reading.files import Rows
from ..reading.headers import Header, Heading, find_header
from ..reading.lists import kept_rows, unit_context
from ..reading.phrases import SIZE
from ..reading.sizes import Context
from ..units import size_mm

SIZE_COLUMNS = ("thickness", "width", "length", "size")
SIZE_FACTS = (
    *("thickness_mm", "width_mm", "length_mm", "nominal_size", "size_as_written"),
    *("size_diameter_mm", "size_length_mm"),
)
_UNIT_WORDS = ("mm", "cm", "m", "in", "inch", "inches", "ft", "feet", '"', "'")


@dataclass(frozen=True)
class Change:
    """One cell to write: the row of the frame that `read` delivers, the column's written name, and the text."""

    over: Over
    row: int
    column: str
    value: str


@dataclass(frozen=True)
class Edit:
    """One cell of the shop's list: which of its rows, which column from the left, its heading, and the text."""

    at: int
    column: int
    heading: str
    text: str


@dataclass(frozen=True)
class Sheet:
    """A list to be changed: its rows as text, where its heading row and its parts or joints stand."""

    rows: Rows
    over: Over
    header: Header
    kept: list[int]
    library: Library
    context: Context

    @classmethod
    def of(cls, rows: Rows, over: Over, library: Library, context: Context) -> Sheet:
        """With the heading row found."""
        header = find_header(rows, over, library.register)
        return cls(rows, over, header, kept_rows(rows, header), library, context)

    def problem(self, change: Change, what: str) -> Problem:
        """A problem in the cell of a change."""
        known = 0 <= change.row < len(self.kept)
        line = self.rows.lines[self.kept[change.row]] if known else None
        return Problem(self.rows.place, line, change.column, what)


def edits_of(sheet: Sheet, changes: list[Change]) -> list[Edit]:
    """The edits of one list, headings of new columns among them; every change that cannot be made is reported."""
    problems = _refused(sheet, changes)
    if problems:
        raise InputError(problems)
    headings = {heading.column.written: heading for heading in sheet.header.headings}
    added = [name for name in dict.fromkeys(change.column for change in changes) if name not in headings]
    places = {name: _width(sheet) + number for number, name in enumerate(added)}
    out = [Edit(at, places[name], name, name) for name in added for at in _heading_rows(sheet)]
    sized = {change.row for change in changes if change.column in SIZE_COLUMNS}
    for change in changes:
        heading = headings.get(change.column)
        try:
            out.append(_edit(sheet, change, heading, places, change.row in sized))
        except Unreadable as error:
            problems.append(sheet.problem(change, str(error)))
    if problems:
        raise InputError(problems)
    return out


def _edit(sheet: Sheet, change: Change, heading: Heading | None, places: dict[str, int], sized: bool) -> Edit:
    """The edit of one change; `sized` says that other changes of the row write its sizes."""
    at = sheet.kept[change.row]
    column = sheet.library.register.written[sheet.over][change.column]
    if heading is None:
        read_cell(change.value, column, sheet.library, sheet.context)
        return Edit(at, places[change.column], change.column, change.value.strip())
    cells = sheet.rows.cells[at]
    old = cells[heading.at] if heading.at < len(cells) else ""
    text = _in_unit(change.value.strip(), column, heading, sheet)
    text = text if sized else with_size(text, old, column, sheet)
    return Edit(at, heading.at, _heading_text(sheet, heading), text)


def _refused(sheet: Sheet, changes: list[Change]) -> list[Problem]:
    """Changes of no row, no column, a name, or of one cell to two texts."""
    problems, texts = [], dict[tuple[int, str], str]()
    for change in changes:
        column = sheet.library.register.written[sheet.over].get(change.column)
        if not 0 <= change.row < len(sheet.kept):
            what = f"there is no row {change.row + 1}; the list has {len(sheet.kept)}"
        elif column is None:
            what = f"is no column of the {sheet.over} list"
        elif column.required:
            what = "is a name that ties the lists together; change it by hand"
        elif any(ord(sign) < 32 or ord(sign) == 127 for sign in change.value):
            what = "holds a line break or another sign that cannot be printed; write it in one line"
        elif texts.setdefault((change.row, change.column), change.value) != change.value:
            what = "is to be changed to two different texts; keep one"
        else:
            continue
        problems.append(sheet.problem(change, what))
    return problems


def _heading_rows(sheet: Sheet) -> list[int]:
    """The heading row, and the rows below that repeat it and stay no parts only while they are alike."""
    heads = sheet.rows.cells[sheet.header.row]
    return [at for at, cells in enumerate(sheet.rows.cells) if at >= sheet.header.row and cells == heads]


def _width(sheet: Sheet) -> int:
    """Columns from the left that hold anything in the heading row or below."""
    body = sheet.rows.cells[sheet.header.row :]
    return 1 + max(at for cells in body for at, cell in enumerate(cells) if cell)


def _in_unit(text: str, column: Column, heading: Heading, sheet: Sheet) -> str:
    """The text as it must stand beneath a heading that names a unit; Unreadable where it would mean something else."""
    meant = read_cell(text, column, sheet.library, sheet.context)
    if heading.unit is None:
        return text
    here = unit_context(heading, sheet.context)
    bare = re.fullmatch(r"[\d\s.,/-]+", text) is not None
    same = _means(text, meant, column, sheet.library, here)
    if not same or not bare:
        number = _number_in(meant, column, here)
        if number and _means(number, meant, column, sheet.library, here):
            return number
    if same:
        return text
    raise Unreadable(
        f'"{text}" means something else beneath the heading "{_heading_text(sheet, heading)}"; write it with its unit'
    )


def _heading_text(sheet: Sheet, heading: Heading) -> str:
    return sheet.rows.cells[sheet.header.row][heading.at]


def _number_in(meant: Cell, column: Column, here: Context) -> str | None:
    """A size as the bare number of a heading's unit, where four decimals hold it."""
    size = meant.sets.get(column.name)
    if column.kind != "size" or set(meant.sets) != {column.name} or not isinstance(size, float | int):
        return None
    number = f"{size / size_mm('1', here.units):.4f}".rstrip("0").rstrip(".")
    return number if math.isclose(size_mm(number, here.units), size, rel_tol=1e-9) else None


def with_size(text: str, old: str, column: Column, sheet: Sheet) -> str:
    """The text, and the size that the old text told where the new one tells none: another wood is no other size.

    The words of the size are found by reading: the fewest of the old text that add its sizes to the new one and no more.
    """
    if SIZE not in column.reads:
        return text
    before, after = (read_cell(one, column, sheet.library, sheet.context).sets for one in (old, text))
    lost = {name: value for name, value in before.items() if name in SIZE_FACTS}
    if not lost or any(name in SIZE_FACTS for name in after):
        return text
    words = [word.strip(",;") for word in old.split()]
    wanted = {**after, **lost, column.name: None}
    for length in range(1, len(words) + 1):
        for start in range(len(words) - length + 1):
            if words[start + length : start + length + 1] and words[start + length] in _UNIT_WORDS:
                continue
            size = " ".join(words[start : start + length])
            for tried in (f"{text} {size}", f"{size} {text}"):
                found = read_cell(tried, column, sheet.library, sheet.context).sets
                if {**found, column.name: None} == wanted:
                    return tried
    raise Unreadable(f'"{old}" tells a size and "{text}" does not; write the size into columns of its own first')


def _means(text: str, meant: Cell, column: Column, library: Library, here: Context) -> bool:
    try:
        sets = read_cell(text, column, library, here).sets
    except Unreadable:
        return False
    return sets.keys() == meant.sets.keys() and all(same(value, meant.sets[name]) for name, value in sets.items())


def same(one: object, other: object) -> bool:
    """Two values of one fact: numbers but for rounding; unknown is like unknown."""
    if isinstance(one, float | int) and isinstance(other, float | int):
        return math.isclose(one, other, rel_tol=1e-9) or (math.isnan(one) and math.isnan(other))
    return one == other or (_unknown(one) and _unknown(other))


def _unknown(value: object) -> bool:
    return value is None or (isinstance(value, float) and math.isnan(value))
