"""Choosing by four rules of our own, so simple that every answer is seen by looking; and single steps of the search."""

from __future__ import annotations

import shutil
import tempfile
from functools import cache
from itertools import product
from pathlib import Path

import numpy as np
import pytest
import yaml

from choosing_cases import KNOWN, Lists
from gatepost import yamlfile
from gatepost.choosing import choose, find_ways, first_changes, ranking, schedule, settled, way_out, why
from gatepost.choosing.changes import _is_said
from gatepost.choosing.fasteners import sized_offers
from gatepost.choosing.offers import EFFORT_OF_MATERIAL, MATERIAL, Offers, material_offer, part_offers, sort_of
from gatepost.choosing.pairs import NEVER, Pairs
from gatepost.deriving import derive
from gatepost.errors import InputError
from gatepost.judging import check_file
from gatepost.library import Library
from gatepost.reading import read
from test_choosing_small import JOINT, POST, RAIL, SITE, written

PLATED = ("zinc plated", "electroplated")


def rule(name, over, when, example, near, cured):
    told = {"topic": "detail", "severity": "fix", "message": "No.", "remedy": "Other.", "why": "Told here.", "source": "practice"}  # fmt: skip
    return {"rule": name, **told, "over": over, "when": when, "example": example, "near_miss": near, "cured": [cured]}


POSTS = rule("posts-are-of-oak", "parts", ["role == 'post'", "species != 'white oak'"], {"role": "post", "species": "red oak"}, [{"role": "rail"}, {"species": "white oak"}], {"species": "white oak"})  # fmt: skip
CEDAR = rule("no-oak-against-cedar", "joints", ["a_species == 'white oak'", "b_species == 'western redcedar'"], {"a_species": "white oak", "b_species": "western redcedar"}, [{"a_species": "red oak"}, {"b_species": "red oak"}], {"b_species": "red oak"})  # fmt: skip
PLATE = rule("no-plated-screw-here", "joints", [f"coating_kind in {PLATED}"], {"coating_kind": "zinc plated"}, [{"coating_kind": "none"}], {"coating_kind": "none"})  # fmt: skip
MANY = rule("no-more-than-six", "joints", ["qty > 6"], {"qty": 7}, [{"qty": 6}], {"qty": 6})  # fmt: skip
ZINC = rule("no-zinc-in-oak", "joints", ["a_species == 'white oak'", "coating_kind == 'hot-dip galvanized'"], {"a_species": "white oak", "coating_kind": "hot-dip galvanized"}, [{"a_species": "red oak"}, {"coating_kind": "none"}], {"coating_kind": "none"})  # fmt: skip


def compiled(*rules):
    made, bad = check_file(
        yamlfile.load(yaml.safe_dump(list(rules), sort_keys=False), "ours.yaml", strict=False), KNOWN
    )
    assert not bad
    return made


OURS = compiled(POSTS, CEDAR, PLATE, MANY)
HUNG = JOINT | {"joint": "gate on rail", "part_a": "rail", "part_b": "rail", "coating": "stainless 304", "qty": "7"}  # fmt: skip


@cache
def made_of_ours():
    """A post of red oak and a rail of cedar, screwed together with zinc plated screws; seven joints on the rail alone."""
    lists = Lists(SITE, [POST, RAIL], [JOINT, HUNG])
    return lists, choose(facts_of(lists), OURS, ranking(None, None))


def facts_of(lists, known=KNOWN):
    with tempfile.TemporaryDirectory() as folder:
        return derive(read(lists.write(Path(folder)), knowledge=known), known)


def species_of(made, row):
    """The species of each option of a part in the order of its ranking."""
    return made.tried.parts["species"].to_numpy(object)[made.ranked[row].at]


def test_the_way_out_is_the_oak_that_is_nearest_to_what_is_written():
    """Nothing said that the red oak was all heart: of two oaks of the same effort the mixed one changes less."""
    _, made = made_of_ours()
    [way] = made.ways.parts
    assert (way.over, way.row, way.blocked_by) == ("parts", 0, ())
    assert written(way.offers, made.ways.part_offers)["material"] == "white oak, mixed heart and sap"


def test_the_way_out_of_a_joint_stands_beside_the_parts_so_changed():
    """Once the post is oak the cedar is in the way; nothing at the joint changes that, nor how many there are."""
    _, made = made_of_ours()
    assert [(way.row, way.offers, way.blocked_by) for way in made.ways.joints] == [
        (0, (), ("no-oak-against-cedar",)),
        (1, (), ("no-more-than-six",)),
    ]
    assert made.ways.cleared == frozenset()


