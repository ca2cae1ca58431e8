"""The formats of a sheet, read back by readers of others: pypdf, openpyxl, html5lib, the parsers of the standard library."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
import unicodedata
import zipfile
from datetime import UTC, date, datetime
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import html5lib
import openpyxl
import pytest
from pypdf import PdfReader

from gatepost import road
from gatepost.deriving.board_year import board_year
from gatepost.library import library
from gatepost.planning import bench
from gatepost.project import Climate
from gatepost.reading import find_site
from gatepost.writing import html, markdown, moisture_picture, pdf, spec, terminal, xlsx
from gatepost.writing.blocks import Bullets, Document, Entry, Figure, Heading, Measured, Paragraph, Table
from gatepost.writing.plain import plain

ROOT = Path(__file__).resolve().parents[1]
FAULTY = ROOT / "data" / "demo" / "faulty" / "project.yaml"
EU = ROOT / "tests" / "projects"
DAY = date(2026, 5, 1)
SUFFIXES = (".html", ".pdf", ".xlsx", ".md", ".json")
XHTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = (
    "<img src=x onerror=alert(1)>",
    "</table></svg><script>alert(1)</script>",
    "&amp; &#39; \"quoted\" 'single'",
    '=HYPERLINK("x","y")',
    "=1+1",
    "+1",
    "-2+3",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "bell\x07 null\x00 escape\x1b[31m c1\x9b",
    "W" * 5000,
    "long-" * 900,
    "שער העץ",
    "بوابة",
    "turned \u202e over",
    "🦊 fox 👩‍🌾 🪵",
    "漢字",
    "lone \ud800 half",
    "not \ufffe a sign",
    "lines\u2028apart\u2029here\nand there",
    "größe ő š ž ł ½ ⅝ µ ° × – — ″",
    "{{nb}} {nb} %s {0} $x^2$ \\alpha",
    "**bold** _it_ [a](http://b) |pipe| `code`",
)


@pytest.fixture(scope="module")
def reviewed():
    return road.judge(road.derive(road.read(FAULTY)))


@pytest.fixture(scope="module")
def made(reviewed):
    return bench(reviewed)


@pytest.fixture(scope="module")
def sheet(made):
    return spec.document(made, "in", DAY)


def pages_of(document):
    return PdfReader(io.BytesIO(pdf.render(document)))


def bare(text):
    return re.sub(r"\s", "", text)


def text_of(reader):
    return "".join(page.extract_text() for page in reader.pages)


def book_of(document):
    return openpyxl.load_workbook(io.BytesIO(xlsx.render(document)))


def texts(blocks):
    """Every text of the blocks of a JSON document."""
    for block in blocks:
        for name in ("text", "title", "caption", "description"):
            if block[name]:
                yield block[name]
        yield from block["header"] or []
        for row in (block["rows"] or []) + (block["lines"] or []):
            yield from row
        yield from block["items"] or []


def outlined(reader):
    """Level and title of each bookmark."""

    def walk(items, level):
        for item in items:
            if isinstance(item, list):
                yield from walk(item, level + 1)
            else:
                yield level, item.title, reader.get_destination_page_number(item)

    return list(walk(reader.outline, 2))


# The whole sheet in every format


def test_every_text_and_number_of_the_json_stands_in_each_format(made, sheet):
    blocks = json.loads(spec.as_data(made, "in", DAY).model_dump_json())["blocks"]
    said = [text for text in texts(blocks) if text.strip()]
    numbers = {number for text in said for number in re.findall(r"\d+(?:[.,/-]\d+)*", text)}
    assert len(said) > 1000
    assert len(numbers) > 150
    page = "".join(html5lib.parse(html.render(sheet)).itertext())
    plain_markdown = re.sub(r"\\(.)", r"\1", markdown.render(sheet))
    for name, whole in (("html", page), ("md", plain_markdown), ("terminal", terminal.render(sheet, 5000))):
        held = bare(whole)
        assert [text for text in said if bare(text) not in held] == [], name
    foot = re.compile(re.escape(bare(sheet.title)) + r"page\d+of\d+$")
    printed = "".join(foot.sub("", bare(page.extract_text())) for page in pages_of(sheet).pages)
    figures = {text for block in blocks if block["kind"] == "figure" for text in [block["description"]]}
    assert [text for text in said if text not in figures and bare(text) not in printed] == []
    cells = [
        cell.value for page in book_of(sheet) for row in page.iter_rows() for cell in row if cell.value is not None
    ]
    held = " ".join(str(cell) for cell in cells)
    measured = {Fraction(cell).limit_denominator(1000) for cell in cells if isinstance(cell, int | float)}
    assert [number for number in numbers if number not in held and inches(number) not in measured] == []


def inches(number):
    """1-3/4 as the number it means; the way of the test, not of the sheet."""
    whole, _, rest = number.rpartition("-") if "/" in number else (number, "", "0")
    try:
        return Fraction(whole or "0") + Fraction(rest)
    except ValueError:
        return None


WRITE_ALL = """
import sys
from datetime import date
from pathlib import Path
from gatepost import road
from gatepost.planning import bench
from gatepost.writing import save
made = bench(road.judge(road.derive(road.read(Path(sys.argv[1])))))
for suffix in sys.argv[3:]:
    save.write(made, Path(sys.argv[2] + suffix), "in", date(2026, 5, 1))
