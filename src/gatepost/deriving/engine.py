"""The order of the facts and their making: each is made once, after what it needs."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from graphlib import CycleError, TopologicalSorter
from importlib import import_module
from inspect import signature
from typing import Any

import numpy as np
import pandas as pd

from ..encode import FrameColumns, JointColumns, worded
from ..errors import InputError
from ..library import OVERS, Column, Library, Over, Register
from .values import Array, ManyWords, Texts, Words

Node = tuple[Over, str]


def resolve(register: Register, over: Over, need: str) -> Node:
    """The fact that a need names: its own table's, a joint's part's, another table's (parts.x), or the project's."""
    need = need.removesuffix("?")
    if "." in need:
        other, _, name = need.partition(".")
        return other, name  # type: ignore[return-value]
    if need in register.facts[over]:
        return over, need
    prefix, _, rest = need.partition("_")
    if over == "joints" and prefix in ("a", "b", "worse") and rest in register.facts["parts"]:
        return "parts", rest
    if need in register.facts["project"]:
        return "project", need
    raise InputError(f"columns.yaml: {over}: no fact is called {need}")


def needed(register: Register, column: Column) -> list[tuple[str, Node]]:
    """The facts that a fact needs, by the name it uses; tables left out."""
    return [(need, resolve(register, column.over, need)) for need in column.needs if not need.startswith("table:")]


@lru_cache(maxsize=4)
def order(library: Library) -> tuple[Node, ...]:
    """All derived facts, each after those it needs; a circle is refused."""
    register = library.register
    graph = {
        (over, name): [node for _, node in needed(register, column)]
        for over in OVERS
        for name, column in register.facts[over].items()
    }
    try:
        nodes = list(TopologicalSorter(graph).static_order())
    except CycleError as error:
        raise InputError(f"columns.yaml: facts need each other in a circle: {error.args[1]}") from None
    return tuple(node for node in nodes if register.facts[node[0]][node[1]].derived)


@lru_cache(maxsize=64)
def closure(library: Library, wanted: frozenset[Node]) -> tuple[Node, ...]:
    """The derived facts that the wanted ones rest on, themselves included, in order."""
    asked, todo = set(wanted), list(wanted)
    while todo:
        over, name = todo.pop()
        fresh = {node for _, node in needed(library.register, library.register.facts[over][name])} - asked
        asked |= fresh
        todo += fresh
    return tuple(node for node in order(library) if node in asked)


def joined_facts(library: Library) -> tuple[str, ...]:
    """Facts of the project that are made from a column of a whole list: does any part ...?, how many parts ...?"""
    facts = library.register.facts["project"].values()
    return tuple(column.name for column in facts if column.derived and any("." in need for need in column.needs))


