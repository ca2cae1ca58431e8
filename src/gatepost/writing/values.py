"""Facts as words: numbers with their unit, sizes in the user's units, messages with their braces filled."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pandas as pd

from ..deriving import Facts
from ..library import Column, Over
from ..units import KG_M3_PER_PCF, print_size

NOT_KNOWN = "not known"
NO_BAND = "–"
MOST_YEARS = 100
WHOLE = 1e15
"""Below this a float without a fraction is the whole number that it stands for."""
_BRACES = re.compile(r"{([^{}]*)}")
_BOTH = re.compile(r"([\d.,/-]+(?: to [\d.,/-]+)? (?:mm|m|cm)) \(((?:about )?[\d.,/-]+(?: to [\d.,/-]+)? (?:in|ft))\)")
_DECIMALS = {"V": 2, "%": 0, "µm": 0, "°C": 0, "years": 0, "weeks": 0, "deg": 0, "days": 0, "m": 0}


def fact(facts: Facts, over: Over, row: int, name: str) -> tuple[Column, Any]:
    """The column and the plain value (None where unknown) that `name` means in a row."""
    column = facts.library.register.find(over, name)
    assert column is not None, name
    frames = {"parts": facts.parts, "joints": facts.joints, "project": facts.whole}
    if name in frames[over].columns:
        return column, plain_value(frames[over][name].iat[row])
    if column.over == "project":
        return column, plain_value(facts.whole[name].iat[0])
    side, _, rest = name.partition("_")
    if side == "worse":
        code = facts.encoded[1].get(name)[row]
        return column, None if code < 0 else column.values[int(code)]
    at = int(facts.joints[f"{side}_row"].iat[row])
    return column, plain_value(facts.parts[rest].iat[at]) if at >= 0 else None


def plain_value(value: Any) -> Any:
    """A cell of a frame as plain Python: None for unknown, whole numbers as int."""
    if value is None or pd.isna(value):
        return None
    if isinstance(value, np.generic):
        value = value.item()
    return int(value) if isinstance(value, float) and value.is_integer() and abs(value) < WHOLE else value


def show(column: Column, value: Any, units: str) -> str:
    """A value as it is printed."""
    if value is None:
        return NOT_KNOWN
    if column.kind == "size" or column.unit == "mm":
        return print_size(float(value), units)
    if column.is_number:
        return _number(column, float(value), units)
    return str(value)


def _number(column: Column, value: float, units: str) -> str:
    if column.unit == "kg/m³":
        metric = f"{value:.3g} kg/m³"
        return metric if units == "mm" else f"{value / KG_M3_PER_PCF:.2g} pcf ({metric})"
    if column.unit in ("-", "class", "1/%", ""):
        return f"{value:.3g}"
    text = f"{value:.{_DECIMALS.get(column.unit, 1)}f}" if not value.is_integer() else f"{value:.0f}"
    unit = column.unit.removesuffix("s") if value == 1 and len(column.unit) > 2 else column.unit
    return f"{text}{'°' if unit == 'deg' else ' ' + unit}"


def filled(text: str, facts: Facts, over: Over, row: int, units: str) -> str:
    """A rule's text with its braces filled from the row."""
    return _BRACES.sub(lambda match: show(*fact(facts, over, row, match[1]), units), text)


def one_unit(text: str, units: str) -> str:
    """A rule's text that gives a size both ways, with the unit of the sheet alone.

    >>> one_unit("lifts it 25 mm (1 in) clear", "in"), one_unit("lifts it 25 mm (1 in) clear", "mm")
    ('lifts it 1 in clear', 'lifts it 25 mm clear')
    """
    if units == "both":
        return text
    return _BOTH.sub(lambda match: match[2 if units == "in" else 1], text)


def facts_of(facts: Facts, over: Over, row: int, names: tuple[str, ...]) -> dict[str, Any]:
    """Plain values of several facts of one row."""
    return {name: fact(facts, over, row, name)[1] for name in names}


def years(low: float | None, high: float | None) -> str:
    """A band of years as a layman reads it."""
    if low is None:
        return NO_BAND
    if high is None:
        return f"at least {low:.0f}"
    top = f"{high:.0f} or more" if high >= MOST_YEARS else f"{high:.0f}"
    if low == high:
        return top
    return f"under {top}" if low == 0 else f"{low:.0f} to {top}"
