"""Costs against worked arithmetic from outside: texts on engineering economy, a state's fencing costs, lumber tallies."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatepost import cost
from gatepost.choosing.costs import amounts, nominal
from gatepost.library import library

KNOWN = library()
YEARS = st.integers(1, 60).map(float)
SUMS = st.floats(0, 1000)


def total(*arguments, rate=0.0):
    return float(cost.present_cost(sum(cost.by_year(*arguments).values()), rate))


# NEWNAN-2004, solution of problem 6-37: a machine of 5,000 that lasts 5 years, at 8 %, costs 1,252 a year (secondary).
def test_equal_sums_a_year_pay_for_a_machine():
    assert cost.present_cost([0, *[1252] * 5], 8) == pytest.approx(5000, abs=2)


# REPEATABILITY-EXAMPLE: 3,500 for 4 years earning 1,255 a year, 5,000 for 6 years earning 1,480, over 12 years at
# 10 %: worth 1,028 and 2,262; a year 151 and 332 (secondary). Earnings are care below zero.
@pytest.mark.parametrize(
    ("first", "life", "earned", "worth", "a_year"), [(3500, 4, 1255, 1028, 151), (5000, 6, 1480, 2262, 332)]
)
def test_chains_of_replacements_are_worth_what_the_text_says(first, life, earned, worth, a_year):
    assert -total(first, -earned, 0, np.inf, life, 12, rate=10) == pytest.approx(worth, abs=2)
    once = -total(first, -earned, 0, np.inf, life, life, rate=10)
    assert once / cost.present_cost([0, *[1] * life], 10) == pytest.approx(a_year, abs=1)


# ISU-FENCING, table 6: depreciation and maintenance a year of four fences; maintenance is 8 or 5 % of the first cost
# (secondary). Interest, which the table counts beside them, is left out.
@pytest.mark.parametrize(
    ("maintenance", "share", "life", "depreciation"),
    [(159, 0.08, 20, 99), (129, 0.08, 20, 81), (74, 0.05, 25, 59), (46, 0.05, 25, 37)],
)
def test_a_year_of_a_fence_costs_its_depreciation_and_maintenance(maintenance, share, life, depreciation):
    year = cost.cost_per_year(maintenance / share, maintenance, 0, np.inf, life)
    assert year == pytest.approx(depreciation + maintenance, abs=1)


# NEWNAN-2004, chapter 6: over a common multiple of the lives the cost of a year is that of one life (secondary).
@given(first=SUMS, care=SUMS, life=st.integers(1, 20), times=st.integers(1, 5))
def test_a_year_costs_the_same_over_one_life_and_over_several(first, care, life, times):
    chain = cost.chain_cost(first, care, 0, np.inf, life, life * times)
    assert chain / (life * times) == pytest.approx(float(cost.cost_per_year(first, care, 0, np.inf, life)))


# The board foot is a square foot of inch board by nominal size; examples of public pages on ordering lumber: 2x4 of
# 8 feet 5 1/3, 2x6 of 8 feet 8, 1x3 of 8 feet 2 (secondary). Sizes here are those after planing.
@pytest.mark.parametrize(
    ("thickness_in", "width_in", "board_feet"), [(1.5, 3.5, 16 / 3), (1.5, 5.5, 8), (0.75, 2.5, 2)]
)
def test_board_feet_go_by_the_size_before_planing(thickness_in, width_in, board_feet):
    part = {"qty": 1.0, "thickness_mm": thickness_in * 25.4, "width_mm": width_in * 25.4, "length_mm": 96 * 25.4}
    made = amounts(pd.DataFrame([part]), "us", KNOWN)["board m3"][0]
    assert made / cost.M3_PER_BOARD_FOOT == pytest.approx(board_feet)


# PS 20 and yard charts by nominal_sizes.csv (secondary): every dressed size goes back to its name.
def test_dressed_sizes_go_back_to_their_nominal_names():
    table = KNOWN.table("nominal_sizes")
    for row in table.records():
        if row["region"] == "us" and row["kind"] != "timber green":
            name = [eval(piece) for piece in row["name"].split("x")]
            sizes = [float(row[side] or "nan") for side in ("thickness_mm", "width_mm")]
            made = [
                nominal(np.array([size]), face, KNOWN)[0] / 25.4
                for size, face in zip(sizes, ("thickness", "width"), strict=True)
            ]
            for size, one, told in zip(sizes, made, name, strict=False):
                assert np.isnan(size) or one == pytest.approx(told), row


def test_geometry_of_a_cube_of_a_metre():
    cube = (1.0, 1000.0, 1000.0, 1000.0)
    assert cost.volume_m3(*cube) == 1
    assert [float(cost.coat_m2(*cube, faces)) for faces in (0, 1, 2)] == [6, 1, 4]
    assert np.isnan(cost.coat_m2(*cube, -1))


def test_waste_is_a_share_of_what_is_bought():
    assert cost.first_cost(9.0, 10.0, 0.0, 0.1) == pytest.approx(100)
    assert cost.first_cost(9.0, 10.0, 2.0, 0.1) == pytest.approx(118)


@pytest.mark.parametrize(
    ("every", "years", "times"), [(2, 20, 9), (4, 20, 4), (4, 21, 5), (30, 20, 0), (np.inf, 20, 0), (20, 20, 0)]
)
def test_nothing_is_coated_or_bought_on_the_last_day(every, years, times):
    assert cost.times_within(every, years) == times


@pytest.mark.parametrize("bad", [(0, 20), (-1, 20), (np.nan, 20), (4, np.nan), (4, 0)])
def test_unknown_and_impossible_times_stay_unknown(bad):
    assert np.isnan(cost.times_within(*bad))


@given(first=SUMS, care=SUMS, coat=SUMS, every=YEARS, life=st.floats(1, 60), wanted=YEARS)
def test_the_years_add_up_to_the_whole(first, care, coat, every, life, wanted):
    whole = cost.chain_cost(first, care, coat, every, life, wanted)
    assert total(first, care, coat, every, life, wanted) == pytest.approx(float(whole))


@given(first=SUMS, coat=SUMS, every=YEARS, wanted=YEARS, lives=st.tuples(st.floats(1, 60), st.floats(1, 60)))
def test_a_longer_life_never_buys_more_often(first, coat, every, wanted, lives):
    short, long = sorted(lives)
    bought = [cost.by_year(first, 0, coat, every, life, wanted)["bought"].sum() for life in (short, long)]
    assert bought[1] <= bought[0] + 1e-9


@given(first=SUMS, care=SUMS, rate=st.floats(0.1, 20), life=YEARS, wanted=YEARS)
def test_interest_makes_later_costs_smaller(first, care, rate, life, wanted):
    plain, discounted = (total(first, care, 0, np.inf, life, wanted, rate=each) for each in (0, rate))
    assert discounted <= plain + 1e-9


def test_bands_that_touch_or_are_unknown_settle_nothing():
    assert cost.clearly_less(9.9, 10.0)
    assert not cost.clearly_less(10.0, 10.0)
    assert not cost.clearly_less(np.nan, 10.0)
    assert not cost.clearly_less(9.0, np.nan)


def test_no_coat_needs_no_price():
    assert cost.life_cost(100.0, 0.0, np.nan, np.inf, 20.0) == 100
    assert np.isnan(cost.life_cost(100.0, 0.0, np.nan, 4.0, 20.0))
