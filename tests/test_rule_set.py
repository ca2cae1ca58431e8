"""The rules as a set: none doubles another, none speaks everywhere, and no cure brings on another stop or fix.

The table is made of the rules' own examples and near misses, each filled up several times with allowed values by chance.
"""

from __future__ import annotations

import functools

import numpy as np
import pytest

from gatepost.clauses import encode_word
from gatepost.judging import load_rules
from gatepost.library import OVERS, library

KNOWN = library()
RULES = load_rules(KNOWN)
FILLINGS = 8


class Table:
    """Encoded columns of rows that are partly given; the rest is drawn, or left unknown when `seed` is None."""

    def __init__(self, over, rows, seed=None):
        self.over, self.rows, self.seed = over, rows, seed
        self.kept = {}

    def get(self, name):
        if name not in self.kept:
            self.kept[name] = self.drawn(name)
        return self.kept[name]

    def drawn(self, name):
        column = KNOWN.register.find(self.over, name)
        values = self.by_chance(column) if self.seed is not None else self.unknown(column)
        for at, row in enumerate(self.rows):
            if name in row:
                values[at] = encode_word(column, row[name])
        return values

    def unknown(self, column):
        return np.full(len(self.rows), encode_word(column, None))

    def by_chance(self, column):
        chance = np.random.default_rng([self.seed, *column.name.encode()])
        if column.is_number:
            low, high = column.bounds or (0, 100)
            return chance.uniform(low, high, len(self.rows))
        places = chance.integers(0, len(column.values), len(self.rows))
        return 1 << places if column.kind == "words" else places


def holds(rule, table):
    """Rows where the rule surely holds."""
    masks = [np.broadcast_to(clause.ask(table)[0], len(table.rows)) for clause in rule.clauses]
    return np.logical_and.reduce(masks)


@functools.cache
def spoken(over):
    """Rule to the rows of the random table on which it holds."""
    mine = [one for one in RULES if one.rule.over == over]
    rows = [{**one.rule.example, **change} for one in mine for change in [{}, *one.rule.near_miss]]
    table = Table(over, rows * FILLINGS, seed=7)
    return {one.rule.rule: holds(one, table) for one in mine}


@pytest.mark.parametrize("over", OVERS)
def test_no_two_rules_speak_alike_and_none_everywhere(over):
    found = spoken(over)
    alike = {}
    for name, rows in found.items():
        assert rows.any(), name
        assert not rows.all(), name
        alike.setdefault(rows.tobytes(), []).append(name)
    assert [names for names in alike.values() if len(names) > 1] == []


@pytest.mark.parametrize("one", [one for one in RULES if one.rule.cured], ids=lambda one: one.rule.rule)
def test_no_cure_brings_on_another_stop_or_fix(one):
    rule = one.rule
    rows = [rule.example, *({**rule.example, **change} for change in rule.cured)]
    table = Table(rule.over, rows)
    for other in RULES:
        if other.rule.over == rule.over and other.rule.severity != "note" and other is not one:
            here = holds(other, table)
            assert here[0] or not here[1:].any(), (rule.rule, other.rule.rule)
