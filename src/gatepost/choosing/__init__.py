"""The same judge over what the shop could take instead: virtual rows, judged by the very rules of the review."""

from .fasteners import Advice, Schedule, schedule

__all__ = ["Advice", "Schedule", "schedule"]
