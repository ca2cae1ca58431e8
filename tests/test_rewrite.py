"""Projects written again with changed cells. Outside anchors: Python's csv module and openpyxl read what was written,
and the bytes of every line that was not to change are compared with the shop's own."""

from __future__ import annotations

import csv
import io
import re
import shutil
import zipfile
from functools import cache

import openpyxl
import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl.styles import Font

from gatepost.errors import InputError
from gatepost.library import library
from gatepost.reading import read
from gatepost.rewriting import Change, rewrite
from projects import PROJECTS

LIST = """Garden gate for the orchard,,,
# prices as of May,,,

Part Name,Wood,Coating wish,Exposure
post,"oak, heart","none, yet",weather
rail , larch ,x,weather
,,,
Total,,4,
last,pine 45x95,"say ""when"" first",indoor
"""
JOINTS = "joint,part_a,part_b,fastener\r\nrail on post,rail,post,wood screw\r\n"


def made(tmp_path, data, name="parts.csv", encoding="utf-8"):
    folder = tmp_path / "shop"
    (folder / name).parent.mkdir(parents=True, exist_ok=True)
    (folder / name).write_bytes(data if isinstance(data, bytes) else data.encode(encoding))
    return folder / name


def project(tmp_path, **files):
    """A project whose files are given by name, `.` as `_` and folders as `__`."""
    for name, data in files.items():
        made(tmp_path, data, re.sub("_(?=[a-z]+$)", ".", name.replace("__", "/")))
    return tmp_path / "shop" / "project.yaml"


def told(error):
    return "\n".join(str(problem) for problem in error.value.problems)


def lines_changed(old, new, mark=b"\n"):
    before, after = old.split(mark), new.split(mark)
    assert len(before) == len(after)
    return [at for at, pair in enumerate(zip(before, after, strict=True)) if pair[0] != pair[1]]


SHAPES = {
    "comma": LIST.encode(),
    "semicolon": LIST.replace(",", ";").encode(),
    "tab": LIST.replace(",", "\t").encode(),
    "mark": b"\xef\xbb\xbf" + LIST.encode(),
    "utf-16": b"\xff\xfe" + LIST.encode("utf-16-le"),
    "utf-16-be": b"\xfe\xff" + LIST.encode("utf-16-be"),
    "cp1252": LIST.replace("Garden", "Gärten").encode("cp1252"),
    "crlf": LIST.replace("\n", "\r\n").encode(),
    "cr": LIST.replace("\n", "\r").encode(),
    "no end": LIST.rstrip("\n").encode(),
}
CODES = {"utf-16": "utf-16", "utf-16-be": "utf-16", "cp1252": "cp1252", "mark": "utf-8-sig"}


@pytest.mark.parametrize("shape", SHAPES)
def test_no_change_no_other_byte(tmp_path, shape):
    path = made(tmp_path, SHAPES[shape])
    [written] = rewrite(path, [], tmp_path / "new")
    assert written == tmp_path / "new" / "parts.csv"
    assert written.read_bytes() == SHAPES[shape]


@pytest.mark.parametrize("shape", SHAPES)
def test_one_cell_changes_one_line(tmp_path, shape):
    path = made(tmp_path, SHAPES[shape])
    change = Change("parts", 1, "material", "western red cedar, heart")
    [written] = rewrite(path, [change], tmp_path / "new")
    code = CODES.get(shape, "utf-8")
    old, new = (one.read_bytes().decode(code).splitlines() for one in (path, written))
    assert [at for at, pair in enumerate(zip(old, new, strict=True)) if pair[0] != pair[1]] == [5]
    assert written.read_bytes()[:2] == path.read_bytes()[:2]
    ends = [re.findall(r"\r\n|\r|\n", one.read_bytes().decode(code)) for one in (path, written)]
    assert ends[0] == ends[1]
    sign = {"semicolon": ";", "tab": "\t"}.get(shape, ",")
    rows = list(csv.reader(io.StringIO("\n".join(new)), delimiter=sign))
    assert rows[5][1].strip() == "western red cedar, heart"
    assert rows[8] == ["last", "pine 45x95", 'say "when" first', "indoor"]


