"""The only place where untidy input exists; what leaves it is complete, typed, in SI units."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeAlias, TypeVar

import pandas as pd

from ..errors import InputError, Problem
from ..library import Library, Over, library
from ..project import Prices, Project, Site, Stock
from .assemble import Raw, assemble, left_out_said
from .files import STANDARD_INPUT, Rows, frame_rows, read_rows
from .lists import ListRead, read_list
from .places import find_site
from .prices import read_prices
from .settings import Settings, month_number, read_settings
from .sizes import Context
from .stock import read_stock
from .weather import ARGUMENT

__all__ = ["ARGUMENT", "Call", "Long", "find_site", "left_out_said", "long_input", "long_list", "month_number", "read"]

SCHEME_OF = {"US": "us", "CA": "us"}
UNITS_OF = {"us": "in", "eu": "mm"}
T = TypeVar("T")
Source: TypeAlias = "str | Path | Rows | pd.DataFrame"


@dataclass(frozen=True)
class Call:
    """What the call says beside the project: each beats the project file; `built` is the month of assembly, 1 to 12.

    prices, stock  files, from where the call is made; those of the project file stand beside it
    """

    site: str | None = None
    scheme: str | None = None
    units: str | None = None
    built: int | None = None
    prices: str | None = None
    stock: str | None = None


class _Collected:
    """Problems of several readings, so that all are reported at once."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def attempt(self, reading: Callable[[], T], otherwise: T) -> T:
        try:
            return reading()
        except InputError as error:
            self.problems += error.problems
            return otherwise


def read(source: Source, call: Call | None = None, knowledge: Library | None = None, **options: Any) -> Project:
    """Read a project file (YAML), a bare parts list (CSV, XLSX), or `-` for CSV on standard input.

    source  a path; or a parts list that is read already: a DataFrame with a column a heading, or Rows

    call, or site, scheme, units, built, prices, stock as keywords, beat what the project file says.
    Raises InputError with every problem located; nothing is half read.
    """
    settings, folder = _settings(source)
    return _read(source, settings, folder, call or Call(**options), knowledge or library())


def _read(source: Source, settings: Settings, folder: Path, call: Call, known: Library) -> Project:
    collected = _Collected()
    site = collected.attempt(lambda: _site(settings, call, known, source), None)
    scheme = call.scheme or settings.scheme or _scheme_of(site)
    own = site if call.site is None else collected.attempt(lambda: _site(settings, Call(), known, source), None)
    units = settings.units or _bare_units(settings, call, own, scheme)
    context = Context(units, scheme)
    parts = collected.attempt(lambda: _list(settings.parts, "parts", folder, known, context), _empty())
    joints = collected.attempt(lambda: _list(settings.joints, "joints", folder, known, context), _empty())
    prices = collected.attempt(lambda: _prices(settings, folder, call, known, context), None)
    stock = collected.attempt(lambda: _stock(settings, folder, call, known, context), None)
    if collected.problems:
        raise InputError(collected.problems)
    place = settings.parts.place if isinstance(settings.parts, Rows) and not settings.from_file else str(source)
    name = settings.name or ("parts list" if place in ("-", STANDARD_INPUT) else Path(place).stem)
    return assemble(Raw(name, place, settings, site, context, parts, joints, call.built, prices, stock), known)


@dataclass(frozen=True)
class Long:
    """A parts list too long to be held at once, with all else that its project says.

    source    the project file, or the list itself
    path      where the list is, in CSV
    place     how messages name it
    """

    source: str
    path: Path
    place: str
    settings: Settings
    folder: Path

    def piece(self, rows: Rows, call: Call, known: Library) -> Project:
        """The project with the rows of one piece; prices and stock, which no rule reads, are left to `head`."""
        bare = replace(self.settings, parts=rows, prices=None, stock=None)
        return _read(self.source, bare, self.folder, replace(call, prices=None, stock=None), known)

    def head(self, call: Call, known: Library) -> Project:
        """The project without a row: its name, place, units and rules, its prices and stock, and what is said of them."""
        rows = Rows(self.place, [1], [list(known.register.written["parts"])], piece=True)
        return _read(self.source, replace(self.settings, parts=rows), self.folder, call, known)


def long_list(source: str, least_bytes: int) -> Long | None:
    """The list of a project to be read piece by piece: CSV of more than so many bytes, without joints or accepted findings."""
    settings, folder = _settings(source)
    if source == "-" or not isinstance(settings.parts, str) or settings.joints is not None or settings.accepted:
        return None
    path = folder / settings.parts
    if path.suffix.lower() == ".xlsx" or not path.is_file() or path.stat().st_size <= least_bytes:
        return None
    return Long(source, path, str(path), settings, folder)


def long_input(path: Path) -> Long:
    """Standard input that was put into a file, to be read piece by piece."""
    return Long("-", path, STANDARD_INPUT, Settings(parts=str(path), from_file=False), Path())


def _settings(source: Source) -> tuple[Settings, Path]:
    if isinstance(source, Rows | pd.DataFrame):
        rows = source if isinstance(source, Rows) else frame_rows(source, "parts list")
        return Settings(parts=rows, from_file=False), Path()
    path = Path(source)
    if str(source) == "-" or path.suffix.lower() not in (".yaml", ".yml"):
        return Settings(parts=str(source), from_file=False), Path()
    if path.is_dir():
        raise InputError([Problem(str(path), None, None, "is a folder; name the project file in it")])
    return read_settings(path), path.parent


def _site(settings: Settings, call: Call, known: Library, source: Source) -> Site | None:
    if call.site is not None:
        return find_site(call.site, known)
    if settings.site is None:
        return None
    try:
        return find_site(settings.site, known, str(source))
    except InputError as error:
        raise InputError([_at_line(one, str(source), settings.lines.get("site")) for one in error.problems]) from None


def _at_line(problem: Problem, place: str, line: int | None) -> Problem:
    """A problem of the project file itself with its line; one of a file that it names has its own."""
    return replace(problem, line=line) if problem.place == place and problem.line is None else problem


def _bare_units(settings: Settings, call: Call, own_site: Site | None, scheme: str) -> str:
    """What bare numbers mean: by the project's own scheme or site, which no call changes; for a bare list, as called."""
    if settings.scheme is not None:
        return UNITS_OF[settings.scheme]
    if settings.site is not None:
        return UNITS_OF[_scheme_of(own_site)]
    if not settings.from_file and call.units in ("in", "mm"):
        return call.units
    return UNITS_OF[scheme]


def _scheme_of(site: Site | None) -> str:
    return "us" if site is None or site.country is None else SCHEME_OF.get(site.country, "eu")


def _list(wanted: str | Rows | None, over: Over, folder: Path, known: Library, context: Context) -> ListRead:
    if wanted is None:
        return _empty()
    if isinstance(wanted, Rows):
        return read_list(wanted, over, known, context)
    return read_list(read_rows(None if wanted == "-" else folder / wanted), over, known, context)


def _prices(settings: Settings, folder: Path, call: Call, known: Library, context: Context) -> Prices | None:
    path = _file(call.prices, settings.prices, folder)
    return None if path is None else read_prices(read_rows(path), known, context)


def _stock(settings: Settings, folder: Path, call: Call, known: Library, context: Context) -> Stock | None:
    path = _file(call.stock, settings.stock, folder)
    return None if path is None else read_stock(read_rows(path), known, context)


def _file(called: str | None, written: str | None, folder: Path) -> Path | None:
    """The file of the call, else that of the project file, beside it."""
    if called is not None:
        return Path(called)
    return None if written is None else folder / written


def _empty() -> ListRead:
    return ListRead({}, [], 0)
