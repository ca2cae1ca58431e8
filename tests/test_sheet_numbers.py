"""Each number on a spec sheet is one of the numbers that it was made from; sizes are printed as the bench measures them.

The tables are read back by a grammar of this file, which knows the units and how coarsely a sheet prints them and nothing
of how it was written; every number found must lie within that coarseness of a number of the JSON, of the row's own part or
joint where a row names one. An inch is 25.4 mm, a pound 453.592 g, a pound of force 4.448 N, a US quart 0.946 l, a pound
to the cubic foot 16.018 kg/m3 (NIST Special Publication 811, appendix B; status memory).
"""

from __future__ import annotations

import json
import re
from collections import Counter
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from gatepost.planning import bench
from gatepost.reading import Call, read
from gatepost.review import review
from gatepost.writing import spec

ROOT = Path(__file__).resolve().parents[1]
DAY = date(2026, 5, 1)
PROJECTS = {
    "faulty": ROOT / "data" / "demo" / "faulty" / "project.yaml",
    "sound": ROOT / "data" / "demo" / "sound" / "project.yaml",
}
# What one of the unit is in the unit of the JSON, and by how much of the unit a print may be off.
UNITS = {
    '"': (25.4, 0.5 / 16), "mm": (1, 0.5), "ft": (304.8, 0.02), "m": (1000, 0.006), "%": (1, 0.5), "lb": (4.44822, None),
    "N": (1, None), "pcf": (16.0185, None), "kg/m³": (1, None), "sq ft": (0.09290304, 0.5), "m²": (1, 0.05), "°C": (1, 0.5),
    "quart": (0.946352946, 0.5), "gallon": (3.785411784, 0.5), "litre": (1, 0.1), "oz": (28.349523, 1), "g": (1, None),
    "kg": (1000, None), "lb of goods": (453.59237, 0.5), "m above the sea": (1, 0.5), "years": (1, 0.5), "days": (1, 0.5), "km": (1, 0.5), "min": (1, 0), "h": (1, 0), "": (1, 0.5),
}  # fmt: skip
TWO_FIGURES = 0.06
NUMBER = re.compile(
    r'(?P<inch>\d+-\d+/\d+|\d+/\d+|\d+)"|(?P<half>\d+-1/2|1/2) (?P<of>quart|gallon|lb)|(?P<plain>\d+(?:\.\d+)?)[\s\u00a0]?'
    r"(?P<unit>sq ft|kg/m³|pcf|mm|m²|km|ft|lb|N|%|°C|quart|gallon|litre|oz|kg|g|years|days|min|h|m)?(?![\w/-])"
)
NOTE = re.compile(r"\(\d\)|\[\d+\]|FD P 20-651 \(2011\)|AS 5604 \(2005\)|dose-response \(2013\)")
"""What is no number of the project: references of the sheet, and names of works."""
ROWS_OF = {
    "part": "part",
    "parts": "part",
    "treated parts": "part",
    "panel": "part",
    "joint": "joint",
    "joints": "joint",
}
# Texts and cutting plans: the plans are checked cut by cut in test_planning; a step's names hold numbers of the list.
NOT_HERE = ("cut from each", "work and edition; figures taken from it", "take care", "to do")


def sheet_of(name, units):
    made = bench(review(read(PROJECTS[name], Call(None, None, units, None))))
    return spec.document(made, units, DAY), json.loads(spec.as_data(made, units, DAY).model_dump_json())


SHEETS = {}


def sheet(name, units):
    if (name, units) not in SHEETS:
        SHEETS[name, units] = sheet_of(name, units)
    return SHEETS[name, units]


def held(thing):
    """Numbers and texts anywhere in a piece of JSON; a list of equal numbers holds their count too."""
    numbers, texts = [], []
    if isinstance(thing, dict):
        for value in thing.values():
            more = held(value)
            numbers += more[0]
            texts += more[1]
    elif isinstance(thing, list):
        for value in thing:
            more = held(value)
            numbers += more[0]
            texts += more[1]
        numbers += [float(n) for n in Counter(x for x in thing if isinstance(x, int | float)).values()]
    elif isinstance(thing, bool):
        pass
    elif isinstance(thing, int | float):
        numbers.append(float(thing))
    elif isinstance(thing, str):
        texts.append(thing)
    return numbers, texts


