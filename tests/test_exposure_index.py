"""The computed place factor and what is made of the exposure index: order, bounds, other paths, the rule and the sheet."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from functools import lru_cache

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gatepost import decay
from gatepost.deriving.exposure_index import NEAR, NO, YES, accepted
from gatepost.deriving.index_place import COMPUTED, READ, UNKNOWN, place
from gatepost.deriving.values import Texts
from gatepost.library import library
from gatepost.planning import bench
from gatepost.project import Climate
from gatepost.reading import read
from gatepost.review import review
from gatepost.road import derive
from gatepost.writing import spec

KNOWN = library()
NEEDS = KNOWN.register.facts["project"]["index_place"].needs
TABLES = {name.removeprefix("table:"): KNOWN.table(name.removeprefix("table:")) for name in NEEDS if ":" in name}
SITES = list(KNOWN.table("sites").records())
RULE = "exposure-index-over-resistance"


@lru_cache(maxsize=500)
def climate(key):
    return Climate.of_rows(KNOWN.rows_of("climate_monthly", key))


def placed(weather, name=None):
    """The maker's own answer for a climate: factor, low, high, kind."""
    made = place(Texts(np.array([name], object)), weather, KNOWN, **TABLES)
    return tuple(made[f"index_place{end}"][0] for end in ("", "_low", "_high", "_kind"))


def ranks(values):
    return np.argsort(np.argsort(values))


def test_helsinki_is_one_and_a_read_factor_goes_before_a_computed_one():
    assert placed(climate("fi-helsinki-kaisaniemi")) == (1.0, 1.0, 1.0, COMPUTED)
    assert placed(climate("se-halmstad"), "Halmstad, Sweden") == (1.26, 1.26, 1.26, READ)
    assert placed(climate("se-halmstad"))[3] == COMPUTED


def test_no_climate_no_factor():
    *factors, kind = placed(Climate.unknown())
    assert np.isnan(factors).all()
    assert kind == UNKNOWN


def test_the_factor_falls_from_the_south_of_sweden_to_the_north():
    """The zones fall from 1.6 to 0.7 (SP Rapport 2012:22); that they do so northward is common knowledge, no source."""
    north = ["se-lund", "se-halmstad", "se-linkoping", "se-uppsala", "se-falun", "se-haparanda", "se-kiruna"]
    factors = [placed(climate(key))[0] for key in north]
    assert factors == sorted(factors, reverse=True)
    latitudes, all_ten = zip(*((float(r["lat"]), placed(climate(r["site"]))[0]) for r in SITES if r["country"] == "SE"), strict=True)  # fmt: skip
    assert np.corrcoef(ranks(latitudes), ranks(all_ten))[0, 1] < -0.75


def test_the_order_of_places_is_near_that_of_the_climate_index_of_scheffer():
    """Two measures of the same hazard from other quantities: Scheffer 1971 takes rain days and heat alone."""
    found = [(placed(climate(r["site"]))[0], decay.scheffer_index(climate(r["site"]).t_mean_c, climate(r["site"]).rain_days)) for r in SITES]  # fmt: skip
    factors, indices = zip(*found, strict=True)
    assert np.corrcoef(ranks(factors), ranks(indices))[0, 1] > 0.85


@pytest.mark.parametrize("key", ["se-lund", "us-madison", "us-miami"])
def test_ends_hold_the_likely_factor_and_hours_do_not_count(key):
    likely, low, high, _ = placed(climate(key))
    assert 0 < low <= likely <= high < 10
    hours = np.array([[1.0, 2.0], [20.0, 20.0], [99.0, 99.0]])
    assert placed(replace(climate(key), hours=hours))[0] == likely


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(["se-kiruna", "se-lund", "us-miami"]), st.floats(0, 1), st.floats(0, 1))
def test_more_rain_days_never_lower_the_factor(key, one, other):
    here = climate(key)
    few, many = (placed(replace(here, rain_days=here.rain_days * times))[0] for times in sorted((one, other)))
    assert few <= many + 1e-9


def parts(tmp_path, site="Lund", life="30", **cells):
    row = {"part": "x", "material": "European larch", "wood part": "heart", "exposure": "weather", "detail": "open", "lies": "flat", "clearance": "400", "thickness": "28", "width": "120", "role": "trim", "swap": "hard", **cells}  # fmt: skip
    (tmp_path / "parts.csv").write_text(pd.DataFrame([row]).to_csv(index=False))
    path = tmp_path / "project.yaml"
    path.write_text(f'site: "{site}"\nunits: mm\nscheme: eu\nlife: {life}\nparts: parts.csv\n')
    return read(path)


