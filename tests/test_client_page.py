"""The client's page: one sheet of paper, plain words, and no number that the JSON does not hold; read back by readers of others."""

from __future__ import annotations

import csv
import io
import json
import math
import os
import re
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Literal

import html5lib
import pytest
import textstat
import yaml
from pypdf import PdfReader

from calling import run
from gatepost import road
from gatepost.choosing.client_words import TOPICS, said_of, sayings
from gatepost.choosing.teach import compare
from gatepost.judging import load_rules
from gatepost.library import library
from gatepost.writing import client_page, html, pdf, teach_sheet
from gatepost.writing.blocks import Bullets, Entry, Figure, Table
from test_commands import DEMO
from test_formats import HOSTILE, SVG, XHTML, bare

ROOT = Path(__file__).resolve().parents[1]
PROJECTS = ROOT / "tests" / "projects"
FAULTY, SOUND = (Path(DEMO) / name / "project.yaml" for name in ("faulty", "sound"))
DAY = date(2026, 5, 1)
KNOWN = library()
GRADE = 8
PAPERS: dict[Literal["A4", "Letter"], tuple[int, int]] = {"A4": (595, 842), "Letter": (612, 792)}
# project, part, choices, prices (None: none)
CASES = [
    (FAULTY, "gate board", ["black locust heartwood"]),
    (FAULTY, "board post", ["black locust heartwood", "PT southern pine UC4B"]),
    (FAULTY, "gate stile", ["western red cedar heartwood"]),
    (SOUND, "bench seat", ["white oak", "southern pine PT UC4A"]),
    (SOUND, "pin board", ["3/4 A-C plywood"]),
    (SOUND, "gate hinge", ["galvanized steel"]),
    (PROJECTS / "terrace_faulty_eu" / "project.yaml", "terrace board", ["robinia heartwood", "thermally modified Scots pine"]),
    (PROJECTS / "garden_bridge_eu" / "project.yaml", 0, ["acetylated radiata pine", "Scots pine treated NTR AB"]),
    (PROJECTS / "fence_eu" / "project.yaml", 1, ["European oak heartwood"]),
    (PROJECTS / "garden_deck_us" / "project.yaml", 2, ["ipe heartwood", "redwood heartwood"]),
    (PROJECTS / "planter_without_site" / "project.yaml", 0, ["eastern white pine"]),
]  # fmt: skip
JARGON = (
    "retention", "use class", "use category", "durability class", "EMC", "moisture content", "service life", "envelope",
    "equilibrium", "dose", "substrate", "leach", "amortis", "amortiz", "net present", "discount", "likelihood", "UC4", "EN 350",
)  # fmt: skip


def taught(path, part, against, units="in", interest=0.0):
    project = road.read(path)
    name = part if isinstance(part, str) else str(project.parts["part"].iloc[part])
    made = compare(project, name, against, list(load_rules(KNOWN)), KNOWN, interest)
    return teach_sheet.comparison_out(made, units)


@pytest.fixture(scope="module", params=CASES, ids=lambda case: f"{case[0].parent.name}-{case[1]}")
def out(request):
    return taught(*request.param)


@pytest.fixture(scope="module")
def pages(out):
    """The page on each paper."""
    return {paper: client_page.document(out, DAY, paper) for paper in PAPERS}


@pytest.fixture(scope="module")
def page(pages):
    return pages["A4"]


def pages_of(document):
    return PdfReader(io.BytesIO(pdf.render(document)))


def whole(document):
    return html5lib.HTMLParser(strict=True).parse(html.render(document))


def prose(document):
    """The sentences of the page: what is printed, without the names of the choices and of the rows."""
    for block in document.blocks:
        if isinstance(block, Entry):
            yield block.text
        elif isinstance(block, Bullets):
            yield from block.items
        elif isinstance(block, Figure):
            yield block.title
        elif isinstance(block, Table):
            yield from (f"{cell.rstrip('.')}." for row in block.rows for cell in row[1:])


