"""The same answer in each way of printing, and what is told when a call cannot be answered."""

from __future__ import annotations

import csv
import errno
import io
import json
import os
from pathlib import Path

import pytest

from calling import call, run
from gatepost import reading
from gatepost.library import library

DEMO = Path(__file__).resolve().parents[1] / "data" / "demo"
FAULTY, SOUND = DEMO / "faulty" / "project.yaml", DEMO / "sound" / "project.yaml"
PARTS = "part,material,thickness,width,exposure,moisture\npost,white oak,1 1/2,5 1/2,sheltered,wet\nslat,larch 25x100,,,weather,\n"


def as_json(*arguments, **how):
    return json.loads(run(*arguments, "--format", "json", **how).stdout)


def as_rows(*arguments):
    return list(csv.DictReader(io.StringIO(run(*arguments, "--format", "csv").stdout)))


def words(text):
    return " ".join(text.split())


@pytest.mark.parametrize("project", [FAULTY, SOUND], ids=["faulty", "sound"])
def test_movement_as_rows_is_movement_as_json(project):
    rows, parts = as_rows("movement", project), as_json("movement", project)["parts"]
    assert [row["part"].lstrip("'") for row in rows] == [part["part"] for part in parts]
    for row, part in zip(rows, parts, strict=True):
        assert row["swing_mm"] == ("" if part["swing_mm"] is None else str(part["swing_mm"]))


def test_wet_wood_is_told_to_dry_first_with_its_weeks():
    call = ["movement", "-", "--site", "Madison, WI"]
    (wet,) = [part for part in as_json(*call, stdin=PARTS)["parts"] if part["dry_weeks_high"]]
    assert wet["part"] == "post"
    told = run(*call, "--format", "md", stdin=PARTS).stdout.split("Let these dry first")[1]
    assert f"{wet['dry_weeks_low']:.0f} to {wet['dry_weeks_high']:.0f}" in told
    assert "slat" not in told


def test_movement_without_a_place_says_where_to_name_one():
    done = run("movement", "-", stdin=PARTS)
    assert (done.returncode, done.stdout) == (2, "")
    assert "give --site PLACE" in done.stderr


def test_movement_ends_with_one_where_a_finding_is_reached_and_asked_for():
    assert [run(*verb, FAULTY, "--fail-on", "stop").returncode for verb in (["movement"], ["fasteners"])] == [1, 1]
    assert [run(*verb, SOUND, "--fail-on", "stop").returncode for verb in (["movement"], ["fasteners"])] == [0, 0]


def test_fasteners_as_rows_are_fasteners_as_json():
    rows, joints = as_rows("fasteners", SOUND), as_json("fasteners", SOUND)["joints"]
    assert len(rows) == len(joints) > 10
    for row, joint in zip(rows, joints, strict=True):
        assert row["joint"].lstrip("'") == joint["joint"]
        for name in ("first_rust", "metal_life"):
            for end in ("low", "likely", "high"):
                wanted = joint[f"{name}_years"][end]
                assert row[f"{name}_{end}_years"] == ("" if wanted is None else str(wanted))
        assert all(f"{name}: {text}" in row["blanks"] for name, text in joint["blanks"].items())


def test_a_place_in_rows_has_its_twelve_months():
    rows, page = as_rows("site", "Madison, WI"), as_json("site", "Madison, WI")
    assert (
        [row["month"] for row in rows]
        == [str(month["month"]) for month in page["months"]]
        == [str(one) for one in range(1, 13)]
    )
    assert "Madison" in run("site", "Madison, WI", "--format", "md").stdout


def test_a_place_is_drawn_into_a_file_and_not_printed(tmp_path):
    done = run("site", "Madison, WI", "-o", tmp_path / "year.svg")
    assert (done.returncode, done.stdout) == (0, "")
    assert "Madison" in (tmp_path / "year.svg").read_text(encoding="utf-8")
    done = run("site", "Madison, WI", "-o", tmp_path / "year.png")
    assert done.returncode == 2
    assert ".svg" in done.stderr


