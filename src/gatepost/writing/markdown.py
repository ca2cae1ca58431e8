"""A document as Markdown."""

from __future__ import annotations

import re

from .blocks import Block, Bullets, Document, Entry, Figure, Heading, Paragraph, Table
from .plain import plain

_SPECIAL = re.compile(r"([\\`*_\[\]<>|#~])")


def escaped(text: str) -> str:
    """Text that Markdown shows as it stands."""
    return _SPECIAL.sub(r"\\\1", plain(text))


def render(document: Document) -> str:
    """Markdown text."""
    head = [f"# {escaped(document.title)}", *([escaped(document.line)] if document.line else [])]
    return "\n\n".join([*head, *(_block(block) for block in document.blocks)]) + "\n"


def _block(block: Block) -> str:
    if isinstance(block, Heading):
        return f"{'#' * block.level} {escaped(block.text)}"
    if isinstance(block, Paragraph):
        return escaped(block.text)
    if isinstance(block, Figure):
        return f"{escaped(block.title)}: {escaped(block.description)}"
    if isinstance(block, Bullets):
        return "\n".join(f"- {escaped(item)}" for item in block.items)
    return _table(block) if isinstance(block, Table) else _entry(block)


def _entry(entry: Entry) -> str:
    lines = [f"**{escaped(entry.title)}**: {escaped(entry.text)}", ""]
    lines += [f"- {escaped(label)}: {escaped(text)}" for label, text in entry.lines]
    return "\n".join(lines + [f"- + {escaped(text)}" for text in entry.beneath])


def _table(table: Table) -> str:
    def line(cells: list[str]) -> str:
        return "| " + " | ".join(escaped(cell) or " " for cell in cells) + " |"

    rule = "|" + "|".join("---:" if i in table.right else "---" for i in range(len(table.header))) + "|"
    caption = [escaped(table.caption), ""] if table.caption else []
    return "\n".join([*caption, line(table.header), rule, *map(line, table.rows)])