"""


def test_equal_input_gives_equal_bytes_in_two_processes(tmp_path):
    for seed, name in (("1", "a"), ("2", "b")):
        told = {**os.environ, "PYTHONHASHSEED": seed, "TZ": f"UTC{seed}"}
        call = [sys.executable, "-W", "error", "-c", WRITE_ALL, str(FAULTY), name, *SUFFIXES]
        done = subprocess.run(call, cwd=tmp_path, capture_output=True, text=True, check=False, env=told)
        assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    for suffix in SUFFIXES:
        assert (tmp_path / f"a{suffix}").read_bytes() == (tmp_path / f"b{suffix}").read_bytes(), suffix
    assert len(list(tmp_path.iterdir())) == 2 * len(SUFFIXES)


# PDF


def test_the_pdf_has_title_day_paper_language_page_numbers_and_bookmarks(sheet):
    reader = pages_of(sheet)
    assert reader.metadata.title == sheet.title
    assert reader.metadata.creation_date == datetime(2026, 5, 1, tzinfo=UTC)
    assert reader.trailer["/Root"]["/Lang"] == "en"
    headings = [(block.level, block.text) for block in sheet.blocks if isinstance(block, Heading)]
    marks = outlined(reader)
    assert [mark[:2] for mark in marks] == headings
    for _, title, number in marks:
        assert bare(title) in bare(reader.pages[number].extract_text())
    for number, page in enumerate(reader.pages, 1):
        assert f"page {number} of {len(reader.pages)}" in page.extract_text()
        assert (round(float(page.mediabox.width)), round(float(page.mediabox.height))) == (612, 792)
    sheet_eu = Document("t", paper="A4").add(Paragraph("x"))
    box = pages_of(sheet_eu).pages[0].mediabox
    assert (round(float(box.width)), round(float(box.height))) == (595, 842)


def test_the_paper_goes_by_the_scheme(tmp_path):
    (tmp_path / "parts.csv").write_text("part,material,exposure,width\npost,oak,weather,90 mm\n")
    for scheme, paper in (("eu", "A4"), ("us", "Letter")):
        (tmp_path / "project.yaml").write_text(f"name: fence\nscheme: {scheme}\nparts: parts.csv\n")
        made = road.judge(road.derive(road.read(tmp_path / "project.yaml")))
        assert spec.document(bench(made), "mm", DAY).paper == paper


def test_every_font_of_the_pdf_is_embedded(sheet):
    fonts = {}
    for page in pages_of(sheet).pages:
        for font in page["/Resources"]["/Font"].values():
            told = font.get_object()
            fonts[told["/BaseFont"]] = told["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
            assert "/ToUnicode" in told
    assert len(fonts) == 3
    assert all("/FontFile2" in descriptor for descriptor in fonts.values())


FOOT_PT = 16 / 25.4 * 72
"""What the foot of a page takes: 16 mm."""


def lowest(page):
    """Height of the lowest text above the paper's edge, the running foot left out [pt]."""
    places = []

    def visit(text, cm, tm, font, size):
        if text.strip() and not re.search(r"Rows|page \d+ of", text):
            places.append(tm[5])

    page.extract_text(visitor_text=visit)
    return min(places)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_rows_are_not_cut_and_the_header_stands_on_each_page(paper):
    rows = [[f"first{i}.", "words " * (i % 40), f"last{i}."] for i in range(150)]
    document = Document("Rows", paper=paper).add(Heading("List"), Table(["name of it", "text", "end"], rows))
    reader = pages_of(document)
    assert all(lowest(page) > FOOT_PT for page in reader.pages)
    pages = [bare(page.extract_text()) for page in reader.pages]
    assert len(pages) > 3
    assert all("nameofit" in page for page in pages)
    for i in range(150):
        assert [f"first{i}." in page for page in pages] == [f"last{i}." in page for page in pages], i
        assert sum(f"first{i}." in page for page in pages) == 1


