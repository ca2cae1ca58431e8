"""The trade's phrases: which columns each sets, and to what."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain

from ..library import UNKNOWN, Library
from ..units import plain

IGNORED = "ignored"
AMBIGUOUS, MAY_MEAN = "name_is_ambiguous", "name_may_mean"
_TOO_SHORT = ("yes", "no", "none", "in", "out")
_SIGNS = re.compile(r"[,;:()\[\]*+&_]|-(?!\d)|(?<!\d)-|\.(?=\s|$)")
_BINOMIAL = re.compile(r"([A-Z][a-z]+) (?!and\b)([a-z]{3,})")
_SLASH = re.compile(r"(?<=[a-z])/(?=[a-z])")


Phrases = Mapping[str, str]


@dataclass(frozen=True)
class Vocabulary:
    """Phrases by the column that each sets, names of woods, the genus of each wood, and the words in the longest phrase."""

    columns: tuple[tuple[str, Phrases], ...]
    woods: Mapping[str, Phrases]
    genera: Mapping[str, str]
    longest: int

    def get(self, phrase: str) -> dict[str, str]:
        """What a phrase sets; empty for an unknown one."""
        found = {column: phrases[phrase] for column, phrases in self.columns if phrase in phrases}
        return {**found, **self.woods.get(phrase, {})}

    def phrases(self) -> Iterator[str]:
        """Every phrase that says something."""
        return chain(self.woods, *(phrases for column, phrases in self.columns if column != IGNORED))


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
    known = [(column, _of_column(library, column, len(columns) == 1)) for column in (*columns, IGNORED)]
    if "species" in columns:
        known.append((IGNORED, _uses(library)))
    woods = _species(library, scheme) if "species" in columns else {}
    longest = max(_longest(phrases) for phrases in (*(phrases for _, phrases in known), woods))
    table = library.table("species")
    genera = {
        wood: name.split()[0] for wood, name in zip(table.words("species"), table.words("botanical_name"), strict=True)
    }
    return Vocabulary(tuple(known), woods, genera, longest)


def _uses(library: Library) -> Phrases:
    """Single words for what a part does: beside a wood they say nothing of it (a larch post, WRC trellis)."""
    return {phrase: "yes" for phrase in _of_column(library, "role", False) if " " not in phrase}


def _longest(phrases: Iterable[str]) -> int:
    return max((phrase.count(" ") for phrase in phrases), default=0) + 1


@lru_cache(maxsize=512)
def _of_column(library: Library, name: str, alone: bool) -> Phrases:
    """Phrases of words.csv for a column, and its allowed words; short ones only where the cell holds nothing else."""
    facts = library.register.facts
    column = None if name == "species" else facts["parts"].get(name) or facts["joints"].get(name)
    allowed = [value for value in column.values if alone or value not in _TOO_SHORT] if column else []
    return {**{_normal_value(value): value for value in allowed}, **_words(library).get(name, {})}


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
    """Names of woods; a name of this continent beats the same name of the other, a trade name a botanical one."""
    out: dict[str, dict[str, str]] = {}
    table = library.table("species_names")
    columns = ("phrase", "species", "region", "ambiguous", "may_mean")
    for phrase, species, region, ambiguous, may_mean in zip(*(table.words(name) for name in columns), strict=True):
        if region in (scheme, "both") or phrase not in out:
            out[phrase] = {"species": species or UNKNOWN}
            if ambiguous == "yes":
                out[phrase] |= {AMBIGUOUS: "yes", MAY_MEAN: may_mean}
    return {**_botanical(library), **out}


def _botanical(library: Library) -> dict[str, dict[str, str]]:
    """Botanical names of species.csv, whole and as T. plicata, and a genus alone, where only one wood bears them."""
    table, woods = library.table("species"), dict[str, set[str]]()
    for species, botanical in zip(table.words("species"), table.words("botanical_name"), strict=True):
        for genus, epithet in _BINOMIAL.findall(botanical):
            short = [] if epithet == "spp" else [f"{genus[0]} {epithet}"]
            for name in (f"{genus} {epithet}", genus, *short):
                woods.setdefault(normal(name), set()).add(species)
    return {name: {"species": found.pop()} for name, found in woods.items() if len(found) == 1}
