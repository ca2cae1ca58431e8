"""Sizes inside free text: boards such as 2x4 and 100x100, fasteners such as #8 x 2-1/2 and 10d."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from math import inf, isnan
from typing import Any

from ..library import Library
from ..units import NotASize, number, plain, size_mm

BARE_NAIL, PENNY = "nail", "penny"
"""Kind of a penny size that names no nail, and where its name is kept until the kind of nail is known."""
GAUGE = "gauge"
"""Where the number of a gauge is kept until the kind of fastener is known: a screw's gauge is not a staple's."""
_GAUGE_WORD = re.compile(r"(?<=\d)\s?-?(?:gauge|gage|ga)\b\.?")
SCREW = "screw"
DIAMETER_BELOW_MM = 14.0
GAUGE_MOST = 20
BOARD_LEAST_MM = 19
PANEL_BELOW_MM = 100.0
PANEL_INCHES_BELOW = 300
INCH_NAMES_TO = 12
SHEET_FEET_TO = 5
LONGEST_FEET = 24
_VALUE = r"(?:\d+(?:[ -]\d+/\d+)?(?:/\d+)?(?:[.,]\d+)?|\.\d+)"
_MARK = r"(?:\s?(?:mm|cm|m\b|in\b|inch(?:es)?|ft\b|''|[\"']))"
_DIMENSIONS = re.compile(rf"(?<![\w.#/-])(?<!\d,)({_VALUE}{_MARK}?(?:\s?x\s*{_VALUE}{_MARK}?){{1,2}})(?![\w/])")
_LONE = re.compile(rf"(?<![\w.#/-])({_VALUE}{_MARK}|\d+ \d+/\d+|\d+-\d+/\d+|\d+/\d+)(?![\w/])")
_LONG = re.compile(rf"(?<![\w.#/-])({_VALUE}\s?(?:m\b|ft\b|'))(?![\w/'])")
_BY = re.compile(rf"(?<![\w#/.-])(?<!\d,)(m?)({_VALUE}{_MARK}?)\s*x\s*({_VALUE}{_MARK}?)(?![\w/])")
_ONE = re.compile(rf"(?<![\w#/.])(m\d+|{_VALUE}{_MARK}|\d+/\d+)(?![\w/])")
_DECIMAL = re.compile(r"\s*\d+(?:[.,]\d{1,2})?\s*")
_UNIT = re.compile(r"(mm|cm|m|in|inch|inches|ft|''|[\"'])\s*$")
# Other ways to write the x between sizes, each as long as what takes its place: 2 by 4, 4x4-8', 60/160 (no binary fraction).
_OTHER_X = (
    (re.compile(r"(?<=\d)[ -]by[ -](?=\d)"), " x  "),
    (re.compile(r"(?<=x\d)-(?=\d{1,2}(?![\d/]))|(?<=x\d\d)-(?=\d{1,2}(?![\d/]))"), "x"),
    (re.compile(r"(?<![\d./-])(\d{2,3})/(?!(?:16|32|64)\b)(?=\d{2,3}\b)"), r"\1x"),
    (re.compile("[ø⌀]"), " "),
)
_SPACING = re.compile(rf"{_VALUE}{_MARK}?(?=\s?(?:oc|o\.c|on cent|cent(?:er|re)s)\b)")
_SHEET_THEN_FRACTION = re.compile(r"(?<=x\d) (?=\d+/\d)|(?<=x\d\d) (?=\d+/\d)|(?<=x \d) (?=\d+/\d)")


@dataclass(frozen=True)
class Context:
    """What decides between meanings: units of bare numbers, and the continent of trade names.

    near  are the nearest listed words looked up for a word that is on no list?
    """

    units: str
    scheme: str
    near: bool = True


@dataclass(frozen=True)
class Stock:
    """What the other words say of the stock.

    panel      a panel's sizes come in any order, and a sheet's in feet
    nominal    False where the text calls its sizes actual
    wood_kind  softwood, hardwood or blank for unknown
    """

    panel: bool = False
    nominal: bool = True
    wood_kind: str = ""
    words: frozenset[str] = frozenset()


def spelt(text: str, library: Library) -> str:
    """The text with sizes in figures: two by four as 2x4, half inch as 1/2 inch."""
    pattern, written = _spelt(library)
    return pattern.sub(lambda match: written[match[0].replace("-", " ")], text)


@lru_cache(maxsize=4)
def _spelt(library: Library) -> tuple[re.Pattern[str], dict[str, str]]:
    table = library.table("spelt_sizes")
    written = dict(zip(table.words("phrase"), table.words("written"), strict=True))
    either = "|".join(phrase.replace(" ", "[ -]") for phrase in sorted(written, key=len, reverse=True))
    return re.compile(rf"\b(?:{either})\b"), written


def take_sizes(text: str, seen: str, library: Library, context: Context, stock: Stock) -> tuple[dict[str, Any], str]:
    """Sizes in a text, and the text without them; `seen` is the text, as long, with what is no size blotted out."""
    seen = _SPACING.sub(lambda match: "_" * len(match[0]), seen)
    for pattern, other in _OTHER_X:
        seen = pattern.sub(other, seen)
    if stock.panel:
        return _take_sheet(text, _SHEET_THEN_FRACTION.sub(";", seen), library, context)
    for pattern in (_DIMENSIONS, _LONE):
        match = pattern.search(seen)
        sets = dimensions(match[1], library, context, stock) if match else {}
        if match and sets:
            long = None if "length_mm" in sets else _LONG.search(seen, match.end())
            if long:
                sets["length_mm"] = size_mm(long[1], context.units)
            return sets, _without(text, *filter(None, (match, long)))
    return _named_size(library, context, stock, seen), text


def _without(text: str, *taken: re.Match[str]) -> str:
    """The text with spaces where sizes stood."""
    for match in taken:
        text = text[: match.start()] + " " * (match.end() - match.start()) + text[match.end() :]
    return text


def _take_sheet(text: str, seen: str, library: Library, context: Context) -> tuple[dict[str, Any], str]:
    """Sizes of a panel in any order: the least is the thickness; bare 4x8 is a sheet in feet, never a nominal size."""
    taken = list(_DIMENSIONS.finditer(seen))
    taken += _LONE.finditer(_without(seen, *taken))
    try:
        found = sorted(size for match in taken for size in _panel_sizes(match[1].split("x"), context))
    except NotASize:
        return {}, text
    names = ("thickness_mm", "width_mm", "length_mm")[0 if found and found[0] < PANEL_BELOW_MM else 1 :]
    sets = _within(dict(zip(names, found, strict=False)), library) if len(found) <= len(names) else {}
    return (sets, _without(text, *taken)) if sets else ({}, text)


def _panel_sizes(pieces: list[str], context: Context) -> list[float]:
    """Sizes of one group; two bare whole numbers such as 4x8 are feet: sheets are 2 to 5 ft wide and up to 12 long."""
    bare = [number(piece) for piece in pieces if _DECIMAL.fullmatch(piece)]
    whole = len(bare) > 1 and all(value.is_integer() for value in bare)
    feet = whole and min(bare) <= SHEET_FEET_TO and max(bare) <= INCH_NAMES_TO
    inches = context.units == "in" and max(bare, default=0) < PANEL_INCHES_BELOW
    unit = "ft" if feet else _unit_after(pieces) or ("in" if inches else "mm")
    return [size_mm(piece, "in" if "/" in piece else unit) for piece in pieces]


def dimensions(text: str, library: Library, context: Context, stock: Stock | None = None) -> dict[str, Any]:
    """Thickness, width and length of `2x4`, `2x4x8`, `100x100` or `3/4`; nominal names become actual sizes.

    {} for a text that is none, and for a size that no board has.
    """
    pieces = plain(text).split("x")
    nominal = _nominal(pieces, library, context, stock or Stock())
    if nominal or (context.units == "mm" and len(pieces) > 1 and all(_is_inch_name(piece) for piece in pieces[:2])):
        return nominal
    try:
        units = _units_of(pieces, context)
        found = [
            size_mm(piece if _unit(piece) else piece + _unit_after(pieces[i:]), units) for i, piece in enumerate(pieces)
        ]
    except NotASize:
        return {}
    return _within(
        dict(zip(("thickness_mm", "width_mm", "length_mm"), _in_order(found, library), strict=False)), library
    )


def _is_inch_name(piece: str) -> bool:
    """A bare whole number so small that it can only be inches: no board is 4 mm by 2."""
    return piece.strip().isdigit() and int(piece) <= INCH_NAMES_TO


def _in_order(found: list[float], library: Library) -> list[float]:
    """Thickness before width; a first size that no thickness reaches is the length: 2400 x 100 x 25."""
    thickest = (library.register.facts["parts"]["thickness_mm"].bounds or (0, inf))[1]
    return sorted(found) if found[0] > thickest else [*sorted(found[:2]), *found[2:]]


def _within(sizes: dict[str, float], library: Library) -> dict[str, Any]:
    """The sizes, or none of them where one lies outside its bounds."""
    facts = library.register.facts["parts"]
    bounds = {key: facts[key].bounds or (0, inf) for key in sizes}
    return sizes if all(bounds[key][0] <= value <= bounds[key][1] for key, value in sizes.items()) else {}


def _nominal(pieces: list[str], library: Library, context: Context, stock: Stock) -> dict[str, Any]:
    """Actual sizes of a nominal name, with the length that may follow: a bare one up to 24 is in feet; {} if none."""
    first = [re.sub("\"|''", "", "".join(piece.split())) for piece in pieces[:2]]
    ordered = sorted(first, key=int) if all(piece.isdigit() for piece in first) else first
    name = "x".join(ordered)
    sizes = _row_sizes(name, library, context, stock)
    if sizes and len(pieces) > 2:
        bare = not _unit(pieces[2])
        try:
            feet = bare and number(pieces[2]) <= LONGEST_FEET
            sizes["length_mm"] = size_mm(pieces[2] + (" ft" if feet else ""), "in" if bare else context.units)
        except NotASize:
            return {}
    return {**sizes, "nominal_size": "yes", "size_as_written": "x".join(first)} if sizes else {}


def _row_sizes(name: str, library: Library, context: Context, stock: Stock) -> dict[str, float]:
    """The row of a nominal name that fits the words and the wood best; the scheme's own rows before the others."""
    rows = [row for row in _rows_by_name(library).get(name, []) if stock.nominal and _fits(row, stock)]
    own = [row for row in rows if row["region"] == context.scheme] or rows
    if not own:
        return {}
    best = max(own, key=lambda row: (bool(row["with_word"]), bool(row["wood_kind"]) == bool(stock.wood_kind)))
    return {key: float(best[key]) for key in ("thickness_mm", "width_mm") if best[key]}


