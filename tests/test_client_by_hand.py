"""What a client is shown of one part in two woods: years, costs and words worked out on a calendar or by looking."""

from __future__ import annotations

import tempfile
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from choosing_cases import KNOWN, Lists
from gatepost.choosing import client_words
from gatepost.choosing.client_words import said_of, sayings
from gatepost.choosing.teach import (
    MOST_SAID,
    Ending,
    _assumed,
    _by_year,
    _clearly,
    _endings,
    _joints,
    _least,
    _less,
    _meets,
    _models,
    compare,
)
from gatepost.choosing.virtual import with_part
from gatepost.choosing.years_ahead import _even_year, drawn_to, marks, spent, turn
from gatepost.deriving import derive
from gatepost.deriving.life import MODELS
from gatepost.errors import InputError
from gatepost.library import Library
from gatepost.reading import read
from gatepost.reading.choices import material_choice
from gatepost.reading.sizes import Context
from test_choosing_small import JOINT, POST, RAIL, RULES, SITE, costs, lives

NAN = np.nan


def project_of(parts=(POST, RAIL), joints=(JOINT,), settings=SITE, prices=None, known=KNOWN):
    with tempfile.TemporaryDirectory() as folder:
        more = {}
        if prices:
            (Path(folder) / "prices.csv").write_text(prices)
            more["prices"] = str(Path(folder) / "prices.csv")
        return read(Lists(settings, list(parts), list(joints)).write(Path(folder)), knowledge=known, **more)


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [(20, 30, "yes"), (20, NAN, "yes"), (19.9, 30, "maybe"), (10, 20, "maybe"), (10, 19.9, "no"), (10, NAN, "maybe"), (NAN, NAN, None)],
)  # fmt: skip
def test_whether_a_life_reaches_the_twenty_years_wanted(low, high, told):
    assert _meets(lives(low, NAN, high), 20.0) == told


def test_year_by_year_without_a_known_life_later_purchases_are_not_known():
    """Ten years wanted, coats every four: of a life of 0 or none the purchase at the start is all that is known."""
    for life in (NAN, 0.0):
        part = pd.Series({"service_life_likely_years": life, "life_years": 10.0})
        made = _by_year(costs(100.0, 20.0, (4, 4, 4), 5.0), part)
        assert made["bought"][0] == 100
        assert np.isnan(made["bought"][1:]).all()
        assert made["coats"].tolist() == [0, 0, 0, 0, 20, 0, 0, 0, 20, 0, 0]
        assert made["care"].tolist() == [0] + [5] * 10
    part = pd.Series({"service_life_likely_years": 0.5, "life_years": 1.0})
    assert _by_year(costs(100.0), part)["bought"].tolist() == [100, 100]


def test_half_a_year_of_life_is_a_life():
    """Bought for two years and lasting a year at the most: twice; the dearer likely end is no low end."""
    made = spent(costs(100.0), lives(0.2, NAN, 1.0), 2)
    assert [float(made[end][-1]) for end in ("low", "high")] == [200, 1000]
    assert np.isnan(made["likely"][-1])
    made = spent(costs(100.0), lives(0.25, 0.5, 0.5), 1)
    assert [float(made[end][-1]) for end in ("low", "likely", "high")] == [200, 200, 400]


def test_interest_counts_in_what_turns_the_order():
    """240 at once against 100 and 15 a year over ten years, 250: dearer; at 10 % a year 192: cheaper."""
    both, parts = [costs(240.0), costs(100.0, care=15.0)], [lives(20, 20, 20)] * 2
    plain, discounted = turn(1, both, parts, 10), turn(1, both, parts, 10, 10.0)
    assert (plain.cheaper, plain.first_cheaper, plain.fall_pct) == (0, 1, 10)
    assert (discounted.cheaper, discounted.first_cheaper, discounted.fall_pct) == (1, 1, None)
    assert (plain.even_year, discounted.even_year) == (10, None)
    assert plain.looked_to_years == 20
    assert turn(1, both[::-1], parts, 10).cheaper == 1  # of the ten years the last is the one that tells


