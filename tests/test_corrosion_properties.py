"""What must hold of metal loss whatever the numbers: signs, order, inverses, bounds, and unknown in, unknown out."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatepost import corrosion
from gatepost.deriving import corrosion as making
from gatepost.deriving.values import ManyWords, Words
from gatepost.library import library

RATES = st.floats(1e-3, 1e3)
EXPONENTS = st.floats(0.3, 1.0)
YEARS = st.floats(0, corrosion.LONGEST_YEARS)
KNOWN = library()
JOINTS, PARTS, PROJECT = (KNOWN.register.facts[over] for over in ("joints", "parts", "project"))
CLASSES, EXPOSURES = PROJECT["corrosivity"].values, PARTS["exposure"].values
AIR = ("sheltered", "weather")


@given(YEARS, YEARS, RATES, EXPONENTS)
def test_loss_never_shrinks_with_time(one, other, rate, exponent):
    early, late = sorted((one, other))
    assert corrosion.loss(early, rate, exponent) <= corrosion.loss(late, rate, exponent) * (1 + 1e-12)


@given(YEARS, RATES, EXPONENTS)
def test_loss_slows_down_but_never_below_nothing(years, rate, exponent):
    lost = float(corrosion.loss(years, rate, exponent))
    assert lost >= 0
    if years >= 1:
        assert lost <= rate * years * (1 + 1e-12)


@given(st.floats(corrosion.STRAIGHT_AFTER_YEARS, corrosion.LONGEST_YEARS), RATES, EXPONENTS)
def test_the_straight_line_is_the_cautious_one(years, rate, exponent):
    curve = corrosion.loss(years, rate, exponent, straight_after_years=corrosion.LONGEST_YEARS)
    assert corrosion.loss(years, rate, exponent) >= curve * (1 - 1e-12)


@given(RATES, EXPONENTS)
def test_the_line_takes_over_without_a_step_or_a_kink(rate, exponent):
    at, small = corrosion.STRAIGHT_AFTER_YEARS, 1e-4
    before, here, after = (float(corrosion.loss(at + step, rate, exponent)) for step in (-small, 0, small))
    assert after - here == pytest.approx(here - before, rel=1e-3)


@given(YEARS, RATES, EXPONENTS)
def test_years_until_undoes_loss(years, rate, exponent):
    lost = corrosion.loss(years, rate, exponent)
    assert float(corrosion.years_until(lost, rate, exponent)) == pytest.approx(years, rel=1e-6, abs=1e-6)


@given(RATES, RATES, RATES, EXPONENTS)
def test_more_metal_or_milder_air_lasts_no_shorter(lost, rate, more, exponent):
    years = corrosion.years_until(lost, rate, exponent)
    assert corrosion.years_until(lost + more, rate, exponent) >= years
    assert corrosion.years_until(lost, rate + more, exponent) <= years


@given(RATES, RATES)
def test_exponent_one_is_plain_division(lost, rate):
    assert float(corrosion.years_until(lost, rate, 1)) == pytest.approx(min(lost / rate, corrosion.LONGEST_YEARS))


def test_nothing_to_lose_takes_no_time_and_no_loss_takes_forever():
    assert corrosion.years_until([0, 0, 5], [0, 3, 0], 0.8).tolist() == [0, 0, corrosion.LONGEST_YEARS]


@pytest.mark.parametrize("bad", [np.nan, -1.0])
def test_unknown_or_impossible_gives_unknown(bad):
    assert np.isnan(corrosion.loss([bad, 1, 1], [1, bad, 1], [0.5, 0.5, bad])).all()
    assert np.isnan(corrosion.years_until([bad, 1, 1], [1, bad, 1], [0.5, 0.5, bad])).all()
    assert np.isnan(corrosion.ring_depth_um([bad, 4], [0.1, bad])).all()
    assert corrosion.moisture_stage(bad, 15, 18) == -1


def test_past_the_range_gives_unknown():
    assert np.isnan(corrosion.loss(corrosion.LONGEST_YEARS + 0.1, 1, 0.5))
    assert np.isnan(corrosion.loss(1, 1, 1.01))


@given(st.floats(0, 200), st.floats(0, 200))
def test_wetter_wood_is_at_no_drier_stage(one, other):
    low, high = sorted((one, other))
    assert corrosion.moisture_stage(low, 15, 18) <= corrosion.moisture_stage(high, 15, 18)


def test_likely_losses_are_the_middle_of_the_published_bounds():
    table = KNOWN.table("metal_loss")
    low, likely, high = (table.numbers(f"{end}_um_y") for end in making.BAND)
    middle = np.where(low == 0, high / 2, np.sqrt(low * high))
    np.testing.assert_allclose(likely, middle, rtol=0.005)


@pytest.mark.parametrize("unit", ["um_y", "g_m2_y"])
def test_classes_of_a_metal_join_without_gap(unit):
    table = KNOWN.table("metal_loss")
    rows = list(zip(table.words("metal"), *(table.numbers(f"{end}_{unit}") for end in ("low", "high")), strict=True))
    for (metal, _, high), (following, low, _) in pairwise(rows):
        assert metal != following or high == low or np.isnan([high, low]).all()


def words(column, *chosen):
    """A column of words as a maker gets it; None is unknown."""
    values = column.values
    return Words(np.array([-1 if word is None else values.index(word) for word in chosen]), values)


def tables(*names):
    return {name: KNOWN.table(name) for name in names}


def rust(exposure, corrosivity, coat="hot-dip galvanized", zinc=43.0, attacks="no"):
    return making.first_rust(
        fastener_metal=words(JOINTS["fastener_metal"], "steel"),
        coating_kind=words(JOINTS["coating_kind"], coat),
        zinc_um=np.array([zinc]),
        worse_exposure=words(PARTS["exposure"], exposure),
        corrosivity=words(PROJECT["corrosivity"], corrosivity),
        a_wood_attacks_metal=words(PARTS["wood_attacks_metal"], "no"),
        b_wood_attacks_metal=words(PARTS["wood_attacks_metal"], attacks),
        **tables("coatings", "metal_loss", "loss_exponents", "corrosivity_by_exposure"),
    )


def life(exposure, corrosivity, metal="steel", diameter=5.0, **coat):
    return making.metal_life(
        fastener_metal=words(JOINTS["fastener_metal"], metal),
        size_diameter_mm=np.array([diameter]),
        worse_exposure=words(PARTS["exposure"], exposure),
        corrosivity=words(PROJECT["corrosivity"], corrosivity),
        a_wood_attacks_metal=words(PARTS["wood_attacks_metal"], "no"),
        b_wood_attacks_metal=words(PARTS["wood_attacks_metal"], "no"),
        **rust(exposure, corrosivity, **coat),
        **tables("constants", "metal_loss", "loss_exponents", "corrosivity_by_exposure"),
    )


def ends(made):
    return [float(made[name][0]) for name in made]


@pytest.mark.parametrize(("exposure", "corrosivity"), list(product(AIR, CLASSES)))
def test_bands_are_in_order_and_metal_outlives_its_zinc(exposure, corrosivity):
    zinc, metal = ends(rust(exposure, corrosivity)), ends(life(exposure, corrosivity))
    assert zinc == sorted(zinc)
    assert metal == sorted(metal)
    assert all(a <= b for a, b in zip(zinc, metal, strict=True))


@pytest.mark.parametrize("metal", ["steel", "copper"])
def test_worse_air_is_no_kinder(metal):
    lives = np.array([ends(life("weather", corrosivity, metal)) for corrosivity in CLASSES])
    assert (np.diff(lives, axis=0) <= 0).all()


@given(st.floats(1, 200), st.floats(1, 20), st.floats(0.1, 50), st.sampled_from(CLASSES))
def test_thicker_zinc_or_shank_lasts_no_shorter(zinc, diameter, more, corrosivity):
    plain = life("weather", corrosivity, diameter=diameter, coat="G90", zinc=zinc)
    thick = life("weather", corrosivity, diameter=diameter + more, coat="G90", zinc=zinc + more)
    assert all(a <= b for a, b in zip(ends(plain), ends(thick), strict=True))


@pytest.mark.parametrize("exposure", ["ground", "fresh water", "salt water"])
def test_no_years_where_no_rate_was_published(exposure):
    assert np.isnan(ends(life(exposure, "C3"))).all()


def test_no_years_for_stainless_or_in_wood_that_attacks_or_without_a_class():
    assert np.isnan(ends(life("weather", "C3", "stainless 316"))).all()
    assert np.isnan(ends(rust("weather", "C3", attacks="yes"))).all()
    assert np.isnan(ends(rust("weather", "C3", attacks=None))).all()
    assert np.isnan(ends(rust("weather", None))).all()
    assert np.isnan(ends(rust("weather", "C3", zinc=np.nan))).all()


def test_a_heated_room_needs_no_site():
    assert not np.isnan(ends(rust("indoor", None))).any()


def limit(exposure, corrosivity, near="none"):
    column = PARTS["near"]
    side = ManyWords(np.array([1 << column.values.index(near)]), column.values)
    made = making.galvanic_limit_v(
        words(PARTS["exposure"], exposure),
        side,
        side,
        words(PROJECT["corrosivity"], corrosivity),
        KNOWN.table("galvanic_limits"),
    )
    return float(made[0])


@pytest.mark.parametrize(("exposure", "corrosivity"), list(product(EXPOSURES, CLASSES)))
def test_salt_never_widens_the_galvanic_limit(exposure, corrosivity):
    assert limit(exposure, corrosivity, "salt spray") <= limit(exposure, corrosivity)
    assert limit(exposure, "CX") <= limit(exposure, corrosivity)


def test_under_a_roof_the_coast_decides_and_must_be_known():
    assert limit("sheltered", "C3") > limit("sheltered", "C4")
    assert np.isnan(limit("sheltered", None))
    assert limit("sheltered", None, "pool") == limit("weather", None)


@pytest.mark.parametrize(
    ("fastener", "hardware", "wastes"),
    [("steel", "copper", 1), ("stainless 304", "aluminium", 2), ("brass", "bronze", 0), ("copper", None, -1)],
)
def test_the_baser_piece_wastes(fastener, hardware, wastes):
    made = making.anode(
        words(JOINTS["fastener_metal"], fastener),
        words(JOINTS["coating_kind"], "hot-dip galvanized"),
        words(JOINTS["hardware_metal"], hardware),
        words(JOINTS["hardware_coat"], "none"),
        KNOWN.table("metals"),
    )
    assert made.tolist() == [wastes]
