"""Weather files: the hours of a year in the open EPW form, as the months of a place."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from ..errors import InputError, Problem
from ..humidity import rh_from_dew_point_pct
from ..library import Library
from ..limits import file_bytes
from ..project import Climate, Site
from .settings import MONTHS, WEATHER_SUFFIX

HEADS = (
    "LOCATION", "DESIGN CONDITIONS", "TYPICAL/EXTREME PERIODS", "GROUND TEMPERATURES",
    "HOLIDAYS/DAYLIGHT SAVING", "COMMENTS 1", "COMMENTS 2", "DATA PERIODS",
)  # fmt: skip
FEWEST_FIELDS, FIELDS = 32, 35
YEARS_HOURS = (8760, 8784)
MOST = 0.9
"""Share of a month's hours that must hold a figure for the month to have one."""
RAIN_DAY_MM = 0.25
COUNTRY_OF = {
    "AUS": "AU", "AUT": "AT", "BEL": "BE", "BGR": "BG", "BIH": "BA", "BRA": "BR", "CAN": "CA", "CHE": "CH",
    "CHN": "CN", "CYP": "CY", "CZE": "CZ", "DEU": "DE", "DNK": "DK", "ESP": "ES", "EST": "EE", "FIN": "FI",
    "FRA": "FR", "GBR": "GB", "GRC": "GR", "HRV": "HR", "HUN": "HU", "IRL": "IE", "ISL": "IS", "ISR": "IL",
    "ITA": "IT", "JPN": "JP", "LTU": "LT", "LUX": "LU", "LVA": "LV", "MEX": "MX", "NLD": "NL", "NOR": "NO",
    "NZL": "NZ", "POL": "PL", "PRT": "PT", "ROU": "RO", "RUS": "RU", "SGP": "SG", "SRB": "RS", "SVK": "SK",
    "SVN": "SI", "SWE": "SE", "USA": "US", "ZAF": "ZA",
}  # fmt: skip
OPTION, ARGUMENT = "--site", "PLACE"
"""How a call names a place: with the option of the verbs that read a project, or alone."""
_NO_NAME = ("", "-", "unknown", "n/a")


@dataclass(frozen=True)
class Column:
    """A column of the hours: where it stands, what is possible, and from which value on it is missing."""

    name: str
    at: int
    low: float
    high: float
    missing: float
    unit: str = ""


MONTH, DAY = Column("month", 1, 1, 12, np.inf), Column("day", 2, 1, 31, np.inf)
HOUR = Column("hour", 3, 1, 24, np.inf)
TEMPERATURE = Column("dry bulb temperature", 6, -70, 70, 99.9, " °C")
DEW_POINT = Column("dew point temperature", 7, -70, 70, 99.9, " °C")
HUMIDITY = Column("relative humidity", 8, 0, 110, 999, " %")
RAIN = Column("liquid precipitation depth", 33, 0, 998, 999, " mm")


@dataclass
class _File:
    """A weather file on its way: its place for messages, its lines, the hours that can be read, what is wrong."""

    place: str
    lines: list[list[str]]
    hours: list[list[str]] = field(default_factory=list)
    at: list[int] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def wrong(self, line: int | None, column: str | None, what: str) -> None:
        self.problems.append(Problem(self.place, line, column, what))


def is_weather_file(name: str) -> bool:
    """Does a place name mean a weather file?"""
    return name.lower().endswith(WEATHER_SUFFIX)


