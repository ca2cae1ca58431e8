"""Ways out of a whole project: parts first, then the joints as the changed parts leave them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..deriving import Facts, derive
from ..judging import Compiled
from .joints import joint_offers
from .offers import Offers, part_offers
from .virtual import judged
from .way_out import Search, Way, applied, ways_out


@dataclass(frozen=True)
class Ways:
    """Ways out of parts and joints with the offers they point into, and the facts of the project once all are taken.

    cleared  joints that failed and hold once the parts are changed
    """

    parts: list[Way]
    joints: list[Way]
    part_offers: Offers
    joint_offers: Offers
    part_rows: dict[int, np.ndarray]
    joint_rows: dict[int, np.ndarray]
    after: Facts
    cleared: frozenset[int]


def find_ways(facts: Facts, rules: Sequence[Compiled]) -> Ways:
    """Search for every failing part, then for every joint that fails beside the parts so changed."""
    known = facts.library
    offers, rows = part_offers(facts)
    parts = ways_out(Search.of(facts, "parts", rules, offers, rows))
    between = derive(applied(facts.project, parts, offers, known), known)
    own, own_rows = joint_offers(between)
    search = Search.of(between, "joints", rules, own, own_rows)
    joints = ways_out(search)
    after = derive(applied(between.project, joints, own, known), known)
    cleared = frozenset(judged(facts, "joints", rules).failing) - frozenset(search.before.failing)
    return Ways(parts, joints, offers, own, rows, own_rows, after, cleared)
