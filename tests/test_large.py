"""A long list piece by piece: row for row what the whole list gives when it is read at once."""

from __future__ import annotations

import csv
import io
import os
import subprocess
import sys
from dataclasses import replace
from itertools import groupby, zip_longest
from pathlib import Path

import pytest
from click.testing import CliRunner

from benchmarks.catalogue import cells
from calling import run
from gatepost import calls
from gatepost import cli as cli_module
from gatepost.cli import cli
from gatepost.deriving import derive
from gatepost.deriving.engine import joined_facts
from gatepost.errors import InputError
from gatepost.judging import SEVERITIES, load_rules
from gatepost.large import Catalogue, Gathered, LongList, joined
from gatepost.library import library
from gatepost.missing import Unknowns
from gatepost.reading import Call, long_list, pieces, read
from gatepost.reading.files import Rows
from gatepost.reading.headers import find_header
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
    listed = LongList(long_list(str(path), -1), call, known, lambda _: None, rows)
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


@pytest.mark.parametrize("more", [(), ("--prose",)], ids=["short", "prose"])
def test_names_that_would_steer_a_spreadsheet_are_made_harmless_as_in_a_short_list(tmp_path, monkeypatch, more):
    names = [
        "=1+2",
        " =1+2",
        "+1",
        "-5 board",
        "@x",
        "-",
        "a\u202eb",
        'say "so"',
        "one, two",
        "\ttab",
        "=HYPERLINK(1)",
        "plain",
        "'quoted",
        "a;b",
    ]
    path = write_rows(
        tmp_path / "=list.csv", [["part", "material", "exposure"], *([name, "oak", "ground"] for name in names)]
    )
    call = ["review", str(path), "--format", "csv", *more]
    short = CliRunner().invoke(cli, call, standalone_mode=False)
    monkeypatch.setattr(calls, "LARGE_BYTES", 1)
    long = CliRunner().invoke(cli, call, standalone_mode=False)
    assert sorted(long.stdout.splitlines()) == sorted(short.stdout.splitlines())
    assert long.stderr == short.stderr
    assert "'=1+2" in long.stdout
    assert not any(cell[:1] in ("=", "@") for row in csv.reader(io.StringIO(long.stdout)) for cell in row)


YARD = """name: the yard
site: {place: "Madison, WI", coast_km: 40}
life: 25
stands: {height: 2 m, base: 300 mm, anchored: "no"}
work: {month: May}
rules: ours.yaml
prices: prices.csv
parts: yard.csv
"""
OURS = """- rule: step-in-ground-here
  topic: detail
  severity: fix
  over: parts
  when: ["role == 'step'", "'ground' in exposure"]
  message: A step in the ground.
  remedy: Set it on a stone.
  why: A test.
  source: practice
  example: {role: step, exposure: ground}
  near_miss: [{role: rail}, {exposure: weather}]
"""


@pytest.fixture
def yard(tmp_path, monkeypatch):
    """A project in a file, with its own rules and prices."""
    write_rows(tmp_path / "yard.csv", UNTIDY)
    (tmp_path / "project.yaml").write_text(YARD)
    (tmp_path / "ours.yaml").write_text(OURS)
    write_rows(tmp_path / "prices.csv", [["item", "unit", "price", "currency"], ["larch board", "m3", "900", "EUR"]])
    monkeypatch.chdir(tmp_path)
    return tmp_path


def short_and_long(monkeypatch, *more, given=""):
    """The review in CSV of a project that is read at once, and of the same read piece by piece."""
    made = []
    for least in (1 << 40, 1):
        monkeypatch.setattr(calls, "LARGE_BYTES", least)
        made.append(run("review", *more, "--format", "csv", stdin=given))
    return made


def test_a_project_file_that_names_a_long_list_is_read_piece_by_piece(yard, monkeypatch):
    taken = []
    monkeypatch.setattr(
        cli_module, "review_large", lambda long, *rest: taken.append(long) or calls.review_large(long, *rest)
    )
    monkeypatch.setattr(LongList.__init__, "__defaults__", (3,))
    for more in ((), ("--prose",), ("--site", "Munich", "--units", "mm"), ("--fail-on", "fix")):
        short, long = short_and_long(monkeypatch, "project.yaml", *more)
        assert sorted(long.stdout.splitlines()) == sorted(short.stdout.splitlines())
        assert (long.stderr, long.returncode) == (short.stderr, short.returncode)
        assert "step-in-ground-here" in long.stdout
        assert "the yard" in long.stdout
    assert [one.place for one in taken] == ["yard.csv"] * 4
    assert long.returncode == 1


