"""The place: by name, by latitude and longitude, by a weather file, or with figures of the project's own."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from ..errors import InputError, nearest
from ..library import Library, Table
from ..project import Climate, Site
from .settings import DEPOSITS
from .weather import OPTION, is_weather_file, read_weather, site_problem

EARTH_KM = 6371.0
FAR_KM, FAR_M, COAST_KM = 150.0, 300.0, 10.0
NEAR_KM, SURELY_KM = 30.0, 50.0
"""A station this near lends its distance to the sea; a farther one only where the place is so far inland all the same."""
OWN = ("height_m", "coast_km", *DEPOSITS)
LEAST_LETTERS, MOST_CHOICES = 4, 6
_LAT_LON = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*[,;]\s*([+-]?\d+(?:\.\d+)?)\s*")


def find_site(wanted: str | dict[str, Any], library: Library, place: str = OPTION) -> Site:
    """The site of a project; InputError with the three nearest spellings for an unknown name.

    wanted  a place name, `lat,lon`, a weather file (.epw), or keys place, lat, lon, height_m, coast_km and the two deposits
    place   where the wish stands, for messages; a weather file is looked for beside it
    """
    keys: dict[str, Any] = {"place": wanted} if isinstance(wanted, str) else wanted
    table, name = library.table("sites"), keys.get("place")
    if name is not None and is_weather_file(name):
        site = _of_file(read_weather(Path(place).parent / name, library, place), keys)
        return _with_own(_with_near_rain(site, library), keys)
    if name is not None and not _LAT_LON.fullmatch(name):
        row, said = _by_name(name, library, place)
        site = _site(table, row, library)
        return _with_own(replace(site, said=(said, *site.said)) if said else site, keys)
    lat, lon = _coordinates(keys, place)
    return _with_own(_near(table, lat, lon, keys, library), keys)


def _with_near_rain(site: Site, library: Library) -> Site:
    """Months without rain days take those of the nearest place, when it is near; and that is said."""
    table, missing = library.table("sites"), np.isnan(site.climate.rain_days)
    if site.lat is None or site.lon is None or not missing.any():
        return site
    distance = distance_km(site.lat, site.lon, table.numbers("lat"), table.numbers("lon"))
    row = int(np.argmin(distance))
    if distance[row] > FAR_KM:
        return site
    near = _site(table, row, library)
    days = np.where(missing, near.climate.rain_days, site.climate.rain_days)
    said = f"rain days that the file does not tell are those of {near.name}, {distance[row]:.0f} km away"
    return replace(site, climate=replace(site.climate, rain_days=days), said=(*site.said, said))


def _coordinates(keys: dict[str, Any], place: str) -> tuple[float, float]:
    match = _LAT_LON.fullmatch(keys.get("place") or "")
    lat, lon = (float(match[1]), float(match[2])) if match else (keys.get("lat"), keys.get("lon"))
    if lat is None or lon is None:
        raise InputError([site_problem(place, "needs a place name, or lat and lon")])
    if not (-90 <= lat <= 90 and -180 <= lon <= 180):
        what = f"{lat:g},{lon:g} is no latitude (-90 to 90) and longitude (-180 to 180)"
        raise InputError([site_problem(place, what)])
    return lat, lon


def squeezed(text: str) -> str:
    """A place name without case, commas and points."""
    return " ".join(re.sub(r"[^\w ]", " ", text.lower()).split())


def _endings(library: Library) -> dict[str, str]:
    """Abbreviations of states and provinces; of a region that is a whole country, that of the country."""
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
        said = f"{name} is taken as {shown(table, found[0], library)}" if len(found) == 1 else None
    if len(found) == 1:
        return found[0], said
    if found:
        which = "; or ".join(f'"{shown(table, row, library)}"' for row in found[:MOST_CHOICES])
        raise InputError([site_problem(place, f'"{name}" is the name of several places; write {which}')])
    raise InputError([site_problem(place, f'"{name}" is no place of the table; {_nearest(name, library)}')])


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
    names = list(dict.fromkeys(shown(table, spellings[hit][0], library) for hit in near))[:3]
    hint = f"the nearest spellings are {'; '.join(names)}" if names else "gatepost lookup sites WORD lists them"
    return f"{hint}; or give latitude,longitude"


def shown(table: Table, row: int, library: Library) -> str:
    """A place as it is printed: name, region, country; the country once where the region is the whole of it."""
    name, region, country = (table.words(column)[row] for column in ("name", "region", "country"))
    whole = _endings(library).get(region) == country
    return ", ".join(dict.fromkeys(part for part in (name, region, "" if whole else country) if part))


def _of_file(site: Site, keys: dict[str, Any]) -> Site:
    said = list(site.said)
    if keys.get("coast_km") is None:
        said.append("a weather file does not tell the distance to the sea: give coast_km in the project file")
    if keys.get("height_m") is None and site.height_m is None:
        said.append("the file does not tell the height")
    return replace(site, said=tuple(said))


def _near(table: Table, lat: float, lon: float, keys: dict[str, Any], library: Library) -> Site:
    """The nearest place, with the distance and what differs said; far away its height and coast do not count."""
    distance = distance_km(lat, lon, table.numbers("lat"), table.numbers("lon"))
    row = int(np.argmin(distance))
    near, far = _site(table, row, library), bool(distance[row] > FAR_KM)
    said = [f"{lat:g},{lon:g} takes the climate of {near.name}, {distance[row]:.0f} km away", *near.said]
    if far:
        said.append(f"that is more than {FAR_KM:.0f} km: take the climate as a guess")
        said += _cautions(near, keys)
    coast = not far and _lends_coast(near, float(distance[row]))
    for key, what, lent in (("height_m", "height", not far), ("coast_km", "distance to the sea", coast)):
        if keys.get(key) is None:
            said.append(f"its {what} is taken from there" if lent else f"its {what} is not known: give {key}")
    site = replace(near, name=f"{lat:g},{lon:g}", lat=lat, lon=lon, said=tuple(said))
    return replace(site, height_m=None if far else near.height_m, coast_km=near.coast_km if coast else None)


def _lends_coast(near: Site, distance: float) -> bool:
    """Whether a station's distance to the sea stands for a place so many kilometres from it."""
    return distance <= NEAR_KM or (near.coast_km is not None and near.coast_km - distance >= SURELY_KM)