def near(value, unit, numbers):
    """Whether a number lies as near as the unit is printed."""
    factor, off = UNITS[unit]
    base = value * factor
    allowed = abs(base) * TWO_FIGURES if off is None else off * factor
    if unit == "mm" and value < 10:
        allowed = 0.25
    return any(abs(abs(one) - base) <= allowed + 1e-6 for one in numbers)


def inches(text):
    whole, _, rest = text.rpartition("-")
    return float(Fraction(whole or 0) + Fraction(rest))


def unaccounted(cell, numbers, texts):
    """The numbers of a cell that the JSON does not hold."""
    out, whole = [], " ".join(texts)
    for match in NUMBER.finditer(NOTE.sub("", cell)):
        if match["inch"]:
            found = near(inches(match["inch"]), '"', numbers)
        elif match["half"]:
            found = near(inches(match["half"]), "lb of goods" if match["of"] == "lb" else match["of"], numbers)
        else:
            units = [match["unit"] or "", *{"lb": ["lb of goods"], "m": ["m above the sea"]}.get(match["unit"], [])]
            found = any(near(float(match["plain"]), unit, numbers) for unit in units)
        if not found and match[0] not in whole:
            out.append(match[0])
    return out


def rows_of(data, kind):
    """JSON of the rows of the lists by their names: facts, movement and schedule."""
    out = {}
    for one in data["review"]["parts" if kind == "part" else "joints"]:
        out.setdefault(one[kind], []).append({**one, "findings": []})
    more = data["movement"]["parts"] if kind == "part" else data["fasteners"]["joints"]
    for one in more:
        out[one[kind]].append(one)
    return out


def tables(document):
    return [block for block in document.blocks if hasattr(block, "rows") and not set(NOT_HERE) & set(block.header)]


def names_in(cell, known):
    """The names that a first cell lists; longest first, for a name may hold another."""
    out, rest = [], cell
    for name in sorted(known, key=len, reverse=True):
        if re.search(rf"(?:^|, ){re.escape(name)}(?=, |$)", rest):
            out.append(name)
            rest = re.sub(rf"(^|, ){re.escape(name)}(?=, |$)", r"\1", rest)
    return out


@pytest.mark.parametrize("units", ["in", "mm", "both"])
@pytest.mark.parametrize("name", PROJECTS)
def test_each_number_of_a_row_is_a_number_of_its_part_or_joint(name, units):
    document, data = sheet(name, units)
    asked = 0
    for table in tables(document):
        kind = ROWS_OF.get(table.header[0])
        if kind is None or "section" in table.header or "sheet" in table.header:
            continue
        known = rows_of(data, kind)
        notes = [data["movement"]["notes"], data["work"]["cuts"], data["work"]["pieces"]]
        for row in table.rows:
            names = names_in(row[0], known)
            assert names, (table.header, row)
            for one in names:
                numbers, texts = held([known[one], notes])
                for head, cell in zip(table.header[1:], row[1:], strict=True):
                    asked += len(NUMBER.findall(cell))
                    assert unaccounted(cell, numbers, texts) == [], (one, head, cell)
    assert asked > 400


@pytest.mark.parametrize("units", ["in", "mm", "both"])
@pytest.mark.parametrize("name", PROJECTS)
def test_each_number_of_the_other_tables_is_a_number_of_the_json(name, units):
    document, data = sheet(name, units)
    numbers, texts = held({key: value for key, value in data.items() if key != "blocks"})
    asked = 0
    for table in tables(document):
        if ROWS_OF.get(table.header[0]) and "sheet" not in table.header:
            continue
        skip = 1 if table.header[0] in ("no.", "figure") else 0
        for row in table.rows:
            for cell in row[skip:]:
                asked += len(NUMBER.findall(cell))
                assert unaccounted(cell, numbers, texts) == [], (table.header, cell)
    assert asked > 60