@pytest.mark.parametrize(
    ("first", "later", "year"),
    [([1, 2, 3], [2, 2, 3], None), ([1, 2, 4], [2, 2, 3], 2), ([1, 5, 4, 6], [2, 2, 4, 4], 3), ([1, NAN, 4], [2, 2, 3], None), ([1, 2, 4], [2, NAN, 3], None)],
)  # fmt: skip
def test_the_year_from_which_the_dearer_one_has_cost_less(first, later, year):
    assert _even_year(np.array(first, float), np.array(later, float)) == year


def test_coats_due_are_those_of_the_part_as_it_stands():
    assert marks(lives(NAN, 8.0, NAN), np.inf, 20.0).coats == []
    assert marks(lives(NAN, 8.0, NAN), 3.0, 20.0).coats == [3, 6, 11, 14, 19]
    assert marks(lives(NAN, 8.0, NAN), NAN, 20.0).coats is None


def test_the_picture_reaches_the_last_end_of_any():
    assert drawn_to([lives(5, NAN, 10), lives(5, NAN, 30)], 20.0) == 35
    assert drawn_to([lives(NAN, NAN, NAN)], 20.0) == 23


@pytest.mark.parametrize(
    ("part", "against", "place", "what"),
    [
        ("rail", [], "--against", "more than two materials; write one or two"), ("rail", ["ipe"] * 3, "--against", "more than two materials; write one or two"),
        ("rale", ["ipe"], "--part", '"rale" is no part of the list; did you mean rail?'), ("zzz", ["ipe"], "--part", '"zzz" is no part of the list; write a name of the parts list'),
        ("post", ["ipe"], "--part", '"post" is wanted for 0 years; write its `life`'), ("rail", [" "], "--against", "is blank; write a material as in a parts list"),
    ],
)  # fmt: skip
def test_what_cannot_be_compared_is_said_where_it_was_written(part, against, place, what):
    with pytest.raises(InputError) as caught:
        compare(project_of([POST | {"life": "0"}, RAIL]), part, against, RULES, KNOWN)
    assert [(one.place, one.line, one.column, one.what) for one in caught.value.problems] == [(place, None, None, what)]


def test_names_of_woods_are_those_of_the_continent():
    """Larch is another wood on each side of the ocean; a size in the name is not used, and that is said once."""
    found = []
    european = SITE.replace("Madison, WI", "Helsinki").replace("us", "eu")
    metric = [row | {"thickness": "38", "width": "89", "length": "1800"} for row in (POST, RAIL)]
    for settings, parts in ((SITE, (POST, RAIL)), (european, metric)):
        project = project_of(parts, settings=settings)
        made = compare(project, "rail", ["larch 45x95"] * 2, RULES, KNOWN)
        found.append([side.facts.parts["species"].iat[made.row] for side in made.sides[1:]])
        assert [remark for remark in made.remarks if "is not used" in remark] == [
            'the size in "larch 45x95" is not used: the part keeps its own'
        ]
        assert len(made.remarks) == len(set(made.remarks))
        assert {side.facts.parts["width_mm"].iat[made.row] for side in made.sides} == {project.parts["width_mm"].iat[1]}
    assert found == [["western larch"] * 2, ["European larch"] * 2]


def test_the_knowledge_handed_in_is_the_one_that_is_compared_with():
    known = Library(KNOWN.folder)
    made = compare(project_of(known=known), "rail", ["white oak", "ipe"], RULES, known)
    assert all(side.facts.library is known for side in made.sides)
    assert [side.choice for side in made.sides] == ["western red cedar", "white oak", "ipe"]


PRICES = (
    "item,unit,price,currency\nwestern red cedar,board foot,4,USD\nwhite oak,board foot,9,USD\npaint,gallon,40,USD\n"
)


