"""The year of a place and of a board, causes and needs, asked directly and worked by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from by_hand import COLORS, KNOWN, PROJECT, words, written
from gatepost.deriving import (
    corrosivity,
    derive,
    derive_only,
    engine,
    site,
)
from gatepost.deriving.board_year import board_year
from gatepost.deriving.reasons import Reasons, inputs
from gatepost.deriving.values import ManyWords, distinct
from gatepost.errors import InputError
from gatepost.library import OVERS
from gatepost.reading import read
from gatepost.review import review


def test_words_by_hand():
    told = words(COLORS, "blue", None, "red")
    assert told.known.tolist() == [True, False, True]
    assert told.is_in("blue", "green").tolist() == [True, False, False]
    assert told.is_in().tolist() == [False] * 3
    assert told.recode({"red": 4.0}, -9).tolist() == [-9, -9, 4]
    assert np.isnan(told.recode({"red": 4.0})).tolist() == [True, True, False]
    assert told.relabel(("blue", "red")).tolist() == [0, -1, 1]
    assert told.relabel(("x", "y"), {"blue": "y", "red": "z"}).tolist() == [1, -1, -1]
    with pytest.raises(ValueError, match="not in tuple"):
        told.is_in("black")


def test_many_words_by_hand():
    """Bits 1 red, 2 green, 4 blue."""
    told = ManyWords(np.array([0, 1, 2, 5, 6, 4]), COLORS)
    assert told.known.tolist() == [False, True, True, True, True, True]
    assert told.has("red").tolist() == [False, True, False, True, False, False]
    assert told.has("blue").tolist() == [False, False, False, True, True, True]
    assert told.worst.tolist() == [-1, 0, 1, 2, 2, 2]


@pytest.mark.parametrize("stretch", [1, 1 << 30])
def test_different_rows_in_the_order_they_first_come(stretch):
    """Also where the columns together span more than one whole number holds."""
    columns = [np.array([3, -1, 3, 3, -1]) * stretch, np.array([0, 2, 0, 1, 2]) * stretch, np.array([7])]
    kinds, place = distinct(columns)
    assert (kinds // [stretch, stretch, 1]).tolist() == [[3, 0, 7], [-1, 2, 7], [3, 1, 7]]
    assert place.tolist() == [0, 1, 0, 2, 1]
    kinds, place = distinct([np.array([], int), np.array([], int)])
    assert (kinds.shape, place.tolist()) == ((0, 2), [])


def test_facts_of_a_place_are_those_of_a_project_there(tmp_path):
    for where in ('{place: "Madison, WI", coast_km: 0.5}', "{place: Halmstad, so2_mg_m2_d: 30, chloride_mg_m2_d: 50}", "{place: Munich, coast_km: 300}"):  # fmt: skip
        facts = written(tmp_path, f"site: {where}\nparts:\n  - {{part: a, material: oak, exposure: weather}}\n")
        alone = site.facts_of_place(facts.project.site, KNOWN)
        assert {"scheffer_index", "decay_zone", "corrosivity", "corrosivity_zinc", "t_year_c", "steel_rate_um_y"} <= set(alone)  # fmt: skip
        for name, value in alone.items():
            whole = facts.whole[name].iloc[0]
            assert (value is None) == bool(pd.isna(whole)), name
            assert value is None or value == whole, name
            assert value is None or type(value) is (str if PROJECT[name].values else float), name


def test_a_place_of_which_nothing_is_known_has_no_air(tmp_path):
    facts = written(tmp_path, "site: Munich\nparts:\n  - {part: a, material: oak, exposure: weather}\n")
    nowhere = replace(facts.project.site, climate=type(facts.project.climate).unknown(), coast_km=None)
    assert set(site.facts_of_place(nowhere, KNOWN).values()) == {None}


@pytest.mark.parametrize(("index", "zone"), [(0, 0), (35, 0), (35.1, 1), (70, 1), (70.1, 2), (200, 2), (np.nan, -1)])
def test_zones_of_scheffer(index, zone):
    """Scheffer 1971 as it was read: to 35 low, to 70 moderate; later maps draw the line at 65. A value on a limit is the milder zone."""
    assert site.decay_zone(np.array([index]), KNOWN.table("scheffer_zones")).tolist() == [zone]


@pytest.mark.parametrize(("km", "name"), [(0, "C5"), (0.1, "C5"), (0.2, "C4"), (1, "C3"), (9, "C3"), (10, "C2"), (900, "C2"), (np.nan, None)])  # fmt: skip
def test_air_by_the_distance_to_the_sea(km, name):
    made = air(coast_km=km)
    assert told(made["corrosivity"]) == name
    assert [told(made[f"corrosivity_{metal}"]) for metal in corrosivity.LOSS_OF] == [name] * 4
    assert made["corrosivity_from"].tolist() == [-1 if name is None else corrosivity.COAST]


def told(codes):
    return PROJECT["corrosivity"].values[codes[0]] if codes[0] >= 0 else None


def air(coast_km=np.nan, so2=np.nan, chloride=np.nan, rates=(np.nan,) * 4):
    ones = [np.array([float(value)]) for value in (coast_km, so2, chloride, *rates)]
    return corrosivity.classes(*ones, KNOWN.table("corrosivity_by_coast"), KNOWN.table("metal_loss"), KNOWN)


@pytest.mark.parametrize(
    ("rates", "classes", "worst"),
    [
        # ISO 9223 table 2: steel 25-50 µm C3, zinc 0.7-2.1 C3, copper 0.6-1.3 C3, aluminium 0.6-2 g/m² C3 (and no C1).
        ((40, 1.5, 1.0, 1.0), ["C3"] * 4, "C3"), ((60, 1.5, 1.0, 1.0), ["C4", "C3", "C3", "C3"], "C4"), ((40, 5, 1.0, 1.0), ["C3", "C5", "C3", "C3"], "C5"), ((10, 0.3, 2, 1.0), ["C2", "C2", "C4", "C3"], "C4"),
        ((10, 0.3, 0.3, 8), ["C2", "C2", "C2", "C5"], "C2"), ((300, 0.3, 0.3, 0.3), ["CX", "C2", "C2", "C2"], "CX"), ((1, 0.05, 0.05, 0), ["C1", "C1", "C1", "C2"], "C1"), ((np.nan, 1.5, 1, 1), [None, "C3", "C3", "C3"], "C3"),
    ],
)  # fmt: skip
def test_air_by_the_deposits(rates, classes, worst):
    made = air(0.1, 10, 10, rates)
    assert [told(made[f"corrosivity_{metal}"]) for metal in corrosivity.LOSS_OF] == classes
    assert told(made["corrosivity"]) == worst
    assert made["corrosivity_from"].tolist() == [corrosivity.DEPOSITS]
    for half in (air(0.1, 10, rates=rates), air(0.1, chloride=10, rates=rates)):
        assert told(half["corrosivity"]) == "C5"
        assert half["corrosivity_from"].tolist() == [corrosivity.COAST]


def test_the_air_of_the_year_and_whether_the_formula_holds(tmp_path):
    """ISO 9223: -17.1 to 28.7 °C, 34 to 93 %, SO2 0.7 to 150.4 and chloride 0.4 to 760.5 mg/m² a day."""
    table = KNOWN.table("corrosion_response_range")
    asked = [(10, 80, 10, 10), (40, 80, 10, 10), (10, 10, 10, 10), (10, 80, 300, 10), (10, 80, 10, 2000), (10, 80, np.nan, 10), (10, 80, 10, np.nan), (np.nan, 80, 10, 10)]  # fmt: skip
    found = corrosivity.deposits_range(*np.array(asked, float).T, table)
    assert found.tolist() == [1, 2, 2, 2, 2, 0, 0, 2]
    facts = written(tmp_path, "site: Munich\nparts:\n  - {part: a, material: oak, exposure: weather}\n")
    means = corrosivity.year_means(facts.project.climate)
    assert means["t_year_c"] == pytest.approx(sum(facts.project.climate.t_mean_c) / 12)
    assert means["rh_year_pct"] == pytest.approx(sum(facts.project.climate.rh_pct) / 12)
    assert site.rain_days_year(facts.project.climate) == pytest.approx(sum(facts.project.climate.rain_days))


BOARD = "  - {{part: {name}, species: Norway spruce, product: lumber, wood_part: mixed, thickness: 22 mm, width: 100 mm, exposure: {exposure}, lies: flat, detail: open, role: board, finish: none}}\n"


def test_the_year_of_the_board_is_that_of_such_parts(tmp_path):
    rows = BOARD.format(name="a", exposure="sheltered") + BOARD.format(name="b", exposure="weather")
    facts = written(tmp_path, f"site: Munich\nunits: mm\nscheme: eu\nparts:\n{rows}")
    made = board_year(facts.project.climate, KNOWN)
    roofed, rained = facts.parts.iloc[0], facts.parts.iloc[1]
    assert (rained["rain_situation"], rained["wetting_group"]) == ("flat open", "mixed")
    for row, likely in ((roofed, made.sheltered), (rained, made.rained_on)):
        assert likely.shape == (12,)
        assert (row["mc_low_pct"], row["mc_high_pct"]) == pytest.approx((likely.min(), likely.max()))
        assert row["mc_mean_pct"] == pytest.approx(likely.mean())
    assert roofed["mc_low_pct_low"] == pytest.approx(made.low.min())
    assert rained["mc_high_pct_high"] == pytest.approx(made.high.max())
    assert (made.species, made.thickness_mm, made.width_mm) == ("Norway spruce", 22, 100)


LIST = """units: mm
parts:
  - {part: a, material: oak, exposure: weather, thickness: 40, width: 90}
  - {part: b, material: oak, thickness: 40}
  - {part: c, material: plywood, exposure: weather, width: 90}
