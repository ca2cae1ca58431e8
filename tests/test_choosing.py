"""Choosing: the cheapest group against brute force, ways out against exhaustion, and both written as text and reviewed again."""

from __future__ import annotations

import random
from collections import defaultdict
from dataclasses import replace
from importlib import import_module
from itertools import combinations, product

import numpy as np
import pandas as pd
import pytest

from choosing_cases import KNOWN, WRITTEN, Lists, some_project, with_shelf
from gatepost.choosing import choose, find_ways, ranking, savings
from gatepost.choosing.group import NEVER, cheapest
from gatepost.choosing.offers import WITH
from gatepost.choosing.pairs import Pairs
from gatepost.deriving import derive
from gatepost.judging import load_rules
from gatepost.reading import read
from gatepost.reading.choices import choices_frame
from gatepost.reading.files import csv_rows
from gatepost.reading.sizes import Context
from gatepost.reading.stock import read_stock
from gatepost.review import review, review_facts
from gatepost.writing.choose_sheet import choose_out

RULES = list(load_rules(KNOWN))
chosen = import_module("gatepost.choosing.choose")
LISTS = ("parts", "joints")
ORDINARY, THOROUGH_ROWS = 4, 10_000


@pytest.mark.parametrize("seed", range(300))
def test_the_cheapest_group_is_that_of_brute_force(seed):
    """Outside the project: every assignment is counted."""
    rng = random.Random(seed)
    costs = [
        np.sort([rng.randint(0, 9) for _ in range(rng.randint(1, 5))]).astype(float) for _ in range(rng.randint(1, 4))
    ]
    joints = [tuple(rng.choices(range(len(costs)), k=2)) for _ in range(rng.randint(0, 5))]
    paid = {
        (at, i, k): NEVER if rng.random() < 0.4 else rng.choice([0.0, 0.5, 1.0, 3.0])
        for at, (a, b) in enumerate(joints)
        for i, k in product(range(len(costs[a])), range(len(costs[b])))
    }
    least = [
        min([cost for key, cost in paid.items() if key[0] == at and cost < NEVER], default=0.0)
        for at in range(len(joints))
    ]

    def whole(choice):
        ends = (paid[at, choice[a], choice[b]] for at, (a, b) in enumerate(joints))
        return sum(float(cost[i]) for cost, i in zip(costs, choice, strict=True)) + sum(ends)

    best = min(whole(choice) for choice in product(*(range(len(cost)) for cost in costs)))
    made = cheapest(costs, joints, lambda at, i, k: paid[at, i, k], least)
    assert made.proven
    assert made.cost == pytest.approx(best)
    if best < NEVER:
        assert whole(made.choice) == pytest.approx(best)
        assert not made.broken
    else:
        assert made.broken


def grave(found):
    """By list and row: the rules that stop or ask for a fix."""
    out = defaultdict(set)
    for one in found.found:
        if one.rule.rule.severity in ("stop", "fix"):
            out[one.over, one.row].add(one.rule.rule.rule)
    return out


def undecided(found):
    """By list and row: such rules that wait for a fact."""
    out, rules = defaultdict(set), found.judgement.rules
    for number, over, row, _ in found.judgement.waiting.itertuples(index=False):
        if rules[number].rule.severity in ("stop", "fix"):
            out[over, row].add(rules[number].rule.rule)
    return out


def reviewed(lists, folder):
    return review(read(lists.write(folder)), RULES)


# Ways out are the smallest: every single change, and for some every pair, is written into a list as text and reviewed.


def single_changes(over, scheme):
    """What the tables offer besides fasteners and advice worked out for one part, as cells of the list."""
    out = [{row["column"]: row["value"]} for row in KNOWN.table("way_values").records() if row["list"] == over]
    if over == "parts":
        for row in KNOWN.table("finish_choices").records():
            out.append({"finish": row["choice"]} | ({"upkeep": row["upkeep_years"]} if row["upkeep_years"] else {}))
        out += [
            _material(row) for row in KNOWN.table("material_choices").records() if row["scheme"] in (scheme, "both")
        ]
    return out


def _material(row):
    told = {name: row[name] for name in WITH["material"] if row.get(name)}
    plain = {"incised": "no"} if row["treatment"] != "none" else {}
    return {"material": row["choice"], **plain, **told, "origin": "new"}