def test_a_row_taller_than_a_page_is_carried_on_and_loses_nothing():
    words = " ".join(f"w{i}" for i in range(9000))
    document = Document("Tall").add(Table(["a", "b"], [["before", ""], ["x", words], ["after", ""]]))
    reader = pages_of(document)
    assert len(reader.pages) > 2
    found = re.findall(r"w\d+", text_of(reader))
    assert found == words.split()


def test_a_heading_stands_on_the_page_of_what_it_heads():
    for fill in range(36, 46):
        document = Document("Headings").add(
            *(Paragraph(f"line {i}") for i in range(fill)), Heading("Here"), Table(["aa", "bb"], [["one", "two"]] * 3)
        )
        pages = [page.extract_text() for page in pages_of(document).pages]
        first = [next(i for i, page in enumerate(pages) if word in page) for word in ("Here", "aa", "one")]
        assert len(set(first)) == 1, fill


def test_what_the_fonts_lack_is_a_box_and_is_said():
    text = text_of(pages_of(Document("t").add(Paragraph("fox 🦊 end"))))
    assert "fox □ end" in text
    assert "stands for a sign that the fonts of this file lack" in text
    assert "□" not in text_of(pages_of(Document("t").add(Paragraph("½ ⅝ µ ° × – — ″ ² ³ őšžłßČ € ≥ αβ Жж"))))


# XLSX


def test_lists_are_sheets_with_typed_cells_filters_and_print_set_up(sheet):
    book = book_of(sheet)
    assert book.properties.created == book.properties.modified == datetime(2026, 5, 1)
    headings = [block.text for block in sheet.blocks if isinstance(block, Heading) and block.level == 2]
    assert [name for name in headings if name not in book.sheetnames] == []
    parts = book["Parts"]
    assert [cell.value for cell in parts[1]][:6] == [
        "part",
        "qty",
        "material",
        "thickness [in]",
        "width [in]",
        "length [in]",
    ]
    assert [cell.value for cell in parts[2]][3:6] == [5.5, 5.5, 108]
    assert parts["D2"].number_format == "# ??/??"
    table = next(block for block in sheet.blocks if isinstance(block, Table) and block.header[:2] == ["part", "qty"])
    assert [parts.cell(row, 2).value for row in range(2, len(table.rows) + 2)] == [int(row[1]) for row in table.rows]
    for page in book:
        assert page.page_setup.fitToWidth == 1
        assert page.page_setup.fitToHeight == 0
        assert page.sheet_properties.pageSetUpPr.fitToPage
        assert page.page_setup.paperSize == "1" or int(page.page_setup.paperSize) == 1
        if page.title != "Sheet":
            assert page.freeze_panes in ("B2", "A2")
            assert page.print_title_rows == "$1:$1"
            assert page.page_setup.orientation == "landscape"
            assert re.fullmatch(r"A1:[A-Z]+\d+", page.auto_filter.ref)


