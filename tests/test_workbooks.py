"""Workbooks and exports as shops keep them. What is certain is read, what is not is asked for with its place, and what a
sheet hides is said. The shapes are those that spreadsheets write (ECMA-376, part 1); the counts are counted by hand."""

from __future__ import annotations

import datetime
import zipfile

import openpyxl
import pytest

from calling import call
from gatepost.errors import InputError
from gatepost.reading import read


def book(tmp_path, *rows, change=None, name="parts.xlsx"):
    made = openpyxl.Workbook()
    for row in rows:
        made.active.append(row)
    if change:
        change(made, made.active)
    made.save(tmp_path / name)
    return tmp_path / name


def merged(*ranges):
    def change(_, sheet):
        for one in ranges:
            sheet.merge_cells(one)

    return change


def formatted(cell, shown_as):
    def change(_, sheet):
        sheet[cell].number_format = shown_as

    return change


def said(project):
    return " | ".join(project.said)


def test_a_cell_merged_over_rows_counts_for_each_and_that_is_said(tmp_path):
    rows = ["part", "material", "thickness"], ["post", "larch", 1], ["rail", None, 2], ["brace", "larch", 3]
    project = read(book(tmp_path, *rows, change=merged("B2:B3")), units="in")
    assert list(project.parts["species"]) == [project.parts["species"][2]] * 3
    assert "merged over several rows counts for each of them: rows 2 to 3" in said(project)


def test_a_count_merged_over_rows_is_asked_for(tmp_path):
    rows = ["part", "material", "qty"], ["post", "larch", 4], ["rail", "larch", None]
    with pytest.raises(InputError, match="3: qty: is one cell merged over several rows"):
        read(book(tmp_path, *rows, change=merged("C2:C3")))


def test_a_title_merged_across_columns_is_set_aside(tmp_path):
    rows = ["Gate for the orchard"], ["part", "material"], ["FRAME"], ["post", "larch"]
    project = read(book(tmp_path, *rows, change=merged("A1:B1", "A3:B3")))
    assert list(project.parts["part"]) == ["post"]
    assert (project.counts.given, project.counts.read, project.counts.set_aside) == (3, 1, 2)


def test_headings_in_two_merged_lines(tmp_path):
    rows = ["part", "material", "Sizes", None], [None, None, "thickness", "width"], ["post", "larch", 2, 3]
    project = read(book(tmp_path, *rows, change=merged("A1:A2", "B1:B2", "C1:D1")), units="in")
    assert project.parts[["thickness_mm", "width_mm"]].to_numpy().tolist() == [[50.8, 76.2]]


def test_rows_columns_and_sheets_that_are_hidden_are_said(tmp_path):
    def change(made, sheet):
        sheet.row_dimensions[2].hidden = True
        sheet.column_dimensions["C"].hidden = True
        made.create_sheet("Prices")
        made.create_sheet("Old").sheet_state = "hidden"

    rows = ["part", "material", "thickness"], ["post", "larch", 1], ["rail", "larch", 2]
    project = read(book(tmp_path, *rows, change=change), units="in")
    assert list(project.parts["part"]) == ["post", "rail"]
    assert "only the first sheet that shows, Sheet, is read; not read: Prices, Old (hidden)" in said(project)
    assert "rows that are hidden in the sheet are read like the others: 2" in said(project)
    assert "columns that are hidden in the sheet are read like the others: thickness" in said(project)
    assert "hidden in the sheet" in " ".join(call("review", tmp_path / "parts.xlsx")[1].split())


@pytest.mark.parametrize(
    ("heading", "value", "shown_as", "column", "wanted"),
    [
        ("moisture", 0.12, "0%", "moisture_pct", 12),
        ("moisture", 12, "0", "moisture_pct", 12),
        ("thickness", 19, '0" mm"', "thickness_mm", 19),
        ("thickness", 0.75, "# ?/?", "thickness_mm", 19.05),
        ("thickness", 0.75, '0.00\\"', "thickness_mm", 19.05),
        ("length", 1200, '#,##0" mm"', "length_mm", 1200),
        ("clearance", 1.5, '0.0" pcs"', "height_clear_mm", 38.1),
    ],
)
def test_a_number_is_read_as_the_sheet_shows_it(tmp_path, heading, value, shown_as, column, wanted):
    """ECMA-376, part 1, 18.8.31: a % in a format shows a hundredfold; text between quotes is shown as it stands."""
    rows = ["part", "material", heading], ["post", "larch", value]
    project = read(book(tmp_path, *rows, change=formatted("C2", shown_as)), units="in")
    assert project.parts[column].iat[0] == pytest.approx(wanted)


def with_values(path, **values):
    """A workbook as a spreadsheet leaves it, with the last value beside each formula."""
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    sheet = parts["xl/worksheets/sheet1.xml"]
    for cell, (kind, value) in values.items():
        at = sheet.index(f'<c r="{cell}"'.encode())
        end = sheet.index(b"</c>", at)
        inner = sheet[at:end].replace(b"<v></v>", b"").replace(b"<v />", b"").replace(b"<v/>", b"")
        inner = inner.replace(f'<c r="{cell}"'.encode(), f'<c r="{cell}" t="{kind}"'.encode())
        sheet = sheet[:at] + inner + f"<v>{value}</v>".encode() + sheet[end:]
    parts["xl/worksheets/sheet1.xml"] = sheet
    with zipfile.ZipFile(path, "w") as new:
        for name, data in parts.items():
            new.writestr(name, data)
    return path


