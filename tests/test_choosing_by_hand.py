"""Single steps of choosing, worked by hand or asked of the review by writing the list out."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pandas as pd
import pytest

from choosing_cases import KNOWN, Lists
from gatepost.choosing import blanks, find_ways
from gatepost.choosing.blanks import _default
from gatepost.choosing.changes import _by
from gatepost.choosing.choose import _ranked
from gatepost.choosing.costs import _coat_area, _spread, coat_every, over_years
from gatepost.choosing.joint_costs import _known
from gatepost.choosing.joints import OFFERED, joint_offers
from gatepost.choosing.offers import joint_singles, part_offers
from gatepost.choosing.pairs import NEVER, Pairs
from gatepost.choosing.teach import _named, compare
from gatepost.choosing.years_ahead import marks, spent, turn
from gatepost.deriving import derive
from gatepost.encode import typed
from gatepost.reading import read
from gatepost.review import review
from test_choosing_small import JOINT, POST, RAIL, RULES, SITE, SMALL, after_ways, chosen, costs, graves, lives, written


def finished(**words):
    frame = {"finish_kind": "paint", "surface": "planed", "is_wood": "yes", "upkeep_years": np.nan} | words
    return pd.DataFrame([frame])


# Paint lasts 10 to 20 years (data/tables/finishes.csv with its source); what the client keeps counts instead.
def test_years_between_coats_are_the_published_life_unless_the_client_keeps_others():
    assert {end: value.tolist() for end, value in coat_every(finished(), KNOWN).items()} == {
        "low": [10],
        "likely": [15],
        "high": [20],
    }
    assert {value[0] for value in coat_every(finished(upkeep_years=4.0), KNOWN).values()} == {4}
    assert {value[0] for value in coat_every(finished(upkeep_years=0.0), KNOWN).values()} == {10, 15, 20}
    for bare in ({"finish_kind": "none"}, {"is_wood": "no"}):
        assert {value[0] for value in coat_every(finished(**bare), KNOWN).values()} == {np.inf}


# 7.4 to 9.8 and 3.7 to 7.4 m2 a litre (data/tables/finish_cover.csv with its sources).
def test_a_litre_covers_the_middle_of_its_range():
    assert _spread(finished(), KNOWN)[0] == pytest.approx(8.6)
    assert _spread(finished(surface="rough"), KNOWN)[0] == pytest.approx(5.55)
    assert np.isnan(_spread(finished(finish_kind="none"), KNOWN)[0])


# On a calendar of 25 years a part of 20 years is bought twice; one of no known end, but of some life, perhaps once.
def test_the_least_that_is_spent_by_hand():
    assert spent(costs(100.0), lives(5, 10, 20), 25)["low"][-1] == 200
    assert spent(costs(100.0), lives(5, 10, np.nan), 25)["low"][-1] == 100
    assert np.isnan(spent(costs(100.0), lives(0, np.nan, np.nan), 25)["low"][-1])


# 264 against 100 and 20 years of care at 5: 64 dearer, a quarter of its material to the next whole twentieth.
def test_the_fall_of_a_price_that_turns_the_order_counts_the_last_year():
    told = turn(1, [costs(100.0, care=5.0), costs(264.0)], [lives(20, 20, 20)] * 2, 20)
    assert (told.cheaper, told.first_cheaper, told.fall_pct) == (0, 0, 25)
    told = turn(1, [costs(100.0, care=5.0), costs(160.0, care=5.0)], [lives(20, 20, 20)] * 2, 20)
    assert told.fall_pct == 40  # 60 of 160 are 37.5 %
    same = turn(1, [costs(100.0)] * 2, [lives(20, 20, 20)] * 2, 20)
    assert (same.cheaper, same.first_cheaper) == (None, None)


# Bought three times in 30 years for 10 each; the long life with one coat of 30 would cost 40, so 30 is the low end too.
def test_the_low_end_is_never_above_the_likely_one():
    made = {name: np.array([value]) for name, value in (("first", 10.0), ("care", 0.0), ("coat", 30.0))}
    made |= {f"coat_every_{end}": np.array([years]) for end, years in (("low", 12.0), ("likely", 15.0), ("high", 20.0))}
    part = pd.DataFrame([dict(lives(5, 10, 40)) | {"life_years": 30.0}])
    out = over_years(made, part)
    assert [float(out[f"wanted_{end}"][0]) for end in ("low", "likely", "high")] == [30, 30, 60]


def test_a_comparison_needs_another_material(tmp_path):
    project = read(SMALL.write(tmp_path))
    with pytest.raises(Exception, match="one or two"):
        compare(project, "rail", [], RULES, KNOWN)


def test_sizes_are_told_in_sixteenths_where_an_inch_list_has_them():
    assert _by([19.05, 139.7], "in") == "3/4 x 5-1/2 in"
    assert _by([19.1, 139.7], "in") == "3/4 x 5-1/2 in"
    assert _by([20.0, 139.7], "in") == "20 x 139.7 mm"
    assert _by([45.0, 95.0], "mm") == "45 x 95 mm"
    assert _by([38.1], "mm") == "38.1 mm"


# Outside choosing: two choices of the parts are written as parts, each option of the joint as a joint of them.
@pytest.mark.parametrize("picks", [(-1, -1), (2, 5), (40, 0)])
def test_a_joint_of_two_choices_takes_what_the_review_lets_pass(picks, tmp_path):
    _, made = chosen(SMALL, tmp_path)
    ways, base = made.ways, after_ways(SMALL, made)
    pairs = Pairs(ways.after, RULES, ways.part_offers, ways.joint_offers, ways.joint_rows, made.ranked)
    options = [made.ranked[row].options for row in (0, 1)]
    places = [pick % len(mine) for pick, mine in zip(picks, options, strict=True)]
    parts = [base.parts[row] | written(options[row][places[row]], ways.part_offers) for row in (0, 1)]
    every = pairs.options[0]
    rows = [base.joints[0] | written(way, ways.joint_offers) for way in every]
    holds, waits = graves(review(read(Lists(SITE, parts, rows).write(tmp_path / "written")), RULES))
    own = graves(review(read(base.write(tmp_path / "base")), RULES))[1].get(("joints", 0), set())
    good = {
        way
        for at, way in enumerate(every)
        if not holds.get(("joints", at)) and not waits.get(("joints", at), set()) - own
    }
    assert set(pairs.passing(0, *places)) == good
    assert (pairs(0, *places) == NEVER) == (not good)
    effort = {way: float(ways.joint_offers.effort[list(way)].sum()) for way in every}
    for one, other in product(every, repeat=2):
        assert (pairs.cost(0, one) < pairs.cost(0, other)) == (effort[one] < effort[other])


# Sheet metal is no choice of wood: it stays, and its joint is chosen with the post's.
def test_a_part_that_is_no_wood_stays_and_its_joint_is_chosen(tmp_path):
    plate = {"part": "plate", "material": "aluminium", "thickness": "1/8", "width": "4", "length": "4", "exposure": "weather"}  # fmt: skip
    joint = JOINT | {"joint": "plate on post", "part_b": "plate", "size": "#10 x 1 1/2"}
    _, made = chosen(Lists(SITE, [POST, RAIL, plate], [JOINT, joint]), tmp_path)
    assert set(made.ranked) == {0, 1}
    assert set(made.joints) == {0, 1}


# A shop that has red oak alone cannot mend a post of red oak in the ground: what stands in the way is what the review says.
def test_what_blocks_a_part_is_named(tmp_path):
    lists = Lists(SITE, [POST, RAIL], [JOINT], shelf=("red oak",))
    path = lists.write(tmp_path)
    holds, _ = graves(review(read(path), RULES))
    [way] = [way for way in find_ways(derive(read(path)), RULES).parts if way.row == 0]
    assert way.offers == ()
    assert "non-durable-wood-in-ground" in way.blocked_by
    assert set(way.blocked_by) < holds["parts", 0]  # a cap over the end is tried and clears the rest


# Screws may become slotted screws, bolts, lag screws or nails, never again screws; each with a fastener that is driven so.
def test_other_ways_of_joining_are_offered_with_their_own_fasteners(tmp_path):
    facts = derive(read(SMALL.write(tmp_path)))
    offers, rows = joint_offers(facts)
    told = [offers.writes[at] for at in rows[0] if offers.column[at] == "method" and "size" in offers.writes[at]]
    assert {"bolts", "nails", "lag screws"} <= {cells["method"] for cells in told} <= {*OFFERED} - {"screws"}
    again = derive(read(Lists(SITE, [POST, RAIL], [JOINT | cells for cells in told]).write(tmp_path / "written")))
    methods, families = (KNOWN.table("fastener_methods").words(name) for name in ("method", "family"))
    family = dict(zip(methods, families, strict=True))
    assert again.joints["method"].tolist() == [cells["method"] for cells in told]
    assert again.joints["fastener_family"].tolist() == [family[cells["method"]] for cells in told]


def test_a_material_is_named_with_what_other_columns_tell_of_it(tmp_path):
    rail = RAIL | {"material": "southern pine", "treatment": "MCA UC4A", "wood_part": "sapwood", "grade": "none"}
    project = read(Lists(SITE, [POST, rail], [JOINT]).write(tmp_path))
    sides = compare(project, "rail", ["southern pine"], RULES, KNOWN).sides
    assert sides[0].choice == "southern pine, MCA UC4A, sapwood"
    assert sides[1].choice == "southern pine"


def test_options_of_a_part_best_first_and_the_row_as_it_is_where_none_holds():
    """Part 0: the second costs least, the third is rejected; part 3: both are rejected."""
    options = [(), (4,), (5,), (), (4,)]
    made = _ranked(
        np.array([0, 0, 0, 3, 3]), options, np.array([True, True, False, False, False]), np.array([2.0, 1, 0, 7, 6])
    )
    assert {row: one.options for row, one in made.items()} == {0: [(4,), ()], 3: [()]}
    assert {row: one.at.tolist() for row, one in made.items()} == {0: [1, 0], 3: [3]}
    assert {row: one.costs.tolist() for row, one in made.items()} == {0: [1, 2], 3: [7]}


def test_the_face_to_coat_by_hand():
    """Two sticks of 20 x 100 x 1000 mm: all faces 2 x 0.244 m2, the front 2 x 0.1, and unknown where it is not said which."""
    row = {"qty": 2.0, "thickness_mm": 20.0, "width_mm": 100.0, "length_mm": 1000.0}
    parts = pd.DataFrame([{**row, "finish_faces": faces} for faces in ("all", "front", None)])
    assert _coat_area(parts) == pytest.approx([0.488, 0.2, np.nan], nan_ok=True)


def test_a_blank_takes_the_first_fact_that_tells_it():
    frame = pd.DataFrame({"role": ["post", "rail", "post"], "exposure": ["ground", "ground", "weather + ground"]})
    column = next(one for one in KNOWN.register.facts["parts"].values() if one.blank == "unknown" and not one.derived)
    told = {"role": {"post": "of posts"}, "exposure": {"ground": "of the ground"}}
    assert _default(frame, column, told).tolist() == ["of posts", "of the ground", "of posts"]
    assert _default(frame, column, {"role": {"step": "of steps"}}).tolist() == [None] * 3


@pytest.mark.parametrize(
    ("blank", "kind", "values", "default", "rest"),
    [
        ("default", "word", ("none", "open"), "open", "open"), ("none", "words", ("oil",), None, "none"), ("none", "word", ("none", "oil"), None, "none"),
        ("none", "word", ("oil",), None, None), ("unknown", "word", ("none", "oil"), None, None), ("unknown", "words", ("oil",), None, None),
    ],
)  # fmt: skip
def test_what_a_blank_is_taken_for_where_nothing_else_tells(blank, kind, values, default, rest):
    column = replace(KNOWN.register.facts["parts"]["role"], blank=blank, kind=kind, values=values, default=default)
    frame = pd.DataFrame({"role": ["post", None]})
    assert _default(frame, column, {"role": {"post": "told"}}).tolist() == ["told", rest]


def test_a_blank_hangs_on_what_another_blank_was_taken_for(monkeypatch):
    """Row 0: the role is changed, so the place is taken anew, and so the detail. Row 1: the place is changed. Row 2: nothing.
    Row 3: the place is written. Row 4: the detail is changed itself."""
    told = {"exposure": {"role": {"post": "ground"}}, "detail": {"exposure": {"ground": "trapped", "weather": "open"}}}
    monkeypatch.setattr(blanks, "_defaults", lambda over, known: told)
    words = {name: KNOWN.register.facts["parts"][name] for name in ("role", "exposure", "detail")}
    frame = pd.DataFrame({
        "role": typed(words["role"], ["post", "rail", "post", "post", "post"]),
        "exposure": typed(words["exposure"], ["cover", "weather", "cover", "cover", "weather"]),
        "detail": typed(words["detail"], ["lapped"] * 5),
    })  # fmt: skip
    said = {"role": np.array([True, False, False, True, False]), "exposure": np.array([False, True, False, False, True]), "detail": np.array([False] * 4 + [True])}  # fmt: skip
    blank = pd.DataFrame({"role": [False] * 5, "exposure": [True, True, True, False, True], "detail": [True] * 5})
    made = blanks.refilled(frame, blank, said, "parts", KNOWN)
    assert made["exposure"].tolist() == ["ground", "weather", "cover", "cover", "weather"]
    assert made["detail"].tolist() == ["trapped", "open", "lapped", "lapped", "lapped"]
    assert made["role"].tolist() == frame["role"].tolist()


def test_a_gap_is_offered_as_it_is_worked_out_for_the_part(tmp_path):
    """Up to the next half millimetre, and to the part that it was worked out for alone."""
    facts = derive(read(SMALL.write(tmp_path)))
    parts = facts.parts.assign(gap_mm=[np.nan, 2.2], gap_mm_high=[4.0, np.nan])
    offers, rows = part_offers(replace(facts, parts=parts))
    gaps = offers.rows_of("gap").tolist()
    own = [at for at in gaps if any(at in rows[row] for row in (0, 1)) and not all(at in rows[row] for row in (0, 1))]
    assert [offers.writes[at] for at in own] == [{"gap": "2.5 mm"}, {"gap": "4 mm"}]
    assert [[row for row in (0, 1) if at in rows[row]] for at in own] == [[1], [0]]
    assert offers.effort[own].tolist() == [1, 1]
    assert {len(made) for made in (offers.frame, offers.writes, offers.effort, offers.sort, offers.common)} == {
        len(offers.column)
    }
    assert offers.sort[own].tolist() == ["", ""]
    assert offers.common[own].tolist() == [0, 0]
    assert offers.frame[KNOWN.register.written["parts"]["gap"].name].iloc[own].tolist() == [2.5, 4]


def test_a_way_of_joining_without_metal_is_written_without_any(tmp_path):
    made = joint_singles(read(SMALL.write(tmp_path)), KNOWN)
    for at, cells in enumerate(made.writes):
        rest = {name: text for name, text in cells.items() if name != made.column[at]}
        assert rest == ({"fastener": "none", "coating": "none"} if made.column[at] == "method" else {})
    assert "method" in made.column


def test_coats_due_without_a_life_are_those_of_the_years_wanted():
    for life in (np.nan, 0.0):
        made = marks(pd.Series({"service_life_likely_years": life}), 4.0, 15.0)
        assert (made.coats, made.replaced) == ([4, 8, 12], None)
    made = marks(pd.Series({"service_life_likely_years": 10.0}), 4.0, 15.0)
    assert (made.coats, made.replaced) == ([4, 8, 14], [10])


@pytest.mark.parametrize(
    ("told", "named"),
    [
        ({"material": "white oak 4x4"}, "white oak 4x4, heartwood"), ({"species": "white oak", "product": "lumber"}, "white oak, heartwood"),
        ({"product": "lumber"}, "lumber, heartwood"), ({}, "wood not known, heartwood"), ({"material": "white oak heartwood", "grade": "No. 2"}, "white oak heartwood, No. 2"),
    ],
)  # fmt: skip
def test_a_material_is_called_by_what_is_written_of_it(told, named):
    """A list may have a column for the species and none for the material."""
    blank = dict.fromkeys(("material", "species", "product", "grade", "treatment"), np.nan)
    assert _named(pd.Series({**blank, "wood_part": "heart", **told})) == named


def test_a_part_of_which_only_the_species_is_written_is_compared_by_its_name(tmp_path):
    text = "site: Madison, WI\nparts:\n  - {part: rail, species: white oak, product: lumber, wood_part: heart, thickness: 1 in, width: 4 in, length: 40 in, exposure: weather, finish: none}\n"
    (tmp_path / "project.yaml").write_text(text)
    made = compare(read(tmp_path / "project.yaml"), "rail", ["western red cedar heartwood"], RULES, KNOWN)
    assert [side.choice for side in made.sides] == ["white oak, heartwood", "western red cedar heartwood"]


def test_unknown_costs_of_a_joint_are_one_more_than_its_own_dearest():
    nan = np.nan
    assert _known(np.array([[1, nan, 4], [10, nan, nan], [nan, nan, nan]])).tolist() == [
        [1, 5, 4],
        [10, 11, 11],
        [0, 0, 0],
    ]
