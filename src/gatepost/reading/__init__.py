"""The only place where untidy input exists; what leaves it is complete, typed, in SI units."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from ..errors import InputError, Problem
from ..library import Library, Over, library
from ..project import Climate, Counts, Project, Site
from ..units import NotASize, size_mm
from .blanks import fill
from .files import Rows, read_rows
from .lists import ListRead, frame_of, read_list, role_from_name, typed
from .phrases import UNKNOWN, Context
from .places import find_site
from .settings import Settings, Work, month_number, read_settings

__all__ = ["find_site", "month_number", "read"]

NEAR_SCHEME = {"US": "us", "CA": "us"}
UNITS_OF = {"us": "in", "eu": "mm"}
DEFAULT_LIFE_YEARS = 15.0


@dataclass(frozen=True)
class Call:
    """What the call says beside the project: each beats the project file."""

    site: str | None = None
    scheme: str | None = None
    units: str | None = None
    built: int | None = None


def read(source: str | Path, call: Call | None = None, knowledge: Library | None = None, **options: Any) -> Project:
    """Read a project file (YAML), a bare parts list (CSV, XLSX), or `-` for CSV on standard input.

    call, or site, scheme, units, built as keywords, beat what the project file says.
    Raises InputError with every problem located; nothing is half read.
    """
    call = call or Call(**options)
    known = knowledge or library()
    settings, folder, problems = _settings(source)
    site = _site(settings, call, known, source)
    scheme = call.scheme or settings.scheme or _scheme_of(site)
    units = settings.units or (call.units if call.units in ("in", "mm") else None) or UNITS_OF[scheme]
    context = Context(units, scheme)
    rows = {over: _rows(getattr(settings, over), folder, over) for over in ("parts", "joints")}
    lists: dict[str, ListRead | None] = {}
    for over in ("parts", "joints"):
        lists[over] = _read_or_collect(rows[over], over, known, context, problems)
    if problems:
        raise InputError(problems)
    return _assemble(source, settings, site, scheme, units, lists, call, known, context)


def _settings(source: str | Path) -> tuple[Settings, Path, list[Problem]]:
    path = Path(source)
    if str(source) == "-" or path.suffix.lower() not in (".yaml", ".yml"):
        return Settings(parts=str(source)), Path(), []
    if path.is_dir():
        raise InputError([Problem(str(path), None, None, "is a folder; name the project file in it")])
    settings, _ = read_settings(path)
    return settings, path.parent, []


def _site(settings: Settings, call: Call, known: Library, source: str | Path) -> Site | None:
    if call.site is not None:
        return find_site(call.site, known)
    return None if settings.site is None else find_site(settings.site, known, str(source))


def _scheme_of(site: Site | None) -> str:
    return "us" if site is None or site.country is None else NEAR_SCHEME.get(site.country, "eu")


def _rows(wanted: str | list[dict[str, Any]] | None, folder: Path, over: str) -> Rows | None:
    if wanted is None:
        return None
    if isinstance(wanted, list):
        names = list(dict.fromkeys(name for row in wanted for name in row))
        cells = [["" if row.get(name) is None else str(row[name]) for name in names] for row in wanted]
        return Rows(f"the project file, {over}", list(range(len(cells) + 1)), [names, *cells])
    if wanted == "-":
        return read_rows(None)
    return read_rows(folder / wanted)


def _read_or_collect(
    rows: Rows | None, over: Over, known: Library, context: Context, problems: list[Problem]
) -> ListRead | None:
    if rows is None:
        return None
    try:
        return read_list(rows, over, known, context)
    except InputError as error:
        problems += error.problems
        return None


def _assemble(
    source: str | Path,
    settings: Settings,
    site: Site | None,
    scheme: str,
    units: str,
    lists: dict[str, ListRead | None],
    call: Call,
    known: Library,
    context: Context,
) -> Project:
    parts_read = lists["parts"] or _empty()
    joints_read = lists["joints"] or _empty()
    life = settings.life or DEFAULT_LIFE_YEARS
    _settle(parts_read)
    _count_primer(parts_read)
    parts, parts_assumed = _frame(parts_read, "parts", known, {"life_years": life}, context)
    joints, joints_assumed = _frame(joints_read, "joints", known, {}, context)
    joints = _linked(joints, parts)
    given = sum(read.given for read in (parts_read, joints_read))
    count = len(parts) + len(joints)
    climate = site.climate if site else Climate.unknown()
    return Project(
        name=settings.name or Path(source).stem if str(source) != "-" else "parts list",
        place=str(source),
        parts=parts,
        joints=joints,
        whole=_whole(
            settings,
            site,
            scheme,
            life,
            climate,
            call,
            known,
            list(dict.fromkeys(parts_read.unused + joints_read.unused)),
        ),
        site=site,
        climate=climate,
        scheme=scheme,
        units=units,
        counts=Counts(given, count, given - count),
        assumed={"parts": parts_assumed, "joints": joints_assumed},
        accepted=[entry.model_dump() for entry in settings.accepted],
        said=[
            *(site.said if site else ()),
            *([] if settings.life else [f"no life is given; {DEFAULT_LIFE_YEARS:.0f} years are taken"]),
        ],
        settings=settings.model_dump(exclude={"parts", "joints"}),
    )


def _empty() -> ListRead:
    return ListRead({}, {}, [], [], [], 0)


def _settle(read: ListRead) -> None:
    """What one reading of the treatment says about the others: a preservative is a treatment, its mark may be unknown."""
    count = len(read)
    values = {
        name: read.values.setdefault(name, [None] * count)
        for name in ("treatment_kind", "preservative", "treatment_mark")
    }
    written = {name: read.written.setdefault(name, [False] * count) for name in values}
    for row in range(count):
        marked = values["preservative"][row] not in (None, UNKNOWN, "none") or values["treatment_mark"][row] not in (
            None,
            UNKNOWN,
            "none",
        )
        if marked and values["treatment_kind"][row] is None:
            values["treatment_kind"][row], written["treatment_kind"][row] = "preservative", True
        if values["treatment_kind"][row] == "preservative":
            for name in ("preservative", "treatment_mark"):
                if values[name][row] is None:
                    values[name][row], written[name][row] = UNKNOWN, True


def _count_primer(read: ListRead) -> None:
    """A primer named beside the coats is a coat more."""
    primers, coats = (read.values.get(name, [None] * len(read)) for name in ("finish_primer", "finish_coats"))
    for row, (primer, count) in enumerate(zip(primers, coats, strict=True)):
        if primer not in (None, "none", UNKNOWN) and count is not None:
            coats[row] = float(count) + 1


def _frame(
    read: ListRead, over: Over, known: Library, project: dict[str, Any], context: Context
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The list as a frame: remarks as facts, blanks filled; and what was assumed."""
    read.values["unlisted_count"] = [len(remarks) for remarks in read.remarks]
    read.values["unlisted_words"] = ["; ".join(remarks) or None for remarks in read.remarks]
    read.values["contradiction_count"] = [len(texts) for texts in read.contradictions]
    read.values["contradictions"] = ["; ".join(texts) or None for texts in read.contradictions]
    frame = frame_of(read, over, known)
    from_names = _roles_from_names(frame, read, known, context) if over == "parts" else []
    assumed = fill(frame, read, over, known, project)
    return frame, pd.concat(
        [pd.DataFrame(from_names, columns=assumed.columns), assumed], ignore_index=True
    ) if from_names else assumed


