"""What a shop could write instead: rows of choices read as a parts list or a joints list is read."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from ..errors import InputError, Problem
from ..library import Library, Over
from .assemble import completed
from .blanks import assumed_frame
from .files import Rows
from .lists import read_list
from .sizes import Context

NAMES = {"parts": ["part", "material"], "joints": ["joint", "part_a", "part_b"]}


def choices_frame(
    columns: Sequence[str], cells: Sequence[Sequence[str]], over: Over, context: Context, known: Library
) -> pd.DataFrame:
    """Rows of written columns as the facts that `read` makes of them, blanks filled as in any list.

    columns  names of the register, as a shop writes them; cells  a row each, text
    Raises InputError for a cell that cannot be read.
    """
    missing = [name for name in NAMES[over] if name not in columns]
    header = [*missing, *columns]
    rows = [["-" if name != "material" else "" for name in missing] + list(row) for row in cells]
    lines = list(range(1, len(rows) + 2))
    read = read_list(Rows("choices", lines, [header, *rows]), over, known, context)
    return completed(read, over, known, {})[0]


def material_choice(
    text: str, context: Context, known: Library, place: str
) -> tuple[pd.DataFrame, pd.DataFrame, list[str]]:
    """One material as a shop writes it: its facts (one row), what was assumed of blanks, and what to say of it.

    place  where the text stands, for messages
    Raises InputError where a word is on no list, or it names no wood, panel or other material.
    """
    if not text.strip():
        raise InputError([Problem(place, None, None, "is blank; write a material as in a parts list")])
    read = read_list(Rows(place, [0, 0], [["part", "material"], ["-", text]]), "parts", known, context)
    frame, assumed, _ = completed(read, "parts", known, {})
    row = frame.iloc[0]
    remarks = read.remarks.get(0, [])
    if remarks or (pd.isna(row["species"]) and _moves_as_lumber(row, known)):
        raise InputError([Problem(place, None, None, _no_wood(text, row, remarks))])
    return frame, assumed_frame(assumed), _remarks(text, row)


def _remarks(text: str, row: pd.Series) -> list[str]:
    out = []
    if row["name_is_ambiguous"] == "yes":
        out.append(f'"{text}" may mean {" or ".join(row["name_may_mean"].split("; "))}; {row["species"]} is taken')
    if pd.notna(row["thickness_mm"]):
        out.append(f'the size in "{text}" is not used: the part keeps its own')
    return out


def _moves_as_lumber(row: pd.Series, known: Library) -> bool:
    table = known.table("products")
    return table.words("moves_as")[table.index[row["product"]]] == "lumber"


def _no_wood(text: str, row: pd.Series, remarks: list[str]) -> str:
    if row["name_is_ambiguous"] == "yes":
        return f'"{text}" may mean {" or ".join(row["name_may_mean"].split("; "))}; write which one'
    told = "; ".join(remarks) or "it names no wood, panel or other material"
    return f'"{text}" cannot be compared: {told}; write it as in a parts list, such as western red cedar heartwood'
