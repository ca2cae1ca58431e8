"""A long list piece by piece: row for row what the whole list gives when it is read at once."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from itertools import groupby
from pathlib import Path

import pytest
from click.testing import CliRunner

from benchmarks.catalogue import cells
from gatepost import calls
from gatepost.cli import cli
from gatepost.deriving import derive
from gatepost.deriving.engine import joined_facts
from gatepost.errors import InputError
from gatepost.judging import SEVERITIES, load_rules
from gatepost.large import Catalogue, Gathered, LongList, joined
from gatepost.library import library
from gatepost.missing import Unknowns
from gatepost.reading import Call, read
from gatepost.review import review
from gatepost.writing import review_sheet
from gatepost.writing.findings import MOST_NAMES
from gatepost.writing.large_csv import LargeCsv

UNTIDY = [
    ["The yard's list of spring", "", ""],
    ["Part", "Material", "Where", "Role", "Clearance", "Length", "Our number"],
    ["gate post, left", "4x4 PT southern pine", "ground", "post", "", "6 ft", "A1"],
    ["", "", "", "", "", "", ""],
    ["floor boards", "2x6 spruce", "weather", "floor", "900 mm", "3 m", "A2"],
    ["floor boards", "2x6 spruce", "weather", "floor", "", "3 m", "A2"],
    ["Part", "Material", "Where", "Role", "Clearance", "Length", "Our number"],
    ['sill "oak"', "white oakk", "weather", "sill", "", "40", "A3"],
    ["step", "larch; 40 mm", "ground + weather", "step", "200 mm", "1 m", ""],
    ["nosing\nof step", "", "", "", "", "", "A4"],
    ["plug", "teak", "weather", "trim", "", "2", "A5"],
    ["total", "", "", "", "", "12", ""],
    ["", "", "", "", "", "", ""],
]


def write_rows(path: Path, rows: list[list[str]]) -> Path:
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    return path


def whole(path: Path, call: Call, prose: bool) -> list[list[str]]:
    """The findings when the list is read at once."""
    made = review(read(path, call))
    return review_sheet.rows(made, prose, call.units or made.facts.project.units)


def by_pieces(path: Path, call: Call, prose: bool, rows: int) -> tuple[list[list[str]], LongList]:
    """The findings when so many rows are read at a time."""
    known = library()
    rules = load_rules(known)
    listed = LongList(path, call, known, lambda _: None, rows)
    catalogue, gathered = Catalogue(known, rules, prose), Gathered(Unknowns(known, call.site is not None), MOST_NAMES)
    with LargeCsv(rules, prose) as out:
        for piece in catalogue.pieces(listed, gathered):
            out.add(piece, listed.units)
        out.finish(catalogue, gathered, path.stem)
        return list(csv.reader(io.StringIO("".join(out.blocks()), newline=""))), listed


@pytest.fixture(scope="module")
def catalogue(tmp_path_factory) -> Path:
    columns = cells(120)
    rows = [list(columns), *map(list, zip(*columns.values(), strict=True))]
    return write_rows(tmp_path_factory.mktemp("large") / "catalogue.csv", rows)


@pytest.mark.parametrize("rows", [1, 7, 50, 1000])
@pytest.mark.parametrize("call", [Call(), Call(site="Madison, WI"), Call(scheme="eu", units="mm")], ids=str)
@pytest.mark.parametrize("prose", [False, True], ids=["short", "prose"])
def test_the_same_findings_in_pieces_of_any_size(tmp_path, rows, call, prose):
    path = write_rows(tmp_path / "yard.csv", UNTIDY)
    found, listed = by_pieces(path, call, prose, rows)
    expected = whole(path, call, prose)
    assert found[0] == expected[0]
    assert sorted(found) == sorted(expected)
    counts = read(path, call).counts
    assert (listed.given, listed.read) == (counts.given, counts.read)


@pytest.mark.parametrize("rows", [17, 64])
def test_the_same_findings_of_a_catalogue(catalogue, rows):
    call = Call(site="Madison, WI")
    assert sorted(by_pieces(catalogue, call, True, rows)[0]) == sorted(whole(catalogue, call, True))


def test_worst_first(catalogue):
    found, _ = by_pieces(catalogue, Call(), False, 25)
    severities = [row[5] for row in found[1:] if row[3] != "fact-not-given-or-known"]
    assert [severity for severity, _ in groupby(severities)] == [s for s in SEVERITIES if s in severities]


def test_facts_of_the_whole_are_those_of_the_pieces_joined(catalogue):
    known = library()
    names, project = joined_facts(known), read(catalogue, Call())
    pieces = [project.parts.iloc[at : at + 11].reset_index(drop=True) for at in range(0, len(project.parts), 11)]
    each = [derive(replace(project, parts=parts)).encoded[2] for parts in pieces]
    made = joined([{name: one.get(name) for name in names} for one in each], known)
    all_at_once = derive(project).encoded[2]
    assert {name: made[name].tolist() for name in names} == {name: all_at_once.get(name).tolist() for name in names}
    assert {made[name].item() for name in names} > {0.0, 1.0}


def test_every_cell_that_cannot_be_read_is_told_and_nothing_is_printed(tmp_path, monkeypatch):
    rows = [
        ["part", "material", "width"],
        *(["board", "larch", "wide" if at in (3, 90) else "90 mm"] for at in range(120)),
    ]
    path = write_rows(tmp_path / "bad.csv", rows)
    with pytest.raises(InputError) as caught:
        by_pieces(path, Call(), False, 20)
    assert [problem.line for problem in caught.value.problems] == [5, 92]
    monkeypatch.setattr(calls, "LARGE_BYTES", 100)
    done = CliRunner().invoke(cli, ["review", str(path), "--format", "csv"], standalone_mode=False)
    assert isinstance(done.exception, InputError)
    assert done.stdout == ""


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"part,material\n\n\n", "holds a heading but no rows"),
        (b'part,material\nboard,"larch\n', "not CSV that can be read"),
        (b"part,material\nboard,la\0rch\n", "not a text file"),
        (b"name of thing,stuff\nboard,larch\n", "no heading row names"),
    ],
)
def test_files_that_are_no_list(tmp_path, content, told):
    path = tmp_path / "odd.csv"
    path.write_bytes(content)
    with pytest.raises(InputError, match=told):
        by_pieces(path, Call(), False, 2)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_encodings_are_those_of_any_list(tmp_path, encoding):
    path = tmp_path / "list.csv"
    path.write_bytes("part;material;width\nTür;Lärche, larch;90\ngate;oak;1,5\n".encode(encoding))
    assert sorted(by_pieces(path, Call(scheme="eu"), True, 1)[0]) == sorted(whole(path, Call(scheme="eu"), True))


def test_the_command_takes_a_long_list_piece_by_piece(catalogue, monkeypatch):
    arguments = ["review", str(catalogue), "--format", "csv", "--site", "Madison, WI", "--fail-on", "stop"]
    short = CliRunner().invoke(cli, arguments, standalone_mode=False)
    monkeypatch.setattr(calls, "LARGE_BYTES", 100)
    long = CliRunner().invoke(cli, arguments, standalone_mode=False)
    assert sorted(long.stdout.splitlines()) == sorted(short.stdout.splitlines())
    assert long.return_value == short.return_value == 1
    assert "120 rows given: 120 parts and 0 joints read, 0 set aside." in long.stderr


def test_memory_does_not_grow_with_the_list(tmp_path):
    """Only eight bytes a name and what waits for the whole list are kept: far fewer than the rows."""
    columns = cells(4000)
    path = write_rows(tmp_path / "list.csv", [list(columns), *map(list, zip(*columns.values(), strict=True))])
    known = library()
    listed = LongList(path, Call(), known, lambda _: None, 500)
    gathered = Gathered(Unknowns(known, False), MOST_NAMES)
    for piece in Catalogue(known, load_rules(known)).pieces(listed, gathered):
        assert len(piece.project.parts) < 600
    assert not gathered.names
    assert 0 < sum(len(numbers) for _, numbers in gathered.late) < 2000
