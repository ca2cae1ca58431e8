"""The two lists and the settings as one Project: frames, links from joints to parts, facts of the whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from ..encode import typed
from ..errors import InputError, Problem
from ..library import UNKNOWN, Library, Over
from ..project import Climate, Counts, Prices, Project, Site, Stock
from ..units import NotASize, size_mm
from .blanks import Assumed, assumed_frame, fill, unsaid
from .coded import Coded
from .lists import ListRead, frame_of, role_from_name
from .settings import DEPOSITS, Settings
from .sizes import GAUGE, PENNY, Context

DEFAULT_LIFE_YEARS = 15.0
HEIGHT_NOT_GIVEN = "how high it stands is not given (`stands`); whether wind or a push can tip it is not judged"
PRODUCT_IS = {"is_wood": "yes", "moves_as": "panel"}
"""What products.csv says of a product that is wood, and of one that is a panel."""
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
        rows = raw.joints.column(f"{side}_row")
        joints[f"{side}_row"] = np.array([0, *rows.values[1:]], int)[rows.codes]
    left_out = _left_out({"parts": parts, "joints": joints}, known)
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
        assumed={"parts": assumed_frame(from_names + parts_assumed), "joints": assumed_frame(joints_assumed)},
        accepted=settings.accepted,
        said=[*_said(raw), *([] if raw.parts.piece else left_out_said(left_out, known))],
        rule_files=settings.rules,
        blank={"parts": parts_blank, "joints": joints_blank},
        prices=raw.prices,
        stock=raw.stock,
        left_out=left_out,
    )


def _said(raw: Raw) -> list[str]:
    of_life = [] if raw.settings.life else [f"no life is given; {DEFAULT_LIFE_YEARS:.0f} years are taken"]
    of_height = [] if raw.settings.stands else [HEIGHT_NOT_GIVEN]
    return [*(raw.site.said if raw.site else ()), *of_life, *of_height, *_files_said(raw)]


def _left_out(frames: dict[Over, pd.DataFrame], known: Library) -> dict[tuple[str, str], int]:
    """In how many rows each column is blank though facts go on without it."""
    products, out = known.table("products"), dict[tuple[str, str], int]()
    of_product = {name: dict(zip(products.words("product"), products.words(name), strict=True)) for name in PRODUCT_IS}
    wood, panel = (frames["parts"]["product"].map(of_product[name]) == PRODUCT_IS[name] for name in PRODUCT_IS)
    for over, frame in frames.items():
        for written, column in known.register.written[over].items():
            if not column.without:
                continue
            bare = frame[column.name].isna()
            out[over, written] = int(
                (bare if over != "parts" else bare & (panel if column.group == "panels" else wood)).sum()
            )
    return out


def left_out_said(counts: Mapping[tuple[str, str], int], known: Library) -> list[str]:
    """One sentence: which cells are blank, in how many rows, and how facts go on without them."""
    told = [
        f"{written} of {blank} {over if blank > 1 else over[:-1]} ({column.without})"
        for over, columns in known.register.written.items()
        for written, column in columns.items()
        if (blank := counts.get((over, written), 0))
    ]
    return [f"not given: {'; '.join(told)}"] if told else []


def _files_said(raw: Raw) -> list[str]:
    return [text for file in (raw.parts, raw.joints, raw.prices, raw.stock) if file is not None for text in file.said]


def _settle_treatment(read: ListRead) -> None:
    """A preservative or a mark is a treatment; of a treatment with preservative the rest may be unknown, not none."""
    kinds, *named = (read.column(name) for name in ("treatment_kind", "preservative", "treatment_mark"))
    told = ~named[0].is_in(None, UNKNOWN, "none") | ~named[1].is_in(None, UNKNOWN, "none")
    kinds[told & (kinds.codes == 0)] = "preservative"
    preserved = kinds.is_in("preservative")
    for one in named:
        one[preserved & (one.codes == 0)] = UNKNOWN


def _count_primer(read: ListRead) -> None:
    """A primer named beside the coats is a coat more."""
    coats = read.column("finish_coats")
    primed = ~read.column("finish_primer").is_in(None, "none", UNKNOWN) & ~coats.is_in(None, UNKNOWN)
    for code in np.unique(coats.codes[primed]):
        coats[primed & (coats.codes == code)] = float(coats.values[code]) + 1


def _settle_penny(read: ListRead, known: Library) -> None:
    """A bare penny size was read as the common nail; of a thinner kind of nail it is that of the table's thinner wire."""
    names, kinds, shanks = (read.column(name) for name in (PENNY, "fastener_kind", "size_diameter_mm"))
    table = known.table("fastener_sizes")
    for row in np.flatnonzero(~names.is_in(None) & kinds.is_in(*WIRE_OF)).tolist():
        thinner = f"{names[row]} {WIRE_OF[kinds[row]]}"
        at = table.index.get(thinner)
        shanks[row] = UNKNOWN if at is None else float(table.numbers("diameter_mm")[at])