def test_findings_stand_in_the_sheet_of_their_heading_and_what_is_not_known_in_its_own(sheet):
    book = book_of(sheet)
    assert [cell.value for cell in book["Findings still open"][1]][:3] == ["group", "of", "finding"]
    assert [cell.value for cell in book["Not known"][1]] == ["not known", "to do", "rules that wait for it"]


def test_measured_columns_are_numbers_and_fall_back_to_their_text():
    table = Table(["part", "wide"], [["a", "12 mm"], ["b", "under 1 mm"]], measured={1: Measured("mm", [12.0, None])})
    page = book_of(Document("t").add(Heading("List"), table))["List"]
    assert [[cell.value for cell in row] for row in page] == [["part", "wide [mm]"], ["a", 12], ["b", "under 1 mm"]]


def test_sizes_in_a_workbook_are_numbers_in_steps_of_the_bench_and_lists_fit_their_paper(made):
    for units, steps in (("in", (16, 64)), ("mm", (2, 2))):
        book = book_of(spec.document(made, units, DAY))
        typed = {}
        for page in book:
            heads = {cell.column: str(cell.value) for cell in page[1]}
            for row in page.iter_rows(min_row=2):
                for cell in row:
                    if f"[{units}]" in heads.get(cell.column, "") and isinstance(cell.value, int | float):
                        step = steps["pilot" in heads[cell.column] or "clearance" in heads[cell.column]]
                        assert (cell.value * step) % 1 == 0, (page.title, cell.coordinate, cell.value)
                        typed.setdefault(page.title, []).append(cell.value)
            if page.title != "Sheet":
                wide = sum(page.column_dimensions[cell.column_letter].width for cell in page[1])
                assert wide <= 190, page.title
        assert {"Parts", "Movement across the width", "How to set them"} <= set(typed)
        assert sum(map(len, typed.values())) > 200


def test_numbers_that_name_a_row_and_odd_numbers_stay_text():
    rows = [["12", "12", "007", "1e5", "1/2"], ["nan", "-3.5", "inf", "1,5", "9" * 30]]
    page = book_of(Document("t").add(Table(["a", "b", "c", "d", "e"], rows)))["Sheet"]
    assert [cell.value for cell in page[2]] == ["12", 12, "007", "1e5", "1/2"]
    assert [cell.value for cell in page[3]] == ["nan", -3.5, "inf", "1,5", "9" * 30]


def test_titles_of_sheets_are_short_unlike_and_free_of_forbidden_signs():
    names = ["a/b:c*d?e[f]g\\h'", "x" * 80, "X" * 80, "''", "History"]
    document = Document("t")
    for name in names:
        document.add(Heading(name), Table(["a"], [["b"]]))
    titles = book_of(document).sheetnames
    assert len({title.lower() for title in titles}) == len(names) + 1
    assert all(0 < len(title) <= 31 and not set(title) & set("[]:*?/\\'") for title in titles)


def test_the_head_of_a_printed_page_holds_a_long_title_and_its_signs():
    for title in ("A & B &P", "&" * 900, "12 posts"):
        page = book_of(Document(title).add(Paragraph("x")))["Sheet"]
        assert len(str(page.oddHeader.left.text)) < 255
        assert page.oddHeader.left.text.replace("&&", "&").startswith(title[:90])


def test_a_workbook_is_a_zip_with_one_day():
    for day, year in ((DAY, 2026), (None, 1980)):
        with zipfile.ZipFile(io.BytesIO(xlsx.render(Document("t", day=day).add(Paragraph("x"))))) as file:
            assert {entry.date_time[0] for entry in file.infolist()} == {year}
            assert file.testzip() is None


