"""A document as text for a terminal."""

from __future__ import annotations

import shutil
import textwrap

from tabulate import tabulate

from .blocks import Block, Bullets, Document, Entry, Figure, Heading, Paragraph, Table
from .plain import plain

LABEL_WIDTH = 9
MOST_WIDTH = 110
LEAST_WIDTH = 60
CELL_LEAST = 10


def render(document: Document, width: int | None = None) -> str:
    """Text, wrapped to the terminal (60 to 110 characters)."""
    width = width or max(LEAST_WIDTH, min(MOST_WIDTH, shutil.get_terminal_size((100, 24)).columns))
    head = [document.title, *textwrap.wrap(document.line, width)]
    text = "\n".join([*head, "", *(_block(block, width) for block in document.blocks)]).rstrip()
    return "\n".join(plain(line) for line in text.split("\n")) + "\n"


def _block(block: Block, width: int) -> str:
    if isinstance(block, Heading):
        return f"{block.text}\n{('=' if block.level == 2 else '-') * min(len(block.text), width)}"
    if isinstance(block, Paragraph):
        return textwrap.fill(block.text, width) + "\n"
    if isinstance(block, Figure):
        return textwrap.fill(f"{block.title}: {block.description}", width) + "\n"
    if isinstance(block, Bullets):
        return (
            "\n".join(textwrap.fill(item, width, initial_indent="- ", subsequent_indent="  ") for item in block.items)
            + "\n"
        )
    return _table(block, width) if isinstance(block, Table) else _entry(block, width)


def _entry(entry: Entry, width: int) -> str:
    lines = [textwrap.fill(f"{entry.title}: {entry.text}", width, subsequent_indent="  ")]
    for label, text in entry.lines:
        start = f"  {label:<{LABEL_WIDTH}}"
        lines.append(textwrap.fill(text, width, initial_indent=start, subsequent_indent=" " * len(start)))
    for text in entry.beneath:
        lines.append(textwrap.fill(text, width, initial_indent="  + ", subsequent_indent="    "))
    return "\n".join(lines) + "\n"


def _table(table: Table, width: int) -> str:
    align = ["right" if i in table.right else "left" for i in range(len(table.header))]
    limits = _limits(table, width)
    rows = [[_wrapped(cell, limits[i]) for i, cell in enumerate(row)] for row in table.rows]
    header = [_wrapped(cell, limits[i]) for i, cell in enumerate(table.header)]
    text = tabulate(
        rows,
        header,
        tablefmt="simple",
        disable_numparse=True,
        colalign=align if rows else None,
        preserve_whitespace=False,
    )
    return (f"{table.caption}\n\n" if table.caption else "") + text + "\n"


def _wrapped(cell: str, limit: int) -> str:
    return "\n".join(textwrap.wrap(cell, limit)) if len(cell) > limit else cell


def _limits(table: Table, width: int) -> list[int]:
    """Widest cells first give way until the table fits; columns of numbers keep their width."""
    wanted = [max([len(head), *(len(row[i]) for row in table.rows)]) for i, head in enumerate(table.header)]
    room = width - 2 * (len(wanted) - 1)
    while sum(wanted) > room and max(wanted) > CELL_LEAST:
        wanted[wanted.index(max(wanted))] -= 1
    return wanted
