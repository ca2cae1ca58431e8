"""The two lists and the settings as one Project: frames, links from joints to parts, facts of the whole."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from ..encode import typed
from ..errors import InputError, Problem
from ..library import UNKNOWN, Library, Over
from ..project import Climate, Counts, Prices, Project, Site, Stock
from ..units import NotASize, size_mm
from .blanks import fill, unsaid
from .lists import ListRead, frame_of, role_from_name
from .settings import DEPOSITS, Settings
from .sizes import GAUGE, PENNY, Context

DEFAULT_LIFE_YEARS = 15.0
HEIGHT_NOT_GIVEN = "how high it stands is not given (`stands`); whether wind or a push can tip it is not judged"
OF_WIRE = ("nail", "staple")
"""Families of fasteners whose gauge is that of the wire."""
WIRE_OF = {"ring-shank nail": "box", "box nail": "box", "finish nail": "finish"}
"""Kinds of nail thinner than the common nail, and the word of fastener_sizes.csv for their wire."""


@dataclass(frozen=True)
class Raw:
    """All that was read of a project, before it is put together."""

    name: str
    place: str
    settings: Settings
    site: Site | None
    context: Context
    parts: ListRead
    joints: ListRead
    built: int | None
    prices: Prices | None = None
    stock: Stock | None = None


def assemble(raw: Raw, known: Library) -> Project:
    """Put a project together; InputError for a size of `stands` that cannot be read."""
    settings = raw.settings
    life = settings.life or DEFAULT_LIFE_YEARS
    from_names = _roles_from_names(raw.parts, known, raw.context)
    parts, parts_assumed, parts_blank = completed(raw.parts, "parts", known, {"life_years": life})
    _link(raw.joints, raw.parts)
    joints, joints_assumed, joints_blank = completed(raw.joints, "joints", known, {})
    for side in ("a", "b"):
        joints[f"{side}_row"] = np.array(raw.joints.values[f"{side}_row"], dtype=int)
    given, count = raw.parts.given + raw.joints.given, len(parts) + len(joints)
    return Project(
        name=raw.name,
        place=raw.place,
        parts=parts,
        joints=joints,
        whole=_whole(raw, life, known),
        site=raw.site,
        climate=raw.site.climate if raw.site else Climate.unknown(),
        scheme=raw.context.scheme,
        units=raw.context.units,
        counts=Counts(given, count, given - count),
        assumed={"parts": pd.concat([from_names, parts_assumed], ignore_index=True), "joints": joints_assumed},
        accepted=settings.accepted,
        said=[*_said(raw), *_left_out({"parts": parts, "joints": joints}, known)],
        rule_files=settings.rules,
        blank={"parts": parts_blank, "joints": joints_blank},
        prices=raw.prices,
        stock=raw.stock,
    )


def _said(raw: Raw) -> list[str]:
    of_life = [] if raw.settings.life else [f"no life is given; {DEFAULT_LIFE_YEARS:.0f} years are taken"]
    of_height = [] if raw.settings.stands else [HEIGHT_NOT_GIVEN]
    return [*(raw.site.said if raw.site else ()), *of_life, *of_height, *_files_said(raw)]


def _left_out(frames: dict[Over, pd.DataFrame], known: Library) -> list[str]:
    """One sentence: which cells are blank though facts go on without them, in how many rows, and how they do."""
    products = known.table("products")
    wood = frames["parts"]["product"].map(dict(zip(products.words("product"), products.words("is_wood"), strict=True)))
    told = []
    for over, frame in frames.items():
        kept = frame[wood != "no"] if over == "parts" else frame
        for written, column in known.register.written[over].items():
            blank = int(kept[column.name].isna().sum()) if column.without else 0
            if blank:
                told.append(f"{written} of {blank} {over if blank > 1 else over[:-1]} ({column.without})")
    return [f"not given: {'; '.join(told)}"] if told else []


def _files_said(raw: Raw) -> list[str]:
    return [text for file in (raw.parts, raw.joints, raw.prices, raw.stock) if file is not None for text in file.said]


def _settle_treatment(read: ListRead) -> None:
    """A preservative or a mark is a treatment; of a treatment with preservative the rest may be unknown, not none."""
    names = ("treatment_kind", "preservative", "treatment_mark")
    kinds, preservatives, marks = (read.values.setdefault(name, [None] * len(read)) for name in names)
    for row in range(len(read)):
        named = any(values[row] not in (None, UNKNOWN, "none") for values in (preservatives, marks))
        if named and kinds[row] is None:
            kinds[row] = "preservative"
        if kinds[row] == "preservative":
            for values in (preservatives, marks):
                values[row] = UNKNOWN if values[row] is None else values[row]


def _count_primer(read: ListRead) -> None:
    """A primer named beside the coats is a coat more."""
    primers, coats = (read.values.get(name, [None] * len(read)) for name in ("finish_primer", "finish_coats"))
    for row, (primer, count) in enumerate(zip(primers, coats, strict=True)):
        if primer not in (None, "none", UNKNOWN) and count not in (None, UNKNOWN):
            coats[row] = float(count) + 1


def _settle_penny(read: ListRead, known: Library) -> None:
    """A bare penny size was read as the common nail; of a thinner kind of nail it is that of the table's thinner wire."""
    names, kinds = (read.values.get(name) or [None] * len(read) for name in (PENNY, "fastener_kind"))
    table, shanks = known.table("fastener_sizes"), read.values.setdefault("size_diameter_mm", [None] * len(read))
    for row, (name, kind) in enumerate(zip(names, kinds, strict=True)):
        thinner = f"{name} {WIRE_OF[kind]}" if name and kind in WIRE_OF else ""
        if name and kind in WIRE_OF:
            shanks[row] = (
                float(table.numbers("diameter_mm")[table.index[thinner]]) if thinner in table.index else UNKNOWN
            )