@pytest.mark.parametrize("shape", SHAPES)
def test_a_missing_column_is_added_at_the_right(tmp_path, shape):
    path = made(tmp_path, SHAPES[shape])
    [written] = rewrite(path, [Change("parts", 2, "finish", "oil 2 coats")], tmp_path / "new")
    code, sign = CODES.get(shape, "utf-8"), {"semicolon": ";", "tab": "\t"}.get(shape, ",")
    old, new = (one.read_bytes().decode(code).splitlines() for one in (path, written))
    assert [at for at, pair in enumerate(zip(old, new, strict=True)) if pair[0] != pair[1]] == [3, 8]
    assert new[3] == old[3] + sign + "finish"
    assert new[8] == old[8] + sign + "oil 2 coats"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("post,oak\n", 'post,oak,"1 1/2"""\n'),
        ("post,oak,\n", 'post,oak,"1 1/2"""\n'),
        ('post,"oak","38 mm"\n', 'post,"oak","1 1/2"""\n'),
        ('post,"oak, dry","38 mm",more\n', 'post,"oak, dry","1 1/2""",more\n'),
        ('post,"oak\nwith a knot",38 mm\n', 'post,"oak\nwith a knot","1 1/2"""\n'),
        ("post,oak, 38 mm , more\n", 'post,oak,"1 1/2""", more\n'),
    ],
)
def test_what_stands_beside_the_cell_stays(tmp_path, old, new):
    path = made(tmp_path, "part,material,width,my note\n" + old + "rail,oak,40 mm\n")
    [written] = rewrite(path, [Change("parts", 0, "width", '1 1/2"')], tmp_path / "new")
    assert written.read_text() == "part,material,width,my note\n" + new + "rail,oak,40 mm\n"


def test_blanks_around_a_cell_stay(tmp_path):
    path = made(tmp_path, "part , material , width\npost , oak , 40 mm\n")
    [written] = rewrite(path, [Change("parts", 0, "material", "larch")], tmp_path / "new")
    assert written.read_text() == "part , material , width\npost , larch , 40 mm\n"


def test_a_heading_repeated_below_gets_the_new_column_too(tmp_path):
    path = made(tmp_path, "part,material\npost,oak\npart,material\nrail,oak\n")
    [written] = rewrite(path, [Change("parts", 1, "grain", "rift")], tmp_path / "new")
    assert written.read_text() == "part,material,grain\npost,oak\npart,material,grain\nrail,oak,rift\n"


def test_a_new_column_stands_right_of_notes_without_heading_and_before_empty_ones(tmp_path):
    path = made(tmp_path, "part,material,,,\npost,oak,my note,,\nrail,oak,,,\n")
    [written] = rewrite(path, [Change("parts", 1, "grain", "rift")], tmp_path / "new")
    assert written.read_text() == "part,material,,grain,\npost,oak,my note,,\nrail,oak,,rift,\n"


@pytest.mark.parametrize(
    ("heading", "value", "cell", "width_mm"),
    [
        ("Width (mm)", '3 1/2"', "88.9", 88.9),
        ("Width (mm)", "90", "90", 90),
        ("Width (mm)", "90 mm", "90", 90),
        ("Width (cm)", "90 mm", "9", 90),
        ("Width in", "90 mm", "90 mm", 90),
        ("width_in", '1 1/2"', "1.5", 38.1),
        ("Width", '1 1/2"', '"1 1/2"""', 38.1),
        ("Width", "2x4", "2x4", 88.9),
    ],
)
def test_a_unit_in_the_heading_is_kept(tmp_path, heading, value, cell, width_mm):
    path = made(tmp_path, f"part,material,{heading}\npost,oak,100 mm\n")
    text = "units: mm\nparts: parts.csv\n"
    start = project(tmp_path, project_yaml=text)
    written = rewrite(start, [Change("parts", 0, "width", value)], tmp_path / "new")
    assert written[1].read_text() == f"part,material,{heading}\npost,oak,{cell}\n"
    assert read(written[0]).parts["width_mm"].iat[0] == pytest.approx(width_mm)
    assert path.read_text().endswith("100 mm\n")


def test_a_bare_inch_beneath_a_heading_of_millimetres(tmp_path):
    made(tmp_path, "part,material,Width (mm),Length (ft)\npost,oak,100,8\n")
    start = project(tmp_path, project_yaml="units: in\nparts: parts.csv\n")
    changes = [Change("parts", 0, "width", "3/4"), Change("parts", 0, "length", "72")]
    written = rewrite(start, changes, tmp_path / "new")
    assert written[1].read_text().splitlines()[1] == "post,oak,19.05,6"


