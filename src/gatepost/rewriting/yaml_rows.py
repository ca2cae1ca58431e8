"""Rows that stand in the project file itself: the text edited where the value stands, comments and order kept."""

from __future__ import annotations

import copy
import json
from typing import Any

import yaml

from .. import yamlfile
from ..errors import InputError, Problem
from ..library import Over
from .plan import Edit

Piece = tuple[int, int, str]
"""Where a text begins and ends, and what takes its place."""

MOVE = "move the rows to a CSV file beside the project and name it here"


def changed_yaml(data: bytes, place: str, edits: dict[Over, list[Edit]]) -> bytes:
    """The bytes of a project file with the edits of its rows made; InputError where a row is written too freely."""
    text = data.decode("utf-8-sig")
    mark = data[: len(data) - len(text.encode())]
    _refuse_anchors(text, place)
    root: Any = yaml.compose(text, yaml.BaseLoader)
    lists = {key.value: node for key, node in root.value}
    pieces = [piece for over, some in edits.items() for piece in _pieces(text, place, lists[over], some)]
    out = text
    ordered = sorted(pieces, key=lambda piece: piece[:2])
    for start, end, new in ordered[::-1]:
        out = out[:start] + new + out[end:]
    if _told(yamlfile.load(out, place).data) != _told(_expected(yamlfile.load(text, place).data, edits)):
        raise InputError([Problem(place, None, None, f"cannot be changed safely; {MOVE}")])
    return mark + out.encode()


def _refuse_anchors(text: str, place: str) -> None:
    """A value that stands in several places cannot be changed in one."""
    events: Any = yaml.parse(text, yaml.BaseLoader)
    for event in events:
        if getattr(event, "anchor", None):
            line = event.start_mark.line + 1
            raise InputError([Problem(place, line, None, f"rows with anchors or aliases cannot be changed; {MOVE}")])


def _expected(data: dict[str, Any], edits: dict[Over, list[Edit]]) -> dict[str, Any]:
    out = copy.deepcopy(data)
    for over, some in edits.items():
        for edit in some:
            if edit.at:
                out[over][edit.at - 1][edit.heading] = edit.text
    return out


def _told(value: Any) -> Any:
    """Plain data with every number as its text."""
    if isinstance(value, dict):
        return {key: _told(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_told(inner) for inner in value]
    return value if value is None or isinstance(value, bool) else str(value)


def _pieces(text: str, place: str, rows: Any, edits: list[Edit]) -> list[Piece]:
    """The edits of one list as pieces of text; those of its heading (row 0) have no place in YAML."""
    by_row: dict[int, list[Edit]] = {}
    for edit in edits:
        if edit.at:
            by_row.setdefault(edit.at - 1, []).append(edit)
    return [piece for at, some in by_row.items() for piece in _row_pieces(text, place, rows.value[at], some)]


def _row_pieces(text: str, place: str, row: Any, edits: list[Edit]) -> list[Piece]:
    values = {key.value: node for key, node in row.value}
    out, new = [], []
    for edit in edits:
        node = values.get(edit.heading)
        if node is None:
            new.append(f"{_scalar(edit.heading, False)}: {_scalar(edit.text, False)}")
        else:
            out.append(_replaced(text, place, node, edit.text))
    return out + ([_added(text, place, row, new)] if new else [])


def _replaced(text: str, place: str, node: Any, new: str) -> Piece:
    start, end = node.start_mark.index, node.end_mark.index
    _refuse_long(node, place)
    blank = " " if start == end and text[start - 1] == ":" else ""
    return start, end, blank + _scalar(new, getattr(node, "style", None) in ("'", '"'))


def _added(text: str, place: str, row: Any, new: list[str]) -> Piece:
    """Keys put after the last one of a row: on the same line between braces, else on lines of their own."""
    key, last = row.value[-1]
    _refuse_long(last, place)
    end = last.end_mark.index
    if row.flow_style:
        return end, end, "".join(f", {one}" for one in new)
    if key.start_mark.line != last.end_mark.line:
        raise InputError([Problem(place, key.start_mark.line + 1, key.value, f"cannot be added to here; {MOVE}")])
    line_end = "\r\n" if "\r\n" in text else "\n"
    stop = next((at for at in range(end, len(text)) if text[at] in "\r\n"), len(text))
    indent = " " * row.value[0][0].start_mark.column
    return stop, stop, "".join(f"{line_end}{indent}{one}" for one in new)


def _refuse_long(node: Any, place: str) -> None:
    """Values over several lines, tagged or nested in other ways than a list between brackets, are left alone."""
    simple = isinstance(node, yaml.ScalarNode) and node.style not in ("|", ">")
    short = node.start_mark.line == node.end_mark.line
    if not (short and (simple or (isinstance(node, yaml.SequenceNode) and node.flow_style))):
        raise InputError([Problem(place, node.start_mark.line + 1, None, f"cannot be changed here; {MOVE}")])


def _scalar(text: str, quoted: bool) -> str:
    """The text as a value that reads back as itself in a row of either shape."""
    if not quoted and text and _reads_back(text):
        return text
    return json.dumps(text, ensure_ascii=False)


def _reads_back(text: str) -> bool:
    """Plain words mean themselves both between braces and on a line of their own."""
    try:
        rows = [yamlfile.load(form, "").data for form in (f"{{a: {text}, b: c}}", f"a: {text}\nb: c")]
    except InputError:
        return False
    return all(
        set(row) == {"a", "b"} and row["a"] is not None and not isinstance(row["a"], bool) and str(row["a"]) == text
        for row in rows
    )
