"""One cell to one value, by the kind that the register gives its column."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from ..errors import harmless, nearest
from ..library import UNKNOWN, Column, Library
from ..units import NotASize, number, plain, print_size, size_mm
from .files import DATE, NO_VALUE
from .phrases import SIZE, read_phrase, unlisted
from .sizes import Context, dimensions, take_fastener_size
from .vocabulary import normal, vocabulary

MOST_WORDS = 12
"""Words on no list that stand together, each of which is looked up alone too."""
_YES_NO = {"y": "yes", "n": "no"}
BLANKS = {"", "-", "--", "?", "n/a", "na", "tbd", "unknown", "not known"}
LONGEST_BLANK = max(map(len, BLANKS))
_ERROR = re.compile(r"#(REF|N/A|VALUE|DIV/0|NAME|NULL|NUM|SPILL|CALC)[!?]?")
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*"
_DATE_TYPED = re.compile(
    rf"\d{{1,2}}[-. /]{_MONTH}(?:[-. /]\d{{2,4}})?|{_MONTH}[-. /]\d{{1,4}}|\d{{4}}-\d\d?-\d\d?(?:[T ].*)?"
    r"|\d{1,2}([./])\d{1,2}\1\d{4}",
    re.I,
)
_THOUSAND = re.compile(r"([1-9])\.(\d{3})(?:\s*mm)?")
_SLOPE = re.compile(r"(\d+(?:\.\d+)?)\s*(?::|in|/)\s*(\d+(?:\.\d+)?)")


@dataclass
class Cell:
    """What one cell says: columns it sets, and remarks on words that are on no list."""

    sets: dict[str, Any] = field(default_factory=dict)
    remarks: list[str] = field(default_factory=list)


class Unreadable(ValueError):
    """The cell cannot be read at all; the message says what to write instead."""


def read_cell(text: str, column: Column, library: Library, context: Context) -> Cell:
    """Read one cell; a blank one says nothing. Unreadable for a value that cannot be read."""
    if plain(text) in BLANKS:
        return Cell()
    wrong = _made_by_a_sheet(text, column)
    if wrong:
        raise Unreadable(wrong)
    if column.kind == "text":
        return Cell({column.name: read_text(text)})
    try:
        return _READERS[column.kind](text, column, library, context)
    except NotASize as error:
        raise Unreadable(str(error)) from None


def is_plain_text(column: Column, texts: list[str]) -> bool:
    """Whether the column takes any text, and no sheet left an error or a formula in one."""
    if column.kind != "text":
        return False
    together = "\n" + "\n".join(texts)
    return "\n#" not in together and NO_VALUE not in together


def read_texts(texts: list[str]) -> list[str | None]:
    """Cells of free text, as `read_text` reads each; quick where all are plain letters."""
    together = "|".join(texts)
    if together.isascii() and together.isprintable() and "  " not in together and DATE not in together:
        out: list[str | None] = list(map(str.strip, texts))
        short = np.fromiter(map(len, texts), int, len(texts)) <= LONGEST_BLANK
        for at in np.flatnonzero(short).tolist():
            out[at] = read_text(texts[at])
        return out
    return list(map(read_text, texts))


def read_text(text: str) -> str | None:
    """A cell of free text without signs that do harm; None for a blank one."""
    if len(text) > LONGEST_BLANK and text.isascii() and text.isprintable() and "  " not in text:
        return text.removeprefix(DATE).strip()
    if plain(text) in BLANKS:
        return None
    return harmless(text.removeprefix(DATE)).strip()


def _made_by_a_sheet(text: str, column: Column) -> str | None:
    """What a spreadsheet left in the cell in place of what was typed, and what to do; None where nothing shows it."""
    if text == NO_VALUE:
        return "holds a formula that no program has worked out; open the sheet, save it again, or write the value"
    if _ERROR.fullmatch(text):
        return f"the sheet shows the error {text}; put its formula right or write the value"
    date = text.removeprefix(DATE) if text.startswith(DATE) else text if _DATE_TYPED.fullmatch(text) else None
    if date is None or column.kind == "text":
        return None
    return f"the sheet turned the cell into a date ({date}); format it as text and write the fraction again"


def _size(text: str, column: Column, library: Library, context: Context) -> Cell:
    if column.name in ("thickness_mm", "width_mm") and re.search(r"\dx\d|\d x \d|^\s*\d+/4\s*$", plain(text)):
        sets = dimensions(text, library, context)
        if sets.get("nominal_size") == "yes" or "x" in plain(text):
            return Cell(_checked_size(sets, column, text, context))
    _refuse_thousand(text, column, context)
    return Cell(_checked_size({column.name: size_mm(text, context.units)}, column, text, context))


def _refuse_thousand(text: str, column: Column, context: Context) -> None:
    """1.250 beneath millimetres is a thousand or a decimal, where both can be."""
    match = _THOUSAND.fullmatch(plain(text)) if context.units == "mm" else None
    least, most = column.bounds or (0, math.inf)
    if match and least <= float(match[1] + match[2]) <= most:
        whole = match[1] + match[2]
        raise Unreadable(f'"{text}" may be a thousand or a decimal. Write {whole} or {match[1]},{match[2].rstrip("0")}')


def _checked_size(sets: dict[str, Any], column: Column, text: str, context: Context) -> dict[str, Any]:
    value = sets.get(column.name)
    if value is None:
        raise Unreadable(f'cannot read "{text}" as a size. Write 3/4, 19 mm or 2x4')
    low, high = column.bounds or (0, math.inf)
    if not low <= value <= high:
        hint = _meant_in_mm(text, low, high, context)
        raise Unreadable(f'"{text}" is {print_size(value, "mm")}; it must lie between {low:g} and {high:g} mm{hint}')
    return sets


def _meant_in_mm(text: str, low: float, high: float, context: Context) -> str:
    """A bare number of inches that fits as millimetres is asked about."""
    bare = context.units == "in" and re.fullmatch(r"\d+([.,]\d+)?", plain(text))
    return f"; is {text.strip()} meant in mm? write {text.strip()} mm" if bare and low <= number(text) <= high else ""


def _number(text: str, column: Column, library: Library, context: Context) -> Cell:
    if column.word_column:
        known = vocabulary(library, (column.word_column,), context.scheme).get(normal(text))
        if column.word_column in known:
            return Cell({column.word_column: known[column.word_column]})
    value = _slope(text) if column.name == "pitch_deg" else None
    value = number(_without_unit(text)) if value is None else value
    low, high = column.bounds or (-math.inf, math.inf)
    if not low <= value <= high:
        raise Unreadable(f'"{text}" must lie between {low:g} and {high:g} {column.unit}')
    return Cell({column.name: value})


def _without_unit(text: str) -> str:
    return re.sub(r"\s*(%|°|deg\.?|degrees?|years?|yrs?|y|weeks?|wks?|kg|lbs?|c)\s*$", "", plain(text))


def _slope(text: str) -> float | None:
    """Slopes as 3:12, 3 in 12, 1/40 or 10 %, in degrees."""
    match = _SLOPE.fullmatch(plain(text))
    if match and float(match[2]):
        return math.degrees(math.atan(float(match[1]) / float(match[2])))
    match = re.fullmatch(r"(\d+(?:\.\d+)?)\s*%", plain(text))
    return math.degrees(math.atan(float(match[1]) / 100)) if match else None


def _whole(text: str, column: Column, _library: Library, _context: Context) -> Cell:
    match = re.fullmatch(r"(\d+)(?:\.0+)?\s*(ea|each|pcs?|pieces?|no|off|x|pr|pairs?)?\.?", plain(text))
    if match is None:
        raise Unreadable(f'cannot read "{text}" as a whole number. Write 4')
    value = int(match[1])
    low, high = column.bounds or (0, math.inf)
    if not low <= value <= high:
        raise Unreadable(f'"{text}" must lie between {low:g} and {high:g}')
    return Cell({column.name: value})


def _word(text: str, column: Column, library: Library, context: Context) -> Cell:
    known = vocabulary(library, (column.name,), context.scheme).get(_YES_NO.get(plain(text), normal(text)))
    if column.name in known:
        return Cell({name: value for name, value in known.items() if value != UNKNOWN or name == column.name})
    return Cell({column.name: UNKNOWN}, [_remark(column, text, context)])


def _remark(column: Column, text: str, context: Context) -> str:
    near = nearest(text, column.values) if context.near else []
    return f'{column.written or column.name} "{text.strip()}" is on no list{_meant(near)}'


def _words(text: str, column: Column, library: Library, context: Context) -> Cell:
    if column.name == "grain" and re.fullmatch(r"\d+(\.\d+)?\s*(°|deg|degrees)?", plain(text)):
        return _ring_angle(text)
    cell, found = Cell(), []
    known = vocabulary(library, (column.name,), context.scheme)
    whole = known.get(normal(text))
    for piece in [text] if column.name in whole else re.split(r"[+;,&/]|\band\b", text):
        value = known.get(normal(piece)).get(column.name)
        if value is None and piece.strip():
            cell.remarks.append(_remark(column, piece, context))
        found += [v for v in (value or "").split(" + ") if v and v != UNKNOWN]
    ordered = [value for value in column.values if value in found]
    if len(ordered) > 1 and "none" in ordered:
        ordered.remove("none")
    cell.sets[column.name] = " + ".join(ordered) or UNKNOWN
    return cell


def _ring_angle(text: str) -> Cell:
    value = number(_without_unit(text))
    if not 0 <= value <= 90:
        raise Unreadable(f'"{text}" must be a ring angle between 0 (flat) and 90 (quarter) degrees')
    return Cell({"grain_deg": value, "grain": "flat" if value < 30 else "rift" if value < 60 else "quarter"})


def _phrase(text: str, column: Column, library: Library, context: Context) -> Cell:
    sets, left, reads = phrase_parts(text, column, library, context)
    if not reads:
        sets = {**sets, column.name: text.strip()} if sets else sets
        return Cell(
            sets,
            [f'{column.written} "{text}" cannot be read as a size; write #8 x 2-1/2, 10d or 5 x 80 mm' for _ in left],
        )
    if not column.values:
        sets[column.name] = text.strip()
    elif column.blank != UNKNOWN:
        sets.setdefault(column.name, UNKNOWN)
    return Cell(sets, [_left_over(column, word, reads, library, context) for word in left])


def phrase_parts(
    text: str, column: Column, library: Library, context: Context
) -> tuple[dict[str, Any], list[tuple[str, str]], tuple[str, ...]]:
    """What a free text sets in a column, the words left over (alone, and with the next), and the facts looked for."""
    sets: dict[str, Any] = {}
    rest = text
    if column.over == "joints" and SIZE in column.reads:
        sets, rest = take_fastener_size(text, library, context)
    reads = tuple(c for c in column.reads if not (column.over == "joints" and c == SIZE))
    if not reads:
        return sets, [] if sets else [(text, text)], reads
    reading = read_phrase(rest, reads, library, context)
    sets = {**sets, **reading.sets} if column.over == "joints" else reading.sets
    return sets, unlisted(reading.left), reads


def _left_over(
    column: Column, left: tuple[str, str], reads: tuple[str, ...], library: Library, context: Context
) -> str:
    """A remark that offers the listed names of the nearest phrases: of a misspelt wood, the wood."""
    known = vocabulary(library, tuple(c for c in reads if c != SIZE), context.scheme)
    words, with_next = left
    asked = dict.fromkeys([with_next, words, *words.split()[:MOST_WORDS]]) if context.near else {}
    hits = [hit for text in asked for hit in nearest(text, known.phrases(), 6)]
    meant = dict.fromkeys(hit if (wood := known.get(hit).get("species", UNKNOWN)) == UNKNOWN else wood for hit in hits)
    return f'{column.written}: "{words}" is on no list{_meant(list(meant)[:3])}'


def _meant(names: list[str]) -> str:
    return f" (did you mean {' or '.join(names)}?)" if names else ""


_READERS: dict[str, Callable[[str, Column, Library, Context], Cell]] = {
    "size": _size,
    "number": _number,
    "whole": _whole,
    "word": _word,
    "words": _words,
    "phrase": _phrase,
}
