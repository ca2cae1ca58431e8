"""What ranks, and which price is taken: small tables of facts, every order and sum worked by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from choosing_cases import KNOWN, Lists
from gatepost.choosing.choose import by_cost, by_life, choose, lighter, money, ranking, upkeep_a_year, yearly
from gatepost.choosing.costs import (
    _is,
    _same_words,
    fastener_prices,
    finish_prices,
    hardware_prices,
    material_prices,
    part_costs,
    waste_share,
)
from gatepost.choosing.joint_costs import joint_costs
from gatepost.choosing.joints import joint_offers
from gatepost.choosing.offers import Offers
from gatepost.deriving import derive
from gatepost.reading import read
from test_choosing_small import JOINT, POST, RAIL, RULES, SITE
from test_prices import prices

NAN = np.nan


def facts_of(**columns):
    count = len(next(iter(columns.values())))
    frame = {
        "service_life_likely_years": [20.0] * count, "life_years": [10.0] * count, "upkeep_years": [NAN] * count,
        "finish_kind": ["none"] * count, "bears_people": ["no"] * count, "specific_gravity": [0.5] * count,
    }  # fmt: skip
    return SimpleNamespace(parts=pd.DataFrame(frame | columns))


OFFERS = Offers(None, np.array(["material", "material", "finish"], object), [], None, None, np.array([2.0, 1.0, 0.0]))
WAYS = SimpleNamespace(part_offers=OFFERS, after=facts_of(specific_gravity=[0.5, 0.6]))
"""Of two materials the second is the commoner; the third offer is a finish. Part 0 is written in a wood of 0.5, part 1 of 0.6."""


def order(rank, facts, options, rows=None, costs=None):
    """Places of the options in their order, best first."""
    rows = np.zeros(len(options), int) if rows is None else rows
    return rank(facts, rows, options, costs)


@pytest.mark.parametrize(
    ("columns", "options", "places"),
    [
        ({"service_life_likely_years": [8, 20, 300, 150.0]}, [()] * 4, [3, 2, 0, 1]),
        ({"service_life_likely_years": [NAN, 20.0]}, [(), ()], [1, 0]),
        ({"service_life_likely_years": [10.0, 9.9]}, [(), ()], [0, 1]),
        ({"bears_people": ["yes"] * 3, "specific_gravity": [0.44, 0.45, 0.9]}, [()] * 3, [2, 0, 1]),
        ({"specific_gravity": [0.4, 0.5]}, [(), ()], [0, 1]),
        ({"upkeep_years": [NAN] * 2}, [(0,), (1,)], [1, 0]),
        ({"upkeep_years": [NAN] * 2}, [(0, 2), (1,)], [1, 0]),
        ({"upkeep_years": [5.0, NAN], "finish_kind": ["paint", "none"]}, [(), (2,)], [0, 1]),
        ({"upkeep_years": [NAN, 4, 5, 0.0], "finish_kind": ["paint"] * 4}, [()] * 4, [2, 1, 0, 3]),
        ({"upkeep_years": [4.0, NAN], "finish_kind": ["paint", "none"]}, [(1,), (0,)], [1, 0]),
    ],
)
def test_the_order_without_prices(columns, options, places):
    """Long enough, no lighter under people, the finish as it was, less upkeep, the commoner wood, the longer life."""
    assert order(by_life(WAYS), facts_of(**columns), options).tolist() == places


def test_what_is_asked_for_comes_before_everything_else():
    facts = facts_of(service_life_likely_years=[20.0, 40.0], upkeep_years=[NAN, 4], finish_kind=["none", "paint"])
    assert order(by_life(WAYS), facts, [(), ()]).tolist() == [0, 1]
    assert order(by_life(WAYS, "life"), facts, [(), ()]).tolist() == [1, 0]
    facts = facts_of(service_life_likely_years=[20.0, 5.0], upkeep_years=[4.0, NAN], finish_kind=["paint", "none"])
    assert order(by_life(WAYS), facts, [(), ()]).tolist() == [0, 1]
    assert order(by_life(WAYS, "upkeep"), facts, [(), ()]).tolist() == [1, 0]


def test_each_part_has_its_own_order():
    facts = facts_of(service_life_likely_years=[20, 30, 15, 12.0])
    assert order(by_life(WAYS), facts, [()] * 4, np.array([1, 0, 1, 0])).tolist() == [0, 0, 1, 1]
    facts = facts_of(bears_people=["yes"] * 2, specific_gravity=[0.53, 0.53])
    assert lighter(facts, WAYS.after, np.array([0, 1])).tolist() == [False, True]


def test_upkeep_of_a_finish_by_hand():
    facts = facts_of(upkeep_years=[4, NAN, 0, 4, NAN, 0.5], finish_kind=["paint", "paint", "oil", "none", None, "oil"])
    assert upkeep_a_year(facts).tolist() == [0.25, 1, 1, 0, 1, 2]


def bill(**columns):
    names = ("first", "care", "coat", "coat_every_likely", "per_year_likely")
    return pd.DataFrame({name: columns.get(name, [0.0] * len(columns["first"])) for name in names})


def test_a_year_without_a_known_life_is_one_of_the_years_wanted():
    """100 over 10 years, 3 of care, a coat of 20 every 4 years; a known life counts as it was worked out."""
    told = bill(
        first=[100.0] * 2, care=[3.0] * 2, coat=[20.0] * 2, coat_every_likely=[4.0] * 2, per_year_likely=[7.5] * 2
    )
    facts = facts_of(service_life_likely_years=[NAN, 20.0])
    assert yearly(told, facts.parts).tolist() == [10 + 3 + 5, 7.5]


def test_the_order_by_cost():
    """Equal costs in the order without prices; what has no price last, in that order, however many there are."""
    facts = facts_of(service_life_likely_years=[20, 30, 20, 30, 20.0])
    told = bill(first=[5, 5, NAN, NAN, 1.0], per_year_likely=[4, 4, NAN, NAN, 5.0])
    assert np.argsort(order(by_cost(WAYS, "cost"), facts, [()] * 5, costs=told)).tolist() == [4, 1, 0, 3, 2]
    made = order(by_cost(WAYS, "cost-per-year"), facts, [()] * 5, costs=told)
    assert np.argsort(made).tolist() == [1, 0, 4, 3, 2]
    assert made[[0, 1, 4]] == pytest.approx([4, 4, 5], abs=1e-6)
    assert made[[2, 3]].min() > 5.9
    none = bill(first=[NAN] * 5, per_year_likely=[NAN] * 5)
    assert order(by_cost(WAYS, "cost"), facts, [()] * 5, costs=none).tolist() == [3, 1, 4, 2, 5]


def test_where_a_column_says_a_word_and_where_nothing():
    words = ["oak", None, "ash"]
    for column in (pd.Series(pd.Categorical(words, ["oak", "ash"])), pd.Series(words, dtype=object)):
        for word, said in (("oak", [True, False, False]), ("ash", [False, False, True]), ("elm", [False] * 3)):
            same, unknown = _is(column, word)
            assert (same.tolist(), unknown.tolist()) == (said, [False, True, False])


def test_words_are_the_same_whatever_their_case_and_spaces():
    said = pd.Series(["Sheet  Steel", "sheetsteel", None, "steel"])
    assert _same_words(said, "sheet steel").tolist() == [True, True, False, False]


BOARD = {"qty": 1.0, "thickness_mm": 19.05, "width_mm": 139.7, "length_mm": 1000.0, "material": "board", "product": "lumber", "species": "white oak", "treatment_kind": "none", "preservative": None, "treatment_mark": None, "wood_part": "heart", "grade": None}  # fmt: skip


@pytest.mark.parametrize(
    ("items", "taken"),
    [
        ("white oak,board foot,4,USD\nwhite oak heartwood,board foot,3,USD\n", 1),
        ("white oak 1x6,linear foot,1,USD\nwhite oak heartwood,board foot,9,USD\n", 0),
        ("white oak 1x6,linear foot,1,USD\nwhite oak heartwood 1x6,linear foot,0.5,USD\n", 1),
        ("white oak 2x6,linear foot,1,USD\nwhite oak,board foot,9,USD\n", 1),
        ("white oak 1x8,linear foot,1,USD\nred oak,board foot,9,USD\n", -1),
        ("white oak,board foot,3,USD\nwhite oak sapwood,board foot,9,USD\n", 0),
        ("paint,gallon,9999,USD\nwhite oak heartwood,board foot,3,USD\nwhite oak heartwood No. 2,m3,1,USD\n", 1),
        ("white oak heartwood No. 2,m3,1,USD\nwhite oak heartwood,board foot,3,USD\n", 1),
    ],
)
def test_the_price_that_tells_most_of_a_part_and_of_equals_the_highest(items, taken):
    """A board foot at 3 is 1,271 a cubic metre."""
    assert material_prices(pd.DataFrame([BOARD]), prices(items)).tolist() == [taken]


def test_what_a_part_does_not_tell_hinders_a_price_only_where_it_must_be_told():
    parts = pd.DataFrame([BOARD, BOARD | {"wood_part": None}, BOARD | {"species": None}, BOARD | {"product": None}])
    assert material_prices(parts, prices("white oak heartwood,board foot,3,USD\n")).tolist() == [0, 0, -1, -1]


def test_a_fastener_takes_the_price_that_tells_most_of_it():
    frame = pd.DataFrame(
        [("wood screw", "steel", "hot-dip galvanized"), ("wood screw", "stainless", "none"), ("bolt", "steel", "hot-dip galvanized"), (None, None, None)],
        columns=["fastener_kind", "fastener_metal", "coating_kind"],
    )  # fmt: skip
    made = prices(
        "hot-dip galvanized wood screw,each,0.2,USD\nwood screw,each,0.5,USD\nzinc plated bolt,each,1,USD\nstainless 304 lag screw,each,2,USD\n"
    )
    told = made.items.set_index("item")["kind"]
    assert set(told) == {"fastener"}
    assert fastener_prices(frame, made).tolist() == [0, 1, -1, -1]
    nothing = pd.DataFrame({"hardware_kind": ["hinge", None], "hardware_metal": ["steel", None], "hardware_coat": ["none", None]})  # fmt: skip
    assert hardware_prices(nothing, made).tolist() == [-1, -1]


def test_a_finish_takes_its_own_price():
    made = prices("oil,gallon,400,USD\nwhite oak,board foot,9,USD\npaint,gallon,40,USD\n")
    frame = pd.DataFrame({"finish_kind": ["paint", "oil", "varnish", None]})
    assert finish_prices(frame, made).tolist() == [2, 0, -1, -1]


@pytest.mark.parametrize(
    ("item", "sort"),
    [({"product": "round", "kind": "lumber"}, "round"), ({"product": "lumber", "kind": "lumber"}, "lumber"), ({"product": "plywood", "kind": "panel"}, "panel"), ({"product": None, "kind": "other"}, "other")],
)  # fmt: skip
def test_offcuts_are_those_of_the_sort(item, sort):
    assert waste_share(item, KNOWN) == KNOWN.table("cutting_waste").number(sort, "waste_share")


PRICED = "item,unit,price,currency,labor,upkeep\nwhite oak,m3,1000,USD,50,2\npaint,liter,10,USD,3,1\n"


def test_the_bill_of_a_painted_board_by_hand(tmp_path):
    """A cubic metre in all; 1,000 with 15 % cut away, 50 of work, 2 of care; paint by the litre on all six faces, twice."""
    part = {"qty": "10", "part": "block", "material": "white oak", "thickness": "100 mm", "width": "500 mm", "length": "2000 mm", "exposure": "weather", "finish": "paint, 2 coats"}  # fmt: skip
    (tmp_path / "prices.csv").write_text(PRICED)
    bare = part | {"part": "bare", "finish": "none"}
    other = part | {"part": "ash", "material": "white ash", "finish": "oil, 1 coat"}
    path = Lists(SITE, [part, bare, other], [JOINT | {"part_a": "block", "part_b": "bare"}]).write(tmp_path)
    project = read(path, prices=str(tmp_path / "prices.csv"))
    made = part_costs(derive(project).parts, project.prices, "eu", KNOWN)
    litres = 10 * 2 * (0.1 * 0.5 + 0.1 * 2 + 0.5 * 2) / 8.6
    first = made.iloc[0]
    assert first[["price_row", "finish_row"]].tolist() == [0, 1]
    assert first["material"] == pytest.approx(1000 / 0.85)
    assert first["labour"] == pytest.approx(50)
    assert first["coat"] == pytest.approx(litres * 13)
    assert first["finish"] == pytest.approx(litres * 26)
    assert first["care"] == pytest.approx(2 + litres * 1)
    assert first["first"] == pytest.approx(first["material"] + first["labour"] + first["finish"])
    assert first[["coat_every_low", "coat_every_likely", "coat_every_high"]].tolist() == [10, 15, 20]
    second = made.iloc[1]
    assert second[["finish", "coat"]].tolist() == [0, 0]
    assert second["care"] == pytest.approx(2)
    assert np.isinf(second["coat_every_likely"])
    assert made.iloc[2][["price_row", "finish_row"]].tolist() == [-1, -1]
    assert made.iloc[2][["material", "labour", "finish", "coat", "care", "first"]].isna().all()


def with_prices(folder, lists, text):
    (folder / "prices.csv").write_text(text)
    return derive(read(lists.write(folder), prices=str(folder / "prices.csv")))


def test_costs_of_joints_are_spread_over_the_years_that_their_first_part_is_wanted(tmp_path):
    """Screws at half a unit each, five of them, two joints alike: 5 in all; 12 years of the post, none of the rail."""
    joints = [JOINT | {"count": "5", "qty": "2", "coating": "stainless 304"}, JOINT | {"joint": "rail on itself", "part_a": "rail", "part_b": "rail"}]  # fmt: skip
    text = "item,unit,price,currency\nstainless 304 wood screw,each,0.5,USD\nwhite oak,board foot,4,USD\n"
    facts = with_prices(tmp_path, Lists(SITE, [POST | {"life": "12"}, RAIL | {"life": "0"}], joints), text)
    offers, rows = joint_offers(facts)
    spread, whole = (joint_costs(facts, offers, rows, a_year) for a_year in (True, False))
    assert spread.years.tolist() == [12, 1]
    assert whole.years.tolist() == [1, 1]
    assert spread.first(0, (), offers) == whole.first(0, (), offers) == whole.ranked(0, (), offers) == 5
    assert spread.ranked(0, (), offers) == pytest.approx(5 / 12)
    assert np.isnan(spread.first(1, (), offers))
    assert (
        joint_costs(derive(read(Lists(SITE, [POST, RAIL], joints).write(tmp_path / "bare"))), offers, rows, True)
        is None
    )


def test_without_a_count_the_advised_one_is_paid_and_hardware_by_the_piece(tmp_path):
    hinge = JOINT | {"joint": "hung", "method": "hinge", "fastener": "wood screw", "hardware": "hot-dip galvanized hinge", "qty": "2"}  # fmt: skip
    text = "item,unit,price,currency\nzinc plated wood screw,each,1,USD\nhot-dip galvanized hinge,each,30,USD\n"
    facts = with_prices(tmp_path, Lists(SITE, [POST, RAIL], [JOINT | {"qty": "3"}, hinge]), text)
    offers, rows = joint_offers(facts)
    made = joint_costs(facts, offers, rows, False)
    advised = facts.joints["advised_count"]
    assert made.fastener[0, 0] == 3 * advised.iat[0] > 0
    assert made.hardware[:, 0].tolist() == [0, 60]
    assert made.fastener.shape == made.hardware.shape == (2, 1 + len(offers.frame))
    for row in (0, 1):
        priced = np.flatnonzero(~np.isnan(made.fastener[row, 1:]))
        assert set(priced) <= set(rows[row])
        assert set(offers.column[priced]) <= {"fastener"}


def test_what_parts_cost_is_none_without_prices(tmp_path):
    facts = derive(read(Lists(SITE, [POST, RAIL], [JOINT]).write(tmp_path)))
    assert money(facts) is None
    made = choose(facts, RULES, ranking(None, None))
    assert (made.money, made.joint_money) == (None, None)
