"""Text from the lists as every format can hold it: no sign that steers a printer, a reader or a spreadsheet."""

from __future__ import annotations

import json

from ..errors import STEERING
from ..errors import harmless as plain

__all__ = ["FORMULAS", "escaped", "plain", "typed_in"]

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
    return STEERING.sub(lambda sign: sign[0] if sign[0] == "\n" else json.dumps(sign[0])[1:-1], text)


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
