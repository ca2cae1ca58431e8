"""Parts that joints tie together: joints that take or refuse choices as they are told here, everything counted by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from gatepost.choosing import group, savings
from gatepost.choosing.choose import Chosen, _alternatives, _assign, _listed
from gatepost.choosing.group import NEVER, Ranked, cheapest
from gatepost.choosing.joint_costs import JointCosts
from gatepost.choosing.offers import Offers
from gatepost.choosing.pairs import Pairs


class Joints:
    """Joints that are told: by joint and choices of its parts the ways that pass, each a number, 0 the cheapest."""

    def __init__(self, ends, passing, ranked, ways=2):
        self.ends, self.told, self.ranked = ends, passing, ranked
        self.options = [[(way,) for way in range(ways)] for _ in ends]
        self.fetched = []

    def fetch(self, keys):
        self.fetched += keys

    def passing(self, at, first, second):
        return [(way,) for way in self.told(at, first, second)]

    def best(self, at, first, second):
        return next(iter(self.passing(at, first, second)), ())

    def __call__(self, at, first, second):
        ways = self.passing(at, first, second)
        return 1e-11 * ways[0][0] if ways else NEVER

    def least(self, _):
        return 0.0

    def holds_with(self, asked):
        return [way in self.passing(at, first, second) for at, first, second, way in asked]


def ranks(*costs):
    """Rankings with so many choices each: the first keeps the row, each other takes a material of its own."""
    return {
        part: Ranked([(), *((at,) for at in range(1, len(mine)))], np.arange(len(mine)), np.array(mine, float))
        for part, mine in enumerate(costs)
    }


def taken(joints, count):
    out = Chosen(SimpleNamespace(after=SimpleNamespace(parts=range(count))), joints.ranked, None, {}, {}, {})
    _assign(out, joints)
    _alternatives(out, joints)
    return out


def test_a_joint_moves_the_choice_of_its_parts_and_no_other():
    """Joint 0 refuses the first choice of part 0; part 2 and its joint to itself, and a joint of no listed part, stay."""
    joints = Joints(
        [(0, 1), (2, 2), (-1, 0)], lambda at, i, k: [] if at == 0 and i == 0 else [1], ranks([0, 5, 9], [0, 3], [0, 1])
    )
    made = taken(joints, 3)
    assert made.taken == {0: 1, 1: 0, 2: 0}
    assert made.joints == {0: ((1,), [(1,)]), 1: ((1,), [(1,)])}
    assert joints.fetched == [(0, 0, 0), (1, 0, 0)]
    assert made.others == {0: [1, 2], 1: [0, 1], 2: [0, 1]}
    assert (made.unproven, made.broken) == (False, [])


def test_the_cheaper_of_two_moves_is_taken():
    """Both firsts do not hold together: part 1 moves for 3, part 0 would for 5."""
    made = taken(Joints([(0, 1)], lambda at, i, k: [] if i == k == 0 else [0], ranks([0, 5], [0, 3])), 2)
    assert made.taken == {0: 0, 1: 1}
    assert made.others == {0: [0, 1], 1: [1]}


def test_a_joint_of_a_part_that_is_no_wood_is_chosen_beside_it():
    """Part 1 is no wood and has one choice; the joint's other end moves."""
    made = taken(Joints([(0, 1), (1, 0)], lambda at, i, k: [0] if (i, k)[at] == 1 else [], ranks([0, 5])), 2)
    assert made.taken == {0: 1, 1: 0}
    assert set(made.joints) == {0, 1}


def test_a_joint_that_nothing_satisfies_is_named_and_the_rest_is_chosen():
    joints = Joints([(1, 1), (0, 2)], lambda at, i, k: [] if at == 1 or i == 0 else [0], ranks([0, 1], [0, 2], [0, 4]))
    made = taken(joints, 3)
    assert (made.broken, made.taken[1], made.joints[1]) == ([1], 1, ((), []))
    assert [made.broken_in(mine, joints.ends) for mine in ([0, 2], [1])] == [True, False]
    assert not made.unproven


def test_what_is_broken_is_left_out_where_fasteners_are_paid():
    """Parts 0 and 1 save at their fastener as below; the joint of part 2 never holds, and its choice stays as it was found."""
    joints = Joints(
        [(0, 1), (2, 2)], lambda at, i, k: [] if at == 1 else [0] if i == 1 else [1], ranks([0, 3], [0, 20], [0, 1])
    )
    joints.part_offers = Offers(None, np.array(["material"] * 3, object), [], None)
    joints.joint_offers = Offers(None, np.array(["fastener"] * 2, object), [], None)
    table = np.array([[0.0, 1.0, 10.0]] * 2)
    out = Chosen(
        SimpleNamespace(after=SimpleNamespace(parts=range(3))),
        joints.ranked,
        None,
        {},
        {},
        {},
        None,
        JointCosts(table, 0 * table, np.ones(2)),
    )
    _assign(out, joints)
    assert (out.taken, out.broken) == ({0: 1, 1: 0, 2: 0}, [1])
    assert out.joints == {0: ((0,), []), 1: ((), [])}


def test_choices_around_the_one_asked_are_judged_with_it():
    """Four of each part at the least; of parts with fewer no more than there are; of a part with itself the same twice."""
    asked = []
    stub = SimpleNamespace(
        known={(0, 3, 4): (7.0, (), []), (1, 1, 1): (8.0, (), [])},
        ends=[(0, 1), (2, 2)],
        options=[range(4000), range(4000)],
        _count=[5, 9, 3].__getitem__,
    )
    stub.fetch = lambda keys: asked.append(keys) or stub.known.update({keys[0]: (5.0 + keys[0][0], (), [])})
    assert (Pairs.__call__(stub, 0, 3, 4), asked) == (7, [])
    assert Pairs.__call__(stub, 0, 2, 4) == 5
    assert Pairs.__call__(stub, 1, 0, 0) == 6
    assert asked == [[(0, i, k) for i in (2, 3, 4) for k in (4, 5, 6, 7)], [(1, at, at) for at in (0, 1, 2)]]
    stub.options = [range(40)]
    stub.known, stub._count = {}, lambda part: 99
    Pairs.__call__(stub, 0, 2, 4)
    assert asked[2] == [(0, i, k) for i in range(2, 12) for k in range(4, 14)]


