"""The order of work: which steps of work_steps.yaml the parts and joints of a project ask for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from .. import yamlfile
from ..clauses import Clause, compile_clause
from ..deriving import Facts
from ..library import OVERS, Library, Over

STAGES = ("stock", "cutting", "before assembly", "glue", "assembly", "afterwards")


@dataclass(frozen=True)
class Step:
    """One step of the file: its text, when it is due, what asks for it, and how each row is named."""

    text: str
    stage: str
    over: Over
    clauses: tuple[Clause, ...]
    each: str
    source: str


@dataclass(frozen=True)
class Due:
    """A step that the project asks for, and the rows of parts or joints that ask."""

    step: Step
    rows: tuple[int, ...]


@lru_cache(maxsize=4)
def steps(known: Library) -> tuple[Step, ...]:
    """The steps of work_steps.yaml, compiled, in the order of their stages."""
    located = yamlfile.load_file(known.folder / "work_steps.yaml", "data/work_steps.yaml")
    return tuple(sorted((_step(entry, known) for entry in located.data), key=lambda one: STAGES.index(one.stage)))


def _step(entry: dict[str, Any], known: Library) -> Step:
    over: Over = entry["over"]
    clauses = tuple(compile_clause(str(text), over, known.register) for text in entry["when"])
    return Step(entry["step"], entry["stage"], over, clauses, entry["each"], entry["source"])


def due(facts: Facts) -> list[Due]:
    """The steps that some row surely asks for."""
    out = []
    for step in steps(facts.library):
        table = facts.encoded[OVERS.index(step.over)]
        asks = np.ones(len(table.frame), bool)
        for clause in step.clauses:
            asks &= clause.ask(table)[0]
        if asks.any():
            out.append(Due(step, tuple(np.flatnonzero(asks).tolist())))
    return out
