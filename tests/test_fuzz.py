"""Generated lists, workbooks, projects, price files and rule files: no traceback, no hang, a status of 0, 1 or 2 as
promised, errors on standard error alone, and no half-written file.

Ordinary: 500 inputs; `pytest -m thorough`: 10 000. Each input has SECONDS. A seed makes the same inputs again.
"""

from __future__ import annotations

import json
import os
import random
import re
import signal
import subprocess
import sys
from collections import Counter

import openpyxl
import pytest

from calling import call
from gatepost.judging import load_rules
from gatepost.library import library

SECONDS = 20
CELLS = [
    "", "x", "-", "0", "-1", "3/4", "1 1/2\"", "½", "1/0", "9" * 400, "1e309", "nan", "∞", "\x00", "\x07bell", "a\nb", 'quo"te', "=1+1", "@cmd", "<b>", "{part}", "ground + weather",
    "ground;weather", "weather", "post", "PT southern pine 4x4", "3/4 A-C plywood", "larch 100x100", "western red cedar", "🌲", "\u202egnp", "é" * 50, "yes", "no", "none", "unknown",
    "0.15 pcf", "12 %", "3:12", "45", "2x4", "glue", "screws", "#8 x 2", "M8 x 100", "stainless A4", "D4 PVA", "Madison, WI", "91,0", "*", "&a", "!!x", "- -", "[", "12:30", "hinge",
    "6' 3-1/2\"", "6’ 3½”", "2 ea", "4 pcs", "Total", "1.250", "1,250", "19,5", "4-Mar", "2026-03-04", "#REF!", "10d", "8d common", "16 gauge x 1", "staples", "\u00a0oak\u00a0", "\ufeff",
    "oak; clear", "../x", "/etc/passwd", "a" * 3000, "'=1", "+1", "1 - - 1", "x by x", "2 by 4", "(2)", "⌀8", "<!--", "%s%n", "\x1b[31m", "\x85", "\u2028", "true", "~", "NaN", ".5", "5.", "٣",
]  # fmt: skip
HEADINGS = [
    "part", "material", "species", "qty", "thickness", "width", "length", "exposure", "role", "finish", "grade", "treatment", "grain", "moisture", "clearance", "pitch", "Notes", "", "near", "worked",
    "joint", "part_a", "part_b", "method", "fastener", "size", "coating", "glue", "contact", "angle", "count", "life", "gap", "across", "end grain", "Width (mm)", "part", "cover", "swap",
    "item", "unit", "price", "currency", "labour", "Thickness in mm", "Length/ft", "width″",
]  # fmt: skip
VERBS = [
    ["review"], ["review", "--format", "json"], ["review", "--format", "csv", "--prose"], ["review", "--format", "md"], ["movement", "--built", "May"],
    ["review", "--fail-on", "note"], ["review", "--units", "both"], ["fasteners"], ["fasteners", "--format", "json"], ["review", "--site", "Madison, WI"], ["movement", "--site", "60,25"],
]  # fmt: skip
RARE = [["choose"], ["choose", "--format", "csv"], ["spec", "-o", "{}.html"], ["spec", "-o", "{}.md"], ["spec", "-o", "{}.json"], ["review", "--way-out"], ["choose", "--apply", "{}-applied"]]  # fmt: skip


PHRASES = {
    "material": ["larch 100x100", "PT southern pine 4x4", "3/4 A-C plywood", "western red cedar", "oak", "galvanized steel", "lrach"], "species": ["white oak", "larch", ""],
    "finish": ["", "2 coats of oil", "paint", "film"], "fastener": ["stainless screws", "10d nails", "staples", ""], "size": ["#8 x 2", "10d", "16 gauge x 1", "5 x 80 mm", ""],
    "glue": ["PVA", "epoxy", ""], "coating": ["hot-dip galvanized", ""], "grade": ["A-C", "clear", ""], "treatment": ["UC4A", "ACQ 0.15 pcf", ""],
}  # fmt: skip
PLAIN = {"size": ["3/4", "1 1/2", "19 mm", "90 mm", "", "6' 3\""], "number": ["", "1", "12"], "whole": ["", "2", "4 pcs"], "text": ["post", "rail", "gate board"]}  # fmt: skip
WRITTEN = {**library().register.written["joints"], **library().register.written["parts"]}


def sound(rng, heading):
    """A cell as an honest shop may write it under a heading."""
    column = WRITTEN.get(heading)
    if column is None:
        return rng.choice(["", "a word", "3"])
    if column.kind == "phrase":
        return rng.choice(PHRASES.get(heading, [""]))
    return rng.choice(PLAIN.get(column.kind) or ["", *column.values])


