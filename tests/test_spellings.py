"""Materials as shops write them, read the way the trade reads them: tests/spellings.csv, written before the reader was asked.

Blank cells mean that nothing of the kind is said and nothing may be read, save for the derived facts of `DERIVED`, which a
blank leaves open, as does the word "any". `asks_which_of` are woods that the note must name, `slip_for` a word that a slip
of the pen must be read as or answered with, `says_unread` that a word is said to be on no list.
"""

from __future__ import annotations

import csv
import random
import re
from functools import lru_cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from gatepost import derive, judge, read
from gatepost.library import library
from gatepost.reading import cells
from gatepost.reading.cells import Cell, read_cell
from gatepost.reading.sizes import Context

ROWS = list(csv.DictReader((Path(__file__).parent / "spellings.csv").read_text(encoding="utf-8").splitlines()))
KNOWN = library()
US = Context("in", "us")
SIZES = ("thickness_mm", "width_mm", "length_mm", "retention_kg_m3")
DERIVED = ("treatment_category", "treated_how", "bond_class", "veneer_face", "veneer_back", "overlay")
PLAIN = ("species", "product", "grade", "treatment_kind", "preservative", "wood_part", "grain", "moisture_word", "incised", "origin", "pith")  # fmt: skip
UNSAID = {"product": "lumber", "treatment_kind": "none", "preservative": "none", "wood_part": "mixed", "grain": "flat", "origin": "new"}  # fmt: skip
SIZE_OFF_MM = 0.06


@lru_cache(maxsize=2)
def frame(scheme: str, folder: Path) -> pd.DataFrame:
    """All spellings of one scheme as one parts list, read and derived; indexed by text."""
    texts = [row["text"] for row in ROWS if row["scheme"] == scheme]
    path = folder / f"{scheme}.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([["part", "material"], *((f"x{i}", text) for i, text in enumerate(texts))])
    facts = derive(read(path, scheme=scheme, units={"us": "in", "eu": "mm"}[scheme]))
    parts = facts.parts.set_index(pd.Index(texts))
    return parts.astype(object).where(parts.notna(), None)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("spellings")


def wrong_in(row: dict[str, str], found: pd.Series) -> list[str]:
    """What of one reading differs from the expectation."""
    said = [(name, row[name] or UNSAID.get(name), found[name]) for name in PLAIN]
    said += [(name, row[name], found[name]) for name in DERIVED if row[name]]
    wrong = [f"{name} {value!r}, not {wanted!r}" for name, wanted, value in said if not same(name, wanted, value)]
    for name in SIZES:
        wanted = row[name]
        value = np.nan if found[name] is None else found[name]
        if wanted != "any" and not np.isclose(value, float(wanted or "nan"), atol=SIZE_OFF_MM, equal_nan=True):
            wrong.append(f"{name} {value}, not {wanted or 'unknown'}")
    return wrong + wrong_words(row, found)


def same(name: str, wanted: str | None, value: object) -> bool:
    if wanted == "any" or (name == "species" and not wanted):
        return True
    return value == wanted if value is not None else wanted in (None, "", "none")


def wrong_words(row: dict[str, str], found: pd.Series) -> list[str]:
    """Names that must be asked about or offered, and remarks where everything should be understood."""
    asked = set((found["name_may_mean"] or "").split("; ")) if found["name_is_ambiguous"] == "yes" else set()
    wanted = set(row["asks_which_of"].split("; ")) if row["asks_which_of"] else set()
    wanted = asked if wanted == {"any"} else wanted
    remarks = found["unlisted_words"] or ""
    wrong = [f"does not ask about {name}" for name in sorted(wanted - asked)]
    slip, unread = row["slip_for"], row["says_unread"]
    if not slip and not wanted and asked:
        wrong.append(f"asks needlessly: {sorted(asked)}")
    if not row["species"] and not wanted and not slip and isinstance(found["species"], str):
        wrong.append(f"species {found['species']} guessed")
    if slip and slip not in remarks and slip not in [found[name] for name in PLAIN] and slip not in asked:
        wrong.append(f"neither read as {slip} nor offers it: {remarks}")
    if unread and (not remarks or (unread != "yes" and unread not in remarks)):
        wrong.append(f"does not say that it is unread: {remarks}")
    if not slip and not unread and remarks:
        wrong.append(f"not understood: {remarks}")
    return wrong


@pytest.mark.parametrize("scheme", ["us", "eu"])
def test_each_spelling_is_read_as_the_trade_reads_it(scheme, folder):
    parts = frame(scheme, folder)
    wrong = {
        row["text"]: bad for row in ROWS if row["scheme"] == scheme and (bad := wrong_in(row, parts.loc[row["text"]]))
    }
    assert wrong == {}


def test_there_are_enough_spellings_and_each_says_where_its_reading_comes_from():
    assert len(ROWS) >= 1000
    assert len({(row["text"], row["scheme"]) for row in ROWS}) == len(ROWS)
    practice = "common practice, no source"
    for row in ROWS:
        assert row["source"] == practice or row["source"] in KNOWN.sources, row
        assert (row["status"] == "practice") == (row["source"] == practice), row


