"""Rules: read from YAML, compiled, and proved by their own examples before any of them speaks."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from .. import yamlfile
from ..clauses import Clause, ClauseError, compile_clause, encode_word
from ..errors import InputError, Problem, did_you_mean
from ..library import Library, Over, Register

Topic = Literal["species", "treatment", "panel", "fastener", "glue", "movement", "finish", "detail", "safety", "input"]
Severity = Literal["stop", "fix", "note"]
Scheme = Literal["us", "eu", "both"]

TOPICS: tuple[str, ...] = Topic.__args__  # type: ignore[attr-defined]
SEVERITIES: tuple[str, ...] = Severity.__args__  # type: ignore[attr-defined]

_NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+){2,5}")
_BRACES = re.compile(r"{([^{}]*)}")
_SEVERITY_MEANING = {
    "stop": "it will fail early, or can hurt someone",
    "fix": "it shortens life or spoils the look",
    "note": "worth knowing",
}


class Rule(BaseModel):
    """One rule as its file writes it; see docs for what each key means."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    rule: str
    topic: Topic
    severity: Severity
    scheme: Scheme = "both"
    over: Over
    when: list[str] = Field(min_length=1, max_length=20)
    message: str
    remedy: str
    why: str
    source: str
    example: dict[str, Any]
    near_miss: list[dict[str, Any]] = Field(min_length=1)
    cured: list[dict[str, Any]] = Field(default_factory=list)
    explains: list[str] = Field(default_factory=list)


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
    """A rule's own cases (example, near misses, cures) as encoded columns."""

    def __init__(self, over: Over, register: Register, cases: list[dict[str, Any]]) -> None:
        self.over, self.register, self.cases = over, register, cases

    def get(self, name: str) -> np.ndarray:
        column = self.register.find(self.over, name)
        assert column is not None
        return np.array([encode_word(column, case.get(name)) for case in self.cases])


def severity_meaning(severity: str) -> str:
    """What a severity says, in words."""
    return _SEVERITY_MEANING[severity]


def load_rules(library: Library, extra: Iterable[Path] = ()) -> list[Compiled]:
    """All rules of data/rules, and those of a shop's own files; every problem of every file at once."""
    files = [(path, f"data/rules/{path.name}") for path in sorted((library.folder / "rules").glob("*.yaml"))]
    files += [(path, str(path)) for path in extra]
    rules, problems = [], []
    for path, place in files:
        try:
            found, bad = check_file(yamlfile.load_file(path, place), library)
        except InputError as error:
            found, bad = [], error.problems
        rules += found
        problems += bad
    problems += _across(rules)
    if problems:
        raise InputError(problems)
    return rules


def check_file(located: yamlfile.Located, library: Library) -> tuple[list[Compiled], list[Problem]]:
    """The rules of one file that prove themselves, and every problem of the others."""
    if not isinstance(located.data, list):
        return [], [located.problem((), "must be a list of rules, each beginning with `- rule:`")]
    rules: list[Compiled] = []
    problems: list[Problem] = []
    for number, entry in enumerate(located.data):
        found, bad = _check_entry(located, number, entry, library)
        rules += found
        problems += bad
    return rules, problems


def _check_entry(
    located: yamlfile.Located, number: int, entry: Any, library: Library
) -> tuple[list[Compiled], list[Problem]]:
    name = entry.get("rule", f"rule {number + 1}") if isinstance(entry, dict) else f"rule {number + 1}"
    problems: list[Problem] = []
    rule = None
    try:
        rule = Rule.model_validate(entry)
    except ValidationError as error:
        problems += [_misfit(located, number, name, dict(bad)) for bad in error.errors()]
    checker = _Checker(located, number, str(name), library)
    clauses = checker.clauses(entry)
    problems += checker.problems
    if rule is None:
        return [], problems
    proof = _Checker(located, number, rule.rule, library)
    proof.texts(rule)
    if len(clauses) == len(rule.when):
        proof.prove(rule, clauses)
    problems += proof.problems
    if problems:
        return [], problems
    status = "practice" if rule.source == "practice" else library.sources[rule.source].status
    return [Compiled(rule, tuple(clauses), status, located.place, located.line((number, "rule")))], []


def _misfit(located: yamlfile.Located, number: int, name: Any, bad: dict[str, Any]) -> Problem:
    """A pydantic error as a located problem in plain words."""
    where = tuple(bad["loc"])
    key = str(where[0]) if where else "rule"
    if bad["type"] == "literal_error":
        what = f"must be {bad['ctx']['expected'].replace(chr(39), '')}, not {bad['input']!r}"
    elif bad["type"] == "extra_forbidden":
        what = f"is no key of a rule{did_you_mean(key, Rule.model_fields)}"
    elif bad["type"] == "missing":
        what = "is missing; every rule needs it"
    else:
        what = bad["msg"].lower()
    return Problem(located.place, located.line((number, *where)), str(name), f"{key}: {what}")