def _fits(row: dict[str, str], stock: Stock) -> bool:
    words = set(filter(None, row["with_word"].split("; ")))
    kind = row["wood_kind"]
    return (not words or bool(words & stock.words)) and (not kind or stock.wood_kind in ("", kind))


@lru_cache(maxsize=4)
def _rows_by_name(library: Library) -> dict[str, list[dict[str, str]]]:
    out: dict[str, list[dict[str, str]]] = {}
    for row in library.table("nominal_sizes").records():
        out.setdefault(row["name"], []).append(row)
    return out


def _named_size(library: Library, context: Context, stock: Stock, text: str) -> dict[str, Any]:
    """Sizes of a product whose name alone tells them: a railroad tie."""
    names = [name for name in _rows_by_name(library) if name[0].isalpha() and name in text]
    for name in names:
        if sizes := _row_sizes(name, library, context, stock):
            return {**sizes, "nominal_size": "yes", "size_as_written": name}
    return {}


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
    rest = _GAUGE_WORD.sub(" gauge", plain(text))
    match = _named(library).search(rest)
    if match is None:
        return _plain_size(rest, library, context)
    table = library.table("fastener_sizes")
    row = table.index[match[1]]
    length = _length(match[2], context) if match[2] else float(table.numbers("length_mm")[row])
    sets = _known({"size_diameter_mm": float(table.numbers("diameter_mm")[row]), "size_length_mm": length})
    kind = table.words("kind")[row]
    if rest.strip() in _stock_nails(library):
        sets["size_diameter_mm"] = _stock_nails(library)[rest.strip()]
    elif kind == BARE_NAIL:
        sets[PENNY] = match[1]
    elif kind == SCREW:
        sets[GAUGE] = float(re.sub(r"\D", "", match[1]))
    if kind in library.register.facts["joints"]["fastener_kind"].values:
        sets["fastener_kind"] = kind
    return sets, _without(rest, match)