def clears(lists, over, row, changes, folder):
    """The changes of one row that leave it with no stop and no fix, and no new one undecided; each is a row of its own."""
    here = getattr(lists, over)[row]
    tried = replace(lists, **{over: [here, *(here | change for change in changes)]})
    found = reviewed(tried, folder)
    bad, waits = grave(found), undecided(found)
    assert bad[over, 0]
    return [
        change for at, change in enumerate(changes, 1) if not bad[over, at] and not waits[over, at] - waits[over, 0]
    ]


def fits(one, other):
    return not set(one) & set(other)


def some_parts(seed, count):
    """Parts alone, their sizes in their own columns."""
    lists = some_project(random.Random(seed), count)
    parts = [row | {"thickness": "45 mm", "width": "95 mm"} for row in lists.parts]
    return replace(
        lists, parts=parts, joints=[{"joint": "none", "part_a": "part 0", "part_b": "part 0", "method": "dowels"}]
    )


def sort_fits(change, product):
    kind = {"lumber": "lumber", "glulam": "lumber", "round": "round"}.get(product, "panel")
    kinds = {"lumber": "lumber", "round": "round"}
    return "material" not in change or kinds.get(change["product"], "panel") == kind


@pytest.mark.parametrize("seed", [1, 3, 7])
def test_no_smaller_change_clears_a_part(seed, tmp_path):
    lists = some_parts(1000 + seed, 40)
    facts = derive(read(lists.write(tmp_path)))
    ways, scheme = find_ways(facts, RULES), facts.project.scheme
    large = [way for way in ways.parts if len(way.offers) != 1 and way.row in ways.part_rows]
    assert large
    pairs = 2
    for way in large[:8]:
        kind = facts.parts["product"].iat[way.row]
        changes = [
            change
            for change in single_changes("parts", scheme)
            if sort_fits(change, kind if isinstance(kind, str) else "lumber")
        ]
        assert not clears(lists, "parts", way.row, changes, tmp_path), way
        if len(way.offers) != 2 and pairs:
            pairs -= 1
            both = [one | other for one, other in combinations(changes, 2) if fits(one, other)]
            assert not clears(lists, "parts", way.row, both, tmp_path), way


@pytest.mark.parametrize("seed", range(3))
def test_no_single_change_clears_a_joint_whose_way_out_is_longer(seed, tmp_path):
    lists = some_project(random.Random(2000 + seed), 12)
    made = find_ways(derive(read(lists.write(tmp_path))), RULES)
    out = {("parts", way.row): dict(_cells(made.part_offers, way)) for way in made.parts}
    beside = lists.changed(out)
    for way in [way for way in made.joints if len(way.offers) != 1]:
        scheme = "us" if "scheme: us" in lists.settings else "eu"
        assert not clears(beside, "joints", way.row, single_changes("joints", scheme), tmp_path), way


def _cells(offers, way):
    return [cell for at in way.offers for cell in offers.writes[at].items()]


# Random projects: what is chosen is written into the lists as text, by column, and reviewed again.


class Case:
    """One project, what was chosen for it, and the changes of its JSON."""

    def __init__(self, lists: Lists, folder) -> None:
        self.lists, self.folder = lists, folder
        self.facts = derive(read(lists.write(folder)))
        self.found = review_facts(self.facts, RULES)
        self.made = choose(self.facts, RULES, ranking(None, self.facts.project.prices))
        self.out = choose_out(self.made, self.found, self.facts.project.units)
        self.rows = {(over, at): one for over in LISTS for at, one in enumerate(getattr(self.out, over))}
        self.waits = undecided(self.found)

    @property
    def ways(self):
        return {
            key: {change.column: change.to for change in one.way_out} for key, one in self.rows.items() if one.way_out
        }

    def choices(self, key):
        """List, choice of each of a row."""
        return [(name, choice) for name, choices in (self.rows[key].choices or {}).items() for choice in choices]

    def firsts(self, but=()):
        """Ways out, with the first choices beside them; of the row and lists in `but` the ways alone."""
        out = {key: dict(cells) for key, cells in self.ways.items()}
        for key in self.rows:
            for name, choice in self.choices(key):
                if choice.rank == 1 and (key, name) not in but:
                    out.setdefault(key, {}).update(choice.set)
        return out

    def left(self, changes):
        """Rows that the review still rejects with the changes, and those with rules that no longer are decided."""
        again = reviewed(self.lists.changed(changes), self.folder)
        waits = {key: names - self.waits[key] for key, names in undecided(again).items()}
        return self._told(grave(again)), self._told(waits), again

    def _told(self, rules):
        broken = {("joints", row) for row in self.made.broken}
        return {
            key: names
            for key, names in rules.items()
            if names and key in self.rows and not self.rows[key].blocked_by and key not in broken
        }


