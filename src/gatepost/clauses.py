"""The language of conditions: one clause compiled to numpy masks over columns.

A clause answers with two masks, where it is surely true and where it is surely false; where neither holds a
value is missing and the clause is undecided. `and`, `or` and `not` work on the pairs.
"""

from __future__ import annotations

import ast
import math
import operator
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from .errors import did_you_mean
from .library import Column, Over, Register
from .limits import limit
from .limits import over as beyond

Masks = tuple[np.ndarray, np.ndarray]
MOST_RUNS = 3

_COMPARE: dict[type, Callable[[Any, Any], Any]] = {
    ast.Lt: operator.lt, ast.LtE: operator.le, ast.Gt: operator.gt,
    ast.GtE: operator.ge, ast.Eq: operator.eq, ast.NotEq: operator.ne,
}  # fmt: skip
_ARITHMETIC: dict[type, Callable[[Any, Any], Any]] = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: np.divide,
}  # fmt: skip
_OPPOSITE: dict[type, type] = {
    ast.Lt: ast.GtE,
    ast.LtE: ast.Gt,
    ast.Gt: ast.LtE,
    ast.GtE: ast.Lt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
}


class Encoded(Protocol):
    """What a clause reads: numbers as floats (NaN unknown), a word as its place in the register's order
    (-1 unknown), several words as bits (0 unknown). Arrays of one row stand for all rows."""

    def get(self, name: str) -> np.ndarray:
        """The encoded column."""


@dataclass(frozen=True)
class Clause:
    """A compiled clause: its text in one spelling, the columns it reads, and how to ask it."""

    text: str
    columns: tuple[str, ...]
    ask: Callable[[Encoded], Masks]


class ClauseError(Exception):
    """What is wrong with a clause, and at which character (from 1)."""

    def __init__(self, what: str, at: int = 1) -> None:
        super().__init__(what)
        self.what = what
        self.at = at


def encode_word(column: Column, word: Any) -> float | int:
    """One plain value as a clause reads it; ValueError when the register does not allow it."""
    if column.is_number:
        return float("nan") if word is None else _real(word)
    if column.kind == "words":
        return 0 if word is None else sum({1 << column.values.index(one.strip()) for one in str(word).split("+")})
    return -1 if word is None else column.values.index(str(word))


def _real(word: Any) -> float:
    """A finite number; ValueError for yes, no and what is beyond all numbers."""
    if isinstance(word, bool) or not math.isfinite(value := float(word)):
        raise ValueError(word)
    return value


def compile_clause(text: str, over: Over, register: Register) -> Clause:
    """Compile one clause over a table; ClauseError names what is not allowed and where."""
    if len(text) > limit("CLAUSE_SIGNS"):
        raise ClauseError(beyond("CLAUSE_SIGNS", "longer than a clause may be; make it several clauses"))
    tree = _parsed(text)
    compiler = _Compiler(over, register)
    try:
        ask = compiler.condition(tree)
    except RecursionError:
        raise ClauseError("nested too deeply") from None
    return Clause(" ".join(text.split()), tuple(dict.fromkeys(compiler.columns)), ask)


