"""What a shop writes seldom: each is refused with its place and what to write instead, or read as what it means."""

from __future__ import annotations

import shutil

import pytest

from calling import run
from gatepost.errors import InputError
from gatepost.library import Library, data_folder
from gatepost.reading import read

HEAD = "part,material,exposure"


@pytest.mark.parametrize(("columns", "cells", "where", "said"), [
    ("grain", "120", "2: grain", "must be a ring angle between 0 (flat) and 90 (quarter) degrees"),
    ("width", "3 ft 2 ft", "2: width", 'cannot read "3 ft 2 ft" as a size. Write 3/4, 19 mm or 2x4'),
    ("width", "9 furlongs", "2: width", 'cannot read "9 furlongs" as a size'),
    ("qty", "1/0", "2: qty", 'cannot read "1/0"'),
    ("upkeep", "9" * 400, "2: upkeep", "cannot read"),
])  # fmt: skip
def test_a_cell_that_cannot_be_meant_is_refused_in_its_place(tmp_path, columns, cells, where, said):
    (tmp_path / "parts.csv").write_text(f"{HEAD},{columns}\npost,oak,weather,{cells}\n")
    done = run("review", "parts.csv", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(f"parts.csv:{where}: ")
    assert said in done.stderr


@pytest.mark.parametrize(
    ("text", "angle", "word"), [("10", 10, "flat"), ("45 deg", 45, "rift"), ("80°", 80, "quarter")]
)
def test_a_ring_angle_in_degrees_is_also_the_word_for_the_sawing(tmp_path, text, angle, word):
    (tmp_path / "parts.csv").write_text(f"{HEAD},grain\npost,oak,weather,{text}\n", encoding="utf-8")
    part = read(tmp_path / "parts.csv").parts.iloc[0]
    assert (part["grain_deg"], part["grain"]) == (angle, word)


@pytest.mark.parametrize(("text", "place", "said"), [
    ("site: {coast_km: 4}\nparts: parts.csv\n", "project.yaml:1: site", "needs a place name, or lat and lon"),
    ("site: {lat: 95, lon: 4}\nparts: parts.csv\n", "project.yaml:1: site.lat", "must lie between -90 and 90, not 95"),
    ("parts: [1, {part: post, material: oak}]\n", "project.yaml:1", "each row must be keys with values, for example {part: post, material: oak}"),
    ("parts: parts.csv\nwork: {month: Maj}\n", "project.yaml:2", "month"),
])  # fmt: skip
def test_a_key_of_the_project_that_cannot_be_meant_is_refused_in_its_place(tmp_path, text, place, said):
    (tmp_path / "parts.csv").write_text(f"{HEAD}\npost,oak,weather\n")
    (tmp_path / "project.yaml").write_text(text)
    done = run("review", "project.yaml", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(f"{place}: ")
    assert said in done.stderr


def test_a_month_of_assembly_may_be_its_number(tmp_path):
    (tmp_path / "parts.csv").write_text(f"{HEAD},thickness,width\npost,white oak,sheltered,1,5\n")
    by_number, by_name = (
        run("movement", "parts.csv", "--site", "Madison, WI", "--built", month, "--format", "json", cwd=tmp_path).stdout
        for month in ("7", "July")
    )
    assert by_number == by_name != ""
    assert run("movement", "parts.csv", "--site", "Madison, WI", "--built", "13", cwd=tmp_path).returncode == 2


def test_what_a_part_indoors_does_is_not_worked_out_and_that_is_said(tmp_path):
    (tmp_path / "parts.csv").write_text(
        f"{HEAD},thickness,width\nshelf,white oak,indoor,1,5\nslat,acetylated radiata pine,weather,1,5\n"
    )
    done = run("movement", "parts.csv", "--site", "Madison, WI", "--format", "md", cwd=tmp_path)
    assert "the climate indoors is not known" in done.stdout
    assert "modified wood takes up less water than raw wood, and no figure was read: ask its maker" in done.stdout


@pytest.mark.parametrize(("clause", "said"), [
    ("role in [post, rail]", "compare role with a quoted word"),
    ("exposure in ['ground', 'weather']", "exposure may hold several words; write 'word' in exposure"),
    ("width_mm in ['wide', 'slim']", "width_mm is a number; compare it with < or >"),
    ("'post' in role", "role holds one value; write role == 'post'"),
    ("role < 60", "role"),
    ("width_mm + role < 60", "role is a word, not a number"),
    ("width_mm + 1 in ['wide']", "write column in ['word', 'word'] or 'word' in column"),
])  # fmt: skip
def test_a_clause_that_says_nothing_is_refused_with_what_to_write(tmp_path, clause, said):
    (tmp_path / "ours.yaml").write_text(
        f'- rule: larch-slat-too-thin-here\n  topic: detail\n  severity: fix\n  over: parts\n  when:\n    - "{clause}"\n  message: m\n'
        "  remedy: y\n  why: z\n  source: practice\n  example: {thickness_mm: 25}\n  near_miss: [{thickness_mm: 40}]\n"
    )
    done = run("rules", "--check", "ours.yaml", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "ours.yaml:6: " in done.stderr
    assert said in done.stderr


def test_a_negative_number_in_a_clause_is_one(tmp_path):
    (tmp_path / "ours.yaml").write_text(
        "- rule: larch-slat-too-thin-here\n  topic: detail\n  severity: fix\n  over: parts\n  when:\n    - thickness_mm - 30 < -5\n  message: m\n"
        "  remedy: y\n  why: z\n  source: practice\n  example: {thickness_mm: 24}\n  near_miss: [{thickness_mm: 26}]\n"
    )
    done = run("rules", "--check", "ours.yaml", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "ours.yaml: 1 rules, each proved by its own examples.\n")


@pytest.mark.parametrize(("name", "old", "new", "said"), [
    ("tables/glue_times.csv", "\n", "\nx,y\n", "glue_times.csv:"),
    ("columns.yaml", "unit: mm,", "unti: mm,", "unti is no key of a column; the keys are"),
])  # fmt: skip
def test_a_table_or_a_register_that_is_damaged_is_told_with_its_line(tmp_path, name, old, new, said):
    shutil.copytree(data_folder(), tmp_path, dirs_exist_ok=True, ignore=shutil.ignore_patterns("demo", "rules"))
    text = (tmp_path / name).read_text(encoding="utf-8")
    (tmp_path / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    known = Library(tmp_path)
    with pytest.raises(InputError) as wrong:
        _ = known.register, known.table("glue_times")
    assert said in str(wrong.value.problems[0])