def test_rules_are_listed_by_topic_explained_and_given_as_rows():
    every = as_json("rules")["rules"]
    assert [row["rule"] for row in as_rows("rules")] == [one["rule"] for one in every]
    listed = run("rules", "--format", "md").stdout
    assert listed.startswith(f"# {len(every)} rules")
    assert all(one["rule"] in listed for one in every)
    one = next(one for one in every if one["source"] == "practice")
    other = next(one for one in every if one["source"] != "practice")
    told = words(run("rules", one["rule"], "--format", "md").stdout)
    assert "common practice, no source" in told
    assert "Facts that it asks" in told
    assert "common practice" not in words(run("rules", other["rule"], "--format", "md").stdout).split("## ")[0]
    assert as_json("rules", other["rule"])["rules"] == [other]
    near = run("rules", one["rule"][:-1])
    assert near.returncode == 2
    assert f"did you mean {one['rule']}" in near.stderr


def test_own_rules_that_hold_are_counted_and_only_they_are_given(tmp_path):
    (tmp_path / "ours.yaml").write_text(
        "- rule: larch-slat-too-thin-here\n  topic: detail\n  severity: fix\n  over: parts\n  when:\n    - thickness_mm < 30\n  message: 'Only {thickness_mm} thick.'\n"
        "  remedy: y\n  why: z\n  source: practice\n  example: {thickness_mm: 25}\n  near_miss: [{thickness_mm: 40}]\n"
    )
    done = run("rules", "--check", tmp_path / "ours.yaml")
    assert (done.returncode, done.stdout) == (0, "")
    assert done.stderr.endswith("ours.yaml: 1 rules, each proved by its own examples.\n")
    given = run("rules", "--check", tmp_path / "ours.yaml", "--format", "csv")
    assert [row["rule"] for row in csv.DictReader(io.StringIO(given.stdout))] == ["larch-slat-too-thin-here"]


def test_a_table_is_looked_up_in_each_way_of_printing():
    every = as_json("lookup", "species", "larch")["rows"]
    assert every
    assert as_rows("lookup", "species", "larch") == [{name: text or "" for name, text in row.items()} for row in every]
    shown = run("lookup", "species", "larch", "--format", "md").stdout
    assert all(row["species"] in shown for row in every)
    assert len(as_json("lookup", "sources")["rows"]) == len(library().sources)
    none = run("lookup", "specis")
    assert (none.returncode, none.stdout) == (2, "")
    assert "species" in none.stderr


@pytest.mark.parametrize(("raised", "said"), [
    (OSError(errno.EIO, os.strerror(errno.EIO)), "gatepost: the output cannot be written: Input/output error\n"),
    (OSError(errno.EACCES, "Permission denied", "list.csv"), "list.csv: Permission denied\n"),
    (MemoryError(), "gatepost: the memory of this machine is too small for this list; split it\n"),
    (KeyboardInterrupt(), "gatepost: interrupted; nothing was written\n"),
    (ZeroDivisionError("x"), "gatepost: something unforeseen went wrong (ZeroDivisionError: x). Nothing was written; please report it with the file that caused it.\n"),
], ids=lambda one: type(one).__name__)  # fmt: skip
def test_whatever_breaks_is_told_in_plain_words_and_ends_with_two(monkeypatch, tmp_path, raised, said):
    def broken(*_, **__):
        raise raised

    monkeypatch.setattr(reading, "read", broken)
    with (tmp_path / "out.txt").open("w") as out, monkeypatch.context() as patch:
        patch.setattr("gatepost.cli.swallow_output", lambda: out.write("swallowed"))
        status, printed, told = call("review", SOUND)
    assert (status, printed, told.lstrip("\n")) == (2, "", said)  # a terminal shows ^C on the line above
    assert (tmp_path / "out.txt").read_text() == ("swallowed" if isinstance(raised, OSError) else "")


def test_a_reader_that_has_gone_is_no_error(monkeypatch):
    def gone(*_, **__):
        raise BrokenPipeError

    monkeypatch.setattr(reading, "read", gone)
    with monkeypatch.context() as patch:
        patch.setattr("gatepost.cli.swallow_output", lambda: None)
        assert call("review", SOUND) == (0, "", "")


def test_more_problems_than_a_person_reads_are_counted(tmp_path):
    rows = "".join(f"p{number},oak,wide\n" for number in range(40))
    (tmp_path / "parts.csv").write_text("part,material,width\n" + rows)
    done = run("review", tmp_path / "parts.csv", GATEPOST_PROBLEMS="15")
    *lines, last = done.stderr.splitlines()
    assert (done.returncode, len(lines)) == (2, 15)
    assert all("width" in line for line in lines)
    assert last == "gatepost: and 25 more problems like these"