def rows_of(rng):
    """A heading row and some rows; in most lists few cells are hostile, in some all are."""
    header = ["part", "material", *rng.sample(HEADINGS, rng.randrange(0, 8))]
    if rng.random() < 0.3:
        header = [name for name in dict.fromkeys([*header, "joint", "part_a", "part_b"]) if name]
    if rng.random() < 0.1:
        header = rng.sample(HEADINGS, 4)
    header = list(dict.fromkeys(header)) if rng.random() < 0.9 else header
    share = rng.choice([0, 0, 0.03, 0.2, 1])
    rows = []
    for _ in range(rng.randrange(0 if share else 1, 6)):
        row = [rng.choice(CELLS) if rng.random() < share else sound(rng, name) for name in header]
        rows.append(row[: max(1, len(row) + rng.choice([-1, 0, 0, 0, 1]))] if share else row)
    return [*([["Title"], []] if rng.random() < 0.1 else []), header, *rows]


def quoted(rng, cell):
    """A cell as CSV writes it, now and then without the care that it takes."""
    if rng.random() < 0.03:
        return cell
    return '"{}"'.format(cell.replace('"', '""')) if re.search(r'[,;\t\n\r"]', cell) or rng.random() < 0.3 else cell


def a_list(rng):
    sign = rng.choice([",", ",", ";", "\t"])
    lines = [sign.join(quoted(rng, cell) for cell in row) for row in rows_of(rng)]
    data = (
        rng.choice(["\n", "\n", "\r\n", "\r"]).join(lines).encode(rng.choice(["utf-8", "utf-8", "utf-8-sig", "utf-16"]))
    )
    return damaged(rng, data) if rng.random() < 0.1 else data


def damaged(rng, data):
    """Bytes cut off, doubled, or changed."""
    data = bytearray(data)
    for _ in range(rng.randrange(1, 6)):
        if data:
            at = rng.randrange(len(data))
            data[at : at + rng.randrange(0, 4)] = rng.choice(
                [b"", b"\0", b"\xff", bytes([rng.randrange(256)]), data[:40]]
            )
    return bytes(data[: rng.randrange(len(data) + 1)] if rng.random() < 0.2 else data)


def a_workbook(rng, path):
    book = openpyxl.Workbook()
    for row in rows_of(rng):
        book.active.append([openpyxl.cell.cell.ILLEGAL_CHARACTERS_RE.sub("", cell) or None for cell in row])
    for _ in range(rng.randrange(0, 3)):
        row, column = rng.randrange(1, 5), rng.randrange(1, 5)
        book.active.merge_cells(
            start_row=row, start_column=column, end_row=row + rng.randrange(3), end_column=column + rng.randrange(2)
        )
    book.save(path)
    if rng.random() < 0.3:
        path.write_bytes(damaged(rng, path.read_bytes()))


def a_project(rng, parts):
    keys = ["name", "site", "life", "scheme", "units", "work", "stands", "accepted", "rules", "prices", "stock", "sit"]
    lines = [f"parts: {parts}"] if rng.random() < 0.9 else []
    lines += ["joints: joints.csv"] if rng.random() < 0.5 else []
    values = [
        *CELLS, "{month: May}", "{height: 6 ft, base: 10}", "[{rule: a, reason: bbb}]", "[1, 2]", "{}", "43.1,-89.4", "prices.csv", "rules.yaml", "&a [*a]", "{place: 'Boston, MA', so2_mg_m2_d: 5, chloride_mg_m2_d: 9}",
        "[[[[[[[[]]]]]]]]", "|\n  a\n  b", "in", "mm", "eu", "20", "Madison, WI",
    ]  # fmt: skip
    lines += [f"{rng.choice(keys)}: {rng.choice(values)}" for _ in range(rng.choice([0, 0, 1, 3]))]
    text = "\n".join(lines).replace("\x00", "\\0") + "\n"
    return damaged(rng, text.encode()) if rng.random() < 0.1 else text.encode()


SHIPPED = load_rules(library())
PIECES = [
    "width_mm", "role", "'post'", "exposure", "'ground'", "<", ">=", "==", "in", "not in", "and", "or", "not", "(", ")", "[", "]", ",", "+", "-", "*", "/", "**", "60", "0", "1e308", "9" * 60,
    "x", ".", "__class__", "lambda: 0", "if", "else", "f'{x}'", ":=", "'", '"', "\\", "\x00", "é", "a_width_mm", "worse_exposure", "True", "None", "{", "}", "@", "%", "<<", "~", "is", "await",
]  # fmt: skip


def a_rule_file(rng):
    """Shipped rules with some of their parts changed."""
    out = []
    for _ in range(rng.randrange(0, 4)):
        rule = json.loads(json.dumps({key: value for key, value in vars(rng.choice(SHIPPED).rule).items() if value}))
        rule["rule"] = f"generated-rule-number-{rng.randrange(5)}"
        for _ in range(rng.randrange(0, 3)):
            key = rng.choice([*rule, "extra"])
            rule[key] = rng.choice(
                [" ".join(rng.choices(PIECES, k=rng.randrange(1, 9))), [" ".join(rng.choices(PIECES, k=5))], rng.choice(CELLS), [], {}, None, 3, True, [{}], [[1]], {"width_mm": rng.choice(CELLS)}]
            )  # fmt: skip
        if rng.random() < 0.6:
            rule["when"] = [" ".join(rng.choices(PIECES, k=rng.randrange(1, 9))) if rng.random() < 0.4 else one for one in rule.get("when") or [] if isinstance(one, str)] if isinstance(rule.get("when"), list) else rule.get("when")  # fmt: skip
        out.append(rule)
    data = json.dumps(out, ensure_ascii=rng.random() < 0.5).encode()
    return damaged(rng, data) if rng.random() < 0.2 else data


