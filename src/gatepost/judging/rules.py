"""Rules: read from YAML, compiled, and proved by their own examples before any of them speaks."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache, partial
from pathlib import Path
from typing import Any, Literal, get_args

import numpy as np

from .. import yamlfile
from ..clauses import Clause, ClauseError, compile_clause, encode_word
from ..errors import InputError, Problem, did_you_mean
from ..library import OVERS, Column, Library, Over, Register
from ..limits import limit
from ..limits import over as beyond
from ..shape import Key, check

Topic = Literal["species", "treatment", "panel", "fastener", "glue", "movement", "finish", "detail", "safety", "input"]
Severity = Literal["stop", "fix", "note"]
Scheme = Literal["us", "eu", "both"]

TOPICS: tuple[str, ...] = get_args(Topic)
SEVERITIES: tuple[str, ...] = get_args(Severity)

LONGEST_NAME = 80
_NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+){2,5}")
_BRACES = re.compile(r"{([^{}]*)}")
_SEVERITY_MEANING = {
    "stop": "it will fail early, or can hurt someone",
    "fix": "it shortens life or spoils the look",
    "note": "worth knowing",
}


@dataclass(frozen=True)
class Rule:
    """One rule as its file writes it; docs/rules-how.md says what each key means."""

    rule: str
    topic: Topic
    severity: Severity
    over: Over
    when: list[str]
    message: str
    remedy: str
    why: str
    source: str
    example: dict[str, Any]
    near_miss: list[dict[str, Any]]
    scheme: Scheme = "both"
    cured: list[dict[str, Any]] = field(default_factory=list)
    explains: list[str] = field(default_factory=list)


_TEXT = Key((str,), required=True)
SHAPE = {
    "rule": _TEXT,
    "topic": Key((str,), required=True, choices=TOPICS),
    "severity": Key((str,), required=True, choices=SEVERITIES),
    "scheme": Key((str,), choices=get_args(Scheme)),
    "over": Key((str,), required=True, choices=OVERS),
    "when": Key((list,), required=True),
    "message": _TEXT,
    "remedy": _TEXT,
    "why": _TEXT,
    "source": _TEXT,
    "example": Key((dict,), required=True),
    "near_miss": Key((list,), required=True),
    "cured": Key((list,)),
    "explains": Key((list,)),
}


@dataclass(frozen=True)
class Compiled:
    """A proved rule with its clauses compiled, its source's status, and where it stands."""

    rule: Rule
    clauses: tuple[Clause, ...]
    status: str
    place: str
    line: int | None

    @property
    def columns(self) -> tuple[str, ...]:
        """Columns that the clauses read, each once."""
        return tuple(dict.fromkeys(name for clause in self.clauses for name in clause.columns))


class _Cases:
    """A rule's own cases as encoded columns: the example first, then the example with each of the changes."""

    def __init__(self, over: Over, register: Register, changes: list[dict[str, Any]]) -> None:
        self.over, self.register, self.many = over, register, len(changes)
        self.example = changes[0]
        self.told: dict[str, list[tuple[int, Any]]] = {}
        for case, change in enumerate(changes):
            for name, value in change.items():
                self.told.setdefault(name, []).append((case, value))
        self.made: dict[str, np.ndarray] = {}

    def get(self, name: str) -> np.ndarray:
        if name not in self.made:
            column = self.register.find(self.over, name)
            assert column is not None
            out = np.full(self.many, encode_word(column, self.example.get(name)))
            for case, value in self.told.get(name, ()):
                out[case] = encode_word(column, value)
            self.made[name] = out
        return self.made[name]


def severity_meaning(severity: str) -> str:
    """What a severity says, in words."""
    return _SEVERITY_MEANING[severity]


def load_rules(library: Library, extra: Iterable[Path] = ()) -> list[Compiled]:
    """All rules of data/rules, and those of a shop's own files; every problem of every file at once."""
    packaged = [f"rules/{path.name}" for path in sorted((library.folder / "rules").glob("*.yaml"))]
    files = [partial(_packaged, name, library) for name in packaged]
    files += [partial(_of_file, path, library) for path in extra]
    rules: list[Compiled] = []
    problems: list[Problem] = []
    for load in files:
        try:
            found, bad = load()
        except InputError as error:
            found, bad = [], error.problems
        rules += found
        problems += bad
    problems += _across(rules)
    if problems:
        raise InputError(problems)
    return rules


@lru_cache(maxsize=64)
def _packaged(name: str, library: Library) -> tuple[list[Compiled], list[Problem]]:
    """The rules of one file of data/rules and its problems, worked out once for each library."""
    located = library.yaml(name, False)
    return (compiled(located, library), []) if library.is_proved(name) else check_file(located, library)


def _of_file(path: Path, library: Library) -> tuple[list[Compiled], list[Problem]]:
    return check_file(yamlfile.load_file(path, str(path), False), library)


