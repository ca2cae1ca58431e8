"""Makers of facts asked directly: small tables worked by hand, and one fact reached by two roads."""

from __future__ import annotations

import inspect
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from gatepost import corrosion
from gatepost.deriving import corrosion as corrosion_facts
from gatepost.deriving import (
    corrosivity,
    derive,
    derive_only,
    engine,
    exposure_index,
    fastening,
    material,
    project,
    site,
    treatment,
)
from gatepost.deriving.board_year import board_year
from gatepost.deriving.life import dose_life, dose_lm_life, service_life
from gatepost.deriving.reasons import Reasons, inputs
from gatepost.deriving.values import ManyWords, Texts, Words, distinct
from gatepost.deriving.wetness import drying
from gatepost.errors import InputError
from gatepost.library import OVERS, library
from gatepost.reading import read
from gatepost.review import review

KNOWN = library()
PARTS, JOINTS, PROJECT = (KNOWN.register.facts[over] for over in ("parts", "joints", "project"))
COLORS = ("red", "green", "blue")


def words(values, *chosen):
    return Words(np.array([values.index(word) if word else -1 for word in chosen], int), tuple(values))


def of(column, *chosen):
    return words(column.values, *chosen)


def written(folder, text, **settings):
    path = folder / "project.yaml"
    path.write_text(text, encoding="utf-8")
    return derive(read(path, **settings))


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
    assert reasons.rows("joints", ("parts", "exposure", "a")).tolist() == [0, 2, 1]
    assert reasons.rows("joints", ("parts", "exposure", "b")).tolist() == [1, 0, -1]
    assert reasons.rows("joints", ("joints", "angle_deg", "")).tolist() == [0, 1, 2]
    assert reasons.rows("parts", ("project", "climate", "")).tolist() == [0, 0, 0]
    assert reasons.unknown(("parts", "exposure")).tolist() == [False, True, False]
    assert reasons.unknown(("parts", "part")).tolist() == [False] * 3
    assert reasons.unknown(("project", "climate")).tolist() == [True]


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


ANY = [
    (
        "any_outdoors",
        "exposure",
        [("weather",), ("ground",), ("fresh water",), ("salt water",)],
        [("indoor",), ("sheltered",)],
    ),
    ("any_ground", "exposure", [("ground",)], [("weather",), ("fresh water",)]),
    ("any_treated", "treatment_kind", [("preservative",)], [("none",)]),
    ("any_sensitizer", "dust_hazard", [("sensitizer",), ("cancer",)], [("none listed",)]),
    ("any_bearing_people", "bears_people", [("yes",)], [("no",)]),
    ("any_guard", "role", [("guard",)], [("handrail",), ("post",)]),
    ("any_handrail", "role", [("handrail",), ("guard",)], [("post",)]),
    ("any_plaything", "role", [("plaything",)], [("post",)]),
    ("any_oil_finish", "finish_kind", [("oil",)], [("none",)]),
]


@pytest.mark.parametrize(("name", "column", "yes", "no"), ANY)
def test_does_any_part(name, column, yes, no):
    ask = getattr(project, name)
    for chosen in yes:
        assert ask(of(PARTS[column], no[0][0], *chosen, None)).tolist() == [0], chosen
    for chosen in [*no, (None,), ()]:
        assert ask(of(PARTS[column], *chosen)).tolist() == [1], chosen


def test_the_rest_of_the_whole():
    kinds = PARTS["treatment_kind"]
    bits = ManyWords(np.array([0, 1, 2, 3]), PARTS["worked"].values)
    assert PARTS["worked"].values[0] == "none"
    for code, kind, answer in ((0, "preservative", 1), (1, "preservative", 1), (2, "preservative", 0), (2, "none", 1)):  # fmt: skip
        one = ManyWords(bits.bits[code : code + 1], bits.values)
        assert project.any_treated_worked(of(kinds, kind), one).tolist() == [answer]
    least = KNOWN.table("constants").number("short_stock_mm", "value")
    for length, wood, answer in ((least - 1, "yes", 0), (least, "yes", 1), (least - 1, "no", 1), (np.nan, "yes", 1)):
        asked = project.any_short_stock(np.array([length]), of(PARTS["is_wood"], wood), KNOWN.table("constants"))
        assert asked.tolist() == [answer]
    finishes, glues = KNOWN.table("finishes"), KNOWN.table("glues")
    for kind, row in finishes.index.items():
        film = finishes.words("film")[row] == "yes"
        assert project.any_film_finish(of(PARTS["finish_kind"], kind), finishes).tolist() == [0 if film else 1]
    for kind, row in glues.index.items():
        harsh = glues.words("sensitizer")[row] == "yes"
        assert project.any_resin(of(JOINTS["glue_kind"], kind), glues).tolist() == [0 if harsh else 1]
    assert project.any_glued(of(JOINTS["glued"], "no", "yes")).tolist() == [0]
    assert project.any_glued(of(JOINTS["glued"], "no", None)).tolist() == [1]
    assert project.parts_count(Texts(np.array(["a", "b", None], object))).tolist() == [3]
    assert project.nominal_size_count(of(PARTS["nominal_size"], "yes", "no", "yes", None)).tolist() == [2]


