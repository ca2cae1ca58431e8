"""Bending of panels, strain of crossed glue, and what stays unknown: against beam formulas worked another way."""

from __future__ import annotations

import numpy as np
import pytest

from by_hand import JOINTS, KNOWN, PARTS, of, words
from gatepost.deriving.fastening_layout import distances, slots
from gatepost.deriving.joint import (
    differential_mm,
    distances_told,
    held_strain_permille,
    held_strain_times,
    set_differential_mm,
    surface_index_v,
)
from gatepost.deriving.panel import deflection, load_told, modulus, span_most_mm
from gatepost.deriving.wetness import rain_situation, wetting_group

WAYS = ("along", "across")
PANELS = PARTS["product"].values
ROLES = PARTS["role"].values


def bent(span=600.0, thick=18.0, wide=300.0, long=600.0, kg=40.0, way="along", gpa=8.0):
    ones = [np.array([value]) for value in (gpa, gpa)]
    sizes = [np.array([value]) for value in (span, thick, wide, long, kg)]
    return {name: float(v[0]) for name, v in deflection(*ones, words(WAYS, way), *sizes).items()}


def by_finite_differences(span, thick, wide, kg, gpa, supports_inside):
    """Deflection of a beam on pinned supports by solving E I w'''' = q on a grid: no beam table."""
    spans, steps = supports_inside + 1, 200
    n = spans * steps
    h = span / steps
    stiff = gpa * 1000 * wide * thick**3 / 12
    load = kg * 9.81 / (span * spans)
    second = (np.diag(np.full(n + 1, -2.0)) + np.diag(np.ones(n), 1) + np.diag(np.ones(n), -1)) / h**2
    second[0] = second[-1] = 0
    matrix, right = second @ second, np.full(n + 1, load / stiff)
    for support in range(spans + 1):
        row = support * steps
        matrix[row], right[row] = 0, 0
        matrix[row, row] = 1
    return float(np.abs(np.linalg.solve(matrix, right)).max())


def test_one_span_bends_as_a_beam_solved_on_a_grid():
    found = bent()
    wanted = by_finite_differences(600, 18, 300, 40, 8.0, 0)
    assert found["deflection_mm_low"] == pytest.approx(wanted, rel=0.01)
    assert found["span_over_deflection_high"] == pytest.approx(600 / wanted, rel=0.01)


def test_a_panel_over_three_spans_bends_as_a_beam_solved_on_a_grid():
    found = bent(long=1800, kg=120)
    assert found["deflection_mm_low"] == pytest.approx(by_finite_differences(600, 18, 300, 120, 8.0, 2), rel=0.02)


def test_over_two_spans_the_answer_is_on_the_safe_side():
    found = bent(long=1200, kg=80)
    exact = by_finite_differences(600, 18, 300, 80, 8.0, 1)
    assert exact <= found["deflection_mm_low"] <= 1.35 * exact


def test_twice_the_thickness_bends_an_eighth_and_twice_the_load_twice():
    plain = bent()["deflection_mm_low"]
    assert bent(thick=36)["deflection_mm_low"] == pytest.approx(plain / 8)
    assert bent(kg=80)["deflection_mm_low"] == pytest.approx(2 * plain)


@pytest.mark.parametrize("blank", ["span", "thick", "wide", "long", "kg"])
def test_nothing_is_told_where_a_size_or_the_load_is_blank(blank):
    assert all(np.isnan(value) for value in bent(**{blank: np.nan}).values())


def test_every_panel_is_at_least_as_stiff_along_its_face_grain():
    table = KNOWN.table("panel_stiffness")
    kinds = table.words("product")
    values = {way: modulus(words(PANELS, *kinds), words(WAYS, *[way] * len(kinds)), table) for way in WAYS}
    for end in ("low", "high"):
        name = f"panel_modulus_gpa_{end}"
        assert (values["along"][name] >= values["across"][name]).all()
    assert (values["along"]["panel_modulus_gpa_low"] <= values["along"]["panel_modulus_gpa_high"]).all()


def test_equal_plies_lie_within_the_band_across():
    """EQ-PLY: n equal plies, cross plies a twentieth as stiff along the span as along their own grain."""

    def share(n):
        edges = [abs(2 * i - n) / n for i in range(n + 1)]
        signed = [np.sign(2 * i - n) * e**3 for i, e in enumerate(edges)]
        return sum(signed[i + 1] - signed[i] for i in range(0, n, 2)) / 2

    table = KNOWN.table("panel_stiffness")
    low, high = (table.number("plywood", f"across_{end}_gpa") for end in ("low", "high"))
    along = [table.number("plywood", f"along_{end}_gpa") for end in ("low", "high")]
    for plies in (3, 5):
        p = share(plies)
        ratio = (1 - p + 0.05 * p) / (p + 0.05 * (1 - p))
        assert 0.75 * low <= ratio * along[0], plies
        assert ratio * along[1] <= 1.4 * high, plies


def test_spans_are_told_for_structural_panels_of_a_thickness_that_is_stamped():
    asked = [("plywood", "roof", 18.3), ("OSB", "step", 18.3), ("MDF", "roof", 18.3), ("plywood", "shelf", 18.3), ("plywood", "roof", 6.0), ("plywood", "roof", np.nan)]  # fmt: skip
    kinds, roles, thick = zip(*asked, strict=True)
    told = span_most_mm(words(PANELS, *kinds), words(ROLES, *roles), np.array(thick), KNOWN.table("panel_spans"))
    assert list(np.isnan(told)) == [False, False, True, True, True, True]


def test_a_load_is_told_or_not():
    assert list(load_told(np.array([3.0, np.nan]))) == [0, 1]