def _settle_gauge(read: ListRead, known: Library) -> None:
    """A gauge was read as a screw's; of a staple or a nail it is that of its wire, and one on no list is asked for."""
    gauges, kinds = (read.values.get(name) or [None] * len(read) for name in (GAUGE, "fastener_kind"))
    shanks = read.values.setdefault("size_diameter_mm", [None] * len(read))
    table, families = known.table("wire_gauges"), known.table("fastener_kinds")
    wires = dict(zip(table.numbers("gauge"), table.numbers("diameter_mm"), strict=True))
    of_wire = {kind for kind, at in families.index.items() if families.words("family")[at] in OF_WIRE}
    for row, (gauge, kind) in enumerate(zip(gauges, kinds, strict=True)):
        if gauge is not None and kind in of_wire:
            shanks[row] = float(wires[gauge]) if gauge in wires else UNKNOWN


def _roles_from_names(read: ListRead, known: Library, context: Context) -> pd.DataFrame:
    """A blank role is read out of the part's name, and that is said."""
    said = []
    roles = read.values.setdefault("role", [None] * len(read))
    for row, name in enumerate(read.values.get("part", [])):
        if roles[row] is None and name:
            roles[row] = role_from_name(str(name), known, context)
            if roles[row]:
                said.append((row, "role", roles[row], "default"))
    return pd.DataFrame(said, columns=["row", "column", "value", "kind"])


def completed(
    read: ListRead, over: Over, known: Library, project: dict[str, Any]
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """The list as a frame: what a cell implies settled, remarks as facts, blanks filled; what was assumed and not said."""
    if over == "parts":
        _settle_treatment(read)
        _count_primer(read)
    else:
        _settle_penny(read, known)
        _settle_gauge(read, known)
    read.values["unlisted_count"] = [len(remarks) for remarks in read.remarks]
    read.values["unlisted_words"] = ["; ".join(remarks) or None for remarks in read.remarks]
    read.values["contradiction_count"] = [len(texts) for texts in read.contradictions]
    read.values["contradictions"] = ["; ".join(texts) or None for texts in read.contradictions]
    blank = unsaid(read, over, known)
    assumed = fill(read, over, known, project)
    return frame_of(read, over, known), assumed, blank


def _link(joints: ListRead, parts: ListRead) -> None:
    """Rows of each joint's parts: -1 and a remark for a name on no list, the first row of a repeated one."""
    names = [_key(name) for name in parts.values.get("part", [])]
    times, rows = Counter(names), {name: row for row, name in reversed(list(enumerate(names)))}
    joints.values["part_name_repeats"] = ["no"] * len(joints)
    for side in ("a", "b"):
        asked = joints.values.get(f"part_{side}", [None] * len(joints))
        joints.values[f"{side}_row"] = [rows.get(_key(name), -1) for name in asked]
        for row, name in enumerate(asked):
            if times[_key(name)] > 1:
                joints.values["part_name_repeats"][row] = "yes"
            if _key(name) not in rows:
                joints.remarks[row].append(f'part "{name}" is not in the parts list')


def _key(name: Any) -> str:
    return " ".join(str(name).lower().split())


def _whole(raw: Raw, life: float, known: Library) -> pd.DataFrame:
    """The facts of the project that are read, one row."""
    site, stands = raw.site, raw.settings.stands
    own = raw.settings.site if isinstance(raw.settings.site, dict) else {}
    unused = list(dict.fromkeys(raw.parts.unused + raw.joints.unused))
    work_c, work_rh_pct = _work(raw)
    values: dict[str, Any] = {
        "scheme": raw.context.scheme,
        "site_given": "yes" if site else "no",
        "site_name": site.name if site else None,
        "coast_km": site.coast_km if site else None,
        "height_m": site.height_m if site else None,
        **{deposit: getattr(site, deposit, None) for deposit in DEPOSITS},
        "termites": own.get("termites"),
        "life_wanted_years": life,
        "work_written": "no" if raw.built or raw.settings.work.get("temperature") is None else "yes",
        "work_c": work_c,
        "work_rh_pct": work_rh_pct,
        "stands_given": "yes" if stands else "no",
        "stands_height_mm": _stand("height", raw),
        "stands_base_mm": _stand("base", raw),
        "stands_anchored": stands.get("anchored"),
        "unused_columns": ", ".join(unused) or None,
        "unused_columns_count": len(unused),
    }
    facts = known.register.facts["project"]
    columns = {
        name: typed(column, [values.get(name)])
        for name, column in facts.items()
        if not column.derived and column.kind != "series"
    }
    return pd.DataFrame(columns)


def _work(raw: Raw) -> tuple[float | None, float | None]:
    """Temperature and humidity on the day: as written, else those of the site in the month."""
    work = raw.settings.work
    written = work.get("temperature"), work.get("humidity")
    month = raw.built or work.get("month")
    if month is None or raw.site is None or (raw.built is None and None not in written):
        return written
    climate = raw.site.climate
    return float(climate.t_mean_c[month - 1]), float(climate.rh_pct[month - 1])


def _stand(key: str, raw: Raw) -> float | None:
    value = raw.settings.stands.get(key)
    if value is None:
        return None
    try:
        return size_mm(str(value), raw.context.units)
    except NotASize as error:
        raise InputError([Problem(raw.place, None, f"stands.{key}", str(error))]) from None
