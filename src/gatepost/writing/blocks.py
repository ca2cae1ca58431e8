"""The plain document: headings, paragraphs, tables, entries and notes. Renderers know nothing else."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Literal


@dataclass(frozen=True)
class Heading:
    """A heading below the title; level 2 or 3."""

    text: str
    level: int = 2


@dataclass(frozen=True)
class Paragraph:
    """Running text."""

    text: str


@dataclass(frozen=True)
class Measured:
    """The numbers behind the text of a column, a row each, in one unit; None where the text alone tells."""

    unit: str
    values: list[float | None]


@dataclass(frozen=True)
class Table:
    """A table of text cells; `right` names the columns of numbers; `caption` says what it shows.

    measured  for columns with a number and a unit in each cell: what a spreadsheet gets in place of the text
    even      the first column names the rows, the others are equally wide: things side by side
    """

    header: list[str]
    rows: list[list[str]]
    right: tuple[int, ...] = ()
    caption: str = ""
    measured: dict[int, Measured] = field(default_factory=dict)
    even: bool = False


@dataclass(frozen=True)
class Entry:
    """One thing with labelled lines beneath it, and smaller things that follow from it."""

    title: str
    text: str
    lines: list[tuple[str, str]] = field(default_factory=list)
    beneath: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Bullets:
    """A plain list."""

    items: list[str]


@dataclass(frozen=True)
class Figure:
    """A drawing as SVG, its title, and the same in words for who cannot see it."""

    svg: str
    title: str
    description: str


Block = Heading | Paragraph | Table | Entry | Bullets | Figure


@dataclass
class Document:
    """A document: title, a line beneath it, blocks in order.

    day    the day that files name as theirs; None: none is named
    paper  A4 or Letter, for formats that have pages
    one_page  set so that it fits on one
    """

    title: str
    line: str = ""
    blocks: list[Block] = field(default_factory=list)
    day: date | None = None
    paper: Literal["A4", "Letter"] = "A4"
    one_page: bool = False

    def add(self, *blocks: Block) -> Document:
        """Append blocks."""
        self.blocks += blocks
        return self