@pytest.mark.parametrize("paper", PAPERS)
def test_it_is_one_page_of_its_paper(pages, paper):
    reader = pages_of(pages[paper])
    assert len(reader.pages) == 1
    box = reader.pages[0].mediabox
    assert (round(float(box.width)), round(float(box.height))) == PAPERS[paper]
    text = bare(reader.pages[0].extract_text())
    for said in prose(pages[paper]):
        assert bare(said).rstrip(".") in text


def test_the_page_of_a_browser_is_set_no_larger_than_the_pdf_that_fits(out, pages):
    """A browser's print has no size to try: with three choices its type is no larger than that of the PDF, which fits on the shorter paper; its margins are narrower. (Browsers' own prints were looked at by hand.)"""
    document = pages["Letter"]
    style = html.render(document).split("</style>")[0]
    size = float(re.findall(r"body { font-size: ([\d.]+)pt", style)[-1])
    assert size == (8 if out.third else 8.7)
    assert re.findall(r"@page { margin: ([\d.]+)mm", style)[-1] == "11"
    assert pdf._made(document, 0.88 if out.third else 1.0)[1] == 1


def test_it_reads_at_grade_8_or_lower(page):
    """Grade by the automated readability index (Senter and Smith 1967), as a library of others counts it."""
    texts = list(prose(page))
    assert len(" ".join(texts).split()) > 100
    assert textstat.automated_readability_index(" ".join(texts)) <= GRADE
    long = [text for text in texts if len(text.split()) > 6]
    assert [text for text in long if textstat.automated_readability_index(text) > GRADE + 2] == []
    assert [word for word in JARGON for text in texts if word.lower() in text.lower()] == []


def numbers_of(value):
    """Every number of the JSON, as it may be printed: whole, plain, or with cents."""
    if isinstance(value, dict):
        return set().union(*map(numbers_of, value.values()), set())
    if isinstance(value, list):
        return set().union(*map(numbers_of, value), set())
    if isinstance(value, bool) or value is None:
        return set()
    if isinstance(value, int | float):
        return {f"{value:.0f}", f"{value:g}", f"{value:.2f}", str(math.floor(value))}
    return set(re.findall(r"\d+(?:[./-]\d+)*", value))


def test_every_number_of_the_page_stands_in_the_json(out, page):
    held = numbers_of(json.loads(out.model_dump_json()))
    root = whole(page)
    for name in ("xtick_", "ytick_"):  # the scale of the drawings
        parents = {child: parent for parent in root.iter() for child in parent}
        for one in [one for one in root.iter() if re.search(rf"-{name}\d+$", one.get("id") or "")]:
            parents[one].remove(one)
    body = root.find(f"{XHTML}body")
    words = [text for one in body.iter() if one.tag != f"{XHTML}style" for text in (one.text, one.tail) if text]
    said = " ".join(words).replace(DAY.isoformat(), "").replace("gatepost 0.", "gatepost ")
    shown = re.findall(r"\d+(?:[./-]\d+)*", re.sub(r"gatepost [\d.]+", "", said))
    assert len(shown) > 5
    assert [number for number in shown if number not in held] == []


def test_the_page_is_valid_and_can_be_read_without_seeing_it(out, page):
    root = whole(page)
    assert [one.tag.split("}")[1] for one in root.iter() if re.fullmatch(r".*}h\d", str(one.tag))] == ["h1", "h2", "h2"]
    (table,) = root.iter(f"{XHTML}table")
    sides = 3 if out.third else 2
    assert len([one for one in table.iter(f"{XHTML}th") if one.get("scope") == "col"]) == sides
    for row in table.find(f"{XHTML}tbody"):
        assert (row[0].get("scope"), len(row)) == ("row", sides + 1)
    for drawing in root.iter(f"{SVG}svg"):
        assert (drawing.get("role"), drawing[0].tag, drawing[1].tag) == ("img", f"{SVG}title", f"{SVG}desc")
        assert len(drawing[1].text) > 20
    assert not list(root.iter(f"{XHTML}script"))


