"""What must hold of costs; worked examples of published works stand in tests/published."""

from __future__ import annotations

import re
from fractions import Fraction

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
    rows = [row for row in KNOWN.table("nominal_sizes").records() if row["region"] == "us"]
    pairs = [
        (row, re.fullmatch(r"([\d/]+)x(\d+)", row["name"])) for row in rows if row["kind"] in ("board", "dimension")
    ]
    named = [(row, match) for row, match in pairs if match]
    assert len(named) > 50
    for row, match in named:
        for face, told in (("thickness", match[1]), ("width", match[2])):
            size = float(row[f"{face}_mm"])
            assert nominal(np.array([size]), face, KNOWN)[0] / 25.4 == pytest.approx(float(Fraction(told))), row


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


# Counted by hand on a calendar of 25 years: a part that lasts 10, coats every 4 that begin anew with each part.
def test_what_falls_due_is_counted_from_each_purchase():
    starts, coats = cost.moments(4, 10, 25)
    assert starts.tolist() == [0, 10, 20]
    assert coats.tolist() == [4, 8, 14, 18, 24]
    starts, coats = cost.moments(np.inf, np.inf, 25)
    assert (starts.tolist(), coats.tolist()) == ([0], [])
    assert np.isnan(cost.moments(np.nan, 10, 25)[1]).any()
    assert np.isnan(cost.moments(4, np.nan, 25)[0][1:]).all()
    assert np.isnan(cost.by_year(100, 0, 10, np.nan, 10, 25)["coats"]).all()


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


# By hand: half of the third year counts half its care; a calendar of 20 years has 21 ends of years.
def test_a_broken_last_year_counts_its_part_of_the_care():
    made = cost.by_year(100, 10, 0, np.inf, 99, 2.5)
    assert {name: values.tolist() for name, values in made.items()} == {
        "bought": [100, 0, 0, 0],
        "care": [0, 10, 10, 5],
        "coats": [0, 0, 0, 0],
    }
    assert len(cost.by_year(100, 10, 0, np.inf, 99, 20)["care"]) == 21
    assert cost.by_year(100, 0, 10, np.nan, 10, 25)["coats"].shape == (26,)


# By hand: 100 at first, four coats of 10 in 20 years.
def test_coats_are_added_to_the_first_cost():
    assert cost.life_cost(100.0, 0.0, 10.0, 4.0, 20.0) == 140
    assert cost.life_cost(100.0, 2.0, 10.0, 4.0, 20.0) == 180


def test_a_face_is_width_by_length_of_every_piece():
    assert cost.face_m2(2, 500, 3000) == 3


def test_whole_numbers_of_a_small_type_do_not_run_over():
    t, w, length = (np.array([size], np.int16) for size in (20, 1000, 2000))
    assert cost.coat_m2(1, t, w, length, 1) == 2


def test_what_is_not_known_of_a_life_starts_at_once_and_is_unknown_later():
    starts, coats = cost.moments(4, np.nan, 25)
    assert starts[0] == 0
    assert np.isnan(coats).all()


# PS 20: an inch board is planed by 1/4 in at most; here by 3.2 mm, on the very edge of the step.
def test_a_dressed_size_on_the_edge_of_a_step_is_that_step():
    made = cost.nominal_mm([22.2, 22.3, np.nan, 300.0, None], 3.2, [25.4, 50.8])
    np.testing.assert_equal(made.astype(float), [25.4, 50.8, np.nan, np.nan, np.nan])
    assert made.dtype == float


def test_without_a_rate_a_sum_is_the_plain_sum_of_each_row():
    assert cost.present_cost([1, 2, 3]) == 6
    assert cost.spent([[1, 2], [3, 4]]).tolist() == [[1, 3], [3, 7]]


def test_a_blank_of_a_column_is_unknown_and_gives_no_warning():
    np.testing.assert_equal(cost.times_within([None, 4], [20, 20]), [np.nan, 4])
    np.testing.assert_equal(cost.times_within(4, [None, 20]), [np.nan, 4])
    assert np.isnan(cost.times_within(0.0, 0.0))
    assert np.isnan(cost.spent([None, 1.0])).all()
