"""A parts list too long to be held at once: read, judged and forgotten piece by piece, with the findings of the whole.

What hangs on the whole list (has it a handrail? does a part stand outdoors?) is joined from the pieces at the end; the
few rows whose rules ask for it are kept until then.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd
from pandas.util import hash_array

from .deriving import Facts, Node, Tables, derive, derive_only
from .deriving.engine import closure, joined_facts, resolve
from .deriving.reasons import Reasons
from .errors import InputError, Problem
from .judging import Compiled, judge, verdict
from .library import Library
from .missing import Cell, Missing, Unknowns, Waiting
from .project import Project, named
from .reading import Call, Long, left_out_said
from .reading.lists import NO_ROWS
from .reading.pieces import PIECE_ROWS, Pieces

Whole = Mapping[str, np.ndarray]


class LongList:
    """A parts list in CSV as projects, one a piece; every cell that cannot be read is reported at the end.

    told   is called with the rows that were read so far
    given, read   rows of the list, and those that are parts
    problems      of the pieces so far
    """

    def __init__(
        self, long: Long, call: Call, known: Library, told: Callable[[int], None], rows: int = PIECE_ROWS
    ) -> None:
        self.long, self.call, self.known, self.told = long, call, known, told
        self.pieces = Pieces(long.path, long.place, known.register, rows)
        self.read, self.units = 0, call.units or ""
        self.left_out: Counter[tuple[str, str]] = Counter()
        self._said: dict[str, None] = {}
        self.problems: dict[Problem, None] = {}

    @property
    def given(self) -> int:
        return self.pieces.given

    def __iter__(self) -> Iterator[Project]:
        for rows in self.pieces:
            try:
                project = self.long.piece(rows, self.call, self.known)
            except InputError as error:
                self.refused(error.problems)
                continue
            self.counted(project, len(project.parts))
            if not self.problems:
                yield project
        self.checked()

    def head(self) -> Project:
        """The project without its rows; what is wrong with it is told with all that is wrong in the list."""
        try:
            found = self.long.head(self.call, self.known)
        except InputError as error:
            self.refused(error.problems)
            for _ in self:
                pass
            raise InputError(self.problems) from None
        self._said |= dict.fromkeys(found.said)
        return found

    @property
    def said(self) -> list[str]:
        """What is said of the project and of the pieces so far."""
        return [*self._said, *self.pieces.said, *left_out_said(self.left_out, self.known)]

    def refused(self, problems: Iterable[Problem]) -> None:
        """Take in what cannot be read of a piece."""
        self.problems |= dict.fromkeys(problems)

    def counted(self, project: Project, parts: int) -> None:
        """Take in how many parts a piece holds, what its bare numbers mean, and what is said of it."""
        self.read += parts
        self.units = self.call.units or project.units
        self.left_out.update(project.left_out)
        self._said |= dict.fromkeys(project.said)
        self.told(self.given)

    def checked(self) -> None:
        """InputError where the list, read to its end, is refused."""
        if not self.problems and not self.read:
            self.refused([Problem(self.pieces.place, None, None, NO_ROWS)])
        if self.problems:
            raise InputError(self.problems)


@dataclass(frozen=True)
class Piece:
    """What was found in a piece.

    numbers  for each part of the piece its row in the whole list
    facts    frames of the facts, where texts are to be filled from them
    found    rule (number), over, row in the piece; worst first
    """

    project: Project
    numbers: np.ndarray
    facts: Facts | None
    found: pd.DataFrame = field(default_factory=pd.DataFrame)


class Names:
    """The first names of parts that lack a fact, and how many different ones there are (eight bytes a name)."""

    def __init__(self, most: int) -> None:
        self.most = most
        self.first: list[tuple[int, str]] = []
        self.seen = np.array([], np.uint64)

    def add(self, numbers: np.ndarray, names: np.ndarray) -> None:
        """Add the names of the parts that are the rows `numbers` of the list."""
        different = pd.unique(names)
        self.seen = np.unique(np.concatenate([self.seen, hash_array(different)]))
        early = {name: number for number, name in reversed(list(zip(numbers.tolist(), names, strict=True)))}
        for number, name in self.first:
            early[name] = min(number, early.get(name, number))
        self.first = sorted((number, name) for name, number in early.items())[: self.most]

    def join(self, other: Names) -> None:
        """Add the names of another piece."""
        self.seen = np.unique(np.concatenate([self.seen, other.seen]))
        early: dict[str, int] = {}
        for number, name in sorted([*self.first, *other.first]):
            early.setdefault(name, number)
        self.first = sorted((number, name) for name, number in early.items())[: self.most]


@dataclass(frozen=True)
class Left:
    """What one piece left behind, apart from the knowledge that all pieces share."""

    cells: Mapping[Cell, Waiting]
    wholes: list[Whole]
    names: Mapping[Cell, Names]
    late: list[tuple[Project, np.ndarray]]


@dataclass
class Gathered:
    """What the pieces leave behind: facts of each as a whole list, what waits and in which parts, parts that must wait.

    site  facts that hang on the place alone, made with the first piece
    """

    unknowns: Unknowns
    most_names: int
    wholes: list[Whole] = field(default_factory=list)
    names: dict[Cell, Names] = field(default_factory=dict)
    late: list[tuple[Project, np.ndarray]] = field(default_factory=list)
    rows: int = 0
    site: dict[str, np.ndarray] = field(default_factory=dict)

    def left(self) -> Left:
        """All that was gathered, to be joined elsewhere."""
        return Left(self.unknowns.cells, self.wholes, self.names, self.late)

    def join(self, left: Left) -> None:
        """Add what another piece left behind."""
        self.unknowns.join(left.cells)
        self.wholes += left.wholes
        self.late += left.late
        for cell, names in left.names.items():
            self.names.setdefault(cell, Names(self.most_names)).join(names)

    def missing(self) -> list[tuple[Missing, Names]]:
        """Each entry with the names of its parts."""
        entries = self.unknowns.missing({})
        none = Names(self.most_names)
        return [(one, self.names.get(self.unknowns.entry((one.over, one.column)), none)) for one in entries]


class Catalogue:
    """The rules and the facts that they ask for, ready for the pieces of one list.

    frames  derive every fact, for messages that are filled from them
    """

    def __init__(self, known: Library, rules: Sequence[Compiled], frames: bool = False) -> None:
        self.known, self.rules, self.frames = known, rules, frames
        self.joined = joined_facts(known)
        self.later = np.array([one.rule.over == "parts" and self._hangs_on_whole(one.columns) for one in rules], bool)
        self.of_parts, self.of_project = (
            np.array([one.rule.over == over for one in rules], bool) for over in ("parts", "project")
        )
        whole: frozenset[Node] = frozenset(("project", name) for name in self.joined)
        self.wanted = self._asked(one for one in rules if one.rule.over != "joints") | whole
        self.wanted_later = self._asked(one for one, late in zip(rules, self.later, strict=True) if late)
        self.alone = [self._without_whole(one) for one, late in zip(rules, self.later, strict=True) if late]
        self.of_site = [
            name
            for over, name in closure(known, self.wanted)
            if over == "project" and not self._rests_on_joined([(over, name)])
        ]

    def _asked(self, rules: Iterable[Compiled]) -> frozenset[Node]:
        register = self.known.register
        return frozenset(resolve(register, one.rule.over, name) for one in rules for name in one.columns)

    def _hangs_on_whole(self, names: Iterable[str]) -> bool:
        return self._rests_on_joined(resolve(self.known.register, "parts", name) for name in names)

    def _rests_on_joined(self, nodes: Iterable[Node]) -> bool:
        rests_on = closure(self.known, frozenset(nodes))
        return any(over == "project" and name in self.joined for over, name in rests_on)

    def _without_whole(self, one: Compiled) -> Compiled:
        return replace(one, clauses=tuple(clause for clause in one.clauses if not self._hangs_on_whole(clause.columns)))

    def tables(
        self, project: Project, wanted: frozenset[Node], whole: Whole | None = None
    ) -> tuple[Tables, Facts | None]:
        """Encoded facts of a piece, and its frames where they are wanted; `whole` are facts of the project that stand."""
        if self.frames:
            facts = derive(project, self.known, whole)
            return facts.encoded, facts
        return derive_only(project, wanted, self.known, whole), None

    def site_of(self, tables: Tables) -> Whole:
        """The facts of the project that hang on the place alone, so far as they were made."""
        return {name: tables[2].get(name) for name in self.of_site if name in tables[2].kept}

    def whole_of(self, tables: Tables) -> Whole:
        """The facts of the project that hang on its parts, as this piece alone would give them."""
        return {name: tables[2].get(name) for name in self.joined}

    def pieces(self, projects: Iterable[Project], gathered: Gathered) -> Iterator[Piece]:
        """What is found in each piece of a list; at last what hangs on the whole list, and what is found of the project."""
        project = None
        for project in projects:
            if len(project.parts):
                yield self.first(project, gathered)
        if project is not None:
            yield from self.last(project, gathered)

    def last(self, project: Project, gathered: Gathered) -> Iterator[Piece]:
        """What hangs on the whole list, and what is found of the project; any piece of it stands for the project."""
        if gathered.wholes:
            whole = joined(gathered.wholes, self.known)
            for late, numbers in gathered.late:
                yield self._again(late, numbers, whole, gathered)
            yield self._of_project(first_row(project), whole, gathered)

    def first(self, project: Project, gathered: Gathered) -> Piece:
        """Everything but what hangs on the whole list."""
        tables, facts = self.tables(project, self.wanted, gathered.site)
        gathered.site.update(self.site_of(tables))
        gathered.wholes.append(self.whole_of(tables))
        late = self._late(tables)
        numbers = np.arange(len(project.parts)) + gathered.rows
        gathered.rows += len(project.parts)
        if late.any():
            parts = project.parts[late].reset_index(drop=True)
            gathered.late.append((replace(project, parts=parts, blank={}), numbers[late]))
        return self._judged(Piece(project, numbers, facts), tables, self.of_parts & ~self.later, gathered)

    def _late(self, tables: Tables) -> np.ndarray:
        """Rows that a rule speaks of, or waits on, as soon as the whole list is known."""
        holds, undecided = verdict(*tables, self.alone, "parts")
        return (holds | undecided).any(axis=1)

    def _again(self, project: Project, numbers: np.ndarray, whole: Whole, gathered: Gathered) -> Piece:
        """What hangs on the whole list, in rows that were kept for it."""
        tables, facts = self.tables(project, self.wanted_later, {**gathered.site, **whole})
        return self._judged(Piece(project, numbers, facts), tables, self.later, gathered)

    def _of_project(self, project: Project, whole: Whole, gathered: Gathered) -> Piece:
        tables, facts = self.tables(project, self.wanted, {**gathered.site, **whole})
        return self._judged(Piece(project, np.zeros(1, int), facts), tables, self.of_project, gathered)

    def _judged(self, piece: Piece, tables: Tables, speak: np.ndarray, gathered: Gathered) -> Piece:
        """What the rules that may speak find in a piece; what they wait for is gathered."""
        judged = judge(*tables, self.rules, piece.project.scheme, speak)
        reasons = Reasons(self.known, *tables)
        for entry, rows in gathered.unknowns.add(judged, reasons, piece.numbers).items():
            if self.frames and entry[0] == "parts":
                names = names_of(piece.project, piece.numbers)[rows]
                gathered.names.setdefault(entry, Names(gathered.most_names)).add(piece.numbers[rows], names)
        return replace(piece, found=judged.found)


def first_row(project: Project) -> Project:
    """A project with its first part alone."""
    return replace(project, parts=project.parts.iloc[:1], blank={})


def names_of(project: Project, numbers: np.ndarray) -> np.ndarray:
    """Names of the parts of a piece that are the rows `numbers` of the list."""
    return named(project.parts["part"], numbers)


def joined(pieces: Sequence[Whole], known: Library) -> Whole:
    """Facts of the whole list from those of its pieces: numbers added up, of words the first in the register's order."""
    facts = known.register.facts["project"]
    stacked = {name: np.stack([piece[name] for piece in pieces]) for name in pieces[0]}
    return {
        name: values.sum(axis=0) if facts[name].is_number else values.min(axis=0) for name, values in stacked.items()
    }
