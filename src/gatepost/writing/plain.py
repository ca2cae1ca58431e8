"""Text from the lists as every format can hold it: no sign that steers a printer, a reader or a spreadsheet."""

from __future__ import annotations

import unicodedata

_STEERING = {"Cc", "Cs", "Zl", "Zp"}
_TURNING = {*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0xFFFE, 0xFFFF}


def plain(text: str) -> str:
    """Text with a space for each control character, lone surrogate, line separator and sign that turns the writing round.

    >>> plain("post" + chr(7) + "cap"), plain("½ × größe")
    ('post cap', '½ × größe')
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(" " if _steers(sign) else sign for sign in text)


def _steers(sign: str) -> bool:
    code = ord(sign)
    return unicodedata.category(sign) in _STEERING or code in _TURNING or code & 0xFFFE == 0xFFFE
