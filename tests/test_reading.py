"""Cells, materials, headings and files as shops write them."""

from __future__ import annotations

import datetime
import math

import openpyxl
import pytest

from gatepost.deriving import derive
from gatepost.errors import InputError
from gatepost.library import library
from gatepost.reading import read
from gatepost.reading.sizes import Context, take_fastener_size
from gatepost.units import NotASize, print_size, size_mm

IN, MM = Context("in", "us"), Context("mm", "eu")


@pytest.mark.parametrize(
    ("text", "units", "mm"),
    [
        ("3/4", "in", 19.05), ('1 1/2"', "in", 38.1), ("1-1/2", "in", 38.1), ("¾", "in", 19.05), ("1½", "in", 38.1), ("19 mm", "in", 19), ("19", "mm", 19),
        ("1.5", "in", 38.1), ("2,5 cm", "mm", 25), ("6' 3-1/2\"", "in", 1917.7), ("6 ft", "mm", 1828.8), ("1.2 m", "in", 1200), ("10 in.", "mm", 254),
        ("7 1/4 in", "mm", 184.15), ("”", "in", None), ("3/4in x", "in", None), ("-3", "in", None), ("1/0", "in", None), ("3 4", "in", None), ("1,200", "mm", None),
        ("nan", "mm", None), ("1e9", "mm", None), ("x", "mm", None), ("", "mm", None), ("3/", "in", None), ("--3", "in", None),
    ],
)  # fmt: skip
def test_sizes(text, units, mm):
    if mm is None:
        with pytest.raises(NotASize):
            size_mm(text, units)
    else:
        assert size_mm(text, units) == pytest.approx(mm)


@pytest.mark.parametrize(
    ("mm", "inches", "metric"),
    [
        (38.1, '1-1/2"', "38 mm"),
        (19.05, '3/4"', "19 mm"),
        (3.2, '1/8"', "3 mm"),
        (0, '0"', "0 mm"),
        (0.4, 'under 1/16"', "0.5 mm"),
        (2438.4, '96"', "2438 mm"),
    ],
)
def test_printed_sizes(mm, inches, metric):
    assert print_size(mm, "in") == inches
    assert print_size(mm, "mm") == metric
    assert print_size(mm, "both") == f"{inches} ({metric})"


def one_part(tmp_path, text, **columns):
    """Facts read of one part with this material and these other cells."""
    path = tmp_path / "parts.csv"
    header = ",".join(["part", "material", *columns])
    cells = ",".join(f'"{value}"' for value in ["x", text, *columns.values()])
    path.write_text(f"{header}\n{cells}\n", encoding="utf-8")
    frame = read(path).parts
    return {name: None if isinstance(v, float) and math.isnan(v) else v for name, v in frame.iloc[0].items()}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("PT southern pine 4x4", {"species": "southern pine", "treatment_kind": "preservative", "thickness_mm": 88.9, "width_mm": 88.9, "nominal_size": "yes"}),
        ("3/4 A-C plywood", {"product": "plywood", "grade": "A-C", "thickness_mm": 19.05, "nominal_size": "no"}),
        ("western red cedar", {"species": "western redcedar", "treatment_kind": "none", "preservative": "none", "wood_part": "mixed"}),
        ("larch 100x100", {"thickness_mm": 100, "width_mm": 100, "nominal_size": "no"}),
        ("5/4x6 WRC", {"species": "western redcedar", "thickness_mm": 25.4, "width_mm": 139.7}),
        ("southern pine, CA-C 0.15 pcf", {"preservative": "CA-C", "retention_kg_m3": 2.403, "treatment_kind": "preservative"}),
        ("SYP 2x6 ACQ .40", {"species": "southern pine", "retention_kg_m3": 6.407, "width_mm": 139.7}),
        ("Scots pine NTR AB", {"species": "Scots pine", "treatment_mark": "UC3B", "treatment_kind": "preservative"}),
        ("doug fir 2x4 UC4A", {"species": "Douglas-fir", "treatment_mark": "UC4A", "thickness_mm": 38.1, "width_mm": 88.9}),
        ("redwood clear all heart", {"wood_part": "heart"}),
        ("white oak, quartersawn, KD", {"species": "white oak", "grain": "quarter", "moisture_word": "kiln-dried"}),
        ("thermally modified ash", {"treatment_kind": "thermally modified", "preservative": "none"}),
        ("1/2 CDX plywood", {"product": "plywood", "grade": "CDX", "thickness_mm": 12.7}),
        ("MDO", {"product": "plywood", "grade": "MDO"}),
        ("18 mm birch plywood", {"product": "plywood", "thickness_mm": 18}),
        ("galvanized steel", {"product": "metal"}),
        ("Quercus robur", {"species": "European oak"}),
        ("old creosoted railway sleeper", {"preservative": "creosote", "treatment_kind": "preservative"}),
    ],
)  # fmt: skip
def test_materials(tmp_path, text, expected):
    found = one_part(tmp_path, text)
    for name, value in expected.items():
        assert found[name] == (pytest.approx(value, abs=0.05) if isinstance(value, int | float) else value), name
    assert found["unlisted_count"] == 0, found["unlisted_words"]


