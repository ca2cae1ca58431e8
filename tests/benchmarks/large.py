"""How long a catalogue takes, side by side in one run: hand-written masks, the judge, other engines, the whole command.

`python tests/benchmarks/large.py [PARTS]` prints Markdown tables; no test holds them. Processor seconds of this process
and its children, the best of several runs; of the whole command the time on the clock too. polars and duckdb come with `pip install -e '.[bench]'`.
"""

from __future__ import annotations

import ast
import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parent))
import catalogue

from gatepost import derive, read
from gatepost.judging import judge, load_rules
from gatepost.large import Catalogue

SITE = "Madison, WI"
MEASURE = """
import resource, subprocess, sys, time
begun = time.perf_counter()
subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)
wall, used = time.perf_counter() - begun, resource.getrusage(resource.RUSAGE_CHILDREN)
print(used.ru_utime + used.ru_stime, wall, used.ru_maxrss / 1000)
"""
"""Runs a command from a small process, whose own memory does not count."""
COMPARE = {ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "==", ast.NotEq: "!="}

CONTRARY = {
    ast.Lt: ast.GtE, ast.GtE: ast.Lt, ast.Gt: ast.LtE, ast.LtE: ast.Gt,
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip


def used() -> float:
    """Processor seconds that this process and its children have used."""
    each = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(one.ru_utime + one.ru_stime for one in each)


def seconds(call: Callable[[], object], times: int = 3) -> float:
    """Processor seconds of the quickest of several calls, children included."""
    spent = []
    for _ in range(times):
        before = used()
        call()
        spent.append(used() - before)
    return min(spent)


def denied(node: ast.expr) -> ast.expr:
    """The contrary of a condition, with `not` carried down to its comparisons."""
    if isinstance(node, ast.BoolOp):
        return ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), list(map(denied, node.values)))
    if isinstance(node, ast.UnaryOp):
        return node.operand
    assert isinstance(node, ast.Compare)
    sides = [node.left, *node.comparators]
    each = [ast.Compare(sides[i], [CONTRARY[type(op)]()], [sides[i + 1]]) for i, op in enumerate(node.ops)]
    return each[0] if len(each) == 1 else ast.BoolOp(ast.Or(), each)


class Written:
    """Clauses as a person would write them over plain columns: expressions of numpy, or of SQL, made from their text."""

    def __init__(self, tables, over: str, sql: bool = False) -> None:
        self.table, self.register, self.over, self.sql = tables[0], tables[0].register, over, sql
        self.names: dict[str, None] = {}

    def clause(self, text: str) -> str:
        return self.node(ast.parse(text, mode="eval").body)

    def node(self, node: ast.expr) -> str:
        if isinstance(node, ast.BoolOp):
            sign = (" AND " if self.sql else " & ") if isinstance(node.op, ast.And) else (" OR " if self.sql else " | ")
            return f"({sign.join(self.node(value) for value in node.values)})"
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            return self.node(denied(node.operand))
        if isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            each = [self.compared(sides[i], op, sides[i + 1]) for i, op in enumerate(node.ops)]
            return f"({(' AND ' if self.sql else ' & ').join(each)})"
        if isinstance(node, ast.UnaryOp):
            return f"(-{self.node(node.operand)})"
        if isinstance(node, ast.BinOp):
            sign = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/"}[type(node.op)]
            return f"({self.node(node.left)} {sign} {self.node(node.right)})"
        return self.name(node.id) if isinstance(node, ast.Name) else repr(node.value)

    def name(self, name: str) -> str:
        self.names[name] = None
        return f'"{name}"' if self.sql else f"c_{name}"

    def compared(self, left: ast.expr, op: ast.cmpop, right: ast.expr) -> str:
        if isinstance(op, ast.In | ast.NotIn):
            inside = self.inside(left, right)
            return (
                inside
                if isinstance(op, ast.In)
                else f"({self.known(left, right)} {'AND NOT' if self.sql else '& ~'} {inside})"
            )
        column = self.register.find(self.over, left.id) if isinstance(left, ast.Name) else None
        sign = COMPARE[type(op)] if not (self.sql and isinstance(op, ast.Eq)) else "="
        if column is None or column.is_number:
            compared = f"({self.node(left)} {sign} {self.node(right)})"
            unlike = isinstance(op, ast.NotEq) and not self.sql
            return f"({compared} & ({self.node(left)} == {self.node(left)}))" if unlike else compared
        other = self.name(right.id) if isinstance(right, ast.Name) else str(column.values.index(right.value))
        return f"(({self.name(left.id)} {sign} {other}) {'AND' if self.sql else '&'} {self.known(left, right)})"

    def known(self, left: ast.expr, right: ast.expr) -> str:
        """A word that is not known answers no question."""
        word = left if isinstance(left, ast.Name) else right
        many = self.register.find(self.over, word.id).kind == "words"
        return f"({self.name(word.id)} {'!=' if many else '>='} 0)"

    def inside(self, left: ast.expr, right: ast.expr) -> str:
        if isinstance(left, ast.Constant):
            bit = 1 << self.register.find(self.over, right.id).values.index(left.value)
            return f"(({self.name(right.id)} & {bit}) != 0)"
        values = self.register.find(self.over, left.id).values
        places = [values.index(item.value) for item in right.elts]
        either = " OR " if self.sql else " | "
        return f"({either.join(f'({self.name(left.id)} {chr(61) if self.sql else chr(61) * 2} {place})' for place in places)})"