def compiled(located: yamlfile.Located, library: Library) -> list[Compiled]:
    """The rules of a file that was proved beforehand, compiled."""
    out = []
    for number, entry in enumerate(located.data):
        rule = Rule(**{key: value for key, value in entry.items() if value is not None})
        clauses = tuple(compile_clause(str(text), rule.over, library.register) for text in rule.when)
        out.append(_compiled(rule, clauses, located, number, library))
    return out


def _compiled(
    rule: Rule, clauses: tuple[Clause, ...], located: yamlfile.Located, number: int, library: Library
) -> Compiled:
    status = "practice" if rule.source == "practice" else library.sources[rule.source].status
    return Compiled(rule, clauses, status, located.place, located.line((number, "rule")))


def check_file(located: yamlfile.Located, library: Library) -> tuple[list[Compiled], list[Problem]]:
    """The rules of one file that prove themselves, and every problem of the file."""
    problems = list(located.problems)
    if not isinstance(located.data, list):
        return [], [*problems, located.problem((), "must be a list of rules, each beginning with `- rule:`")]
    rules: list[Compiled] = []
    for number, entry in enumerate(located.data):
        checker = _Checker(located, number, entry, library)
        rules += checker.compiled()
        problems += checker.problems
    return rules, sorted(problems, key=lambda problem: problem.line or 0)


class _Checker:
    """Checks one rule and collects every problem of it."""

    def __init__(self, located: yamlfile.Located, number: int, entry: Any, library: Library) -> None:
        self.located, self.number, self.library = located, number, library
        self.entry: dict[str, Any] = entry if isinstance(entry, dict) else {}
        self.name = str(self.entry.get("rule", f"rule {number + 1}"))
        self.problems = check(located, entry, SHAPE, (number,), self.name, "a rule")
        self.over: Over | None = self.entry.get("over") if self.entry.get("over") in OVERS else None

    def complain(self, path: tuple[str | int, ...], what: str) -> None:
        self.problems.append(self.located.problem((self.number, *path), f"{path[0]}: {what}", self.name))

    def compiled(self) -> list[Compiled]:
        """The rule, when nothing is wrong with it."""
        clauses = self.clauses()
        self.texts()
        self.explained_are_names()
        if self.over and clauses and len(clauses) == len(self.entry["when"]) and self.cases_are_mappings():
            self.prove(clauses)
        if self.problems:
            return []
        rule = Rule(**{key: value for key, value in self.entry.items() if value is not None})
        return [_compiled(rule, tuple(clauses), self.located, self.number, self.library)]

    def clauses(self) -> list[Clause]:
        """The clauses that compile."""
        texts = self.entry.get("when")
        if self.over is None or not isinstance(texts, list):
            return []
        if len(texts) > limit("CLAUSES"):
            self.complain(("when",), beyond("CLAUSES", f"more than {limit('CLAUSES')} clauses; split the rule"))
            return []
        done = []
        for i, text in enumerate(texts):
            try:
                done.append(compile_clause(str(text), self.over, self.library.register))
            except ClauseError as error:
                self.complain(("when", i), f"character {error.at}: {error.what}")
        return done

    def texts(self) -> None:
        """Name, source, and the braces of the prose."""
        source = self.entry.get("source")
        if not _NAME.fullmatch(self.name) or len(self.name) > LONGEST_NAME:
            self.complain(("rule",), "a name is three to six small words joined by hyphens, and states the fault")
        if isinstance(source, str) and source != "practice" and source not in self.library.sources:
            hint = did_you_mean(source, self.library.sources)
            self.complain(("source",), f"{source!r} is no key of sources.yaml; write a key or practice{hint}")
        for key in ("message", "remedy", "why"):
            for name in _BRACES.findall(str(self.entry.get(key))) if self.over else ():
                self.known(name, (key,), f"{{{name}}}")

    def known(self, name: str, path: tuple[str | int, ...], shown: str) -> Column | None:
        """The column, or a complaint that there is none."""
        assert self.over is not None
        column = self.library.register.find(self.over, name)
        if column is None:
            hint = did_you_mean(name, self.library.register.names(self.over))
            self.complain(path, f"{shown} is no column of {self.over}{hint}")
        return column

    def explained_are_names(self) -> None:
        """Complain of every entry of `explains` that is no name."""
        entries = self.entry.get("explains")
        for i, entry in enumerate(entries if isinstance(entries, list) else ()):
            if not isinstance(entry, str):
                self.complain(("explains", i), f"must be the name of a rule, not {entry!r}")

    def cases_are_mappings(self) -> bool:
        """Are example, near misses and cures of the right shape? Says which is not."""
        good = isinstance(self.entry.get("example"), dict)
        for key in ("near_miss", "cured"):
            entries = self.entry.get(key) or []
            for i, entry in enumerate(entries if isinstance(entries, list) else []):
                if not isinstance(entry, dict):
                    self.complain((key, i), "must be facts with values, for example {exposure: weather}")
                    good = False
        return (
            good and isinstance(self.entry.get("near_miss"), list) and isinstance(self.entry.get("cured") or [], list)
        )

    def prove(self, clauses: list[Clause]) -> None:
        """Example trips the rule, each near miss breaks one clause, each clause is broken, each cure silences."""
        assert self.over is not None
        example, misses, cures = self.entry["example"], self.entry["near_miss"], self.entry.get("cured") or []
        places = [
            ("example",),
            *(("near_miss", i) for i in range(len(misses))),
            *(("cured", i) for i in range(len(cures))),
        ]
        changes = [example, *misses, *cures]
        before = len(self.problems)
        for change, path in zip(changes, places, strict=True):
            self.allow(change, path)
        if len(self.problems) > before:
            return
        columns = _Cases(self.over, self.library.register, changes)
        asked = [clause.ask(columns) for clause in clauses]
        yes = np.array([np.broadcast_to(y, len(changes)) for y, _ in asked])
        no = np.array([np.broadcast_to(n, len(changes)) for _, n in asked])
        for i in np.flatnonzero(~yes[:, 0]):
            self.complain(("example",), f"does not satisfy the clause `{self.entry['when'][i]}`")
        if yes[:, 0].all():
            self.prove_misses(yes[:, 1 : len(misses) + 1], no[:, 1 : len(misses) + 1])
            for i in np.flatnonzero(~no[:, len(misses) + 1 :].any(axis=0)):
                self.complain(("cured", int(i)), "does not silence the rule")

    def prove_misses(self, yes: np.ndarray, no: np.ndarray) -> None:
        """Columns are the near misses, rows the clauses."""
        fair = (no.sum(axis=0) == 1) & (yes.sum(axis=0) == len(yes) - 1)
        for case in np.flatnonzero(~fair):
            self.complain(("near_miss", int(case)), f"must break exactly one clause; it breaks {no[:, case].sum()}")
        for i in np.flatnonzero(~no[:, fair].any(axis=1)):
            text = self.entry["when"][i]
            self.complain(
                ("when", int(i)),
                f"nothing shows that the clause `{text}` matters; add a near_miss that breaks it alone",
            )

    def allow(self, case: dict[str, Any], path: tuple[str | int, ...]) -> None:
        """Complain of every fact of a case that is not registered, or has a value that the register does not allow."""
        for name, value in case.items():
            column = self.known(name, path, name)
            if column is None or not (column.is_number or column.values):
                continue
            try:
                encode_word(column, value)
            except (ValueError, TypeError, OverflowError):
                self.complain(path, f"{name}: {value!r} is not allowed{did_you_mean(str(value), column.values)}")


