"""Cells by the kind of their column: every listed word, odd numbers, and what is missing, unlisted or unreadable."""

from __future__ import annotations

import pytest

from gatepost.library import library
from gatepost.reading.cells import BLANKS, Unreadable, read_cell
from gatepost.reading.files import Rows
from gatepost.reading.headers import find_header, squeezed
from gatepost.reading.sizes import Context

KNOWN = library()
WRITTEN = KNOWN.register.written
ALL = [(over, name) for over in ("parts", "joints") for name in WRITTEN[over]]
CONTEXTS = {"us": Context("in", "us"), "eu": Context("mm", "eu")}


def cell(over, name, text, scheme="us"):
    return read_cell(text, WRITTEN[over][name], KNOWN, CONTEXTS[scheme])


@pytest.mark.parametrize(("over", "name"), ALL)
def test_every_listed_word_reads_as_itself(over, name):
    column = WRITTEN[over][name]
    for word in column.values if column.kind in ("word", "words") else ():
        for text in (word, word.upper(), f"  {word} "):
            found = cell(over, name, text)
            assert found.sets[column.name] == word, text
            assert found.remarks == []


@pytest.mark.parametrize(("over", "name"), ALL)
def test_a_blank_says_nothing_in_any_column(over, name):
    for text in [*BLANKS, "  ", "N/A", "TBD"]:
        found = cell(over, name, text)
        assert (found.sets, found.remarks) == ({}, [])


@pytest.mark.parametrize(("over", "name"), [one for one in ALL if WRITTEN[one[0]][one[1]].kind in ("word", "words")])
def test_a_word_on_no_list_is_unknown_and_said(over, name):
    found = cell(over, name, "qqzzq")
    assert found.sets[WRITTEN[over][name].name] == "unknown"
    assert "qqzzq" in found.remarks[0]


@pytest.mark.parametrize(("over", "name"), [one for one in ALL if WRITTEN[one[0]][one[1]].is_number])
def test_numbers_out_of_bounds_or_signed_or_ranges_are_refused(over, name):
    column = WRITTEN[over][name]
    unit = " mm" if column.kind == "size" else ""
    assert column.bounds is not None
    for text in ("-3", "8-12", "1 2", "nan", "1e3", "x", "3..4", f"{column.bounds[1] + 1:.0f}{unit}"):
        with pytest.raises(Unreadable):
            cell(over, name, text)
    top = f"{column.bounds[1]:.0f}{unit}"
    assert cell(over, name, top).sets[column.name] == column.bounds[1]


@pytest.mark.parametrize(("over", "name"), ALL)
def test_a_heading_is_found_in_every_spelling_and_by_its_synonyms(over, name):
    column = WRITTEN[over][name]
    required = [other for other, one in WRITTEN[over].items() if one.required and other != name]
    required += ["material"] if over == "parts" and name != "material" else []
    for text in (name, name.upper(), name.replace("_", " ").title(), f" {name.replace('_', '')} ", *column.synonyms):
        if squeezed(text) in {squeezed(other) for other in WRITTEN[over]} - {squeezed(name)}:
            continue
        header = find_header(Rows("x", [1], [[*required, text]]), over, KNOWN.register)
        found = [one.column.name for one in header.headings if one.at == len(required)]
        assert found == [column.name], text


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("pitch", "3:12", 14.04), ("pitch", "3 in 12", 14.04), ("pitch", "1/40", 1.43), ("pitch", "10 %", 5.71), ("pitch", "15°", 15), ("pitch", "0:12", 0),
        ("moisture", "12 %", 12), ("moisture", "12,5", 12.5), ("life", "15 yrs", 15), ("qty", "4 pcs.", 4), ("qty", "4.0", 4), ("weathered", "6 weeks", 6),
    ],
)  # fmt: skip
def test_numbers_with_their_words(name, text, value):
    assert cell("parts", name, text).sets[WRITTEN["parts"][name].name] == pytest.approx(value, abs=0.005)


@pytest.mark.parametrize("text", ["-1", "four", "4.5", "1,000", "1000000", "x4", "1e3"])
def test_a_count_is_a_whole_number(text):
    with pytest.raises(Unreadable):
        cell("parts", "qty", text)


@pytest.mark.parametrize(
    "text",
    [
        "ground + weather",
        "weather;ground",
        "ground, weather",
        "Ground & Weather",
        "ground and weather",
        "ground/weather",
        "weather + weather + in ground",
    ],
)
def test_several_words_stand_in_the_order_of_the_register(text):
    assert cell("parts", "exposure", text).sets["exposure"] == "weather + ground"


def test_a_good_word_beside_a_bad_one_is_kept_and_the_bad_one_said():
    found = cell("parts", "exposure", "ground, wether")
    assert found.sets["exposure"] == "ground"
    assert "weather" in found.remarks[0]


@pytest.mark.parametrize(
    ("text", "scheme", "sizes"),
    [
        ("2x4", "us", (38.1, 88.9)), ("2 X 4", "eu", (47, 100)), ("2x4x8", "us", (38.1, 88.9)), ("5/4x6", "us", (25.4, 139.7)), ("90x90", "us", (90, 90)), ("45 x 95", "eu", (45, 95)),
        ("19.5x145", "us", (19.5, 145)), ("5/4", "us", (25.4, None)), ("3/4", "us", (19.05, None)),
    ],
)  # fmt: skip
def test_sizes_of_boards(text, scheme, sizes):
    found = cell("parts", "thickness", text, scheme).sets
    assert found["thickness_mm"] == pytest.approx(sizes[0], abs=0.05)
    assert found.get("width_mm") == (pytest.approx(sizes[1], abs=0.05) if sizes[1] else None)


@pytest.mark.parametrize(
    ("text", "scheme", "diameter", "length"),
    [
        ("#10x3", "us", 4.83, 76.2), ("#8x2-1/2", "us", 4.17, 63.5), ("#8 x 50", "eu", 4.17, 50), ("M8x100", "us", 8, 100), ("4,5 x 70", "eu", 4.5, 70), ("3.1x90", "eu", 3.1, 90),
        ('1/2" x 6"', "us", 12.7, 152.4), ("1/4-20 x 2", "us", 6.35, None), ('3"', "us", None, 76.2), ("90 mm", "eu", None, 90),
    ],
)  # fmt: skip
def test_sizes_of_fasteners(text, scheme, diameter, length):
    found = cell("joints", "size", text, scheme).sets
    assert found.get("size_diameter_mm") == (pytest.approx(diameter, abs=0.03) if diameter else None)
    assert found.get("size_length_mm") == (pytest.approx(length, abs=0.2) if length else None)


def test_a_size_behind_the_fastener_is_read_whole():
    found = cell("joints", "fastener", "coated deck screws #8x2-1/2")
    assert found.remarks == []
    assert found.sets["size_length_mm"] == pytest.approx(63.5)