def test_a_column_of_its_own_beats_the_material_and_the_difference_is_said(tmp_path):
    found = one_part(tmp_path, "western red cedar 2x4", species="white oak", thickness="1 3/4")
    assert (found["species"], found["thickness_mm"]) == ("white oak", 44.45)
    assert found["contradiction_count"] == 2
    assert "western redcedar" in found["contradictions"]


def test_a_word_on_no_list_is_kept_and_the_nearest_are_offered(tmp_path):
    found = one_part(tmp_path, "balcypres", exposure="wether")
    assert (found["species"], found["exposure"]) == (None, None)
    assert found["unlisted_count"] == 2
    assert "baldcypress" in found["unlisted_words"]
    assert "weather" in found["unlisted_words"]


def test_a_blank_a_none_and_an_unknown_are_three_things(tmp_path):
    blank, unknown = one_part(tmp_path, "oak", treatment="", exposure=""), one_part(tmp_path, "PT oak")
    assert blank["treatment_kind"] == "none"
    assert blank["exposure"] is None
    assert (unknown["treatment_kind"], unknown["preservative"], unknown["treatment_mark"]) == (
        "preservative",
        None,
        None,
    )


@pytest.mark.parametrize(
    ("text", "diameter", "length"),
    [
        ("#8 x 2-1/2", 4.17, 63.5),
        ("no 10 x 3", 4.83, 76.2),
        ("M8 x 100", 8, 100),
        ("3/8 x 6", 9.525, 152.4),
        ("10d common", 3.76, 76.2),
        ("5 x 80 mm", 5, 80),
        ("1/2", 12.7, None),
    ],
)
def test_fastener_sizes(text, diameter, length):
    found, _ = take_fastener_size(text, library(), IN)
    assert found["size_diameter_mm"] == pytest.approx(diameter, abs=0.03)
    assert found.get("size_length_mm") == (pytest.approx(length, abs=0.2) if length else None)


@pytest.mark.parametrize(
    "data",
    [
        b"part,material,width\npost,oak,90\n", b"\xef\xbb\xbfpart;material;width\r\npost;oak;90\r\n", "part\tmaterial\twidth\npost\toak\t90\n".encode("utf-16"),
        "Part Name,Wood,Width (mm)\npost,oak,90\n".encode("cp1252"), b"Garden gate,,\n,,\npart,material,width\npost,oak,90\n,,\nTOTAL,,90\n",
    ],
)  # fmt: skip
def test_files_in_the_shapes_that_shops_keep(tmp_path, data):
    path = tmp_path / "parts.csv"
    path.write_bytes(data)
    project = read(path, units="mm")
    assert list(project.parts["part"]) == ["post"]
    assert project.parts["width_mm"].iloc[0] == 90
    assert project.counts.given == project.counts.read + project.counts.set_aside


def workbook(tmp_path, rows, hidden_first=False):
    book = openpyxl.Workbook()
    sheet = book.active
    if hidden_first:
        sheet.append(["secret"])
        sheet.sheet_state = "hidden"
        sheet = book.create_sheet("list")
    for row in rows:
        sheet.append(row)
    path = tmp_path / "parts.xlsx"
    book.save(path)
    return path


def test_a_workbook_reads_its_first_visible_sheet(tmp_path):
    path = workbook(
        tmp_path, [["part", "material", "width"], ["post", "oak", 3.5], [None, None, None]], hidden_first=True
    )
    project = read(path, units="in")
    assert project.parts["width_mm"].iloc[0] == pytest.approx(88.9)


def test_a_fraction_that_became_a_date_is_refused_and_explained(tmp_path):
    path = workbook(tmp_path, [["part", "material", "thickness"], ["post", "oak", datetime.datetime(2026, 3, 4)]])
    with pytest.raises(InputError, match="date"):
        read(path)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\n\n",
        b"a,b\n1,2\n",
        b"part,width\npost,3\n",
        b"part,material,Wood\nx,oak,oak\n",
        b"\x00\x01\x02",
        b"PK\x03\x04 not a book",
    ],
)
@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_files_that_are_no_lists_are_refused_with_a_reason(tmp_path, data, suffix):
    path = tmp_path / f"parts.{suffix}"
    path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        read(path)
    assert str(caught.value).startswith(str(path))


def test_rows_in_the_project_file_keep_their_lines(tmp_path):
    path = tmp_path / "project.yaml"
    path.write_text("parts:\n  - {part: post, material: oak, width: 3}\n  - {part: rail, material: oak, width: wide}\n")
    with pytest.raises(InputError, match=":3: width"):
        read(path)
    path.write_text("parts:\n  - {part: post, material: oak, near: [pool, shade]}\n")
    assert read(path).parts["near"].iloc[0] == "pool + shade"


