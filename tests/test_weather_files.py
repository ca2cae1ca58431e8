"""Hourly weather files: what is read, what is said of it, and every kind of damage with its place."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatepost.errors import InputError
from gatepost.humidity import rh_from_dew_point_pct
from gatepost.library import library
from gatepost.reading import find_site, read
from gatepost.reading.places import distance_km
from weather_years import (
    DAY,
    DEW_POINT,
    FIRST,
    HEADS,
    HOUR,
    HUMIDITY,
    LOCATION,
    MONTH,
    RAIN,
    TEMPERATURE,
    write,
    year,
)

KNOWN = library()
MAGNUS = tuple(KNOWN.table("constants").number(name, "value") for name in ("magnus_slope", "magnus_offset_c"))


def site_of(path):
    return find_site(str(path), KNOWN)


def problems(path):
    with pytest.raises(InputError) as caught:
        site_of(path)
    return [str(problem).removeprefix(f"{path}") for problem in caught.value.problems]


def changed(rows, column, value, where=lambda row: True):
    return [[*row[:column], value, *row[column + 1 :]] if where(row) else row for row in rows]


def in_month(number):
    return lambda row: row[MONTH] == str(number)


# ---- what is read


def test_place_and_months(tmp_path):
    site = site_of(write(tmp_path / "a.epw"))
    assert (site.name, site.country, site.lat, site.lon) == ("Testham, WI, US", "US", 43.1, -89.3)
    assert (site.height_m, site.coast_km, site.source, site.status) == (262, None, "weather file", "seen")
    rows = year()
    for number in range(1, 13):
        mine = [row for row in rows if in_month(number)(row)]
        assert site.climate.t_mean_c[number - 1] == pytest.approx(np.mean([float(row[TEMPERATURE]) for row in mine]))
        assert site.climate.rh_pct[number - 1] == pytest.approx(np.mean([float(row[HUMIDITY]) for row in mine]))
    assert site.climate.rain_days.tolist() == [15, 14, 15, 15, 15, 15, 15, 15, 15, 15, 15, 15]
    assert any("averaged hour by hour" in said for said in site.said)
    assert any("coast_km" in said for said in site.said)


def test_the_same_months_as_an_independent_reader(tmp_path):
    pvlib = pytest.importorskip("pvlib")
    path = write(tmp_path / "a.epw")
    table, head = pvlib.iotools.read_epw(str(path))
    site, months = site_of(path), table.groupby("month")
    assert (site.lat, site.lon, site.height_m) == (head["latitude"], head["longitude"], head["altitude"])
    np.testing.assert_allclose(site.climate.t_mean_c, months["temp_air"].mean())
    np.testing.assert_allclose(site.climate.rh_pct, months["relative_humidity"].mean())


@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
@pytest.mark.parametrize("leap", [False, True])
def test_line_ends_and_leap_years(tmp_path, end, leap):
    site = site_of(write(tmp_path / "a.EPW", year(leap), end=end))
    assert site.climate.rain_days[1] == 14
    assert not np.isnan(site.climate.rh_pct).any()


def test_names_quoted_or_in_latin_1(tmp_path):
    site = site_of(write(tmp_path / "a.epw", location=[LOCATION[0], '"Köln, Süd"', "-", "DEU", *LOCATION[4:]]))
    assert (site.name, site.country) == ("Köln, Süd, DE", "DE")


def test_head_of_a_real_form(tmp_path):
    """The first lines as a typical-year file of an airport has them, shortened; a stray quote swallows nothing."""
    location = ["LOCATION", "Some Intl Ap", "CA", "USA", "TMY3", "999999", "37.62", "-122.40", "-8.0", "2.0"]
    heads = [
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,2,Summer - Week Nearest Max Temperature For Period,Extreme,8/ 1,8/ 7",
        "GROUND TEMPERATURES,1,.5,,,,10.86,10.57,11.08,11.88,13.97,15.58,16.67,17.00,16.44,15.19,13.51,11.96",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        'COMMENTS 1,"Custom/User Format -- Period of Record 1973-2005 (Generally)',
        "COMMENTS 2, -- Ground temps produced with a standard soil diffusivity of 2.3225760E-03 {m**2/day}",
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ]
    assert site_of(write(tmp_path / "a.epw", location=location, heads=heads)).name == "Some Intl Ap, CA, US"


def test_unknown_place_takes_the_name_of_the_file(tmp_path):
    location = ["LOCATION", "unknown", "-", "unknown", "X", "unknown", "45.000000", "8.000000", "1", ""]
    site = site_of(write(tmp_path / "north field.epw", location=location))
    assert (site.name, site.country, site.height_m) == ("north field", None, None)
    assert any("country" in said for said in site.said)
    assert any("height" in said for said in site.said)


def test_rain_mostly_missing_is_unknown_and_said(tmp_path):
    site = site_of(write(tmp_path / "a.epw", changed(year(), RAIN, "999.000")))
    assert any("no rain to count by" in said for said in site.said)
    assert any("rain days that the file does not tell are those of" in said for said in site.said)
    site = site_of(write(tmp_path / "b.epw", changed(year(), RAIN, "999", in_month(2))))
    assert any("too little rain data for Feb" in said for said in site.said)


def test_rain_columns_that_older_files_lack(tmp_path):
    site = site_of(write(tmp_path / "a.epw", year(fields=32)))
    assert any("no rain to count by" in said for said in site.said)


def test_far_from_any_place_of_the_table_rain_stays_unknown(tmp_path):
    location = [*LOCATION[:6], "-30", "-130", *LOCATION[8:]]
    found = site_of(write(tmp_path / "a.epw", changed(year(), RAIN, "999"), location=location))
    assert np.isnan(found.climate.rain_days).all()


@pytest.mark.parametrize(("each_mm", "days"), [("0.25", 15), ("0.24", 0)])
def test_a_rain_day_has_a_quarter_of_a_millimetre(tmp_path, each_mm, days):
    rows = changed(year(), RAIN, each_mm, lambda row: row[RAIN] == "0.5")
    assert site_of(write(tmp_path / "a.epw", rows)).climate.rain_days[0] == days


def test_hours_of_one_day_add_up_and_midnight_belongs_to_the_day_that_ends(tmp_path):
    rows = changed(year(), RAIN, "0")
    rows = changed(rows, RAIN, "0.125", lambda row: row[MONTH] == "6" and row[DAY] == "9" and row[HOUR] in ("1", "24"))
    assert site_of(write(tmp_path / "a.epw", rows)).climate.rain_days.sum() == 1


def test_whole_millimetres_are_said(tmp_path):
    rows = changed(year(), RAIN, "1.0", lambda row: row[RAIN] == "0.5")
    assert any("whole millimetres" in said for said in site_of(write(tmp_path / "a.epw", rows)).said)


def test_humidity_above_100_counts_as_100(tmp_path):
    site = site_of(write(tmp_path / "a.epw", changed(year(), HUMIDITY, "110")))
    assert (site.climate.rh_pct == 100).all()


def test_missing_humidity_comes_from_the_dew_point(tmp_path):
    rows = changed(changed(changed(year(), HUMIDITY, "999"), TEMPERATURE, "20.0"), DEW_POINT, "9.3")
    site = site_of(write(tmp_path / "a.epw", rows))
    np.testing.assert_allclose(site.climate.rh_pct, 50, atol=0.3)
    assert any("8760 hours" in said and "dew point" in said for said in site.said)


def test_a_month_with_few_hours_is_unknown_and_said(tmp_path):
    rows = changed(year(), TEMPERATURE, "99.9", lambda row: in_month(5)(row) and int(row[DAY]) > 20)
    site = site_of(write(tmp_path / "a.epw", rows))
    assert np.flatnonzero(np.isnan(site.climate.t_mean_c)).tolist() == [4]
    assert any("May" in said for said in site.said)


def test_a_few_missing_hours_are_left_out_and_counted(tmp_path):
    rows = year()
    rows[0] = [*rows[0][:TEMPERATURE], "99.9", "99.9", "999", *rows[0][HUMIDITY + 1 :]]
    site = site_of(write(tmp_path / "a.epw", rows))
    assert not np.isnan(site.climate.t_mean_c).any()
    assert any(said.startswith("1 hour without") for said in site.said)


# ---- damage


def test_no_such_file():
    with pytest.raises(InputError, match=r"--site: weather file .*cannot be read"):
        find_site("nowhere/none.epw", KNOWN)


def test_a_folder_and_a_packed_file(tmp_path):
    (tmp_path / "folder.epw").mkdir()
    with pytest.raises(InputError, match="cannot be read"):
        site_of(tmp_path / "folder.epw")
    (tmp_path / "packed.epw").write_bytes(b"PK\x03\x04\0\0")
    assert problems(tmp_path / "packed.epw") == [": not a text file; unpack it, and give the .epw file itself"]


@pytest.mark.parametrize("content", ["", "part,material\npost,oak\n", "\n\n\n"])
def test_a_file_of_another_kind(tmp_path, content):
    (tmp_path / "a.epw").write_text(content)
    assert "begins with LOCATION" in problems(tmp_path / "a.epw")[0]


def test_cut_in_the_middle(tmp_path):
    path = write(tmp_path / "a.epw")
    path.write_bytes(path.read_bytes()[:400_000])
    found = problems(path)
    assert any("the file is cut here" in each for each in found)
    assert any("a year has 8760" in each for each in found)
    assert any("no hours of" in each and "December" in each for each in found)


def test_rows_of_the_wrong_length(tmp_path):
    rows = year()
    rows[10] = rows[10][:20]
    rows[12] = [*rows[12], "0"]
    found = problems(write(tmp_path / "a.epw", rows))
    assert found == [
        f":{FIRST + 10}: 20 fields, where an hour has 35",
        f":{FIRST + 12}: 36 fields, where an hour has 35",
    ]


def test_month_without_hours_and_month_without_figures(tmp_path):
    found = problems(write(tmp_path / "a.epw", [row for row in year() if not in_month(4)(row)]))
    assert found == [
        ": 8040 hours; a year has 8760, a leap year 8784: fetch the whole file",
        ": month: no hours of April; fetch a file that holds the whole year",
    ]
    found = problems(write(tmp_path / "b.epw", changed(year(), TEMPERATURE, "99.9", in_month(2))))
    assert len(found) == 1
    assert found[0].startswith(f":{FIRST + 744}: dry bulb temperature: no figure in all of February")


IMPOSSIBLE = [
    (TEMPERATURE, "71", "dry bulb temperature", "-70 to 70 °C; write 99.9 where it is not known"),
    (TEMPERATURE, "-71", "dry bulb temperature", "-70 to 70"),
    (TEMPERATURE, "warm", "dry bulb temperature", "must be a number"),
    (TEMPERATURE, "inf", "dry bulb temperature", "must be a number"),
    (DEW_POINT, "80", "dew point temperature", "-70 to 70"),
    (HUMIDITY, "111", "relative humidity", "0 to 110 %; write 999"),
    (HUMIDITY, "-1", "relative humidity", "0 to 110"),
    (RAIN, "-9999", "liquid precipitation depth", "write 999"),
    (MONTH, "13", "month", "1 to 12"),
    (DAY, "1.5", "day", "whole number from 1 to 31"),
    (HOUR, "", "hour", "whole number from 1 to 24"),
    (HOUR, "0", "hour", "1 to 24"),
]


@pytest.mark.parametrize(("column", "cell", "name", "what"), IMPOSSIBLE)
def test_impossible_values(tmp_path, column, cell, name, what):
    rows = year()
    rows[100] = [*rows[100][:column], cell, *rows[100][column + 1 :]]
    (found,) = problems(write(tmp_path / "a.epw", rows))
    assert found.startswith(f":{FIRST + 100}: {name}: ")
    assert what in found


def test_everything_at_once_in_order_and_many_of_a_kind_are_counted(tmp_path):
    rows = changed(year(), HUMIDITY, "wet")
    rows[3] = changed([rows[3]], TEMPERATURE, "200x")[0]
    location = [*LOCATION[:6], "91", "east", *LOCATION[8:]]
    found = problems(write(tmp_path / "a.epw", rows, location))
    text = "\n".join(found)
    for part in (':1: latitude: "91"', ':1: longitude: "east"', f":{FIRST + 3}: dry bulb temperature", "and "):
        assert part in text
    assert sum("relative humidity" in each for each in found) < 20
    lines = [int(each.split(":")[1]) for each in found if each.split(":")[1].isdigit()]
    assert lines == sorted(lines)


def test_an_hour_that_stands_twice(tmp_path):
    rows = year()
    rows[5] = rows[4]
    (found,) = problems(write(tmp_path / "a.epw", rows))
    assert found == f":{FIRST + 5}: hour: month 1, day 1, hour 5 stands on line {FIRST + 4} too"


def test_more_than_one_record_an_hour(tmp_path):
    heads = [*HEADS[:-1], "DATA PERIODS,1,4,Data,Sunday, 1/ 1,12/31"]
    (found,) = problems(write(tmp_path / "a.epw", heads=heads))
    assert found == ":8: records per hour: 4; take a file with 1 record an hour"


# ---- in a project and on the command line


def test_a_project_finds_the_file_beside_itself(tmp_path):
    write(tmp_path / "here.epw")
    (tmp_path / "parts.csv").write_text("part,material\npost,oak\n")
    (tmp_path / "project.yaml").write_text("site: {place: here.epw, coast_km: 4}\nparts: parts.csv\n")
    project = read(tmp_path / "project.yaml")
    assert (project.site.name, project.site.coast_km, project.scheme) == ("Testham, WI, US", 4, "us")
    assert not any("coast_km" in said for said in project.site.said)
    (tmp_path / "project.yaml").write_text("site: gone.epw\nparts: parts.csv\n")
    with pytest.raises(InputError, match=r"project\.yaml:1: site: weather file"):
        read(tmp_path / "project.yaml")


def test_the_command_line(tmp_path):
    path = write(tmp_path / "here.epw", changed(year(), HUMIDITY, "wet", in_month(3)))
    call = [sys.executable, "-m", "gatepost", "site", "here.epw"]
    done = subprocess.run(call, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(f"here.epw:{FIRST + 59 * 24}: relative humidity: ")
    write(path)
    done = subprocess.run(call, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "Testham" in done.stdout


# ---- how far the place of the climate is


def test_heights_and_coasts_that_differ_in_kind_are_said():
    near = find_site("Madison, WI", KNOWN)
    at = {"lat": near.lat + 0.1, "lon": near.lon, "height_m": near.height_m, "coast_km": near.coast_km}
    assert not any("guess" in said for said in find_site(at, KNOWN).said)
    assert not any("heights" in said for said in find_site({**at, "height_m": near.height_m + 300}, KNOWN).said)
    assert any(
        "heights differ by 301 m" in said for said in find_site({**at, "height_m": near.height_m + 301}, KNOWN).said
    )
    assert any("by the sea (9 km" in said for said in find_site({**at, "coast_km": 9}, KNOWN).said)
    assert not any("by the sea" in said for said in find_site({**at, "coast_km": 10}, KNOWN).said)
    far = find_site({"lat": 0.0, "lon": -30.0, "height_m": 5000, "coast_km": 900}, KNOWN)
    assert sum("heights differ" in said for said in far.said) == 1
    assert any("150 km" in said for said in far.said)


def test_distance_of_a_degree():
    assert float(distance_km(0, 0, np.array([0.0]), np.array([1.0]))[0]) == pytest.approx(111.19, abs=0.01)


# ---- humidity


# From 0.01 °C on: below, the reference takes vapour pressure over ice, weather stations over water.
@given(st.floats(0.01, 50), st.floats(0, 30))
def test_humidity_from_dew_point_agrees_with_the_reference_equations(t_c, below):
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    dew_c = max(t_c - below, 0.01)
    expected = 100 * psychrolib.GetRelHumFromTDewPoint(t_c, dew_c)
    assert float(rh_from_dew_point_pct(t_c, dew_c, *MAGNUS)) == pytest.approx(expected, abs=0.3)


@given(st.floats(-45, 60), st.floats(-45, 60), st.floats(-45, 60))
def test_humidity_rises_with_the_dew_point_and_stays_a_share(t_c, one, other):
    low, high = (float(rh_from_dew_point_pct(t_c, dew, *MAGNUS)) for dew in sorted((one, other)))
    assert 0 <= low <= high <= 100
    assert float(rh_from_dew_point_pct(t_c, t_c, *MAGNUS)) == 100


@pytest.mark.parametrize(("t_c", "dew_c"), [(60.1, 10), (10, -45.1), (np.nan, 5), (5, np.nan)])
def test_humidity_outside_its_range_is_unknown(t_c, dew_c):
    assert np.isnan(rh_from_dew_point_pct(t_c, dew_c, *MAGNUS))