def read_weather(path: Path, library: Library, place: str = "--site") -> Site:
    """The place of a weather file, with the months of its year; InputError with all that is wrong in it.

    place   where the wish for it stands, for the message that it is not there
    """
    file = _File(str(path), _lines(path, place))
    _check_heads(file)
    _take_hours(file)
    month, day, hour = (_whole(file, column) for column in (MONTH, DAY, HOUR))
    _check_year(file, month, day, hour)
    t_c, dew_c, rh_pct, rain_mm = (_numbers(file, each) for each in (TEMPERATURE, DEW_POINT, HUMIDITY, RAIN))
    rh_pct, filled = _with_dew_point(np.minimum(rh_pct, 100), t_c, dew_c, library)
    _check_months(file, month, {TEMPERATURE.name: t_c, HUMIDITY.name: rh_pct})
    lat, lon, height_m = _position(file)
    if file.problems:
        raise InputError(_fewer(file.problems))
    hours = np.stack([month, t_c, rh_pct])
    climate = Climate(_means(t_c, month), _means(rh_pct, month), rain_days(rain_mm, month, day), hours)
    name, country = _name(file.lines[0], path)
    said = [*_said_of_air(path.name, t_c, rh_pct, filled, climate), *_said_of_rain(rain_mm, climate)]
    said += _said_of_country(country)
    return Site(name, lat, lon, country, height_m, None, climate, "weather file", "seen", tuple(said))


def site_problem(place: str, what: str) -> Problem:
    """A problem of the place that was asked for: in a project file its key is named, in a call the option is."""
    return Problem(place, None, None if place in (OPTION, ARGUMENT) else "site", what)


def _lines(path: Path, place: str) -> list[list[str]]:
    try:
        data = file_bytes(path, str(path), "WEATHER_MB")
    except InputError as error:
        what = f'weather file "{path}" {error.problems[0].what}'
        raise InputError([site_problem(place, what)]) from None
    if b"\0" in data:
        raise InputError([Problem(str(path), None, None, "not a text file; unpack it, and give the .epw file itself")])
    text = data.removeprefix(b"\xef\xbb\xbf").decode("latin-1").replace("\r\n", "\n").replace("\r", "\n")
    # Line by line, so that a stray quote cannot swallow the lines after it.
    return [next(csv.reader([line]), []) for line in text.rstrip().split("\n")]


def _check_heads(file: _File) -> None:
    for number, head in enumerate(HEADS, 1):
        first = file.lines[number - 1][0].strip() if len(file.lines) >= number and file.lines[number - 1] else ""
        if not first.upper().startswith(head):
            file.wrong(number, None, f'begins with "{first[:30]}"; line {number} of a weather file begins with {head}')
    if file.problems:
        raise InputError(file.problems)
    each_hour = [*file.lines[7], "", "", ""][2].strip()
    if each_hour not in ("", "1"):
        file.wrong(8, "records per hour", f"{each_hour}; take a file with 1 record an hour")


def _take_hours(file: _File) -> None:
    rows = file.lines[len(HEADS) :]
    usual = Counter(len(row) for row in rows if FEWEST_FIELDS <= len(row) <= FIELDS).most_common(1)
    fields = usual[0][0] if usual else FIELDS
    for line, row in enumerate(rows, len(HEADS) + 1):
        if len(row) == fields:
            file.hours.append(row)
            file.at.append(line)
        else:
            cut = "; the file is cut here: fetch it again" if line == len(file.lines) and len(row) < fields else ""
            file.wrong(line, None, f"{len(row)} fields, where an hour has {fields}{cut}")


def _numbers(file: _File, column: Column) -> np.ndarray:
    """A column as floats, NaN where missing; what is no number, or impossible, is reported."""
    if not file.hours or column.at >= len(file.hours[0]):
        return np.full(len(file.hours), np.nan)
    out = np.array([_number(row[column.at]) for row in file.hours])
    out[(out >= column.missing) & np.isfinite(out)] = np.nan
    with np.errstate(invalid="ignore"):
        bad = (out < column.low) | (out > column.high)
    hint = "" if column.missing == np.inf else f"; write {column.missing:g} where it is not known"
    for row in np.flatnonzero(bad):
        cell = file.hours[row][column.at].strip()
        what = f'"{cell}" must be a number from {column.low:g} to {column.high:g}{column.unit}{hint}'
        file.wrong(file.at[row], column.name, what)
    out[bad] = np.nan
    return out


