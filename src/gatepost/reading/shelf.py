"""A row of a shop's stock as a material named whole: every column that names one, so that nothing of the old stays."""

from __future__ import annotations

from collections.abc import Sequence
from math import isclose

import pandas as pd

from ..errors import InputError, Problem
from ..library import Library
from ..units import KG_M3_PER_PCF
from .choices import choices_frame, material_choice
from .sizes import Context

TOLD = ("product", "species", "wood_part", "treatment", "grade", "incised", "origin")
"""Columns of the parts list that together name a material, beside the material itself."""
TREATED = ("treatment_kind", "preservative", "treatment_mark", "retention_kg_m3", "treated_how")
SIZES = ("thickness_mm", "width_mm", "length_mm")
HEART = {"heart": "heartwood", "sap": "sapwood"}
ROUNDED = 0.02
NOT_OFFERED = "; it is not offered"


def named_whole(text: str, place: str, library: Library, context: Context) -> dict[str, str]:
    """The cells of a material as a shop writes it in one, `material` first.

    place  where the text stands, for messages
    Raises InputError where a word is on no list, or it names no wood or panel whole.
    """
    frame, _, _ = material_choice(text, context, library, place)
    made, said = shelved(frame, [{"material": text}], [place], library, context)
    if not made:
        raise InputError([Problem(place, None, None, said[0].removeprefix(f"{place}: ").removesuffix(NOT_OFFERED))])
    return made[0]


def shelved(
    frame: pd.DataFrame, writes: Sequence[dict[str, str]], places: Sequence[str], library: Library, context: Context
) -> tuple[list[dict[str, str]], list[str]]:
    """The materials of a stock list, column to text, and what is to be said of rows that name none, or a size.

    frame   facts of each row; writes  its cells; places  where it stands, for what is said
    """
    kept, said = [], []
    for at, (place, cells) in enumerate(zip(places, writes, strict=True)):
        row = frame.iloc[at]
        if not any(name in cells for name in ("material", *TOLD)):
            continue
        reason, whole = _not_whole(row, library), {}
        if not reason:
            whole = _whole(row, cells, library, context)
            reason = _reads_otherwise(row, whole, library, context)
        if reason:
            said.append(f"{place}: {reason}{NOT_OFFERED}")
            continue
        kept.append(whole)
        said += _remarks(place, cells, row)
    return kept, said


def _told_of(row: pd.Series, library: Library, column: str) -> str:
    table = library.table("products")
    return str(table.words(column)[table.index[row["product"]]])


def _not_whole(row: pd.Series, library: Library) -> str:
    """Why the row names no material that could be bought by it; blank where it does."""
    if pd.isna(row["product"]) or _told_of(row, library, "is_wood") == "no":
        return "it names no wood or panel"
    if _told_of(row, library, "moves_as") == "panel":
        return "a panel without its grade; write the grade that is stamped on it" if pd.isna(row["grade"]) else ""
    if pd.notna(row["species"]):
        return ""
    if row["name_is_ambiguous"] == "yes":
        return f"the name may mean {' or '.join(row['name_may_mean'].split('; '))}; write which one"
    return "it names no wood"


def _whole(row: pd.Series, cells: dict[str, str], library: Library, context: Context) -> dict[str, str]:
    """The cells of the row and, in the register's words, what its material tells besides."""
    panel = _told_of(row, library, "moves_as") == "panel"
    read = {name: row[name] for name in TOLD if name != "treatment" and isinstance(row[name], str)}
    if panel:
        read.pop("wood_part")
    read["treatment"] = _treatment(row, library, context)
    told = {name: cells.get(name, read[name]) for name in TOLD if name in read}
    if told["treatment"] != "none":
        told.setdefault("incised", "no")
    plain = not (_is_sized(row) or row["unlisted_count"] or row["name_is_ambiguous"] == "yes")
    text = cells.get("material", "") if plain else ""
    return {"material": text or _name(row, told, panel), **told}


def _name(row: pd.Series, told: dict[str, str], panel: bool) -> str:
    """A name for a material that was not written as one, or with words or a size that are not used."""
    wood = "" if pd.isna(row["species"]) else row["species"]
    head = f"{told.get('grade', '')} {wood} {told['product']}" if panel else f"{wood} {HEART.get(row['wood_part'], '')}"
    treated = "" if told["treatment"] == "none" else f", {told['treatment']}"
    return " ".join(head.split()) + treated


def _treatment(row: pd.Series, library: Library, context: Context) -> str:
    """Kind, preservative, retention and mark in one cell, as they are read again."""
    kind = row["treatment_kind"]
    if kind != "preservative":
        return str(kind)
    retention = row["retention_kg_m3"]
    pcf = context.scheme == "us"
    amount = f"{retention / KG_M3_PER_PCF:.3g} pcf" if pcf else f"{retention:.3g} kg/m3"
    mark = row["treatment_mark"] if pcf else _use_class(row["treatment_mark"], library)
    words = [row["preservative"], "" if pd.isna(retention) else amount, mark]
    told = [word for word in words if isinstance(word, str) and word not in ("", "none")]
    how = {"pressure": "pressure treated", "dip": "dipped", "brush": "brushed"}.get(row["treated_how"], "")
    return " ".join([*([] if told and row["treated_how"] == "pressure" else [how]), *told])


def _use_class(mark: object, library: Library) -> object:
    """The use class that is read as the mark; the mark where no class is."""
    words = library.table("words").records()
    classes = (row["phrase"] for row in words if row["column"] == "treatment_mark" and row["value"] == mark)
    return next((phrase for phrase in classes if phrase.startswith("use class")), mark)


def _reads_otherwise(row: pd.Series, whole: dict[str, str], library: Library, context: Context) -> str:
    """Read the cells that would be written: what they do not tell again must stand in a column of its own."""
    names = [name for name in TOLD if name != "treatment" and name in whole]
    again = choices_frame(list(whole), [list(whole.values())], "parts", context, library).iloc[0]
    lost = [name for name in (*names, *TREATED) if not _same(row[name], again[name])]
    lost = ["treatment" if name in TREATED else name for name in lost if not (name == "incised" and pd.isna(row[name]))]
    return f"its {' and '.join(dict.fromkeys(lost))} must stand in a column of its own" if lost else ""


def _same(one: object, other: object) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return (pd.isna(one) and pd.isna(other)) or isclose(one, other, rel_tol=ROUNDED)
    return (pd.isna(one) and pd.isna(other)) or one == other


def _is_sized(row: pd.Series) -> bool:
    return any(not pd.isna(row[name]) for name in SIZES)


def _remarks(place: str, cells: dict[str, str], row: pd.Series) -> list[str]:
    out = []
    if row["name_is_ambiguous"] == "yes":
        may = " or ".join(row["name_may_mean"].split("; "))
        out.append(f"{place}: the name may mean {may}; {row['species']} is taken")
    if _is_sized(row):
        out.append(f'{place}: the size in "{cells.get("material")}" is not used: a part keeps its own')
    return out