def test_a_joint_that_the_parts_cure_is_cleared():
    """The joint fails beside the post as it is written and not beside the oak that replaces it."""
    elm = rule("no-red-oak-bolted", "joints", ["a_species == 'red oak'"], {"a_species": "red oak"}, [{"a_species": "white oak"}], {"a_species": "white oak"})  # fmt: skip
    ways = find_ways(facts_of(Lists(SITE, [POST, RAIL], [JOINT])), compiled(POSTS, elm))
    assert (ways.joints, ways.cleared) == ([], frozenset({0}))


def test_the_rail_moves_where_the_post_cannot():
    _, made = made_of_ours()
    assert set(species_of(made, 0)) == {"white oak"}
    assert species_of(made, 1)[0] == "western redcedar"
    assert made.taken[0] == 0
    assert made.taken[1] == next(at for at, word in enumerate(species_of(made, 1)) if word != "western redcedar")
    assert {species_of(made, 1)[at] for at in made.others[1]}.isdisjoint({"western redcedar"})
    assert made.others[1] == [at for at in range(60) if species_of(made, 1)[at] != "western redcedar"]
    assert made.broken == [1]


def test_a_joint_passes_where_no_rule_of_ours_speaks():
    _, made = made_of_ours()
    ways = made.ways
    pairs = Pairs(ways.after, OURS, ways.part_offers, ways.joint_offers, ways.joint_rows, made.ranked)
    cedar = species_of(made, 1) == "western redcedar"
    every = pairs._options(0)
    coats = [written(way, ways.joint_offers).get("coating", "zinc plated") for way in every]
    assert pairs.options[0] == [way for way, coat in zip(every, coats, strict=True) if coat not in PLATED] != every
    assert pairs.options[1] == pairs._options(1)[:1] == [()]
    for i, k in product(range(len(made.ranked[0].options)), range(0, len(cedar), 7)):
        assert (pairs(0, i, k) == NEVER) == cedar[k]
        assert pairs.best(0, i, k) == (() if cedar[k] else pairs.options[0][0])
        assert pairs.passing(0, i, k) == ([] if cedar[k] else pairs.options[0])
    assert pairs.least(0) == pairs.cost(0, pairs.options[0][0]) == 1e-11 * pairs._effort(pairs.options[0][0])


def test_the_rest_of_a_project_is_asked_for_the_reasons_of_a_part():
    _, made = made_of_ours()
    told = why(made, OURS, 1, "western red cedar heartwood")
    blamed = (("rail on post", ("no-oak-against-cedar",)), ("gate on rail", ("no-more-than-six",)))
    assert (told.rules, told.joints, told.option) == ((), blamed, None)
    told = why(made, OURS, 0, "red oak")
    assert (told.rules, told.joints, told.option) == (("posts-are-of-oak",), (), None)
    told = why(made, OURS, 0, "white oak heartwood")
    assert (told.rules, told.joints) == ((), ())
    assert "white oak heartwood" in written(told.option, made.ways.part_offers)["material"]
    for text in ("redwood heartwood", "Douglas-fir heartwood"):
        told = why(made, OURS, 1, text)
        assert written(told.option, made.ways.part_offers)["material"] == text
    with pytest.raises(InputError) as caught:
        why(made, OURS, 1, "thing")
    assert [problem.place for problem in caught.value.problems] == ["--why"]


def test_what_the_first_choices_write():
    lists, made = made_of_ours()
    facts = facts_of(lists)
    changes = first_changes(made, facts)
    told = {(one.over, one.row, one.column): (one.old, one.new) for one in changes}
    assert len(told) == len(changes)
    assert told["parts", 0, "material"] == ("red oak", "white oak heartwood")
    assert told["parts", 1, "material"][0] == "western red cedar"
    assert told["joints", 0, "coating"][0] == "zinc plated"