joints:
  - {joint: j, part_a: a, part_b: b, method: screws}
  - {joint: k, part_a: c, part_b: a, method: screws}
  - {joint: l, part_a: b, part_b: zz, method: screws}
"""


@pytest.fixture
def reasons(tmp_path):
    facts = written(tmp_path, LIST)
    return Reasons(KNOWN, *facts.encoded)


@pytest.mark.parametrize(
    ("over", "name", "row", "wanted"),
    [
        # What the list leaves blank: b's exposure and width, c's thickness, each length, the site.
        ("parts", "worst_exposure", 1, {("parts", "exposure", 1)}), ("parts", "use_class", 1, {("parts", "exposure", 1)}), ("parts", "use_class", 2, {("parts", "thickness_mm", 2)}),
        ("parts", "thickness_mm", 2, {("parts", "thickness_mm", 2)}), ("project", "scheffer_index", 0, {("project", "climate", 0)}), ("project", "decay_zone", 0, {("project", "climate", 0)}),
        ("parts", "mc_high_pct", 0, {("project", "climate", 0)}), ("parts", "exposure", 1, {("parts", "exposure", 1)}),
        ("joints", "a_thickness_mm", 1, {("parts", "thickness_mm", 2)}), ("joints", "through_mm", 1, {("parts", "thickness_mm", 2)}), ("joints", "b_width_mm", 0, {("parts", "width_mm", 1)}),
        ("joints", "worse_exposure", 0, {("parts", "exposure", 1)}), ("joints", "worse_exposure", 2, {("parts", "exposure", 1)}), ("joints", "through_mm", 2, {("parts", "width_mm", 1)}),
        ("joints", "held_strain_permille", 0, {("joints", "contact_mm", 0), ("joints", "angle_deg", 0), ("parts", "grain", 1), ("parts", "width_mm", 1), ("parts", "exposure", 1), ("parts", "grain", 0)}),
    ],
)  # fmt: skip
def test_the_blank_cells_behind_a_fact(reasons, over, name, row, wanted):
    found = reasons.roots(over, name, row)
    assert len(set(found)) == len(found)
    if name == "held_strain_permille":
        assert {root for root in found if root[:2] in {one[:2] for one in wanted}} <= set(found)
        assert {("joints", "contact_mm", 0), ("parts", "exposure", 1), ("parts", "width_mm", 1)} <= set(found)
        assert all(over != "project" for over, _, _ in found)
    else:
        assert set(found) == wanted


def test_causes_are_masks_over_the_rows_that_ask(reasons):
    made = reasons.causes("joints", "worse_exposure")
    assert {way: here.tolist() for way, here in made.items() if here.any()} == {
        ("parts", "exposure", "a"): [False, False, True],
        ("parts", "exposure", "b"): [True, False, False],
    }
    assert reasons.causes("joints", "worse_exposure") is made
    every = np.arange(3)
    assert reasons.ends("joints", ("parts", "exposure", "a"), every).tolist() == [0, 2, 1]
    assert reasons.ends("joints", ("parts", "exposure", "b"), every).tolist() == [1, 0, -1]
    assert reasons.ends("joints", ("joints", "angle_deg", ""), every).tolist() == [0, 1, 2]
    assert reasons.ends("parts", ("project", "climate", ""), every).tolist() == [0, 0, 0]
    assert reasons.ends("joints", ("parts", "exposure", "b"), every[:0:-1]).tolist() == [-1, 0]
    assert reasons.unknown(("parts", "exposure")).tolist() == [False, True, False]
    assert reasons.unknown(("parts", "finish")).tolist() == reasons.tables["parts"].frame["finish"].isna().tolist()
    assert reasons.unknown(("parts", "species")).tolist() == [True] * 3
    assert reasons.unknown(("parts", "part")).tolist() == [False] * 3
    assert reasons.unknown(("project", "climate")).tolist() == [True]


def test_a_cause_is_named_by_the_side_of_the_joint_and_a_cell_of_the_project_by_none(reasons):
    """Joint j: all of its part a is told, so the site alone is wanting; k: a's thickness; l: width and exposure of a."""
    made = {way: here.tolist() for way, here in reasons.causes("joints", "a_mc_high_pct").items() if here.any()}
    assert made == {
        ("parts", "thickness_mm", "a"): [False, True, False],
        ("parts", "width_mm", "a"): [False, False, True],
        ("parts", "exposure", "a"): [False, False, True],
        ("project", "climate", ""): [True, False, False],
    }


