"""What is told to a client of a material and its place, in plain words that stand in data/client_words.yaml."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from .. import yamlfile
from ..clauses import Clause, compile_clause
from ..deriving import Facts
from ..library import Library

TOPICS = ("material", "place", "change")


@dataclass(frozen=True)
class Saying:
    """One entry of the file: its words, what they are about, and when they are said of a part."""

    says: str
    topic: str
    clauses: tuple[Clause, ...]


@lru_cache(maxsize=4)
def sayings(known: Library) -> tuple[Saying, ...]:
    """The entries of client_words.yaml, compiled, the weightiest first."""
    located = yamlfile.load_file(known.folder / "client_words.yaml", "data/client_words.yaml")
    return tuple(_saying(entry, known) for entry in located.data)


def _saying(entry: dict[str, Any], known: Library) -> Saying:
    clauses = tuple(compile_clause(str(text), "parts", known.register) for text in entry["when"])
    return Saying(entry["says"], entry["topic"], clauses)


def said_of(facts: Facts, row: int, topic: str, most: int) -> list[str]:
    """The first `most` entries of a topic that surely hold for a part."""
    table = facts.encoded[0]
    held = (
        one.says
        for one in sayings(facts.library)
        if one.topic == topic and all(_holds(clause, table, row) for clause in one.clauses)
    )
    return [says for says, _ in zip(held, range(most), strict=False)]


def _holds(clause: Clause, table: Any, row: int) -> bool:
    surely = clause.ask(table)[0]
    return bool(np.broadcast_to(surely, len(table.frame))[row])