def _parsed(text: str) -> ast.expr:
    """The clause as a tree that is not too deep; nothing of it is run."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", SyntaxWarning)
            warnings.simplefilter("ignore", DeprecationWarning)
            tree = ast.parse(text, mode="eval").body
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        raise ClauseError("not a comparison that can be read", getattr(error, "offset", 1) or 1) from None
    nodes: list[ast.AST] = [tree]
    for _ in range(limit("CLAUSE_DEPTH")):
        nodes = [inner for node in nodes for inner in ast.iter_child_nodes(node)]
        if not nodes:
            return tree
    raise _error(nodes[0], beyond("CLAUSE_DEPTH", "nested deeper than is read"))


def _error(node: ast.AST, what: str) -> ClauseError:
    return ClauseError(what, getattr(node, "col_offset", 0) + 1)


class _Compiler:
    def __init__(self, over: Over, register: Register) -> None:
        self.over = over
        self.register = register
        self.columns: list[str] = []

    def condition(self, node: ast.expr) -> Callable[[Encoded], Masks]:
        """A node that is true or false."""
        if isinstance(node, ast.BoolOp):
            return _joined([self.condition(value) for value in node.values], isinstance(node.op, ast.And))
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            return _swapped(self.condition(node.operand))
        if isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            pairs = [self.comparison(sides[i], op, sides[i + 1]) for i, op in enumerate(node.ops)]
            return pairs[0] if len(pairs) == 1 else _joined(pairs, True)
        raise _error(node, "must be a comparison, or comparisons joined by and, or, not")

    def comparison(self, left: ast.expr, op: ast.cmpop, right: ast.expr) -> Callable[[Encoded], Masks]:
        if isinstance(op, ast.In | ast.NotIn):
            asked = self.membership(left, right)
            return asked if isinstance(op, ast.In) else _swapped(asked)
        if type(op) not in _COMPARE:
            raise _error(left, "compare with ==, !=, <, <=, >, >=, in or not in")
        word = self.word_column(left) or self.word_column(right)
        if word is not None:
            return self.words_compared(left, op, right)
        return _numbers(self.number(left), type(op), self.number(right))

    def membership(self, left: ast.expr, right: ast.expr) -> Callable[[Encoded], Masks]:
        if isinstance(left, ast.Constant) and isinstance(right, ast.Name):
            column = self.column(right)
            if column.kind != "words":
                raise _error(right, f"{right.id} holds one value; write {right.id} == {left.value!r}")
            return _holds(right.id, 1 << self.place(left, column))
        if isinstance(left, ast.Name) and isinstance(right, ast.List | ast.Tuple):
            column = self.column(left)
            if column.kind == "words":
                raise _error(left, f"{left.id} may hold several words; write 'word' in {left.id}")
            if column.is_number:
                raise _error(left, f"{left.id} is a number; compare it with < or >")
            return _chosen(left.id, {self.place(item, column) for item in right.elts}, len(column.values))
        raise _error(left, "write column in ['word', 'word'] or 'word' in column")

    def words_compared(self, left: ast.expr, op: ast.cmpop, right: ast.expr) -> Callable[[Encoded], Masks]:
        if not isinstance(left, ast.Name):
            raise _error(left, "put the column on the left")
        column = self.column(left)
        if column.is_number:
            raise _error(left, f"{left.id} is a number; compare it with a number, not with words")
        ordering = not isinstance(op, ast.Eq | ast.NotEq)
        if column.kind == "words":
            raise _error(left, f"{left.id} may hold several words; write 'word' in {left.id}")
        if ordering and not column.ordered:
            raise _error(left, f"the words of {left.id} have no order; use == or in")
        if isinstance(right, ast.Name):
            if self.column(right).values != column.values:
                raise _error(right, f"{right.id} does not have the same words as {left.id}")
            return _codes(left.id, type(op), right.id)
        place = self.place(right, column)
        kept = {i for i in range(len(column.values)) if _COMPARE[type(op)](i, place)}
        return _chosen(left.id, kept, len(column.values))

    def word_column(self, node: ast.expr) -> Column | None:
        if not isinstance(node, ast.Name):
            return None
        column = self.column(node)
        return None if column.is_number else column

    def place(self, node: ast.expr, column: Column) -> int:
        """Place of a quoted word in the register's order."""
        if not isinstance(node, ast.Constant) or not isinstance(node.value, str):
            raise _error(node, f"compare {column.name} with a quoted word")
        if node.value not in column.values:
            raise _error(
                node, f"{node.value!r} is not a word of {column.name}{did_you_mean(node.value, column.values)}"
            )
        return column.values.index(node.value)

    def column(self, node: ast.Name) -> Column:
        found = self.register.find(self.over, node.id)
        if found is None:
            hint = did_you_mean(node.id, self.register.names(self.over))
            raise _error(node, f"{node.id} is no column of {self.over}{hint}")
        if found.kind in ("text", "series") or (found.kind == "phrase" and not found.values):
            raise _error(node, f"{node.id} is free text and cannot be compared")
        self.columns.append(node.id)
        return found

    def number(self, node: ast.expr) -> Callable[[Encoded], Any]:
        """A node that is a number."""
        if isinstance(node, ast.Constant) and isinstance(node.value, int | float) and not isinstance(node.value, bool):
            return _constant(node)
        if isinstance(node, ast.Name):
            if not self.column(node).is_number:
                raise _error(node, f"{node.id} is a word, not a number")
            name = node.id
            return lambda rows: rows.get(name)
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            inner = self.number(node.operand)
            return lambda rows: -inner(rows)
        if isinstance(node, ast.BinOp) and type(node.op) in _ARITHMETIC:
            return _arithmetic(self.number(node.left), _ARITHMETIC[type(node.op)], self.number(node.right))
        raise _error(node, "only columns, numbers, quoted words and + - * / are allowed")