def written(tables, rules, sql: bool = False) -> tuple[dict[str, str], list[str]]:
    """Each rule over parts as one expression, and the columns that they read."""
    out = Written(tables, "parts", sql)
    sign = " AND " if sql else " & "
    made = {one.rule.rule: sign.join(out.clause(text) for text in one.rule.when) for one in rules}
    return made, list(out.names)


def by_hand(tables, rules, count: int) -> Callable[[], dict[str, int]]:
    """Hand masks: each rule once, in whole columns."""
    made, names = written(tables, rules)
    columns = {f"c_{name}": np.broadcast_to(tables[0].get(name), count) for name in names}
    code = {name: compile(text, name, "eval") for name, text in made.items()}
    return lambda: {name: int(np.count_nonzero(eval(one, {}, columns))) for name, one in code.items()}


def plain_frame(tables, names: list[str], count: int) -> pd.DataFrame:
    return pd.DataFrame({name: np.broadcast_to(tables[0].get(name), count) for name in names})


def by_duckdb(tables, rules, count: int) -> Callable[[], dict[str, int]]:
    """One query that counts all rules; numbers that are not known are NULL there."""
    import duckdb

    made, names = written(tables, rules, sql=True)
    frame = plain_frame(tables, names, count)
    base = duckdb.connect()
    base.execute("SET threads = 1")
    base.execute("CREATE TABLE parts AS SELECT * FROM frame")
    for name in frame.columns[[dtype.kind == "f" for dtype in frame.dtypes]]:
        base.execute(f'UPDATE parts SET "{name}" = NULL WHERE isnan("{name}")')
    sums = ", ".join(f'count(*) FILTER (WHERE {text}) AS "{name}"' for name, text in made.items())
    return lambda: dict(zip(made, base.execute(f"SELECT {sums} FROM parts").fetchone(), strict=True))


def by_polars(tables, rules, count: int) -> Callable[[], dict[str, int]]:
    """One selection that counts all rules; numbers that are not known are null there."""
    import polars as pl

    made, names = written(tables, rules)
    frame = pl.DataFrame(
        {name: np.ascontiguousarray(np.broadcast_to(tables[0].get(name), count)) for name in names}
    ).fill_nan(None)
    columns = {f"c_{name}": pl.col(name) for name in names}
    each = [eval(text, {}, columns).sum().alias(name) for name, text in made.items()]
    return lambda: {name: int(total or 0) for name, total in frame.select(each).row(0, named=True).items()}