def test_each_wood_is_known_by_its_name_and_its_botanical_name():
    """The botanical names of species.csv come from the works that it names; names of several woods ask."""
    shared = {"Taxodium distichum", "Tectona grandis", "Sequoia sempervirens"}
    wrong = {}
    for row in KNOWN.table("species").records():
        botanical = re.fullmatch(r"[A-Z][a-z]+ [a-z]{4,}", row["botanical_name"])
        for text in [row["species"], *([botanical[0]] if botanical and botanical[0] not in shared else [])]:
            found = cell("species", text)
            if found.sets.get("species") != row["species"] and row["species"] not in found.sets.get(
                "name_may_mean", ""
            ):
                wrong[text] = found.sets.get("species"), row["species"]
    assert wrong == {}


def cell(column: str, text: str, context: Context = US) -> Cell:
    return read_cell(text, KNOWN.register.written["parts"][column], KNOWN, context)


@pytest.mark.parametrize("seed", [0, *(pytest.param(seed, marks=pytest.mark.thorough) for seed in range(1, 6))])
def test_one_wrong_letter_never_makes_another_wood(seed):
    """A name with one letter changed, lost or doubled is read as its wood, is asked about, or is answered with offers."""
    chance = random.Random(seed)
    wrong = {}
    for row in KNOWN.table("species").records():
        name = row["species"].lower()
        at = chance.randrange(1, len(name))
        slip = chance.choice([name[:at] + name[at + 1 :], name[:at] + name[at - 1 :], name[:at] + chance.choice("aeiou") + name[at + 1 :]])  # fmt: skip
        found = cell("species", slip)
        read_as = found.sets.get("species", "unknown")
        if (
            read_as != "unknown"
            and read_as not in row["species"]
            and not found.remarks
            and "name_may_mean" not in found.sets
        ):
            wrong[slip] = read_as
    assert wrong == {}


def test_an_unread_word_is_a_finding_that_offers_the_nearest_first_and_three_at_most(tmp_path):
    path = tmp_path / "parts.csv"
    path.write_text("part,material\nslat,duoglas fir\npost,westrn redcedar\nrail,plywod\n", encoding="utf-8")
    facts = derive(read(path))
    judged = judge(facts).judgement
    found = judged.found[[judged.rules[at].rule.rule == "part-word-on-no-list" for at in judged.found["rule"]]]
    texts = list(facts.parts["unlisted_words"])
    assert sorted(found["row"]) == [0, 1, 2]
    for text, meant in zip(texts, ("Douglas-fir", "western redcedar", "plywood"), strict=True):
        offers = text.split("did you mean ")[1].removesuffix("?)").split(" or ")
        assert offers[0] == meant
        assert 2 <= len(offers) <= 3


def test_different_cells_are_parsed_once(monkeypatch, tmp_path):
    """3000 rows of three materials: three parsings."""
    texts = []
    monkeypatch.setitem(cells._READERS, "phrase", lambda text, *rest: texts.append(text) or Cell())
    path = tmp_path / "parts.csv"
    path.write_text("part,material\n" + "a,WRC 2x4\nb,ipe 5/4x6\nc,3/4 MDO\n" * 1000, encoding="utf-8")
    assert len(read(path).parts) == 3000
    assert sorted(texts) == ["3/4 MDO", "WRC 2x4", "ipe 5/4x6"]


TREATED = [
    ("MCA 0.31 pcf, UC4B", {"preservative": "MCA", "retention_kg_m3": 4.966, "treatment_mark": "UC4B", "treated_how": "pressure"}),
    ("ACQ .40, incised", {"preservative": "ACQ", "retention_kg_m3": 6.407, "incised": "yes"}),
    ("not incised, UC4A", {"incised": "no", "treatment_mark": "UC4A"}),
    ("CCA brushed on", {"preservative": "CCA", "treated_how": "brush"}),
    ("brushed with copper naphthenate", {"preservative": "CuN", "treated_how": "brush"}),
    ("treated, CA-C", {"preservative": "CA-C", "treated_how": "pressure"}),
    ("treated", {"treatment_kind": "preservative", "treated_how": "unknown"}),
]  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), TREATED)
def test_a_treatment_cell_says_how_and_how_much(text, expected):
    """Common practice, no source: a preservative's name implies pressure, "brushed on" says otherwise."""
    found = cell("treatment", text)
    assert {name: found.sets.get(name) for name in expected} == pytest.approx(expected, abs=0.001)
    assert found.remarks == []


@pytest.mark.parametrize("text", ["19", "18", "22"])
def test_a_bare_thickness_that_can_only_be_millimetres_is_refused_and_asked(text):
    with pytest.raises(cells.Unreadable, match=f"is {text} meant in mm[?] write {text} mm"):
        cell("thickness", text)
    assert cell("thickness", f"{text} mm").sets == {"thickness_mm": float(text)}
    assert cell("thickness", text, Context("mm", "eu")).sets == {"thickness_mm": float(text)}


@pytest.mark.parametrize(
    ("column", "text", "fact", "value"),
    [
        ("fastener", "stainless", "fastener_metal", "stainless 304"),
        ("fastener", "ss screws, 316", "fastener_metal", "stainless 316"),
        ("fastener", "stainless 410", "fastener_metal", "stainless 410"),
        ("hardware", "stainless", "hardware_metal", "stainless 304"),
        ("hardware", "stainless hinge", "hardware_metal", "stainless 304"),
        ("method", "Pegged mortice & tenon", "method", "mortise and tenon"),
        ("method", "mortise and tenon, pegged", "method", "mortise and tenon"),
    ],
)
def test_words_of_joints(column, text, fact, value):
    """Common practice, no source: stainless without a grade is sold as 304, the grade that stands less."""
    found = read_cell(text, KNOWN.register.written["joints"][column], KNOWN, US)
    assert found.sets[fact] == value
    assert found.remarks == []