def _roles_from_names(
    frame: pd.DataFrame, read: ListRead, known: Library, context: Context
) -> list[tuple[int, str, Any, str]]:
    """A blank role is read out of the part's name, and that is said."""
    said = []
    values = list(frame["role"].astype(object))
    written = read.written.get("role", [False] * len(read))
    for row, name in enumerate(frame["part"]):
        if not written[row] and name:
            values[row] = role_from_name(name, known, context)
            if values[row]:
                said.append((row, "role", values[row], "default"))
    frame["role"] = typed(
        known.register.facts["parts"]["role"], [None if pd.isna(value) else value for value in values]
    )
    return said


def _linked(joints: pd.DataFrame, parts: pd.DataFrame) -> pd.DataFrame:
    """Joints with the rows of their parts; a name on no list gives -1, a repeated one its first row."""
    names = [_key(name) for name in parts["part"]] if len(parts) else []
    times = Counter(names)
    rows = {name: names.index(name) for name in times}
    for side in ("a", "b"):
        joints[f"{side}_row"] = np.array([rows.get(_key(name), -1) for name in joints[f"part_{side}"]], dtype=int)
    repeats = [
        "yes" if times[_key(a)] > 1 or times[_key(b)] > 1 else "no"
        for a, b in zip(joints["part_a"], joints["part_b"], strict=True)
    ]
    missing = [
        [n for n in (a, b) if _key(n) not in rows] for a, b in zip(joints["part_a"], joints["part_b"], strict=True)
    ]
    joints["part_name_repeats"] = pd.Categorical(repeats, categories=["yes", "no"])
    joints["unlisted_count"] += np.array([len(names) for names in missing], float)
    told = [
        [*([text] if text else []), *(f'part "{n}" is not in the parts list' for n in names)]
        for text, names in zip(joints["unlisted_words"], missing, strict=True)
    ]
    joints["unlisted_words"] = pd.Series(["; ".join(texts) or None for texts in told], dtype=object)
    return joints


