"""The road, a function a stage: read, derive, judge, write."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from .deriving import Facts, derive
from .judging import Compiled
from .reading import read
from .review import Review, review_facts
from .writing.save import write

__all__ = ["derive", "judge", "read", "write"]


def judge(facts: Facts, rules: Sequence[Compiled] | None = None, extra: Sequence[Path] = ()) -> Review:
    """Ask every rule about every row.

    facts  what `derive` returns
    rules  compiled rules, by default those of the library and of the files `extra`
    The findings stand in `.judgement.found`, a frame of rule, over, row; text is made when it is written.
    """
    return review_facts(facts, rules, extra)
