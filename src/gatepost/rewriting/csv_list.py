"""CSV with changed cells: every other byte stays, the signs, quotes, encoding and line ends of the shop among them."""

from __future__ import annotations

import re

from ..errors import InputError, Problem
from ..reading.files import csv_rows, decoded, delimiter
from .plan import Edit

_LINES = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+\Z")
_END = re.compile(r"(?:\r\n|\r|\n)?\Z")


def changed_csv(data: bytes, place: str, edits: list[Edit]) -> bytes:
    """The bytes of a CSV list with the edits made; InputError where the list cannot hold a text."""
    file = decoded(data, place)
    sign, first_lines = delimiter(file.text), csv_rows(data, place).lines
    lines = _LINES.findall(file.text)
    starts = [line - 1 for line in first_lines] + [len(lines)]
    by_row: dict[int, dict[int, str]] = {}
    for edit in edits:
        by_row.setdefault(edit.at, {})[edit.column] = edit.text
    for at in sorted(by_row, reverse=True):
        here = slice(starts[at], starts[at + 1])
        lines[here] = [_changed_record("".join(lines[here]), sign, by_row[at])]
    try:
        return file.mark + "".join(lines).encode(file.encoding)
    except UnicodeEncodeError as error:
        what = f'cannot hold "{error.object[error.start : error.end]}" in its encoding; save the list as UTF-8'
        raise InputError([Problem(place, None, None, what)]) from None


def _changed_record(record: str, sign: str, texts: dict[int, str]) -> str:
    """One row, its line end kept, with the cells of `texts` replaced; a short row is filled up with blanks."""
    end = _END.search(record)
    body = record[: end.start()] if end else record
    body += sign * (max(texts) + 1 - len(_spans(body, sign)))
    spans = _spans(body, sign)
    out = body
    for column in sorted(texts, reverse=True):
        start, stop = spans[column]
        out = out[:start] + _cell(texts[column], body[start:stop], sign) + out[stop:]
    return out + record[len(record) if end is None else end.start() :]


def _spans(body: str, sign: str) -> list[tuple[int, int]]:
    """Where each cell of a row begins and ends, its quotes included."""
    spans, start = [], 0
    while True:
        stop = start
        if body.startswith('"', start):
            stop = start + 1
            while body.startswith('""', stop) or not body.startswith('"', stop):
                stop += 2 if body.startswith('""', stop) else 1
        found = body.find(sign, stop)
        spans.append((start, len(body) if found < 0 else found))
        if found < 0:
            return spans
        start = found + 1


def _cell(text: str, old: str, sign: str) -> str:
    """The text as a cell: quoted where it must be or the old one was, else with the blanks that stood around the old."""
    if old.startswith('"') or sign in text or '"' in text:
        return '"' + text.replace('"', '""') + '"'
    if not old.strip():
        return text
    return old[: len(old) - len(old.lstrip())] + text + old[len(old.rstrip()) :]
