"""How much a file may ask for before it is refused; each limit stands here once and can be changed for a call."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from .errors import InputError, Problem

PREFIX = "GATEPOST_"
MB = 1_000_000
LIMITS: dict[str, tuple[int, str]] = {
    "LIST_MB": (200, "size of a list, a price file, a stock file or standard input, in MB"),
    "YAML_MB": (5, "size of a project file or a rule file, in MB"),
    "WEATHER_MB": (50, "size of a weather file, in MB"),
    "UNPACKED_MB": (200, "size of a workbook once it is unpacked, in MB"),
    "WORKBOOK_FILES": (2_000, "files that are packed into one workbook"),
    "SHEET_CELLS": (5_000_000, "cells that the first sheet spans, row by row to the last one that is filled"),
    "CELL_SIGNS": (32_767, "letters, figures and signs in one cell"),
    "COLUMNS": (16_384, "cells in one row of a list"),
    "WORKERS": (4, "processes that share a list of more than 20 MB, no more than there are processors; 1 for none"),
    "NEAR_WORDS": (100, "words on no list, in one list, for which the nearest listed ones are looked up"),
    "YAML_VALUES": (200_000, "values in a project file or a rule file, each alias counted for what it stands for"),
    "YAML_DEPTH": (20, "levels of a project file or a rule file"),
    "CLAUSE_SIGNS": (1_000, "letters, figures and signs in one clause of a rule"),
    "CLAUSE_DEPTH": (50, "levels of brackets and signs in one clause of a rule"),
    "CLAUSES": (20, "clauses of one rule"),
    "PROBLEMS": (1_000, "problems that are printed; the rest is counted"),
}
"""Limit by name: what it usually is, and of what."""
OUTSIDE = f"{PREFIX}OUTSIDE"
"""Set to yes: a project file may name files outside its own folder."""


def limit(name: str) -> int:
    """A limit as the environment sets it (GATEPOST_ and its name), else as it usually is.

    Raises InputError where the environment holds no whole number above 0.
    """
    text = os.environ.get(PREFIX + name)
    if text is None:
        return LIMITS[name][0]
    if not (text.isascii() and text.isdigit() and 0 < len(text) <= 18 and int(text) > 0):
        what = f"must be a whole number above 0, not {text!r}; it limits the {LIMITS[name][1]}"
        raise InputError([Problem(PREFIX + name, None, None, what)])
    return int(text)


def over(name: str, what: str) -> str:
    """What a message says of something that is beyond a limit, and how the limit is changed."""
    return f"{what}; {PREFIX}{name} changes the limit of {limit(name)}"


def outside_allowed() -> bool:
    """May a project file name files outside its own folder?"""
    return os.environ.get(OUTSIDE, "").lower() == "yes"


def file_bytes(path: Path, place: str, name: str) -> bytes:
    """All bytes of a plain file; InputError for one that is larger than the limit `name` in MB, or cannot be read."""
    most = limit(name) * MB
    try:
        mode = path.stat().st_mode
        if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
            raise InputError(
                [Problem(place, None, None, "is no plain file; save the list as a file, or write - and pipe it in")]
            )
        with path.open("rb") as file:
            data = file.read(most + 1)
    except (OSError, ValueError) as error:
        raise InputError([Problem(place, None, None, f"cannot be read: {reason(error)}")]) from None
    if len(data) > most:
        raise InputError([Problem(place, None, None, over(name, "larger than is read, in MB"))])
    return data


def reason(error: OSError | ValueError) -> str:
    """Why a file cannot be opened or written; a ValueError is a name that no file can have."""
    if isinstance(error, OSError):
        return error.strerror or str(error)
    return "the name holds a sign that no file name holds"