def test_the_drawings_are_grey_and_name_what_they_show(out, page):
    figures = [block for block in page.blocks if isinstance(block, Figure)]
    sides = "ABC"[: 3 if out.third else 2]
    for figure in figures:
        colours = re.findall(r"#([0-9a-f]{6})\b", figure.svg)
        assert all(one[:2] == one[2:4] == one[4:] for one in colours)
        root = html5lib.parse(figure.svg)
        labels = ["".join(one.itertext()).strip() for one in root.iter(f"{SVG}text")]
        assert [name for name in sides if not any(label.split(":")[0] == name for label in labels)] == []
        assert "years" in labels
    assert any("new part" in figure.description for figure in figures)


def test_without_prices_life_and_upkeep_are_told_and_that_is_said():
    out = taught(PROJECTS / "terrace_faulty_eu" / "project.yaml", "terrace board", ["robinia heartwood"])
    document = client_page.document(out, DAY, "A4")
    text = " ".join(prose(document))
    assert client_page.NO_PRICES in text
    (table,) = [block for block in document.blocks if isinstance(block, Table)]
    assert [row[0] for row in table.rows] == ["It lasts", "Upkeep", "First to fail", "Why"]
    assert table.rows[0][1:] == ["10 to 50 years", "50 to 100 years"]
    assert "EUR" not in text
    assert "USD" not in text


def test_new_coats_are_told_without_prices(tmp_path):
    prices = [line for line in SOUND.read_text().splitlines() if not line.startswith("prices")]
    for name in ("parts.csv", "joints.csv"):
        (tmp_path / name).write_text((SOUND.parent / name).read_text())
    (tmp_path / "project.yaml").write_text("\n".join(prices))
    bare_out, priced = (taught(path, "bench seat", ["ipe"]) for path in (tmp_path / "project.yaml", SOUND))
    assert bare_out.written.due.coats == priced.written.due.coats == list(range(2, 15, 2))
    assert bare_out.written.due.coat_every_years == 2
    assert bare_out.written.spent == []


def test_what_was_spent_ends_at_the_cost_over_the_years(out):
    for side in (out.written, out.against, out.third):
        if side is None or not side.spent:
            continue
        assert [one.year for one in side.spent] == list(range(math.ceil(out.wanted_years) + 1))
        last, first = side.spent[-1], side.spent[0]
        band = side.cost_over_life
        assert (last.low, last.likely, last.high) == (band.low, band.likely, band.high)
        assert first.likely in (side.first_cost, None)
        for end in ("low", "likely", "high"):
            known = [value for one in side.spent if (value := getattr(one, end)) is not None]
            assert known == sorted(known)
        for one in side.spent:
            known = [value for value in (one.low, one.likely, one.high) if value is not None]
            assert known == sorted(known)


def test_a_turn_of_the_order_is_one():
    """Bought anew with the fallen price, the dearer is no longer dearer; a step of 5 percent less and it still is."""
    out = taught(FAULTY, "gate board", ["black locust heartwood"])
    (turn,) = out.turns
    assert (turn.cheaper, turn.first_cheaper) == ("written", "written")
    dear, cheap = out.against, out.written
    likely = dear.cost_over_life.likely, cheap.cost_over_life.likely
    assert likely[0] - dear.material * turn.fall_pct / 100 <= likely[1]
    assert likely[0] - dear.material * (turn.fall_pct - 5) / 100 > likely[1]
    # The cedar is most likely bought again at the end of its likely life, the locust never.
    assert turn.even_year == math.ceil(cheap.life_years.likely)
    assert 2 * cheap.first_cost > dear.first_cost


def test_a_little_interest_changes_little(tmp_path):
    """A finish whose years are a band: the ends of the costs keep their coats."""
    (tmp_path / "parts.csv").write_text(
        'part,material,thickness,width,length,exposure,finish\nslat,western red cedar heartwood,1,5 1/2,96,weather,"solid stain, 2 coats"\n'
    )
    (tmp_path / "prices.csv").write_text(
        "item,unit,price,currency\nwestern red cedar heartwood,board foot,6,USD\nsolid stain,gallon,60,USD\n"
    )
    (tmp_path / "project.yaml").write_text("site: Madison, WI\nlife: 30\nparts: parts.csv\nprices: prices.csv\n")
    none, little = (
        taught(tmp_path / "project.yaml", "slat", ["white oak"], interest=rate).written.cost_over_life
        for rate in (0.0, 1e-6)
    )
    assert none.low < none.high
    for end in ("low", "likely", "high"):
        assert getattr(none, end) == pytest.approx(getattr(little, end), abs=0.01)


