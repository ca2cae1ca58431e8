"""Sizes inside free text: boards such as 2x4 and 100x100, fasteners such as #8 x 2-1/2 and 10d."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from math import inf, isnan
from typing import Any

from ..library import Library
from ..units import NotASize, number, plain, size_mm

DIAMETER_BELOW_MM = 14.0
GAUGE_MOST = 20
BOARD_LEAST_MM = 19
LONGEST_FEET = 24
_VALUE = r"(?:\d+(?:[ -]\d+/\d+)?(?:/\d+)?(?:[.,]\d+)?|\.\d+)"
_MARK = r"(?:\s?(?:mm|cm|m\b|in\b|inch(?:es)?|ft\b|''|[\"']))"
_DIMENSIONS = re.compile(rf"(?<![\w.#/-])(?<!\d,)({_VALUE}{_MARK}?(?:\s?x\s?{_VALUE}{_MARK}?){{1,2}})(?![\w/])")
_LONE = re.compile(rf"(?<![\w.#/-])({_VALUE}{_MARK}|\d+ \d+/\d+|\d+-\d+/\d+|\d+/\d+)(?![\w/])")
_BY = re.compile(rf"(?<![\w#/.-])(?<!\d,)(m?)({_VALUE}{_MARK}?)\s*x\s*({_VALUE}{_MARK}?)(?![\w/])")
_ONE = re.compile(rf"(?<![\w#/.])(m\d+|{_VALUE}{_MARK}|\d+/\d+)(?![\w/])")
_DECIMAL = re.compile(r"\s*\d+(?:[.,]\d{1,2})?\s*")
_UNIT = re.compile(r"(mm|cm|m|in|inch|inches|ft|''|[\"'])\s*$")


@dataclass(frozen=True)
class Context:
    """What decides between meanings: units of bare numbers, and the continent of trade names."""

    units: str
    scheme: str


def take_sizes(text: str, library: Library, context: Context) -> tuple[dict[str, Any], str]:
    """Board sizes in a text, and the text without them."""
    for pattern in (_DIMENSIONS, _LONE):
        match = pattern.search(text)
        sets = dimensions(match[1], library, context) if match else {}
        if match and sets:
            return sets, _without(text, match)
    return {}, text


def _without(text: str, match: re.Match[str]) -> str:
    return text[: match.start()] + " " + text[match.end() :]


def dimensions(text: str, library: Library, context: Context) -> dict[str, Any]:
    """Thickness, width and length of `2x4`, `2x4x8`, `100x100` or `3/4`; nominal names become actual sizes.

    {} for a text that is none, and for a size that no board has.
    """
    pieces = plain(text).split("x")
    nominal = _nominal(pieces, library, context)
    if nominal:
        return nominal
    try:
        units = _units_of(pieces, context)
        found = [
            size_mm(piece if _unit(piece) else piece + _unit_after(pieces[i:]), units) for i, piece in enumerate(pieces)
        ]
    except NotASize:
        return {}
    facts = library.register.facts["parts"]
    sizes = dict(zip(("thickness_mm", "width_mm", "length_mm"), found, strict=False))
    bounds = {key: facts[key].bounds or (0, inf) for key in sizes}
    return sizes if all(bounds[key][0] <= value <= bounds[key][1] for key, value in sizes.items()) else {}


def _nominal(pieces: list[str], library: Library, context: Context) -> dict[str, Any]:
    """Actual sizes of a nominal name, with the length that may follow: a bare one up to 24 is in feet; {} if none."""
    table, name = library.table("nominal_sizes"), "x".join("".join(piece.split()) for piece in pieces[:2])
    row = table.index.get(name)
    if row is None or table.words("region")[row] != "us":
        return {}
    sizes = {key: float(table.numbers(key)[row]) for key in ("thickness_mm", "width_mm")}
    if len(pieces) > 2:
        bare = not _unit(pieces[2])
        try:
            feet = bare and number(pieces[2]) <= LONGEST_FEET
            sizes["length_mm"] = size_mm(pieces[2] + (" ft" if feet else ""), "in" if bare else context.units)
        except NotASize:
            return {}
    return {**_known(sizes), "nominal_size": "yes", "size_as_written": name}


def _known(sizes: dict[str, float]) -> dict[str, Any]:
    return {name: value for name, value in sizes.items() if not isnan(value)}


def _unit(piece: str) -> str:
    match = _UNIT.search(piece)
    return match[1] if match else ""


def _unit_after(pieces: list[str]) -> str:
    """The first unit that is written: in 25 x 100 mm that of both."""
    return next((unit for piece in pieces if (unit := _unit(piece))), "")


def _units_of(pieces: list[str], context: Context) -> str:
    """Bare numbers from 19 up are millimetres whatever the project's units: no board is 19 inches thick."""
    if all(_DECIMAL.fullmatch(piece) and number(piece) >= BOARD_LEAST_MM for piece in pieces):
        return "mm"
    return "in" if any("/" in piece for piece in pieces) else context.units