@dataclass
class Making:
    """Facts in the making: encoded columns of the three tables, filled in order."""

    library: Library
    parts: FrameColumns
    joints: JointColumns
    project: FrameColumns
    context: dict[str, Any]
    done: dict[Node, Any] = field(default_factory=dict)

    def table(self, over: Over) -> FrameColumns:
        """The table of an over."""
        return {"parts": self.parts, "joints": self.joints, "project": self.project}[over]

    def run(self, wanted: frozenset[Node] | None = None) -> None:
        """Make every derived fact, or the wanted ones and what they rest on."""
        for node in order(self.library) if wanted is None else closure(self.library, wanted):
            if node not in self.done:
                self.make(node)

    def make(self, node: Node) -> None:
        column = self.library.register.facts[node[0]][node[1]]
        if column.lookup:
            self.done[node] = self.looked_up(column)
            return
        made = _made(_maker(str(column.made_by)), self.arguments(column), self.library)
        together = [other for other in self.library.register.facts[node[0]].values() if other.made_by == column.made_by]
        for other in together:
            values = made[other.name] if isinstance(made, dict) else made
            self.done[(node[0], other.name)] = self.checked(other, values)

    def checked(self, column: Column, values: Any) -> Array:
        """Made values as an array of the table's length; numbers out of the register's bounds become NaN."""
        shape = (len(self.table(column.over).frame),)
        if not column.is_number:
            return np.broadcast_to(np.asarray(values), shape)
        numbers = np.broadcast_to(np.asarray(values, float), shape)
        if column.bounds is None:
            return numbers
        beyond = (numbers < column.bounds[0]) | (numbers > column.bounds[1])
        return np.where(beyond, np.nan, numbers) if beyond.any() else numbers

    def looked_up(self, column: Column) -> Array:
        """A table's column at each row's key; unknown where the table is silent."""
        assert column.lookup is not None
        table_name, key, name = column.lookup
        table, keys = self.library.table(table_name), self.value(column.over, key)
        if column.is_number:
            numbers = table.numbers(name)
            return self.checked(column, keys.recode({k: numbers[i] for k, i in table.index.items()}))
        words = table.words(name)
        return keys.relabel(column.values, {k: words[i] for k, i in table.index.items()})

    def arguments(self, column: Column) -> dict[str, Any]:
        """What the maker is called with: needed facts and tables, by name."""
        tables = [need.removeprefix("table:") for need in column.needs if need.startswith("table:")]
        facts = [need.removesuffix("?") for need in column.needs if not need.startswith("table:")]
        return {
            **{n: self.library.table(n) for n in tables},
            **{n.replace(".", "_"): self.value(column.over, n) for n in facts},
        }

    def value(self, over: Over, need: str) -> Any:
        """A needed fact as makers receive it."""
        home, name = resolve(self.library.register, over, need)
        column = self.library.register.facts[home][name]
        if column.kind == "series":
            return self.context[name]
        if over == "joints" and home == "parts":
            worse = need.startswith("worse_")
            self.parts.keep({n: values for (other, n), values in self.done.items() if other == "parts"})
            return _shaped(column, self.joints.get(need), worse)
        return _shaped(column, self.raw(home, name))

    def raw(self, home: Over, name: str) -> Array:
        if (home, name) in self.done:
            return self.done[(home, name)]
        column = self.library.register.facts[home][name]
        if column.kind == "text" or (column.kind == "phrase" and not column.values):
            return self.table(home).frame[name].to_numpy(object)
        return self.table(home).get(name)

    def encoded(self) -> dict[Over, dict[str, Array]]:
        """All columns encoded so far, those of the lists and those made; free text left out."""
        out: dict[Over, dict[str, Array]] = {over: dict(self.table(over).kept) for over in OVERS}
        for (over, name), values in self.done.items():
            if self.library.register.facts[over][name].kind != "text":
                out[over][name] = values
        return out

    def frame(self, over: Over) -> pd.DataFrame:
        """The table with its derived facts, words as categories of the register."""
        register = self.library.register
        made = {n: _series(register.facts[over][n], v) for (o, n), v in self.done.items() if o == over}
        base = self.table(over).frame
        return pd.concat([base, pd.DataFrame(made, index=base.index)], axis=1)


@lru_cache(maxsize=256)
def _maker(path: str) -> Callable[..., Any]:
    module, _, name = path.partition(".")
    found: Callable[..., Any] = getattr(import_module(f".{module}", __package__), name)
    return found


@lru_cache(maxsize=256)
def _asks_library(maker: Callable[..., Any]) -> bool:
    return "known" in signature(maker).parameters


def _made(maker: Callable[..., Any], arguments: dict[str, Any], known: Library) -> Any:
    """Call a maker; one that asks for `known` also gets the library. Unknown values make NaN, and no warning."""
    extra = {"known": known} if _asks_library(maker) else {}
    with np.errstate(divide="ignore", invalid="ignore"):
        return maker(**arguments, **extra)


def _shaped(column: Column, values: Array, worse: bool = False) -> Any:
    if column.is_number:
        return values
    if column.kind == "words" and not worse:
        return ManyWords(values, column.values)
    if column.values:
        return Words(values, column.values)
    return Texts(values)


def _series(column: Column, values: Array) -> Any:
    if column.is_number or not column.values:
        return values
    return worded(column, values.astype(int))


def made_together(library: Library) -> Iterable[tuple[str, list[Column]]]:
    """Makers and the facts each of them makes."""
    for over in OVERS:
        makers: dict[str, list[Column]] = {}
        for column in library.register.facts[over].values():
            if column.derived and column.made_by:
                makers.setdefault(column.made_by, []).append(column)
        yield from makers.items()