def _number(cell: str) -> float:
    """A cell as float: NaN for a blank, infinite for what is no number."""
    try:
        value = float(cell) if cell.strip() else None
    except ValueError:
        return np.inf
    return np.nan if value is None else value if np.isfinite(value) else np.inf


def _whole(file: _File, column: Column) -> np.ndarray:
    """Month, day or hour as integers, 0 where it cannot be read."""
    values = _numbers(file, column)
    for row, cells in enumerate(file.hours):
        if not cells[column.at].strip() or values[row] % 1 > 0:
            file.wrong(file.at[row], column.name, f"must be a whole number from {column.low:g} to {column.high:g}")
            values[row] = np.nan
    return np.nan_to_num(values).astype(int)


def _check_year(file: _File, month: np.ndarray, day: np.ndarray, hour: np.ndarray) -> None:
    seen: dict[tuple[int, int, int], int] = {}
    for at, stamp in zip(file.at, zip(month.tolist(), day.tolist(), hour.tolist(), strict=True), strict=True):
        if all(stamp) and at != seen.setdefault(stamp, at):
            file.wrong(
                at, "hour", f"month {stamp[0]}, day {stamp[1]}, hour {stamp[2]} stands on line {seen[stamp]} too"
            )
    rows = len(file.lines) - len(HEADS)
    if rows not in YEARS_HOURS:
        file.wrong(None, None, f"{rows} hours; a year has 8760, a leap year 8784: fetch the whole file")
    absent = [MONTHS[number - 1] for number in sorted(set(range(1, 13)) - set(month.tolist()))]
    if absent:
        file.wrong(None, "month", f"no hours of {', '.join(absent)}; fetch a file that holds the whole year")


def _check_months(file: _File, month: np.ndarray, columns: dict[str, np.ndarray]) -> None:
    """A month that has hours must have some figure in each of the columns."""
    for name, values in columns.items():
        known = set(month[~np.isnan(values)].tolist())
        for number in sorted(set(month.tolist()) - known - {0}):
            line = file.at[int(np.argmax(month == number))]
            file.wrong(
                line, name, f"no figure in all of {MONTHS[number - 1]}; take another file, or a place of the table"
            )


def _with_dew_point(rh_pct: np.ndarray, t_c: np.ndarray, dew_c: np.ndarray, library: Library) -> tuple[np.ndarray, int]:
    """Humidity, from the dew point where it is missing; and how many hours that filled."""
    constants = library.table("constants")
    slope, offset_c = (constants.number(name, "value") for name in ("magnus_slope", "magnus_offset_c"))
    out = np.where(np.isnan(rh_pct), rh_from_dew_point_pct(t_c, dew_c, slope, offset_c), rh_pct)
    return out, int(np.isnan(rh_pct).sum() - np.isnan(out).sum())


def _position(file: _File) -> tuple[float, float, float | None]:
    cells = [*file.lines[0], *[""] * 10]
    lat = _header_number(file, cells[6], "latitude", -90, 90)
    lon = _header_number(file, cells[7], "longitude", -180, 180)
    height_m = _header_number(file, cells[9], "elevation", -430, 9000) if cells[9].strip() else None
    return lat, lon, height_m


def _header_number(file: _File, cell: str, name: str, low: float, high: float) -> float:
    value = _number(cell)
    if not low <= value <= high:
        file.wrong(1, name, f'"{cell.strip()}" must be a number from {low:g} to {high:g}')
    return value


def _fewer(problems: list[Problem], most: int = 5) -> Iterable[Problem]:
    """In order of lines; a fault that fills a column is shown a few times and then counted."""
    kinds: Counter[tuple[str | None, bool]] = Counter()
    out = []
    for problem in sorted(problems, key=lambda each: (each.line is None, each.line or 0)):
        kind = (problem.column, problem.line is not None)
        kinds[kind] += 1
        if kinds[kind] <= most or problem.line is None:
            out.append(problem)
    place = problems[0].place
    more = [(column, count - most) for (column, lined), count in kinds.items() if lined and count > most]
    return out + [Problem(place, None, column, f"and {count} lines more with such a fault") for column, count in more]


