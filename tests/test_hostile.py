"""Files made to do harm: each is refused with its place, or read as harmless text, within seconds and a bounded memory."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import unicodedata
import zipfile
from pathlib import Path

import openpyxl
import pytest

from calling import call
from gatepost.errors import InputError, Problem, harmless
from gatepost.limits import LIMITS, PREFIX, limit
from gatepost.writing.plain import escaped

DOCS = Path(__file__).resolve().parents[1] / "docs"
SECONDS = 20
LIST = "part,material,exposure\npost,larch,weather\n"
SHEET = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">{}</worksheet>'
HEAD = '<row r="1"><c r="A1" t="inlineStr"><is><t>part</t></is></c><c r="B1" t="inlineStr"><is><t>material</t></is></c></row>'
ROW = '<row r="2"><c r="A2" t="inlineStr"><is><t>x</t></is></c><c r="B2" t="inlineStr"><is><t>larch</t></is></c></row>'


def refused(path, said, line=None):
    """The file is refused with its place and these words, and nothing goes to standard output."""
    status, out, err = call("review", path)
    assert (status, out) == (2, "")
    place = f"{path}:{line}: " if line else f"{path}"
    assert err.startswith(place), err
    assert re.search(said, err), err
    assert "unforeseen" not in err


def project(tmp_path, text):
    (tmp_path / "parts.csv").write_text(LIST)
    (tmp_path / "project.yaml").write_text(text, encoding="utf-8")
    return tmp_path / "project.yaml"


BOMB = "\n".join(
    ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    + [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 12)]
    + ["parts: *a11"]
)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        (BOMB, None, "more values than are read; an alias may stand for many; GATEPOST_YAML_VALUES"),
        ("parts: &x [*x]", 1, "not valid YAML|may point at itself"),
        ("parts: &x {a: *x}", 1, "may point at itself; GATEPOST_YAML_DEPTH"),
        ("parts: " + "[" * 100_000, 1, "not valid YAML"),
        ("parts: " + "{a: " * 100_000, 1, "not valid YAML"),
        ("- " * 50_000 + "x", 1, "not valid YAML"),
        ("parts: " + "[" * 30 + "]" * 30, 1, "deeper than is read"),
        ("parts: parts.csv\nparts: other.csv\n", 2, "the key stands twice"),
        ("parts: parts.csv\nsitte: x\n", 2, "sitte: is no key of a project file; did you mean site"),
        ("parts: parts.csv\nsite: {place: x, hight_m: 3}\n", 2, "hight_m"),
        ("parts: parts.csv\n<<: {site: x}\n", 2, "is no key"),
        ("parts: parts.csv\n? [a, b]\n: 3\n", 2, "a key must be a plain word"),
        ("parts: parts.csv\n--- \nparts: x\n", 2, "not valid YAML"),
        ("parts: parts.csv\x00", None, "not valid YAML"),
        ('parts: "a\\0b.csv"', 1, "no name of a file"),
        ('parts: parts.csv\nsite: "a\\0b.epw"', 2, "no name of a file"),
        ('parts: parts.csv\nrules: "a\\0b.yaml"', 2, "no name of a file"),
        ("parts: [" + ", ".join(f"{{part: a, k{i}: x}}" for i in range(9000)) + "]", 1, "spans more cells than are read"),
        ("parts: parts.csv\nlife: " + "9" * 39, 2, "life: must lie between"),
        ("parts: " + "x" * 6_000_000, None, "larger than is read, in MB; GATEPOST_YAML_MB changes the limit of 5"),
    ],
    ids=lambda value: str(value)[:30],
)  # fmt: skip
def test_project_files_that_are_deep_refer_to_themselves_or_are_not_what_they_seem(tmp_path, text, line, said):
    refused(project(tmp_path, text), said, line)


def test_a_tag_makes_nothing(tmp_path):
    text = f"parts: parts.csv\nname: !!python/object/apply:os.mkdir [{tmp_path}/made]\n"
    assert call("review", project(tmp_path, text))[0] == 2
    assert not (tmp_path / "made").exists()


@pytest.mark.parametrize("key", ["parts", "joints", "prices", "stock", "rules", "site"])
@pytest.mark.parametrize("name", ["../out{}", "/etc/passwd{}", "sub/../../out{}", "link{}", "linked/out{}"])
def test_a_project_names_no_file_outside_its_own_folder(tmp_path, key, name, monkeypatch):
    suffix = ".epw" if key == "site" else ""
    inner = tmp_path / "inner"
    (inner / "sub").mkdir(parents=True)
    (tmp_path / f"out{suffix}").write_text(LIST)
    (inner / f"link{suffix}").symlink_to(tmp_path / f"out{suffix}")
    (inner / "linked").symlink_to(tmp_path)
    other = "" if key == "parts" else "parts: parts.csv\n"
    path = project(inner, f"{other}{key}: {name.format(suffix)}\n")
    refused(path, f"{key}: .* lies outside the project's folder; .*GATEPOST_OUTSIDE=yes", other.count("\n") + 1)
    monkeypatch.setenv("GATEPOST_OUTSIDE", "yes")
    assert "lies outside" not in call("review", path)[2]


def test_a_rule_file_outside_is_refused_by_its_place_in_the_list(tmp_path):
    path = project(tmp_path, "parts: parts.csv\nrules:\n  - ours.yaml\n  - ../theirs.yaml\n")
    refused(path, r"rules: ../theirs.yaml lies outside", 4)


@pytest.mark.parametrize("what", ["/dev/zero", "/dev/random", "fifo"])
def test_what_never_ends_is_not_opened(tmp_path, what):
    if what == "fifo":
        os.mkfifo(tmp_path / "fifo")
        what = str(tmp_path / "fifo")
    link = tmp_path / "parts.csv"
    link.symlink_to(what)
    for path in (link, tmp_path / "p.yaml"):
        if path.name == "p.yaml":
            path.symlink_to(what)
        refused(path, "is no plain file")
    assert call("rules", "--check", link)[0] == 2


def packed(path, **parts):
    """A workbook with parts of it written over or added."""
    openpyxl.Workbook().save(path)
    with zipfile.ZipFile(path) as old:
        members = {name: old.read(name) for name in old.namelist()}
    names = {"sheet": "xl/worksheets/sheet1.xml", "strings": "xl/sharedStrings.xml", "book": "xl/workbook.xml"}
    members |= {names.get(name, name): data for name, data in parts.items()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for name, data in members.items():
            new.writestr(name, data)
    return path


def sheet(*rows, before="", after=""):
    return SHEET.format(f"{before}<sheetData>{''.join(rows)}</sheetData>{after}")


ENTITIES = '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "' + "l" * 1000 + '">]>' + sheet(HEAD, ROW)
OUTER = '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>' + sheet(HEAD)


@pytest.mark.parametrize(
    ("parts", "line", "said"),
    [
        ({"sheet": b"<x>" + b" " * 201_000_000}, None, "unpacks to more than is read, in MB"),
        ({"xl/media/x.bin": b"\0" * 201_000_000}, None, "unpacks to more than is read, in MB"),
        ({f"xl/media/{i}": b"" for i in range(2100)}, None, "holds more files than are read"),
        ({"sheet": sheet(HEAD, *(f'<row r="{i}"><c r="XFD{i}"><v>1</v></c></row>' for i in range(2, 400)))}, 307, "spans more cells than are read"),
        ({"sheet": sheet(HEAD, '<row r="99999999999"><c><v>1</v></c></row>')}, 99999999999, "a sheet ends at row"),
        ({"sheet": sheet(HEAD, '<row r="-5"/>')}, None, "a sheet ends at row"),
        ({"sheet": sheet(HEAD, ROW, ROW)}, 2, "rows that are not in order"),
        ({"sheet": sheet(HEAD, ROW.replace('"B2"', '"A2"'))}, 2, "cells that are not in order"),
        ({"sheet": sheet(HEAD, ROW.replace("larch", "l" * 40_000))}, 2, "a cell is longer than is read"),
        ({"sheet": sheet(HEAD, before="<cols>" + '<col min="1" max="16384" hidden="1"/>' * 9 + "</cols>")}, None, "columns are told more than once"),
        ({"sheet": sheet(*(f'<row r="{i}"/>' for i in range(1, 2000)), after="<mergeCells>" + '<mergeCell ref="A1:A1048576"/>' * 3000 + "</mergeCells>")}, None, "merged cells span more"),
        ({"sheet": ENTITIES}, None, "defines words of its own"), ({"strings": ENTITIES}, None, "defines words of its own"), ({"sheet": OUTER}, None, "defines words of its own"),
        ({"sheet": ENTITIES.encode("utf-16")}, None, "defines words of its own"), ({"sheet": b"<worksheet><c"}, None, "not a workbook that can be read"),
        ({"book": b"<x/>"}, None, "empty|not a workbook"), ({"_rels/.rels": b"<x/>"}, None, "not a workbook that can be read"),
    ],
    ids=lambda value: str(value)[:40],
)  # fmt: skip
def test_workbooks_that_unfold_are_refused_before_they_do(tmp_path, parts, line, said):
    refused(packed(tmp_path / "parts.xlsx", **parts), said, line)


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the system does not tell how much memory was used")
def test_one_cell_at_the_end_of_a_sheet_and_a_huge_dimension_take_no_room(tmp_path):
    far = '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    path = packed(tmp_path / "parts.xlsx", sheet=sheet(HEAD, ROW, far, before='<dimension ref="A1:XFD1048576"/>'))
    code = "import sys; from gatepost.reading import read; print(len(read(sys.argv[1]).parts)); print(open('/proc/self/status').read())"
    done = subprocess.run([sys.executable, "-c", code, path], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.startswith("1\n")
    assert int(re.search(r"VmHWM:\s+(\d+) kB", done.stdout)[1]) < 500_000


def test_links_to_other_workbooks_are_not_followed(tmp_path):
    made = openpyxl.Workbook()
    for row in (["part", "material"], ["x", "='[1]Other'!A1"]):
        made.active.append(row)
    made.save(tmp_path / "parts.xlsx")
    refused(tmp_path / "parts.xlsx", "material: holds a formula that no program has worked out", 2)


@pytest.mark.parametrize(
    ("data", "line", "said"),
    [
        (LIST.encode() + b"x," + b"y" * 40_000 + b",\n", 3, "a cell is longer than is read; is a quote missing"),
        (LIST.encode() + b'x,"' + b"y\n" * 20_000, 3, "a cell is longer than is read; is a quote missing"),
        (LIST.encode() + b"," * 20_000 + b"\n", 3, "more cells in a row than are read"),
        (LIST.encode() + b"x\0y,larch,\n", None, "not a text file"),
        (b"\xff\xfe" + LIST.encode("utf-16-le") + b"\x00", None, "not a text file"),
        (b"\xff\xfe" + (LIST + "x\0,larch,\n").encode("utf-16-le"), None, "not a text file"),
        (b"PK\x03\x04" + b"\0" * 50, None, "not a text file"),
    ],
)
def test_lists_that_are_no_lists(tmp_path, data, line, said):
    (tmp_path / "parts.csv").write_bytes(data)
    refused(tmp_path / "parts.csv", said, line)


def test_a_gigabyte_in_one_cell_is_not_read(tmp_path):
    """The file has holes where nothing was written, so it takes no room on the disk."""
    path = tmp_path / "parts.csv"
    with path.open("wb") as file:
        file.write(b"part,material\nx,")
        file.truncate(1_100_000_000)
    refused(path, "larger than is read, in MB; GATEPOST_LIST_MB changes the limit of 200")


@pytest.mark.parametrize(
    ("middle", "said"),
    [
        (b"," * 3_000_000, "holds a line of more than 1 MB"),
        (b"x" * 3_000_000, "holds a line of more than 1 MB"),
        (b"x,larch," + b"y" * 40_000 + b"\n", "a cell is longer than is read"),
        (b"," * 20_000 + b"\n", "more cells in a row than are read"),
        (b"x,\0,\n", "not a text file"),
    ],
    ids=["commas", "letters", "cell", "row", "nul"],
)
def test_a_long_list_keeps_the_limits_piece_by_piece(tmp_path, middle, said):
    path = tmp_path / "parts.csv"
    path.write_bytes(LIST.encode() + b"post,larch,weather\n" * 250_000 + middle + b"post,larch,weather\n" * 10)
    status, out, err = call("review", path, "--format", "csv")
    assert (status, out) == (2, "")
    assert err.startswith(f"{path}:")
    assert said in err


def test_standard_input_ends_at_the_limit():
    code = "import sys\nwhile True: sys.stdout.buffer.write(b'x' * 65536)"
    source = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    done = subprocess.run(
        [sys.executable, "-m", "gatepost", "review", "-"],
        stdin=source.stdout, capture_output=True, text=True, check=False, timeout=60, env={**os.environ, "GATEPOST_LIST_MB": "3"},
    )  # fmt: skip
    source.kill()
    source.communicate()
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("standard input: larger than is read, in MB")


def test_limits_are_documented_and_can_be_changed(tmp_path, monkeypatch):
    text = (DOCS / "limits.md").read_text(encoding="utf-8")
    for name, (usual, of) in LIMITS.items():
        assert f"| `{PREFIX}{name}` | {usual} | {of} |" in text
    path = tmp_path / "parts.csv"
    path.write_text(LIST + "x," + "y" * 40_000 + ",\n")
    monkeypatch.setenv("GATEPOST_CELL_SIGNS", "50000")
    assert call("review", path)[0] == 0
    for wrong in ("", "0", "-3", "many", "1e9", "9" * 30, "²"):
        monkeypatch.setenv("GATEPOST_CELL_SIGNS", wrong)
        with pytest.raises(InputError, match=r"^GATEPOST_CELL_SIGNS: must be a whole number above 0"):
            limit("CELL_SIGNS")


ODD = "\x1b[31mred\x07 \u202eturned\u2066 \x9b2J <script>alert(1)</script> {part} {{0}} %s ${x} `x` | =1+1"


@pytest.mark.parametrize("form", ["table", "json", "csv", "md"])
def test_names_with_control_characters_and_markup_steer_nothing(tmp_path, form):
    with (tmp_path / "parts.csv").open("w", encoding="utf-8") as file:
        file.write(f'part,material,exposure\n"{ODD}",larch,weather\nother,"{ODD}","{ODD}"\n')
    status, out, _ = call("review", tmp_path / "parts.csv", "--format", form, *(["--prose"] if form == "csv" else []))
    assert status == 0
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", out)
    assert "script" in out
    if form == "json":
        assert any("\u202e" in (part["facts"]["unlisted_words"] or "") for part in json.loads(out)["parts"])


def test_messages_on_standard_error_steer_no_terminal(tmp_path):
    with (tmp_path / "parts.csv").open("w", encoding="utf-8") as file:
        file.write(f'part,material,thickness\nx,larch,"{ODD}"\n')
    for arguments in (
        [tmp_path / "parts.csv"],
        [tmp_path / ODD.replace("/", "")],
        [tmp_path / "parts.csv", "--site", ODD],
    ):
        status, _, err = call("review", *arguments)
        assert status == 2
        assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", err), err
    assert "\n" not in str(Problem("a\nb", 1, "c", "d\re"))
    assert len(str(Problem("a", 1, "c", "x" * 10**6))) < 2000


@pytest.mark.parametrize("name", ["=1+1", "+1+1", "-1+1", "@SUM(A1)", " =1+1", "\t=1", '=HYPERLINK("x")'])
def test_a_csv_holds_no_formula_that_was_a_name(tmp_path, name):
    """A spreadsheet takes a cell for a formula that begins with = + - or @; an apostrophe in front makes it text."""
    with (tmp_path / "parts.csv").open("w", encoding="utf-8") as file:
        file.write('part,material,exposure\n"{}",larch,weather\n'.format(name.replace('"', '""')))
    status, out, _ = call("review", tmp_path / "parts.csv", "--format", "csv", "--prose")
    assert status == 0
    cells = [cell for line in out.splitlines() for cell in re.split(r',(?=(?:[^"]*"[^"]*")*[^"]*$)', line)]
    assert not [cell for cell in cells if re.match(r"[\"\s]*[=+@-]", cell) and not re.fullmatch(r"-?[\d.]+", cell)]
    assert "'" + name.strip()[0] in out


def test_numbers_below_zero_stay_numbers_in_csv():
    _, out, _ = call("site", "Fairbanks, AK", "--format", "csv")
    assert re.search(r",-\d", out)
    assert "'-" not in out


def test_words_on_no_list_cost_little_beyond_the_first(tmp_path, monkeypatch):
    monkeypatch.setenv("GATEPOST_NEAR_WORDS", "3")
    rows = "".join(f"p{i},larhc {'abcdefgh'[i]}zq,weater{i}\n" for i in range(8))
    (tmp_path / "parts.csv").write_text(LIST + rows)
    status, out, _ = call("review", tmp_path / "parts.csv", "--format", "json")
    assert status == 0
    words = [part["facts"]["unlisted_words"] for part in json.loads(out)["parts"] if part["facts"]["unlisted_words"]]
    assert len(words) == 8
    assert sum("did you mean" in text for text in words) == 3
    assert any("GATEPOST_NEAR_WORDS" in text for text in json.loads(out)["said"])


def test_only_so_many_problems_are_printed_and_the_rest_is_counted(tmp_path, monkeypatch):
    monkeypatch.setenv("GATEPOST_PROBLEMS", "5")
    (tmp_path / "parts.csv").write_text("part,material,qty\n" + "x,larch,two\n" * 12)
    lines = call("review", tmp_path / "parts.csv")[2].splitlines()
    assert len(lines) == 6
    assert lines[-1] == "gatepost: and 7 more problems like these"


RULE = {
    "rule": "post-too-slim-here", "topic": "detail", "severity": "note", "over": "parts", "when": ["width_mm < 60"], "message": "x", "remedy": "y", "why": "z",
    "source": "practice", "example": {"width_mm": 50}, "near_miss": [{"width_mm": 90}],
}  # fmt: skip


def checked(tmp_path, *rules):
    """Errors of a rule file, each rule the good one with changes; JSON is YAML."""
    path = tmp_path / "ours.yaml"
    path.write_text(json.dumps([{**RULE, **one} for one in rules]))
    status, _, err = call("rules", "--check", path)
    assert "unforeseen" not in err
    assert (status == 2) == ("rules, each proved" not in err)
    return err


@pytest.mark.parametrize(
    ("clause", "said"),
    [
        ("width_mm < 9**9**9", r"character 12: only columns, numbers"), ("width_mm < " + "9" * 900, "the number is too large"), ("width_mm < 1e999", "the number is too large"),
        ("not " * 240 + "width_mm < 60", "nested deeper than is read"), ("width_mm < " + "-" * 900 + "60", "nested deeper"), ("width_mm" + "+1" * 400 + " < 60", "nested deeper"),
        ("(" * 400 + "width_mm" + ")" * 400 + " < 60", "not a comparison"), ("width_mm < 60 and " * 60 + "width_mm < 60", "longer than a clause may be"),
        ("width_mm * 1e308 * 1e308 < 60", "does not satisfy"), ("width_mm / 0 < 60", "does not satisfy"), ("1if width_mm else 3 < 3", "must be a comparison"),
        ("role == '\\d'", "not a word of role"), ("open('/etc/passwd') == 1", ""), ("width_mm.__class__ == 1", ""), ("[].__class__.__mro__ == 1", ""), ("(lambda: 3)() < width_mm", ""),
        ("__import__('os').system('x') == width_mm", ""), ("width_mm == f'{open(0)}'", ""), ("width_mm < 1j", ""), ("width_mm < 0x3C\x00", ""), ("width_mm < (yield)", ""),
        ("{width_mm} < 60", ""), ("width_mm @ width_mm < 60", ""), ("width_mm << 99999999 < 60", ""), ("width_mm % 7 < 60", ""), ("'a' * 99999999 == role", ""), ("width_mm < True", ""),
    ],
)  # fmt: skip
def test_a_clause_runs_nothing_and_counts_nothing_up(tmp_path, clause, said):
    err = checked(tmp_path, {"when": [clause]})
    assert re.search(r"ours.yaml:1: post-too-slim-here: .*" + said, err), err


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"explains": [["a"], {"b": "c"}, 3]}, "explains: must be the name of a rule"), ({"example": {"width_mm": True}}, "not allowed"), ({"example": {"width_mm": 1e400}}, "not allowed"),
        ({"example": {"width_mm": {"a": 1}}}, "not allowed"), ({"near_miss": [{"width_mm": "9" * 400}]}, "not allowed|must break"), ({"rule": "a-" * 400 + "b-c"}, "three to six"),
        ({"message": "{width_mm.__class__}"}, "no column"), ({"message": "{width_mm:99999999999d}"}, "no column"), ({"message": "{0}{}"}, "no column"), ({"when": [["a"], {"b": 3}, None]}, "when:"),
        ({"source": "../../etc/passwd"}, "no key of sources"), ({"cured": ["x", 3, [4]]}, "facts with values"), ({"rule": ["a"]}, "must be text"), ({"over": "files"}, "parts, joints or project"),
    ],
)  # fmt: skip
def test_a_rule_of_a_stranger_is_refused_with_its_line(tmp_path, change, said):
    assert re.search(r"ours.yaml:1: .*(" + said + ")", checked(tmp_path, change))


def test_braces_of_a_message_are_never_run(tmp_path):
    """What is no column in braces stays text, and a stray brace too."""
    assert "each proved" in checked(tmp_path, {"message": "a { b", "remedy": "{ {width_mm} }}", "why": "%(x)s $HOME"})
    (tmp_path / "parts.csv").write_text("part,material,width\npost,larch,50\n")
    status, out, _ = call("review", tmp_path / "parts.csv", "--units", "mm", "--rules", tmp_path / "ours.yaml")
    assert status == 0
    assert "A { b" in out.replace("a { b", "A { b")
    assert "{ 50 mm }}" in out


@pytest.mark.parametrize(
    "make",
    [
        lambda n: [{"rule": f"post-too-slim-{i}", "explains": [f"post-too-slim-{i + 1}"] if i + 1 < n else []} for i in range(n)],
        lambda n: [{"rule": f"post-too-slim-{i}", "explains": ["post-too-slim-0"]} for i in range(n)],
        lambda n: [{"near_miss": [{"width_mm": 90}] * (n * 12)}],
        lambda n: [{f"kye{i}": 3 for i in range(n * 12)}],
        lambda n: [{"example": {f"widht{i}": 3 for i in range(n // 4)}}],
    ],
    ids=["chain", "star", "near misses", "keys", "facts"],
)  # fmt: skip
def test_checking_takes_time_in_step_with_the_file(tmp_path, make):
    """Work is counted, not timed: calls of Python functions for a file four times as long are at most six times as many."""

    def work(many):
        path = tmp_path / f"{many}.yaml"
        path.write_text(json.dumps([{**RULE, **one} for one in make(many)]))
        count = [0]

        def step(_frame, _event, _argument):
            count[0] += 1

        sys.setprofile(step)
        try:
            call("rules", "--check", path)
        finally:
            sys.setprofile(None)
        return count[0]

    work(10)
    least, small, large = work(10), work(100), work(400)
    assert large - least <= 6 * (small - least) + 20_000


def test_circles_are_found_among_thousands(tmp_path):
    chain = [{"rule": f"post-too-slim-{i}", "explains": [f"post-too-slim-{i + 1}"]} for i in range(50)]
    ring = [
        {"rule": "post-too-slim-50", "explains": ["post-too-slim-51"]},
        {"rule": "post-too-slim-51", "explains": ["post-too-slim-50"]},
    ]
    err = checked(tmp_path, *chain, *ring)
    assert sorted(re.findall(r"(post-too-slim-\d+): explains", err)) == ["post-too-slim-50", "post-too-slim-51"]


def test_signs_that_steer_are_made_harmless_and_no_others():
    """Unicode's own classes: control, surrogate, line and paragraph separators; turning signs; the last two of each plane, which are none."""
    turning = {*range(0x202A, 0x202F), *range(0x2066, 0x206A)}
    for code in range(0x110000):
        sign = chr(code)
        steers = unicodedata.category(sign) in ("Cc", "Cs", "Zl", "Zp") or code in turning or code & 0xFFFE == 0xFFFE
        assert harmless(f"a{sign}") == ("a " if steers else f"a{sign}"), hex(code)
        if steers and not 0xD800 <= code < 0xE000:
            text = json.dumps([f"a{sign}"], ensure_ascii=False)
            shown = escaped(text)
            assert json.loads(shown) == [f"a{sign}"]
            assert sign not in shown or sign == "\n"