def test_a_bare_number_that_no_unit_of_the_heading_holds_is_refused(tmp_path):
    made(tmp_path, "part,material,Width (in)\npost,oak,4\n")
    start = project(tmp_path, project_yaml="units: mm\nparts: parts.csv\n")
    with pytest.raises(InputError) as error:
        rewrite(start, [Change("parts", 0, "width", "90")], tmp_path / "new")
    assert 'parts.csv:2: width: "90" means something else beneath the heading "Width (in)"' in told(error)
    assert not (tmp_path / "new").exists()


def book(path, *rows, **more):
    path.parent.mkdir(parents=True, exist_ok=True)
    made = openpyxl.Workbook()
    made.active.title = "cover"
    made.active.sheet_state = "hidden"
    sheet = made.create_sheet("list")
    for row in rows:
        sheet.append(row)
    sheet["B4"].font = Font(bold=True)
    sheet.column_dimensions["B"].width = 33
    made.create_sheet("notes").append(["=1+1"])
    made.save(path)
    return path


ROWS = (["Orchard", None, None], ["Part", "Timber", "Width (mm)"], ["post", "oak", 90], ["rail", "larch & co", 70])


def test_a_workbook_keeps_its_formats_and_other_parts(tmp_path):
    path = book(tmp_path / "shop" / "parts.xlsx", *ROWS)
    changes = [
        Change("parts", 1, "material", "oak <heart> & dry"),
        Change("parts", 0, "width", "3 1/2 in"),
        Change("parts", 0, "finish", "oil, 2 coats"),
        Change("parts", 1, "upkeep", "5"),
    ]
    [written] = rewrite(path, changes, tmp_path / "new")
    found = openpyxl.load_workbook(written)
    assert list(found["list"].values) == [
        ("Orchard", None, None, None, None),
        ("Part", "Timber", "Width (mm)", "finish", "upkeep"),
        ("post", "oak", 88.9, "oil, 2 coats", None),
        ("rail", "oak <heart> & dry", 70, None, 5),
    ]
    assert found["list"]["B4"].font.bold
    assert found["list"].column_dimensions["B"].width == 33
    assert found["cover"].sheet_state == "hidden"
    assert found["notes"]["A1"].value == "=1+1"
    old, new = zipfile.ZipFile(path), zipfile.ZipFile(written)
    assert [one.filename for one in old.infolist()] == [one.filename for one in new.infolist()]
    differ = [one for one in old.namelist() if old.read(one) != new.read(one)]
    assert differ == ["xl/worksheets/sheet2.xml"]


def test_no_change_leaves_a_workbook_as_it_is(tmp_path):
    path = book(tmp_path / "shop" / "parts.xlsx", *ROWS)
    [written] = rewrite(path, [], tmp_path / "new")
    assert written.read_bytes() == path.read_bytes()


def test_a_formula_is_not_written_over(tmp_path):
    path = book(tmp_path / "shop" / "parts.xlsx", ["part", "material", "gap"], ["post", "oak", "=3+4"])
    with pytest.raises(InputError, match=r"parts.xlsx:2: gap: holds a formula"):
        rewrite(path, [Change("parts", 0, "gap", "5 mm")], tmp_path / "new")


# A sheet as other programs write it: prefixed names, strings in a table of their own, the last values of formulas,
# rows and cells without their numbers, one cell empty.
SHEET = """<?xml version="1.0" encoding="UTF-8"?>
<x:worksheet xmlns:x="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><x:dimension ref='A1:C3'/><x:sheetData>
<x:row spans="1:3"><x:c t="s"><x:v>0</x:v></x:c><x:c t="s"><x:v>1</x:v></x:c><x:c t="s"><x:v>2</x:v></x:c></x:row>
<x:row r="2" spans='1:3'><x:c r="A2" t="s"><x:v>3</x:v></x:c><x:c r="C2"><x:f>30*3</x:f><x:v>90</x:v></x:c></x:row>
<x:row r="3"><x:c r="A3" t="s"><x:v>3</x:v></x:c><x:c r="B3" s="0"/><x:c r="C3"><x:v>80</x:v></x:c></x:row>
</x:sheetData></x:worksheet>"""
STRINGS = "".join(f"<si><t>{word}</t></si>" for word in ("part", "material", "width", "post"))