def take_fastener_size(text: str, library: Library, context: Context) -> tuple[dict[str, Any], str]:
    """Diameter and length of a fastener in a text, and the text without them."""
    rest = plain(text)
    match = _named(library).search(rest)
    if match is None:
        return _plain_size(rest, library, context)
    table = library.table("fastener_sizes")
    row = table.index[match[1]]
    length = _length(match[2], context) if match[2] else float(table.numbers("length_mm")[row])
    sets = _known({"size_diameter_mm": float(table.numbers("diameter_mm")[row]), "size_length_mm": length})
    kind = table.words("kind")[row]
    if kind in library.register.facts["joints"]["fastener_kind"].values:
        sets["fastener_kind"] = kind
    return sets, _without(rest, match)


@lru_cache(maxsize=4)
def _named(library: Library) -> re.Pattern[str]:
    """All names of fastener sizes, longest first, with a length that may follow."""
    names = sorted(library.table("fastener_sizes").index, key=len, reverse=True)
    either = "|".join(map(re.escape, names))
    return re.compile(rf"(?<![\w#/.])({either})(?!(?!x\s?[\d.])[\w/])(?:\s*x\s*({_VALUE}{_MARK}?))?")


def _plain_size(rest: str, library: Library, context: Context) -> tuple[dict[str, Any], str]:
    match = _BY.search(rest)
    if match:
        diameter = _diameter(match[1], match[2], match[3], library, context)
        length = _length(match[3], context, bool(match[1]))
        return _known({"size_diameter_mm": diameter, "size_length_mm": length}), _without(rest, match)
    match = _ONE.search(rest)
    if match is None:
        return {}, rest
    metric = match[1].startswith("m")
    value = float(match[1][1:]) if metric else size_mm(match[1], context.units)
    key = "size_diameter_mm" if metric or value < DIAMETER_BELOW_MM else "size_length_mm"
    return {key: value}, _without(rest, match)


def _length(text: str, context: Context, metric: bool = False) -> float:
    return size_mm(text, "mm" if metric or not _small(text) else context.units)


def _small(text: str) -> bool:
    """A bare number up to 20 may be inches; above that it is millimetres."""
    return "/" in text or bool(_UNIT.search(text)) or number(text) <= GAUGE_MOST


def _diameter(metric: str, text: str, length: str, library: Library, context: Context) -> float:
    """A bare whole number before an inch length is a screw gauge; with M or in millimetres a diameter."""
    bare = text.strip().isdigit()
    if metric or (bare and (context.units == "mm" or _unit(length) in ("mm", "cm") or not _small(length))):
        return size_mm(text, "mm")
    if bare:
        table = library.table("fastener_sizes")
        row = table.index.get(f"#{text.strip()}")
        return float(table.numbers("diameter_mm")[row]) if row is not None else float("nan")
    return size_mm(text, "in" if "/" in text else context.units)
