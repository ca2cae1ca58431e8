"""The road, a function a stage: read, derive, judge, choose, write."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from .choosing import Chosen, ranking
from .choosing import choose as choose_for
from .deriving import Facts, derive
from .judging import Compiled, load_rules
from .planning import bench
from .reading import read
from .review import Review, review_facts
from .writing import save

__all__ = ["choose", "derive", "judge", "read", "write"]


def judge(facts: Facts, rules: Sequence[Compiled] | None = None, extra: Sequence[Path] = ()) -> Review:
    """Ask every rule about every row.

    facts  what `derive` returns
    rules  compiled rules, by default those of the library and of the files `extra`
    The findings stand in `.judgement.found`, a frame of rule, over, row; text is made when it is written.
    """
    return review_facts(facts, rules, extra)


def choose(
    facts: Facts, rules: Sequence[Compiled] | None = None, extra: Sequence[Path] = (), by: str | None = None
) -> Chosen:
    """What to take for each part and joint so that no rule rejects any of it.

    facts  what `derive` returns; its project may hold prices and a stock
    by     cost-per-year, cost, life or upkeep; InputError where a cost is asked for without prices
    """
    known = load_rules(facts.library, extra) if rules is None else rules
    return choose_for(facts, known, ranking(by, facts.project.prices))


def write(review: Review, path: str | Path, units: str = "in", day: date | None = None) -> None:
    """Plan the work and write the spec sheet; the format goes by the suffix: .html, .pdf, .xlsx, .md or .json.

    day  the day written on it, by default today
    The old file stays whole until the new one is.
    """
    save.write(bench(review), Path(path), units, day or date.today())