def test_one_group_too_large_marks_the_whole(monkeypatch):
    """The first group gives up, the second is proven: the whole is not proven."""
    monkeypatch.setattr(group, "MOST_STATES", 3)
    costs = [[0, 1, 2, 3], [0, 1, 2, 3], [0.0]]
    assert taken(Joints([(0, 1)], lambda at, i, k: [0] if i == k == 3 else [], ranks(*costs)), 3).unproven
    assert not taken(Joints([(0, 1)], lambda at, i, k: [0], ranks(*costs)), 3).unproven


def test_what_breaks_the_fewest_joints_stands_where_nothing_holds():
    """Joint 1 never holds; joint 0 holds with the second choice of part 0, so that is nearest."""
    made = cheapest([np.array([0.0, 1.0]), np.array([0.0])], [(0, 1), (1, 1)], lambda at, i, k: 0.0 if (at, i) == (0, 1) else NEVER, [0.0, 0.0])  # fmt: skip
    assert (made.choice, made.cost, made.proven, made.broken) == ((1, 0), NEVER, True, (1,))


def test_what_was_found_stands_where_the_search_gives_up(monkeypatch):
    monkeypatch.setattr(group, "MOST_STATES", 4)
    costs = [np.arange(9.0), np.arange(9.0)]
    made = cheapest(costs, [(0, 1)], lambda at, i, k: 50.0 - i - k, [0.0])
    assert (made.proven, made.broken) == (False, ())
    assert made.cost == sum(made.choice) + 50.0 - sum(made.choice) == 50


def saved(costs, fasteners, passing=lambda at, i, k: [0, 1], ends=((0, 1),), materials=None, years=1.0, now=None):
    """Places that cost less with the fasteners, of parts whose first choices are taken."""
    count = max(len(mine) for mine in costs)
    column = np.array(materials or ["material"] * (count + 1), object)
    joints = Joints(list(ends), passing, ranks(*costs))
    joints.part_offers = Offers(None, column, [], None, None, None)
    joints.joint_offers = Offers(None, np.array(["fastener", "fastener"], object), [], None, None, None)
    table = np.array([[0.0, *fasteners]] * len(ends))
    money = JointCosts(table, np.zeros_like(table), np.full(len(ends), years))
    parts = sorted({part for pair in ends for part in pair})
    return savings.with_fasteners([parts], now or dict.fromkeys(parts, 0), joints, money), joints


def test_a_dearer_wood_that_saves_more_at_its_fasteners_is_taken():
    """The first wood needs the fastener of 10; the second, 3 dearer, holds with that of 1: 4 is less than 10."""
    steel = lambda at, i, k: [0] if i == 1 else [1]  # noqa: E731
    assert saved([[0, 3], [0, 20]], (1.0, 10.0), steel)[0] == {0: 1, 1: 0}
    assert saved([[0, 9.5], [0, 20]], (1.0, 10.0), steel)[0] == {0: 0, 1: 0}
    assert saved([[0, 3], [0, 20]], (1.0, 10.0), steel, years=4.0)[0] == {0: 0, 1: 0}  # 3 against 9 / 4 a year
    assert saved([[0, 0.4], [0, 20]], (0.25, 0.75), steel)[0] == {0: 1, 1: 0}


def test_of_each_material_the_cheapest_is_looked_at_and_no_more_than_four():
    """Options 2 and 4 are finishes of the wood as it is; what costs more than the fasteners may save is not asked."""
    columns = ["material", "material", "finish", "material", "finish", "material", "material", "material", "material"]
    made, joints = saved([[0, 1, 2, 3, 4, 5, 6, 7, 30], [0]], (1.0, 10.0), lambda at, i, k: [1], materials=columns)
    assert joints.fetched == [(0, place, 0) for place in (0, 1, 3, 5)]
    assert made == {0: 0, 1: 0}
    _, joints = saved([[0, 1, 2, 3, 30], [0, 8, 9, 10]], (1.0, 10.0), lambda at, i, k: [1])
    assert joints.fetched == [(0, i, k) for i in (0, 1, 2, 3) for k in (0, 1)]
    _, joints = saved([[0, 1]], (1.0, 10.0), lambda at, i, k: [1], ends=((0, 0),))
    assert joints.fetched == [(0, 0, 0), (0, 1, 1)]


def test_where_the_search_gives_up_the_choices_stay(monkeypatch):
    """The cheaper first choice of part 0 does not hold; the search stops before it comes to the second, that is taken."""
    asked = [[0, 3], [0, 1]], (1.0, 10.0), lambda at, i, k: [1] if i == 1 else []
    assert saved(*asked, now={0: 1, 1: 0})[0] == {0: 1, 1: 0}
    monkeypatch.setattr(group, "MOST_STATES", 2)
    assert saved(*asked, now={0: 1, 1: 0})[0] == {}


@pytest.mark.parametrize(("taken_place", "listed"), [(59, 60), (60, 61), (69, 61)])
def test_the_taken_option_is_listed_beyond_the_first_sixty(taken_place, listed):
    places = _listed(Ranked([()] * 70, np.arange(70), np.arange(70.0)), taken_place)
    assert (len(places), taken_place in places, places[:60]) == (listed, True, list(range(60)))