def _means(values: np.ndarray, month: np.ndarray) -> np.ndarray:
    """Means of the twelve months over their hours; NaN where fewer than most hours are known."""
    known = ~np.isnan(values)
    count = np.bincount(month[known], minlength=13)[1:]
    total = np.bincount(month[known], values[known], minlength=13)[1:]
    return np.where(_enough(known, month), total / np.maximum(count, 1), np.nan)


def _enough(known: np.ndarray, month: np.ndarray) -> np.ndarray:
    return np.bincount(month[known], minlength=13)[1:] >= MOST * np.bincount(month, minlength=13)[1:]


def rain_days(rain_mm: np.ndarray, month: np.ndarray, day: np.ndarray) -> np.ndarray:
    """Days of each month with at least 0.25 mm; NaN where fewer than most hours of the month are known."""
    fallen = np.bincount(month * 32 + day, np.nan_to_num(rain_mm), minlength=13 * 32).reshape(13, 32)
    wet = (fallen > RAIN_DAY_MM - 1e-6).sum(axis=1)[1:]
    return np.where(_enough(~np.isnan(rain_mm), month), wet, np.nan)


def _name(head: list[str], path: Path) -> tuple[str, str | None]:
    """City, state and country of the first line, or the name of the file; and the country where it is known."""
    city, state, code = (cell.strip() for cell in [*head, "", "", ""][1:4])
    country = COUNTRY_OF.get(code.upper()) or (code.upper() if code.upper() in COUNTRY_OF.values() else None)
    if city.lower() in _NO_NAME:
        return path.stem, country
    parts = [part for part in (city, state, country or code) if part.lower() not in _NO_NAME]
    return ", ".join(dict.fromkeys(parts)), country


def _months_named(unknown: np.ndarray) -> str:
    few = unknown if unknown.sum() <= 6 else ~unknown
    names = ", ".join(MONTHS[number][:3] for number in np.flatnonzero(few))
    return names if few is unknown else f"all months but {names}"


def _said_of_air(name: str, t_c: np.ndarray, rh_pct: np.ndarray, filled: int, climate: Climate) -> list[str]:
    said = [
        f"the figures are means over the {len(t_c)} hours of {name}: humidity is averaged hour by hour, "
        "which is better than working it out from monthly means"
    ]
    missing = int((np.isnan(t_c) | np.isnan(rh_pct)).sum())
    if filled:
        said.append(f"humidity is not given for {_hours(filled)}; there it is worked out from the dew point")
    if missing:
        said.append(f"{_hours(missing)} without temperature or humidity left out")
    thin = np.isnan(climate.t_mean_c) | np.isnan(climate.rh_pct)
    if thin.any():
        said.append(f"too few hours are left in {_months_named(thin)}, so these months are not known")
    return said


def _hours(count: int) -> str:
    return "1 hour" if count == 1 else f"{count} hours"


def _said_of_rain(rain_mm: np.ndarray, climate: Climate) -> list[str]:
    unknown = np.isnan(climate.rain_days)
    hazard = "it tells no rain days there"
    if unknown.all():
        return ["the file holds no rain to count by"]
    said = [f"the file holds too little rain data for {_months_named(unknown)}: {hazard}"] if unknown.any() else []
    fallen = rain_mm[np.nan_to_num(rain_mm) > 0]
    if len(fallen) and not (fallen % 1).any():
        said.append(
            "rain is written in whole millimetres, so days with a little rain are missed: read rain days as the least"
        )
    return said


def _said_of_country(country: str | None) -> list[str]:
    what = "the file does not tell a country that is known here: United States classes hold unless scheme says eu"
    return [what] if country is None else []
