"""The price file: items as a shop names them, read like any material, fastener, finish or glue; units to SI."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from typing import Any

import pandas as pd

from ..errors import InputError, Problem, did_you_mean, nearest
from ..library import UNKNOWN, Library, Over
from ..project import Prices
from ..units import MM_PER_IN, NotASize, number, plain
from .cells import BLANKS, phrase_parts, read_cell
from .files import Rows
from .headers import LOOK_DOWN, squeezed
from .sizes import Context
from .vocabulary import normal, vocabulary

HEADINGS = {
    "item": ("item", "material", "article", "name", "description", "choice"),
    "unit": ("unit", "units", "per", "priced by", "sold by"),
    "price": ("price", "unit price", "rate", "price each"),
    "currency": ("currency", "money"),
    "labour": ("labour", "labor", "work"),
    "upkeep": ("upkeep", "maintenance"),
    "note": ("note", "notes", "remark", "remarks", "comment"),
}
NEEDED = ("item", "unit", "price", "currency")
LISTS: tuple[tuple[str, Over, str], ...] = (
    ("material", "parts", "material"),
    ("fastener", "joints", "fastener"),
    ("hardware", "joints", "hardware"),
    ("finish", "parts", "finish"),
    ("glue", "joints", "glue"),
)
"""Kinds of item, and the column of a list that reads each."""
TELLS = {
    "material": ("species", "product", "grade"),
    "fastener": ("fastener_kind",),
    "hardware": ("hardware_kind",),
    "finish": ("finish_kind",),
    "glue": ("glue_kind",),
}
FACTS = (
    *("product", "species", "treatment_kind", "preservative", "treatment_mark", "wood_part", "grade"),
    *("thickness_mm", "width_mm", "fastener_kind", "fastener_metal", "coating_kind"),
    *("size_diameter_mm", "size_length_mm", "hardware_kind", "hardware_metal", "hardware_coat"),
    *("finish_kind", "glue_kind"),
)
SAME_SHARE = 0.005
_COUNTED = re.compile(r"(?:(?:box|pack|packet|bag|carton|bundle|lot)s?\s+of|per)?\s*(\d+)\s*(?:pieces|pcs|ea)?")
_SIGNS = {"€": "EUR", "£": "GBP", "$": None}
_CODE = re.compile(r"[A-Z]{3}")


@dataclass
class _File:
    """A price file on its way: where its headings stand, and what is wrong or worth saying."""

    rows: Rows
    at: dict[str, int]
    head: int
    problems: list[Problem]
    said: list[str]

    def cell(self, row: int, name: str) -> str:
        cells, at = self.rows.cells[row], self.at.get(name, -1)
        text = cells[at].strip() if 0 <= at < len(cells) else ""
        return "" if plain(text) in BLANKS else text

    def wrong(self, row: int, name: str, what: str) -> None:
        self.problems.append(Problem(self.rows.place, self.rows.lines[row], name, what))


def read_prices(rows: Rows, library: Library, context: Context) -> Prices:
    """Read a price file; InputError with every row that cannot be used. An item on no list is said and left out."""
    file = _opened(rows)
    kept = [row for row in range(file.head + 1, len(rows.cells)) if _filled(file, row) > 1]
    aside = [row for row in range(file.head + 1, len(rows.cells)) if _filled(file, row) == 1]
    if aside:
        lines = ", ".join(str(rows.lines[row]) for row in aside)
        file.said.append(f"{rows.place}: lines with a single cell are taken for titles and set aside: {lines}")
    if not kept:
        file.problems.append(Problem(rows.place, None, None, "holds a heading but no prices; write at least one"))
    currency = _currency(file, kept)
    items = [item for row in kept if (item := _item(file, row, library, context)) is not None]
    _refuse_twice(file, items)
    if file.problems:
        raise InputError(sorted(file.problems, key=lambda problem: problem.line or 0))
    frame = pd.DataFrame(items, columns=["item", "row", "line", "kind", "unit", "measure", "price", "labour", "upkeep", "words", *FACTS])  # fmt: skip
    return Prices(rows.place, currency, frame.drop(columns="row"), tuple(file.said))


def _opened(rows: Rows) -> _File:
    """The first row that names every needed column."""
    names = {squeezed(word): name for name, words in HEADINGS.items() for word in words}
    best: dict[str, int] = {}
    for number_, cells in enumerate(rows.cells[:LOOK_DOWN]):
        found = [(names.get(squeezed(text)), at) for at, text in enumerate(cells)]
        at = {name: place for name, place in reversed(found) if name}
        if len([name for name, _ in found if name]) > len(at):
            raise InputError([Problem(rows.place, rows.lines[number_], None, "two headings mean the same; keep one")])
        if set(NEEDED) <= set(at):
            unused = [text for text in cells if text.strip() and squeezed(text) not in names]
            said = [f"{rows.place}: headings that are not used: {', '.join(unused)}"] if unused else []
            return _File(rows, at, number_, [], [*rows.said, *said])
        best = at if len(at) > len(best) else best
    missing = " and ".join(name for name in NEEDED if name not in best)
    what = f"no heading row names {missing}; a price file has the headings {', '.join(NEEDED)}"
    raise InputError([Problem(rows.place, None, None, what)])


def _filled(file: _File, row: int) -> int:
    return sum(bool(file.cell(row, name)) for name in file.at if name != "note")


def _currency(file: _File, kept: list[int]) -> str:
    """The one currency of the file."""
    first = ""
    for row in kept:
        text = file.cell(row, "currency").upper()
        if not _CODE.fullmatch(text):
            shown = f'"{text}" is no currency; ' if text else "is blank; "
            file.wrong(row, "currency", f"{shown}write its three letters, such as USD or EUR")
        elif first and text != first:
            file.wrong(
                row, "currency", f"{text} beside {first} above; a price file has one currency: convert, or split it"
            )
        first = first or (text if _CODE.fullmatch(text) else "")
        _check_sign(file, row, text)
    return first


def _check_sign(file: _File, row: int, currency: str) -> None:
    meant = next((code for sign, code in _SIGNS.items() if code and sign in file.cell(row, "price")), None)
    if meant and meant != currency:
        file.wrong(row, "price", f"is written in {meant}, the currency says {currency or 'nothing'}; let them agree")


def _money(file: _File, row: int, name: str) -> float:
    """A sum of money; NaN for a blank one, and where it is reported."""
    text = file.cell(row, name)
    if not text:
        return math.nan
    try:
        value = number("".join(char for char in text if char not in _SIGNS))
    except NotASize as error:
        file.wrong(row, name, str(error))
        return math.nan
    least = "above 0" if name == "price" else "0 or more"
    if value < 0 or (name == "price" and value == 0):
        file.wrong(row, name, f'"{text}" must be {least}; leave the row out if it is not sold')
        return math.nan
    return value


def _item(file: _File, row: int, library: Library, context: Context) -> dict[str, Any] | None:
    """One row as an item; None where it is reported or on no list."""
    before = len(file.problems)
    text = file.cell(row, "item")
    price, labour, upkeep = (_money(file, row, name) for name in ("price", "labour", "upkeep"))
    for name in ("item", "price"):
        if not file.cell(row, name):
            file.wrong(row, name, "is blank; every item needs it, and gatepost takes no price for nothing")
    unit = _unit(file, row, library)
    if not text:
        return None
    kind, told, remarks = _read(text, library, context)
    if kind is None:
        file.said.append(_unlisted(file, row, text, library, context))
        return None
    file.said += [f"{file.rows.place}:{file.rows.lines[row]}: {remark}" for remark in remarks]
    if unit is None:
        return None
    measure, amount = _measured(file, row, kind, unit, told, library)
    if len(file.problems) > before:
        return None
    money = {"price": price / amount, "labour": labour / amount, "upkeep": upkeep / amount}
    place = {"row": row, "line": file.rows.lines[row], "unit": file.cell(row, "unit"), "words": normal(text)}
    return {
        "item": text,
        "kind": kind,
        "measure": measure,
        **place,
        **money,
        **{fact: told.get(fact) for fact in FACTS},
    }


def _unit(file: _File, row: int, library: Library) -> tuple[str, float] | None:
    """Measure and amount of the unit; None where it is reported."""
    text = plain(file.cell(row, "unit")).rstrip(".")
    table = library.table("price_units")
    if text in table.index:
        return table.words("measure")[table.index[text]], table.number(text, "amount")
    counted = _COUNTED.fullmatch(text)
    if counted and int(counted[1]) > 0:
        return "piece", float(counted[1])
    if not text:
        file.wrong(row, "unit", "is blank; write what the price is for, such as board foot, sheet, piece or box of 100")
        return None
    hint = did_you_mean(text, table.index)
    what = f'"{text}" is no unit that is known{hint}'
    file.wrong(
        row,
        "unit",
        f"{what}; write m3, board foot, m2, square foot, sheet, m, linear foot, piece, box of 100, litre or gallon",
    )
    return None


def _read(text: str, library: Library, context: Context) -> tuple[str | None, dict[str, Any], list[str]]:
    """Kind of the item, the facts that its text tells, and words on no list: the reading that leaves the fewest.

    A bare product such as metal yields to a fastener or hardware of it.
    """
    readings = []
    for kind, over, name in LISTS:
        try:
            sets, left, _ = phrase_parts(text, library.register.written[over][name], library, context)
        except NotASize:
            continue
        told = {fact: value for fact, value in sets.items() if value not in (None, UNKNOWN, "none")}
        if any(fact in told for fact in TELLS[kind]):
            vague = kind == "material" and not {"species", "grade"} & set(told)
            readings.append(((len(left), vague), kind, told))
    if not readings:
        return None, {}, []
    least, kind, told = min(readings, key=lambda reading: reading[0])
    also = [other for left, other, _ in readings if left == least and other != kind]
    remarks = _remarks(text, kind, library, context) if least[0] else []
    if also:
        remarks.append(f'item "{text}" is taken for a {kind}, not for a {also[0]}; write which it is')
    return (kind if kind != "material" else _material(told, library)), told, remarks


def _remarks(text: str, kind: str, library: Library, context: Context) -> list[str]:
    """Words on no list, with the nearest that are."""
    [(over, name)] = [(over, name) for each, over, name in LISTS if each == kind]
    return list(read_cell(text, library.register.written[over][name], library, context).remarks)


def _material(told: dict[str, Any], library: Library) -> str | None:
    """Lumber, a panel, or a row that is not wood; settles what the text implies. None for lumber of no known wood."""
    told.setdefault("product", "lumber")
    if "preservative" in told or "treatment_mark" in told:
        told.setdefault("treatment_kind", "preservative")
    told.setdefault("treatment_kind", "none")
    products = library.table("products")
    row = products.index[told["product"]]
    if products.words("is_wood")[row] != "yes":
        return "other"
    if products.words("moves_as")[row] == "panel":
        return "panel"
    return "lumber" if "species" in told else None


def _unlisted(file: _File, row: int, text: str, library: Library, context: Context) -> str:
    hits = nearest(text, _phrases(library, context))
    meant = f" (did you mean {' or '.join(hits)}?)" if hits else ""
    where = f"{file.rows.place}:{file.rows.lines[row]}"
    return (
        f'{where}: item "{text}" is no material, fastener, finish or glue that is known{meant}; its price is not used'
    )


def _phrases(library: Library, context: Context) -> Iterator[str]:
    """Every phrase that could name an item."""
    return chain(*(vocabulary(library, facts, context.scheme).phrases() for facts in TELLS.values()))


def _measured(
    file: _File, row: int, kind: str, unit: tuple[str, float], told: dict[str, Any], library: Library
) -> tuple[str, float]:
    """Measure and amount as the kind of item is priced by; a piece of lumber by its length."""
    measure, amount = unit
    ways = {each["measure"]: each["needs"] for each in library.table("price_kinds").records() if each["kind"] == kind}
    if measure not in ways:
        file.wrong(row, "unit", f"a {kind} is not priced by {file.cell(row, 'unit')}; price it by {' or '.join(ways)}")
        return unit
    missing = [name for name in ways[measure].split(" + ") if name and f"{name}_mm" not in told]
    if missing:
        what = f"a price by the {file.cell(row, 'unit')} needs {' and '.join(missing)}"
        file.wrong(row, "item", f"{what}: write the size in the item, such as 1x6 or 4x4x8, or price by volume")
    elif "length" in ways[measure]:
        return "m", amount * told["length_mm"] / 1000
    return measure, amount


def _refuse_twice(file: _File, items: list[dict[str, Any]]) -> None:
    """The same item at two prices is an error; at the same price the first stands."""
    seen: dict[tuple[Any, ...], dict[str, Any]] = {}
    for item in list(items):
        key = (item["kind"], *(_key(item[fact]) for fact in FACTS), item["words"] if item["kind"] == "other" else "")
        first = seen.setdefault(key, item)
        if first is item:
            continue
        if first["measure"] != item["measure"] or not _same(first, item):
            where = f"line {first['line']} ({first['item']})"
            file.wrong(item["row"], "price", f"is another than on {where} for the same item; keep one of the two rows")
        items.remove(item)


def _key(value: Any) -> Any:
    return round(value / MM_PER_IN * 16) if isinstance(value, float) else value


def _same(one: dict[str, Any], other: dict[str, Any]) -> bool:
    pairs = [(one[name], other[name]) for name in ("price", "labour", "upkeep")]
    return all(math.isclose(a, b, rel_tol=SAME_SHARE) or (math.isnan(a) and math.isnan(b)) for a, b in pairs)