def test_three_choices_stand_side_by_side_and_four_do_not(tmp_path):
    call = ["teach", SOUND, "--part", "bench seat", "--against", "ipe", "--against", "teak", "-o", tmp_path / "a.json"]
    assert run(*call).returncode == 0
    assert json.loads((tmp_path / "a.json").read_text())["comparison"]["third"]["choice"] == "teak"
    done = run(*call, "--against", "white oak")
    assert done.returncode == 2
    assert "--against" in done.stderr


def test_a_part_that_is_wanted_for_no_time_is_refused(tmp_path):
    (tmp_path / "parts.csv").write_text("part,material,exposure,life\nslat,white oak,weather,0\n")
    done = run("teach", tmp_path / "parts.csv", "--part", "slat", "--against", "ipe", "-o", tmp_path / "a.pdf")
    assert done.returncode == 2
    assert "wanted for 0 years" in done.stderr


def hostile_project(folder, text):
    rows = [
        ["part", "material", "thickness", "width", "length", "exposure"],
        [text, f"larch {text}", "20 mm", "90 mm", "900 mm", "weather"],
        ["post", "oak", "90 mm", "90 mm", "900 mm", "ground"],
    ]
    joints = [["joint", "part_a", "part_b", "method", "fastener"], [f"j {text}", text, "post", "screws", "wood screw"]]
    for name, lines in (("parts.csv", rows), ("joints.csv", joints)):
        with (folder / name).open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows(lines)
    (folder / "project.yaml").write_text(
        f"name: {json.dumps(text)}\nsite: Madison, WI\nparts: parts.csv\njoints: joints.csv\n"
    )
    return folder / "project.yaml"


@pytest.mark.parametrize("text", [HOSTILE[1], HOSTILE[3], "W" * 400, HOSTILE[13]], ids=range(4))
def test_hostile_names_of_a_project_reach_the_page_as_text(text, tmp_path):
    out = taught(hostile_project(tmp_path, text), 0, ["white oak"])
    document = client_page.document(out, DAY, "A4")
    assert bare(text)[:30] in bare("".join(whole(document).itertext()))
    assert len(pages_of(document).pages) == 1


@pytest.mark.parametrize("step", [3, pytest.param(1, marks=pytest.mark.thorough)])
def test_hostile_names_do_not_break_the_page(step):
    """Without prices and for two choices only, for speed: what differs is the names, four at once.

    By steps of 3 each stands somewhere, by steps of 1 everywhere.
    """
    plain = taught(PROJECTS / "terrace_faulty_eu" / "project.yaml", "terrace board", ["robinia heartwood"])
    allowed = {one.tag for one in whole(client_page.document(plain, DAY, "A4")).iter()}
    for at in range(0, len(HOSTILE), step):
        joint, project, choice, part = (HOSTILE[at - back] for back in range(4))
        failing = plain.written.fails_first.model_copy(update={"joint": joint})
        side = plain.written.model_copy(update={"choice": choice, "fails_first": failing})
        document = client_page.document(
            plain.model_copy(update={"part": part, "project": project, "written": side}), DAY, "Letter"
        )
        assert len(pages_of(document).pages) == 1
        assert {one.tag for one in whole(document).iter()} - allowed <= {f"{XHTML}wbr"}