def test_a_joint_finds_its_parts_and_says_when_it_cannot(tmp_path):
    path = tmp_path / "project.yaml"
    parts = (
        "parts:\n  - {part: Post, material: oak}\n  - {part: rail, material: oak}\n  - {part: rail, material: pine}\n"
    )
    joints = "joints:\n  - {joint: a, part_a: post, part_b: RAIL}\n  - {joint: b, part_a: post, part_b: roof}\n"
    path.write_text(parts + joints)
    frame = read(path).joints
    assert list(frame["a_row"]) == [0, 0]
    assert list(frame["b_row"]) == [1, -1]
    assert list(frame["part_name_repeats"]) == ["yes", "no"]
    assert "roof" in frame["unlisted_words"].iloc[1]


@pytest.mark.parametrize("call", [{"scheme": "eu"}, {"units": "mm"}, {"site": "51.5,-0.1"}, {}])
@pytest.mark.parametrize("said", ["scheme: us", "site: Madison, WI"])
def test_no_call_changes_what_the_bare_numbers_of_a_project_mean(tmp_path, said, call):
    path = tmp_path / "project.yaml"
    path.write_text(f"{said}\nparts:\n  - {{part: post, material: oak, width: 4}}\n")
    assert read(path, **call).parts["width_mm"].iloc[0] == pytest.approx(101.6)


@pytest.mark.parametrize("text", ["penta, brush", "penta brushed on", "brushed on penta", "creosote, brushed"])
def test_a_brush_coat_is_no_pressure_treatment_whatever_the_preservative(tmp_path, text):
    found = one_part(tmp_path, "southern pine", treatment=text)
    assert found["treated_how"] == "brush"


def one_joint(tmp_path, fastener, **columns):
    """Facts of one joint between two boards, the fastener written as given."""
    names = ["joint", "part_a", "part_b", "method", "fastener", *columns]
    cells = ["j", "a", "b", "screws", fastener, *columns.values()]
    (tmp_path / "joints.csv").write_text("\n".join(",".join(row) for row in (names, cells)), encoding="utf-8")
    (tmp_path / "parts.csv").write_text(
        "part,material,thickness\na,white oak,1 in\nb,white oak,2 in\n", encoding="utf-8"
    )
    (tmp_path / "p.yaml").write_text("scheme: us\nparts: parts.csv\njoints: joints.csv\n", encoding="utf-8")
    return derive(read(tmp_path / "p.yaml")).joints.iloc[0]


@pytest.mark.parametrize(
    ("fastener", "size", "shank_mm"),
    [
        ("nails", "8d", 3.33),  # 0.131 in, common nail: Wood Handbook table 8-1 (memory)
        ("common nails", "8d", 3.33),
        ("16d nails", "", 4.11),  # 0.162 in
        ("ring-shank nails", "8d", 2.87),  # 0.113 in, the wire of the box nail (secondary)
        ("8d ring-shank nails", "", 2.87),
        ("finish nails", "8d", 2.50),  # 12 1/2 gauge (secondary)
    ],
)
def test_a_bare_penny_size_has_the_shank_of_its_kind_of_nail(tmp_path, fastener, size, shank_mm):
    assert one_joint(tmp_path, fastener, size=size)["size_diameter_mm"] == pytest.approx(shank_mm, abs=0.01)


@pytest.mark.parametrize(
    ("fastener", "coating", "doubt"),
    [
        ("wood screws", "galvanized", "fastener"),
        ("galvanised wood screws", "", "fastener"),
        ("wood screws", "hot-dip galvanized", "none"),
        ("galvanized screws", "hot dip", "none"),
        ("wood screws", "zinc plated", "none"),
        ("wood screws", "", "none"),
    ],
)
def test_galvanized_alone_leaves_the_zinc_in_doubt(tmp_path, fastener, coating, doubt):
    assert one_joint(tmp_path, fastener, coating=coating)["zinc_in_doubt"] == doubt


def test_metals_are_told_with_their_coat(tmp_path):
    joint = one_joint(tmp_path, "steel wood screws", coating="none", hardware="hot-dip galvanized steel hinge")
    assert joint["fastener_surface"] == "bare steel"
    assert joint["hardware_surface"] == "hot-dip galvanized steel, 43 µm of zinc"
    assert one_joint(tmp_path, "stainless 304 screws")["fastener_surface"] == "stainless 304"


def test_how_far_a_point_comes_out_is_length_less_both_members(tmp_path):
    joint = one_joint(tmp_path, "wood screws", size="#10 x 4")
    assert joint["comes_out_mm"] == pytest.approx(4 * 25.4 - 3 * 25.4)


@pytest.mark.parametrize(
    ("scheme", "said"),
    [("us", 'thickness says 5/8", the material says 3/4"'), ("eu", "says 16 mm, the material says 19 mm")],
)
def test_sizes_that_disagree_are_told_in_the_project_units(tmp_path, scheme, said):
    (tmp_path / "p.yaml").write_text(
        f'scheme: {scheme}\nparts:\n  - {{part: a, material: "3/4 in plywood", thickness: "5/8 in"}}\n',
        encoding="utf-8",
    )
    assert said in read(tmp_path / "p.yaml").parts["contradictions"][0]