@pytest.mark.parametrize("site", ["Dublin", "Lund", "Miami"])
def test_the_factor_is_the_dose_of_a_written_spruce_board_over_that_at_helsinki(tmp_path, site):
    """By the parts list, where the board is read like any other part."""
    board = {"material": "Norway spruce", "wood part": "mixed", "thickness": "22", "width": "100"}
    here, there = (derive(parts(tmp_path, place, **board)) for place in (site, "Helsinki"))
    for end, other in (("", ""), ("_low", "_high"), ("_high", "_low")):
        ratio = float((here.parts[f"dose_days{end}"] / there.parts[f"dose_days{end}"]).iloc[0])
        ends = here.whole[[f"index_place{end}", f"index_place{other}"]].iloc[0].tolist()
        assert ratio == pytest.approx(ends[0]) or ratio == pytest.approx(ends[1])


@pytest.mark.parametrize(
    ("low", "high", "stands", "answer", "known"),
    [(1.9, 1.9, 2.0, YES, YES), (2.0, 2.0, 2.0, NO, YES), (2.1, 2.2, 2.0, NO, YES), (1.9, 2.0, 2.0, NEAR, YES), (1.9, 2.1, 2.0, NEAR, YES), (math.nan, math.nan, 2.0, UNKNOWN, NO), (1.0, 1.0, math.nan, UNKNOWN, NO)],
)  # fmt: skip
def test_accepted_below_the_resistance_only(low, high, stands, answer, known):
    found = accepted(np.array([low]), np.array([high]), np.array([stands]))
    assert (found["index_accepted"][0], found["index_known"][0]) == (answer, known)


@pytest.mark.parametrize(
    ("site", "cells", "answer", "kind"),
    [
        ("Kiruna", {}, "yes", "computed"),
        ("Lund", {}, "yes", "computed"),
        ("Lund", {"clearance": "200"}, "near", "computed"),
        ("Lund", {"clearance": "200", "detail": "lapped"}, "no", "computed"),
        ("Halmstad", {"clearance": "200", "detail": "lapped"}, "no", "read"),
        ("Lund", {"clearance": "200", "detail": "lapped", "material": "European oak"}, "yes", "computed"),
    ],
)
def test_the_answer_by_the_full_road(tmp_path, site, cells, answer, kind):
    found = derive(parts(tmp_path, site, **cells)).parts.iloc[0]
    ends = [found[f"design_exposure_index{end}"] for end in ("_low", "", "_high")]
    assert ends == sorted(ends)
    assert (found["index_accepted"], found["exposure_index_kind"], found["index_known"]) == (answer, kind, "yes")


def test_without_a_clearance_the_guideline_is_silent_and_nothing_waits_for_it(tmp_path):
    made = review(parts(tmp_path, clearance=""))
    assert made.facts.parts["index_known"].iloc[0] == "no"
    assert pd.isna(made.facts.parts["exposure_index_kind"].iloc[0])
    rules = [one.rule.rule for one in made.judgement.rules]
    assert rules.index(RULE) not in set(made.judgement.waiting["rule"])


REFUSED = {"clearance": "200", "detail": "lapped"}


@pytest.mark.parametrize(
    ("life", "cells", "found", "explained"),
    [
        ("30", {**REFUSED, "material": "European oak"}, False, None),
        ("30", {**REFUSED, "material": "European oak", "site": "Singapore"}, True, None),
        ("30", {**REFUSED, "material": "Scots pine UC3B", "wood part": "", "site": "Singapore"}, True, None),
        ("29", {**REFUSED, "material": "Douglas-fir"}, False, None),
        ("30", {"material": "Douglas-fir"}, False, None),
        ("30", {**REFUSED, "material": "Norway spruce"}, True, "non-durable-wood-open-to-weather"),
        ("30", REFUSED, True, "larch-taken-for-durable-wood"),
    ],
)
def test_the_note_speaks_from_30_years_on_and_stands_under_a_graver_finding(tmp_path, life, cells, found, explained):
    judged = review(parts(tmp_path, life=life, **cells)).judgement
    names = [one.rule.rule for one in judged.rules]
    rows = judged.found[judged.found["rule"] == names.index(RULE)]
    assert bool(len(rows)) == found
    if found:
        by = int(rows["explained_by"].iloc[0])
        assert (None if by < 0 else names[by]) == explained


def sheet(tmp_path, **cells):
    made = spec.document(bench(review(parts(tmp_path, **cells))), "mm", date(2026, 1, 2))
    return next((block for block in made.blocks if "resistance index" in getattr(block, "header", ())), None)


def test_the_sheet_shows_exposure_against_resistance(tmp_path):
    assert sheet(tmp_path, site="Halmstad", clearance="200", swap="easy").rows == [
        ["x", "1.5", "2", "expected", "read"]
    ]
    [row] = sheet(tmp_path, site="Lund", clearance="200", detail="lapped").rows
    assert row[1:] == ["2.6 (2.4 to 2.9)", "2", "not expected", "computed"]
    assert sheet(tmp_path, clearance="") is None
