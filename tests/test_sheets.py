"""The written sheets and the ends of the command line that a shop meets seldom: markup, full or missing folders, odd dates."""

from __future__ import annotations

import html.parser
import os
import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest

from gatepost.cli import main

DEMO = Path(__file__).resolve().parents[1] / "data" / "demo"
SOUND, FAULTY = DEMO / "sound" / "project.yaml", DEMO / "faulty" / "project.yaml"
NAME = "<img src=x onerror=alert(1)> & \"post\" 'a'"


@pytest.fixture
def run(capsys, monkeypatch):
    """Call gatepost in this process: status, output, errors."""

    def call(*arguments, **environment):
        for name, value in environment.items():
            monkeypatch.setenv(name, value)
        with pytest.raises(SystemExit) as left:
            main([str(one) for one in arguments])
        told = capsys.readouterr()
        assert "Traceback" not in told.out + told.err
        assert "unforeseen" not in told.err
        return left.value.code, told.out, told.err

    return call


class Page(html.parser.HTMLParser):
    """Tags with their attributes, whether they close in order, and the text."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.open, self.text = [], [], ""
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "br", "link", "img", "wbr"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data


@pytest.fixture
def odd(tmp_path):
    cell = NAME.replace('"', '""')
    (tmp_path / "parts.csv").write_text(
        f'part,material,exposure,thickness,width\n"{cell}",<b>oak</b>,weather,20 mm,90 mm\n'
    )
    (tmp_path / "joints.csv").write_text(f'joint,part_a,part_b,method\n<i>j</i>,"{cell}","{cell}",screws\n')
    (tmp_path / "project.yaml").write_text("name: A & B </title><script>\nparts: parts.csv\njoints: joints.csv\n")
    return tmp_path / "project.yaml"


def test_a_page_is_whole_and_shows_what_the_shop_wrote_as_text(odd, run):
    path = odd.parent / "sheet.html"
    assert run("spec", odd, "-o", path)[0] == 0
    page = Page(path.read_text(encoding="utf-8"))
    tags = {tag for tag, _ in page.tags}
    assert NAME in page.text
    assert "A & B </title><script>" in page.text
    assert not tags & {"img", "script", "b", "i", "link", "iframe"}
    assert ("html", {"lang": "en"}) in page.tags
    assert {tuple(attrs.items()) for tag, attrs in page.tags if tag == "meta"} >= {(("charset", "utf-8"),)}
    heads = [attrs for tag, attrs in page.tags if tag == "th"]
    assert heads
    assert all(attrs.get("scope") in ("col", "row") for attrs in heads)
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))
    assert not [value for _, attrs in page.tags for value in attrs.values() if value and "http" in value]


def test_markdown_keeps_its_tables_in_shape(odd, run):
    path = odd.parent / "sheet.md"
    assert run("spec", odd, "-o", path)[0] == 0
    blocks = [block.splitlines() for block in path.read_text(encoding="utf-8").split("\n\n") if block.startswith("|")]
    assert blocks
    for rows in blocks:
        assert len({len(re.findall(r"(?<!\\)\|", row)) for row in rows}) == 1, rows[0]


def test_what_cannot_be_written_leaves_all_as_it_was(tmp_path, run):
    old = tmp_path / "sheet.html"
    old.write_text("the old sheet")
    broken = tmp_path / "parts.csv"
    broken.write_text("part,material,width\npost,oak,wide\n")
    calls = [
        ("spec", broken, "-o", old), ("spec", SOUND, "-o", old / "inner.html"), ("spec", SOUND, "-o", tmp_path / "no" / "sheet.html"), ("spec", SOUND, "-o", tmp_path / "sheet.docx"),
        ("spec", SOUND, "-o", ""), ("spec", SOUND, "-o", old, "--date", "2026-02-30"), ("spec", SOUND, "-o", old, "--rules", "none.yaml"), ("new", old), ("new", old / "inner"),
    ]  # fmt: skip
    for call in calls:
        status, out, err = run(*call)
        assert (status, out) == (2, ""), call
        assert err.strip(), call
    for epoch in ("x", "99999999999999999"):
        assert run("spec", SOUND, "-o", old, SOURCE_DATE_EPOCH=epoch)[0] == 2
    assert sorted(path.name for path in tmp_path.iterdir()) == ["parts.csv", "sheet.html"]
    assert old.read_text() == "the old sheet"


@pytest.mark.parametrize("folder", ["a b", "größe", "-x"])
def test_folders_of_any_name(tmp_path, folder, run):
    target = tmp_path / folder
    assert run("new", target, "--demo", "faulty")[0] == 0
    assert run("review", target / "project.yaml", "--format", "csv")[0] == 0


def test_a_terminal_that_knows_only_plain_letters_still_gets_its_findings(tmp_path):
    path = tmp_path / "parts.csv"
    path.write_text("part,material,exposure\npöst ½ ∞,oak,weather\n", encoding="utf-8")
    plain = {**os.environ, "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    command = [sys.executable, "-m", "gatepost", "review", path, "--format", "csv", "--prose"]
    done = subprocess.run(command, capture_output=True, check=False, env=plain, timeout=60)
    assert done.returncode == 0
    assert done.stderr.splitlines()[-1].startswith(b"1 rows given: 1 parts and 0 joints read, 0 set aside. Findings: ")


def test_no_line_of_a_review_is_wider_than_the_terminal(run):
    lines = run("review", FAULTY, COLUMNS="80")[1].splitlines()
    assert len(lines) > 100
    assert [line for line in lines if len(line) > 80] == []


@pytest.mark.parametrize(
    "text",
    [
        "parts: []",
        "parts: -",
        "parts: [1]",
        "parts: 3",
        "parts: no-such.csv",
        "- a",
        "parts: {a: 1}",
        "name: x",
        "",
        "parts: [{part: a, material: oak, width: {a: 1}}]",
    ],
)
def test_project_files_that_say_nothing_useful_are_refused_with_their_name(tmp_path, text, run):
    path = tmp_path / "project.yaml"
    path.write_text(text)
    status, out, err = run("review", path)
    assert (status, out) == (2, "")
    assert "project.yaml" in err or "no-such.csv" in err
