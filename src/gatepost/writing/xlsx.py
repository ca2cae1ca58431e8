"""A document as a workbook: a worksheet for each list, typed cells, filters, ready to print."""

from __future__ import annotations

import io
import math
import re
import zipfile
from dataclasses import dataclass, field
from datetime import date, datetime

from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from .blocks import Block, Bullets, Document, Entry, Figure, Heading, Paragraph, Table
from .plain import plain

MOST_SIGNS, CUT = 32_000, " … (cut here: a cell holds no more; the other formats hold it whole)"
LEAST_WIDE, MOST_WIDE, WIDE_TEXT = 7, 80, 90
PAPER_WIDE, ENOUGH_WIDE = 150, 20
"""A list so wide is read on its paper in landscape; columns give way down to what is enough; widths in signs."""
LINE_PT, SIGNS_OF_WIDTH = 15, 1.05
"""Height of a line, and letters to a unit of width, on the average."""
TITLE_SIGNS, RUNNING_SIGNS = 31, 90
NO_DAY = date(1980, 1, 1)
PAPERS = {"A4": 9, "Letter": 1}
STEERS = ("=", "+", "-", "@", "\t", "\r")
FORMS = {"in": "# ??/??", "mm": "General"}
"""Inches as fractions, reduced; they are rounded to the sheet's steps already."""
_NUMBER = re.compile(r"-?(0|[1-9]\d{0,14})(\.\d{1,9})?")
_CHANGED = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*")
_LINE = Side(style="thin", color="FF888888")


@dataclass
class Sheet:
    """What one worksheet holds: a list with its header, and the texts beneath it."""

    title: str
    table: Table | None = None
    texts: list[str] = field(default_factory=list)


def render(document: Document) -> bytes:
    """A whole file; equal documents give equal bytes."""
    book = Workbook()
    book.remove(book.active)
    for sheet in _titled(_sheets(document)):
        _write(book.create_sheet(sheet.title), sheet, document)
    book.properties.title = plain(document.title)
    book.properties.creator = "gatepost"
    out = io.BytesIO()
    book.save(out)
    return _dated(out.getvalue(), document.day or NO_DAY)


def _sheets(document: Document) -> list[Sheet]:
    """The title's sheet, then one for each heading; a further list beneath a heading gets one of its own."""
    sheets = [Sheet("Sheet", texts=[document.title, document.line])]
    kept: list[tuple[str, Entry]] = []
    group = ""
    for block in [*document.blocks, Heading("")]:
        if isinstance(block, Heading):
            if block.level == 2:
                _keep_entries(sheets, kept)
                kept = []
            if block.level == 2 or sheets[-1].table:
                sheets.append(Sheet(block.text))
            group = "" if block.level == 2 else block.text
        elif isinstance(block, Entry):
            kept.append((group, block))
        elif isinstance(block, Table) and kept:
            _keep_entries(sheets, kept)
            kept = []
            sheets.append(Sheet(group or sheets[-1].title, block, [block.caption] if block.caption else []))
        elif isinstance(block, Bullets) and sheets[-1].table:
            sheets[-1].texts += block.items
        elif isinstance(block, Table | Bullets):
            _keep_list(sheets, block)
        else:
            sheets[-1].texts += _texts(block)
    return [sheet for sheet in sheets if sheet.table or sheet.texts]


def _keep_list(sheets: list[Sheet], block: Table | Bullets) -> None:
    table = block if isinstance(block, Table) else Table([sheets[-1].title], [[item] for item in block.items])
    if sheets[-1].table:
        sheets.append(Sheet(sheets[-1].title))
    sheets[-1].table = table
    sheets[-1].texts += [table.caption] if table.caption else []


def _keep_entries(sheets: list[Sheet], kept: list[tuple[str, Entry]]) -> None:
    """Entries as one list: a column for each label that one of them has."""
    if not kept:
        return
    labels = list(dict.fromkeys(label for _, entry in kept for label, _ in entry.lines))
    header = ["group", "of", "finding", *labels, "also"]
    rows = [
        [group, entry.title, entry.text, *(_labelled(entry, label) for label in labels), "\n".join(entry.beneath)]
        for group, entry in kept
    ]
    used = [i for i in range(len(header)) if any(row[i] for row in rows)]
    _keep_list(sheets, Table([header[i] for i in used], [[row[i] for i in used] for row in rows]))


def _labelled(entry: Entry, label: str) -> str:
    return "\n".join(text for name, text in entry.lines if name == label)


def _texts(block: Block) -> list[str]:
    if isinstance(block, Figure):
        return [f"{block.title}: {block.description}"]
    return [block.text] if isinstance(block, Paragraph) else []


def _titled(sheets: list[Sheet]) -> list[Sheet]:
    """Sheets with titles that a workbook takes: short, without its own signs, each only once."""
    taken: set[str] = set()
    for sheet in sheets:
        stem = re.sub(r"[\[\]:*?/\\']", " ", plain(sheet.title)).strip()[:TITLE_SIGNS].strip() or "List"
        title, number = stem, 1
        while title.lower() in taken:
            number += 1
            title = f"{stem[: TITLE_SIGNS - 4]} {number}"
        taken.add(title.lower())
        sheet.title = title
    return sheets