def test_onset_by_hand():
    """A critical dose of 325 days (simplified model), twice that for wood that resists twice; slow years on the high end."""
    table, kinds = KNOWN.table("dose_model"), PARTS["treatment_kind"]
    critical = table.number("simple_critical_days", "value")
    made = dose_life(np.array([1.0, 2.0, 1.0]), *(np.full(3, days) for days in (20.0, 10.0, 40.0)), of(kinds, "none", "none", "preservative"), table)  # fmt: skip
    assert made["life_dose_likely_years"][:2] == pytest.approx([critical / 20, critical / 10])
    assert made["life_dose_low_years"][:2] == pytest.approx([critical / 40, critical / 20])
    assert made["life_dose_high_years"][:2] == pytest.approx([critical / 10, critical / 5])
    assert np.isnan([years[2] for years in made.values()]).all()
    lm = dose_lm_life(*(np.full(3, days) for days in (20.0, 10.0, 40.0)), of(PARTS["wood_part"], "sap", "heart", "sap"), of(kinds, "none", "none", "preservative"), table)  # fmt: skip
    low, likely, high = (lm[f"life_dose_lm_{end}_years"] for end in ("low", "likely", "high"))
    assert high[0] == pytest.approx(2 * likely[0]) == pytest.approx(4 * low[0])
    assert np.isnan([low[1:], likely[1:], high[1:]]).all()


def test_models_are_named_where_they_speak():
    bands = {name: np.array(value, float) for name, value in {
        "life_stakes_low_years": [10, np.nan, np.nan, 10], "life_stakes_high_years": [15, np.nan, np.nan, 15],
        "life_crossbrace_low_years": [np.nan, 22, np.nan, 22],
    }.items()}  # fmt: skip
    made = service_life(of(PARTS["product"], *["lumber"] * 4), KNOWN.table("products"), **bands)
    assert list(made["life_models"]) == [
        "stakes in the ground", "cross-brace test of 22 years", None, "stakes in the ground; cross-brace test of 22 years",
    ]  # fmt: skip
    assert made["life_known"].tolist() == [0, 0, 1, 0]
    assert made["life_open"].tolist() == [1, 0, 1, 1]
    assert made["models_disagree"].tolist() == [1, 1, -1, 1]


@pytest.mark.parametrize(("low", "high", "resists", "wanted"), [(1, 2, 3, "yes"), (1, 2, 2, "near"), (1, 3, 2, "near"), (2, 3, 2, "no"), (3, 4, 2, "no")])  # fmt: skip
def test_exposure_below_resistance(low, high, resists, wanted):
    ones = [np.array([float(value)]) for value in (low, high, resists)]
    made = exposure_index.accepted(*ones)
    assert (PARTS["index_accepted"].values[made["index_accepted"][0]], made["index_known"].tolist()) == (wanted, [0])
    for blank in range(3):
        some = [np.array([np.nan]) if at == blank else one for at, one in enumerate(ones)]
        made = exposure_index.accepted(*some)
        assert (made["index_accepted"].tolist(), made["index_known"].tolist()) == ([-1], [1])


def test_weeks_of_drying_by_hand(tmp_path):
    """The time grows with the square of the thickness, and with the logarithm of the points to lose over two."""
    climate = written(tmp_path, "site: Munich\nparts:\n  - {part: a, material: oak, exposure: weather}\n").project.climate  # fmt: skip
    tables = KNOWN.table("constants"), KNOWN.table("rain_model")

    def weeks(thick, start, mean=12.0, gravity=0.4):
        made = drying(*(np.array([v]) for v in (thick, 300.0, start, mean, gravity)), climate, *tables)
        return made["dry_weeks_low"][0], made["dry_weeks_high"][0]

    assert weeks(25.0, 13.0) == weeks(25.0, 14.0) == weeks(25.0, 5.0) == (0, 0)
    low, high = weeks(25.0, 20.0)
    assert 0 < low < high
    assert weeks(50.0, 20.0) == pytest.approx((4 * low, 4 * high))
    assert weeks(25.0, 20.0, gravity=0.7)[0] > low
    assert weeks(25.0, 20.0, gravity=0.6)[0] == low