def _constant(node: ast.Constant) -> Callable[[Encoded], Any]:
    try:
        value = _real(node.value)
    except (ValueError, OverflowError):
        raise _error(node, "the number is too large") from None
    return lambda _: value


def _arithmetic(
    left: Callable[[Encoded], Any], act: Callable[[Any, Any], Any], right: Callable[[Encoded], Any]
) -> Callable[[Encoded], Any]:
    def ask(rows: Encoded) -> Any:
        with np.errstate(all="ignore"):
            return act(left(rows), right(rows))

    return ask


def _numbers(left: Callable[[Encoded], Any], op: type, right: Callable[[Encoded], Any]) -> Callable[[Encoded], Masks]:
    """An unknown number is NaN, of which no comparison but != holds."""

    def ask(rows: Encoded) -> Masks:
        a, b = np.atleast_1d(left(rows)), np.atleast_1d(right(rows))
        yes, no = np.asarray(_COMPARE[op](a, b)), np.asarray(_COMPARE[_OPPOSITE[op]](a, b))
        if op is ast.NotEq:
            yes = yes & ~np.isnan(a) & ~np.isnan(b)
        elif op is ast.Eq:
            no = no & ~np.isnan(a) & ~np.isnan(b)
        return yes, no

    return ask


def _codes(left: str, op: type, right: str) -> Callable[[Encoded], Masks]:
    def ask(rows: Encoded) -> Masks:
        a, b = rows.get(left), rows.get(right)
        known = (a >= 0) & (b >= 0)
        return _COMPARE[op](a, b) & known, _COMPARE[_OPPOSITE[op]](a, b) & known

    return ask


def _chosen(name: str, kept: set[int], count: int) -> Callable[[Encoded], Masks]:
    """Whether a word is one of the kept; runs of neighbours are quicker compared than looked up."""
    runs = _runs(kept)
    if len(runs) > MOST_RUNS:
        return _looked_up(name, kept, count)

    def ask(rows: Encoded) -> Masks:
        codes = rows.get(name)
        yes = np.zeros(codes.shape, bool)
        for first, last in runs:
            yes |= (codes == first) if first == last else (codes >= first) & (codes <= last)
        return yes, (codes >= 0) & ~yes

    return ask


def _runs(kept: set[int]) -> list[tuple[int, int]]:
    """Neighbouring places as first and last: {1, 2, 5} as 1 to 2 and 5 to 5."""
    firsts = sorted(place for place in kept if place - 1 not in kept)
    lasts = sorted(place for place in kept if place + 1 not in kept)
    return list(zip(firsts, lasts, strict=True))


def _looked_up(name: str, kept: set[int], count: int) -> Callable[[Encoded], Masks]:
    yes = np.zeros(count + 1, bool)
    yes[list(kept)] = True
    no = ~yes
    no[-1] = False

    def ask(rows: Encoded) -> Masks:
        codes = rows.get(name)
        return yes[codes], no[codes]

    return ask


def _holds(name: str, bit: int) -> Callable[[Encoded], Masks]:
    def ask(rows: Encoded) -> Masks:
        bits = rows.get(name)
        yes = (bits & bit) != 0
        return yes, (bits != 0) & ~yes

    return ask


def _swapped(inner: Callable[[Encoded], Masks]) -> Callable[[Encoded], Masks]:
    def ask(rows: Encoded) -> Masks:
        yes, no = inner(rows)
        return no, yes

    return ask


def _joined(inner: list[Callable[[Encoded], Masks]], every: bool) -> Callable[[Encoded], Masks]:
    def ask(rows: Encoded) -> Masks:
        yes, no = inner[0](rows)
        for one in inner[1:]:
            other_yes, other_no = one(rows)
            yes, no = (yes & other_yes, no | other_no) if every else (yes | other_yes, no & other_no)
        return yes, no

    return ask