@pytest.mark.parametrize(
    "change",
    [
        ("life: 25", "life: soon"), ("Madison, WI", "Nowhere at all"), ("prices.csv", "gone.csv"), ("ours.yaml", "gone.yaml"),
        ("height: 2 m", "height: high"), ("yard.csv", "gone.csv"), ("yard.csv", "../yard.csv"),
    ],
)  # fmt: skip
def test_what_is_wrong_in_such_a_project_is_told_as_ever(yard, monkeypatch, change):
    """Or more of it at once; rules that cannot be read are told before the list is."""
    (yard / "project.yaml").write_text(YARD.replace(*change))
    write_rows(yard / "yard.csv", [*UNTIDY, ["post", "oak", "weather", "post", "high up", "1 m", ""]])
    short, long = short_and_long(monkeypatch, "project.yaml")
    assert (long.returncode, long.stdout) == (short.returncode, short.stdout) == (2, "")
    told = set(long.stderr.splitlines())
    if change[0] == "ours.yaml":
        assert told == {"gone.yaml: cannot be read: No such file or directory"}
    else:
        assert told >= set(short.stderr.splitlines())
    assert change[0] != "height: 2 m" or len(told) == 2


@pytest.mark.parametrize(
    "more", ["joints: joints.csv\n", "accepted: [{rule: step-in-ground-here, reason: as it was}]\n"]
)
def test_a_project_with_joints_or_accepted_findings_is_read_whole(yard, monkeypatch, more):
    write_rows(yard / "joints.csv", [["joint", "part_a", "part_b", "method"], ["j", "step", "plug", "screws"]])
    (yard / "project.yaml").write_text(YARD + more)
    monkeypatch.setattr(cli_module, "review_large", None)
    short, long = short_and_long(monkeypatch, "project.yaml")
    assert (long.stdout, long.stderr, long.returncode) == (short.stdout, short.stderr, 0)


def test_long_standard_input_is_read_piece_by_piece(yard, monkeypatch):
    given = (yard / "yard.csv").read_text()
    short, long = short_and_long(monkeypatch, "-", "--site", "Madison, WI", given=given)
    assert sorted(long.stdout.splitlines()) == sorted(short.stdout.splitlines())
    assert (long.stderr, long.returncode) == (short.stderr, 0)
    assert "parts list" in long.stdout
    short, long = short_and_long(monkeypatch, "-", given=given + "post,oak,weather,post,high up,,\n")
    assert (long.stderr, long.returncode, long.stdout) == (short.stderr, 2, "")
    assert long.stderr.startswith("standard input:")


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


LINES = [
    "post,oak,90\n", ' "post",oak,90\n', 'post,"larch, sawn",90\n', 'post,oak,"1 1/4"""\n', 'post,oak,3/4"\n', "post, oak ,90\n", "NA,,nan\n",
    "01,oak,1.0\n", ",,\n", '"",oak,90\n', "post,oak,9'\n", "post,oak\n", "post,oak,90,\n", "\n", " \n", 'post,"oak"\n', "pöst,½ oak,90\n", "post,oak,90",
]  # fmt: skip
TOGETHER = ['"post\n', 'post,"oak" red,90\n', "\ufeffpost,oak,90\n", f"{'post' * 10_000},oak,90\n"]  # fmt: skip


@pytest.mark.parametrize("line", [*LINES, *TOGETHER])
def test_columns_at_once_are_those_of_the_rows(line):
    """The module csv reads the same lines row by row; what it does not take for a row is left to it."""
    lines = ["post,oak,90\n", *(one for one in LINES[:-1] if "90" in one), line]
    header = find_header(Rows("list", [1], [["part", "material", "width"]]), "parts", library().register)
    made = pieces._columns(lines, pieces._Heads(["part", "material", "width"], 1, header), ",")
    if line in TOGETHER:
        assert made is None
        return
    for at, column in enumerate(list(zip_longest(*csv.reader(lines, strict=True), fillvalue=""))[:3]):
        codes, texts = made[at]
        assert [texts[code] for code in codes.tolist()][1:] == [cell.strip() for cell in column]


