"""The place: by name, by latitude and longitude, or with figures of the project's own."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import numpy as np

from ..errors import InputError, Problem, nearest
from ..library import Library, Table
from ..project import Climate, Site

EARTH_KM = 6371.0
FAR_KM, FAR_M = 150.0, 300.0
LEAST_LETTERS, MOST_CHOICES = 4, 6
_LAT_LON = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*[,;]\s*([+-]?\d+(?:\.\d+)?)\s*")


def find_site(wanted: str | dict[str, Any], library: Library, place: str = "--site") -> Site:
    """The site of a project; InputError with the three nearest spellings for an unknown name.

    wanted  a place name, `lat,lon`, or keys place, lat, lon, height_m, coast_km
    place   where the wish stands, for messages
    """
    keys: dict[str, Any] = {"place": wanted} if isinstance(wanted, str) else wanted
    table, name = library.table("sites"), keys.get("place")
    if name is not None and not _LAT_LON.fullmatch(name):
        row, said = _by_name(name, library, place)
        site = _site(table, row, library)
        return _with_own(replace(site, said=(said, *site.said)) if said else site, keys)
    lat, lon = _coordinates(keys, place)
    return _with_own(_near(table, lat, lon, keys.get("height_m"), library), keys)


def _coordinates(keys: dict[str, Any], place: str) -> tuple[float, float]:
    match = _LAT_LON.fullmatch(keys.get("place") or "")
    lat, lon = (float(match[1]), float(match[2])) if match else (keys.get("lat"), keys.get("lon"))
    if lat is None or lon is None:
        raise InputError([Problem(place, None, "site", "needs a place name, or lat and lon")])
    if not (-90 <= lat <= 90 and -180 <= lon <= 180):
        what = f"{lat:g},{lon:g} is no latitude (-90 to 90) and longitude (-180 to 180)"
        raise InputError([Problem(place, None, "site", what)])
    return lat, lon


def squeezed(text: str) -> str:
    """A place name without case, commas and points."""
    return " ".join(re.sub(r"[^\w ]", " ", text.lower()).split())


def _endings(library: Library) -> dict[str, str]:
    """Abbreviations of states and provinces."""
    table = library.table("regions")
    return dict(zip(table.words("region"), table.words("abbreviation"), strict=True))


def _spellings(library: Library, rows: Iterable[int]) -> dict[str, list[int]]:
    """Every way to write the places: the name alone; with region, its abbreviation, or country."""
    short, table = _endings(library), library.table("sites")
    names, regions, countries = (table.words(column) for column in ("name", "region", "country"))
    out: dict[str, list[int]] = {}
    for row in rows:
        region, country = regions[row], countries[row]
        state = short.get(region, "")
        endings = ("", region, country, state, f"{state} {country}", f"{region} {country}")
        for spelling in dict.fromkeys(squeezed(f"{names[row]} {ending}") for ending in endings):
            out.setdefault(spelling, []).append(row)
    return out


def _by_name(name: str, library: Library, place: str) -> tuple[int, str | None]:
    """The row of a place, and what is said when its name was only the beginning of the table's."""
    table, wanted = library.table("sites"), squeezed(name)
    first = wanted.split(" ")[0]
    likely = [row for row, other in enumerate(table.words("name")) if squeezed(other).startswith(first)]
    found, said = _spellings(library, likely).get(wanted, []), None
    begun = _begun(name, likely, library)
    if len(found) == 1 and "," not in name:
        countries = table.words("country")
        found += [row for row in begun if countries[row] != countries[found[0]]]
    if not found:
        found = begun
        said = f"{name} is taken as {shown(table, found[0])}" if len(found) == 1 else None
    if len(found) == 1:
        return found[0], said
    if found:
        which = "; or ".join(f'"{shown(table, row)}"' for row in found[:MOST_CHOICES])
        raise InputError([Problem(place, None, "site", f'"{name}" is the name of several places; write {which}')])
    raise InputError([Problem(place, None, "site", f'"{name}" is no place of the table; {_nearest(name, library)}')])


def _begun(name: str, likely: list[int], library: Library) -> list[int]:
    """Places whose name begins with the wanted one, in the region or country that was written with it."""
    table, short = library.table("sites"), _endings(library)
    town, *rest = (squeezed(part) for part in name.split(","))
    out = []
    for row in likely if len(town) >= LEAST_LETTERS else ():
        region, country = table.words("region")[row], table.words("country")[row]
        places = {squeezed(text) for text in (region, country, short.get(region, ""))}
        if squeezed(table.words("name")[row]).startswith(f"{town} ") and set(rest) <= places:
            out.append(row)
    return out


def _nearest(name: str, library: Library) -> str:
    table = library.table("sites")
    spellings = _spellings(library, range(len(table)))
    near = nearest(squeezed(name), spellings, 12) or nearest(squeezed(name.split(",", maxsplit=1)[0]), spellings, 12)
    names = list(dict.fromkeys(shown(table, spellings[hit][0]) for hit in near))[:3]
    hint = f"the nearest spellings are {'; '.join(names)}" if names else "gatepost lookup sites WORD lists them"
    return f"{hint}; or give latitude,longitude"


def shown(table: Table, row: int) -> str:
    """A place as it is printed: name, region, country."""
    parts = [table.words(name)[row] for name in ("name", "region", "country")]
    return ", ".join(dict.fromkeys(part for part in parts if part))


def _near(table: Table, lat: float, lon: float, height_m: float | None, library: Library) -> Site:
    """The nearest place, with the distance and what differs said; far away its height and coast do not count."""
    distance = distance_km(lat, lon, table.numbers("lat"), table.numbers("lon"))
    row = int(np.argmin(distance))
    near, far = _site(table, row, library), bool(distance[row] > FAR_KM)
    said = [f"{lat:g},{lon:g} takes the climate of {near.name}, {distance[row]:.0f} km away"]
    if far:
        said.append(f"that is more than {FAR_KM:.0f} km: take the climate as a guess")
    if height_m is not None and near.height_m is not None:
        apart = abs(height_m - near.height_m)
        guess = f", more than {FAR_M:.0f} m: take the climate as a guess" if apart > FAR_M else ""
        said.append(f"the heights differ by {apart:.0f} m{guess}")
    unknown = "are not known" if far else "are taken from there"
    said.append(f"height and distance to the sea, where they are not given, {unknown}")
    site = replace(near, name=f"{lat:g},{lon:g}", lat=lat, lon=lon, said=tuple(said))
    return replace(site, height_m=None, coast_km=None) if far else site


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
    rows = library.rows_of("climate_monthly", key)
    return Climate(
        *(np.array([float(row[name] or "nan") for row in rows]) for name in ("t_mean_c", "rh_pct", "rain_days"))
    )


def _with_own(site: Site, keys: dict[str, Any]) -> Site:
    """The project's own height and distance to the sea beat the table's."""
    own: dict[str, Any] = {name: float(keys[name]) for name in ("height_m", "coast_km") if keys.get(name) is not None}
    return replace(site, **own) if own else site
