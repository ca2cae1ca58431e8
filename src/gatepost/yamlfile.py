"""YAML with places: plain data plus the line of each node, or located problems."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import yaml

from .errors import InputError, Problem
from .limits import file_bytes, limit, over

Path_ = tuple[str | int, ...]

LONGEST_NUMBER = 40

_Loader: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
_WORDS = {"": None, "~": None, "null": None, "true": True, "false": False}


class Located:
    """Plain data read from YAML; `line(path)` tells where a value stands."""

    def __init__(self, data: Any, place: str, lines: dict[Path_, int], problems: list[Problem]) -> None:
        self.data = data
        self.place = place
        self._lines = lines
        self.problems = problems

    def line(self, path: Path_) -> int | None:
        """Line of the value at `path`, or of its nearest parent that has one."""
        while path and path not in self._lines:
            path = path[:-1]
        return self._lines.get(path)

    def problem(self, path: Path_, what: str, column: str | None = None) -> Problem:
        """A problem at `path`; `column` names it in the message."""
        return Problem(self.place, self.line(path), column, what)


def load(text: str, place: str, strict: bool = True) -> Located:
    """Read YAML text; duplicate keys, aliases that point at themselves and over-deep data are refused.

    strict  False: duplicate keys stand in `.problems` of the result instead, so that the rest can be checked too
    Only null, true, false and plain numbers are resolved: `no`, `12:30` and dates stay text.
    """
    try:
        node = yaml.compose(text, _Loader)
    except (yaml.YAMLError, ValueError, RecursionError) as error:
        raise InputError([_syntax(error, place)]) from None
    reader = _Reader(place)
    data = reader.value(node, ()) if node is not None else None
    if reader.problems and strict:
        raise InputError(reader.problems)
    return Located(data, place, reader.lines, reader.problems)


def load_file(path: Path, place: str | None = None, strict: bool = True) -> Located:
    """`load` for a file in UTF-8; a file that cannot be read, or is too large, is an InputError."""
    place = place or str(path)
    try:
        text = file_bytes(path, place, "YAML_MB").decode("utf-8-sig")
    except UnicodeDecodeError:
        what = "cannot be read: it is not UTF-8 text; save it as UTF-8"
        raise InputError([Problem(place, None, None, what)]) from None
    return load(text, place, strict)


def _syntax(error: Exception, place: str) -> Problem:
    mark = getattr(error, "problem_mark", None)
    what = getattr(error, "problem", None) or "this is not YAML that can be read"
    return Problem(place, mark.line + 1 if mark else None, None, f"not valid YAML: {what}")


class _Reader:
    def __init__(self, place: str) -> None:
        self.place = place
        self.lines: dict[Path_, int] = {}
        self.problems: list[Problem] = []
        self.seen = 0
        self.most, self.deepest = limit("YAML_VALUES"), limit("YAML_DEPTH")

    def value(self, node: yaml.Node, path: Path_) -> Any:
        line = node.start_mark.line + 1
        self.lines[path] = line
        self.seen += 1
        if len(path) > self.deepest:
            what = over("YAML_DEPTH", "deeper than is read; an alias may point at itself")
            raise InputError([Problem(self.place, line, None, what)])
        if self.seen > self.most:
            what = over("YAML_VALUES", "more values than are read; an alias may stand for many")
            raise InputError([Problem(self.place, line, None, what)])
        if isinstance(node, yaml.MappingNode):
            return self.mapping(node, path)
        if isinstance(node, yaml.SequenceNode):
            return [self.value(child, (*path, i)) for i, child in enumerate(node.value)]
        return plain(node)

    def mapping(self, node: yaml.MappingNode, path: Path_) -> dict[str, Any]:
        out: dict[str, Any] = {}
        for key_node, child in node.value:
            if not isinstance(key_node, yaml.ScalarNode):
                self.complain(key_node, None, "a key must be a plain word")
                continue
            key = str(key_node.value)
            if key in out:
                self.complain(
                    key_node, key, f"the key stands twice here; keep one (first on line {self.lines[(*path, key)]})"
                )
                continue
            out[key] = self.value(child, (*path, key))
        return out

    def complain(self, node: yaml.Node, column: str | None, what: str) -> None:
        self.problems.append(Problem(self.place, node.start_mark.line + 1, column, what))


def plain(node: Any) -> Any:
    """A scalar node as None, bool, int, float or text."""
    text: str = node.value
    if node.style in ("'", '"', "|", ">"):
        return text
    if text.lower() in _WORDS:
        return _WORDS[text.lower()]
    return number_or_text(text)


_WHOLE = re.compile(r"[+-]?(0|[1-9][0-9]*)")
_DECIMAL = re.compile(r"[+-]?[0-9]*\.?[0-9]+([eE][+-]?[0-9]+)?")
_ZEROS = re.compile(r"[+-]?0[0-9]")


def number_or_text(text: str) -> int | float | str:
    """Plain decimal numbers as numbers; `0123`, `1_000` and the like stay text."""
    if len(text) > LONGEST_NUMBER:
        return text
    if _WHOLE.fullmatch(text):
        return int(text)
    return float(text) if _DECIMAL.fullmatch(text) and not _ZEROS.match(text) else text
