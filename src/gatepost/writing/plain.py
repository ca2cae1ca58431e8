"""Text from the lists as every format can hold it: no sign that steers a printer, a reader or a spreadsheet."""

from __future__ import annotations

import re

from ..errors import harmless as plain

__all__ = ["FORMULAS", "escaped", "plain", "typed_in"]

_STEERING = re.compile(r"[\x7f-\x9f\u2028-\u202e\u2066-\u2069\ufffe\uffff]")
FORMULAS = ("=", "+", "-", "@")
"""Signs with which a formula begins."""


def typed_in(text: str) -> str:
    """Text as a cell of a CSV that a spreadsheet opens: what it would take for a formula gets a sign in front.

    >>> typed_in("=1+1"), typed_in("-3.5"), typed_in("rail")
    ("'=1+1", '-3.5', 'rail')
    """
    text = plain(text)
    return f"'{text}" if text.lstrip().startswith(FORMULAS) and not _is_number(text) else text


def escaped(text: str) -> str:
    """JSON with the signs that would steer a terminal as their codes; what it says stays the same.

    >>> escaped(chr(34) + chr(0x202E) + chr(34))
    '"\\\\u202e"'
    """
    return "".join(f"\\u{ord(sign):04x}" if sign != "\n" and plain(sign) != sign else sign for sign in text)


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
