"""What must hold of metal loss whatever the numbers: signs, order, inverses, bounds, and unknown in, unknown out."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatepost import corrosion
from gatepost.deriving import corrosion as making
from gatepost.deriving import corrosivity as air
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


def rust(exposure, corrosivity, coat="hot-dip galvanized", zinc=43.0, attacks="no", rate=np.nan):
    return making.first_rust(
        fastener_metal=words(JOINTS["fastener_metal"], "steel"),
        coating_kind=words(JOINTS["coating_kind"], coat),
        zinc_um=np.array([zinc]),
        worse_exposure=words(PARTS["exposure"], exposure),
        corrosivity_zinc=words(PROJECT["corrosivity"], corrosivity),
        zinc_rate_um_y=np.array([rate]),
        a_wood_attacks_metal=words(PARTS["wood_attacks_metal"], "no"),
        b_wood_attacks_metal=words(PARTS["wood_attacks_metal"], attacks),
        **tables("coatings", "constants", "metal_loss", "loss_exponents", "corrosivity_by_exposure"),
    )


def life(exposure, corrosivity, metal="steel", diameter=5.0, rates=(np.nan, np.nan), **coat):
    return making.metal_life(
        fastener_metal=words(JOINTS["fastener_metal"], metal),
        size_diameter_mm=np.array([diameter]),
        worse_exposure=words(PARTS["exposure"], exposure),
        corrosivity_steel=words(PROJECT["corrosivity"], corrosivity),
        steel_rate_um_y=np.array([rates[0]]),
        corrosivity_copper=words(PROJECT["corrosivity"], corrosivity),
        copper_rate_um_y=np.array([rates[1]]),
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


@pytest.mark.parametrize(
    ("hardware", "wastes", "area"),
    [
        ("flashing", "fastener", "small"),
        ("washer", "fastener", "alike"),
        ("hanger", "hardware", "large"),
        ("hook", "hardware", "alike"),
        ("plate", "none", None),
        ("none", "fastener", None),
        (None, "fastener", None),
        ("plate", None, None),
    ],
)
def test_a_fastener_is_the_small_piece_but_not_beside_a_washer(hardware, wastes, area):
    column = JOINTS["anode_area"]
    made = making.anode_area(
        words(JOINTS["anode"], wastes), words(JOINTS["hardware_kind"], hardware), KNOWN.table("hardware_areas")
    )
    assert made.tolist() == [-1 if area is None else column.values.index(area)]


def test_every_listed_hardware_has_its_area():
    listed = set(JOINTS["hardware_kind"].values) - {"none"}
    assert listed == set(KNOWN.table("hardware_areas").words("hardware_kind"))


METALS = tuple(air.LOSS_OF)
BOUNDS = {
    row["input"]: (float(row["low"]), float(row["high"])) for row in KNOWN.table("corrosion_response_range").records()
}
YEAR = {name: st.floats(*bounds) for name, bounds in BOUNDS.items()}
SOFT_PLACE = {"t_year_c": 9.0, "rh_year_pct": 75.0, "so2_mg_m2_d": 3.0, "chloride_mg_m2_d": 5.0}


def losses(**given):
    """First-year loss of each metal."""
    arrays = {name: np.atleast_1d(value) for name, value in (SOFT_PLACE | given).items()}
    made = air.first_year(**arrays, **tables("corrosion_response", "corrosion_response_range"))
    return np.array([made[air.LOSS_OF[metal]] for metal in METALS])


@given(*YEAR.values())
def test_inside_the_ranges_every_metal_loses_something(t_c, rh_pct, so2, chloride):
    loss = losses(t_year_c=t_c, rh_year_pct=rh_pct, so2_mg_m2_d=so2, chloride_mg_m2_d=chloride)
    assert (loss > 0).all()


@pytest.mark.parametrize("name", ["rh_year_pct", "so2_mg_m2_d", "chloride_mg_m2_d"])
@given(data=st.data())
def test_more_damp_salt_or_sulphur_never_spares_metal(name, data):
    given = {other: data.draw(values) for other, values in YEAR.items()}
    low, high = sorted(data.draw(st.tuples(YEAR[name], YEAR[name])))
    assert (losses(**given | {name: low}) <= losses(**given | {name: high}) * (1 + 1e-12)).all()


@given(YEAR["rh_year_pct"], YEAR["so2_mg_m2_d"], YEAR["chloride_mg_m2_d"])
def test_the_turn_at_ten_degrees_has_no_step(rh_pct, so2, chloride):
    given = {"rh_year_pct": rh_pct, "so2_mg_m2_d": so2, "chloride_mg_m2_d": chloride}
    np.testing.assert_allclose(losses(t_year_c=10 - 1e-9, **given), losses(t_year_c=10 + 1e-9, **given), rtol=1e-6)


@given(YEAR["rh_year_pct"], YEAR["so2_mg_m2_d"], st.floats(-17.1, 9.9), st.floats(0, 1))
def test_up_to_ten_degrees_warmth_eats_metal_faster(rh_pct, so2, t_c, share):
    given = {"rh_year_pct": rh_pct, "so2_mg_m2_d": so2}
    warmer = t_c + share * (10 - t_c)
    assert (losses(t_year_c=t_c, **given) <= losses(t_year_c=warmer, **given) * (1 + 1e-12)).all()


@pytest.mark.parametrize(("name", "end"), list(product(BOUNDS, (0, 1))))
def test_past_any_range_of_the_formula_nothing_is_told(name, end):
    edge, past = BOUNDS[name][end], BOUNDS[name][end] + (-0.01, 0.01)[end]
    assert not np.isnan(losses(**{name: edge})).any()
    assert np.isnan(losses(**{name: past})).all()
    assert np.isnan(losses(**{name: np.nan})).all()


def graded(coast_km=np.nan, **given):
    """Words of the classes and what they rest on."""
    place = SOFT_PLACE | given
    rates = dict(zip(air.LOSS_OF.values(), losses(**given), strict=True))
    made = air.classes(
        np.array([coast_km]),
        np.array([place["so2_mg_m2_d"]]),
        np.array([place["chloride_mg_m2_d"]]),
        **rates,
        **tables("corrosivity_by_coast", "metal_loss"),
        known=KNOWN,
    )
    return {name: None if code[0] < 0 else PROJECT[name].values[code[0]] for name, code in made.items()}


@given(*YEAR.values())
def test_a_class_holds_the_loss_that_made_it(t_c, rh_pct, so2, chloride):
    given = {"t_year_c": t_c, "rh_year_pct": rh_pct, "so2_mg_m2_d": so2, "chloride_mg_m2_d": chloride}
    table, classes = KNOWN.table("metal_loss"), graded(**given)
    for metal, loss in zip(METALS, losses(**given)[:, 0], strict=True):
        unit = "g_m2_y" if metal == "aluminium" else "um_y"
        row = list(zip(table.words("metal"), table.words("corrosivity"), strict=True)).index(
            (metal, classes[f"corrosivity_{metal}"])
        )
        low, high = (table.numbers(f"{end}_{unit}")[row] for end in ("low", "high"))
        assert loss >= low
        assert loss <= high or classes[f"corrosivity_{metal}"] == "CX"
    worst = max(CLASSES.index(classes[f"corrosivity_{metal}"]) for metal in air.WORST_OF)
    assert classes["corrosivity"] == CLASSES[worst]


def test_deposits_beat_the_coast_and_outside_the_formula_nothing_is_guessed():
    by_deposits, by_coast = graded(coast_km=0.1), graded(coast_km=0.1, so2_mg_m2_d=np.nan)
    assert by_deposits["corrosivity_from"].startswith("ISO 9223 dose-response")
    assert by_coast["corrosivity_from"] == "the distance to the sea alone"
    assert by_coast["corrosivity_steel"] == by_coast["corrosivity_aluminium"] == "C5"
    assert by_deposits["corrosivity_steel"] == "C2"
    assert set(graded(coast_km=0.1, so2_mg_m2_d=900.0).values()) == {None}
    assert set(graded(so2_mg_m2_d=np.nan).values()) == {None}


@given(st.floats(0.01, 200), st.sampled_from(CLASSES))
def test_a_computed_loss_beats_the_class_in_the_open_and_not_indoors(rate, corrosivity):
    own = ends(rust("weather", corrosivity, rate=rate))
    assert own == ends(rust("weather", None, rate=rate)) == sorted(own)
    assert ends(rust("indoor", corrosivity, rate=rate)) == ends(rust("indoor", corrosivity))
    both = life("weather", corrosivity, rates=(rate * 20, np.nan), rate=rate)
    assert ends(both) == ends(life("weather", None, rates=(rate * 20, np.nan), rate=rate))


def test_the_loss_of_a_metal_is_its_own():
    steel = ends(life("weather", None, rates=(30.0, np.nan), rate=1.0))
    assert not np.isnan(steel).any()
    assert np.isnan(ends(life("weather", None, "copper", rates=(30.0, np.nan)))).all()
    assert not np.isnan(ends(life("weather", None, "copper", rates=(np.nan, 0.7)))).any()
