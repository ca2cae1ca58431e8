"""A document as a PDF: A4 or Letter, bookmarks, page numbers, embedded fonts, text that can be selected."""

from __future__ import annotations

import io
import re
from itertools import zip_longest

from . import pdf_table
from .blocks import Block, Bullets, Document, Entry, Figure, Heading, Paragraph, Table
from .pdf_page import BOX_SAID, FAMILY, Pages, leading
from .plain import plain

TITLE_PT, TEXT_PT, SMALL_PT = 15.0, 8.0, 7.5
HEADING_PT = {2: 11.5, 3: 9.5}
ABOVE_HEADING_MM, BELOW_HEADING_MM = {2: 4.0, 3: 2.5}, {2: 2.4, 3: 1.2}
BELOW_MM, INDENT_MM, LABEL_MM = 2.0, 4.0, 14.0
LEAST_LINES = 3
MANY_HEADINGS, MOST_PAGES, HEAD_SIGNS = 6, 9999, 40
"""A file with so many headings begins with their pages, for numbers of so many pages, and so many signs of each."""
SIZES = (1.0, 0.96, 0.92, 0.88, 0.84, 0.8, 0.76)
"""Tried in turn for a document that fits on one page."""
_SAID_ELSEWHERE = re.compile(r"<(metadata|title|desc)\b.*?</\1>", re.DOTALL)
_FONT, _TEXT = re.compile(r'font-family="[^"]*"'), re.compile(r">([^<>]*[^<>\s][^<>]*)<")

Line = tuple[float, str, str]
"""Place from the left margin [mm], style and text of a piece of a line."""


def render(document: Document) -> bytes:
    """A whole file; equal documents give equal bytes."""
    for size in SIZES if document.one_page else SIZES[:1]:
        made, count = _made(document, size)
        if count == 1:
            break
    return made


def _made(document: Document, size: float) -> tuple[bytes, int]:
    """The file and its count of pages."""
    pages = _pages(document, size)
    return bytes(pages.output()), pages.page_no()


def _pages(document: Document, size: float) -> Pages:
    pages = Pages(document, size)
    _title(pages, document)
    every = () if document.one_page else document.blocks
    heads = [block.text for block in every if isinstance(block, Heading) and block.level == 2]
    top = pages.y
    if len(heads) >= MANY_HEADINGS:
        kept = _contents(pages, heads, [MOST_PAGES] * len(heads))
        pages.set_y(top + len(kept) * leading(TEXT_PT) + BELOW_MM)
    at = _laid(pages, document)
    if len(heads) >= MANY_HEADINGS:
        _write_contents(pages, _contents(pages, heads, at), top)
    return pages


def _laid(pages: Pages, document: Document) -> list[int]:
    """Lay everything out; the pages of the headings."""
    at = []
    for block, after in zip_longest(document.blocks, document.blocks[1:]):
        _block(pages, block, after)
        if isinstance(block, Heading) and block.level == 2:
            at.append(pages.page_no())
    if pages.lacks_sign:
        _lines(pages, _paragraph(pages, BOX_SAID), TEXT_PT)
    return at


def _contents(pages: Pages, heads: list[str], at: list[int]) -> list[list[Line]]:
    """The headings with their pages; no number is wider than that for which the place was kept."""
    short = [head if len(head) <= HEAD_SIGNS else f"{head[:HEAD_SIGNS]} …" for head in heads]
    return _paragraph(pages, "Page: " + "; ".join(f"{head}\u00a0{page}" for head, page in zip(short, at, strict=True)))


def _write_contents(pages: Pages, lines: list[list[Line]], top: float) -> None:
    """Write what was left free on the first page, and come back to the last."""
    last = pages.page
    pages.page = 1
    pages.set_y(top)
    for line in lines:
        _line(pages, line, TEXT_PT)
    pages.page = last


def _title(pages: Pages, document: Document) -> None:
    pages.type("B", TITLE_PT)
    for line in pages.broken(pages.clear(document.title, "B"), pages.epw, "B", TITLE_PT):
        pages.put(pages.l_margin, pages.y, line, pages.epw)
        pages.set_y(pages.y + leading(TITLE_PT))
    pages.rule(pages.y + 0.5, thick=0.6, grey=0)
    pages.set_y(pages.y + 2)
    if document.line:
        _lines(pages, _paragraph(pages, document.line), TEXT_PT)


def _block(pages: Pages, block: Block, after: Block | None) -> None:
    if isinstance(block, Heading):
        _heading(pages, block, after)
    elif isinstance(block, Table):
        pdf_table.draw(pages, pdf_table.measured(pages, block))
    elif isinstance(block, Figure):
        _figure(pages, block)
    elif isinstance(block, Entry):
        _entry(pages, block)
    else:
        lines = _paragraph(pages, block.text) if isinstance(block, Paragraph) else _bullets(pages, block)
        _lines(pages, lines, TEXT_PT)


def _heading(pages: Pages, heading: Heading, after: Block | None) -> None:
    """A heading on the page of what it heads, and in the bookmarks."""
    points, text = HEADING_PT[heading.level], pages.clear(heading.text, "B")
    lines = pages.broken(text, pages.epw, "B", points)
    height = ABOVE_HEADING_MM[heading.level] + len(lines) * leading(points) + BELOW_HEADING_MM[heading.level]
    if not pages.need(min(height + _least(pages, after), pages.room)):
        pages.set_y(pages.y + ABOVE_HEADING_MM[heading.level])
    pages.start_section(text, heading.level - 2, strict=False)
    pages.type("B", points)
    for line in lines:
        pages.put(pages.l_margin, pages.y, line, pages.epw)
        pages.set_y(pages.y + leading(points))
    if heading.level == 2:
        pages.rule(pages.y + 0.3, grey=60)
    pages.set_y(pages.y + BELOW_HEADING_MM[heading.level])