def test_formulas_by_the_values_they_last_had_and_without_one_they_are_asked_for(tmp_path):
    rows = ["part", "material", "thickness", "finish"], ["post", "larch", "=3/4", '=""']
    path = book(tmp_path, *rows)
    with pytest.raises(InputError, match=r"2: thickness: holds a formula that no program has worked out") as caught:
        read(path, units="in")
    assert {one.column for one in caught.value.problems} == {"thickness", "finish"}
    project = read(with_values(path, C2=("n", "0.75"), D2=("str", "")), units="in")
    assert project.parts["thickness_mm"].iat[0] == pytest.approx(19.05)


@pytest.mark.parametrize("column", ["species", "thickness", "part", "finish"])
def test_an_error_in_the_sheet_is_asked_for(tmp_path, column):
    row = {"part": "post", "material": "larch", "species": "", "thickness": "", "finish": "", column: "#REF!"}
    with pytest.raises(InputError, match=f"2: {column}: the sheet shows the error #REF!"):
        read(book(tmp_path, list(row), list(row.values())))


@pytest.mark.parametrize("column", ["material", "exposure", "thickness", "finish"])
@pytest.mark.parametrize(
    "value", [datetime.datetime(2026, 3, 4), "4-Mar", "Mar-04", "3/4/2026", "04.03.2026", "2026-03-04", "4 March 2026"]
)
def test_a_fraction_that_became_a_date_is_asked_for(tmp_path, column, value):
    row = {"part": "post", "material": "larch", "exposure": "", "thickness": "", "finish": "", column: value}
    with pytest.raises(InputError, match=f"2: {column}: the sheet turned the cell into a date"):
        read(book(tmp_path, list(row), list(row.values())))


def listed(tmp_path, text, units="mm", encoding="utf-8"):
    (tmp_path / "list.csv").write_bytes(text.encode(encoding))
    return read(tmp_path / "list.csv", units=units)


@pytest.mark.parametrize(
    "heading",
    [
        "Thickness in mm", "Thickness/mm", "Thickness - mm", "Thick. [mm]", "THICKNESS mm.", "Thickness\n(mm)", "t_mm", "Thickness (millimetres)", "Thickness, mm",
        "Thickness (Millimeters)",
    ],
)  # fmt: skip
def test_units_in_headings(tmp_path, heading):
    project = listed(tmp_path, f'part,material,"{heading}"\npost,larch,20\n', units="in")
    assert project.parts["thickness_mm"].iat[0] == 20


@pytest.mark.parametrize(
    ("cell", "units", "mm"),
    [
        ("6' 3-1/2\"", "mm", 1917.7), ("6’ 3½”", "mm", 1917.7), ("6′\u00a03\u00a01⁄2″", "mm", 1917.7), ("19,5", "mm", 19.5), ("1250", "mm", 1250), ("38.100", "mm", 38.1),
        ("1.250", "mm", None), ("1,250", "mm", None), ("1.250", "in", 31.75), ("0.600", "mm", 0.6), ("1 250", "mm", None), ("~20", "mm", None), ("20±1", "mm", None),
    ],
)  # fmt: skip
def test_sizes_that_are_certain_are_read_and_others_are_asked_for(tmp_path, cell, units, mm):
    text = 'part;material;width\npost;larch;"{}"\n'.format(cell.replace('"', '""'))
    if mm is None:
        with pytest.raises(InputError, match=r"list\.csv:2: width: "):
            listed(tmp_path, text, units)
    else:
        assert listed(tmp_path, text, units).parts["width_mm"].iat[0] == pytest.approx(mm)


@pytest.mark.parametrize("cell", ["2 ea", "2 EA.", "2 pcs", "2x", "2.0", "2 off", "2\u00a0pcs."])
def test_counts_with_their_word(tmp_path, cell):
    assert listed(tmp_path, f"part;material;qty\npost;larch;{cell}\n").parts["qty"].iat[0] == 2


def test_an_old_encoding_is_read_and_said(tmp_path):
    project = listed(tmp_path, "part,material\nTürpfosten,larch\n", encoding="cp1252")
    assert list(project.parts["part"]) == ["Türpfosten"]
    assert "is not UTF-8; it is read as Windows-1252, with letters such as ü" in said(project)
    assert "Windows-1252" not in said(listed(tmp_path, "part,material\nTürpfosten,larch\n"))


def test_every_row_is_read_or_set_aside_and_the_count_is_printed(tmp_path):
    text = "Garden gate,,\n\npart,material,qty\npost,larch,2\n,,\nFRAME,,\nrail,larch,2 ea\nTotal,,4\n,,4\n"
    (tmp_path / "list.csv").write_text(text)
    status, out, _ = call("review", tmp_path / "list.csv")
    assert status == 0
    assert "8 rows given: 2 parts and 0 joints read, 6 set aside." in " ".join(out.split())