def test_strain_of_a_held_joint_is_movement_over_width_and_does_not_depend_on_the_width():
    sides = [differential_mm(np.array([c]), np.array([90.0]), np.array([200.0]), np.array([6.0]), np.array([90.0]), np.array([2.0])) for c in (50.0, 150.0)]  # fmt: skip
    strains = [float(held_strain_permille(d, np.array([c]))[0]) for d, c in zip(sides, (50.0, 150.0), strict=True)]
    assert strains == pytest.approx([30.0, 30.0])
    assert held_strain_times(np.array([3.0]), np.array([0.5]))[0] == pytest.approx(6)


def test_the_set_joint_takes_the_worse_of_growth_and_shrinkage():
    width, angle = np.array([100.0]), np.array([90.0])
    both = set_differential_mm(
        width, angle, width, np.array([4.0]), np.array([1.0]), width, np.array([0.0]), np.array([0.0])
    )
    assert both[0] == pytest.approx(4)
    turned = set_differential_mm(
        width, angle, width, np.array([0.0]), np.array([3.0]), width, np.array([0.0]), np.array([0.0])
    )
    assert turned[0] == pytest.approx(3)


def test_distances_wait_for_the_hole_and_take_an_unknown_wood_as_dense():
    methods = KNOWN.register.facts["joints"]["method"].values
    carries = KNOWN.register.facts["joints"]["carries"].values
    families = KNOWN.register.facts["joints"]["fastener_family"].values
    made = distances(
        words(families, "screw", "bolt"),
        np.array([4.0, 10.0]),
        np.full(2, np.nan),
        np.full(2, np.nan),
        words(("yes", "no"), "no", None),
        words(("never", "near ends", "always"), None, "always"),
        words(carries, "none", "none"),
        words(("us", "eu"), "eu", "eu"),
        KNOWN.table("fastener_spacings"),
        KNOWN.table("constants"),
    )
    assert list(made["end_mm"]) == [60, 40]
    told = distances_told(
        np.array([15.0, 15.0, np.nan]),
        np.full(3, np.nan),
        words(("yes", "no"), None, "no", None),
        words(methods, *["screws"] * 3),
    )
    assert list(told) == [-1, 0, 1]


def slotted(spacing, width=300.0, swing=6.0, most=8.0, in_a_row="no", family="screw"):
    made = slots(
        of(JOINTS["fastener_family"], family),
        of(JOINTS["in_a_row"], in_a_row),
        *(np.array([value]) for value in (5.0, spacing, width, swing, most)),
        KNOWN.table("constants"),
    )
    return float(made["slot_needed"][0]), float(made["slot_length_mm"][0])


# Of 300 mm that move 6, most 8: 150 apart 3 mm and most 4; five holes 60 apart: two of them beside the fixed middle one.
def test_a_slot_holds_the_shank_and_what_the_wood_moves_by_hand():
    assert slotted(150.0) == (0, 5 + 4 + 2)
    made = slotted(60.0, swing=12.0, most=16.0)
    assert made == pytest.approx((0, 5 + 2 * 0.2 * 16 + 2))
    assert slotted(150.0, swing=4.0) == (1, 0)
    assert slotted(150.0, in_a_row="yes") == (1, 0)
    assert slotted(150.0, family="nail") == (1, 0)
    needed, length = slotted(150.0, swing=np.nan)
    assert needed == -1
    assert np.isnan(length)


# Index of the older military table as trade pages repeat it (data/tables/metals.csv): steel 0.85 V, zinc on it 1.25 V.
@pytest.mark.parametrize(
    ("metal", "coat", "volts"),
    [
        ("steel", "none", 0.85),
        ("steel", "polymer coated", 0.85),
        ("steel", "hot-dip galvanized", 1.25),
        ("steel", None, np.nan),
        ("copper", "none", 0.4),
        ("copper", None, 0.4),
    ],
)
def test_the_surface_of_coated_steel_is_zinc(metal, coat, volts):
    columns = [of(JOINTS[name], word) for name, word in (("fastener_metal", metal), ("coating_kind", coat))]  # fmt: skip
    assert surface_index_v(*columns, KNOWN.table("metals"))[0] == pytest.approx(volts, nan_ok=True)


@pytest.mark.parametrize(
    ("exposure", "detail", "lies", "told"),
    [
        ("weather", "open", "flat", "flat open"),
        ("weather", "lapped", "upright", "upright lapped"),
        ("sheltered", "open", "flat", "sheltered"),
        ("indoor", "open", "flat", None),
        (None, "open", "flat", None),
        ("weather", None, "flat", None),
        ("weather", "open", None, None),
    ],
)
def test_how_rain_reaches_a_part(exposure, detail, lies, told):
    columns = [
        of(PARTS[name], word)
        for name, word in (("worst_exposure", exposure), ("detail", detail), ("lies", lies), ("role", "board"))
    ]
    names = PARTS["rain_situation"].values
    assert rain_situation(*columns, KNOWN)[0] == (-1 if told is None else names.index(told))


# Sapwood takes up rain freely, heartwood hardly; treated stock that is easy to treat is permeable too (practice).
def test_how_freely_stock_takes_up_rain():
    wood, treated, hard = ("heart", "sap", "mixed", None, "heart"), ("none",) * 4 + ("preservative",), ("no",) * 5
    names = PARTS["wetting_group"].values
    told = wetting_group(
        of(PARTS["wood_part"], *wood),
        of(PARTS["treatment_kind"], *treated),
        of(PARTS["hard_to_treat"], *hard),
        KNOWN,
    )
    assert [names[at] if at >= 0 else None for at in told.astype(int)] == [
        "tight",
        "permeable",
        "mixed",
        None,
        "permeable",
    ]