def test_every_maker_is_asked_with_its_own_names():
    for path, columns in engine.made_together(KNOWN):
        takes = inspect.signature(engine._maker(path)).parameters
        if any(one.kind is inspect.Parameter.VAR_KEYWORD for one in takes.values()):
            continue
        needs = {need.removesuffix("?").removeprefix("table:").replace(".", "_") for need in columns[0].needs}
        assert set(takes) - {"known"} == needs, path


STOCK = np.array([10, 11, 12]), np.array([2.0, 2.0, 2.0]), np.array([30.0, 40.0, 50.0])


@pytest.mark.parametrize(
    ("family", "through", "hold", "row", "how"),
    [
        # Sizes 2 mm thick, 30, 40 and 50 long; 10 diameters hold in full, 7 in part; a point stays 2 mm inside.
        ("nail", 15, 40, 11, fastening.FULL),  # from 35 to 53: 40
        ("nail", 20, 40, 11, fastening.FULL),  # from 40
        ("nail", 15, 27, 11, fastening.FULL),  # to 40
        ("nail", 25, 20, 11, fastening.PART),  # full from 45, in part from 39 to 43
        ("nail", 26, 30, 12, fastening.FULL),  # from 46 to 54
        ("nail", 15, 17, 10, fastening.PART),  # from 29 to 30
        ("nail", 26, 16, 11, fastening.PART),  # from 40 to 40
        ("nail", 20, 18, 11, fastening.THROUGH),  # in part from 34 to 36: none; through a thin one from 40
        ("staple", 20, 18, 11, fastening.THROUGH),
        ("screw", 20, 18, -1, fastening.NOT),
        ("nail", 20, 20, -1, fastening.NOT),  # a piece of 20 is not thin
        ("nail", 60, 40, -1, fastening.NOT),
        ("bolt", 20, 17, 11, fastening.FULL),  # 37 and 1.5 diameters
        ("bolt", 21, 17, 12, fastening.FULL),
        ("bolt", 40, 17, -1, fastening.NOT),
    ],
)
def test_the_shortest_size_that_holds(family, through, hold, row, how):
    told = [np.array([[float(value)]]) for value in (through, hold, 2, 2, 10)]
    found, degree = fastening._Stock(*STOCK, family).fit(*told)
    assert (found.tolist(), degree.tolist()) == ([row], [how])
    for least, most in ((2.1, 3), (1, 1.9)):
        told[2:4] = np.array([[least]]), np.array([[most]])
        assert fastening._Stock(*STOCK, family).fit(*told)[0].tolist() == [-1]


def test_the_gauge_in_the_middle_goes_before_the_shorter_length_and_an_empty_shop_sells_nothing():
    told = [np.array([[15.0], [15.0]]), np.array([[60.0], [60.0]]), *(np.full((2, 1), v) for v in (2.0, 3.0, 5.0))]
    stock = fastening._Stock(np.array([7, 8, 9]), np.array([2.0, 2.5, 3.0]), np.array([40.0, 50.0, 40.0]), "nail")
    assert stock.fit(*told)[0].tolist() == [8, 8]
    none = fastening._Stock(np.array([], int), np.array([]), np.array([]), "nail")
    found, how = none.fit(*told)
    assert (found.tolist(), how.tolist()) == ([-1, -1], [fastening.NOT] * 2)


def test_shank_root_and_length_as_written_else_as_advised():
    """A #6 screw of 1 in: shank 3.51, root 2.87 (Wood Handbook table 8-9)."""
    table, sizes = KNOWN.table("fastener_stock"), JOINTS["advised_size"]
    blank = np.nan
    made = fastening.used(
        of(JOINTS["fastener_family"], "screw", "screw", "screw", "nail", "nail"),
        np.array([blank, 5, 5, 4, blank]), np.array([blank, 60, 60, blank, blank]),
        of(sizes, "#6 x 1 in", "#6 x 1 in", None, None, None), table,
    )  # fmt: skip
    assert made["shank_mm"] == pytest.approx([3.51, 5, 5, 4, blank], nan_ok=True)
    assert made["root_mm"] == pytest.approx([2.87, 5 * 2.87 / 3.51, 3.25, 4, blank], nan_ok=True)
    assert made["fastener_length_mm"] == pytest.approx([25.4, 60, 60, blank, blank], nan_ok=True)


