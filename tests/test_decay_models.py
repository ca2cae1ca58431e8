"""Dose-response, exposure index and the bands of life: properties, the worked deck, and where the models part."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatepost import decay
from gatepost.deriving import derive, life
from gatepost.deriving.values import Words
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


def test_the_logistic_dose_follows_the_year_and_stays_out_of_the_envelope(tmp_path):
    """Sapwood at a wet place takes a dose; heartwood gets no life by a model that was made from sapwood."""
    found = lives(tmp_path, material="Norway spruce", exposure="weather", detail="trapped", **{"wood part": "sap"})
    assert 0 <= found["dose_lm_days_low"] <= found["dose_lm_days"] <= found["dose_lm_days_high"]
    assert found["dose_lm_days"] > 0
    assert found["life_dose_lm_low_years"] <= found["life_dose_lm_likely_years"]
    assert "logistic" not in found["life_models"]
    heart = lives(tmp_path, material="Norway spruce", exposure="weather", detail="trapped", **{"wood part": "heart"})
    assert np.isnan(heart["life_dose_lm_likely_years"])


@pytest.mark.parametrize(
    ("material", "part", "exposure", "low", "high"),
    [
        ("jarrah", "heart", "ground", 15, 25),
        ("jarrah", "heart", "weather", 15, 40),
        ("jarrah", "mixed", "weather", 0, 40),
        ("jarrah", "sap", "weather", 0, 7),
        ("merbau", "heart", "weather", 40, 80),
        ("beech", "sap", "ground", 0, 5),
        ("beech", "heart", "weather", math.nan, math.nan),
        ("beech", "mixed", "weather", math.nan, math.nan),
        ("jarrah", "heart", "sheltered", math.nan, math.nan),
        ("jarrah", "heart", "indoor", math.nan, math.nan),
    ],
)
def test_classes_of_as5604(tmp_path, material, part, exposure, low, high):
    found = lives(tmp_path, material=material, exposure=exposure, **{"wood part": part})
    band = [found["life_as5604_low_years"], found["life_as5604_high_years"]]
    assert band == pytest.approx([low, high], nan_ok=True)


@pytest.mark.parametrize(
    ("material", "part", "exposure", "low"),
    [
        ("western red cedar", "heart", "weather", 20),
        ("western red cedar", "sap", "weather", math.nan),
        ("western red cedar", "mixed", "weather", math.nan),
        ("white oak", "mixed", "weather", 20),
        ("redwood", "sap", "weather", 20),
        ("redwood", "heart", "ground", math.nan),
        ("redwood", "heart", "sheltered", math.nan),
    ],
)
def test_the_test_that_ended_too_soon_gives_a_low_end_only(tmp_path, material, part, exposure, low):
    found = lives(tmp_path, material=material, exposure=exposure, **{"wood part": part})
    assert found["life_crossbrace_low_years"] == pytest.approx(low, nan_ok=True)


@pytest.mark.parametrize(
    ("material", "treatment", "exposure", "low", "high"),
    [
        ("southern pine", "creosote", "ground", 60, math.nan),
        ("southern pine", "copper naphthenate, brushed", "ground", 1, 10),
        ("southern pine", "CA-C 0.31 pcf", "ground", math.nan, math.nan),
        ("southern pine", "creosote", "weather", math.nan, math.nan),
        ("Douglas-fir", "creosote", "ground", math.nan, math.nan),
    ],
)
def test_treated_wood_has_a_band_only_where_its_field_test_was_read(tmp_path, material, treatment, exposure, low, high):
    found = lives(tmp_path, material=material, treatment=treatment, exposure=exposure)
    band = [found["life_treated_low_years"], found["life_treated_high_years"]]
    assert band == pytest.approx([low, high], nan_ok=True)
    assert found["life_known"] == ("no" if math.isnan(low) else "yes")


def test_treated_and_modified_spruce_gets_no_life_of_untreated_spruce(tmp_path):
    for treatment in ("UC3B", "thermally modified"):
        found = lives(tmp_path, material="Norway spruce", treatment=treatment, exposure="weather")
        assert found["life_known"] == "no"
        assert np.isnan(found["life_dose_likely_years"])


def test_panels_get_no_life_of_solid_wood(tmp_path):
    found = lives(tmp_path, material="birch", product="plywood", exposure="ground")
    assert found["life_known"] == "no"
    assert np.isnan(found["service_life_likely_years"])


def envelope(**bands):
    """Envelope of one part: each model's band as (low, high), None for no high end."""
    words = Words(np.array([KNOWN.table("products").index["lumber"]]), tuple(KNOWN.table("products").index))
    ends = {}
    for name in life.MODELS:
        low, high = bands.get(name, (None, None))
        ends[f"life_{name}_low_years"] = np.array([np.nan if low is None else low], float)
        ends[f"life_{name}_high_years"] = np.array([np.nan if high is None else high], float)
    made = life.service_life(words, KNOWN.table("products"), **ends)
    return {name: value[0] for name, value in made.items()}


YES, NO = 0, 1