# HTML


def whole(document):
    """The page as html5lib reads it; strict: any error of the syntax is raised."""
    return html5lib.HTMLParser(strict=True).parse(html.render(document))


def test_the_page_is_valid_and_can_be_read_without_seeing_it(sheet):
    root = whole(sheet)
    assert root.get("lang") == "en"
    tables = list(root.iter(f"{XHTML}table"))
    assert tables
    for table in tables:
        heads = list(table.find(f"{XHTML}thead").iter(f"{XHTML}th"))
        assert all(head.get("scope") == "col" and head.text.strip() for head in heads)
        for row in table.find(f"{XHTML}tbody"):
            assert row[0].tag == f"{XHTML}th"
            assert row[0].get("scope") == "row"
            assert len(row) == len(table.find(f"{XHTML}thead")[0])
    levels = [int(one.tag[-1]) for one in root.iter() if re.fullmatch(r"h[1-6]", str(one.tag).split("}")[-1])]
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))
    names = [one.get("id") for one in root.iter() if one.get("id")]
    assert len(names) == len(set(names))
    drawings = list(root.iter(f"{SVG}svg"))
    assert drawings
    for drawing in drawings:
        assert drawing.get("role") == "img"
        title, said = drawing[0], drawing[1]
        assert (title.tag, said.tag) == (f"{SVG}title", f"{SVG}desc")
        assert drawing.get("aria-labelledby") == title.get("id")
        assert drawing.get("aria-describedby") == said.get("id")
        assert title.text
        assert said.text
    assert not {one.tag.split("}")[-1] for one in root.iter() if isinstance(one.tag, str)} & {
        "script",
        "link",
        "iframe",
        "img",
        "object",
    }
    outside = [
        value
        for one in root.iter()
        for value in one.attrib.values()
        if re.search(r"(https?:)?//(?!www\.w3\.org/)", value)
    ]
    assert outside == []
    assert "@import" not in html.STYLE
    assert "url(" not in html.STYLE


def test_names_within_drawings_are_each_drawings_own(reviewed):
    year = board_year(reviewed.facts.project.climate, library())
    drawing = moisture_picture.figure(year, "mm")
    root = whole(Document("t").add(drawing, drawing))
    names = [one.get("id") for one in root.iter() if one.get("id")]
    assert len(names) == len(set(names)) > 20
    asked = [value for one in root.iter() for value in one.attrib.values() for value in re.findall(r"#([\w-]+)", value)]
    asked = [name for name in asked if not re.fullmatch(r"[0-9a-fA-F]{6}", name)]
    assert asked
    assert set(asked) <= set(names)


def luminance(colour):
    """Relative luminance of WCAG 2.1, 1.4.3 (status memory)."""
    digits = colour.lstrip("#")
    digits = "".join(2 * one for one in digits) if len(digits) == 3 else digits
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def test_text_stands_out_from_what_is_behind_it():
    inks = re.findall(r"[^-]color: (#\w+)", html.STYLE)
    papers = re.findall(r"background: (#\w+)", html.STYLE)
    assert inks
    assert papers
    for ink in inks:
        for paper in papers:
            dark, light = sorted((luminance(ink), luminance(paper)))
            assert (light + 0.05) / (dark + 0.05) >= 4.5, (ink, paper)


def test_rows_and_headings_are_kept_whole_in_print():
    assert re.search(r"tr, \.entry, figure \{ break-inside: avoid", html.STYLE)
    assert re.search(r"thead \{ display: table-header-group", html.STYLE)


# The drawing


