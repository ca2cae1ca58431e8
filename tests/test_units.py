"""Sizes and numbers: what is printed reads back, and nothing odd is taken for a number."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gatepost.units import NotASize, number, plain, print_size, size_mm


@given(st.integers(1, 2000), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_printed_inches_read_back(parts, step):
    mm = parts / step * 25.4
    assert size_mm(print_size(mm, "in", step), "mm") == pytest.approx(mm, abs=1e-5)


@given(st.integers(20, 40_000))
def test_printed_millimetres_read_back(halves):
    mm = halves / 2 if halves < 20 else float(halves)
    assert size_mm(print_size(mm, "mm"), "in") == mm


@given(
    st.integers(0, 40),
    st.integers(1, 63),
    st.sampled_from([" ", "-", " - "]),
    st.sampled_from(['"', " in", "”", "″", " inches", "''"]),
)
def test_mixed_fractions_in_every_spelling(whole, part, joint, mark):
    text = f"{whole}{joint}{part}/64{mark}"
    assert size_mm(text, "mm") == pytest.approx((whole + part / 64) * 25.4, abs=1e-5)
    assert number(f"{whole}{joint.strip() or ' '}{part}/64") == pytest.approx(whole + part / 64)


@given(
    st.floats(0.5, 999, allow_nan=False).map(lambda value: round(value, 2)),
    st.sampled_from(["mm", "cm", "m", "in", "ft"]),
)
def test_a_decimal_comma_is_a_decimal_point(value, unit):
    text = f"{value:.2f}"
    assert size_mm(f"{text} {unit}", "mm") == size_mm(f"{text.replace('.', ',')}{unit}", "in")


@given(st.floats(0.1, 500, allow_nan=False).map(lambda value: f"{value:.3f}"))
def test_a_bare_number_means_the_unit_of_the_list(text):
    assert size_mm(text, "in") == pytest.approx(25.4 * size_mm(text, "mm"), abs=1e-5)


@pytest.mark.parametrize("text", ["½", "¼", "¾", "⅛", "⅞", "⅓"])
def test_fraction_signs_alone_and_behind_a_whole_number(text):
    value = float(number(plain(text)))
    assert 0 < value < 1
    assert number(f"2{text}") == pytest.approx(2 + value)
    assert number(f"2 {text}") == pytest.approx(2 + value)


@pytest.mark.parametrize(
    "text",
    ["12-15", "8 to 12", "1 2", "20-30", "3-4", "1e5", "1_0", "--3", "1/0", "1,234,567", "1.2.3", "1e400", "nan", "inf", "", " ", "x", "1/2/3", "5 1/2 1/3"],
)  # fmt: skip
def test_ranges_and_the_like_are_no_numbers(text):
    with pytest.raises(NotASize):
        number(text)


@pytest.mark.parametrize(
    ("text", "value"),
    [("-12", -12), ("+4", 4), ("-1 1/2", -1.5), ("3.", 3), (".5", 0.5), ("12,5", 12.5), ("3/8", 0.375)],
)
def test_signs_are_kept(text, value):
    assert number(text) == value


@pytest.mark.parametrize("text", ["1,200", "12,345"])
def test_a_thousand_that_may_be_a_decimal_is_not_guessed(text):
    with pytest.raises(NotASize, match="may be a thousand or a decimal"):
        number(text)
