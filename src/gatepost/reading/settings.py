"""The project file: its keys checked, unknown ones refused with the nearest."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from .. import yamlfile
from ..errors import InputError, Problem, did_you_mean

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid")


class SiteSettings(_Strict):
    """A place with figures of its own; they beat those of the table."""

    place: str | None = None
    lat: float | None = Field(None, ge=-90, le=90)
    lon: float | None = Field(None, ge=-180, le=180)
    height_m: float | None = Field(None, ge=-430, le=9000)
    coast_km: float | None = Field(None, ge=0, le=5000)
    termites: Literal["yes", "no"] | None = None


class Work(_Strict):
    """The day of assembly: its month, or its air."""

    month: str | int | None = None
    temperature: float | None = Field(None, ge=-40, le=60)
    humidity: float | None = Field(None, gt=1, le=100)

    @field_validator("month")
    @classmethod
    def _month(cls, value: str | int | None) -> int | None:
        return None if value is None else month_number(str(value))


class Stands(_Strict):
    """The finished piece: its height, the narrower width of its base, whether it is fixed down."""

    height: str | float | None = None
    base: str | float | None = None
    anchored: Literal["yes", "no"] | None = None


class Accepted(_Strict):
    """A finding that the shop has decided to live with."""

    rule: str
    part: str | None = None
    reason: str = Field(min_length=3)


class Settings(_Strict):
    """A whole project file."""

    name: str | None = None
    site: str | SiteSettings | None = None
    life: float | None = Field(None, gt=0, le=500)
    scheme: Literal["us", "eu"] | None = None
    units: Literal["in", "mm"] | None = None
    parts: str | list[dict[str, Any]]
    joints: str | list[dict[str, Any]] | None = None
    prices: str | None = None
    stock: str | None = None
    rules: str | list[str] = Field(default_factory=list)
    work: Work = Field(default_factory=Work)
    stands: Stands = Field(default_factory=Stands)
    accepted: list[Accepted] = Field(default_factory=list)

    @field_validator("rules")
    @classmethod
    def _list(cls, value: str | list[str]) -> list[str]:
        return [value] if isinstance(value, str) else value


def month_number(text: str) -> int:
    """1 to 12 from a name, its first letters or a number; ValueError for others."""
    if text.isdigit() and 1 <= int(text) <= 12:
        return int(text)
    hits = [i for i, name in enumerate(MONTHS, 1) if len(text) >= 3 and name.lower().startswith(text.lower())]
    if len(hits) != 1:
        raise ValueError(f'"{text}" is no month; write May or 5')
    return hits[0]


def read_settings(path: Path) -> tuple[Settings, yamlfile.Located]:
    """A project file as Settings; all that is wrong in it is reported at once."""
    located = yamlfile.load_file(path)
    data = _yes_and_no(located.data)
    if not isinstance(data, dict):
        raise InputError([Problem(str(path), 1, None, "a project file is a list of keys such as `parts: parts.csv`")])
    try:
        return Settings.model_validate(data), located
    except ValidationError as error:
        raise InputError([_problem(located, dict(bad)) for bad in error.errors()]) from None


def _yes_and_no(value: Any) -> Any:
    """true and false as yes and no, and a bare number as the text of a site."""
    if isinstance(value, dict):
        return {key: _yes_and_no(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_yes_and_no(inner) for inner in value]
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else value


def _problem(located: yamlfile.Located, bad: dict[str, Any]) -> Problem:
    path = tuple(part for part in bad["loc"] if isinstance(part, int) or part.isidentifier())
    key = ".".join(str(part) for part in path if part not in ("str", "SiteSettings", "list"))
    kind, what = bad["type"], str(bad["msg"]).removeprefix("Value error, ")
    if kind == "extra_forbidden":
        what = f"is no key of a project file{did_you_mean(str(path[-1]), _keys())}"
    elif kind == "missing":
        what = "is missing; name the parts list, for example `parts: parts.csv`" if key == "parts" else "is missing"
    elif kind == "literal_error":
        what = f"must be {bad['ctx']['expected'].replace(chr(39), '')}, not {bad['input']!r}"
    return Problem(located.place, located.line(path), key, what)


def _keys() -> list[str]:
    models = (Settings, SiteSettings, Work, Stands, Accepted)
    return [key for model in models for key in model.model_fields]