def test_what_facts_rest_on():
    assert inputs(KNOWN, "parts", "width_mm") == (("parts", "width_mm"),)
    assert inputs(KNOWN, "joints", "a_width_mm") == (("parts", "width_mm"),)
    assert inputs(KNOWN, "parts", "worst_exposure") == (("parts", "exposure"),)
    assert inputs(KNOWN, "project", "decay_zone") == (("project", "climate"),)
    assert inputs(KNOWN, "joints", "penetration_found_mm") == (
        ("joints", "size_length_mm"), ("parts", "thickness_mm"), ("joints", "method"), ("joints", "fastener_kind"),
    )  # fmt: skip


def test_names_of_needs():
    register = KNOWN.register
    for over, need, wanted in (
        ("parts", "width_mm?", ("parts", "width_mm")), ("parts", "scheme", ("project", "scheme")), ("joints", "a_width_mm", ("parts", "width_mm")), ("joints", "b_width_mm?", ("parts", "width_mm")),
        ("joints", "worse_exposure", ("parts", "exposure")), ("project", "parts.role", ("parts", "role")), ("joints", "angle_deg", ("joints", "angle_deg")), ("joints", "scheme", ("project", "scheme")),
    ):  # fmt: skip
        assert engine.resolve(register, over, need) == wanted
    for over, need in (("parts", "a_width_mm"), ("joints", "c_width_mm"), ("joints", "a_nothing"), ("project", "width_mm")):  # fmt: skip
        with pytest.raises(InputError, match=f"columns.yaml: {over}: no fact is called {need}"):
            engine.resolve(register, over, need)


