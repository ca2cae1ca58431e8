"""A document as one HTML page that prints plainly in black on white."""

from __future__ import annotations

import re
from html import escape

from .blocks import Block, Bullets, Document, Entry, Heading, Paragraph, Table

STYLE = """
body { font: 11pt/1.4 Georgia, "Times New Roman", serif; color: #111; background: #fff; max-width: 60em; margin: 2em auto; padding: 0 1em; }
h1 { font-size: 1.6em; border-bottom: 2px solid #111; padding-bottom: .2em; }
h2 { font-size: 1.25em; border-bottom: 1px solid #555; margin-top: 1.6em; break-after: avoid; }
h3 { font-size: 1.05em; break-after: avoid; }
.line { color: #333; }
table { border-collapse: collapse; width: 100%; font-size: .88em; margin: .8em 0; }
caption { text-align: left; font-style: italic; padding-bottom: .3em; break-after: avoid; }
th, td { border: 1px solid #777; padding: .25em .45em; text-align: left; vertical-align: top; overflow-wrap: break-word; }
th { background: #eee; overflow-wrap: normal; }
td.n, th.n { text-align: right; white-space: nowrap; }
thead { display: table-header-group; }
tr, .entry { break-inside: avoid; }
.entry { border-left: 3px solid #555; padding-left: .8em; margin: 1em 0; }
.entry p { margin: .2em 0; overflow-wrap: anywhere; }
.entry dl { display: grid; grid-template-columns: 6em 1fr; gap: .15em .6em; margin: .3em 0; }
.entry dt { font-style: italic; } .entry dd { margin: 0; overflow-wrap: anywhere; }
@page { margin: 15mm; }
@media print { body { margin: 0; max-width: none; font-size: 9.5pt; } }
"""


def clean(text: str) -> str:
    """Text escaped for HTML, without control characters."""
    return escape(re.sub(r"[\x00-\x1f\x7f]", " ", text))


def render(document: Document) -> str:
    """A whole page; no script, no network."""
    body = "\n".join(_block(block) for block in document.blocks)
    line = f'<p class="line">{clean(document.line)}</p>' if document.line else ""
    return (
        f'<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{clean(document.title)}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<main>\n"
        f"<h1>{clean(document.title)}</h1>\n{line}\n{body}\n</main>\n</body>\n</html>\n"
    )


def _block(block: Block) -> str:
    if isinstance(block, Heading):
        return f"<h{block.level}>{clean(block.text)}</h{block.level}>"
    if isinstance(block, Paragraph):
        return f"<p>{clean(block.text)}</p>"
    if isinstance(block, Bullets):
        return "<ul>" + "".join(f"<li>{clean(item)}</li>" for item in block.items) + "</ul>"
    return _table(block) if isinstance(block, Table) else _entry(block)


def _entry(entry: Entry) -> str:
    lines = "".join(f"<dt>{clean(label)}</dt><dd>{clean(text)}</dd>" for label, text in entry.lines)
    beneath = "".join(f"<li>{clean(text)}</li>" for text in entry.beneath)
    return (
        f'<div class="entry"><p><strong>{clean(entry.title)}</strong>: {clean(entry.text)}</p>'
        + (f"<dl>{lines}</dl>" if lines else "")
        + (f"<ul>{beneath}</ul>" if beneath else "")
        + "</div>"
    )


def _table(table: Table) -> str:
    def cells(tag: str, row: list[str], scope: str = "") -> str:
        return "".join(
            f"<{tag}{' class=n' if i in table.right else ''}{scope}>{clean(cell)}</{tag}>" for i, cell in enumerate(row)
        )

    caption = f"<caption>{clean(table.caption)}</caption>" if table.caption else ""
    head = f"<thead><tr>{cells('th', table.header, ' scope=col')}</tr></thead>"
    rows = "".join(f"<tr>{cells('td', row)}</tr>" for row in table.rows)
    return f"<table>{caption}{head}<tbody>{rows}</tbody></table>"
