"""Free text as shops write it: known phrases set columns, sizes and retentions are read, the rest is left over."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from math import isnan
from typing import Any

from ..library import Library
from ..units import NotASize, number, plain, size_mm

KG_M3_PER_PCF = 16.0185
UNKNOWN = "unknown"
IGNORED = "ignored"
_TOO_SHORT = ("yes", "no", "none", "in", "out")
SIZE = "size"
AMBIGUOUS, MAY_MEAN = "name_is_ambiguous", "name_may_mean"

_VALUE = r"(?:\d+(?:[ -]\d+/\d+)?(?:/\d+)?(?:\.\d+)?|\.\d+)"
_MARK = r"(?:\s?(?:mm|cm|in\b|inch(?:es)?|ft\b|''|[\"']))"
_DIMENSIONS = re.compile(rf"(?<![\w.#/-])({_VALUE}{_MARK}?(?:\s?x\s?{_VALUE}{_MARK}?){{1,2}})(?![\w/])")
_LONE = re.compile(rf"(?<![\w.#/-])({_VALUE}{_MARK}|\d+ \d+/\d+|\d+-\d+/\d+|\d+/\d+)(?![\w/])")
_RETENTION = re.compile(
    r"(?<![\w.])(\d*\.\d+|\d+)\s*(pcf|lb/ft3|lb/ft\^3|kg/m3|kg/m\^3|kg/cu m)(?!\w)|(?<![\w./])(0?\.\d{2,3})(?![\w./])"
)


@dataclass
class Reading:
    """What one cell sets: column to value; words left over; whether the size is a nominal one."""

    sets: dict[str, Any] = field(default_factory=dict)
    left: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Context:
    """What decides between meanings: units of bare numbers, and the continent of trade names."""

    units: str
    scheme: str


def normal(text: str) -> str:
    """Text as phrases are matched: lower case, hyphens and commas as spaces."""
    text = re.sub(r"[,;:()\[\]*+&_]|-(?!\d)|(?<!\d)-|\.(?=\s|$)", " ", plain(text))
    text = re.sub(r"(?<=[a-z])/(?=[a-z])", " ", text)
    return re.sub(r"\s+", " ", text).strip()


@lru_cache(maxsize=64)
def phrases(library: Library, columns: tuple[str, ...], scheme: str) -> dict[str, dict[str, str]]:
    """Every phrase that may set one of `columns`, with what it sets."""
    out: dict[str, dict[str, str]] = {}
    wanted = {*columns, IGNORED}
    for phrase, sets in _words(library).items():
        if not wanted.isdisjoint(sets):
            out[phrase] = {column: value for column, value in sets.items() if column in wanted}
    for over in ("parts", "joints"):
        for column in library.register.facts[over].values():
            if column.name in columns and column.name != "species":
                for value in column.values:
                    if len(columns) == 1 or value not in _TOO_SHORT:
                        out.setdefault(normal(value), {}).setdefault(column.name, value)
    if "species" in wanted:
        out |= _species(library, scheme)
    return out


@lru_cache(maxsize=4)
def _words(library: Library) -> dict[str, dict[str, str]]:
    """Phrases of words.csv with what they set."""
    out: dict[str, dict[str, str]] = {}
    table = library.table("words")
    for column, phrase, value in zip(table.words("column"), table.words("phrase"), table.words("value"), strict=True):
        out.setdefault(phrase, {})[column] = value
    return out


def _species(library: Library, scheme: str) -> dict[str, dict[str, str]]:
    out: dict[str, dict[str, str]] = {}
    for row in library.table("species_names").records():
        if row["region"] not in (scheme, "both") and normal(row["phrase"]) in out:
            continue
        if row["region"] in (scheme, "both") or normal(row["phrase"]) not in out:
            sets = {"species": row["species"] or UNKNOWN}
            if row["ambiguous"] == "yes":
                sets |= {AMBIGUOUS: "yes", MAY_MEAN: row["may_mean"]}
            out[normal(row["phrase"])] = sets
    return out


def read_phrase(text: str, columns: tuple[str, ...], library: Library, context: Context) -> Reading:
    """Read one cell of free text.

    columns  facts that the cell may set; SIZE among them reads sizes too
    """
    reading = Reading()
    rest = plain(text)
    if "retention_kg_m3" in columns:
        rest = _take_retention(rest, reading)
    if SIZE in columns:
        rest = _take_sizes(rest, reading, library, context)
    known = phrases(library, tuple(c for c in columns if c != SIZE), context.scheme)
    _take_phrases(normal(rest).split(), known, reading)
    return reading


def _take_phrases(tokens: list[str], known: dict[str, dict[str, str]], reading: Reading) -> None:
    longest = max((phrase.count(" ") + 1 for phrase in known), default=1)
    at = 0
    while at < len(tokens):
        for length in range(min(longest, len(tokens) - at), 0, -1):
            sets = known.get(" ".join(tokens[at : at + length]))
            if sets is not None:
                _set_all(reading, sets)
                at += length
                break
        else:
            reading.left.append(tokens[at])
            at += 1


def _set(reading: Reading, column: str, value: str) -> None:
    """A plain word beats an earlier "unknown"; the first plain word stays."""
    if column != IGNORED and reading.sets.get(column, UNKNOWN) == UNKNOWN:
        reading.sets[column] = value


def _set_all(reading: Reading, sets: dict[str, str]) -> None:
    """What one phrase sets; a plain wood ends the doubt that an earlier, ambiguous word left."""
    if sets.get("species", UNKNOWN) != UNKNOWN and reading.sets.get("species") == UNKNOWN:
        reading.sets.pop(AMBIGUOUS, None)
        reading.sets.pop(MAY_MEAN, None)
    settled = reading.sets.get("species", UNKNOWN) != UNKNOWN
    for column, value in sets.items():
        if not (settled and column in (AMBIGUOUS, MAY_MEAN)):
            _set(reading, column, value)


def _take_retention(text: str, reading: Reading) -> str:
    match = _RETENTION.search(text)
    if match is None:
        return text
    value = float(match[1] or match[3])
    reading.sets["retention_kg_m3"] = value if (match[2] or "").startswith("kg") else round(value * KG_M3_PER_PCF, 3)
    return text[: match.start()] + " " + text[match.end() :]


def _take_sizes(text: str, reading: Reading, library: Library, context: Context) -> str:
    for pattern in (_DIMENSIONS, _LONE):
        match = pattern.search(text)
        if match:
            sets = dimensions(match[1], library, context)
            if sets:
                reading.sets |= sets
                return text[: match.start()] + " " + text[match.end() :]
    return text


def dimensions(text: str, library: Library, context: Context) -> dict[str, Any]:
    """Thickness and width of `2x4`, `100x100` or `3/4`; nominal names of the trade become actual sizes; {} if none."""
    nominal = library.table("nominal_sizes")
    name = re.sub(r"\s", "", plain(text))
    row = nominal.index.get(name)
    if row is not None and nominal.words("region")[row] == "us":
        width = nominal.numbers("width_mm")[row]
        sets = {
            "thickness_mm": float(nominal.numbers("thickness_mm")[row]),
            "nominal_size": "yes",
            "size_as_written": name,
        }
        return sets if isnan(width) else {**sets, "width_mm": float(width)}
    pieces = plain(text).split("x")
    unit = next((u for piece in reversed(pieces) if (u := _unit(piece))), "")
    try:
        sizes = [size_mm(piece if _unit(piece) else piece + unit, _units_of(pieces, context)) for piece in pieces]
    except NotASize:
        return {}
    return dict(zip(("thickness_mm", "width_mm", "length_mm"), sizes, strict=False))


def _unit(piece: str) -> str:
    match = re.search(r"(mm|cm|in|inch|inches|ft|''|[\"'])\s*$", piece)
    return match[1] if match else ""


def _units_of(pieces: list[str], context: Context) -> str:
    """Bare whole numbers from 19 up are millimetres whatever the project's units: no board is 19 inches thick."""
    if all(re.fullmatch(r"\s*\d+\s*", piece) and int(piece) >= 19 for piece in pieces):
        return "mm"
    return "in" if any("/" in piece for piece in pieces) else context.units