def test_a_list_in_the_old_encoding_says_so(tmp_path, monkeypatch):
    path = tmp_path / "list.csv"
    path.write_bytes("part,material\nTür,oak\n".encode("cp1252"))
    monkeypatch.setattr(calls, "LARGE_BYTES", 1)
    done = CliRunner().invoke(cli, ["review", str(path), "--format", "csv"], standalone_mode=False)
    assert f"{path}: is not UTF-8; it is read as Windows-1252, with letters such as ü\n" in done.stderr


SHARED = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
from gatepost import calls, crew, large
calls.LARGE_BYTES = crew.SHARED_BYTES = 1
large.LongList.__init__.__defaults__ = (25,)
crew.os.sched_getaffinity = lambda _: {0, 1}
{more}
from gatepost.cli import main
main(sys.argv[1:])
"""


def shared_out(path: Path, more: str = "", **environment: str) -> subprocess.CompletedProcess[str]:
    """The review of a list of which two processes read 25 rows at a time."""
    return subprocess.run(
        [sys.executable, "-c", SHARED.replace("{more}", more), "review", str(path), "--format", "csv", "--prose"],
        capture_output=True, text=True, check=False, timeout=120, env={**os.environ, **environment},
    )  # fmt: skip


def test_processes_share_a_list_and_say_the_same(catalogue):
    one, two = shared_out(catalogue, GATEPOST_WORKERS="1"), shared_out(catalogue, GATEPOST_WORKERS="2")
    assert one.returncode == two.returncode == 0
    assert (two.stdout, two.stderr) == (one.stdout, one.stderr)
    assert sorted(csv.reader(io.StringIO(two.stdout))) == sorted(whole(catalogue, Call(), True))


def test_processes_that_begin_anew_say_the_same(catalogue):
    """Elsewhere than on Linux a process does not begin as a copy of the first: it loads the rules itself."""
    one, anew = (
        shared_out(catalogue, GATEPOST_WORKERS="1"),
        shared_out(catalogue, "crew.sys = type('', (), {'platform': 'win32'})"),
    )
    assert anew.returncode == 0
    assert (anew.stdout, anew.stderr) == (one.stdout, one.stderr)


def test_processes_tell_every_cell_that_cannot_be_read(tmp_path):
    rows = [
        ["part", "material", "width"],
        *(["board", "larch", "wide" if at in (3, 90) else "90"] for at in range(120)),
    ]
    done = shared_out(write_rows(tmp_path / "bad.csv", rows))
    assert (done.returncode, done.stdout) == (2, "")
    assert [line.split(":")[1] for line in done.stderr.splitlines()] == ["5", "92"]


@pytest.mark.parametrize(
    ("what", "status", "told"),
    [
        ("crew.os._exit(3)", 2, "ended too soon; with GATEPOST_WORKERS=1"),
        ("raise MemoryError", 2, "the memory of this machine is too small"),
        ("crew.os.kill(crew.os.getppid(), 2); import time; time.sleep(0.5)", 2, "gatepost: interrupted"),
    ],
)
def test_a_process_that_falls_and_an_interrupt_end_plainly(catalogue, what, status, told):
    """At the second piece, when the first is done."""
    more = f"piece = crew.Worker.piece\ndef fall(worker, rows, start):\n    if not start: return piece(worker, rows, start)\n    {what}\ncrew.Worker.piece = fall"
    done = shared_out(catalogue, more)
    assert (done.returncode, done.stdout) == (status, "")
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_memory_does_not_grow_with_the_list(tmp_path):
    """Only eight bytes a name and what waits for the whole list are kept: far fewer than the rows."""
    columns = cells(4000)
    path = write_rows(tmp_path / "list.csv", [list(columns), *map(list, zip(*columns.values(), strict=True))])
    known = library()
    listed = LongList(long_list(str(path), -1), Call(), known, lambda _: None, 500)
    gathered = Gathered(Unknowns(known, False), MOST_NAMES)
    for piece in Catalogue(known, load_rules(known)).pieces(listed, gathered):
        assert len(piece.project.parts) < 600
    assert not gathered.names
    assert 0 < sum(len(numbers) for _, numbers in gathered.late) < 2000
