"""What read delivers and derive takes: complete, typed, in SI units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import pandas as pd


@dataclass(frozen=True)
class Climate:
    """The months of a place: arrays of twelve, NaN where not known.

    hours  where a weather file tells them: rows month, temperature [°C], relative humidity [%], one column an hour
    """

    t_mean_c: np.ndarray
    rh_pct: np.ndarray
    rain_days: np.ndarray
    hours: np.ndarray | None = None

    @classmethod
    def of_rows(cls, rows: list[dict[str, str]]) -> Climate:
        """The twelve rows of a place in the table of climates."""
        return cls(
            *(np.array([float(row[name] or "nan") for row in rows]) for name in ("t_mean_c", "rh_pct", "rain_days"))
        )

    @classmethod
    def unknown(cls) -> Climate:
        """A climate of which nothing is known."""
        return cls(np.full(12, np.nan), np.full(12, np.nan), np.full(12, np.nan))


@dataclass(frozen=True)
class Site:
    """The place whose climate is used; unknown figures are None, `said` tells what was assumed or taken from near.

    so2_mg_m2_d, chloride_mg_m2_d  what settles there in a day, where the project knows it
    """

    name: str
    lat: float | None
    lon: float | None
    country: str | None
    height_m: float | None
    coast_km: float | None
    climate: Climate
    source: str
    status: str
    said: tuple[str, ...] = ()
    so2_mg_m2_d: float | None = None
    chloride_mg_m2_d: float | None = None


@dataclass(frozen=True)
class Counts:
    """Rows given, read as parts or joints, and set aside; given is the sum of the two."""

    given: int
    read: int
    set_aside: int


@dataclass(frozen=True)
class Prices:
    """A price file as read, in one currency.

    items  one row an item that is known: item, line, kind (lumber, panel, other, fastener, hardware, finish, glue),
           unit as written, measure (m3, board m3, m2, m, piece, litre), price, labour and upkeep of one unit of the
           measure (NaN where not given), words (the text as phrases are matched), and the facts that the text tells
    said   items that are on no list, and rows set aside
    """

    place: str
    currency: str
    items: pd.DataFrame
    said: tuple[str, ...] = ()


@dataclass(frozen=True)
class Stock:
    """A stock file as read: what the shop can take, a row each, in cells of the parts list.

    materials  each names its material whole: column to text, `material` first
    finishes   finish, and upkeep where it is written; none where the file names no finish
    """

    place: str
    materials: list[dict[str, str]]
    finishes: list[dict[str, str]]
    said: tuple[str, ...] = ()


def named(names: pd.Series, numbers: np.ndarray) -> np.ndarray:
    """Names of rows that are the `numbers` of their list; the number, counted from 1, where a row has none."""
    out = names.to_numpy(object).copy()
    for row in np.flatnonzero(names.isna()).tolist():
        out[row] = f"row {numbers[row] + 1}"
    return out


@dataclass(frozen=True)
class Project:
    """A project as read.

    parts, joints  one row a part or joint, columns of the register; joints also hold a_row and b_row,
                   the rows of their parts (-1 where the name is on no list)
    whole          one row: facts of the project that are read
    assumed        for each table, which cells were blank and what they were taken for: row, column, value
    blank          for each table, where facts whose default hangs on another were not written: rows by facts
    left_out       for each table and column in how many rows it is blank though facts go on without it
    """

    name: str
    place: str
    parts: pd.DataFrame
    joints: pd.DataFrame
    whole: pd.DataFrame
    site: Site | None
    climate: Climate
    scheme: str
    units: str
    counts: Counts
    assumed: dict[str, pd.DataFrame]
    accepted: list[dict[str, str | None]] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    rule_files: list[str] = field(default_factory=list)
    blank: dict[str, pd.DataFrame] = field(default_factory=dict)
    prices: Prices | None = None
    stock: Stock | None = None
    left_out: Mapping[tuple[str, str], int] = field(default_factory=dict)