def test_the_drawing_shows_what_the_model_says_of_the_board():
    climate = find_site({"place": "Madison, WI"}, library()).climate
    year = board_year(climate, library())
    assert (year.low <= year.sheltered).all()
    assert (year.sheltered <= year.rained_on).all()
    assert (year.rained_on <= year.high).all()
    drawing = moisture_picture.figure(year, "mm")
    shown = ["".join(one.itertext()).strip() for one in ElementTree.fromstring(drawing.svg).iter(f"{SVG}text")]
    for name in ("Jan", "Dec", "Moisture content [%]", "sheltered", "in the rain"):
        assert name in shown
    for value in (*year.sheltered, *year.rained_on):
        assert f"{value:.0f}" in shown
        assert f"{value:.0f} %" in drawing.description
    colours = set(re.findall(r"#([0-9a-f]{6})\b", drawing.svg))
    assert colours
    assert all(one[:2] == one[2:4] == one[4:] for one in colours)


def test_sheltered_wood_lies_where_the_handbook_has_it():
    """Outdoor wood under cover: Wood Handbook FPL-GTR-282, table 13-1, gives Madison 13 to 15 % by month (status memory); the board is allowed 2 points, and its winter, where the air is below freezing, is not asked."""
    year = board_year(find_site({"place": "Madison, WI"}, library()).climate, library())
    assert ((year.sheltered[2:11] > 10.5) & (year.sheltered[2:11] < 17)).all()


def test_no_drawing_without_a_climate():
    assert moisture_picture.figure(board_year(Climate.unknown(), library()), "in") is None


def test_a_drawing_with_words_of_its_own_is_described_once_and_set_in_embedded_type():
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 90 20" role="img" aria-labelledby="a b" font-family="serif">'
        '<title id="a">Own</title><desc id="b">own words</desc><text x="5" y="15">ő &amp; 🦊</text></svg>'
    )
    document = Document("t").add(Figure(svg, "Title of it", "what it shows"))
    root = whole(document)
    drawing = next(root.iter(f"{SVG}svg"))
    assert [one.text for one in drawing[:2]] == ["Title of it", "what it shows own words"]
    assert "Own" not in "".join(drawing.itertext())
    reader = pages_of(document)
    assert "ő & □" in text_of(reader)
    assert "stands for a sign" in text_of(reader)
    fonts = reader.pages[0]["/Resources"]["/Font"].values()
    assert all("DejaVuSans" in font.get_object()["/BaseFont"] for font in fonts)


def test_a_drawing_is_words_where_it_cannot_be_shown():
    drawing = Figure('<svg viewBox="0 0 10 5"></svg>', "Title of it", "what it shows")
    document = Document("t").add(Heading("List"), drawing)
    for shown in (markdown.render(document), terminal.render(document)):
        assert "Title of it: what it shows" in shown
    assert book_of(document)["List"]["A1"].value == "Title of it: what it shows"
    reader = pages_of(document)
    assert "Title of it" in text_of(reader)
    assert "what it shows" in alternatives(reader.trailer["/Root"]["/StructTreeRoot"])


def alternatives(node):
    """The alternative texts of a PDF's structure."""
    node = node.get_object()
    here = [str(node["/Alt"])] if "/Alt" in node else []
    below = node.get("/K", [])
    below = below if isinstance(below, list) else [below]
    return here + [text for one in below if hasattr(one.get_object(), "get") for text in alternatives(one)]


# Hostile texts


def hostile():
    """Every odd text in every place of a document."""
    document = Document(HOSTILE[0], HOSTILE[1], day=DAY)
    for text in HOSTILE:
        entry = Entry(text, text, [(text[:40], text), ("To do", text)], [text])
        table = Table([text[:60], "b"], [[text, text], [text, "1"]], right=(1,), caption=text)
        document.add(
            Heading(text),
            Paragraph(text),
            Bullets([text]),
            table,
            entry,
            Figure('<svg viewBox="0 0 10 1"></svg>', text, text),
        )
    return document


def test_hostile_texts_are_text_in_html():
    root = whole(hostile())
    said = bare("".join(root.itertext()))
    assert [text for text in HOSTILE if bare(plain(text)) not in said] == []
    allowed = {"html", "head", "meta", "title", "style", "body", "main", "h1", "h2", "p", "ul", "li", "div", "table", "caption", "thead", "tbody", "tr", "th", "td", "strong", "dl", "dt", "dd", "figure", "figcaption", "svg", "desc", "wbr", "nav", "a"}  # fmt: skip
    assert {one.tag.split("}")[-1] for one in root.iter() if isinstance(one.tag, str)} <= allowed


