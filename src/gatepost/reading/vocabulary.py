"""The trade's phrases: which columns each sets, and to what."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from ..library import Library
from ..units import plain

UNKNOWN = "unknown"
IGNORED = "ignored"
AMBIGUOUS, MAY_MEAN = "name_is_ambiguous", "name_may_mean"
_TOO_SHORT = ("yes", "no", "none", "in", "out")
_SIGNS = re.compile(r"[,;:()\[\]*+&_]|-(?!\d)|(?<!\d)-|\.(?=\s|$)")
_SLASH = re.compile(r"(?<=[a-z])/(?=[a-z])")


@dataclass(frozen=True)
class Vocabulary:
    """Phrases with what they set, and the number of words in the longest."""

    sets: Mapping[str, Mapping[str, str]]
    longest: int


def normal(text: str) -> str:
    """Text as phrases are matched: lower case, hyphens and commas as spaces."""
    return " ".join(_SLASH.sub(" ", _SIGNS.sub(" ", plain(text))).split())


@lru_cache(maxsize=4096)
def _normal_value(value: str) -> str:
    return normal(value)


@lru_cache(maxsize=128)
def vocabulary(library: Library, columns: tuple[str, ...], scheme: str) -> Vocabulary:
    """Every phrase that may set one of `columns`; phrases of words.csv and species_names.csv stand there as `normal`
    gives them."""
    out: dict[str, dict[str, str]] = {}
    by_column = _words(library)
    for column in (*columns, IGNORED):
        for phrase, value in by_column.get(column, {}).items():
            out.setdefault(phrase, {})[column] = value
    for column in columns:
        for value in _values(library, column):
            if len(columns) == 1 or value not in _TOO_SHORT:
                out.setdefault(_normal_value(value), {}).setdefault(column, value)
    if "species" in columns:
        out |= _species(library, scheme)
    return Vocabulary(out, max((phrase.count(" ") + 1 for phrase in out), default=1))


def _values(library: Library, name: str) -> tuple[str, ...]:
    """Allowed words of a column of parts or joints; the woods have a table of names of their own."""
    if name == "species":
        return ()
    facts = library.register.facts
    column = facts["parts"].get(name) or facts["joints"].get(name)
    return column.values if column else ()


@lru_cache(maxsize=4)
def _words(library: Library) -> dict[str, dict[str, str]]:
    """Phrases of words.csv by the column that they set."""
    out: dict[str, dict[str, str]] = {}
    table = library.table("words")
    for column, phrase, value in zip(table.words("column"), table.words("phrase"), table.words("value"), strict=True):
        out.setdefault(column, {})[phrase] = value
    return out


@lru_cache(maxsize=8)
def _species(library: Library, scheme: str) -> dict[str, dict[str, str]]:
    """Names of woods; a name of this continent beats the same name of the other."""
    out: dict[str, dict[str, str]] = {}
    table = library.table("species_names")
    columns = ("phrase", "species", "region", "ambiguous", "may_mean")
    for phrase, species, region, ambiguous, may_mean in zip(*(table.words(name) for name in columns), strict=True):
        if region in (scheme, "both") or phrase not in out:
            out[phrase] = {"species": species or UNKNOWN}
            if ambiguous == "yes":
                out[phrase] |= {AMBIGUOUS: "yes", MAY_MEAN: may_mean}
    return out