def test_what_is_priced_of_each_side():
    """Two rails of 1-1/2 x 3-1/2 x 72 inches are sawn from 2 x 4: eight board feet, 15 % more bought."""
    rail = RAIL | {"finish": "paint, 2 coats", "qty": "2", "life": "12"}
    made = compare(project_of([POST, rail], prices=PRICES), "rail", ["white oak", "ipe"], RULES, KNOWN)
    cedar, oak, ipe = made.sides
    assert [side.price and side.price["item"] for side in made.sides] == ["western red cedar", "white oak", None]
    assert [side.finish_price["item"] for side in made.sides] == ["paint"] * 3
    assert [side.waste_share for side in made.sides] == [0.15, 0.15, 0]
    paint = cedar.costs["finish"]
    assert cedar.costs["first"] == pytest.approx(8 * 4 / 0.85 + paint)
    assert oak.costs["first"] == pytest.approx(8 * 9 / 0.85 + paint)
    assert np.isnan(ipe.costs["first"])
    for side in (cedar, oak):
        for end, values in side.spent.items():
            assert len(values) == 13
            assert side.costs[f"wanted_{end}"] == pytest.approx(values[-1], nan_ok=True)
        assert side.marks.every_years == 15
    assert made.least == {"first": "written", "wanted_likely": made.least["wanted_likely"]}
    assert [told.other for told in made.turns] == [1, 2]
    assert made.turns[0].first_cheaper == 0
    assert made.turns[1].first_cheaper is None
    bare = compare(project_of([POST, rail]), "rail", ["white oak"], RULES, KNOWN)
    assert (bare.turns, bare.least, bare.clearly) == (
        [],
        {"first": None, "wanted_likely": None},
        {"per_year": None, "wanted": None},
    )
    assert [
        (side.costs, side.price, side.finish_price, side.by_year, side.spent, side.waste_share) for side in bare.sides
    ] == [(None,) * 5 + (0.0,)] * 2


def side(first):
    return type("Side", (), {"costs": None if first is None else {"first": first}})()


@pytest.mark.parametrize(
    ("firsts", "least"),
    [((3.0, 2.0), "against"), ((2.0, 3.0), "written"), ((2.0, 2.0), None), ((NAN, 2.0), None), ((NAN, 2.0, 3.0), "against"), ((3.0, 3.0, 2.0), "third"), ((None, None), None), ((2.0, 2.0, 3.0), None)],
)  # fmt: skip
def test_the_least_of_what_is_known(firsts, least):
    assert _least([side(first) for first in firsts], "first") == least


def test_what_wears_out_first_to_fail_first():
    """A post of red oak in the ground, its rail above; each joint's metal counts for both of its parts."""
    facts = derive(
        project_of(
            joints=[
                JOINT,
                JOINT | {"joint": "rail on itself", "part_a": "rail"},
                JOINT | {"joint": "pegs", "method": "dowels", "fastener": "", "coating": "", "size": ""},
            ]
        )
    )
    assert [_joints(facts, row) for row in (0, 1)] == [[0, 2], [0, 1, 2]]
    for row in (0, 1):
        made = _endings(facts, row)
        order = [one.years["low"] if np.isnan(one.years["likely"]) else one.years["likely"] for one in made]
        assert order == sorted(order)
        assert {one.joint for one in made} == {
            at for at in (-1, *_joints(facts, row)) if at < 0 or facts.joints["metal_life_low_years"].iat[at] > 0
        }
        [wood] = [one for one in made if one.what == "wood"]
        assert wood == Ending(
            "wood", -1, {end: facts.parts[f"service_life_{end}_years"].iat[row] for end in ("low", "likely", "high")}
        )


def test_of_a_life_without_a_likely_year_the_least_counts():
    years = ("low", "likely", "high")
    parts = pd.DataFrame(
        [{f"service_life_{end}_years": value for end, value in zip(years, (9, NAN, NAN), strict=True)}]
    )
    metal = [(12, 15, 20), (3, NAN, NAN), (NAN, NAN, NAN), (4, 5, 6)]
    joints = pd.DataFrame(
        [
            {
                "a_row": 0,
                "b_row": 5,
                **{f"metal_life_{end}_years": value for end, value in zip(years, band, strict=True)},
            }
            for band in metal
        ]
    )
    made = _endings(SimpleNamespace(parts=parts, joints=joints), 0)
    assert [(one.what, one.joint) for one in made] == [("metal", 1), ("metal", 3), ("wood", -1), ("metal", 0)]