@pytest.mark.parametrize(
    ("bands", "low", "likely", "high", "apart"),
    [
        ({"stakes": (15, 25)}, 15, 20, 25, NO),
        ({"stakes": (0, 5)}, 0, 2.5, 5, NO),
        ({"stakes": (10, 20), "fdp": (20, 40)}, 10, math.sqrt(15 * 30), 40, NO),
        ({"stakes": (10, 20), "fdp": (20, 41)}, 10, math.sqrt(15 * 30.5), 41, YES),
        ({"crossbrace": (20, None)}, 20, 20, math.nan, NO),  # and not a hair below 20
        ({"crossbrace": (20, None), "fdp": (50, 99)}, 20, 74.5, 99, NO),
        ({"crossbrace": (20, None), "as5604": (0, 7)}, 0, math.sqrt(20 * 3.5), math.nan, YES),
    ],
)
def test_the_envelope_by_hand(bands, low, likely, high, apart):
    found = envelope(**bands)
    ends = [found[f"service_life_{end}_years"] for end in ("low", "likely", "high")]
    assert ends == pytest.approx([low, likely, high], nan_ok=True)
    assert not ends[1] < round(likely, 6)
    assert found["models_disagree"] == apart
    assert found["life_open"] == (YES if set(bands) == {"crossbrace"} else NO)


def test_the_envelope_of_nothing_is_unknown():
    found = envelope()
    assert found["life_models"] is None
    assert found["life_known"] == NO
    assert found["models_disagree"] == -1
    assert np.isnan([found[f"service_life_{end}_years"] for end in ("low", "likely", "high")]).all()


BANDS = st.dictionaries(
    st.sampled_from(["stakes", "fdp", "as5604", "dose"]),
    st.tuples(st.floats(0, 100), st.floats(0.5, 100)).map(lambda ends: (ends[0], ends[0] + ends[1])),
    min_size=1,
)


@given(BANDS)
def test_the_envelope_holds_every_band_and_its_likely_value_lies_between_the_middles(bands):
    found = envelope(**bands)
    middles = [(low + high) / 2 for low, high in bands.values()]
    assert found["service_life_low_years"] == min(low for low, _ in bands.values())
    assert found["service_life_high_years"] == max(high for _, high in bands.values())
    assert min(middles) - 1e-6 <= found["service_life_likely_years"] <= max(middles) + 1e-6


@given(BANDS, st.floats(0, 200))
def test_a_test_that_ended_too_soon_never_shortens_the_likely_life(bands, at_least):
    without, found = envelope(**bands), envelope(**bands, crossbrace=(at_least, None))
    assert found["service_life_likely_years"] >= without["service_life_likely_years"] - 1e-6


def test_longevity_never_grows_with_the_use_class():
    """A row that says otherwise is a slip of the copy and is left out."""
    rank = {"N": 0, "L1": 1, "L2": 2, "L3": 3}
    order = KNOWN.register.facts["parts"]["use_class"].values
    woods: dict[str, list[tuple[int, int]]] = {}
    for row in KNOWN.table("species_longevity").records():
        woods.setdefault(row["species"], []).append((order.index(row["use_class"]), rank[row["longevity"]]))
    for wood, cells in woods.items():
        ranks = [longevity for _, longevity in sorted(cells)]
        assert ranks == sorted(ranks, reverse=True), wood


def indices(tmp_path, **cells):
    row = {"part": "x", "material": "European larch", "wood part": "heart", "exposure": "weather", "detail": "open", "clearance": "200", "thickness": "28", "width": "120", "role": "trim", "swap": "easy", **cells}  # fmt: skip
    site = row.pop("site", "Halmstad")
    (tmp_path / "parts.csv").write_text(pd.DataFrame([row]).to_csv(index=False))
    (tmp_path / "project.yaml").write_text(f"site: {site}\nunits: mm\nscheme: eu\nparts: parts.csv\n")
    return derive(read(tmp_path / "project.yaml")).parts.iloc[0]


@pytest.mark.parametrize(
    ("cells", "index"),
    [
        ({}, 1.26 * 1.5),
        ({"detail": "ventilated"}, 1.26 * 1.5 * 0.9),
        ({"detail": "trapped"}, 1.26 * 1.5 * 1.6),
        ({"detail": "cup"}, 1.26 * 1.5 * 1.6),
        ({"clearance": "301"}, 1.26),
        ({"clearance": "100"}, math.nan),
        ({"clearance": ""}, math.nan),
        ({"exposure": "sheltered"}, math.nan),
        ({"exposure": "ground"}, math.nan),
    ],
)
def test_factors_that_were_never_read_leave_the_exposure_index_unknown(tmp_path, cells, index):
    assert indices(tmp_path, **cells)["exposure_index"] == pytest.approx(index, nan_ok=True)


@pytest.mark.parametrize(
    ("cells", "times"),
    [({}, 0.8), ({"swap": "hard"}, 0.9), ({"swap": "never"}, 0.9), ({"swap": "easy", "role": "step"}, 1.0)],
)
def test_what_a_failure_would_cost_raises_the_index(tmp_path, cells, times):
    found = indices(tmp_path, **cells)
    assert found["design_exposure_index"] == pytest.approx(found["exposure_index"] * times)


@pytest.mark.parametrize(
    ("cells", "index"),
    [
        ({}, 2.0),
        ({"wood part": "mixed"}, 1.5),
        ({"wood part": "sap"}, math.nan),
        ({"material": "Norway spruce", "wood part": "mixed"}, 1.0),
        ({"material": "beech"}, math.nan),
        ({"material": "black locust"}, 10.0),
        ({"material": "black locust", "wood part": "mixed"}, math.nan),
        ({"treatment": "UC4A"}, 10.0),
        ({"treatment": "UC3B"}, 5.0),
        ({"treatment": "UC2"}, math.nan),
        ({"treatment": "thermally modified"}, math.nan),
        ({"material": "European oak", "product": "plywood"}, math.nan),
        ({"material": "European oak", "product": "glulam"}, 5.0),
    ],
)
def test_the_resistance_index_of_wood_and_treatment(tmp_path, cells, index):
    assert indices(tmp_path, **cells)["resistance_index"] == pytest.approx(index, nan_ok=True)
