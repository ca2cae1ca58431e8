"""Generated lists and projects: no traceback, a status of 0, 1 or 2, and errors only on standard error."""

from __future__ import annotations

import contextlib
import io
import random

import pytest

from gatepost.cli import main

CELLS = [
    "", "x", "-", "0", "-1", "3/4", "1 1/2\"", "½", "1/0", "9" * 400, "1e309", "nan", "∞", "\x00", "\x07bell", "a\nb", 'quo"te', "=1+1", "@cmd", "<b>", "{part}", "ground + weather",
    "ground;weather", "weather", "post", "PT southern pine 4x4", "3/4 A-C plywood", "larch 100x100", "western red cedar", "🌲", "\u202egnp", "é" * 50, "yes", "no", "none", "unknown",
    "0.15 pcf", "12 %", "3:12", "45", "2x4", "glue", "screws", "#8 x 2", "M8 x 100", "stainless A4", "D4 PVA", "Madison, WI", "91,0", "*", "&a", "!!x", "- -", "[", "12:30", "hinge",
]  # fmt: skip
HEADINGS = [
    "part", "material", "species", "qty", "thickness", "width", "length", "exposure", "role", "finish", "grade", "treatment", "grain", "moisture", "clearance", "pitch", "Notes", "", "near", "worked",
    "joint", "part_a", "part_b", "method", "fastener", "size", "coating", "glue", "contact", "angle", "count", "life", "gap", "across", "end grain", "Width (mm)", "part", "cover", "swap",
]  # fmt: skip


def a_list(rng):
    header = (
        ["part", "material", *rng.sample(HEADINGS, rng.randrange(0, 8))]
        if rng.random() < 0.8
        else rng.sample(HEADINGS, 4)
    )
    rows = [
        [rng.choice(CELLS) for _ in range(max(1, len(header) + rng.choice([-1, 0, 0, 0, 1])))]
        for _ in range(rng.randrange(0, 6))
    ]
    sign = rng.choice([",", ",", ";", "\t"])
    return "\n".join(sign.join(f'"{cell}"' if rng.random() < 0.5 else cell for cell in row) for row in [header, *rows])


def a_project(rng):
    keys = ["name", "site", "life", "scheme", "units", "work", "stands", "accepted", "rules", "prices", "sit"]
    lines = ["parts: parts.csv"] if rng.random() < 0.9 else []
    lines += ["joints: joints.csv"] if rng.random() < 0.5 else []
    values = [
        *CELLS,
        "{month: May}",
        "{height: 6 ft, base: 10}",
        "[{rule: a, reason: bbb}]",
        "[1, 2]",
        "{}",
        "43.1,-89.4",
    ]
    lines += [f"{rng.choice(keys)}: {rng.choice(values)}" for _ in range(rng.randrange(0, 4))]
    return "\n".join(lines) + "\n"


def call(arguments):
    """Status, output and errors of one call in this process."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), pytest.raises(SystemExit) as left:
        main(arguments)
    return left.value.code, out.getvalue(), err.getvalue()


def tries(folder, seed, count):
    rng = random.Random(seed)
    verbs = [
        ["review"],
        ["review", "--format", "json"],
        ["review", "--format", "csv", "--prose"],
        ["movement", "--built", "May"],
        ["review", "--fail-on", "note"],
        ["review", "--units", "both"],
    ]
    for _ in range(count):
        (folder / "parts.csv").write_text(a_list(rng), encoding=rng.choice(["utf-8", "utf-8-sig", "utf-16"]))
        (folder / "joints.csv").write_text(a_list(rng), encoding="utf-8")
        (folder / "project.yaml").write_text(a_project(rng), encoding="utf-8")
        verb, *options = rng.choice(verbs)
        name = rng.choice(["project.yaml", "parts.csv"])
        yield call([verb, str(folder / name), *options])


def check(results):
    seen = set()
    for status, out, err in results:
        assert status in (0, 1, 2)
        assert "unforeseen" not in err, err
        assert "Traceback" not in out + err
        assert (status == 2) == bool(err), err
        assert not (status == 2 and out)
        seen.add(status)
    return seen


def test_some_hundred_inputs(tmp_path):
    assert check(tries(tmp_path, 1, 300)) >= {0, 2}


@pytest.mark.thorough
def test_ten_thousand_inputs(tmp_path):
    assert check(tries(tmp_path, 2, 10_000)) == {0, 1, 2}
