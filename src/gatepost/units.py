"""Sizes as shops write them, to millimetres and back."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Sequence
from fractions import Fraction

MM_PER_IN = 25.4
KG_M3_PER_PCF = 16.0185
_TO_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_IN, "ft": 12 * MM_PER_IN}
_UNIT_WORDS = {
    "mm": "mm",
    "cm": "cm",
    "centimetres": "cm",
    "centimeters": "cm",
    "m": "m",
    "millimetres": "mm",
    "millimeters": "mm",
    "metres": "m",
    "meters": "m",
    '"': "in",
    "''": "in",
    "in": "in",
    "in.": "in",
    "inch": "in",
    "inches": "in",
    "'": "ft",
    "ft": "ft",
    "ft.": "ft",
    "feet": "ft",
    "foot": "ft",
}
_NUMBER = r"(?:\d*[.,]\d+|\d+[ -]+\d+/\d+|\d+(?:/\d+)?)"
_SIGNED = re.compile(rf"[-+]?(?:{_NUMBER}|\d+\.)")
_PIECE = re.compile(rf"\s*({_NUMBER})\s*(''|[a-z]+\.?|[\"'])?\s*-?\s*")
_QUOTES = {
    "\u201c": '"',
    "\u201d": '"',
    "\u2033": '"',
    "\u2032": "'",
    "\u2019": "'",
    "\u2018": "'",
    "\u2013": "-",
    "\u2212": "-",
    "\u2044": "/",
    "\u00d7": "x",
}


class NotASize(ValueError):
    """The text is no size; the message says what to write."""


def plain(text: str) -> str:
    """Text with one spelling of quotes, dashes, fractions and spaces, in lower case."""
    if text.isascii():
        return " ".join(text.split()).lower()
    text = re.sub(r"(?<=\d)(?=[¼½¾⅐-⅞])", " ", text)
    text = unicodedata.normalize("NFKC", text)
    for odd, usual in _QUOTES.items():
        text = text.replace(odd, usual)
    return re.sub(r"\s+", " ", text).strip().lower()


def unit_of(text: str) -> str | None:
    """The unit of length (mm, cm, m, in, ft) that a name or sign stands for.

    >>> unit_of("Millimetres"), unit_of("″"), unit_of("kg")
    ('mm', 'in', None)
    """
    return _UNIT_WORDS.get(plain(text))


def size_mm(text: str, units: str) -> float:
    """One size in millimetres; NotASize when it cannot be read.

    units  what a bare number means: in or mm

    >>> size_mm('1 1/2"', "mm"), size_mm("3/4", "in"), size_mm("19 mm", "in"), size_mm("6' 3-1/2\\"", "in")
    (38.1, 19.05, 19.0, 1917.7)
    >>> size_mm("1.5", "in"), size_mm("25,4 mm", "in")
    (38.1, 25.4)
    """
    rest, total, last = plain(text), 0.0, None
    if not rest:
        raise NotASize("is blank")
    while rest:
        match = _PIECE.match(rest)
        unit = _UNIT_WORDS.get(match[2] or units) if match else None
        if match is None or unit is None or (last and not (last == "ft" and unit == "in")):
            raise NotASize(f'cannot read "{text}" as a size. Write 3/4, 19 mm or 2x4')
        if last == "ft" and match[2] is None:
            unit = "in"
        total += number(match[1]) * _TO_MM[unit]
        rest, last = rest[match.end() :], unit
    return round(total, 6)


def number(text: str) -> float:
    """A number as shops write it: 3/4, 1 1/2, 1-1/2, 1.5, 1,5, -3; NotASize for others, ranges such as 8-12 too."""
    text = plain(text)
    if re.fullmatch(r"\d{1,3},\d{3}", text):
        raise NotASize(
            f'"{text}" may be a thousand or a decimal. Write {text.replace(",", "")} or {text.replace(",", ".")}'
        )
    if not _SIGNED.fullmatch(text):
        raise NotASize(f'cannot read "{text}" as a number')
    sign = -1 if text[0] == "-" else 1
    try:
        whole, _, fraction = text.lstrip("-+").replace("-", " ").partition(" ")
        value = float(Fraction(whole)) if "/" in whole else float(whole.replace(",", "."))
        value += float(Fraction(fraction.strip())) if fraction.strip() else 0.0
    except (ValueError, ZeroDivisionError):
        raise NotASize(f'cannot read "{text}" as a number') from None
    if not math.isfinite(value):
        raise NotASize(f'cannot read "{text}" as a number')
    return sign * value


def print_size(mm: float | None, units: str, step_in: int = 16) -> str:
    """A size as it is printed: inches to 1/16 (or 1/step_in), millimetres to whole or half, or both.

    >>> print_size(38.1, "in"), print_size(38.1, "mm"), print_size(3.2, "both")
    ('1-1/2"', '38 mm', '1/8" (3 mm)')
    """
    if mm is None or math.isnan(mm):
        return "not known"
    if units == "both":
        return f"{_inches(mm, step_in)} ({_millimetres(mm)})"
    return _inches(mm, step_in) if units == "in" else _millimetres(mm)


def print_sizes(sizes_mm: Sequence[float], units: str) -> str:
    """Several sizes of one thing; millimetres with their unit once.

    >>> print_sizes([38.1, 88.9], "in"), print_sizes([38.1, 88.9], "mm")
    ('1-1/2" x 3-1/2"', '38 x 89 mm')
    """
    shown = " x ".join(print_size(one, units) for one in sizes_mm)
    return shown.replace(" mm x", " x") if units == "mm" else shown


def printed_number(mm: float | None, units: str, step_in: int = 16) -> float | None:
    """The number that `print_size` prints in inches (in) or millimetres (mm); None where it prints none.

    >>> printed_number(38.3, "in"), printed_number(38.3, "mm"), printed_number(0.1, "in")
    (1.5, 38, None)
    """
    if mm is None or math.isnan(mm):
        return None
    if units == "mm":
        return _rounded_mm(mm)
    parts = round(mm / MM_PER_IN * step_in)
    return None if parts == 0 and mm != 0 else parts / step_in


def least_printed(mm: float, units: str, step_in: int = 16) -> float:
    """The least size that is printed exactly and is not below this one, in millimetres.

    >>> least_printed(24.5, "in"), least_printed(24.5, "mm"), least_printed(9.2, "mm")
    (25.4, 25, 9.5)
    """
    if units == "mm":
        return math.ceil(mm * 2 - 1e-6) / 2 if mm < 10 else math.ceil(mm - 1e-6)
    return math.ceil(mm / MM_PER_IN * step_in - 1e-6) / step_in * MM_PER_IN


def _rounded_mm(mm: float) -> float:
    return round(mm * 2) / 2 if abs(mm) < 10 else round(mm)


def _millimetres(mm: float) -> str:
    return f"{_rounded_mm(mm):g} mm"


def _inches(mm: float, step: int) -> str:
    parts = round(abs(mm) / MM_PER_IN * step)
    sign = "-" if mm < 0 and parts else ""
    if parts == 0 and mm != 0:
        return f'under 1/{step}"'
    whole, rest = divmod(parts, step)
    fraction = Fraction(rest, step)
    text = f"{whole}-{fraction}" if whole and rest else f"{fraction}" if rest else f"{whole}"
    return f'{sign}{text}"'