def _key(name: Any) -> str:
    return " ".join(str(name).lower().split())


def _whole(
    settings: Settings,
    site: Site | None,
    scheme: str,
    life: float,
    climate: Climate,
    call: Call,
    known: Library,
    unused: list[str],
) -> pd.DataFrame:
    """The facts of the project that are read, one row."""
    work = _work(settings.work, climate, call)
    stands, own = settings.stands, settings.site
    values: dict[str, Any] = {
        "scheme": scheme,
        "site_given": "yes" if site else "no",
        "site_name": site.name if site else None,
        "coast_km": site.coast_km if site else None,
        "height_m": site.height_m if site else None,
        "termites": None if own is None or isinstance(own, str) else own.termites,
        "life_wanted_years": life,
        "work_c": work[0],
        "work_rh_pct": work[1],
        "stands_given": "yes" if stands.height or stands.base or stands.anchored else "no",
        "stands_height_mm": _stand(stands.height, settings, scheme),
        "stands_base_mm": _stand(stands.base, settings, scheme),
        "stands_anchored": stands.anchored,
        "unused_columns": ", ".join(unused) or None,
        "unused_columns_count": len(unused),
    }
    columns = {}
    for name, column in known.register.facts["project"].items():
        if not column.derived and column.kind != "series":
            columns[name] = typed(column, [values.get(name)])
    return pd.DataFrame(columns)


def _work(work: Work, climate: Climate, call: Call) -> tuple[float | None, float | None]:
    """Temperature and humidity on the day: as written, else the site's own of the month."""
    month = call.built or work.month
    if call.built is None and work.temperature is not None and work.humidity is not None:
        return work.temperature, work.humidity
    if month is None:
        return work.temperature, work.humidity
    at = int(month) - 1
    return float(climate.t_mean_c[at]), float(climate.rh_pct[at])


def _stand(value: str | float | None, settings: Settings, scheme: str) -> float | None:
    if value is None:
        return None
    try:
        return size_mm(str(value), settings.units or UNITS_OF[scheme])
    except NotASize as error:
        raise InputError([Problem("the project file", None, "stands", str(error))]) from None