MATERIALS = ("species", "treatment", "panel")


def check(case, rng, alternatives=1):
    """All properties of one project."""
    start = grave(case.found)
    for key, one in case.rows.items():
        if start[key]:
            cleared = key[0] == "joints" and key[1] in case.made.ways.cleared
            assert one.way_out or one.blocked_by or cleared, (key, start[key])
    _only_choices(case)
    parts = {key: cells for key, cells in case.ways.items() if key[0] == "parts"}
    bad, waits, _ = case.left(parts)
    assert not {key: names for key, names in bad.items() if key[0] == "parts"}
    assert not {key: names for key, names in waits.items() if key[0] == "parts"}
    _wait_too(case, waits)  # a joint may have to wait for a fact once its part is of another wood
    bad, waits, again = case.left(case.ways)
    assert not bad
    assert not waits
    bad, waits, again = case.left(case.firsts())
    assert not bad
    assert not {key: names for key, names in waits.items() if key[0] == "parts"}
    _nothing_forgotten(case, again)
    _wait_too(case, waits)
    for key, name, choice in rng.sample(others := _others(case), min(alternatives, len(others))):
        drop = {(key, other) for other in (MATERIALS if name in MATERIALS else (name,))}
        changes = case.firsts(drop)
        changes[key] = changes.get(key, {}) | choice.set
        bad, waits, _ = case.left(changes)
        assert not bad, (key, name, choice)


def _wait_too(case, waits):
    for key, names in waits.items():
        if key[0] == "joints":
            case.waits[key] |= names


def _others(case):
    return [(key, name, choice) for key in case.rows for name, choice in case.choices(key) if choice.rank > 1]


def _only_choices(case):
    """No choice and no way out touches what the shop has not in its hand, nor leaves a cell blank."""
    sets = [(key[0], cells) for key, cells in case.ways.items()]
    sets += [(key[0], choice.set) for key in case.rows for _, choice in case.choices(key)]
    for over, cells in sets:
        for column, text in cells.items():
            assert WRITTEN[over][column].side == "choice", (over, column)
            assert text.strip() not in ("", "-", "?", "unknown"), (over, column)


def _nothing_forgotten(case, again):
    """Sizes, exposure and every other fact of the situation read as before."""
    before = case.facts.project
    for over in LISTS:
        old, new = getattr(before, over), getattr(again.facts.project, over)
        for column in WRITTEN[over].values():
            if column.side == "situation" and column.name not in _defaulted(over):
                for at, (one, other) in enumerate(zip(old[column.name], new[column.name], strict=True)):
                    same = one == other or (one != one and other != other) or (one is None and other is None)
                    within = 0.08 if column.name.endswith("_mm") else 1e-3  # sizes of the tables are told in sixteenths
                    near = isinstance(one, float) and isinstance(other, float) and abs(one - other) < within
                    assert same or near, (over, at, column.name, one, other)


def _defaulted(over):
    """Facts that a blank takes from another column: the angle of a batten."""
    names = [row["column"] for row in KNOWN.table("defaults").records() if row["list"] == over]
    return {WRITTEN[over][name].name if name in WRITTEN[over] else name for name in names}


@pytest.mark.parametrize("seed", range(ORDINARY))
def test_what_is_chosen_passes_the_review(seed, tmp_path):
    rng = random.Random(seed)
    lists = some_project(rng)
    case = Case(lists, tmp_path)
    check(case, rng)
    if seed % 10 == 0:
        assert Case(lists, tmp_path).out.model_dump_json() == case.out.model_dump_json()


@pytest.mark.parametrize("seed", range(3))
def test_of_the_stock_only_what_it_holds_is_offered_and_passes(seed, tmp_path):
    rng = random.Random(seed)
    lists = with_shelf(some_project(rng), rng)
    case = Case(lists, tmp_path)
    check(case, rng)
    written = [
        choice.set["material"] for key in case.rows for _, choice in case.choices(key) if "material" in choice.set
    ]
    written += [cells["material"] for cells in case.ways.values() if "material" in cells]
    assert written
    assert all(any(text.startswith(name) for name in lists.shelf) for text in written)


