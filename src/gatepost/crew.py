"""A long list shared out among processes: each reads and judges a piece, and the findings come in the order of the list."""

from __future__ import annotations

import os
import signal
import sys
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from .errors import InputError, Problem
from .judging import load_rules
from .large import Catalogue, Gathered, Left, LongList, first_row
from .library import Library, library
from .limits import limit
from .missing import Unknowns
from .project import Project
from .reading import Call, Long
from .reading.files import Rows
from .reading.lists import count_parts
from .writing.large_csv import LargeCsv, Lines, Writer

if TYPE_CHECKING:
    from concurrent.futures import Future

SHARED_BYTES = 20_000_000
"""Above that a list is shared out: below, the processes cost more than they save."""
FELL = "a process that read a piece of the list ended too soon; with GATEPOST_WORKERS=1 one process reads all of it"


@dataclass(frozen=True)
class Order:
    """What a process must know before its first piece."""

    long: Long
    call: Call
    rule_files: Sequence[Path]
    prose: bool
    most_names: int


@dataclass(frozen=True)
class Done:
    """What came of a piece: what is wrong with it; or its parts, its lines and what it leaves for the whole list."""

    problems: list[Problem] = field(default_factory=list)
    project: Project | None = None
    parts: int = 0
    lines: Lines = field(default_factory=dict)
    left: Left | None = None


class Worker:
    """Reads and judges pieces, one after the other."""

    def __init__(self, order: Order, known: Library, catalogue: Catalogue) -> None:
        self.order, self.known, self.catalogue = order, known, catalogue
        self.writer = Writer(catalogue.rules, order.prose)
        self.site: dict[str, np.ndarray] = {}

    def piece(self, rows: Rows, start: int) -> Done:
        """Read and judge a piece whose first part is the row `start` of all parts."""
        call = self.order.call
        try:
            project = self.order.long.piece(rows, call, self.known)
        except InputError as error:
            return Done(error.problems)
        if not len(project.parts):
            return Done(project=project)
        unknowns = Unknowns(self.known, project.site is not None)
        gathered = Gathered(unknowns, self.order.most_names, rows=start, site=self.site)
        lines = self.writer.lines(self.catalogue.first(project, gathered), call.units or project.units)
        return Done([], first_row(project), len(project.parts), lines, gathered.left())


_AT_WORK: list[Worker] = []
"""The worker of this process: made before the processes part where they begin as copies, else in each of them."""


def _begin(order: Order) -> None:
    """An interrupt is for the first process alone, which sends the others home."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if not _AT_WORK:
        known = library()
        _AT_WORK.append(Worker(order, known, Catalogue(known, load_rules(known, order.rule_files), order.prose)))


def _piece(rows: Rows, start: int) -> Done:
    return _AT_WORK[-1].piece(rows, start)


def workers(path: Path) -> int:
    """How many processes read a list; 1 where it is not worth the while to share it out."""
    processors = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(limit("WORKERS"), processors) if path.stat().st_size > SHARED_BYTES else 1


def findings_of(
    listed: LongList, catalogue: Catalogue, gathered: Gathered, out: LargeCsv, rule_files: Sequence[Path]
) -> None:
    """Write the findings of a long list, by as many processes as it is worth."""
    count = workers(listed.pieces.path)
    if count == 1:
        for piece in catalogue.pieces(listed, gathered):
            out.add(piece, listed.units)
        return
    order = Order(listed.long, listed.call, tuple(rule_files), out.prose, gathered.most_names)
    project: Project | None = None
    for done in _shared_out(listed, Worker(order, catalogue.known, catalogue), count):
        listed.refused(done.problems)
        if done.project is not None:
            listed.counted(done.project, done.parts)
        if done.left is not None and not listed.problems:
            project = done.project
            gathered.join(done.left)
            out.write(done.lines)
    listed.checked()
    for piece in catalogue.last(project, gathered) if project is not None else ():
        out.add(piece, listed.units)


def _shared_out(listed: LongList, worker: Worker, count: int) -> Iterator[Done]:
    """What comes of the pieces, in their order; no more of them are held than there are processes, and one."""
    # Slow to load, and of use to long lists alone.
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    context = get_context("fork" if sys.platform == "linux" else "spawn")
    _AT_WORK.append(worker)
    pool = ProcessPoolExecutor(count, context, _begin, (worker.order,))
    waiting: deque[Future[Done]] = deque()
    ended = False
    try:
        start = 0
        for rows in listed.pieces:
            waiting.append(pool.submit(_piece, rows, start))
            start += count_parts(rows, listed.known)
            if len(waiting) > count:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
        ended = True
    except BrokenProcessPool:
        raise InputError([Problem(listed.pieces.place, None, None, FELL)]) from None
    finally:
        _AT_WORK.remove(worker)
        if not ended:
            # One more interrupt would break into sending the others home, and leave them waiting for ever.
            signal.signal(signal.SIGINT, signal.SIG_IGN)
        pool.shutdown(cancel_futures=True)
