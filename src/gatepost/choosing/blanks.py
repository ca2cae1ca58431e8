"""Blank cells of virtual rows: where a change moves what a blank is taken for, the blank is taken anew."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import numpy as np
import pandas as pd

from ..encode import typed
from ..frames import plain, words
from ..library import UNKNOWN, Column, Library, Over
from ..reading.blanks import default_ways

Told = dict[str, np.ndarray]
"""By fact: the rows in which a change says it."""


def refilled(frame: pd.DataFrame, blank: pd.DataFrame, told: Told, over: Over, known: Library) -> pd.DataFrame:
    """The frame of changed rows, blanks whose default hangs on a changed fact taken anew.

    blank  rows by facts: where nothing was written before the change
    """
    nobody, said = np.zeros(len(frame), bool), dict(told)
    for fact, by_given in _defaults(over, known).items():
        moved = np.logical_or.reduce([said.get(given, nobody) for given in by_given])
        here = blank[fact].to_numpy() & moved & ~told.get(fact, nobody)
        if here.any():
            column = known.register.facts[over][fact]
            new = np.where(here, _default(frame, column, by_given), words(frame, fact))
            frame = frame.assign(**{fact: typed(column, _plain(new))})
            said[fact] = here | said.get(fact, nobody)
    return frame


def _plain(values: np.ndarray) -> list[object]:
    return [None if value == UNKNOWN or pd.isna(value) else value for value in values]


@lru_cache(maxsize=4)
def _defaults(over: Over, known: Library) -> dict[str, dict[str, dict[str, object]]]:
    """Fact, the facts its default hangs on in their order, word of that fact, value."""
    out: dict[str, dict[str, dict[str, object]]] = {}
    for fact, ways in default_ways(over, known).items():
        number = known.register.facts[over][fact].is_number
        for given, word, value in ways:
            told = float(value) if number and value != UNKNOWN else value
            out.setdefault(fact, {}).setdefault(given, {}).setdefault(word, told)
    return out


def _default(frame: pd.DataFrame, column: Column, by_given: Mapping[str, Mapping[str, object]]) -> np.ndarray:
    """What a blank of each row is taken for; None is nothing."""
    if column.blank == "default":
        rest = column.default
    else:
        rest = "none" if column.blank == "none" and (column.kind == "words" or "none" in column.values) else None
    out = plain([None] * len(frame))
    for given, values in by_given.items():
        said = pd.Categorical(frame[given])
        each = [next((values[w] for w in values if w in str(one).split(" + ")), None) for one in said.categories]
        mine = plain([*each, None])[said.codes]
        out = np.where(out == None, mine, out)  # noqa: E711
    return np.where(out == None, plain([rest]), out)  # noqa: E711
