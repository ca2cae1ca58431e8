"""Dose-response, exposure index and the bands of life: properties, the worked deck, and where the models part."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatepost import decay
from gatepost.deriving import derive
from gatepost.library import library
from gatepost.reading import read

KNOWN = library()
TERMS = {
    name: [float(r["value"]) for r in KNOWN.table("dose_terms").records() if r["term"] == name]
    for name in ("moisture", "heat")
}
MODEL = {name: KNOWN.table("dose_model").number(name, "value") for name in KNOWN.table("dose_model").index}
CURVE = (MODEL["logistic_t0"], MODEL["logistic_t1"])


def logistic(u, t):
    return decay.logistic_dose(u, t, TERMS["moisture"], TERMS["heat"], MODEL["logistic_heat_weight"])


def simple(u, t):
    return decay.simple_dose(u, t, MODEL["simple_full_pct"], MODEL["simple_full_c"], MODEL["simple_power"])


@pytest.mark.parametrize(("u", "part"), [(25, 0.0), (30, 0.39), (50, 0.97), (60, 0.93), (80, 0.65)])
def test_moisture_part_of_the_logistic_dose(u, part):
    """Points that an editor of the figures worked out; recalled coefficients, so they only hang together."""
    heat = np.polyval(TERMS["heat"], 20.0)
    weight = MODEL["logistic_heat_weight"]
    if part:
        assert logistic(u, 20.0) * (weight + 1) - weight * heat == pytest.approx(part, abs=0.011)
    else:
        assert np.polyval(TERMS["moisture"], 25.0) == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize(("rating", "days"), [(1, 442), (2, 629)])
def test_days_to_a_rating_and_back(rating, days):
    assert decay.logistic_dose_for(rating, CURVE) == pytest.approx(days, abs=1)
    assert decay.logistic_rating(decay.logistic_dose_for(rating, CURVE), CURVE) == pytest.approx(rating)


def test_the_two_models_are_not_one():
    """325 days is the simplified model's own limit: on the logistic curve it is only a rating of 0.47."""
    assert decay.logistic_rating(325, CURVE) == pytest.approx(0.47, abs=0.01)


@given(st.floats(0, 100), st.floats(-30, 60))
def test_doses_lie_between_nothing_and_a_day(u, t):
    assert 0 <= simple(u, t) <= 1
    assert 0 <= logistic(u, t) <= 1.05
    if u < 25 or t <= 0 or t >= 40:
        assert logistic(u, t) == 0


@given(st.floats(0, 60), st.floats(0, 40), st.floats(0, 5))
def test_the_simplified_dose_never_falls_with_moisture_or_warmth(u, t, more):
    assert simple(u + more, t) >= simple(u, t)
    assert simple(u, t + more) >= simple(u, t)


@pytest.mark.parametrize("pair", [(math.nan, 20), (30, math.nan), (-1, 20), (201, 20)])
def test_doses_are_unknown_outside(pair):
    assert np.isnan(simple(*pair))
    assert np.isnan(logistic(*pair))


@pytest.mark.parametrize(("dose", "years"), [(325.0, 1.0), (65.0, 5.0), (0.0, math.inf), (math.nan, math.nan)])
def test_years_to_a_dose(dose, years):
    assert decay.years_to(325, dose) == pytest.approx(years, nan_ok=True)


def test_the_worked_deck_of_the_exposure_index():
    """SP Rapport 2012:22, deck at Halmstad: 1.26 for the place, moderate exposure, in the rain, 200 mm above ground (1.5),
    plain boards (1.0) and contact joints (1.4), consequence 0.8 and 0.9; factors seen in the Swedish guide."""
    board = decay.exposure_index(1.26, 1.0, 1.0, 1.5, 1.0, 0.8)
    joint = decay.exposure_index(1.26, 1.0, 1.0, 1.5, 1.4, 0.9)
    assert board == pytest.approx(1.512)
    assert joint == pytest.approx(2.381, abs=0.001)
    assert board < 2.0 < joint  # larch heartwood, resistance index 2.0: the boards pass and the joints do not
    assert decay.exposure_index(1.0, 1.0, 1.0, 1.0, 1.0, 1.0) == 1.0
    assert np.isnan(decay.exposure_index(np.nan, 1, 1, 1, 1, 1))


def lives(tmp_path, **cells):
    row = {"part": "x", "thickness": "50", "width": "100", "role": "rail", "lies": "upright", **cells}
    (tmp_path / "parts.csv").write_text(pd.DataFrame([row]).to_csv(index=False))
    (tmp_path / "project.yaml").write_text("site: Madison, WI\nunits: mm\nscheme: us\nparts: parts.csv\n")
    return derive(read(tmp_path / "project.yaml")).parts.iloc[0]


@pytest.mark.parametrize(
    ("material", "part", "low", "high"),
    [("black locust", "heart", 25, 50), ("black locust", "sap", 0, 5), ("black locust", "mixed", 0, 50), ("beech", "heart", 0, 5), ("western red cedar", "heart", 15, 25)],
)  # fmt: skip
def test_heart_sap_and_mixed_stakes_are_three_answers(tmp_path, material, part, low, high):
    """Stake lives by durability class of the Building Research Establishment, through the full road."""
    found = lives(tmp_path, material=material, exposure="ground", **{"wood part": part})
    assert (found["life_stakes_low_years"], found["life_stakes_high_years"]) == (low, high)


def test_treated_and_sheltered_wood_gets_no_band_that_was_not_published(tmp_path):
    assert np.isnan(
        lives(tmp_path, material="southern pine CA-C 0.31 pcf", exposure="ground")["service_life_likely_years"]
    )
    assert np.isnan(lives(tmp_path, material="western red cedar", exposure="indoor")["life_stakes_low_years"])


def test_the_envelope_holds_every_model(tmp_path):
    found = lives(tmp_path, material="Norway spruce", exposure="weather", **{"wood part": "heart"})
    assert "FD P 20-651" in found["life_models"]
    assert "dose" in found["life_models"]
    assert found["service_life_low_years"] == min(found["life_fdp_low_years"], found["life_dose_low_years"])
    assert found["service_life_high_years"] == max(found["life_fdp_high_years"], found["life_dose_high_years"])
    assert found["service_life_low_years"] <= found["service_life_likely_years"] <= found["service_life_high_years"]


def test_a_wetter_detail_takes_a_greater_dose(tmp_path):
    doses = [
        lives(tmp_path, material="Norway spruce", exposure="weather", detail=word)["dose_days"]
        for word in ("open", "lapped", "trapped")
    ]
    assert doses == sorted(doses)
    assert doses[0] < doses[2]