def test_a_sheet_of_another_program(tmp_path):
    source = book(tmp_path / "plain.xlsx", ["part"])
    path = tmp_path / "shop" / "parts.xlsx"
    path.parent.mkdir()
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(path, "w") as new:
        for name in old.namelist():
            text = old.read(name).decode()
            if name == "xl/worksheets/sheet2.xml":
                text = SHEET
            if name == "[Content_Types].xml":
                part = '<Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/></Types>'
                text = text.replace("</Types>", part)
            new.writestr(name, text)
        new.writestr(
            "xl/sharedStrings.xml",
            f'<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">{STRINGS}</sst>',
        )
    changes = [
        Change("parts", 0, "material", "oak"),
        Change("parts", 1, "material", "larch"),
        Change("parts", 1, "width", "70"),
        Change("parts", 1, "swap", "easy"),
    ]
    [written] = rewrite(path, changes, tmp_path / "new")
    found = openpyxl.load_workbook(written, data_only=True)["list"]
    assert list(found.values) == [
        ("part", "material", "width", "swap"), ("post", "oak", 90, None), ("post", "larch", 70, "easy")
    ]  # fmt: skip


NESTED = {
    "project_yaml": "# our gate\nname: Gate   # working title\nunits: mm\nparts: lists/a/parts.csv\njoints: lists/joints.csv\nprices: prices.csv\nstock: more/stock.csv\nrules: [own.yaml]\n",
    "lists__a__parts_csv": LIST,
    "lists__joints_csv": JOINTS,
    "prices_csv": "item,unit,price,currency\noak,board foot,9,USD\n",
    "more__stock_csv": "material\noak\n",
    "own_yaml": "[]\n",
}


def test_lists_in_folders_and_the_files_beside_them(tmp_path):
    start = project(tmp_path, **NESTED)
    changes = [Change("parts", 0, "exposure", "sheltered"), Change("joints", 0, "fastener", "bolt"), Change("joints", 0, "count", "2")]  # fmt: skip
    written = rewrite(start, changes, tmp_path / "deep" / "new")
    names = [str(one.relative_to(tmp_path / "deep" / "new")) for one in written]
    assert names == ["project.yaml", "lists/a/parts.csv", "lists/joints.csv", "prices.csv", "more/stock.csv", "own.yaml"]  # fmt: skip
    for name in (names[0], *names[3:]):
        assert (tmp_path / "shop" / name).read_bytes() == (tmp_path / "deep" / "new" / name).read_bytes()
    assert written[2].read_bytes() == b"joint,part_a,part_b,fastener,count\r\nrail on post,rail,post,bolt,2\r\n"
    assert lines_changed((tmp_path / "shop" / names[1]).read_bytes(), written[1].read_bytes()) == [4]
    assert sorted(one.name for one in (tmp_path / "deep").iterdir()) == ["new"]
    assert oct(written[0].parent.stat().st_mode) == oct((tmp_path / "shop").stat().st_mode)


INLINE = """name: Gate  # a comment
units: mm
parts:   # the wood
  - {part: post, material: oak, width: 90}   # stays
  - part: rail
    material: "larch"    # second
    touches: [skin, food]
    grain:
  # a comment between
  - {part: board, material: oak, note: 'it''s', finish: }
joints:
  - {joint: a, part_a: post, part_b: rail, "size": '5 x 50'}
life: 20
"""


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_rows_in_the_project_file(tmp_path, end, mark):
    start = project(tmp_path, project_yaml=mark + INLINE.replace("\n", end))
    changes = [
        Change("parts", 0, "material", "oak: the heart #1"),
        Change("parts", 1, "material", "larch heart"),
        Change("parts", 1, "touches", "skin"),
        Change("parts", 1, "grain", "rift"),
        Change("parts", 1, "upkeep", "5"),
        Change("parts", 2, "finish", "oil, 2 coats"),
        Change("parts", 2, "moisture", "15 %"),
        Change("joints", 0, "size", "#8 x 2"),
        Change("joints", 0, "count", "2"),
    ]
    [written] = rewrite(start, changes, tmp_path / "new")
    wanted = INLINE
    for old, new in [
        ("material: oak, width", 'material: "oak: the heart #1", width'),
        ('"larch"', '"larch heart"'),
        ("[skin, food]", "skin"),
        ("    grain:\n", "    grain: rift\n    upkeep: 5\n"),
        ("finish: }", 'finish: "oil, 2 coats", moisture: 15 % }'),
        ("'5 x 50'", '"#8 x 2", count: 2'),
    ]:
        assert wanted.count(old) == 1
        wanted = wanted.replace(old, new)
    assert written.read_bytes() == (mark + wanted.replace("\n", end)).encode()
    assert yaml.safe_load(written.read_bytes())["parts"][0]["material"] == "oak: the heart #1"


