"""The same judge over what the shop could take instead: virtual rows, judged by the very rules of the review."""

from .choose import Chosen, choose, ranking
from .fasteners import Advice, Schedule, schedule
from .settled import Why, settled, why
from .solving import Ways, find_ways
from .way_out import Way

__all__ = [
    "Advice",
    "Chosen",
    "Schedule",
    "Way",
    "Ways",
    "Why",
    "choose",
    "find_ways",
    "ranking",
    "schedule",
    "settled",
    "why",
]
