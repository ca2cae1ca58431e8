"""Single values of the physics, worked apart from the code from the printed formulas, and the edges of every range."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from gatepost import corrosion, decay, holding, humidity, moisture, rain
from gatepost.arrays import floats, inside, quiet

approx = pytest.approx
C = [[349, 1.29, 0.0135], [0.805, 7.36e-4, -2.73e-6], [6.27, -9.38e-3, -3.03e-4], [1.91, 4.07e-2, -2.93e-4]]
NAN = math.nan


def unknown(value):
    return bool(np.isnan(value).all())


def test_arrays_take_lists_and_none_and_keep_quiet():
    one, other = floats([1, None], "2")
    assert one.dtype == float
    assert unknown(one[1])
    assert other == 2
    with quiet():
        assert np.float64(1) / np.float64(0) == math.inf
        assert np.isnan(np.float64(0) / np.float64(0))
        assert np.exp(np.float64(1000)) == math.inf
    assert inside([0.9, 1, 2, 2.1, None], 1, 2).tolist() == [False, True, True, False, False]


@pytest.mark.parametrize(
    ("t", "rh", "emc"),
    [(20, 65, 11.996267), (-10, 80, 16.419496), (40, 30, 5.714558), (60, 95, 20.99118), (20, 0, 0.0)],
)
def test_sorption(t, rh, emc):
    assert moisture.emc_pct(t, rh, C) == approx(emc, abs=1e-5)
    assert moisture.emc_pct([t, None], [rh, 50], C)[0] == approx(emc, abs=1e-5)


@pytest.mark.parametrize(
    ("t", "rh", "known"),
    [
        (-40, 50, True),
        (-40.1, 50, False),
        (132.2, 50, True),
        (132.3, 50, False),
        (20, 0.5, True),
        (20, -0.1, False),
        (20, 99.99, True),
        (20, 100, False),
        (20, 123, False),
    ],
)
def test_range_of_sorption(t, rh, known):
    assert unknown(moisture.emc_pct(t, rh, C)) != known


def test_range_of_sorption_may_be_another():
    assert unknown(moisture.emc_pct(20, 50, C, coldest=25))
    assert unknown(moisture.emc_pct(20, 50, C, hottest=15))
    assert not unknown(moisture.emc_pct(20, 50, C, coldest=20, hottest=20))


@pytest.mark.parametrize(
    ("t", "rh", "soft"),
    [(0, 90, False), (-0.1, 50, True), (0.5, 90, False), (10, 90.1, True), (10, 91, True), (None, 50, False)],
)
def test_soft(t, rh, soft):
    assert bool(moisture.emc_is_soft(t, rh)) == soft


@pytest.mark.parametrize(("angle", "blend"), [(0, 7.5), (30, 6.575), (45, 5.65), (90, 3.8), (-0.1, NAN), (90.1, NAN)])
def test_blend_of_the_ring_angle(angle, blend):
    assert moisture.across_grain(7.5, 3.8, angle) == approx(blend, nan_ok=True)
    assert moisture.across_grain([7.5, None], 3.8, [angle, 0])[0] == approx(blend, nan_ok=True)


def test_coefficients():
    assert moisture.coefficient_from_shrinkage(7.3) == approx(0.0025578136)
    assert moisture.coefficient_from_shrinkage([5.0, None], 22)[0] == approx(0.0023364486)
    assert moisture.coefficient_from_shrinkage(10, 20) == approx(0.01 / 1.9)


@pytest.mark.parametrize(
    ("start", "end", "change"),
    [
        (6, 14, 1.6),
        (14, 6, -1.6),
        (8, 12, 0.8),
        (5.9, 10, NAN),
        (10, 14.1, NAN),
        (14.1, 10, NAN),
        (10, 5.9, NAN),
        (None, 10, NAN),
        (10, None, NAN),
    ],
)
def test_eq_13_2(start, end, change):
    assert moisture.small_change(100, 0.002, start, end) == approx(change, nan_ok=True)
    assert moisture.small_change([100], [0.002], [start], [end])[0] == approx(change, nan_ok=True)


@pytest.mark.parametrize(
    ("shrinkage", "start", "end", "change"),
    [(8, 20, 10, -2.7397260), (8, 0, 30, 8.6956522), (8, 30, 0, -8.0), (8, 30.1, 10, NAN), (8, -0.1, 10, NAN), (8, 10, 30.1, NAN), (8, 10, -0.1, NAN), (0, 10, 20, NAN), (-1, 10, 20, NAN), (0.5, 10, 20, 0.16722408), (None, 10, 20, NAN)],
)  # fmt: skip
def test_eq_13_3(shrinkage, start, end, change):
    assert moisture.wide_change(100, shrinkage, start, end) == approx(change, nan_ok=True)
    assert moisture.wide_change([100], [shrinkage], [start], [end])[0] == approx(change, nan_ok=True)


@pytest.mark.parametrize(
    ("start", "end", "change"), [(8, 12, 0.8), (5, 12, 1.9999999), (12, 45, 5.0420168), (45, 12, -4.8), (45, 60, 0.0)]
)
def test_either_equation(start, end, change):
    wanted = {5: 100 * 7 / (375 - 30 + 5), 12: 100 * 18 / (375 - 30 + 12), 45: 100 * -18 / 375}
    value = 0.8 if (start, end) == (8, 12) else 0.0 if end == 60 else wanted[start]
    assert moisture.width_change(100, 0.002, 8, start, end) == approx(value)
    assert change == approx(value, rel=0.01, abs=1e-9)


def test_blocks_of_many_boards_and_of_one():
    count = moisture.BLOCK + 7
    width, coefficient, shrinkage = np.full(count, 100.0), np.full(count, 0.002), np.full(count, 8.0)
    for start, end, swing in ((8, 12, 0.8), (8, 20, 1200 / 353), (16, 20, 400 / 361), (12, 8, 0.0), (2, 5, 300 / 347)):
        out = moisture.swing_band_gap(
            width, coefficient, shrinkage, np.full(count, start * 1.0), np.full(count, end * 1.0), 0.25, 3
        )
        for values, wanted in zip(out, (swing, swing * 0.75, swing * 1.25, swing + 3), strict=True):
            assert values[[0, moisture.BLOCK - 1, moisture.BLOCK, count - 1]] == approx(wanted)
    mixed = moisture.swing_band_gap(
        width[:2],
        np.array([0.002, NAN]),
        shrinkage[:2],
        np.array([8.0, 8.0]),
        np.array([12.0, 12.0]),
        [0.1, 0.2],
        [1, 2],
    )
    assert mixed[:, 0] == approx([0.8, 0.72, 0.88, 1.8])
    assert mixed[:, 1] == approx([400 / 353, 400 / 353 * 0.8, 400 / 353 * 1.2, 400 / 353 + 2])
    dry = moisture.swing_band_gap(
        width[:2], coefficient[:2], shrinkage[:2], np.array([5.0, 8.0]), np.array([14.0, 12.0]), 0.1, 0
    )
    assert dry[0] == approx([900 / 350, 0.8])
    both = moisture.swing_band_gap(
        width[:2], coefficient[:2], shrinkage[:2], np.array([8.0, 8.0]), np.array([12.0, 20.0]), 0.1, 0
    )
    assert both[0] == approx([0.8, 1200 / 353])
    late = moisture.swing_band_gap(
        width[:2], coefficient[:2], shrinkage[:2], np.array([8.0, 20.0]), np.array([12.0, 25.0]), 0.1, 0
    )
    assert late[0] == approx([0.8, 500 / 365])
    edge = moisture.swing_band_gap(
        width[:2], coefficient[:2], shrinkage[:2], np.array([8.0, 8.0]), np.array([14.0, 20.0]), 0.1, 0
    )
    assert edge[0] == approx([1.2, 1200 / 353])
    wet = moisture.swing_band_gap(width[:1], coefficient[:1], shrinkage[:1], np.array([16.0]), np.array([90.0]), 0.1, 0)
    assert wet[0] == approx([1400 / 361])


def test_bars_and_slabs():
    assert moisture.effective_thickness(3, 4) == approx(2.4)
    assert moisture.effective_thickness([3, None], [None, 4])[0] == approx(3)
    assert unknown(moisture.effective_thickness([3, None], [4, 4])[1])
    assert moisture.effective_thickness(0, 4) == 0


@pytest.mark.parametrize(
    ("thickness", "diffusion", "cycles", "wanted"),
    [(0.05, 1e-10, 1, 0.8353396784927877 - 0.331886627715191j), (0.1, 3e-10, 2, 0.475944202075245 - 0.4038229441526795j), (0.05, 1e-10, 0, 1), (0, 1e-10, 1, 1)],
)  # fmt: skip
def test_slab(thickness, diffusion, cycles, wanted):
    assert complex(moisture.slab_response(thickness, diffusion, cycles)) == approx(wanted)
    assert complex(moisture.slab_response([thickness, None], diffusion, cycles)[0]) == approx(wanted)


@pytest.mark.parametrize("cycles", [1, 2, 5, 6])
def test_one_wave_comes_out_smaller_and_later(cycles):
    months = np.arange(12)
    air = 14 + 3 * np.cos(2 * np.pi * cycles * months / 12)
    answer = moisture.slab_response(0.06, 1.5e-10, cycles)
    phase = cmath.phase(complex(answer))
    wanted = 14 + 3 * abs(answer) * np.cos(2 * np.pi * cycles * months / 12 + phase)
    assert moisture.member_year(list(air), [0.06], 1.5e-10)[0] == approx(wanted)


def test_rain_constants():
    assert rain.drying_power_kpa(20, 0.65) == approx(0.8164086)
    assert rain.drying_power_kpa(20, 0.999) == 0.05
    edges = [(-45, 0.5), (-45.1, 0.5), (60, 0.5), (60.1, 0.5), (20, 0), (20, -0.01), (20, 1), (20, 1.01)]
    assert [unknown(rain.drying_power_kpa(t, rh)) for t, rh in edges] == [False, True] * 4
    assert rain.drying_power_kpa([20, None], [0.65, 0.5])[0] == approx(0.8164086)


AIR = rain.Air(np.full(12, 20.0), np.full(12, 0.65), np.full(12, 12.0))


def face(*values):
    return rain.Face(*(np.array([[value]], float) for value in values))


def test_wet_shares():
    assert rain.wet_share(face(1, 1, 1), AIR, 1, 5)[0, 0] == approx(0.0955159147)
    assert rain.wet_share(face(0.7, 0.5, 0), AIR, 1, 5)[0, 0] == approx(0.0613797516)
    assert rain.wet_share(face(0, 8, 1), AIR, 1, 5)[0].tolist() == [0.0] * 12
    unknown_rain = rain.Air(AIR.t_c, AIR.rh, np.full(12, NAN))
    assert rain.wet_share(face(0, 8, 1), unknown_rain, 1, 5)[0].tolist() == [0.0] * 12
    assert unknown(rain.wet_share(face(1, 8, 1), unknown_rain, 1, 5))
    stormy = rain.Air(AIR.t_c, AIR.rh, np.full(12, 31.0))
    assert rain.wet_share(face(1, 1, 1), stormy, 2, 5)[0, 0] == rain.wet_share(face(1, 1, 1), stormy, 1, 5)[0, 0]
    assert rain.wet_share(face(1, 1, 0), AIR, 0.5, 5)[0, 0] == approx(
        (1 - math.exp(-6 * (5 + 1 / 0.8164086) / 744)) / (1 + math.exp(-8))
    )


def test_target_of_two_faces():
    wet = rain.wet_share(face(1, 1, 1), AIR, 1, 5)[0, 0]
    found = rain.target_pct(
        (face(1, 1, 1), face(0, 0, 0)), AIR, np.full(12, 12.0), np.array([[30.0]]), rain.Case(1, 6, 1), 5
    )
    assert found[0, 0] == approx((6 * wet * 30 + (1 - wet) * 13 + 13) / (6 * wet + 1 - wet + 1))
    dry = rain.target_pct(
        (face(0, 0, 0), face(0, 0, 0)), AIR, np.full(12, 3.0), np.array([[30.0]]), rain.Case(1, 6, -2), 5
    )
    assert dry[0, 0] == rain.DRIEST_PCT


def test_diffusion_and_lag():
    assert rain.diffusion_m2_s(15, 10, 1) * 1e11 == approx(8.892808133419984, rel=1e-9)
    assert rain.diffusion_m2_s(45, -30, 0.4) * 1e11 == approx(2.6470669896249533, rel=1e-9)
    assert rain.diffusion_m2_s([15, None], [10, 10], [1, None])[0] * 1e11 == approx(8.892808133419984, rel=1e-9)
    assert rain.lag_days(0.038, 1.5e-10) == approx(8.0637009)
    assert rain.lag_days([0.038, None], [1.5e-10, 1])[0] == approx(8.0637009)


def marched(target, lag, years):
    """The same march by plain floats."""
    state, means = sum(target) / 12, []
    for _ in range(years):
        means = []
        for goal, days in zip(target, rain.MONTH_DAYS, strict=True):
            x = days / lag
            means.append(goal + (state - goal) * (1 - math.exp(-x)) / x)
            state = goal + (state - goal) * math.exp(-x)
    return means


@pytest.mark.parametrize("lag", [5.0, 60.0, 400.0])
def test_the_march_follows_its_target_with_a_lag(lag):
    target = [10.0, 11, 13, 10, 9, 8, 12, 18, 20, 21, 19, 15]
    many = np.array([target, [14.0] * 12])
    out = rain.march(many, np.full((2, 12), lag))
    assert out[0] == approx(marched(target, lag, 6), rel=1e-12)
    assert out[1] == approx(14)
    assert rain.march(many[:1], np.full((1, 12), lag), years=2)[0] == approx(marched(target, lag, 2), rel=1e-12)


def test_a_member_is_its_target_marched_with_its_own_lag():
    faces, wet, thickness = (face(1, 1, 1), face(0, 0, 0)), np.array([[30.0], [60.0]]), np.array([[0.025], [0.1]])
    case = rain.Case(1.3, 8, 2)
    out = rain.member_months(faces, AIR, np.linspace(10, 16, 12), wet, thickness, np.array([[1.0], [0.4]]), case, 5.0)
    for row, density in ((0, 1.0), (1, 0.4)):
        goal = rain.target_pct(faces, AIR, np.linspace(10, 16, 12), wet[row : row + 1], case, 5.0)
        lag = rain.lag_days(thickness[row], rain.diffusion_m2_s(goal, AIR.t_c, density))
        assert out[row] == approx(rain.march(goal, lag)[0])
    assert out.shape == (2, 12)
    alike = rain.member_months(
        faces, AIR, np.full(12, 12.0), np.array([[30.0]]), thickness, np.array([[1.0]]), case, 5.0
    )
    assert alike.shape == (2, 12)


def test_decay_index():
    assert decay.scheffer_index([10] * 12, [13] * 12) == approx(60)
    assert decay.scheffer_index_metric([10] * 12, [13] * 12) == approx(57.4850299)
    assert decay.scheffer_index([10] + [1.6] * 11, [13] * 12) == approx(5)
    assert decay.scheffer_index([10] * 12, [4] + [3] * 11) == approx(0.5)
    assert decay.scheffer_index([[10] * 12, [20] * 12], [13] * 12) == approx([60, 132])
    assert decay.scheffer_index_metric([[10] * 12, [20] * 12], [[13] * 12, [8] * 12]) == approx(
        [57.4850299, 64.6706587]
    )
    assert decay.scheffer_index_metric([3] * 12, [4] * 12) == approx(12 / 16.7)


TERMS = [6.75e-10, -3.5e-7, 7.18e-5, -7.22e-3, 0.34, -4.98], [-1.8e-6, 9.57e-5, -1.55e-3, 4.17e-2, 0]


@pytest.mark.parametrize(
    ("u", "t", "dose"),
    [
        (40, 15, 0.5866380952),
        (24.9, 15, 0),
        (40, 0, 0),
        (40, 40, 0),
        (40, -1, 0),
        (40, 41, 0),
        (100.1, 15, NAN),
        (-0.1, 15, NAN),
        (0, 15, 0),
        (0.5, 15, 0),
        (None, 15, NAN),
        (40, None, NAN),
    ],
)
def test_logistic_dose(u, t, dose):
    assert decay.logistic_dose(u, t, *TERMS, 3.2) == approx(dose, nan_ok=True)
    assert decay.logistic_dose([u, None], t, *TERMS, 3.2)[0] == approx(dose, nan_ok=True)
    assert decay.logistic_dose(100, 15, *TERMS, 3.2) > 0
    assert decay.logistic_dose(25.2, 0.5, *TERMS, 3.2) > 0


def test_rating_and_dose():
    curve = (1.9612, 0.0037)
    assert decay.logistic_rating([0, 442, None], curve)[:2] == approx([4 * math.exp(-math.exp(1.9612)), 1.0], abs=2e-3)
    assert unknown(decay.logistic_rating(-1, curve))
    assert decay.logistic_dose_for([0.5, 3.5], curve) == approx(
        [(1.9612 - math.log(-math.log(r / 4))) / 0.0037 for r in (0.5, 3.5)]
    )
    assert [unknown(decay.logistic_dose_for(r, curve)) for r in (0, 0.01, 3.99, 4, None)] == [
        True,
        False,
        False,
        True,
        True,
    ]


@pytest.mark.parametrize(
    ("u", "t", "dose"),
    [
        (15, 15, 0.125),
        (30, 30, 1),
        (60, 60, 1),
        (15, -1, 0),
        (0, 20, 0),
        (200, 15, 0.5),
        (200.1, 15, NAN),
        (-0.1, 15, NAN),
        (None, 15, NAN),
        (30, None, NAN),
    ],
)
def test_simple_dose(u, t, dose):
    assert decay.simple_dose(u, t, 30, 30, 2) == approx(dose, nan_ok=True)
    assert decay.simple_dose([u], [t], 30, 30, 2)[0] == approx(dose, nan_ok=True)


def test_years_and_index():
    assert decay.years_to([325, None, None], [65, 0, 5])[:1] == approx([5])
    assert decay.years_to(325, 0) == math.inf
    assert decay.years_to(0, 0) == math.inf
    assert decay.years_to(325, 1) == 325
    assert unknown(decay.years_to(None, 0))
    assert unknown(decay.years_to(325, None))
    assert decay.exposure_index(1.26, 1.1, 0.9, 1.5, 1.4, 0.9, 1.4) == approx(1.26 * 1.1 * 0.9 * 1.5 * 1.4 * 0.9 * 1.4)
    assert unknown(decay.exposure_index(-1, 1, 1, 1, 1, 1))
    assert unknown(decay.exposure_index(0, 1, 1, 1, 1, 1))
    assert decay.exposure_index(0.5, 1, 1, 1, 1, 1) == 0.5
    for at in range(6):
        assert unknown(decay.exposure_index(*[None if i == at else 1 for i in range(6)]))


def test_metal_loss():
    assert corrosion.loss([30, None], 1, 0.523)[0] == approx(6.0440206932)
    assert corrosion.loss(20, 2, 0.523) == approx(2 * 20**0.523)
    assert corrosion.loss(30, 1, 0.523, straight_after_years=100) == approx(30**0.523)
    assert corrosion.loss(0, 3, 0.5) == 0
    edges = [
        (100, 1, 0.5),
        (100.1, 1, 0.5),
        (0, 1, 0.5),
        (-0.1, 1, 0.5),
        (5, 0, 0.5),
        (5, -0.1, 0.5),
        (5, 1, 1),
        (5, 1, 1.01),
        (5, 1, 0.01),
        (5, 1, 0),
    ]
    assert [unknown(corrosion.loss(*edge)) for edge in edges] == [False, True] * 5
    assert corrosion.loss(5, 0, 0.5) == 0
    assert unknown(corrosion.loss(5, None, 0.5))


def test_years_until_a_loss():
    assert corrosion.years_until([6.0440206932, None], 1, 0.523)[0] == approx(30)
    assert corrosion.years_until(20**0.523, 1, 0.523) == approx(20)
    assert corrosion.years_until(10**0.813 * 2, 2, 0.813) == approx(10)
    assert corrosion.years_until(1000, 1, 0.5) == 100
    assert corrosion.years_until(0, 0, 0.5) == 0
    assert corrosion.years_until(1, 0, 0.5) == 100
    assert [
        unknown(corrosion.years_until(*e))
        for e in ((-0.1, 1, 0.5), (1, -0.1, 0.5), (1, 1, 0), (1, 1, 1.01), (None, 1, 0.5), (1, None, 0.5), (1, 1, 1))
    ] == [True] * 6 + [False]


def test_ring_and_stage():
    assert corrosion.ring_depth_um([4.2, None], [0.1, 0.1])[0] == approx(210)
    assert [
        unknown(corrosion.ring_depth_um(*e))
        for e in ((0, 0.1), (-1, 0.1), (0.5, 0.1), (4, -0.1), (4, 0), (4, 1), (4, 1.01), (4, None))
    ] == [True, True, False, True, False, False, True, True]
    assert corrosion.moisture_stage([14.9, 15, 18, 18.1, 0, -1, None], 15, 18).tolist() == [0, 1, 1, 2, 0, -1, -1]


def test_humidity():
    assert humidity.rh_from_dew_point_pct(25, 10, 17.62, 243.12) == approx(38.7977254)
    assert humidity.rh_from_dew_point_pct([25, None], [10, 10], 17.62, 243.12)[0] == approx(38.7977254)
    assert humidity.rh_from_dew_point_pct(10, 12, 17.62, 243.12) == 100
    edges = [(60, 10), (60.1, 10), (10, -45), (10, -45.1), (-45, -45), (-45.1, -45.1), (59, 60), (59, 60.1)]
    assert [unknown(humidity.rh_from_dew_point_pct(*edge, 17.62, 243.12)) for edge in edges] == [False, True] * 4


STEEL_AIR = corrosion.Response(1.77, 0.52, 0.02, 0.15, -0.054, 0.102, 0.62, 0.033, 0.04)
AIR_RANGES = [(-17.1, 28.7), (34, 93), (0.7, 150.4), (0.4, 760.5)]


@pytest.mark.parametrize(
    ("t", "rh", "so2", "salt", "um"),
    [
        (10, 75, 1, 1, 9.740583),
        (10, 75, 4, 1, 18.119203),
        (10, 75, 1, 16, 18.019338),
        (0, 80, 4, 9, 9.604014),
        (20, 80, 4, 9, 22.927357),
        (20, 50, 4, 9, 10.381127),
    ],
)
def test_first_year_of_steel(t, rh, so2, salt, um):
    assert corrosion.first_year_loss(t, rh, so2, salt, STEEL_AIR, AIR_RANGES) == approx(um, rel=1e-6)
    assert corrosion.first_year_loss([t, None], rh, so2, salt, STEEL_AIR, AIR_RANGES)[0] == approx(um, rel=1e-6)


@pytest.mark.parametrize("at", range(4))
def test_range_of_the_first_year(at):
    middle = [10, 75, 5, 5]
    for end, step in ((0, -0.05), (1, 0.05)):
        edge, past = list(middle), list(middle)
        edge[at], past[at] = AIR_RANGES[at][end], AIR_RANGES[at][end] + step
        assert not unknown(corrosion.first_year_loss(*edge, STEEL_AIR, AIR_RANGES))
        assert unknown(corrosion.first_year_loss(*past, STEEL_AIR, AIR_RANGES))


def test_within_and_class():
    assert corrosion.within([[1, 1, 3, None], 5], [(1, 2), (4, 5)]).tolist() == [True, True, False, False]
    assert corrosion.within([1, 6], [(1, 2), (4, 5)]).tolist() is False
    with pytest.raises(ValueError, match="longer"):
        corrosion.within([1], [(1, 2), (4, 5)])
    assert corrosion.class_place([0, 1.3, 1.4, 25, 26, -1, None], [1.3, 25]).tolist() == [0, 0, 1, 1, 2, -1, -1]


# Loads worked apart from the printed equations of Technical Report 12 in inches and pounds (recalled), a row for each mode.
@pytest.mark.parametrize(
    ("given", "newtons"),
    [
        ((3.327, 19.05, 44.45, 32, 32, 689.5), 401.11),
        ((4, 60, 60, 30, 45, 620), 627.312),
        ((12.7, 15, 80, 25, 25, 310), 952.5),
        ((12.7, 80, 15, 25, 25, 310), 952.5),
        ((12.7, 30, 25, 20, 30, 310), 779.693),
        ((5, 30, 35, 35, 20, 600), 664.56),
        ((9.5, 38, 89, 20, 20, 310), 864.413),
        ((5.5, 15, 14, 30, 30, 2000), 372.187),
        ((12, 10, 80, 8, 60, 900), 192.0),
        ((12, 80, 10, 60, 8, 900), 192.0),
        ((12, 60, 22, 25, 25, 300), 1285.756),
        ((6.35, 10, 80, 20, 60, 900), 254.0),
    ],
)
def test_yield_limit(given, newtons):
    assert float(holding.yield_limit_n(*given)) == pytest.approx(newtons, rel=1e-4)


def test_yield_limit_refuses_sizes_of_nothing():
    for given in (
        (0, 20, 30, 30, 30, 600),
        (4, 0, 30, 30, 30, 600),
        (4, 20, 0, 30, 30, 600),
        (-1, 20, 30, 30, 30, 600),
    ):
        assert unknown(holding.yield_limit_n(*given))


def test_yield_limit_knows_sizes_below_a_millimetre():
    """Crushing of the side piece by hand: 0.9 x 0.5 x 30 / 2.2 = 6.136 N; of the main piece the same."""
    assert float(holding.yield_limit_n(0.9, 0.5, 8, 30, 30, 90000)) == pytest.approx(6.136, rel=1e-3)
    assert float(holding.yield_limit_n(0.9, 8, 0.5, 30, 30, 90000)) == pytest.approx(6.136, rel=1e-3)


def test_both_equations_in_one_block_meet_at_six_percent():
    """Eq. 13-2 holds at 6 % itself, beside boards of eq. 13-3: 100 x 0.003 x 4 = 1.2."""
    given = (np.array([100.0, 100.0]), np.array([0.003, 0.003]), np.array([8.0, 8.0]))
    out = moisture.swing_band_gap(*given, np.array([6.0, 5.0]), np.array([10.0, 20.0]), 0.0, 0.0)[0]
    assert out[0] == pytest.approx(1.2, rel=1e-9)


def test_pull_and_its_range():
    """54.12 G^2.5 D L by hand: 54.12 x 0.5^2.5 x 3 x 40 = 1148.06; ends of the range count."""
    assert float(holding.withdrawal_n(40, 3, 0.5, 54.12, 2.5, 1)) == pytest.approx(1148.06, rel=1e-5)
    assert float(holding.withdrawal_n(10, 16, 0.25, 2, 0.5, 0.75)) == pytest.approx(80.0)
    assert float(holding.withdrawal_n(0, 3, 1.0, 54.12, 2.5, 1)) == 0
    assert float(holding.withdrawal_n(1, 1, 0.1, 10, 1, 1)) == pytest.approx(1.0)
    for given in ((40, 0, 0.5), (-1, 3, 0.5), (40, 3, 0.09), (40, 3, 1.01)):
        assert unknown(holding.withdrawal_n(*given, 54.12, 2.5, 1))


def test_bearing_changes_its_formula_at_a_quarter_of_an_inch():
    """16600 G^1.84 and 6100 G^1.45 D^-0.5 psi at G = 0.5 (recalled): 4636.9 psi; 4465 psi at 1/4 in."""
    assert float(holding.bearing_mpa(0.5, 6.3)) == pytest.approx(31.98, rel=2e-3)
    assert float(holding.bearing_mpa(0.5, 6.35)) == pytest.approx(30.80, rel=2e-3)
    assert float(holding.bearing_mpa(0.5, 25.4)) == pytest.approx(15.40, rel=2e-3)
