"""A document as one HTML page that prints plainly in black on white."""

from __future__ import annotations

import re
from html import escape

from .blocks import Block, Bullets, Document, Entry, Figure, Heading, Paragraph, Table
from .plain import plain

STYLE = """
body { font: 11pt/1.4 Georgia, "Times New Roman", serif; color: #111; background: #fff; max-width: 62em; margin: 2em auto; padding: 0 1em; }
h1 { font-size: 1.6em; border-bottom: 2px solid #111; padding-bottom: .2em; overflow-wrap: anywhere; }
h2 { font-size: 1.25em; border-bottom: 1px solid #555; margin-top: 1.6em; break-after: avoid; }
h3 { font-size: 1.05em; break-after: avoid; }
p, li { overflow-wrap: anywhere; orphans: 3; widows: 3; }
.line { color: #333; }
nav ul { padding: 0; margin: .6em 0; columns: 14em; list-style: none; font-size: .92em; }
nav a { color: #111; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: .88em; margin: .8em 0; }
caption { text-align: left; font-style: italic; padding-bottom: .3em; break-inside: avoid; break-after: avoid; }
th, td { border: 1px solid #777; padding: .25em .45em; text-align: left; vertical-align: top; unicode-bidi: plaintext; }
thead th { background: #eee; vertical-align: bottom; }
tbody th { font-weight: normal; }
td.n, th.n { text-align: right; }
td.n { font-variant-numeric: lining-nums tabular-nums; }
thead { display: table-header-group; break-after: avoid; }
tbody tr:first-child { break-before: avoid; }
tr, .entry, figure { break-inside: avoid; }
figure { margin: 1em 0; max-width: 46em; }
figure svg { width: 100%; height: auto; display: block; }
figcaption { font-style: italic; }
table.even { table-layout: fixed; width: calc(100% - 1px); }
table.even tr > :first-child { width: 16%; }
.entry { border-left: 3px solid #555; padding-left: .8em; margin: 1em 0; }
.entry p { margin: .2em 0; }
.entry dl { display: grid; grid-template-columns: 6em 1fr; gap: .15em .6em; margin: .3em 0; }
.entry dt { font-style: italic; } .entry dd { margin: 0; overflow-wrap: anywhere; }
@page { margin: 15mm; }
@media print {
  body { margin: 0; padding: 0; max-width: none; font-size: 9.5pt; }
  table { font-size: 7.5pt; }
  th, td { border-width: .5pt; }
  .wide { overflow: visible; }
  nav { display: none; }
}
"""
MANY_HEADINGS = 6
"""A page with so many headings begins with links to them."""
ONE_PAGE = """
main > * { margin-top: .7em; margin-bottom: .7em; }
figure { max-width: none; }
li { margin: 0; }
table { font-size: 1em; }
h2 { font-size: 1.1em; }
@page { margin: 11mm; }
@media print {
  body { font-size: 8pt; line-height: 1.2; }
  h1 { font-size: 1.7em; }
  table { font-size: 1em; }
  th, td { padding: .12em .4em; }
  main > *, main > h1, .wide > table { margin-top: 1.1mm; margin-bottom: 1.1mm; }
  li { line-height: 1.25; }
}
"""
"""Type and spaces of a document that fits on one page of A4 or Letter."""
ROOMY = """
@media print { body { font-size: 8.7pt; } }
"""
"""The same where no table has more than so many columns."""
ROOMY_COLUMNS = 3
_SPOKEN = re.compile(r'\s(?:role|aria-[a-z]+)="[^"]*"')
_OWN_TITLE = re.compile(r"<title\b[^>]*>[^<]*</title>")
_OWN_WORDS = re.compile(r"<desc\b[^>]*>([^<]*)</desc>")
_NAMED = re.compile(r'(\bid="|(?:xlink:)?href="#|url\(#)')


_LONG = re.compile(r"[^\s-]{20}(?=[^\s-]{10})")


def clean(text: str) -> str:
    """Text escaped for HTML, without control characters."""
    return escape(plain(text))


def render(document: Document) -> str:
    """A whole page; no script, no network."""
    body = "\n".join(_block(block, number) for number, block in enumerate(document.blocks))
    body = _contents(document) + body
    style = STYLE + (_one_page(document) if document.one_page else "")
    line = f'<p class="line">{clean(document.line)}</p>' if document.line else ""
    return (
        f'<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{clean(document.title)}</title>\n<style>{style}</style>\n</head>\n<body>\n<main>\n"
        f"<h1>{clean(document.title)}</h1>\n{line}\n{body}\n</main>\n</body>\n</html>\n"
    )


