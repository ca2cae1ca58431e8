"""The rules as one set: none says what another says, none always speaks, and no cure brings a new stop or fix."""

from __future__ import annotations

import numpy as np
import pytest

from gatepost.clauses import encode_word
from gatepost.judging import load_rules
from gatepost.library import OVERS, library

KNOWN = library()
RULES = load_rules(KNOWN)
TIMES = 40


class Rows:
    """Rows of facts by name; a fact that a row does not hold is unknown, or drawn by chance where a wheel is given."""

    def __init__(self, over, rows, chance=None):
        self.over, self.rows, self.chance, self.kept = over, rows, chance, {}

    def get(self, name):
        if name not in self.kept:
            column = KNOWN.register.find(self.over, name)
            held = [encode_word(column, row.get(name)) for row in self.rows]
            drawn = self.draw(column) if self.chance is not None else held
            self.kept[name] = np.array([h if name in r else d for h, r, d in zip(held, self.rows, drawn, strict=True)])
        return self.kept[name]

    def draw(self, column):
        many = len(self.rows)
        if column.is_number:
            low, high = column.bounds
            return np.floor(
                low + (high - low) * np.where(self.chance.random(many) < 0.3, 0, self.chance.random(many) ** 3)
            )
        if column.kind == "words":
            return 1 << self.chance.integers(0, len(column.values), many)
        return self.chance.integers(0, len(column.values), many)


def fires(rule, rows):
    """Mask of the rows where the rule surely holds."""
    yes = np.ones(len(rows.rows), bool)
    for clause in rule.clauses:
        yes = yes & clause.ask(rows)[0]
    return yes


def of(over):
    return [one for one in RULES if one.rule.over == over]


@pytest.mark.parametrize("over", OVERS)
def test_no_two_rules_are_equal_and_none_always_speaks(over):
    """On rows that begin as each rule's example, the other facts by chance."""
    rules = of(over)
    examples = [one.rule.example for one in rules for _ in range(TIMES)]
    rows = Rows(over, examples, np.random.default_rng(20))
    told = {}
    for number, one in enumerate(rules):
        mask = fires(one, rows)
        assert mask[number * TIMES : (number + 1) * TIMES].all(), one.rule.rule
        assert not mask.all(), one.rule.rule
        key = (mask.tobytes(), one.rule.scheme)
        assert key not in told, (one.rule.rule, told[key])
        told[key] = one.rule.rule


@pytest.mark.parametrize("over", OVERS)
def test_no_rule_speaks_on_rows_of_which_nothing_is_known(over):
    rows = Rows(over, [{}])
    assert [one.rule.rule for one in of(over) if fires(one, rows).any()] == []


CURES = [(one, i) for one in RULES for i in range(len(one.rule.cured))]


@pytest.mark.parametrize(("one", "number"), CURES, ids=lambda value: value.rule.rule if hasattr(value, "rule") else "")
def test_a_cure_silences_its_rule_and_trips_no_other_stop_or_fix(one, number):
    rule = one.rule
    rows = Rows(rule.over, [rule.example, {**rule.example, **rule.cured[number]}])
    new = [
        other.rule.rule
        for other in of(rule.over)
        if other.rule.severity != "note" and list(fires(other, rows)) == [False, True]
    ]
    assert new == []
    assert not fires(one, rows)[1]


def test_every_rule_but_reminders_says_how_it_is_cured():
    assert [one.rule.rule for one in RULES if not one.rule.cured] == []
