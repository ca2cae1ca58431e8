"""Pages of a PDF: paper, fonts, lines broken to a width, and the place where the next thing goes."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import matplotlib
from fpdf import FPDF
from fpdf.enums import PageMode, XPos, YPos

from .blocks import Document
from .plain import plain

MARGIN_MM, FOOT_MM = 13.0, 15.0
FAMILY = "DejaVu Sans"
FONTS = {"": "DejaVuSans.ttf", "B": "DejaVuSans-Bold.ttf", "I": "DejaVuSans-Oblique.ttf"}
"""Free fonts that ship with the plotting library: fractions, signs of measure, the letters of Europe, Hebrew and some more."""
BOX = "□"
BOX_SAID = f"{BOX} stands for a sign that the fonts of this file lack; the HTML sheet holds it."
UNSEEN = {"\u200d", "\ufe0e", "\ufe0f", "\u200b", "\u200c", "\u2060", "\ufeff"}
POINT_MM = 25.4 / 72
COUNT = "{  }"
"""Where the count of pages will stand; no text holds it, since spaces beside each other become one."""
LEADING = 1.28
HAIR_MM = 0.01
"""What a sum of widths may be off by."""
FOOT_PT = 7.5


_WITH_UNIT = re.compile(r"(?<=\d) (?=%|mm\b|kg/m³|lb\b|N\b|ft\b)")


class Pages(FPDF):
    """A document's pages; the origin of all sizes is the upper left corner [mm], those of type are in points.

    size  by which everything but the paper is made larger or smaller: a mm or a point is then so many of them
    """

    def __init__(self, document: Document, size: float = 1.0) -> None:
        super().__init__(format=document.paper.lower(), unit=size / POINT_MM)
        self.size = size
        self.set_margins(MARGIN_MM, MARGIN_MM)
        self.set_auto_page_break(False)
        self.c_margin = 0
        self.alias_nb_pages(COUNT)
        for style, name in FONTS.items():
            self.add_font(FAMILY, style, Path(matplotlib.get_data_path(), "fonts", "ttf", name))
        self.lacks_sign = False
        self.running = self.clear(document.title)
        self._describe(document)
        self.measured: dict[int, tuple[object, Any]] = {}
        self._widths: dict[tuple[str, float, str], float] = {}
        self.add_page()

    def _describe(self, document: Document) -> None:
        self.set_title(plain(document.title))
        self.set_lang("en")
        self.page_mode = PageMode.USE_OUTLINES
        # Without a day the file names the first one that a ZIP can name, as the workbooks do.
        day = document.day
        self.set_creation_date(
            datetime(day.year, day.month, day.day, tzinfo=UTC) if day else datetime(1980, 1, 1, tzinfo=UTC)
        )

    def footer(self) -> None:
        """What is printed at the foot of each page: the title and the number of the page."""
        self.set_y(-FOOT_MM + 5)
        self.type("", FOOT_PT)
        room = self.epw - 30
        title = self.broken(self.running, room, "", FOOT_PT)
        more = " …" if len(title) > 1 else ""
        self.put(self.l_margin, self.y, title[0] + more, room)
        self.put(self.w - self.r_margin - 30, self.y, f"page {self.page_no()} of {COUNT}", 30, "R")

    @property
    def bottom(self) -> float:
        """Where the text ends [mm]."""
        return self.h - FOOT_MM

    @property
    def room(self) -> float:
        """Height of a page's text [mm]."""
        return self.bottom - MARGIN_MM

    def need(self, height: float) -> bool:
        """A new page unless the height is free on this one; True where a page was begun."""
        if self.y + height <= self.bottom or self.y <= MARGIN_MM:
            return False
        self.add_page()
        return True

    def type(self, style: str, points: float) -> None:
        """Set the type."""
        self.set_font(FAMILY, style, points * self.size)

    def clear(self, text: str, style: str = "") -> str:
        """Text with signs that the fonts hold; a box for each other."""
        known = self.fonts[FAMILY.lower() + style].cmap  # type: ignore[union-attr]
        out = "".join(sign if ord(sign) in known else BOX for sign in plain(text) if sign not in UNSEEN)
        self.lacks_sign |= out.count(BOX) > text.count(BOX)
        return _WITH_UNIT.sub("\u00a0", re.sub(" +", " ", out))

    def wide(self, text: str, style: str, points: float) -> float:
        """Width of a text without line break [mm]."""
        key = (style, points, text)
        if key not in self._widths:
            self.type(style, points)
            self._widths[key] = self.get_string_width(text)
        return self._widths[key]

    def broken(self, text: str, width: float, style: str, points: float, first: float | None = None) -> list[str]:
        """Lines no wider than `width`, the first no wider than `first`; a word wider than a line is cut."""
        free = width if first is None else first
        lines: list[str] = []
        line = ""
        for word in text.split(" "):
            tried = f"{line} {word}" if line else word
            if self._line_wide(tried, style, points) <= free + HAIR_MM:
                line = tried
                continue
            if line or (not lines and first is not None):
                lines.append(line)
                line, free = "", width
            *full, line = self._cut(word, width, style, points)
            lines += full
        return [*lines, line]

    def _line_wide(self, line: str, style: str, points: float) -> float:
        words = line.split(" ")
        return sum(self.wide(word, style, points) for word in words) + (len(words) - 1) * self.wide(" ", style, points)

    def _cut(self, word: str, width: float, style: str, points: float) -> list[str]:
        if self.wide(word, style, points) <= width + HAIR_MM:
            return [word]
        pieces, piece, used = [], "", 0.0
        for sign in word:
            more = self.wide(sign, style, points)
            if piece and used + more > width:
                pieces.append(piece)
                piece, used = "", 0.0
            piece, used = piece + sign, used + more
        return [*pieces, piece]

    def put(self, x: float, y: float, text: str, width: float, align: str = "L") -> None:
        """One line of text in the type that is set, its top at y."""
        if text:
            self.set_xy(x, y)
            self.cell(width, leading(self.font_size_pt / self.size), text, align=align, new_x=XPos.LEFT, new_y=YPos.TOP)

    def rule(
        self, y: float, x: float | None = None, end: float | None = None, thick: float = 0.2, grey: int = 120
    ) -> None:
        """A line across the page or from x to end [mm]."""
        self.set_line_width(thick)
        self.set_draw_color(grey)
        self.line(self.l_margin if x is None else x, y, self.w - self.r_margin if end is None else end, y)


@cache
def leading(points: float) -> float:
    """Height of a line of type [mm]."""
    return points * LEADING * POINT_MM