def judging(count: int, share: float = 1.0, others: bool = True) -> dict[str, float]:
    """Processor seconds of judging a catalogue by each way; all must find the same."""
    project = read(pd.DataFrame(catalogue.cells(count)), site=SITE)
    known = derive(project).library
    rules = [one for one in load_rules(known) if one.rule.over == "parts" and one.rule.scheme in ("us", "both")]
    rules = rules[: max(1, int(len(rules) * share))]
    tables, _ = Catalogue(known, rules).tables(project, Catalogue(known, rules).wanted)
    hand = by_hand(tables, rules, count)
    counted = np.bincount(judge(*tables, rules, "us").found["rule"], minlength=len(rules))
    found = {one.rule.rule: int(times) for one, times in zip(rules, counted, strict=True)}
    ways: dict[str, Callable[[], object]] = {"hand masks": hand, "judge": lambda: judge(*tables, rules, "us")}
    if others:
        ways |= {"polars": by_polars(tables, rules, count), "duckdb": by_duckdb(tables, rules, count)}
    for name, way in ways.items():
        told = way() if name != "judge" else found
        if told != found:
            raise SystemExit(
                f"{name} does not find what the judge finds: {[n for n in found if told[n] != found[n]][:3]}"
            )
    return {name: seconds(way) for name, way in ways.items()} | {"rules": len(rules)}


def once(path: Path, storage: str) -> tuple[float, float]:
    """Processor seconds and seconds on the clock of `pandas.read_csv`, with text as Python keeps it or as Arrow does."""
    before, begun = used(), time.perf_counter()
    with pd.option_context("mode.string_storage", storage):
        pd.read_csv(path)
    return used() - before, time.perf_counter() - begun


def command(path: Path, workers: int) -> tuple[float, ...]:
    """Processor seconds, seconds on the clock and memory [MB] of the whole command; of its largest process."""
    call = [sys.executable, "-m", "gatepost", "review", str(path), "--format", "csv", "--site", SITE]
    made = os.environ | {"GATEPOST_WORKERS": str(workers)}
    done = subprocess.run([sys.executable, "-c", MEASURE, *call], capture_output=True, text=True, check=True, env=made)
    return tuple(map(float, done.stdout.split()))


def side_by_side(path: Path, times: int = 5) -> None:
    """Print a line for one process and one for two: the least of several runs, each beside its own `pandas.read_csv`.

    Beside text as Arrow keeps it only where pyarrow is installed.
    """
    ways: dict[str, Callable[[], tuple[float, ...]]] = {
        "read_csv": lambda: once(path, "python"), "1": lambda: command(path, 1), "2": lambda: command(path, 2)
    }  # fmt: skip
    if find_spec("pyarrow"):
        ways["arrow"] = lambda: once(path, "pyarrow")
    runs = [{name: way() for name, way in ways.items()} for _ in range(times)]
    least = {name: [min(run[name][at] for run in runs) for at in range(len(runs[0][name]))] for name in ways}
    base, arrow = least["read_csv"], least.get("arrow")
    for count in ("1", "2"):
        spent, wall, memory = least[count]
        beside = f"{spent / arrow[0]:.1f}" if arrow else "not installed"
        print(
            f"| | {path.stem} | {count} | {base[0]:.2f} | {spent:.2f} | {spent / base[0]:.1f} | {beside} "
            f"| {base[1]:.2f} | {wall:.2f} | {wall / base[1]:.1f} | {memory:.0f} |",
            flush=True,
        )


def main(most: int) -> None:
    """Print the tables."""
    print(
        f"{platform.machine()}, {os.cpu_count()} processors, Python {platform.python_version()}, numpy {np.__version__}, pandas {pd.__version__}\n"
    )
    print(
        "| judging | parts | rules | hand masks s | judge s | judge / hand | polars / hand | duckdb / hand |\n|---|---:|---:|---:|---:|---:|---:|---:|"
    )
    for count, share in ((most // 100, 1.0), (most // 10, 0.25), (most // 10, 0.5), (most // 10, 1.0), (most, 1.0)):
        row = judging(count, share)
        base = row["hand masks"]
        others = " | ".join(f"{row[name] / base:.1f}" for name in ("judge", "polars", "duckdb"))
        print(f"| | {count} | {row['rules']:.0f} | {base:.2f} | {row['judge']:.2f} | {others} |", flush=True)
    print(
        "\n| whole command | parts | processes | read_csv s | command s | / read_csv | / read_csv, Arrow text "
        "| read_csv on the clock s | command on the clock s | / read_csv | most memory MB |\n"
        "|---|---:|---:|---:|---:|---:|---:|---:|---:|---:|---:|"
    )
    with tempfile.TemporaryDirectory() as folder:
        for count in (most // 10, most):
            path = Path(folder) / f"{count}.csv"
            catalogue.write(count, path)
            side_by_side(path)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