@pytest.mark.parametrize("scheme", ["us", "eu"])
def test_a_stock_of_names_alone_offers_what_the_tables_offer_under_these_names(scheme):
    rows = [row for row in KNOWN.table("material_choices").records() if row["scheme"] in (scheme, "both")]
    text = "\n".join(["material", *(f'"{row["choice"]}"' for row in rows)])
    made = read_stock(csv_rows(text.encode(), "stock.csv"), KNOWN, Context("mm", scheme))
    assert not made.said
    columns = list(dict.fromkeys(name for row in made.materials for name in row))
    ours, theirs = (
        choices_frame(
            columns, [[row.get(name, "") for name in columns] for row in cells], "parts", Context("mm", scheme), KNOWN
        )
        for cells in (made.materials, [_material(row) for row in rows])
    )
    facts = [name for name in ours if name not in ("part", "material", "treatment")]
    pd.testing.assert_frame_equal(ours[facts], theirs[facts], rtol=0.01)
    for mine, row in zip(made.materials, rows, strict=True):
        assert set(_material(row)) <= set(mine), row["choice"]


PRICES = (KNOWN.folder / "demo" / "sound" / "prices.csv").read_text(encoding="utf-8")


@pytest.mark.parametrize("seed", [3, 6, 9, 17])
def test_parts_and_fasteners_together_cost_what_brute_force_says(seed, tmp_path, monkeypatch):
    """Outside the project: every assignment of the nearest materials is counted. The prices are the demo's, invented."""
    rng = random.Random(seed)
    lists = some_project(rng, 4)
    while "scheme: us" not in lists.settings:
        lists = some_project(rng, 4)
    (tmp_path / "prices.csv").write_text(PRICES, encoding="utf-8")
    lists = replace(lists, settings=lists.settings + "prices: prices.csv\n")
    monkeypatch.setattr(savings, "NEAREST", 3)
    asked = []
    monkeypatch.setattr(chosen, "with_fasteners", lambda *told: asked.append(told) or savings.with_fasteners(*told))
    found = Case(lists, tmp_path)
    check(found, rng)
    (groups, before, pairs, money), made = asked[0], found.made
    for group in groups:
        near = savings._Nearest(group, before, pairs, money)
        joints = [at for at, ends in enumerate(pairs.ends) if ends[0] in group and ends[1] in group]

        def whole(places, near=near, joints=joints, group=group):
            at = dict(zip(group, places, strict=True))
            parts = sum(float(pairs.ranked[part].costs[place]) for part, place in at.items() if part in pairs.ranked)
            return parts + sum(near._paid(j, at[pairs.ends[j][0]], at[pairs.ends[j][1]]) for j in joints)

        best = min(whole(places) for places in product(*near.places))
        assert whole([made.taken[part] for part in group]) == pytest.approx(best)


def test_an_option_that_is_left_out_passes_with_no_material():
    rng = random.Random(4)
    facts = derive(read(KNOWN.folder / "demo" / "faulty" / "project.yaml"))
    made = choose(facts, RULES, ranking("life", None))
    base, ways = made.ways.after, made.ways
    pairs = Pairs(base, RULES, ways.part_offers, ways.joint_offers, ways.joint_rows, made.ranked)
    lost = 0
    for at, (a, b) in enumerate(pairs.ends):
        gone = [way for way in pairs._options(at) if way not in pairs.options[at]] if min(a, b) >= 0 else []
        lost += len(gone)
        tried = [
            (at, i, k, way)
            for way in gone[:6]
            for i, k in product(some(made, a, rng), some(made, b, rng))
            if a != b or i == k
        ]
        assert not any(pairs.holds_with(tried))
    assert lost


def some(made, part, rng):
    """Some places in the ranking of a part."""
    count = len(made.ranked[part].options) if part in made.ranked else 1
    return rng.sample(range(count), min(4, count))


@pytest.mark.thorough
def test_what_is_chosen_passes_the_review_for_ten_thousand_rows(tmp_path):
    rows, seed = 0, 10_000
    while rows < THOROUGH_ROWS:
        seed += 1
        rng = random.Random(seed)
        lists = some_project(rng)
        lists = with_shelf(lists, rng) if seed % 4 == 0 else lists
        rows += len(lists.parts) + len(lists.joints)
        case = Case(lists, tmp_path)
        try:
            check(case, rng, 3)
        except AssertionError as error:
            raise AssertionError(f"project of seed {seed}") from error
        assert Case(lists, tmp_path).out.model_dump_json() == case.out.model_dump_json(), seed
