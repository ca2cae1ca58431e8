"""What the bench and the merchant need to know: what to buy, what to brush on cuts, in which order to work."""

from __future__ import annotations

from dataclasses import dataclass

from ..choosing import Schedule
from ..deriving import Facts
from .boards import BoardOrder, SheetOrder, Wood, wood
from .cuts import Cut, brush, cuts
from .packing import Plan, pack
from .sheets import SheetPlan, sheets
from .steps import STAGES, Due, due
from .supplies import Coats, FastenerOrder, GlueOrder, coats, fasteners, glues

__all__ = [
    "STAGES",
    "BoardOrder",
    "Coats",
    "Cut",
    "Due",
    "FastenerOrder",
    "GlueOrder",
    "Plan",
    "SheetOrder",
    "SheetPlan",
    "Wood",
    "Work",
    "brush",
    "pack",
    "plan",
    "sheets",
    "wood",
]


@dataclass(frozen=True)
class Work:
    """All of it for one project."""

    facts: Facts
    schedule: Schedule
    wood: Wood
    fasteners: list[FastenerOrder]
    coats: list[Coats]
    glues: list[GlueOrder]
    cuts: list[Cut]
    steps: list[Due]


def plan(facts: Facts, schedule: Schedule) -> Work:
    """Plan the work.

    facts     what `derive` returns
    schedule  what `choosing.schedule` returns for the same facts
    """
    return Work(
        facts,
        schedule,
        wood(facts),
        fasteners(schedule),
        coats(facts),
        glues(facts),
        cuts(facts),
        due(facts),
    )