@pytest.mark.parametrize(
    ("text", "column", "what"),
    [
        ("parts:\n  - {part: a, material: &m oak}\n  - {part: b, material: *m}\n", "material", "anchors"),
        ("parts:\n  - part: a\n    material: >\n      oak\n", "material", "move the rows to a CSV"),
        ("parts:\n  - part: a\n    material: oak\n      heart\n", "material", "move the rows to a CSV"),
        ("parts:\n  - part: a\n    material: oak\n    touches:\n      - skin\n", "touches", "move the rows to a CSV"),
        ("parts:\n  - part: a\n    material: oak\n    touches:\n      - skin\n", "grain", "move the rows to a CSV"),
    ],
)
def test_rows_that_are_written_too_freely_are_refused(tmp_path, text, column, what):
    start = project(tmp_path, project_yaml=text)
    value = {"material": "larch", "touches": "food", "grain": "rift"}[column]
    with pytest.raises(InputError, match=what):
        rewrite(start, [Change("parts", 0, column, value)], tmp_path / "new")
    assert not (tmp_path / "new").exists()


def kept(folder):
    return {one.relative_to(folder): one.read_bytes() for one in sorted(folder.rglob("*")) if one.is_file()}


@pytest.mark.parametrize("folder", ["shop", "shop/../shop", "link"])
def test_the_own_folder_is_refused(tmp_path, folder):
    start = project(tmp_path, **NESTED)
    (tmp_path / "link").symlink_to(tmp_path / "shop")
    before = kept(tmp_path)
    with pytest.raises(InputError, match="own folder"):
        rewrite(start, [], tmp_path / folder)
    assert kept(tmp_path) == before


def test_files_that_are_there_are_not_written_over(tmp_path):
    start = project(tmp_path, **NESTED)
    there = tmp_path / "new" / "lists" / "joints.csv"
    there.parent.mkdir(parents=True)
    there.write_text("mine")
    before = kept(tmp_path)
    with pytest.raises(InputError, match=r"joints.csv: is there already"):
        rewrite(start, [], tmp_path / "new")
    assert kept(tmp_path) == before
    there.rename(there.with_name("other.csv"))
    assert len(rewrite(start, [], tmp_path / "new")) == 6
    assert there.with_name("other.csv").read_text() == "mine"


def test_a_file_in_the_way_of_a_folder_leaves_nothing_behind(tmp_path):
    start = project(tmp_path, **NESTED)
    (tmp_path / "new").mkdir()
    (tmp_path / "new" / "lists").write_text("a file")
    before = kept(tmp_path)
    with pytest.raises(InputError, match="cannot be written"):
        rewrite(start, [], tmp_path / "new")
    assert kept(tmp_path) == before
    with pytest.raises(InputError, match="is a file"):
        rewrite(start, [], tmp_path / "new" / "lists")
    assert list((tmp_path / "new").iterdir()) == [tmp_path / "new" / "lists"]


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ([Change("parts", 3, "material", "oak")], "parts.csv: material: there is no row 4; the list has 3"),
        ([Change("parts", -1, "material", "oak")], "there is no row 0"),
        ([Change("parts", 0, "wood", "oak")], "parts.csv:5: wood: is no column of the parts list"),
        ([Change("parts", 0, "part", "gate")], "parts.csv:5: part: is a name"),
        ([Change("parts", 0, "material", "oak\nheart")], "parts.csv:5: material: holds a line break"),
        ([Change("parts", 0, "grain", x) for x in ("rift", "flat")], "parts.csv:5: grain: is to be changed to two"),
        ([Change("parts", 0, "gap", "3/4in x")], 'parts.csv:5: gap: cannot read "3/4in x"'),
        ([Change("joints", 0, "count", "2")], "joints: there is no such list"),
    ],
)
def test_changes_that_cannot_be_made(tmp_path, changes, what):
    path = made(tmp_path, LIST)
    with pytest.raises(InputError) as error:
        rewrite(path, changes, tmp_path / "new")
    assert what in told(error)
    assert not (tmp_path / "new").exists()