def fastener_size(text: str, library: Library, context: Context) -> tuple[dict[str, Any], str]:
    """Diameter and length out of `#8 x 2-1/2`, `M8 x 100`, `10d`, `3/8 x 6`; and the text that is left."""
    rest = plain(text)
    table = library.table("fastener_sizes")
    for name in sorted(table.index, key=len, reverse=True):
        match = re.search(rf"(?<![\w#/.]){re.escape(name)}(?![\w/])(?:\s*x\s*({_VALUE}{_MARK}?))?", rest)
        if match:
            row = table.index[name]
            length = _length(match[1], context) if match[1] else float(table.numbers("length_mm")[row])
            sets: dict[str, Any] = {
                "size_diameter_mm": float(table.numbers("diameter_mm")[row]),
                "size_length_mm": length,
            }
            if table.words("kind")[row] in library.register.facts["joints"]["fastener_kind"].values:
                sets["fastener_kind"] = table.words("kind")[row]
            return {k: v for k, v in sets.items() if not _is_nan(v)}, rest[: match.start()] + " " + rest[match.end() :]
    return _plain_size(rest, library, context)


def _is_nan(value: Any) -> bool:
    return isinstance(value, float) and isnan(value)


def _plain_size(rest: str, library: Library, context: Context) -> tuple[dict[str, Any], str]:
    match = re.search(rf"(?<![\w#/.])(m?)({_VALUE}{_MARK}?)\s*x\s*({_VALUE}{_MARK}?)(?![\w/])", rest)
    if match:
        sets = {
            "size_diameter_mm": _diameter(match[1], match[2], match[3], library, context),
            "size_length_mm": _length(match[3], context, bool(match[1])),
        }
        return {k: v for k, v in sets.items() if not _is_nan(v)}, rest[: match.start()] + " " + rest[match.end() :]
    match = re.search(rf"(?<![\w#/.])(m\d+|{_VALUE}{_MARK}|\d+/\d+)(?![\w/])", rest)
    if match:
        metric = match[1].startswith("m")
        value = float(match[1][1:]) if metric else size_mm(match[1], context.units)
        key = "size_diameter_mm" if metric or value < DIAMETER_BELOW_MM else "size_length_mm"
        return {key: value}, rest[: match.start()] + " " + rest[match.end() :]
    return {}, rest


DIAMETER_BELOW_MM = 14.0
GAUGE_MOST = 20


def _length(text: str, context: Context, metric: bool = False) -> float:
    return size_mm(text, "mm" if metric else context.units if _small(text) else "mm")


def _small(text: str) -> bool:
    """A bare number up to 20 may be inches; above that it is millimetres."""
    return "/" in text or bool(re.search(r"[a-z\"']", text)) or number(text) <= GAUGE_MOST


def _diameter(metric: str, text: str, length: str, library: Library, context: Context) -> float:
    """A bare whole number before an inch length is a screw gauge; with M or in millimetres a diameter."""
    bare = re.fullmatch(r"\d+", text.strip())
    if metric or (bare and (context.units == "mm" or not _small(length))):
        return size_mm(text, "mm")
    if bare:
        table = library.table("fastener_sizes")
        row = table.index.get(f"#{text.strip()}")
        return float(table.numbers("diameter_mm")[row]) if row is not None else float("nan")
    return size_mm(text, "in" if "/" in text else context.units)


def unlisted(words: Iterable[str]) -> list[str]:
    """Left-over words that say something: those with a letter."""
    return [word for word in words if re.search(r"[a-z]", word)]
