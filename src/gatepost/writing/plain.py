"""Text from the lists as every format can hold it: no sign that steers a printer, a reader or a spreadsheet."""

from __future__ import annotations

from ..errors import harmless as plain

__all__ = ["plain", "typed_in"]

_BEGINS = ("=", "+", "-", "@")


def typed_in(text: str) -> str:
    """Text as a cell of a CSV that a spreadsheet opens: what it would take for a formula gets a sign in front.

    >>> typed_in("=1+1"), typed_in("-3.5"), typed_in("rail")
    ("'=1+1", '-3.5', 'rail')
    """
    text = plain(text)
    return f"'{text}" if text.lstrip().startswith(_BEGINS) and not _is_number(text) else text


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