@lru_cache(maxsize=4)
def _stock_nails(library: Library) -> dict[str, float]:
    """Shanks of the nails of the trade by the name that the schedule prints: 20d (4 in)."""
    table = library.table("fastener_stock")
    rows = zip(table.words("name"), table.words("family"), table.numbers("diameter_mm"), strict=True)
    return {plain(name): float(shank) for name, family, shank in rows if family == "nail"}


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
        sets: dict[str, Any] = _known({"size_diameter_mm": diameter, "size_length_mm": length})
        return {**sets, **_gauge(match[1], match[2], match[3], context)}, _without(rest, match)
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


def _is_gauge(metric: str, text: str, length: str, context: Context) -> bool:
    """A bare whole number before an inch length is a gauge; with M or in millimetres it is a diameter."""
    return (
        not metric
        and text.strip().isdigit()
        and not (context.units == "mm" or _unit(length) in ("mm", "cm") or not _small(length))
    )


def _gauge(metric: str, text: str, length: str, context: Context) -> dict[str, float]:
    return {GAUGE: float(text)} if _is_gauge(metric, text, length, context) else {}


def _diameter(metric: str, text: str, length: str, library: Library, context: Context) -> float:
    if _is_gauge(metric, text, length, context):
        table = library.table("fastener_sizes")
        row = table.index.get(f"#{text.strip()}")
        return float(table.numbers("diameter_mm")[row]) if row is not None else float("nan")
    if metric or text.strip().isdigit():
        return size_mm(text, "mm")
    return size_mm(text, "in" if "/" in text else context.units)
