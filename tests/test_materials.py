"""Materials as shops write them, and what each is read as."""

from __future__ import annotations

import pytest

from gatepost.library import library
from gatepost.reading.cells import read_cell
from gatepost.reading.sizes import Context

KNOWN = library()
MATERIAL = KNOWN.register.written["parts"]["material"]
US, EU = Context("in", "us"), Context("mm", "eu")


def read(text, context=US):
    return read_cell(text, MATERIAL, KNOWN, context)


PT = {"treatment_kind": "preservative"}
CASES = [
    ("WRC", {"species": "western redcedar"}),
    ("W.R.C.", {"species": "western redcedar"}),
    ("Western Red-Cedar, clear heart, KD", {"species": "western redcedar", "wood_part": "heart", "moisture_word": "kiln-dried"}),
    ("southern yellow pine 2x6 #2 ground contact", {"species": "southern pine", "grade": "No. 2", "treatment_mark": "UC4A", "width_mm": 139.7, **PT}),
    ("SYP 5/4x6 PT 0.15 CA-C", {"species": "southern pine", "preservative": "CA-C", "retention_kg_m3": 2.403, "thickness_mm": 25.4, **PT}),
    ("doug fir #1 4x6 FOHC", {"species": "Douglas-fir", "grade": "No. 1", "pith": "out", "thickness_mm": 88.9, "width_mm": 139.7}),
    ("hem-fir 2x8 PT UC4A", {"species": "hem-fir", "treatment_mark": "UC4A", "preservative": "unknown", "width_mm": 184.2, **PT}),
    ("#1 SYP 4x4 pressure treated .60 CCA", {"grade": "No. 1", "preservative": "CCA", "retention_kg_m3": 9.611, "treated_how": "pressure", **PT}),
    ("SPF 2x4x8", {"species": "spruce-pine-fir", "thickness_mm": 38.1, "width_mm": 88.9, "length_mm": 2438.4}),
    ("PT SYP 2x6x10'", {"species": "southern pine", "thickness_mm": 38.1, "width_mm": 139.7, "length_mm": 3048, **PT}),
    ("2x4x96 SPF", {"thickness_mm": 38.1, "length_mm": 2438.4}),
    ("white oak QS", {"species": "white oak", "grain": "quarter"}),
    ("ipe 5/4x6", {"species": "ipe", "thickness_mm": 25.4, "nominal_size": "yes"}),
    ("black locust", {"species": "black locust"}),
    ("redwood con heart 2x6", {"species": "redwood", "wood_part": "heart", "nominal_size": "yes"}),
    ("Alaska yellow cedar", {"species": "Alaska yellow-cedar"}),
    ("Thuja plicata", {"species": "western redcedar"}),
    ("oak,2x4", {"species": "unknown", "name_is_ambiguous": "yes", "thickness_mm": 38.1}),
    ("cypress", {"species": "baldcypress", "name_is_ambiguous": "yes"}),
    ("larch sap-free", {"wood_part": "heart", "name_is_ambiguous": "yes"}),
    ("treated pine 6x6, .40", {"species": "unknown", "retention_kg_m3": 6.407, "thickness_mm": 139.7, **PT}),
    ("UC4 post 100x100", {"treatment_mark": "UC4A", "thickness_mm": 100, "width_mm": 100, **PT}),
    ("18mm marine ply", {"product": "plywood", "grade": "marine", "thickness_mm": 18}),
    ("3/4 MDO", {"product": "plywood", "grade": "MDO", "thickness_mm": 19.05}),
    ('1/2" CDX', {"product": "plywood", "grade": "CDX", "thickness_mm": 12.7}),
    ("T1-11", {"product": "plywood", "grade": "textured siding"}),
    ("OSB 7/16", {"product": "OSB", "thickness_mm": 11.11}),
    ("0.75 plywood", {"product": "plywood"}),
    ('oak 1,5" x 3,5"', {"thickness_mm": 38.1, "width_mm": 88.9}),
    ("galvanised steel", {"product": "metal"}),
    ("hdpe", {"product": "plastic"}),
    ("6 mm polycarbonate", {"product": "plastic", "thickness_mm": 6}),
    ("slate", {"product": "stone"}),
    ("reclaimed oak beam 6x8", {"origin": "reclaimed", "thickness_mm": 139.7, "width_mm": 190.5}),
    ("green oak 150x150", {"moisture_word": "wet", "thickness_mm": 150}),
]  # fmt: skip
EU_CASES = [
    ("European larch 28 x 145", {"species": "European larch", "thickness_mm": 28, "width_mm": 145}),
    ("Siberian larch 19,5x145", {"species": "Siberian larch", "thickness_mm": 19.5, "width_mm": 145}),
    ("European oak 25x100 mm x 2,4 m", {"species": "European oak", "thickness_mm": 25, "width_mm": 100, "length_mm": 2400}),
    ("Scots pine NTR A 48x98", {"species": "Scots pine", "treatment_mark": "UC4A", "width_mm": 98, **PT}),
    ("Scots pine, use class 3.2, 22 x 95", {"treatment_mark": "UC3B", "thickness_mm": 22, **PT}),
    ("marine plywood BS 1088 12mm", {"product": "plywood", "grade": "BS 1088", "thickness_mm": 12}),
    ("spruce C24 45x195", {"grade": "C24", "width_mm": 195}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "expected", "context"), [(*case, US) for case in CASES] + [(*case, EU) for case in EU_CASES]
)
def test_a_material_is_read_whole(text, expected, context):
    found = read(text, context)
    for name, value in expected.items():
        assert found.sets.get(name) == (pytest.approx(value, abs=0.05) if isinstance(value, int | float) else value), (
            name
        )
    assert found.remarks == []
    if not {"treatment_kind", "preservative"} & expected.keys():
        assert {"preservative", "retention_kg_m3"}.isdisjoint(found.sets)


def test_every_name_of_a_wood_is_that_wood():
    wrong = {}
    for row in KNOWN.table("species_names").records():
        species = read(row["phrase"].upper(), EU if row["region"] == "eu" else US).sets.get("species")
        if species != (row["species"] or "unknown"):
            wrong[row["phrase"], row["region"]] = species
    assert wrong == {}


@pytest.mark.parametrize("text", ["oak 9999x9999", "1x4 / 1x6 pine", "WRC qqzzq"])
def test_what_is_not_understood_is_said(text):
    found = read(text)
    assert len(found.remarks) == 1
    assert found.sets.get("thickness_mm", 0) <= 1500


# Common practice, no source: a film is the coat that meets the weather, whatever was named before it.
@pytest.mark.parametrize(
    ("text", "kind", "base"),
    [
        ("teak oil then varnish", "clear film", "soft oil"),
        ("wax + 2 coats paint", "paint", "wax"),
        ("paint over wax", "paint", "wax"),
        ("oil-based paint", "paint", None),
        ("teak oil", "oil", "soft oil"),
        ("linseed oil, then solid stain", "solid stain", None),
    ],
)
def test_the_last_coat_and_what_lies_beneath_it(text, kind, base):
    sets = read_cell(text, KNOWN.register.written["parts"]["finish"], KNOWN, US).sets
    assert (sets["finish_kind"], sets.get("finish_base")) == (kind, base)