def test_one_is_clearly_less_where_both_are_known():
    bands = [
        SimpleNamespace(costs=costs and {"life_low": costs[0], "life_high": costs[1]})
        for costs in ((1, 2), (3, 4), (2, 3), None)
    ]
    assert [[_less(one, other, "life") for other in bands] for one in bands] == [
        [False, True, False, False],
        [False] * 4,
        [False] * 4,
        [False] * 4,
    ]
    assert [
        _clearly(some, "life")
        for some in (bands[:2], bands[1::-1], bands[:3], bands[2:], [bands[1], bands[0], bands[3]])
    ] == ["written", "against", None, None, None]


def test_the_models_that_spoke():
    names = list(MODELS)
    part = pd.Series({"life_models": "; ".join(MODELS[name] for name in names[:2]), **{f"life_{name}_low_years": 3.0 for name in names}, f"life_{names[0]}_high_years": 9.0})  # fmt: skip
    made = _models(part)
    assert [told[:2] for told in made] == [(MODELS[name], 3.0) for name in names[:2]]
    assert made[0][2] == 9
    assert np.isnan(made[1][2])
    assert _models(pd.Series({"life_models": None})) == []


def test_what_was_assumed_of_a_material_and_no_more():
    project = project_of([POST | {"material": "white oak"}, RAIL | {"role": ""}])
    told = dict(_assumed(project, 0, KNOWN))
    assert told["wood_part"] == "mixed"
    assert "role" not in dict(_assumed(project, 1, KNOWN))
    choice, assumed, _ = material_choice("ipe", Context("in", "us"), KNOWN, "")
    changed = with_part(project, 1, choice, ("species", "wood_part", "role"), assumed)
    assert changed.parts["species"].astype(object).tolist() == ["white oak", "ipe"]
    frame = changed.assumed["parts"]
    assert frame.index.tolist() == list(range(len(frame)))
    kept = project.assumed["parts"]
    assert frame[frame["row"] == 0].values.tolist() == kept[kept["row"] == 0].values.tolist()
    here = frame[frame["row"] == 1]
    assert "wood_part" in set(here["column"])
    other = kept[(kept["row"] == 1) & ~kept["column"].isin(("species", "wood_part", "role"))]
    assert here[~here["column"].isin(("species", "wood_part", "role"))].values.tolist() == other.values.tolist()


def test_what_is_said_surely_holds_of_the_part():
    """The first entries of each topic whose clauses the part is seen to meet, by the file itself."""
    sayings.cache_clear()
    facts = derive(project_of([POST, RAIL, RAIL | {"part": "roofed", "exposure": "cover"}]))
    every = sayings(KNOWN)
    assert {one.topic for one in every} == set(client_words.TOPICS) == set(MOST_SAID)
    seen = set()
    for row in range(3):
        for topic in client_words.TOPICS:
            held = [
                one.says
                for one in every
                if one.topic == topic
                and all(
                    clause.ask(facts.encoded[0])[0].repeat(3 if len(clause.ask(facts.encoded[0])[0]) == 1 else 1)[row]
                    for clause in one.clauses
                )
            ]
            seen |= set(held)
            for most in (0, 1, 2, 9):
                assert said_of(facts, row, topic, most) == held[:most]
    assert len(seen) > 3


def test_one_part_alone_is_a_list_too():
    alone = derive(project_of([POST], [JOINT | {"part_b": "post"}]))
    beside = derive(project_of([POST, RAIL], [JOINT | {"part_b": "post"}]))
    for topic in client_words.TOPICS:
        assert said_of(alone, 0, topic, 9) == said_of(beside, 0, topic, 9)
