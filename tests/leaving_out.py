"""Whole projects with each column left out in turn, all of it read, derived and judged as one project of many copies.

A copy has every part and joint of the project under names of its own and one column blank, so that nothing of it meets
another copy; the first copy has no blank.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import yaml

import projects
from gatepost.deriving import derive
from gatepost.deriving.reasons import Reasons
from gatepost.judging import judge, load_rules
from gatepost.library import library
from gatepost.reading import read
from gatepost.reading.files import Rows, read_rows
from gatepost.reading.headers import find_header
from gatepost.reading.lists import kept_rows
from gatepost.reading.settings import read_settings

KNOWN = library()
NAMES = {"parts": ["part"], "joints": ["joint", "part_a", "part_b"]}
RULES = load_rules(KNOWN)
DENIED, WAITS, HOLDS = 0, 1, 2


@dataclass
class Sheet:
    """One list: its headings, the column of the register that each means, and its rows."""

    heads: list[str]
    columns: list[str]
    cells: list[list[str]]


@dataclass
class Copies:
    """A project of copies, judged. left_out[k] is the list and the column that copy k leaves out, None for the first."""

    left_out: list[tuple[str, str] | None]
    facts: object
    many: dict[str, int]
    status: dict[str, np.ndarray]
    waiting: object


def sheet_of(name, over):
    folder = projects.PROJECTS[name]
    wanted = getattr(read_settings(folder / "project.yaml"), over)
    if wanted is None:
        return Sheet(list(NAMES[over]), list(NAMES[over]), [])
    rows = wanted if isinstance(wanted, Rows) else read_rows(folder / wanted)
    header = find_header(rows, over, KNOWN.register)
    heads = [rows.cells[header.row][one.at] for one in header.headings]
    kept = [rows.cells[at] for at in kept_rows(rows, header)]
    cells = [[row[one.at] if one.at < len(row) else "" for one in header.headings] for row in kept]
    return Sheet(heads, [one.column.written for one in header.headings], cells)


def filled(sheet, over):
    """Columns with something in them, those that name a row apart."""
    return [
        column
        for at, column in enumerate(sheet.columns)
        if column not in NAMES[over] and any(row[at].strip() for row in sheet.cells)
    ]


def copies_of(sheet, over, left_out):
    """The rows of all copies; names end in the number of the copy."""
    out = []
    for number, one in enumerate(left_out):
        blank = one[1] if one is not None and one[0] == over else None
        for row in sheet.cells:
            out.append(
                [
                    "" if column == blank else f"{text} ~{number}" if column in NAMES[over] else text
                    for column, text in zip(sheet.columns, row, strict=True)
                ]
            )
    return out


def judged(name: str, folder: Path) -> Copies:
    """The project of copies in `folder`, read, derived and judged."""
    sheets = {over: sheet_of(name, over) for over in NAMES}
    left_out = [None, *((over, column) for over in NAMES for column in filled(sheets[over], over))]
    data = yaml.safe_load((projects.PROJECTS[name] / "project.yaml").read_text(encoding="utf-8"))
    data = {key: data[key] for key in data.keys() & {"site", "life", "scheme", "units", "work", "stands"}}
    for over, sheet in sheets.items():
        if sheet.cells:
            data[over] = f"{over}.csv"
            with (folder / f"{over}.csv").open("w", encoding="utf-8", newline="") as file:
                csv.writer(file).writerows([sheet.heads, *copies_of(sheet, over, left_out)])
    (folder / "project.yaml").write_text(yaml.safe_dump(data), encoding="utf-8")
    facts = derive(read(folder / "project.yaml"))
    made = judge(*facts.encoded, RULES, facts.project.scheme)
    many = {over: len(sheet.cells) for over, sheet in sheets.items()}
    status = {over: np.zeros((len(RULES), len(left_out) * many[over]), np.int8) for over in NAMES}
    for frame, value in ((made.found, HOLDS), (made.waiting, WAITS)):
        for over in NAMES:
            some = frame[frame["over"] == over]
            status[over][some["rule"].to_numpy(int), some["row"].to_numpy(int)] = value
    return Copies(left_out, facts, many, status, made.waiting)


def facts_of_column(over, written):
    """Facts that a written column may set: its own, and those that its free text tells."""
    column = KNOWN.register.written[over][written]
    return {column.name, *column.reads, *([column.word_column] if column.word_column else [])}


def noted(copies: Copies) -> set[tuple[str, str, int]]:
    """Cells (list, fact, row) that some rule waits for: each is named by an input note."""
    reasons = Reasons(KNOWN, *copies.facts.encoded)
    out = set()
    for _, over, row, column in copies.waiting.itertuples(index=False):
        out |= set(reasons.roots(over, column, row))
    return out


def assumed(copies: Copies) -> set[tuple[str, str, int]]:
    """Cells (list, fact, row) that were blank and for which a stated default was taken."""
    tables = copies.facts.project.assumed
    return {(over, column, row) for over, frame in tables.items() for row, column, *_ in frame.itertuples(index=False)}


def spoken_for(copies: Copies, word: set[tuple[str, str, int]], over: str, number: int, row: int) -> bool:
    """Is the blank cell told of in that row: a note asks for it, a default is stated, or another cell tells the fact?"""
    home, written = copies.left_out[number]
    at = number * copies.many[over] + row
    rows = [at] if over == home else []
    if over == "joints" and home == "parts":
        rows = [int(copies.facts.joints[f"{side}_row"].iat[at]) for side in "ab"]
    rows = [one for one in rows if one >= 0]
    own = getattr(copies.facts, home)[KNOWN.register.written[home][written].name]
    facts = facts_of_column(home, written)
    return bool(own.notna().iloc[rows].any()) or any((home, fact, one) in word for fact in facts for one in rows)


def changes(copies: Copies):
    """What differs from the first copy where a cell is left out, and does not merely wait or become unknown."""
    for over, many in copies.many.items():
        status = copies.status[over].reshape(len(RULES), len(copies.left_out), many)
        frame = getattr(copies.facts, over)
        numbers = {
            name: frame[name] for name, one in KNOWN.register.facts[over].items() if one.derived and one.is_number
        }
        numbers = {name: values.to_numpy(float).reshape(-1, many) for name, values in numbers.items() if many}
        for number in range(1, len(copies.left_out)):
            for rule, row in np.argwhere((status[:, 0] != status[:, number]) & (status[:, number] != WAITS)):
                yield over, number, int(row), RULES[rule].rule.rule
            for name, values in numbers.items():
                same = np.isnan(values[number]) | np.isclose(values[number], values[0], rtol=1e-9, atol=1e-9)
                for row in np.flatnonzero(~same):
                    yield over, number, int(row), name