def test_a_number_that_is_changed_is_found():
    """The grammar sees a size that is a sixteenth too long, a load in the wrong unit, one fastener too many."""
    numbers, texts = [88.9, 1223.0, 4.0], ["PT pine 4x4"]
    assert unaccounted('3-1/2"', numbers, texts) == []
    assert unaccounted('3-9/16" (89 mm)', numbers, texts) == ['3-9/16"']
    assert unaccounted("91 mm", numbers, texts) == ["91 mm"]
    assert unaccounted("270 lb; 4", numbers, texts) == []
    assert unaccounted("270 N; 5", numbers, texts) == ["270 N", "5"]


def cells_of(document):
    return [cell for table in tables(document) for row in table.rows for cell in row] + [
        text for table in tables(document) for text in (*table.header, table.caption)
    ]


TRADE_SIZE = re.compile(r"#?\d+(?:/\d+)? x \d[\d/ -]*(?: in)?|\d+d \([^)]*\)|\d+(?:/\d+)?x\d+|\d+/\d+ (?:CDX|A-C|MDO)")
"""A fastener by its trade size and a board by its nominal one keep their names."""


@pytest.mark.parametrize("name", PROJECTS)
def test_inch_users_read_fractions_and_no_millimetres(name):
    document, _ = sheet(name, "in")
    for cell in cells_of(document):
        assert not re.search(r'\d\.\d+[\s\u00a0]*(?:in\b|"|inch)', cell), cell
        assert not re.search(r"\d[\s\u00a0]*mm\b", cell), cell
        for fraction in re.findall(r"\d+/(\d+)\"", cell):
            assert int(fraction) in (2, 4, 8, 16, 32, 64), cell
    prose = [text for block in document.blocks for text in prose_of(block)]
    assert [text for text in prose if re.search(r"\d\.\d+ in\b(?! 1000)", text)] == []
    # What a board is called and sold at in other countries is told in both.
    metric = [text for text in prose if re.search(r"\d[\s\u00a0]*mm\b", text) and "(2 x 2 in)" not in text]
    assert [text for text in metric if not re.search(r"nominal|In North America", text)] == []


def prose_of(block):
    if hasattr(block, "lines"):
        yield block.text
        yield from (text for _, text in block.lines)
        yield from block.beneath
    elif hasattr(block, "items"):
        yield from block.items
    elif hasattr(block, "text"):
        yield block.text
    elif hasattr(block, "description"):
        yield block.description


@pytest.mark.parametrize("name", PROJECTS)
def test_metric_users_read_whole_and_half_millimetres_and_no_inches(name):
    document, _ = sheet(name, "mm")
    for cell in cells_of(document):
        assert not re.search(r"\d+\.(?!5[\s\u00a0]mm)\d+[\s\u00a0]mm\b", cell), cell
        assert not re.search(r'\d"', cell), cell
        bare = re.sub(r"\d\.\d+ pcf UC\w+", "", TRADE_SIZE.sub("", cell))  # a tag as the shop wrote it
        assert not re.search(r"\d[\s\u00a0]*(?:in|ft|lb|oz|quarts?|gallons?|pcf)\b", bare), cell


@pytest.mark.parametrize("name", PROJECTS)
def test_holes_are_printed_to_a_sixty_fourth_and_other_sizes_to_a_sixteenth(name):
    document, _ = sheet(name, "in")
    drills = 0
    for table in tables(document):
        for row in table.rows:
            for head, cell in zip(table.header, row, strict=True):
                steps = {int(step) for step in re.findall(r"/(\d+)\"", cell)}
                assert head in ("pilot", "clearance hole") or not steps & {32, 64}, (head, cell)
                drills += bool(steps & {32, 64})
    assert drills > 5