def _across(rules: list[Compiled]) -> list[Problem]:
    """Problems that only show between rules: a name twice, an unknown name in `explains`, a circle."""
    problems: list[Problem] = []
    first: dict[str, Compiled] = {}
    for one in rules:
        if one.rule.rule in first:
            problems.append(
                Problem(
                    one.place, one.line, one.rule.rule, f"the name stands twice; first in {first[one.rule.rule].place}"
                )
            )
        first.setdefault(one.rule.rule, one)
    for one in rules:
        for name in one.rule.explains:
            if name not in first:
                problems.append(
                    Problem(
                        one.place, one.line, one.rule.rule, f"explains: {name!r} is no rule{did_you_mean(name, first)}"
                    )
                )
    return problems + _circles(first)


def _circles(rules: dict[str, Compiled]) -> list[Problem]:
    """Rules that explain themselves, over others: those left when rules that explain no other are taken away, again
    and again, and then those that none of the rest explains."""
    left = {name: [n for n in one.rule.explains if n in rules] for name, one in rules.items()}
    backwards: dict[str, list[str]] = {name: [] for name in left}
    for name, explained in left.items():
        for other in explained:
            backwards[other].append(name)
    ahead = _without_ends(left, backwards)
    circle = _without_ends(
        {name: [n for n in backwards[name] if n in ahead] for name in ahead},
        {name: [n for n in left[name] if n in ahead] for name in ahead},
    )
    what = "explains: the rule explains itself in a circle, or stands between such circles"
    return [Problem(rules[name].place, rules[name].line, name, what) for name in rules if name in circle]


def _without_ends(edges: dict[str, list[str]], backwards: dict[str, list[str]]) -> set[str]:
    """The names that stay when those without an edge are taken away until each has one; each edge is looked at once."""
    count = {name: len(others) for name, others in edges.items()}
    ends = [name for name, many in count.items() if not many]
    while ends:
        for other in backwards[ends.pop()]:
            count[other] -= 1
            if not count[other]:
                ends.append(other)
    return {name for name, many in count.items() if many}
