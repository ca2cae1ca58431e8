"""What can hurt someone, and the stage of the work at which it does."""

from __future__ import annotations

from dataclasses import dataclass

from ..library import Library
from ..review import Found, Review
from .steps import STAGES

SAFETY, ANY_TIME = "safety", "any time"


@dataclass(frozen=True)
class Care:
    """Findings of one rule of safety, and the stage of the work; `number` runs through the sheet from 1."""

    number: int
    stage: str
    found: tuple[Found, ...]


def cares(review: Review) -> list[Care]:
    """What this project must take care of, stage by stage; a shop's own rule that names no stage counts for any time."""
    alike: dict[str, list[Found]] = {}
    for one in review.found:
        if one.rule.rule.topic == SAFETY:
            alike.setdefault(one.rule.rule.rule, []).append(one)
    order = (*STAGES, ANY_TIME)
    stages = {rule: _stage(rule, review.facts.library) for rule in alike}
    rules = sorted(alike, key=lambda rule: order.index(stages[rule]))
    return [Care(number, stages[rule], tuple(alike[rule])) for number, rule in enumerate(rules, 1)]


def _stage(rule: str, known: Library) -> str:
    table = known.table("safety_stages")
    return table.words("stage")[table.index[rule]] if rule in table.index else ANY_TIME
