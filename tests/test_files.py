"""Lists in the shapes that shops keep them: signs, encodings, rows that are no parts, workbooks; and where it went wrong."""

from __future__ import annotations

import datetime

import openpyxl
import pytest

from gatepost.errors import InputError
from gatepost.reading import read

HEAD = "part,material,width\n"


def reading(tmp_path, data, name="parts.csv", units="mm"):
    path = tmp_path / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return read(path, units=units)


def book(tmp_path, *rows, hidden=False):
    made = openpyxl.Workbook()
    sheet = made.active
    if hidden:
        sheet.append(["part", "material"])
        sheet.sheet_state = "hidden"
        sheet = made.create_sheet()
    for row in rows:
        sheet.append(row)
    made.save(tmp_path / "parts.xlsx")
    return tmp_path / "parts.xlsx"


@pytest.mark.parametrize(
    "data",
    [
        HEAD + "pöst,oak,90\n", "\ufeff" + HEAD + "pöst,oak,90\n", (HEAD + "pöst,oak,90\n").encode("cp1252"), (HEAD + "pöst,oak,90\n").encode("utf-16"),
        b"\xfe\xff" + (HEAD + "pöst,oak,90\n").encode("utf-16-be"), (HEAD + "pöst,oak,90\n").replace("\n", "\r\n"), (HEAD + "pöst,oak,90\n").replace("\n", "\r"),
        "part;material;width\npöst;oak, clear, kiln, dried, heart;90\n", "part\tmaterial\twidth\npöst\toak\t90\n", "sep=;\npart;material;width\npöst;oak;90\n",
        "part;material;width\npöst;oak;90,0\n", "part,material,width\npöst,oak,90\u00a0mm\n", "Part Name,Wood,Width mm\npöst,oak,90\n", "ITEM,stock,width_mm\npöst,oak,90\n",
        "Item,Material,Width (cm)\npöst,oak,9\n", 'part,material,width,near\npöst,oak,90,"pool;shade"\n',
    ],
)  # fmt: skip
def test_every_shape_gives_the_same_part(tmp_path, data):
    project = reading(tmp_path, data)
    assert list(project.parts["part"]) == ["pöst"]
    assert list(project.parts["width_mm"]) == [90]


@pytest.mark.parametrize(
    ("rows", "kept", "aside"),
    [
        ("post,oak,90\n,,\n,,\nrail,oak,80\n,,\n\n", ["post", "rail"], 2),
        ("post,oak,90\nTotal,,90\nSubtotal:,,\nGrand total,,4\nsum,,1\n", ["post"], 4),
        ("post,oak,90\nprices as of May,,\nGATE,,\nrail,oak,80\n", ["post", "rail"], 2),
        ("post,oak,90\npart,material,width\nrail,oak,80\n", ["post", "rail"], 1),
        ("summer rail,oak,90\n", ["summer rail"], 0),
        ("post,oak\n", ["post"], 0),
        ("post,oak,90,more,still more\n", ["post"], 0),
    ],
)
@pytest.mark.parametrize("title", ["", "Garden gate,,\nfor a client,May,\n\n"])
def test_rows_that_are_no_parts_are_set_aside_and_counted(tmp_path, rows, kept, aside, title):
    project = reading(tmp_path, title + HEAD + rows)
    counts = project.counts
    assert list(project.parts["part"]) == kept
    assert counts.given == counts.read + counts.set_aside
    assert counts.set_aside == aside + title.count("\n")


def test_a_list_without_rows_is_refused(tmp_path):
    with pytest.raises(InputError, match="no rows"):
        reading(tmp_path, HEAD)


def test_a_heading_tells_the_unit_of_its_column_only(tmp_path):
    project = reading(tmp_path, "part,material,Width (in),Thickness,length_ft\npost,oak,4,20,6\n")
    assert [project.parts[name].iloc[0] for name in ("width_mm", "thickness_mm", "length_mm")] == pytest.approx(
        [101.6, 20, 1828.8]
    )


def test_headings_that_mean_nothing_are_said(tmp_path):
    whole = reading(tmp_path, "part,material,colour,Boss says\npost,oak,red,no\n").whole
    assert (whole["unused_columns"].iloc[0], whole["unused_columns_count"].iloc[0]) == ("colour, Boss says", 2)


@pytest.mark.parametrize(
    ("data", "line", "words"),
    [
        (HEAD + '"post,oak,90\nrail,oak,80\n', 2, "unexpected end"), (HEAD + '"post\nleft",oak,90\nrail,oak,wide\n', 4, "width"), ("part,name,material\nx,y,oak\n", 1, "keep one"),
        (HEAD + ",oak,90\n", 2, "part: is blank"), ("title\n\n" + HEAD + "post,oak,wide\n", 4, "width"), ("prt,material\nx,oak\n", 1, "did you mean part"), ("part,width\nx,3\n", 1, "material"),
        ("post,oak,90\nrail,oak,80\n", 1, "no heading row"), ("post|oak\nx|y\n", 1, "no heading row"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_line(tmp_path, data, line, words):
    with pytest.raises(InputError, match=words) as caught:
        reading(tmp_path, data)
    assert [problem.line for problem in caught.value.problems] == [line]


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\n \n",
        b"\x00\x01",
        (HEAD + "post,oak,90\n").encode("utf-16-le"),
        b"PK\x03\x04",
        (HEAD + "x," + "oak " * 40_000).encode(),
    ],
)
def test_what_is_no_list_is_refused(tmp_path, data):
    with pytest.raises(InputError, match=r"parts\.csv"):
        reading(tmp_path, data)


def test_a_workbook_keeps_numbers_and_the_row_of_each_problem(tmp_path):
    path = book(
        tmp_path,
        ["Gate", datetime.datetime(2026, 5, 1)],
        ["part", "material", "qty", "width"],
        ["post", "oak", 2.0, 90],
        [None] * 4,
        ["rail", "oak", 3, "3/4 in"],
        hidden=True,
    )
    project = read(path, units="mm")
    assert project.parts[["part", "qty", "width_mm"]].to_numpy().tolist() == [["post", 2, 90], ["rail", 3, 19.05]]
    assert (project.counts.given, project.counts.set_aside) == (4, 2)
    with pytest.raises(InputError) as caught:
        read(book(tmp_path, ["part", "material", "qty"], ["post", "oak", "#REF!"], ["rail", "oak", 1.5]))
    assert [(one.line, one.column) for one in caught.value.problems] == [(2, "qty"), (3, "qty")]


@pytest.mark.parametrize("value", [datetime.datetime(2026, 3, 4), datetime.date(2026, 3, 4), datetime.time(3, 4)])
def test_a_fraction_that_a_sheet_made_a_date_is_refused_where_it_counts(tmp_path, value):
    with pytest.raises(InputError, match="2: thickness: the sheet turned the cell into a date"):
        read(book(tmp_path, ["part", "material", "thickness"], ["post", "oak", value]))
    assert len(read(book(tmp_path, ["part", "material", "ordered on"], ["post", "oak", value])).parts) == 1