def test_zinc_lengthens_the_life_of_steel_alone():
    """A 1 mm shank in air of C5, steel with and without zinc, copper with a zinc that does not belong to it."""
    metals, names = ("steel", "steel", "copper", "copper"), ("constants", "metal_loss", "loss_exponents", "corrosivity_by_exposure")  # fmt: skip
    zinc, classes, blank = np.array([0.0, 10, 0, 10]), [of(PROJECT["corrosivity"], "C5")] * 2, np.array([np.nan])
    made = corrosion_facts.metal_life(
        of(JOINTS["fastener_metal"], *metals), np.full(4, 1.0), of(PARTS["exposure"], *["weather"] * 4),
        classes[0], blank, classes[1], blank, zinc, zinc, zinc, *[of(PARTS["wood_attacks_metal"], *["no"] * 4)] * 2,
        *(KNOWN.table(name) for name in names),
    )  # fmt: skip
    for end in ("low", "likely", "high"):
        years = made[f"metal_life_{end}_years"]
        assert years[1] == min(years[0] + 10, corrosion.LONGEST_YEARS)
        assert years[2] == years[3]
        assert (years < corrosion.LONGEST_YEARS).all()
    losses, exponents, constants = (KNOWN.table(name) for name in ("metal_loss", "loss_exponents", "constants"))
    depth = corrosion.ring_depth_um(1.0, constants.number("shank_loss_share", "value"))
    for at, metal in ((0, "steel"), (2, "copper")):
        row = [i for i, one in enumerate(losses.records()) if (one["metal"], one["corrosivity"]) == (metal, "C5")]
        years = corrosion.years_until(depth, losses.numbers("likely_um_y")[row], exponents.number(metal, "exponent"))
        assert made["metal_life_likely_years"][at] == pytest.approx(min(float(years[0]), corrosion.LONGEST_YEARS))


def test_a_known_part_of_a_joint_is_not_asked_for_again(tmp_path):
    """The joint waits for b's exposure; a's is written."""
    path = tmp_path / "project.yaml"
    path.write_text(LIST, encoding="utf-8")
    asked = {one.column: one.rows for one in review(read(path)).missing if one.over == "parts"}
    assert (asked["exposure"], asked["width_mm"], asked["thickness_mm"]) == ((1,), (1,), (2,))


def test_a_core_that_resists_by_hand():
    """Two shells of 10 mm leave nothing of 20 mm where the stick is incised; not said if it is: maybe."""
    many = [("yes", 20.0, "no"), ("yes", 20.1, "yes"), (None, 20.0, "maybe"), ("no", 20.0, "yes"), (None, 20.1, "yes")]
    incised, thick, wanted = zip(*many, strict=True)
    made = treatment.untreated_core(
        of(PARTS["treatment_kind"], *["preservative"] * 5), of(PARTS["treated_how"], *["pressure"] * 5), of(PARTS["product"], *["lumber"] * 5),
        of(PARTS["incising_needed"], *["yes"] * 5), of(PARTS["incised"], *incised), of(PARTS["wood_part"], *["heart"] * 5), np.array(thick), np.full(5, 10.0),
    )  # fmt: skip
    assert [PARTS["untreated_core"].values[code] for code in made] == list(wanted)


def test_no_mark_is_no_category_where_the_preservative_has_one():
    table, marks = KNOWN.table("preservatives"), PARTS["treatment_mark"]
    name, most = next((n, table.words("most_category")[i]) for n, i in table.index.items() if table.words("most_category")[i])  # fmt: skip
    made = material.treatment_category(
        treatment_kind=of(PARTS["treatment_kind"], "preservative"), preservative=of(PARTS["preservative"], name),
        treatment_mark=of(marks, marks.values[0]), retention_kg_m3=np.array([np.nan]), treated_how=of(PARTS["treated_how"], None),
        preservatives=table, retentions=KNOWN.table("retentions"), modified_wood=KNOWN.table("modified_wood"),
    )  # fmt: skip
    assert marks.values[made[0]] == most