def _write(page: Worksheet, sheet: Sheet, document: Document) -> None:
    if sheet.table:
        _list(page, sheet.table)
    start = page.max_row + 2 if sheet.table else 1
    for row, text in enumerate(sheet.texts, start):
        _put(page.cell(row, 1), text)
        if sheet.table:
            _across(page, row, text, sheet.table)
    if not sheet.table:
        page.column_dimensions["A"].width = WIDE_TEXT
    _print_set_up(page, sheet, document)


def _across(page: Worksheet, row: int, text: str, table: Table) -> None:
    """A text beneath a list, over all its columns, and as high as its lines ask: merged cells find no height themselves."""
    wide = sum(_widths(table))
    page.row_dimensions[row].height = LINE_PT * max(math.ceil(len(text) / (wide * SIGNS_OF_WIDTH)), 1)
    if len(table.header) > 1:
        page.merge_cells(start_row=row, start_column=1, end_row=row, end_column=len(table.header))


def _list(page: Worksheet, table: Table) -> None:
    """Header in the first row, frozen, with filters; numbers as numbers."""
    for column, name in enumerate(table.header):
        unit = table.measured[column].unit if column in table.measured else ""
        cell = page.cell(1, column + 1)
        _put(cell, f"{name} [{unit}]" if unit else name)
        cell.font, cell.fill = Font(bold=True), PatternFill("solid", fgColor="FFE8E8E8")
        cell.border = Border(bottom=_LINE)
    for row, texts in enumerate(table.rows):
        for column, text in enumerate(texts):
            _typed(page.cell(row + 2, column + 1), text, table, row, column)
    last = get_column_letter(len(table.header))
    page.freeze_panes = "B2" if len(table.header) > 1 else "A2"
    page.auto_filter.ref = f"A1:{last}{len(table.rows) + 1}"
    for column, wide in enumerate(_widths(table), 1):
        page.column_dimensions[get_column_letter(column)].width = wide


def _typed(cell: Cell, text: str, table: Table, row: int, column: int) -> None:
    """A number where the column is measured or the text is one; the first column names the row and stays text."""
    measured = table.measured.get(column)
    value = measured.values[row] if measured else None
    if measured and value is not None:
        cell.value, cell.number_format = value, FORMS[measured.unit]
    elif column and _NUMBER.fullmatch(text):
        cell.value = float(text) if "." in text else int(text)
    else:
        _put(cell, text)
    cell.alignment = Alignment(vertical="top", wrap_text=True, horizontal="right" if column in table.right else None)
    cell.border = Border(bottom=Side(style="hair", color="FF888888"))


def _put(cell: Cell, text: str, wrap: bool = True) -> None:
    """Text, never a formula: a cell that begins like one is marked as text too."""
    shown = "\n".join(plain(line) for line in text.split("\n"))
    cell.value = shown[:MOST_SIGNS] + CUT if len(shown) > MOST_SIGNS else shown
    cell.data_type = "s"
    cell.quotePrefix = text.startswith(STEERS)
    cell.alignment = Alignment(vertical="top", wrap_text=wrap)


def _widths(table: Table) -> list[float]:
    """Widths of the columns; wide ones give way where the list would be too small to read on its paper."""
    wide = [_wide(table, column) for column in range(len(table.header))]
    over = sum(wide) - PAPER_WIDE
    if over <= 0:
        return wide
    spare = [max(one - ENOUGH_WIDE, 0) for one in wide]
    share = min(over / sum(spare), 1) if sum(spare) else 0
    return [one - more * share for one, more in zip(wide, spare, strict=True)]


def _wide(table: Table, column: int) -> float:
    texts = [table.header[column] + " [in]", *(row[column] for row in table.rows)]
    longest = max(len(line) for text in texts for line in text.split("\n"))
    return min(max(longest + 2, LEAST_WIDE), MOST_WIDE)


def _print_set_up(page: Worksheet, sheet: Sheet, document: Document) -> None:
    """Landscape, as wide as the paper, the header on every page."""
    page.page_setup.orientation = "landscape" if sheet.table else "portrait"
    page.page_setup.paperSize = PAPERS[document.paper]
    page.page_setup.fitToWidth, page.page_setup.fitToHeight = 1, 0
    page.sheet_properties.pageSetUpPr.fitToPage = True
    if sheet.table:
        page.print_title_rows = "1:1"
    page.oddHeader.left.text = _running(document.title)
    page.oddFooter.left.text = _running(sheet.title)
    page.oddFooter.right.text = "&P / &N"


def _running(text: str) -> str:
    """Text for the head or foot of a page; & begins an order there, and 255 signs are the most."""
    short = plain(text)
    short = short if len(short) <= RUNNING_SIGNS else short[:RUNNING_SIGNS] + " …"
    return short.replace("&", "&&")


def _dated(made: bytes, day: date) -> bytes:
    """The same file with the day in place of the moment that it was made."""
    moment = datetime(day.year, day.month, day.day)
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(made)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            entry = zipfile.ZipInfo(name, moment.timetuple()[:6])
            entry.compress_type, entry.external_attr = zipfile.ZIP_DEFLATED, 0o600 << 16
            content = old.read(name)
            if name == "docProps/core.xml":
                content = _CHANGED.sub(rb"\g<1>" + f"{moment:%Y-%m-%dT%H:%M:%SZ}".encode(), content)
            new.writestr(entry, content)
    return out.getvalue()