def test_a_wanted_fact_is_made_with_what_it_rests_on_and_no_more(tmp_path):
    facts = written(tmp_path, LIST)
    wanted = frozenset({("joints", "penetration_found_mm"), ("parts", "worst_exposure")})
    made = engine.closure(KNOWN, wanted)
    assert set(made) == {*wanted, ("joints", "fastened")}
    assert made.index(("joints", "fastened")) < made.index(("joints", "penetration_found_mm"))
    tables = derive_only(facts.project, wanted, KNOWN)
    for over, name in wanted:
        left, right = tables[OVERS.index(over)].get(name), facts.encoded[OVERS.index(over)].get(name)
        assert np.array_equal(left, right, equal_nan=right.dtype.kind == "f"), name
    assert "use_class" not in tables[0].kept


def test_facts_that_stand_are_not_made_again(tmp_path):
    facts = written(tmp_path, LIST)
    stands = {"scheffer_index": np.array([70.0]), "decay_zone": np.array([2]), "scheme": np.array([1])}
    made = derive(facts.project, whole=stands).whole
    assert (made["scheffer_index"].iloc[0], made["decay_zone"].iloc[0]) == (70, "high")
    assert made["scheme"].iloc[0] == facts.whole["scheme"].iloc[0]
    tables = derive_only(facts.project, frozenset({("project", "decay_zone")}), KNOWN, stands)
    assert tables[2].get("decay_zone").tolist() == [2]


def test_makers_take_what_the_register_names():
    """Every fact with a maker stands once in the list of makers, beside those that are made with it."""
    listed = [(column.over, column.name) for _, columns in engine.made_together(KNOWN) for column in columns]
    assert len(listed) == len(set(listed))
    assert set(listed) == {(over, c.name) for over in OVERS for c in KNOWN.register.facts[over].values() if c.derived and c.made_by}  # fmt: skip
    for path, columns in engine.made_together(KNOWN):
        assert {column.made_by for column in columns} == {path}
    joined = engine.joined_facts(KNOWN)
    assert {"parts_count", "any_ground", "any_glued"} <= set(joined)
    assert not {"scheffer_index", "scheme"} & set(joined)


def test_a_known_part_of_a_joint_is_not_asked_for_again(tmp_path):
    """The joint waits for b's exposure; a's is written."""
    path = tmp_path / "project.yaml"
    path.write_text(LIST, encoding="utf-8")
    asked = {one.column: one.rows for one in review(read(path)).missing if one.over == "parts"}
    assert (asked["exposure"], asked["width_mm"], asked["thickness_mm"]) == ((1,), (1,), (2,))
