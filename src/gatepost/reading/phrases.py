"""Free text as shops write it: known phrases set columns, sizes and retentions are read, the rest is left over."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from ..library import UNKNOWN, Library
from ..units import KG_M3_PER_PCF, plain
from .sizes import Context, Stock, spelt, take_sizes
from .vocabulary import AMBIGUOUS, IGNORED, MAY_MEAN, Vocabulary, normal, vocabulary

SIZE = "size"
WOOD = ("species", AMBIGUOUS, MAY_MEAN)
IMPLIED = "?"
"""How a value of words.csv ends that a phrase only implies: a word that says the fact beats it."""
_RETENTION = re.compile(
    r"(?<![\w.])(\d*\.\d+|\d+)\s*(pcf|lb/ft3|lb/ft\^3|kg/m3|kg/m\^3|kg/cu m)(?!\w)|(?<![\w./])(0?\.\d{2,3})(?![\w./])"
)
_NOUN_FIRST = re.compile(r"([a-z]+)\s*[,(]\s*([a-z-]+(?: [a-z-]+){0,2})\)?")
_LETTER, _DIGIT = re.compile("[a-z#/]"), re.compile(r"\d")
Told = list[tuple[str, dict[str, str]]]
COAT = "finish_kind"


@dataclass
class Reading:
    """What one cell sets, column to value.

    implied  columns that a phrase only implied
    left     words on no list, alone and with the phrase that follows
    woods    woods that were named plainly
    """

    sets: dict[str, Any] = field(default_factory=dict)
    implied: set[str] = field(default_factory=set)
    left: list[tuple[str, str]] = field(default_factory=list)
    woods: list[str] = field(default_factory=list)


def read_phrase(text: str, columns: tuple[str, ...], library: Library, context: Context) -> Reading:
    """Read one cell of free text.

    columns  facts that the cell may set; SIZE among them reads sizes too
    """
    reading = Reading()
    rest = plain(text)
    known = vocabulary(library, tuple(column for column in columns if column != SIZE), context.scheme)
    rest = _turned(spelt(rest, library) if SIZE in columns else rest, known)
    told = list(matches(rest, known))
    if "retention_kg_m3" in columns:
        rest = _take_retention(rest, reading, SIZE not in columns or _treated(told))
    if SIZE in columns:
        sets, rest = take_sizes(rest, _blotted(rest, told), library, context, _stock(rest, told, library))
        reading.sets |= sets
    films = _films(library) if COAT in columns else frozenset()
    _set_all(reading, matches(rest, known), known, films)
    return reading


def _turned(text: str, known: Vocabulary) -> str:
    """A name written the wrong way round, as lists do: oak, white; cedar (western red)."""
    match = _NOUN_FIRST.match(text)
    if match is None or match[1] not in known.woods:
        return text
    words = match[2].split()
    for count in range(len(words), 0, -1):
        name = " ".join([*words[:count], match[1]])
        if normal(name) in known.woods:
            return " ".join([name, *words[count:], text[match.end() :]])
    return text


def _treated(told: Told) -> bool:
    return any("treatment_kind" in sets or "preservative" in sets for _, sets in told)


def _blotted(text: str, told: Told) -> str:
    """The text with phrases such as OSB 3, class 4 and T1-11 blotted out, as long as before: their figures are no sizes."""
    for phrase in (phrase for phrase, sets in told if sets and _LETTER.search(phrase) and _DIGIT.search(phrase)):
        words = r"[^\w#']+".join(map(re.escape, phrase.split()))
        text = re.sub(rf"(?<![\w#.]){words}(?!\w)", lambda match: "_" * len(match[0]), text, count=1)
    return text


def _stock(text: str, told: Told, library: Library) -> Stock:
    """What the phrases say of the stock that decides how its sizes are read."""
    products, species = library.table("products"), library.table("species")
    named = [products.index[sets["product"]] for _, sets in told if sets.get("product", UNKNOWN) in products.index]
    woods = {wood for _, sets in told for wood in (sets.get("species"), *sets.get(MAY_MEAN, "").split("; "))}
    kinds = {species.words("kind")[species.index[wood]] for wood in woods if wood in species.index}
    return Stock(
        panel=bool(named) and products.words("moves_as")[named[0]] == "panel",
        nominal=not any(sets.get("nominal_size") == "no" for _, sets in told)
        and not (named and products.words("nominal")[named[0]] == "no"),
        wood_kind=kinds.pop() if len(kinds) == 1 else "",
        words=frozenset(normal(text).split()),
    )


def _take_retention(text: str, reading: Reading, bare: bool) -> str:
    """A retention, and the text without it; a bare .40 is one only where `bare` says so, else it may be inches."""
    match = _RETENTION.search(text)
    if match is None or (match[3] and not bare):
        return text
    value = float(match[1] or match[3])
    metric = (match[2] or "").startswith("kg")
    reading.sets["retention_kg_m3"] = value if metric else round(value * KG_M3_PER_PCF, 3)
    return text[: match.start()] + " " + text[match.end() :]


def matches(text: str, known: Vocabulary) -> Iterator[tuple[str, dict[str, str]]]:
    """Whole words of a text from left to right, the longest phrase first; words on no list with nothing set."""
    tokens = normal(text).split()
    at = 0
    while at < len(tokens):
        lengths = range(min(known.longest, len(tokens) - at), 0, -1)
        found = ((n, sets) for n in lengths if (sets := known.get(" ".join(tokens[at : at + n]))))
        length, sets = next(found, (1, {}))
        yield " ".join(tokens[at : at + length]), sets
        at += length


def _films(library: Library) -> frozenset[str]:
    """Finishes that form a film."""
    table = library.table("finishes")
    return frozenset(kind for kind, row in table.index.items() if table.words("film")[row] == "yes")


def _last_coat(reading: Reading, sets: Mapping[str, str], films: frozenset[str]) -> None:
    """A film is the last coat, also where oil, wax or stain was named before it."""
    if sets.get(COAT) in films and reading.sets.get(COAT) not in films:
        reading.sets.pop(COAT, None)


def _set_all(
    reading: Reading, told: Iterable[tuple[str, dict[str, str]]], known: Vocabulary, films: frozenset[str] = frozenset()
) -> None:
    """Set what each phrase says; words on no list that stand together are left over together."""
    words: list[str] = []
    for phrase, sets in [*told, ("", {IGNORED: "yes"})]:
        if not sets:
            words.append(phrase)
            continue
        _last_coat(reading, sets, films)
        for column, value in sets.items():
            if column not in (IGNORED, *WOOD):
                _set(reading, column, value)
        if "species" in sets:
            _set_wood(reading, {column: sets[column] for column in WOOD if column in sets}, known)
        if words:
            reading.left.append((" ".join(words), " ".join([*words, phrase]).strip()))
        words = []


def _set_wood(reading: Reading, wood: dict[str, str], known: Vocabulary) -> None:
    """A plain name ends the doubt of a loose one that may mean it; two plain names of different genera raise doubt."""
    name, before = wood["species"], reading.sets.get("species", UNKNOWN)
    if name == UNKNOWN or AMBIGUOUS in wood:
        if before == UNKNOWN and not reading.woods and (name != UNKNOWN or MAY_MEAN not in reading.sets):
            reading.sets |= wood
        return
    if before != UNKNOWN and name not in reading.sets.get(MAY_MEAN, before).split("; ") and not reading.woods:
        reading.woods.append(before)
    if any(known.genera.get(other) == known.genera.get(name) for other in reading.woods):
        return
    reading.woods.append(name)
    reading.sets = {column: value for column, value in reading.sets.items() if column not in WOOD}
    several = {"species": UNKNOWN, AMBIGUOUS: "yes", MAY_MEAN: "; ".join(reading.woods)}
    reading.sets |= wood if len(reading.woods) == 1 else several


def _set(reading: Reading, column: str, value: str) -> None:
    """The first plain word stays; a plain word beats an implied one, and that beats "unknown"."""
    plainly = not value.endswith(IMPLIED)
    if reading.sets.get(column, UNKNOWN) == UNKNOWN or (plainly and value != UNKNOWN and column in reading.implied):
        reading.sets[column] = value.removesuffix(IMPLIED)
        (reading.implied.discard if plainly else reading.implied.add)(column)


def unlisted(left: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Left-over words that say something: those with a letter."""
    return [(words, with_next) for words, with_next in left if re.search(r"[a-z]", words)]
