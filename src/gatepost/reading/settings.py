"""The project file: its keys checked, unknown ones refused with the nearest."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from .. import yamlfile
from ..errors import InputError, Problem
from ..limits import OUTSIDE, limit, outside_allowed, over
from ..shape import Key, check
from .files import Rows

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
DEPOSITS = ("so2_mg_m2_d", "chloride_mg_m2_d")
MOST_MG_M2_D = 5000.0
STANDS = ("height", "base")
WEATHER_SUFFIX = ".epw"
_YES_NO = Key((str,), choices=("yes", "no"))
_LIST = Key((str, list), required=True, example="parts: parts.csv")

SHAPE = {
    "name": Key((str,)),
    "site": Key(
        (str, dict),
        inner={
            "place": Key((str,)),
            "lat": Key((float,), bounds=(-90, 90)),
            "lon": Key((float,), bounds=(-180, 180)),
            "height_m": Key((float,), bounds=(-430, 9000)),
            "coast_km": Key((float,), bounds=(0, 5000)),
            **{deposit: Key((float,), bounds=(0, MOST_MG_M2_D)) for deposit in DEPOSITS},
            "termites": _YES_NO,
        },
    ),
    "life": Key((float,), bounds=(1, 500)),
    "scheme": Key((str,), choices=("us", "eu")),
    "units": Key((str,), choices=("in", "mm")),
    "parts": _LIST,
    "joints": Key((str, list)),
    "prices": Key((str,)),
    "stock": Key((str,)),
    "rules": Key((str, list)),
    "work": Key(
        (dict,),
        inner={
            "month": Key((str, int)),
            "temperature": Key((float,), bounds=(-40, 60)),
            "humidity": Key((float,), bounds=(1.5, 100)),
        },
    ),
    "stands": Key((dict,), inner={"height": Key((str, float)), "base": Key((str, float)), "anchored": _YES_NO}),
    "accepted": Key(
        (list,), inner={"rule": Key((str,), required=True), "part": Key((str,)), "reason": Key((str,), required=True)}
    ),
}


@dataclass(frozen=True)
class Settings:
    """A project file as read; what it does not say is None or empty.

    lines  of the file, where what is checked later stands: site, stands.height, stands.base
    """

    parts: str | Rows
    joints: str | Rows | None = None
    name: str | None = None
    site: str | dict[str, Any] | None = None
    life: float | None = None
    scheme: str | None = None
    units: str | None = None
    prices: str | None = None
    stock: str | None = None
    rules: list[str] = field(default_factory=list)
    work: dict[str, Any] = field(default_factory=dict)
    stands: dict[str, Any] = field(default_factory=dict)
    accepted: list[dict[str, str | None]] = field(default_factory=list)
    from_file: bool = True
    lines: dict[str, int | None] = field(default_factory=dict)


def month_number(text: str) -> int:
    """1 to 12 from a name, its first letters or a number; ValueError for others."""
    if text.isdigit() and 1 <= int(text) <= 12:
        return int(text)
    hits = [i for i, name in enumerate(MONTHS, 1) if len(text) >= 3 and name.lower().startswith(text.lower())]
    if len(hits) != 1:
        raise ValueError(f'"{text}" is no month; write May or 5')
    return hits[0]


def read_settings(path: Path) -> Settings:
    """A project file as Settings; all that is wrong in it is reported at once."""
    located = yamlfile.load_file(path, strict=False)
    data = _yes_and_no(located.data)
    problems = [*located.problems, *check(located, data, SHAPE, (), None, "a project file")]
    work = data.get("work") if isinstance(data, dict) else None
    if isinstance(work, dict) and work.get("month") is not None:
        try:
            work["month"] = month_number(str(work["month"]))
        except ValueError as error:
            problems.append(located.problem(("work", "month"), str(error), "work.month"))
    problems += _lone_deposit(data, located)
    problems += _outside(data, located, path.parent) if isinstance(data, dict) else []
    if problems:
        raise InputError(sorted(problems, key=lambda problem: problem.line or 0))
    given = {key: value for key, value in data.items() if value is not None}
    for name in ("parts", "joints"):
        if isinstance(given.get(name), list):
            given[name] = _rows(given[name], name, located)
    given["rules"] = [given["rules"]] if isinstance(given.get("rules"), str) else given.get("rules", [])
    given["accepted"] = [{"part": None, **entry} for entry in given.get("accepted", [])]
    lines = {
        "site": located.line(("site", "place")),
        **{f"stands.{key}": located.line(("stands", key)) for key in STANDS},
    }
    return Settings(**given, lines=lines)


def _lone_deposit(data: Any, located: yamlfile.Located) -> list[Problem]:
    """One deposit without the other is no pair for the formula."""
    site = data.get("site") if isinstance(data, dict) else None
    given = [name for name in DEPOSITS if isinstance(site, dict) and site.get(name) is not None]
    if len(given) != 1:
        return []
    [missing] = set(DEPOSITS) - set(given)
    return [located.problem(("site", given[0]), f"needs {missing} beside it; give both or neither", f"site.{given[0]}")]


def _outside(data: dict[str, Any], located: yamlfile.Located, folder: Path) -> list[Problem]:
    """Files that the project names outside its own folder, by way of .., a full path or a link."""
    site, rules = data.get("site"), data.get("rules")
    place = (site.get("place"), ("site", "place")) if isinstance(site, dict) else (site, ("site",))
    named: list[tuple[Any, tuple[str | int, ...]]] = (
        [place] if isinstance(place[0], str) and place[0].lower().endswith(WEATHER_SUFFIX) else []
    )
    named += [(data.get(key), (key,)) for key in ("parts", "joints", "prices", "stock", "rules")]
    named += [(one, ("rules", at)) for at, one in enumerate(rules if isinstance(rules, list) else ())]
    out = []
    for name, where in named:
        wrong = _wrong_path(name, folder) if isinstance(name, str) else None
        if wrong:
            out.append(located.problem(where, wrong, ".".join(one for one in where if isinstance(one, str))))
    return out


def _wrong_path(name: str, folder: Path) -> str | None:
    try:
        inside = (folder / name).resolve().is_relative_to(folder.resolve())
    except (OSError, ValueError, RuntimeError):
        return f"{name} is no name of a file"
    if inside or outside_allowed():
        return None
    return (
        f"{name} lies outside the project's folder; move it in, or set {OUTSIDE}=yes where the project file is your own"
    )


def _rows(entries: list[Any], name: str, located: yamlfile.Located) -> Rows:
    """Rows written in the project file itself, as a list file would hold them."""
    wrong = [i for i, entry in enumerate(entries) if not isinstance(entry, dict)]
    if wrong:
        what = "each row must be keys with values, for example {part: post, material: oak}"
        raise InputError([located.problem((name, i), what, name) for i in wrong])
    header = list(dict.fromkeys(key for entry in entries for key in entry))
    if len(header) * len(entries) > limit("SHEET_CELLS"):
        raise InputError([located.problem((name,), over("SHEET_CELLS", "spans more cells than are read"), name)])
    cells = [["" if entry.get(key) is None else _cell(entry[key]) for key in header] for entry in entries]
    lines = [located.line((name, i)) or 1 for i in range(len(entries))]
    return Rows(located.place, [located.line((name,)) or 1, *lines], [header, *cells])


def _cell(value: Any) -> str:
    return " + ".join(map(str, value)) if isinstance(value, list) else str(value)


def _yes_and_no(value: Any) -> Any:
    """true and false as yes and no, in every place."""
    if isinstance(value, dict):
        return {key: _yes_and_no(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_yes_and_no(inner) for inner in value]
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else value