def _settle_gauge(read: ListRead, known: Library) -> None:
    """A gauge was read as a screw's; of a staple or a nail it is that of its wire, and one on no list is asked for."""
    gauges, kinds, shanks = (read.column(name) for name in (GAUGE, "fastener_kind", "size_diameter_mm"))
    table, families = known.table("wire_gauges"), known.table("fastener_kinds")
    wires = dict(zip(table.numbers("gauge"), table.numbers("diameter_mm"), strict=True))
    of_wire = [kind for kind, at in families.index.items() if families.words("family")[at] in OF_WIRE]
    for row in np.flatnonzero(~gauges.is_in(None) & kinds.is_in(*of_wire)).tolist():
        shanks[row] = float(wires[gauges[row]]) if gauges[row] in wires else UNKNOWN


def _roles_from_names(read: ListRead, known: Library, context: Context) -> Assumed:
    """A blank role is read out of the part's name, and that is said."""
    roles, names = read.column("role"), read.column("part")
    rows = np.flatnonzero((roles.codes == 0) & (names.codes > 0))
    told = Coded.of(role_from_name(str(names.values[code]), known, context) for code in names.codes[rows].tolist())
    said: Assumed = [
        (rows[told.codes == code], "role", role, "default") for code, role in enumerate(told.values) if code
    ]
    for where, _, role, _ in said:
        roles[where] = role
    return [] if read.piece else said


def completed(
    read: ListRead, over: Over, known: Library, project: dict[str, Any]
) -> tuple[pd.DataFrame, Assumed, pd.DataFrame]:
    """The list as a frame: what a cell implies settled, remarks as facts, blanks filled; what was assumed and not said."""
    if over == "parts":
        _settle_treatment(read)
        _count_primer(read)
    else:
        _settle_penny(read, known)
        _settle_gauge(read, known)
    _count_texts(read, read.remarks, "unlisted_count", "unlisted_words")
    _count_texts(read, read.contradictions, "contradiction_count", "contradictions")
    blank = unsaid(read, over, known)
    assumed = fill(read, over, known, project)
    return frame_of(read, over, known), assumed, blank


def _count_texts(read: ListRead, texts: dict[int, list[str]], count: str, words: str) -> None:
    """How many texts a row has, and what they say."""
    counts, said = read.column(count), read.column(words)
    counts[np.arange(len(read))] = 0
    for row, own in texts.items():
        counts[row], said[row] = len(own), "; ".join(own)


def _link(joints: ListRead, parts: ListRead) -> None:
    """Rows of each joint's parts: -1 and a remark for a name on no list, the first row of a repeated one."""
    told = parts.column("part")
    names = [_key(told[row]) for row in range(len(parts) if len(joints) else 0)]
    times, rows = Counter(names), {name: row for row, name in reversed(list(enumerate(names)))}
    repeats = joints.column("part_name_repeats")
    repeats[np.arange(len(joints))] = "no"
    for side in ("a", "b"):
        asked, found = joints.column(f"part_{side}"), joints.column(f"{side}_row")
        for row in range(len(joints)):
            name = asked[row]
            found[row] = rows.get(_key(name), -1)
            if times[_key(name)] > 1:
                repeats[row] = "yes"
            if _key(name) not in rows:
                joints.remarks.setdefault(row, []).append(f'part "{name}" is not in the parts list')


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
        raise InputError(
            [Problem(raw.place, raw.settings.lines.get(f"stands.{key}"), f"stands.{key}", str(error))]
        ) from None