def test_hostile_texts_are_text_in_a_workbook():
    book = book_of(hostile())
    cells = [cell for page in book for row in page.iter_rows() for cell in row if cell.value is not None]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    assert [cell.value for cell in cells if cell.data_type == "n" and cell.value != 1] == []
    held = bare("".join(str(cell.value) for cell in cells))
    assert [text for text in HOSTILE if bare(plain(text)) not in held] == []
    steering = [cell for cell in cells if str(cell.value).startswith(("=", "+", "-", "@"))]
    assert len(steering) > 30
    assert all(cell.quotePrefix for cell in steering)
    with zipfile.ZipFile(io.BytesIO(xlsx.render(hostile()))) as file:
        for name in file.namelist():
            assert b"<f>" not in file.read(name)
            if name.endswith(".xml"):
                ElementTree.fromstring(file.read(name))


def test_a_cell_too_long_for_a_workbook_says_that_it_is_cut():
    page = book_of(Document("t").add(Table(["a"], [["x" * 40_000]])))["Sheet"]
    assert page["A2"].value.endswith("the other formats hold it whole)")
    assert len(page["A2"].value) <= 32_767


def test_hostile_texts_do_not_stop_a_pdf():
    reader = pages_of(hostile())
    assert reader.metadata.title == plain(HOSTILE[0])
    text = bare(text_of(reader))
    left_to_right = [text for text in HOSTILE if not re.search("[\u0590-\u06ff\U00010000-\U0010ffff漢]", text)]
    assert [one for one in left_to_right if bare(plain(one)) not in text] == []
    assert not re.search(r"[\x00-\x1f\x7f-\x9f]", text)
    wide = {float(page.mediabox.width) for page in reader.pages}
    for page in reader.pages:
        places = []
        page.extract_text(visitor_text=lambda text, cm, tm, font, size, places=places: places.append(tm[4]))
        assert all(0 <= place < min(wide) for place in places)


def steering(text):
    """The signs of a text that could order a terminal or a reader about."""
    return {sign for sign in text if sign != "\n" and unicodedata.category(sign) in ("Cc", "Cs", "Zl", "Zp")} | (
        set(text) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
    )


def test_hostile_texts_are_text_in_markdown_and_on_a_terminal():
    assert len({sign for text in HOSTILE for sign in steering(text)}) > 8
    made = markdown.render(hostile())
    for rows in (block.splitlines() for block in made.split("\n\n") if block.startswith("|")):
        assert len({len(re.findall(r"(?<!\\)\|", row)) for row in rows}) == 1
    for text in (made, terminal.render(hostile(), 80)):
        assert steering(text) == set()
        text.encode()


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_hostile_names_of_parts_reach_each_file(tmp_path, suffix):
    names = [text for text in HOSTILE if text.strip().isprintable() and len(text) < 100]
    quoted = ['"' + name.replace('"', '""') + '"' for name in names]
    (tmp_path / "parts.csv").write_text(
        "part,material,exposure,thickness,width\n" + "".join(f"{name},oak,weather,20 mm,90 mm\n" for name in quoted),
        encoding="utf-8",
    )
    (tmp_path / "project.yaml").write_text('name: "=1+1 <b>"\nsite: Madison, WI\nparts: parts.csv\n')
    made = road.judge(road.derive(road.read(tmp_path / "project.yaml")))
    path = tmp_path / f"sheet{suffix}"
    road.write(made, path, "mm", DAY)
    assert path.stat().st_size > 2000
    if suffix == ".xlsx":
        page = openpyxl.load_workbook(path)["Parts"]
        assert [bare(str(page.cell(row + 2, 1).value)) for row in range(len(names))] == [bare(name) for name in names]
