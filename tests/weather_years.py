"""Synthetic years in the open hourly weather form, for tests."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from functools import lru_cache

LOCATION = ["LOCATION", "Testham", "WI", "USA", "TMY", "999999", "43.10", "-89.30", "-6.0", "262.0"]
HEADS = [
    "DESIGN CONDITIONS,0",
    "TYPICAL/EXTREME PERIODS,0",
    "GROUND TEMPERATURES,0",
    "HOLIDAYS/DAYLIGHT SAVINGS,,0,0,0",
    'COMMENTS 1,"made up, for tests"',
    "COMMENTS 2,",
    "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
]
MONTH, DAY, HOUR, TEMPERATURE, DEW_POINT, HUMIDITY, RAIN = 1, 2, 3, 6, 7, 8, 33
FIRST = 9
"""Line of the first hour."""


def year(leap: bool = False, fields: int = 35) -> list[list[str]]:
    """The hours of a year: warm in July, damp at night, rain of 0.5 mm at noon of every even day."""
    return [row[:fields] for row in _whole_year(leap)]


@lru_cache
def _whole_year(leap: bool) -> list[list[str]]:
    start = datetime(2020 if leap else 2019, 1, 1)
    return [hour(start + timedelta(hours=n), n) for n in range(8784 if leap else 8760)]


def hour(at: datetime, n: int) -> list[str]:
    """One hour; what the reader does not use is missing."""
    t = 10 - 12 * math.cos(2 * math.pi * n / 8760) - 4 * math.cos(2 * math.pi * at.hour / 24)
    rh = 70 + 15 * math.cos(2 * math.pi * at.hour / 24)
    rain = "0.5" if at.hour == 12 and at.day % 2 == 0 else "0.0"
    cells = [str(at.year), str(at.month), str(at.day), str(at.hour + 1), "0", "?9?9?9?9E0", f"{t:.1f}", f"{t - 5:.1f}"]
    cells += [f"{rh:.0f}", "99000", *["9999"] * 6, *["999999"] * 3, "9999", "180", "2.0", "99", "99", "9999", "99999"]
    return [*cells, "9", "999999999", "999", ".999", "999", "99", "999", rain, "1.0"]


def text(rows: list[list[str]], location: list[str] = LOCATION, heads: list[str] = HEADS, end: str = "\r\n") -> str:
    """The file."""
    return end.join([",".join(location), *heads, *(",".join(row) for row in rows)]) + end


def write(path, rows=None, location=LOCATION, heads=HEADS, end="\r\n"):
    """Write the file in Latin-1 and give its path back."""
    path.write_bytes(text(year() if rows is None else rows, location, heads, end).encode("latin-1"))
    return path
