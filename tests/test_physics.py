"""Moisture, movement and decay hazard over their whole range: sign, monotony, bounds, and NaN in, NaN out."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatepost import decay, moisture
from gatepost.deriving.movement import coefficients
from gatepost.library import library

C = coefficients(library().table("emc_coefficients"))
F = coefficients(library().table("emc_coefficients_f"))
TEMPERATURES = st.floats(-30, 60)
HUMIDITIES = st.floats(1, 98)
CONTENTS = st.floats(0, 30)
SHRINKAGES = st.floats(2, 14)
WIDTHS = st.floats(10, 2000)


@given(TEMPERATURES, HUMIDITIES, st.floats(0.1, 1.9))
def test_wood_takes_up_more_from_damper_air(t, rh, more):
    assert moisture.emc_pct(t, rh + more, C) > moisture.emc_pct(t, rh, C) > 0


@given(st.floats(0, 60), HUMIDITIES)
def test_both_published_sets_of_coefficients_agree(t, rh):
    assert moisture.emc_pct(t, rh, C) == pytest.approx(moisture.emc_pct(t * 1.8 + 32, rh, F, -40, 270), abs=0.06)


@pytest.mark.parametrize(
    ("t", "rh"), [(-41, 50), (140, 50), (20, -1), (20, 100.5), (math.nan, 50), (20, math.nan), (20, math.inf)]
)
def test_outside_its_range_the_sorption_equation_is_silent(t, rh):
    assert np.isnan(moisture.emc_pct(t, rh, C))


@given(SHRINKAGES, st.floats(0.2, 0.99), st.floats(0, 90), st.floats(0, 90))
def test_a_board_moves_between_its_radial_and_its_tangential_figure(tangential, share, a, b):
    radial = tangential * share
    low, high = sorted([a, b])
    flatter, steeper = moisture.across_grain(tangential, radial, low), moisture.across_grain(tangential, radial, high)
    assert radial - 1e-9 <= steeper <= flatter <= tangential + 1e-9


@given(WIDTHS, SHRINKAGES, CONTENTS, CONTENTS)
def test_eq_13_3_has_the_sign_of_the_moisture_and_turns_round(width, shrinkage, start, end):
    there = moisture.wide_change(width, shrinkage, start, end)
    assert np.sign(there) == np.sign(end - start) or abs(end - start) < 1e-9
    back = moisture.wide_change(width + there, shrinkage, end, start)
    assert width + there + back == pytest.approx(width, rel=1e-9)


@given(WIDTHS, SHRINKAGES)
def test_eq_13_3_takes_the_whole_shrinkage_from_saturation_to_dry(width, shrinkage):
    assert moisture.wide_change(width, shrinkage, 30, 0) == pytest.approx(-width * shrinkage / 100)


@given(WIDTHS, SHRINKAGES, st.floats(6, 14), st.floats(6, 14))
def test_eq_13_2_and_13_3_agree_between_6_and_14_percent(width, shrinkage, start, end):
    coefficient = moisture.coefficient_from_shrinkage(shrinkage)
    small, wide = (
        moisture.small_change(width, coefficient, start, end),
        moisture.wide_change(width, shrinkage, start, end),
    )
    assert small == pytest.approx(wide, rel=0.025, abs=1e-6)


@given(WIDTHS, SHRINKAGES, CONTENTS)
def test_above_saturation_nothing_moves(width, shrinkage, start):
    at, above = (moisture.width_change(width, math.nan, shrinkage, start, end) for end in (30, 120))
    assert at == above


@pytest.mark.parametrize("at", range(5))
def test_width_change_is_unknown_when_anything_is(at):
    values = [100.0, 0.002, 6.0, 8.0, 18.0]
    values[at] = math.nan
    assert np.isnan(moisture.width_change(*values)) == (at != 1)


@given(st.floats(0.002, 0.4), st.floats(0.3e-10, 5e-10), st.floats(0.1, 12))
def test_a_slab_follows_less_the_thicker_and_the_faster(thickness, diffusion, cycles):
    answer = moisture.slab_response(thickness, diffusion, cycles)
    assert 0 < abs(answer) < 1
    assert abs(moisture.slab_response(thickness * 1.1, diffusion, cycles)) < abs(answer)
    assert abs(moisture.slab_response(thickness, diffusion, cycles * 1.1)) < abs(answer)
    assert answer.imag < 0


def explicit_slab(cycle, thickness, diffusion, cells=40, years=4):
    """Mean of a slab by small steps in time and depth, both faces at `cycle`."""
    dx = thickness / cells
    dt = 0.4 * dx**2 / diffusion
    steps = int(years * 365.25 * 86400 / dt)
    state, means = np.full(cells + 1, 0.0), []
    for step in range(steps):
        face = math.cos(2 * math.pi * cycle * step * dt / (365.25 * 86400))
        state[0] = state[-1] = face
        state[1:-1] += diffusion * dt / dx**2 * (state[2:] - 2 * state[1:-1] + state[:-2])
        means.append((state[0] / 2 + state[1:-1].sum() + state[-1] / 2) / cells)
    last = np.array(means[-int(365.25 * 86400 / dt) :])
    return (last.max() - last.min()) / 2


@pytest.mark.parametrize("thickness", [0.05, 0.1, 0.15])
def test_the_closed_solution_is_that_of_small_steps(thickness):
    wanted = explicit_slab(1, thickness, 1.5e-10)
    assert abs(moisture.slab_response(thickness, 1.5e-10, 1)) == pytest.approx(wanted, rel=0.01)


@given(st.lists(st.floats(5, 25), min_size=12, max_size=12), st.floats(0.005, 0.3))
def test_a_member_keeps_the_mean_of_the_year_and_swings_less(emc, thickness):
    year = moisture.member_year(np.array(emc), np.array([thickness]), 1e-10)[0]
    assert year.mean() == pytest.approx(np.mean(emc))
    assert year.std() <= np.std(emc) + 1e-9


def test_a_thin_member_follows_the_air():
    emc = np.array([16, 15, 14, 12, 13, 13, 13, 14, 14, 14, 15, 17.0])
    assert moisture.member_year(emc, np.array([1e-4]), 1e-10)[0] == pytest.approx(emc, abs=1e-3)


@given(st.lists(st.floats(-20, 35), min_size=12, max_size=12), st.lists(st.floats(0, 31), min_size=12, max_size=12))
def test_the_decay_index_never_falls_with_warmth_or_rain(t, days):
    t, days = np.array(t), np.array(days)
    index = decay.scheffer_index(t, days)
    assert index >= 0
    assert decay.scheffer_index(t + 1, days) >= index
    assert decay.scheffer_index(t, days + 1) >= index
    assert index - 8 <= decay.scheffer_index_metric(t, days) <= index + 1e-9 + 0.01 * index


def test_the_decay_index_is_unknown_when_a_month_is():
    t = np.full(12, 15.0)
    t[3] = np.nan
    assert np.isnan(decay.scheffer_index(t, np.full(12, 10.0)))