def test_the_longest_names_and_words_fit():
    out = taught(FAULTY, "board post", ["black locust heartwood", "PT southern pine UC4B"], units="both")
    long = " ".join(["Wagenschmiere"] * 40)
    out.project, out.part, out.currency = long, long, "USD"
    for side in (out.written, out.against, out.third):
        side.choice, side.stop = long, 12
        side.why = sorted((one.says for one in sayings(KNOWN) if one.topic == "material"), key=len)[-2:]
        side.fails_first = out.against.fails_first.model_copy(update={"joint": long})
    out.changes = sorted((one.says for one in sayings(KNOWN) if one.topic == "change"), key=len)[-2:]
    for paper in PAPERS:
        assert len(pages_of(client_page.document(out, DAY, paper)).pages) == 1


CALL = """
import sys
from datetime import date
from pathlib import Path
from gatepost import road
from gatepost.choosing.teach import compare
from gatepost.judging import load_rules
from gatepost.library import library
from gatepost.writing import teach_sheet
made = compare(road.read(Path(sys.argv[1])), "bench seat", ["ipe"], list(load_rules(library())), library(), 0.0)
for path in sys.argv[2:]:
    teach_sheet.write(made, Path(path), "in", date(2026, 5, 1))
"""


def test_equal_input_gives_equal_bytes_in_two_processes(tmp_path):
    for seed in "12":
        told = {**os.environ, "PYTHONHASHSEED": seed, "TZ": f"UTC{seed}"}
        paths = [str(tmp_path / f"{seed}{suffix}") for suffix in teach_sheet.SUFFIXES]
        call = [sys.executable, "-W", "error", "-c", CALL, str(SOUND), *paths]
        done = subprocess.run(call, capture_output=True, text=True, check=False, env=told)
        assert (done.returncode, done.stderr) == (0, "")
    for suffix in teach_sheet.SUFFIXES:
        one, other = ((tmp_path / f"{seed}{suffix}").read_bytes() for seed in "12")
        assert one == other
        assert suffix == ".pdf" or b"2026-05-01" in one


def test_markdown_and_json_hold_the_page_and_the_longer_tables(tmp_path):
    for suffix in (".md", ".json"):
        call = ["--part", "bench seat", "--against", "ipe", "-o", tmp_path / f"a{suffix}"]
        assert run("teach", SOUND, *call).returncode == 0
    made = (tmp_path / "a.md").read_text()
    for heading in ("What we assumed", "What would change the answer", "Year by year", "What the numbers rest on"):
        assert f"## {heading}" in made
    blocks = json.loads((tmp_path / "a.json").read_text())["blocks"]
    headings = [block["text"] for block in blocks if block["kind"] == "heading"]
    assert headings[:2] == ["What we assumed", "What would change the answer"]
    assert "Year by year" in headings


# What is told in plain words


def test_each_text_of_the_file_is_plain_and_without_figures():
    entries = yaml.safe_load((KNOWN.folder / "client_words.yaml").read_text(encoding="utf-8"))
    for one, entry in zip(sayings(KNOWN), entries, strict=True):
        assert one.topic in TOPICS
        assert entry["says"] == one.says
        assert entry["source"] == "practice" or entry["source"] in KNOWN.sources
        assert not re.search(r"\d", one.says)
        assert textstat.automated_readability_index(one.says) <= GRADE


# Places and materials that no project of the tests has.
ODD = [
    *((wood, "weather", "none") for wood in ("acetylated radiata pine", "thermally modified Scots pine", "white oak sapwood")),
    *((wood, "weather", "none") for wood in ("furfurylated pine", "fire retardant treated southern pine exterior")),
    *(("European oak", place, "oil") for place in ("fresh water", "salt water", "indoor", "sheltered")),
]  # fmt: skip


def test_each_text_of_the_file_is_told_of_some_part(tmp_path):
    rows = "".join(f"p{number},{','.join(one)}\n" for number, one in enumerate(ODD))
    (tmp_path / "parts.csv").write_text("part,material,exposure,finish\n" + rows)
    told = set()
    for path in [*PROJECTS.glob("*/project.yaml"), FAULTY, SOUND, tmp_path / "parts.csv"]:
        facts = road.derive(road.read(path))
        for row in range(len(facts.parts)):
            told |= {says for topic in TOPICS for says in said_of(facts, row, topic, 99)}
    assert [one.says for one in sayings(KNOWN) if one.says not in told] == []