def test_all_that_is_wrong_is_told_at_once(tmp_path, monkeypatch):
    monkeypatch.setenv("GATEPOST_OUTSIDE", "yes")
    start = project(tmp_path, **{**NESTED, "project_yaml": NESTED["project_yaml"].replace("more/stock.csv", "../stock.csv").replace("own", "gone")})  # fmt: skip
    (tmp_path / "stock.csv").write_text("material\noak\n")
    changes = [Change("parts", 0, "wood", "oak"), Change("joints", 0, "screw", "x")]
    with pytest.raises(InputError) as error:
        rewrite(start, changes, tmp_path / "new")
    assert re.search(r"project.yaml:7: stock: ../stock.csv lies outside", told(error))
    assert re.search(r"project.yaml:8: rules: gone.yaml cannot be read: No such file", told(error))
    assert len(error.value.problems) == 4


def test_standard_input_is_refused(tmp_path):
    with pytest.raises(InputError, match="standard input: cannot be written again"):
        rewrite("-", [], tmp_path / "new")


def test_a_list_named_by_its_full_path(tmp_path, monkeypatch):
    path = made(tmp_path, LIST, "parts.csv")
    start = project(tmp_path, project_yaml=f"parts: {path}\n")
    with pytest.raises(InputError, match=r"project.yaml:1: parts: .* lies outside the project's folder"):
        rewrite(start, [], tmp_path / "new")
    monkeypatch.setenv("GATEPOST_OUTSIDE", "yes")
    assert rewrite(start, [], tmp_path / "new") == [tmp_path / "new" / "project.yaml"]
    with pytest.raises(InputError, match=r"project.yaml:1: parts: .* full path"):
        rewrite(start, [Change("parts", 0, "material", "larch")], tmp_path / "other")


def test_a_text_that_the_encoding_does_not_hold(tmp_path):
    path = made(tmp_path, SHAPES["cp1252"])
    with pytest.raises(InputError, match='cannot hold "漆"'):
        rewrite(path, [Change("parts", 0, "finish", "漆")], tmp_path / "new")


def test_a_cell_that_another_beats_is_told(tmp_path):
    """`treatment`, further right, names the incising too, and wins."""
    text = "part,material,incised,treatment\npost,Douglas-fir,,CA-C UC4A not incised\n"
    path = made(tmp_path, text)
    reads = read(path).parts["incised"].iat[0]
    assert reads == "no"
    with pytest.raises(InputError, match="incised is no, and yes was to be written"):
        rewrite(path, [Change("parts", 0, "incised", "yes")], tmp_path / "new")
    assert not (tmp_path / "new").exists()
    assert [one.name for one in tmp_path.iterdir()] == ["shop"]


def test_a_bare_list_is_read_as_the_call_says(tmp_path):
    from gatepost.reading import Call

    path = made(tmp_path, "part,material,width\npost,oak,90 mm\n")
    call = Call(units="in")
    [written] = rewrite(path, [Change("parts", 0, "width", "3/4")], tmp_path / "new", call)
    assert read(written, call).parts["width_mm"].iat[0] == pytest.approx(19.05)


@pytest.mark.parametrize(
    ("old", "value", "cell"),
    [
        ("PT southern pine 2x8 CA-C UC4A", "western red cedar heartwood", "western red cedar heartwood 2x8"),
        ("larch, 45 x 95 mm, clear", "white oak", "white oak 45 x 95 mm"),
        ("larch 2x8", "white oak 2x6", "white oak 2x6"),
        ("larch", "white oak", "white oak"),
    ],
)
def test_another_wood_keeps_the_size_that_its_cell_told(tmp_path, old, value, cell):
    path = made(tmp_path, f"part;material\npost;{old}\n")
    [written] = rewrite(path, [Change("parts", 0, "material", value)], tmp_path / "new")
    assert written.read_text() == f"part;material\npost;{cell}\n"