def _least(pages: Pages, block: Block | None) -> float:
    """Height of what must stand on the page of the heading above it [mm]."""
    if isinstance(block, Table):
        return pdf_table.measured(pages, block).start
    if isinstance(block, Figure):
        return _figure_height(pages, block)[1]
    if isinstance(block, Entry):
        return len(_entry_lines(pages, block)) * leading(SMALL_PT)
    if isinstance(block, Heading):
        return 25.0
    return LEAST_LINES * leading(TEXT_PT)


def _paragraph(pages: Pages, text: str) -> list[list[Line]]:
    return [[(0.0, "", line)] for line in pages.broken(pages.clear(text), pages.epw, "", TEXT_PT)]


def _bullets(pages: Pages, block: Bullets) -> list[list[Line]]:
    out = []
    for item in block.items:
        first, *rest = pages.broken(pages.clear(item), pages.epw - INDENT_MM, "", TEXT_PT)
        out += [[(0.0, "", "–"), (INDENT_MM, "", first)], *([(INDENT_MM, "", line)] for line in rest)]
    return out


def _lines(pages: Pages, lines: list[list[Line]], points: float) -> None:
    """Lines one beneath the other; a page does not begin or end with fewer than a few of them."""
    for number, line in enumerate(lines):
        left = len(lines) - number
        hold = left if left <= LEAST_LINES else LEAST_LINES if number == 0 else 1
        pages.need(hold * leading(points) if number == 0 or left == LEAST_LINES - 1 else leading(points))
        _line(pages, line, points)
    pages.set_y(pages.y + BELOW_MM)


def _line(pages: Pages, line: list[Line], points: float) -> None:
    top = pages.y
    for place, style, text in line:
        pages.type(style, points)
        pages.put(pages.l_margin + place, top, text, pages.epw - place)
    pages.set_xy(pages.l_margin, top + leading(points))


def _entry(pages: Pages, entry: Entry) -> None:
    """An entry with a line at its left; whole on a page where a page holds it."""
    lines = _entry_lines(pages, entry)
    pages.need(min(len(lines) * leading(SMALL_PT), pages.room))
    for line in lines:
        pages.need(leading(SMALL_PT))
        pages.set_line_width(0.7)
        pages.set_draw_color(110)
        pages.line(pages.l_margin + 0.5, pages.y, pages.l_margin + 0.5, pages.y + leading(SMALL_PT))
        _line(pages, line, SMALL_PT)
    pages.set_y(pages.y + BELOW_MM)


def _entry_lines(pages: Pages, entry: Entry) -> list[list[Line]]:
    left = INDENT_MM - 1
    room = pages.epw - left
    out = _title_lines(pages, pages.clear(f"{entry.title}:", "B"), pages.clear(entry.text), left)
    for label, text in entry.lines:
        first, *rest = pages.broken(pages.clear(text), room - LABEL_MM, "", SMALL_PT)
        name = pages.clear(label, "I")
        out += [[(left, "I", name), (left + LABEL_MM, "", first)], *([(left + LABEL_MM, "", line)] for line in rest)]
    for text in entry.beneath:
        first, *rest = pages.broken(pages.clear(text), room - INDENT_MM, "", SMALL_PT)
        out += [[(left, "", "+"), (left + INDENT_MM, "", first)], *([(left + INDENT_MM, "", line)] for line in rest)]
    return out


def _title_lines(pages: Pages, title: str, text: str, left: float) -> list[list[Line]]:
    """The title in bold and the text after it on the same line; beneath it where the title is long."""
    room, gone = pages.epw - left, pages.wide(f"{title} ", "B", SMALL_PT)
    if gone > room / 2:
        heads = [[(left, "B", line)] for line in pages.broken(title, room, "B", SMALL_PT)]
        return heads + [[(left, "", line)] for line in pages.broken(text, room, "", SMALL_PT)]
    first, *rest = pages.broken(text, room, "", SMALL_PT, first=room - gone)
    return [[(left, "B", title), (left + gone, "", first)], *([(left, "", line)] for line in rest)]


def _figure(pages: Pages, figure: Figure) -> None:
    """The drawing as lines and text, not as dots; its words are held for who has the file read aloud."""
    drawing, height = _figure_height(pages, figure)
    pages.need(height)
    pages.set_fill_color(0)
    image = pages.image(
        drawing, x=pages.l_margin, y=pages.y, w=pages.epw, title=plain(figure.title), alt_text=plain(figure.description)
    )
    pages.set_y(pages.y + image.rendered_height + 0.5)
    _lines(pages, [[(0.0, "I", line)] for line in _title_of(pages, figure)], SMALL_PT)


def _title_of(pages: Pages, figure: Figure) -> list[str]:
    return pages.broken(pages.clear(figure.title, "I"), pages.epw, "I", SMALL_PT)


def _figure_height(pages: Pages, figure: Figure) -> tuple[io.BytesIO, float]:
    svg = _FONT.sub(f'font-family="{FAMILY}"', _SAID_ELSEWHERE.sub("", figure.svg))
    svg = _TEXT.sub(lambda match: f">{pages.clear(match[1])}<", svg)
    box = re.search(r'viewBox="[\d.-]+ [\d.-]+ ([\d.]+) ([\d.]+)"', svg)
    if box is None:
        raise ValueError(f"the drawing {figure.title} has no viewBox")
    wide, high = float(box[1]), float(box[2])
    below = len(_title_of(pages, figure)) * leading(SMALL_PT) + BELOW_MM
    return io.BytesIO(svg.encode()), pages.epw * high / wide + below
