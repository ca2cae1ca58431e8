"""The plain document: headings, paragraphs, tables, entries and notes. Renderers know nothing else."""

from __future__ import annotations

from dataclasses import dataclass, field


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
class Table:
    """A table of text cells; `right` names the columns of numbers; `caption` says what it shows."""

    header: list[str]
    rows: list[list[str]]
    right: tuple[int, ...] = ()
    caption: str = ""


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


Block = Heading | Paragraph | Table | Entry | Bullets


@dataclass
class Document:
    """A document: title, a line beneath it, blocks in order."""

    title: str
    line: str = ""
    blocks: list[Block] = field(default_factory=list)

    def add(self, *blocks: Block) -> Document:
        """Append blocks."""
        self.blocks += blocks
        return self
