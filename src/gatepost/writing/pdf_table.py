"""Tables of a PDF: columns as wide as their words ask, rows that are not cut, the header on every page."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .blocks import Table
from .pdf_page import HAIR_MM, Pages, leading

SIZES_PT = (7.5, 7.0, 6.5, 6.0)
CAPTION_PT, EVEN_PT = 7.5, 8.0
PAD_MM, GAP_MM = 0.5, 1.4
NAMES_SHARE = 0.16
"""Of the width, for the names of the rows where the other columns are even."""
MOST_WORD_SHARE, SHORT_MM, SHORT_NAME_MM = 0.3, 16.0, 22.0
HEAD_GREY = 235
SMALL_MM = 50.0
"""A table no taller than this is not parted."""


@dataclass(frozen=True)
class Grid:
    """A table measured: type, widths and the lines of each cell."""

    points: float
    widths: list[float]
    header: list[list[str]]
    rows: list[list[list[str]]]
    caption: list[str]
    right: tuple[int, ...]

    def height(self, row: list[list[str]]) -> float:
        """Height of a row [mm]."""
        return max(len(cell) for cell in row) * leading(self.points) + 2 * PAD_MM

    @property
    def start(self) -> float:
        """Height of what stays together: the caption, the header and the first row, or a small table whole [mm]."""
        whole = self.caption_height + self.height(self.header) + sum(self.height(row) for row in self.rows)
        if whole <= SMALL_MM:
            return whole
        return self.caption_height + self.height(self.header) + (self.height(self.rows[0]) if self.rows else 0.0)

    @property
    def caption_height(self) -> float:
        """Height of the caption and the space beneath it [mm]."""
        return len(self.caption) * leading(CAPTION_PT) + (1.0 if self.caption else 0.0)


def measured(pages: Pages, table: Table) -> Grid:
    """Widths and lines of a table on these pages, worked out once: a heading asks for them before the table does."""
    if id(table) not in pages.measured:
        pages.measured[id(table)] = (table, _measured(pages, table))
    grid: Grid = pages.measured[id(table)][1]
    return grid


def _measured(pages: Pages, table: Table) -> Grid:
    header = [pages.clear(text, "B") for text in table.header]
    rows = [[pages.clear(text) for text in row] for row in table.rows]
    points, widths = _even(pages, len(header)) if table.even else _widths(pages, header, rows)

    def lines(texts: list[str], style: str) -> list[list[str]]:
        inner = [width - 2 * GAP_MM for width in widths]
        return [pages.broken(text, room, style, points) for text, room in zip(texts, inner, strict=True)]

    caption = pages.broken(pages.clear(table.caption, "I"), pages.epw, "I", CAPTION_PT) if table.caption else []
    return Grid(points, widths, lines(header, "B"), [lines(row, "") for row in rows], caption, table.right)


def _even(pages: Pages, columns: int) -> tuple[float, list[float]]:
    names = pages.epw * NAMES_SHARE
    return EVEN_PT, [names, *[(pages.epw - names) / (columns - 1)] * (columns - 1)]


def _widths(pages: Pages, header: list[str], rows: list[list[str]]) -> tuple[float, list[float]]:
    """The largest type in which the words of every column fit, and the widths of the columns [mm]."""
    for points in SIZES_PT:
        shorts = [SHORT_MM if column else SHORT_NAME_MM for column in range(len(header))]
        asked = [_asked(pages, head, [row[i] for row in rows], points, shorts[i]) for i, head in enumerate(header)]
        spare = pages.epw - sum(least for least, _, _ in asked)
        if spare >= 0:
            break
    widths = _shared(asked, max(spare, 0.0))
    return points, [width * pages.epw / sum(widths) for width in widths]


def _shared(asked: list[tuple[float, float, float]], spare: float) -> list[float]:
    """The least widths and what is spare, given to columns by how far their texts exceed them, none wider than its longest text."""
    widths = [least for least, _, _ in asked]
    for _ in asked:
        still = [i for i, (_, over, most) in enumerate(asked) if over > 0 and most - widths[i] > HAIR_MM]
        if spare <= HAIR_MM or not still:
            break
        each = spare / sum(asked[i][1] for i in still)
        for i in still:
            more = min(asked[i][1] * each, asked[i][2] - widths[i])
            widths[i], spare = widths[i] + more, spare - more
    return widths


def _asked(pages: Pages, head: str, texts: list[str], points: float, short: float) -> tuple[float, float, float]:
    """What a column asks for: its least width, how far its texts exceed that (root of the mean square), its longest text [mm].

    The least is that of the longest word, or of the longest text where that is no longer than `short`.
    """
    wide = [pages.wide(text, "", points) for text in texts]
    words = {(word, "") for text in texts for word in text.split(" ")} | {(word, "B") for word in head.split(" ")}
    word = max(pages.wide(one, style, points) for one, style in words)
    longest = max(wide, default=0.0)
    least = min(max(word, min(longest, short)), pages.epw * MOST_WORD_SHARE)
    over = math.sqrt(sum(max(one - least, 0.0) ** 2 for one in wide) / max(len(wide), 1))
    return least + 2 * GAP_MM, over, max(longest, least) + 2 * GAP_MM


def draw(pages: Pages, grid: Grid) -> None:
    """Draw a table from where the pages stand."""
    pages.need(min(grid.start, pages.room))
    pages.type("I", CAPTION_PT)
    for line in grid.caption:
        pages.put(pages.l_margin, pages.y, line, pages.epw)
        pages.set_y(pages.y + leading(CAPTION_PT))
    pages.set_y(pages.y + (1.0 if grid.caption else 0.0))
    _header(pages, grid)
    for row in grid.rows:
        for piece in _pieces(pages, grid, row):
            if pages.need(grid.height(piece)):
                _header(pages, grid)
            _row(pages, grid, piece, "")
            pages.rule(pages.y, grey=170)
    pages.rule(pages.y, thick=0.3, grey=60)
    pages.set_y(pages.y + 3.5)


def _pieces(pages: Pages, grid: Grid, row: list[list[str]]) -> list[list[list[str]]]:
    """A row whole, or cut into what a page holds where it is taller than a page."""
    free = pages.room - grid.height(grid.header)
    most = max(int((free - 2 * PAD_MM) / leading(grid.points)), 1)
    deepest = max(len(cell) for cell in row)
    return [[cell[start : start + most] or [""] for cell in row] for start in range(0, deepest, most)]


def _header(pages: Pages, grid: Grid) -> None:
    pages.set_fill_color(HEAD_GREY)
    pages.rect(pages.l_margin, pages.y, pages.epw, grid.height(grid.header), style="F")
    pages.rule(pages.y, thick=0.3, grey=60)
    _row(pages, grid, grid.header, "B")
    pages.rule(pages.y, thick=0.3, grey=60)


def _row(pages: Pages, grid: Grid, row: list[list[str]], style: str) -> None:
    pages.type(style, grid.points)
    top, x, height = pages.y, pages.l_margin, grid.height(row)
    for column, (cell, width) in enumerate(zip(row, grid.widths, strict=True)):
        for number, line in enumerate(cell):
            align = "R" if column in grid.right else "L"
            pages.put(x + GAP_MM, top + PAD_MM + number * leading(grid.points), line, width - 2 * GAP_MM, align)
        x += width
    pages.set_xy(pages.l_margin, top + height)
