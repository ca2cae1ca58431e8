"""The place: by name, by latitude and longitude, or with figures of the project's own."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

import numpy as np

from ..errors import InputError, Problem, nearest
from ..library import Library, Table
from ..project import Climate, Site
from .settings import SiteSettings

EARTH_KM = 6371.0
FAR_KM, FAR_M = 150.0, 300.0
COAST_KM = 10.0
_LAT_LON = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*[,;]\s*([+-]?\d+(?:\.\d+)?)\s*")


def find_site(wanted: str | SiteSettings, library: Library, place: str = "--site", line: int | None = None) -> Site:
    """The site of a project; InputError with the three nearest spellings for an unknown name."""
    settings = SiteSettings(place=wanted) if isinstance(wanted, str) else wanted
    table = library.table("sites")
    if settings.place is not None and not _LAT_LON.fullmatch(settings.place):
        row = _by_name(settings.place, library, place, line)
        return _with_own(_site(table, row, library), settings)
    lat, lon = _coordinates(settings, place, line)
    return _with_own(_near(table, lat, lon, settings.height_m, library), settings)


def _coordinates(settings: SiteSettings, place: str, line: int | None) -> tuple[float, float]:
    match = _LAT_LON.fullmatch(settings.place or "")
    lat, lon = (float(match[1]), float(match[2])) if match else (settings.lat, settings.lon)
    if lat is None or lon is None:
        raise InputError([Problem(place, line, "site", "needs a place name, or lat and lon")])
    if not (-90 <= lat <= 90 and -180 <= lon <= 180):
        raise InputError(
            [Problem(place, line, "site", f"{lat:g},{lon:g} is no latitude (-90 to 90) and longitude (-180 to 180)")]
        )
    return lat, lon


def squeezed(text: str) -> str:
    """A place name without case, commas and points."""
    return re.sub(r"[^\w ]", "", text.lower()).strip()


@lru_cache(maxsize=4)
def _spellings(library: Library) -> dict[str, list[int]]:
    """Every way to write each place: name; name and region, its abbreviation, or country."""
    regions = {row["region"]: row["abbreviation"] for row in library.table("regions").records()}
    out: dict[str, list[int]] = {}
    for number, row in enumerate(library.table("sites").records()):
        short = regions.get(row["region"], "")
        endings = [
            "",
            f", {row['region']}",
            f", {row['country']}",
            f", {short}",
            f", {short}, {row['country']}",
            f", {row['region']}, {row['country']}",
        ]
        for ending in endings:
            out.setdefault(squeezed(row["name"] + ending), [])
            if number not in out[squeezed(row["name"] + ending)]:
                out[squeezed(row["name"] + ending)].append(number)
    return out


def _by_name(name: str, library: Library, place: str, line: int | None) -> int:
    spellings, table = _spellings(library), library.table("sites")
    found = spellings.get(squeezed(name), [])
    if len(found) == 1:
        return found[0]
    if found:
        which = "; or ".join(f'"{shown(table, row)}"' for row in found)
        raise InputError([Problem(place, line, "site", f'"{name}" is the name of several places; write {which}')])
    near = nearest(squeezed(name), spellings, 12) or nearest(squeezed(name.split(",", maxsplit=1)[0]), spellings, 12)
    names = list(dict.fromkeys(shown(table, spellings[hit][0]) for hit in near))[:3]
    hint = (
        f"the nearest spellings are {'; '.join(names)}"
        if names
        else "write a town of the table (gatepost lookup sites WORD)"
    )
    raise InputError(
        [Problem(place, line, "site", f'"{name}" is no place of the table; {hint}; or give latitude,longitude')]
    )


def shown(table: Table, row: int) -> str:
    """A place as it is printed: name, region, country."""
    parts = [table.words(name)[row] for name in ("name", "region", "country")]
    return ", ".join(dict.fromkeys(part for part in parts if part))


def _near(table: Table, lat: float, lon: float, height_m: float | None, library: Library) -> Site:
    """The nearest place, with the distance and what differs said."""
    distance = distance_km(lat, lon, table.numbers("lat"), table.numbers("lon"))
    row = int(np.argmin(distance))
    site = _site(table, row, library)
    said = [f"{lat:g},{lon:g} takes the climate of {site.name}, {distance[row]:.0f} km away"]
    if distance[row] > FAR_KM:
        said.append(f"that is more than {FAR_KM:.0f} km: take the climate as a guess")
    if height_m is not None and site.height_m is not None:
        apart = abs(height_m - site.height_m)
        said.append(
            f"the heights differ by {apart:.0f} m"
            + (f", more than {FAR_M:.0f} m: take the climate as a guess" if apart > FAR_M else "")
        )
    elif height_m is None:
        said.append("its height and distance to the sea are not given; those of that place are used")
    return Site(
        f"{lat:g},{lon:g}",
        lat,
        lon,
        site.country,
        site.height_m,
        site.coast_km,
        site.climate,
        site.source,
        site.status,
        tuple(said),
    )


def distance_km(lat: float, lon: float, lats: np.ndarray, lons: np.ndarray) -> np.ndarray:
    """Great-circle distance from one place to many [km]."""
    a, b = np.radians(lat), np.radians(lats)
    half = np.sin((b - a) / 2) ** 2 + np.cos(a) * np.cos(b) * np.sin(np.radians(lons - lon) / 2) ** 2
    return 2 * EARTH_KM * np.arcsin(np.sqrt(np.clip(half, 0, 1)))


def _site(table: Table, row: int, library: Library) -> Site:
    cells = dict(zip(table.header, table.rows[row], strict=True))
    said = (f"{shown(table, row)}: {cells['note']}",) if cells["note"] else ()
    return Site(
        shown(table, row),
        float(cells["lat"]),
        float(cells["lon"]),
        cells["country"],
        _number(cells["height_m"]),
        _number(cells["coast_km"]),
        _climate(library, cells["site"]),
        cells["source"],
        cells["status"],
        said,
    )


def _number(text: str) -> float | None:
    return float(text) if text else None


def _climate(library: Library, key: str) -> Climate:
    table = library.table("climate_monthly")
    start = table.index[key]
    months = slice(start, start + 12)
    return Climate(
        *(
            np.array([float(cell or "nan") for cell in table.words(name)[months]])
            for name in ("t_mean_c", "rh_pct", "rain_days")
        )
    )


def _with_own(site: Site, settings: SiteSettings) -> Site:
    """The project's own height and distance to the sea beat the table's."""
    own: dict[str, Any] = {
        k: v for k, v in (("height_m", settings.height_m), ("coast_km", settings.coast_km)) if v is not None
    }
    return Site(**{**site.__dict__, **own}) if own else site