class Hangs(Exception):
    """An input took more than SECONDS."""


def timed(arguments):
    """A call that is stopped when it takes more than SECONDS."""

    def stop(*_):
        raise Hangs(arguments)

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(SECONDS)
    try:
        return call(*arguments)
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def generated(folder, seed, number):
    """Arguments of one call, and the files that it may write; the same for the same seed and number."""
    rng = random.Random(f"{seed} {number}")
    (folder / "parts.csv").write_bytes(a_list(rng))
    (folder / "joints.csv").write_bytes(a_list(rng))
    (folder / "prices.csv").write_bytes(a_list(rng))
    (folder / "rules.yaml").write_bytes(a_rule_file(rng))
    sheet = rng.random() < 0.15
    if sheet:
        a_workbook(rng, folder / "parts.xlsx")
    parts = "parts.xlsx" if sheet else "parts.csv"
    (folder / "project.yaml").write_bytes(a_project(rng, parts))
    if rng.random() < 0.15:
        return ["rules", "--check", folder / "rules.yaml"], None
    verb, *options = rng.choice(RARE if rng.random() < 0.02 else VERBS)
    made = folder / f"made-{number}"
    out = next((option.format(made) for option in options if "{}" in option), None)
    more = rng.choice([[], [], [], [], [], ["--prices", folder / "prices.csv"], ["--rules", folder / "rules.yaml"]])
    project = folder / rng.choice(["project.yaml", parts])
    return [verb, project, *(option.format(made) for option in options), *more], out


def right(status, out, err, arguments, made):
    """Is the way out the promised one? Says in words what is not."""
    wrong = []
    if status not in (0, 1, 2):
        wrong.append(f"status {status}")
    if "unforeseen" in err or "Traceback" in out + err:
        wrong.append("unforeseen")
    if status == 2 and (not err or out):
        wrong.append("a refusal that says nothing, or prints to standard output")
    told = re.sub(r"(?m)^(Wrote \d+ cells|accepted, |.*rules, each proved).*\n?", "", err)
    if arguments[0] == "review" and {"csv", "md"} & set(arguments):
        counted = re.search(
            r"(\d+) rows given: (\d+) parts and (\d+) joints read, (\d+) set aside\. Findings: .*\n\Z", told
        )
        told = "" if counted and int(counted[1]) == sum(map(int, counted.groups()[1:])) else "the rows are not counted"
    if status != 2 and told:
        wrong.append("errors beside an answer")
    if status == 1 and "--fail-on" not in arguments:
        wrong.append("status 1 without --fail-on")
    if made is not None and status == 2 and os.path.lexists(made):
        wrong.append("a file of a call that was refused")
    if re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", out + err):
        wrong.append("a sign that steers a terminal")
    return wrong


def tried(folder, seed, numbers):
    """How many calls ended with each status."""
    seen = Counter()
    for number in numbers:
        arguments, made = generated(folder, seed, number)
        status, out, err = timed(arguments)
        assert right(status, out, err, arguments, made) == [], (seed, number, arguments, err[-400:])
        assert not [one for one in folder.iterdir() if one.name.startswith(".")], (seed, number)
        seen[status] += 1
    return seen


@pytest.mark.parametrize("share", range(5))
def test_five_hundred_inputs(tmp_path, share, record_property):
    seen = tried(tmp_path, "ordinary", range(share * 100, share * 100 + 100))
    record_property("statuses", [seen[status] for status in (0, 1, 2)])
    assert min(seen[0], seen[2]) >= 10, seen


@pytest.mark.thorough
@pytest.mark.parametrize("share", range(20))
def test_ten_thousand_inputs(tmp_path, share, record_property):
    seen = tried(tmp_path, "thorough", range(share * 500, share * 500 + 500))
    record_property("statuses", [seen[status] for status in (0, 1, 2)])
    assert min(seen[0], seen[1], seen[2]) >= 1, seen


@pytest.mark.parametrize("number", [3, 77])
def test_a_process_of_its_own_ends_alike(tmp_path, number):
    arguments, _ = generated(tmp_path, "ordinary", number)
    status, out, err = call(*arguments)
    done = subprocess.run(
        [sys.executable, "-m", "gatepost", *map(str, arguments)], capture_output=True, check=False, timeout=60
    )
    assert (done.returncode, done.stdout.decode()) == (status, out)
    assert done.stderr.decode() == err


@pytest.mark.thorough
def test_forty_processes_of_their_own_end_alike(tmp_path):
    for number in range(1000, 1040):
        test_a_process_of_its_own_ends_alike(tmp_path, number)