def test_a_size_that_would_be_lost_is_told(tmp_path):
    path = made(tmp_path, "part,material\npost,larch 45 x 95 mm\n")
    with pytest.raises(InputError, match="reads otherwise than was meant: parts row 1: width_mm is nan and was 95"):
        rewrite(path, [Change("parts", 0, "material", '3/4" A-C plywood')], tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_fastener_keeps_its_length_unless_the_size_is_changed_too(tmp_path):
    start = project(
        tmp_path,
        project_yaml="parts: parts.csv\njoints: joints.csv\nunits: mm\n",
        parts_csv="part,material\npost,oak\n",
        joints_csv="joint,part_a,part_b,fastener\na,post,post,wood screw 5 x 90\nb,post,post,wood screw 5 x 90\n",
    )
    changes = [Change("joints", row, "fastener", "structural screw") for row in (0, 1)]
    written = rewrite(start, [*changes, Change("joints", 1, "size", "6 x 80")], tmp_path / "new")
    rows = written[2].read_text().splitlines()
    assert rows == ["joint,part_a,part_b,fastener,size", "a,post,post,structural screw 5 x 90", "b,post,post,structural screw,6 x 80"]  # fmt: skip


VALUES = {
    "material": ["western red cedar heartwood", "PT southern pine 4x4 CA-C UC4B", "oak; mixed"],
    "finish": ["oil, 2 coats", "paint 3 coats with primer", "none"],
    "wood_part": ["heart", "mixed"],
    "upkeep": ["5"],
    "gap": ["3/8 in", "6 mm"],
    "clearance": ["200 mm"],
    "end_grain": ["sealed", "open"],
    "moisture": ["12", "air-dried"],
    "fastener": ["deck screw", "stainless A4 bolt"],
    "size": ["#10 x 3", '1/4" x 4"', "5 x 80 mm"],
    "coating": ["hot-dip galvanized", "stainless 316"],
    "count": ["3"],
    "pilot": ["yes"],
    "glue": ["none", "epoxy"],
    "hardware": ["stainless A4 hinge"],
}


@pytest.mark.parametrize("name", PROJECTS)
def test_projects_are_written_again_byte_for_byte(tmp_path, name):
    source = PROJECTS[name]
    for one in rewrite(source / "project.yaml", [], tmp_path / "new"):
        assert one.read_bytes() == (source / one.relative_to(tmp_path / "new")).read_bytes()


@cache
def frames_of(name):
    project = read(PROJECTS[name] / "project.yaml")
    return {"parts": project.parts, "joints": project.joints}


@pytest.mark.parametrize("name", PROJECTS)
@settings(max_examples=4, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_changes_of_projects_read_as_written(tmp_path, name, data):
    """Many cells of both lists at once; and back to the old text gives the old bytes where one cell was replaced."""
    source, register = PROJECTS[name] / "project.yaml", library().register
    frames = {over: frame for over, frame in frames_of(name).items() if len(frame)}
    cell = st.sampled_from(sorted(frames)).flatmap(
        lambda over: st.tuples(
            st.just(over),
            st.integers(0, len(frames[over]) - 1),
            st.sampled_from([column for column in VALUES if column in register.written[over]]),
        )
    )
    cells = data.draw(st.lists(cell, min_size=1, max_size=9, unique=True))
    changes = [Change(*one, data.draw(st.sampled_from(VALUES[one[2]]))) for one in cells]
    shutil.rmtree(tmp_path / "new", ignore_errors=True)
    try:
        written = rewrite(source, changes, tmp_path / "new")
    except InputError as refused:
        # A fastener's name that would take its size along: refused by name, and nothing is written.
        told = [str(one) for one in refused.problems]
        sized = [one for one in changes if one.column == "fastener"]
        assert len(told) <= len(sized)
        assert all("fastener: " in one and "write the size into columns of its own first" in one for one in told)
        assert not (tmp_path / "new").exists()
        return
    again = read(written[0])
    for change in changes:
        column = register.written[change.over][change.column]
        if not column.reads and column.kind != "size" and column.name != "moisture_pct":
            assert str(getattr(again, change.over)[column.name].iat[change.row]).removesuffix(".0") == change.value
    for one in written:
        old = (source.parent / one.relative_to(tmp_path / "new")).read_bytes().splitlines()
        new = one.read_bytes().splitlines()
        assert len(old) == len(new)
        assert (
            sum(pair[0] != pair[1] for pair in zip(old, new, strict=True))
            <= len({(c.over, c.row) for c in changes}) + 2
        )
