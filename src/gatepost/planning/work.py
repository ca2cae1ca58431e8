"""What to buy, what to brush on cuts, in which order to work."""

from __future__ import annotations

from dataclasses import dataclass

from ..choosing import Schedule
from ..deriving import Facts
from .boards import Wood, wood
from .cuts import Cut, brush, cuts
from .steps import Due, due
from .supplies import Coats, FastenerOrder, GlueOrder, Tin, coats, fasteners, glues, tins


@dataclass(frozen=True)
class Work:
    """All of it for one project.

    brushes  for each part with a cut in treated stock: what the list says the cut got, and what it should get
    """

    facts: Facts
    schedule: Schedule
    wood: Wood
    fasteners: list[FastenerOrder]
    coats: list[Coats]
    tins: list[Tin]
    glues: list[GlueOrder]
    cuts: list[Cut]
    brushes: dict[int, tuple[str, str]]
    steps: list[Due]


def plan(facts: Facts, schedule: Schedule) -> Work:
    """Plan the work.

    facts     what `derive` returns
    schedule  what `choosing.schedule` returns for the same facts
    """
    opened = cuts(facts)
    brushes = {cut.part: brush(facts, cut.part) for cut in opened}
    bought, laid = fasteners(schedule), coats(facts)
    return Work(facts, schedule, wood(facts), bought, laid, tins(laid), glues(facts), opened, brushes, due(facts))