def _contents(document: Document) -> str:
    """Links to the parts of a long page."""
    heads = [(n, block) for n, block in enumerate(document.blocks) if isinstance(block, Heading) and block.level == 2]
    if document.one_page or len(heads) < MANY_HEADINGS:
        return ""
    links = "".join(f'<li><a href="#h{number}">{clean(head.text)}</a></li>' for number, head in heads)
    return f'<nav aria-label="Contents"><ul>{links}</ul></nav>\n'


def _one_page(document: Document) -> str:
    columns = max((len(block.header) for block in document.blocks if isinstance(block, Table)), default=0)
    return ONE_PAGE + (ROOMY if columns <= ROOMY_COLUMNS else "")


def _block(block: Block, number: int) -> str:
    if isinstance(block, Heading):
        name = f' id="h{number}"' if block.level == 2 else ""
        return f"<h{block.level}{name}>{clean(block.text)}</h{block.level}>"
    if isinstance(block, Paragraph):
        return f"<p>{clean(block.text)}</p>"
    if isinstance(block, Bullets):
        return "<ul>" + "".join(f"<li>{clean(item)}</li>" for item in block.items) + "</ul>"
    if isinstance(block, Figure):
        return _figure(block, f"f{number}-")
    return _table(block) if isinstance(block, Table) else _entry(block)


def _figure(figure: Figure, name: str) -> str:
    """The drawing within the page; its names are made its own, since other drawings use the same."""
    drawing = _NAMED.sub(lambda match: match[1] + name, figure.svg[figure.svg.index("<svg") :].strip())
    tag, rest = drawing.split(">", 1)
    # A drawing may bring a title and words of its own, for where it stands alone: here the figure's name it.
    tag, own = _SPOKEN.sub("", tag), _OWN_WORDS.search(rest)
    words = clean(figure.description) + (f" {own[1]}" if own else "")
    rest = _OWN_WORDS.sub("", _OWN_TITLE.sub("", rest, count=1), count=1)
    said = f'<title id="{name}title">{clean(figure.title)}</title><desc id="{name}desc">{words}</desc>'
    known = f'{tag} role="img" aria-labelledby="{name}title" aria-describedby="{name}desc">{said}{rest}'
    return f"<figure>{known}<figcaption>{clean(figure.title)}</figcaption></figure>"


def _entry(entry: Entry) -> str:
    lines = "".join(f"<dt>{clean(label)}</dt><dd>{clean(text)}</dd>" for label, text in entry.lines)
    beneath = "".join(f"<li>{clean(text)}</li>" for text in entry.beneath)
    return (
        f'<div class="entry"><p><strong>{clean(entry.title)}</strong>: {clean(entry.text)}</p>'
        + (f"<dl>{lines}</dl>" if lines else "")
        + (f"<ul>{beneath}</ul>" if beneath else "")
        + "</div>"
    )


def _breakable(text: str) -> str:
    """Text of a cell; a very long word may be broken, so that it does not push the table off the paper."""
    return "<wbr>".join(clean(piece) for piece in _LONG.sub(lambda match: match[0] + "\n", plain(text)).split("\n"))


def _table(table: Table) -> str:
    def cell(text: str, column: int, head: str = "") -> str:
        """The first cell of a row names the row; a corner without words names nothing."""
        scope = (head or ("row" if column == 0 else "")) if text.strip() else ""
        tag, said = ("th", f' scope="{scope}"') if scope else ("td", "")
        number = ' class="n"' if column in table.right else ""
        return f"<{tag}{number}{said}>{_breakable(text)}</{tag}>"

    def cells(row: list[str], head: str = "") -> str:
        return "<tr>" + "".join(cell(text, column, head) for column, text in enumerate(row)) + "</tr>"

    caption = f"<caption>{clean(table.caption)}</caption>" if table.caption else ""
    rows = "\n".join(cells(row) for row in table.rows)
    head = f"<thead>{cells(table.header, 'col')}</thead>"
    even = ' class="even"' if table.even else ""
    return f'<div class="wide"><table{even}>{caption}{head}<tbody>{rows}</tbody></table></div>'