def test_what_a_choice_writes_stands_for_what_a_way_wrote(tmp_path):
    """Zinc in oak is changed first; then a cheaper wood is taken in which the cheapest screw is again the one written."""
    (tmp_path / "prices.csv").write_text(
        "item,unit,price,currency\nhot-dip galvanized wood screw,each,0.01,USD\nwood screw,each,9,USD\nwhite oak,board foot,90,USD\nDouglas-fir heartwood,board foot,1,USD\n"
    )
    lists = Lists(
        SITE, [POST | {"material": "white oak", "role": "rail"}, RAIL], [JOINT | {"coating": "hot-dip galvanized"}]
    )
    facts = derive(read(lists.write(tmp_path), prices=str(tmp_path / "prices.csv")))
    made = choose(facts, compiled(ZINC), ranking("cost", facts.project.prices))
    [way] = made.ways.joints
    assert written(way.offers, made.ways.joint_offers)["coating"] != "hot-dip galvanized"
    assert written(made.joints[0][0], made.ways.joint_offers)["coating"] == "hot-dip galvanized"
    cells = {(one.over, one.row): {} for one in first_changes(made, facts)}
    for one in first_changes(made, facts):
        cells[one.over, one.row][one.column] = one.new
    again = read(lists.changed(cells).write(tmp_path / "again"))
    for frame, wanted in ((again.parts, settled(made).parts), (again.joints, settled(made).joints)):
        for name in ("species", "wood_part", "coating_kind", "fastener_metal", "size"):
            if name in frame:
                assert frame[name].astype(object).tolist() == wanted[name].astype(object).tolist()
    assert again.joints["coating_kind"].tolist() == ["hot-dip galvanized"]


@pytest.mark.parametrize(("most", "length"), [(1, 0), (2, 2)])
def test_the_search_ends_at_the_most_changes(most, length, monkeypatch):
    """A post that must be of oak and painted takes two changes."""
    painted = rule("posts-are-painted", "parts", ["role == 'post'", "finish_kind != 'paint'"], {"role": "post", "finish_kind": "none"}, [{"role": "rail"}, {"finish_kind": "paint"}], {"finish_kind": "paint"})  # fmt: skip
    monkeypatch.setattr(way_out, "MOST", most)
    [way] = find_ways(facts_of(Lists(SITE, [POST, RAIL], [JOINT])), compiled(POSTS, painted)).parts
    assert len(way.offers) == length
    assert len(way.blocked_by) == (0 if length else 1)


def test_each_column_is_changed_once():
    offers = Offers(None, np.array(["material", "finish", "grain", "method", "size", "material"], object), [], None, None, None)  # fmt: skip
    fits = [way for way in product(range(6), repeat=2) if way[0] < way[1] and way_out._fits(offers, way)]
    assert fits == [
        (0, 1),
        (0, 2),
        (0, 3),
        (0, 4),
        (1, 2),
        (1, 3),
        (1, 4),
        (1, 5),
        (2, 3),
        (2, 4),
        (2, 5),
        (3, 5),
        (4, 5),
    ]
    grade = Offers(None, np.array(["material", "grade"], object), [], None, None, None)
    assert "grade" in MATERIAL
    assert not way_out._fits(grade, (0, 1))


def test_what_a_material_tells_is_no_blank():
    assert [_is_said(told) for told in ("heart", "none", "mixed", None, 3.0)] == [True, False, False, False, False]


def test_a_material_alone_is_an_offer_of_lumber():
    project = facts_of(Lists(SITE, [POST, RAIL], [JOINT])).project
    made = material_offer({"material": "white oak 4x4", "grade": "No. 2"}, project, KNOWN)
    assert (made.column.tolist(), made.sort.tolist(), made.writes) == (
        ["material"],
        ["lumber"],
        [{"material": "white oak 4x4", "grade": "No. 2"}],
    )
    assert made.frame[["species", "grade"]].iloc[0].tolist() == ["white oak", "No. 2"]
    assert made.effort.tolist() == [EFFORT_OF_MATERIAL]
    assert made.common.tolist() == [0]


def test_the_common_woods_cost_less_effort():
    offers, rows = part_offers(facts_of(Lists(SITE, [POST, RAIL], [JOINT])))
    table = {row["choice"]: row for row in KNOWN.table("material_choices").records() if row["scheme"] in ("us", "both")}
    for at in map(int, offers.rows_of("material")):
        told = table[offers.writes[at]["material"]]
        assert offers.common[at] == float(told["common"])
        assert offers.effort[at] == EFFORT_OF_MATERIAL + float(told["common"])
        assert offers.sort[at] == told["sort"]
    others = np.flatnonzero(offers.column != "material")
    assert set(offers.common[others]) == {0}
    assert set(offers.sort[others]) == {""}
    assert {offers.sort[at] for at in rows[0]} == {"lumber", ""}