class _Checker:
    """Collects every problem of one rule."""

    def __init__(self, located: yamlfile.Located, number: int, name: str, library: Library) -> None:
        self.located, self.number, self.name, self.library = located, number, name, library
        self.problems: list[Problem] = []

    def complain(self, path: tuple[str | int, ...], what: str) -> None:
        self.problems.append(self.located.problem((self.number, *path), f"{path[0]}: {what}", self.name))

    def clauses(self, entry: Any) -> list[Clause]:
        """The clauses that compile, even where the rest of the rule is wrong."""
        over = entry.get("over") if isinstance(entry, dict) else None
        texts = entry.get("when") if isinstance(entry, dict) else None
        if over not in ("parts", "joints", "project") or not isinstance(texts, list):
            return []
        done = []
        for i, text in enumerate(texts):
            try:
                done.append(compile_clause(str(text), over, self.library.register))
            except ClauseError as error:
                self.complain(("when", i), f"character {error.at}: {error.what}")
        return done

    def texts(self, rule: Rule) -> None:
        if not _NAME.fullmatch(rule.rule):
            self.complain(("rule",), "a name is three to six small words joined by hyphens, and states the fault")
        if rule.source != "practice" and rule.source not in self.library.sources:
            hint = did_you_mean(rule.source, self.library.sources)
            self.complain(("source",), f"{rule.source!r} is no key of sources.yaml{hint}; write a key or practice")
        for key in ("message", "remedy", "why"):
            for name in _BRACES.findall(getattr(rule, key)):
                if self.library.register.find(rule.over, name) is None:
                    hint = did_you_mean(name, self.library.register.names(rule.over))
                    self.complain((key,), f"{{{name}}} is no column of {rule.over}{hint}")

    def prove(self, rule: Rule, clauses: list[Clause]) -> None:
        """Example trips the rule, each near miss breaks one clause, each clause is broken, each cure silences."""
        cases = [rule.example, *({**rule.example, **change} for change in [*rule.near_miss, *rule.cured])]
        if not all(self.allowed(rule, case, self.where(rule, i)) for i, case in enumerate(cases)):
            return
        columns = _Cases(rule.over, self.library.register, cases)
        asked = [clause.ask(columns) for clause in clauses]
        yes = np.array([np.broadcast_to(y, len(cases)) for y, _ in asked])
        no = np.array([np.broadcast_to(n, len(cases)) for _, n in asked])
        for i in np.flatnonzero(~yes[:, 0]):
            self.complain(("example",), f"does not satisfy the clause `{rule.when[i]}`")
        if yes[:, 0].all():
            self.prove_changes(rule, yes, no)

    def prove_changes(self, rule: Rule, yes: np.ndarray, no: np.ndarray) -> None:
        misses = range(1, 1 + len(rule.near_miss))
        broken = set()
        for case in misses:
            failed = np.flatnonzero(no[:, case])
            if len(failed) == 1 and yes[:, case].sum() == len(rule.when) - 1:
                broken.add(int(failed[0]))
            else:
                self.complain(("near_miss", case - 1), f"must break exactly one clause; it breaks {len(failed)}")
        for i in sorted(set(range(len(rule.when))) - broken):
            self.complain(
                ("when", i),
                f"nothing shows that the clause `{rule.when[i]}` matters; add a near_miss that breaks it alone",
            )
        for i, case in enumerate(range(misses.stop, yes.shape[1])):
            if not no[:, case].any():
                self.complain(("cured", i), "does not silence the rule")

    def where(self, rule: Rule, case: int) -> tuple[str | int, ...]:
        if case == 0:
            return ("example",)
        if case <= len(rule.near_miss):
            return ("near_miss", case - 1)
        return ("cured", case - 1 - len(rule.near_miss))

    def allowed(self, rule: Rule, case: dict[str, Any], path: tuple[str | int, ...]) -> bool:
        """Are all facts of a case registered, with values that the register allows?"""
        before = len(self.problems)
        for name, value in case.items():
            column = self.library.register.find(rule.over, name)
            if column is None:
                self.complain(
                    path,
                    f"{name} is no column of {rule.over}{did_you_mean(name, self.library.register.names(rule.over))}",
                )
                continue
            try:
                if column.kind not in ("text", "series") and (column.is_number or column.values):
                    encode_word(column, value)
            except (ValueError, TypeError):
                hint = did_you_mean(str(value), column.values)
                self.complain(path, f"{name}: {value!r} is not allowed{hint}")
        return len(self.problems) == before


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
    graph = {name: [n for n in one.rule.explains if n in rules] for name, one in rules.items()}
    problems = []
    for start, explained in graph.items():
        reached: set[str] = set()
        todo = list(explained)
        while todo:
            name = todo.pop()
            if name not in reached:
                reached.add(name)
                todo += graph[name]
        if start in reached:
            one = rules[start]
            problems.append(Problem(one.place, one.line, start, "explains: the rule explains itself in a circle"))
    return problems