def _cautions(climate_of: Site, keys: dict[str, Any]) -> list[str]:
    """What makes the climate of a place a guess for the project's own height and distance to the sea."""
    height_m, coast_km = keys.get("height_m"), keys.get("coast_km")
    said = []
    if height_m is not None and climate_of.height_m is not None and abs(height_m - climate_of.height_m) > FAR_M:
        apart = abs(height_m - climate_of.height_m)
        said.append(f"the heights differ by {apart:.0f} m, more than {FAR_M:.0f} m: take the climate as a guess")
    if coast_km is not None and climate_of.coast_km is not None:
        here, there = (_kind(distance) for distance in (coast_km, climate_of.coast_km))
        if here != there:
            said.append(
                f"the project stands {here}, the place of the climate {there}: take humidity and rain as a guess"
            )
    return said


def _kind(coast_km: float) -> str:
    kind = "by the sea" if coast_km < COAST_KM else "inland"
    return f"{kind} ({coast_km:.0f} km from it)"


def distance_km(lat: float, lon: float, lats: np.ndarray, lons: np.ndarray) -> np.ndarray:
    """Great-circle distance from one place to many [km]."""
    a, b = np.radians(lat), np.radians(lats)
    half = np.sin((b - a) / 2) ** 2 + np.cos(a) * np.cos(b) * np.sin(np.radians(lons - lon) / 2) ** 2
    return 2 * EARTH_KM * np.arcsin(np.sqrt(np.clip(half, 0, 1)))


def _site(table: Table, row: int, library: Library) -> Site:
    cells = dict(zip(table.header, table.rows[row], strict=True))
    said = (f"{shown(table, row, library)}: {cells['note']}",) if cells["note"] else ()
    return Site(
        shown(table, row, library),
        float(cells["lat"]),
        float(cells["lon"]),
        cells["country"],
        _number(cells["height_m"]),
        _number(cells["coast_km"]),
        Climate.of_rows(library.rows_of("climate_monthly", cells["site"])),
        cells["source"],
        cells["status"],
        said,
    )


def _number(text: str) -> float | None:
    return float(text) if text else None


def _with_own(site: Site, keys: dict[str, Any]) -> Site:
    """The project's own height and distance to the sea beat the table's; where they differ in kind, that is said."""
    own: dict[str, Any] = {name: float(keys[name]) for name in OWN if keys.get(name) is not None}
    return replace(site, said=(*site.said, *_cautions(site, keys)), **own) if own else site
