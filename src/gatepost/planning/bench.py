"""All that stands on a spec sheet, worked out before a word of it is written."""

from __future__ import annotations

from dataclasses import dataclass

from ..choosing import Ways, find_ways, schedule
from ..deriving.board_year import BoardYear, board_year
from ..review import Review
from .care import Care, cares
from .slots import Slotted, slotted
from .sources import Used, sources
from .work import Work, plan


@dataclass(frozen=True)
class Bench:
    """One project for the bench.

    year      moisture of a plain board at the place
    ways      what clears the findings
    cares     safety, stage by stage
    slots     joints with slotted holes
    sources   works that the figures rest on
    practice  what rests on common practice alone
    """

    review: Review
    work: Work
    year: BoardYear
    ways: Ways
    cares: list[Care]
    slots: list[Slotted]
    sources: list[Used]
    practice: list[str]


def bench(review: Review) -> Bench:
    """Work out the sheet of a review."""
    facts, rules = review.facts, review.judgement.rules
    made = schedule(facts, rules)
    work = plan(facts, made)
    used, practice = sources(facts, made, review.found, work.steps)
    year = board_year(facts.project.climate, facts.library)
    return Bench(review, work, year, find_ways(facts, rules), cares(review), slotted(made), used, practice)
