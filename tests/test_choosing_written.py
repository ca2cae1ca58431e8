"""What choosing works with inside is what a shop would write: ways out and first choices written as text, read again, and compared fact by fact."""

from __future__ import annotations

import csv
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from choosing_cases import KNOWN, Lists
from gatepost.choosing import find_ways, settled
from gatepost.deriving import derive
from gatepost.judging import load_rules
from gatepost.reading import read
from gatepost.review import review
from test_choosing_small import JOINT, POST, PRICES, RAIL, SITE, after_ways, chosen, graves, written

RULES = list(load_rules(KNOWN))
BOARD = {"part": "board", "qty": "20", "material": "western red cedar heartwood", "thickness": "3/4", "width": "5 1/2", "length": "48", "exposure": "weather", "role": "board", "finish": "none", "gap": "0", "penned": "yes", "boards across": "10"}  # fmt: skip
GATE = {"part": "gate frame", "material": "spruce-pine-fir", "thickness": "1 1/2", "width": "3 1/2", "length": "48", "exposure": "weather", "role": "frame", "finish": "paint, 2 coats"}  # fmt: skip
CAP = {"part": "cap", "material": "aluminium", "thickness": "1/8", "width": "4", "length": "4", "exposure": "weather"}
HINGE = {"joint": "gate on post", "part_a": "gate frame", "part_b": "post", "method": "screws", "fastener": "wood screw", "size": "#10 x 2", "coating": "plain steel", "hardware": "strap hinge", "hardware_coating": "plain steel", "glue": "none"}  # fmt: skip
DECK = {"joint": "board on rail", "part_a": "board", "part_b": "rail", "method": "screws", "fastener": "deck screw", "size": "#8 x 2 1/2", "coating": "zinc plated", "hardware": "none", "glue": "white"}  # fmt: skip
SHED = Lists(SITE + "work: {month: May}\n", [POST, RAIL, BOARD, GATE, CAP], [JOINT, HINGE, DECK])


def compared(virtual, real, names):
    """Facts that differ between a virtual frame and one that was read, with what stands there."""
    out = {}
    for name in names:
        a, b = virtual[name], real[name]
        if not isinstance(a.dtype, pd.CategoricalDtype) and a.dtype.kind == "f":
            same = np.isclose(a.to_numpy(float), b.to_numpy(float), rtol=1e-6, atol=0.51, equal_nan=True)
        else:
            one, other = a.astype(object).to_numpy(), b.astype(object).to_numpy()
            same = (one == other) | (pd.isna(one) & pd.isna(other))
        if not same.all():
            out[name] = (a[~same].tolist(), b[~same].tolist())
    return out


def facts_read(over):
    """What is read out of the lists; the text as it was written is left out."""
    facts = KNOWN.register.facts[over]
    return [name for name, fact in facts.items() if not fact.derived and (fact.values or fact.is_number)]


def test_the_lists_with_their_ways_out_written_in_say_what_choosing_works_with(tmp_path):
    facts = derive(read(SHED.write(tmp_path)))
    ways = find_ways(facts, RULES)
    holds, _ = graves(review(read(tmp_path / "project.yaml"), RULES))
    assert {(way.over, way.row) for way in (*ways.parts, *ways.joints)} | {
        ("joints", row) for row in ways.cleared
    } == set(holds)
    assert not [way for way in (*ways.parts, *ways.joints) if way.blocked_by]
    told = {
        column
        for way in (*ways.parts, *ways.joints)
        for at in way.offers
        for column in (ways.part_offers if way.over == "parts" else ways.joint_offers).writes[at]
    }
    assert {"material", "gap", "hardware_coating"} <= told
    again = derive(read(after_ways(SHED, type("Made", (), {"ways": ways})).write(tmp_path / "again")))
    assert not graves(review(again.project, RULES))[0]
    assert not compared(ways.after.parts, again.parts, facts_read("parts"))
    assert not compared(ways.after.joints, again.joints, facts_read("joints"))
    for over, left in ways.after.project.blank.items():
        pd.testing.assert_frame_equal(left, again.project.blank[over][left.columns], obj=over)


@pytest.mark.parametrize("prices", ["", PRICES])
def test_the_first_choices_written_in_say_what_choosing_works_with(tmp_path, prices):
    _, made = chosen(SHED, tmp_path, None, prices)
    assert not made.broken
    base, ways = after_ways(SHED, made), made.ways
    cells = {
        ("parts", row): written(ranked.options[made.taken[row]], ways.part_offers)
        for row, ranked in made.ranked.items()
    }
    cells |= {("joints", row): written(option, ways.joint_offers) for row, (option, _) in made.joints.items()}
    assert ("parts", 4) not in cells
    again = derive(read(base.changed(cells).write(tmp_path / "again")))
    assert not graves(review(again.project, RULES))[0]
    whole = settled(made)
    assert not compared(whole.parts, again.parts, facts_read("parts"))
    assert not compared(whole.joints, again.joints, facts_read("joints"))


def test_of_a_stock_its_own_finishes_and_bare_wood_are_offered(tmp_path):
    lists = replace(SHED, shelf=("western red cedar heartwood", "white oak heartwood"))
    path = lists.write(tmp_path)
    with (tmp_path / "stock.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(
            [
                ["material", "finish"],
                ["western red cedar heartwood", ""],
                ["white oak heartwood", ""],
                ["", "solid stain, 2 coats"],
            ]
        )
    offers = find_ways(derive(read(path)), RULES).part_offers
    assert {offers.writes[at]["finish"] for at in offers.rows_of("finish")} == {"solid stain, 2 coats", "none"}
    assert [offers.writes[at]["material"] for at in offers.rows_of("material")] == list(lists.shelf)