def test_a_wood_of_both_schemes_is_offered_in_each(tmp_path):
    """A row of the table changed as somebody would who sells it on both sides of the ocean."""
    folder = tmp_path / "data"
    shutil.copytree(KNOWN.folder, folder)
    table = folder / "tables" / "material_choices.csv"
    text = table.read_text(encoding="utf-8")
    assert text.count("\nredwood heartwood,us,") == text.count("\nDouglas-fir heartwood,us,") == 1
    table.write_text(text.replace("redwood heartwood,us,", "redwood heartwood,both,"), encoding="utf-8")
    european = SITE.replace("Madison, WI", "Helsinki").replace("us", "eu")
    for settings, others in ((SITE, True), (european, False)):
        offers, _ = part_offers(facts_of(Lists(settings, [POST, RAIL], [JOINT]), Library(folder)))
        names = [cells["material"] for cells in offers.writes if "material" in cells]
        assert names.count("redwood heartwood") == 1
        assert ("Douglas-fir heartwood" in names) == others


@pytest.mark.parametrize(("product", "sort"), [("lumber", "lumber"), ("glulam", "lumber"), (None, "lumber"), ("round", "round"), ("plywood", "panel"), ("MDF", "panel")])  # fmt: skip
def test_what_stands_in_for_a_product(product, sort):
    assert sort_of(product) == sort


def test_the_knowledge_handed_in_is_the_one_that_is_asked(tmp_path):
    """Another library in memory, the same files: what is worked out anew keeps it."""
    known = Library(KNOWN.folder)
    assert known is not KNOWN
    facts = facts_of(Lists(SITE, [POST, RAIL], [JOINT]), known)
    ways = find_ways(facts, OURS)
    made = choose(facts, OURS, ranking(None, None))
    plan = schedule(facts, OURS)
    for one in (ways.after, made.ways.after, made.tried, plan.facts, plan.virtual):
        assert one.library is known


@pytest.mark.parametrize(
    ("method", "because"),
    [("", "how the parts are held is not written"), ("wedges", 'method "wedges" is on no list'), ("dowels", None)],
)
def test_why_a_joint_takes_no_fastener(method, because, tmp_path):
    joint = {"joint": "held", "part_a": "post", "part_b": "rail", "method": method, "fastener": "thing"}
    [advice] = schedule(derive(read(Lists(SITE, [POST, RAIL], [joint]).write(tmp_path))), OURS).advice
    table = KNOWN.table("fastener_methods")
    assert (advice.row, advice.at, advice.avoid, advice.still) == (0, -1, (), ())
    assert advice.because == (because or table.words("because")[table.index[method]])


def test_the_schedule_names_what_costs_less_and_is_rejected():
    """By our rules a plated screw is rejected and nothing else; an oak post is no fault of the screw."""
    joint = JOINT | {"part_a": "post", "part_b": "rail"}
    made = schedule(facts_of(Lists(SITE, [POST | {"material": "white oak"}, RAIL], [joint])), OURS)
    [advice] = made.advice
    taken = made.virtual.joints.iloc[advice.at]
    assert taken["coating_kind"] not in PLATED
    assert advice.still == ("no-oak-against-cedar",)
    assert {coat for (_, _, coat), _ in advice.avoid} <= set(PLATED)
    assert {name for _, name in advice.avoid} == {"no-plated-screw-here"}


def test_a_hinge_keeps_the_screws_that_fit_its_holes():
    """What holds a hinge stays in size and number, in every metal and coat; where no size is written the advised one is taken.

    The count of a joint held as before stays too; another size of its fastener is worked out.
    """
    hung = {"method": "hinge", "size": "#8 x 1 1/4", "count": "6", "hardware": "stainless 304 hinge"}
    joints = [JOINT | hung, JOINT | hung | {"joint": "no size", "size": "", "count": ""}, JOINT | {"joint": "screwed", "size": "#8 x 1 1/4", "count": "7"}]  # fmt: skip
    facts = facts_of(Lists(SITE, [POST, RAIL], joints))
    rows, _, made = sized_offers(facts)
    virtual = derive(made, KNOWN).joints
    own = facts.joints.iloc[0]
    assert set(rows) == {0, 1, 2}
    for name, kept in (("size", own["size"]), ("size_diameter_mm", own["size_diameter_mm"]), ("size_length_mm", own["size_length_mm"]), ("count", 6)):  # fmt: skip
        assert set(virtual[name][rows == 0]) == {kept}
    advised = virtual[rows == 1]
    assert (advised["size"].astype(object) == advised["advised_size"].astype(object)).all()
    screwed = virtual[rows == 2]
    assert set(screwed["count"]) == {7}
    assert (screwed["size"].astype(object) == screwed["advised_size"].astype(object)).all()
    assert (screwed["size_length_mm"] == screwed["fastener_length_mm"]).all()
    assert own["size_length_mm"] not in set(screwed["size_length_mm"])
    assert [pilot == "no" for pilot in virtual["pilot"]] == [word == "never" for word in virtual["bore"]]
