"""How deep preservative goes: what is asked, what stays bare, and what a shop wrote of its cuts."""

from __future__ import annotations

import itertools

import pytest

from gatepost.library import library
from gatepost.reading.cells import read_cell
from gatepost.reading.sizes import Context
from published_routes import part_fact

KNOWN = library()
ORDER = KNOWN.register.facts["parts"]["untreated_core"].values
STICK = {"scheme": "us", "thickness": "1 1/2", "width": "3 1/2", "exposure": "weather", "role": "rail", "lies": "upright"}  # fmt: skip


def fact(name, **given):
    return part_fact({**STICK, **given, "fact": name})


def core(**given):
    return fact("untreated_core", **given)


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ({"material": "southern pine, CA-C UC4A", "wood_part": "sap"}, "no"), ({"material": "southern pine, CA-C UC4A"}, "maybe"), ({"material": "southern pine, CA-C, brushed", "wood_part": "sap"}, "yes"),
        ({"material": "hem-fir, CA-C UC4A", "incised": "yes"}, "yes"), ({"material": "hem-fir, CA-C UC4A", "incised": "yes", "thickness": "3/4"}, "no"), ({"material": "hem-fir, CA-C UC4A", "incised": "no", "thickness": "3/4"}, "yes"),
        ({"material": "hem-fir, CA-C UC4A", "thickness": "3/4"}, "maybe"), ({"material": "hem-fir, CA-C UC4A", "wood_part": "sap"}, "maybe"), ({"material": "Norway spruce, NTR A", "scheme": "eu", "thickness": "45 mm"}, "yes"),
        ({"material": "round Douglas-fir post, ACZA UC4B", "thickness": "6", "width": "6"}, "maybe"),
    ],
)  # fmt: skip
def test_what_stays_bare_inside(given, wanted):
    assert core(**given) == wanted


@pytest.mark.parametrize("material", ["southern pine", "hem-fir", "Douglas-fir, acetylated", "treated plywood", "Port Orford cedar, CA-C UC4A"])  # fmt: skip
def test_nothing_is_said_of_a_core_where_nothing_is_known(material):
    assert core(material=material, incised="yes") != core(material=material, incised="yes")


def test_a_thicker_stick_and_an_unslit_face_never_treat_better():
    for material, part in itertools.product(("hem-fir, CA-C UC4A", "southern pine, CA-C UC4A"), ("sap", "mixed", "heart")):  # fmt: skip
        by_size = [ORDER.index(core(material=material, wood_part=part, incised="yes", thickness=t)) for t in ("1/2", "3/4", "7/8", "3 1/2", "7 1/4")]  # fmt: skip
        assert by_size == sorted(by_size)
        slit, whole = (ORDER.index(core(material=material, wood_part=part, incised=word)) for word in ("yes", "no"))
        assert slit <= whole


@pytest.mark.parametrize(("thickness", "depth_mm"), [("4 7/8", 10), ("5", 10), ("5 1/8", 13)])
def test_depth_asked_steps_up_above_five_inches(thickness, depth_mm):
    assert fact("penetration_needed_mm", material="Douglas-fir, ACZA UC4B", thickness=thickness, width="6") == depth_mm


@pytest.mark.parametrize(
    ("text", "kind", "name"),
    [
        ("preservative", "preservative", None), ("brushed with copper naphthenate, 2 %", "preservative", "copper naphthenate"), ("borate", "preservative", "borate"), ("copper 8", "preservative", "oxine copper"),
        ("wax", "sealer", None), ("none", "none", None), ("moonlight", "unknown", None),
    ],
)  # fmt: skip
def test_what_the_cuts_got(text, kind, name):
    cell = read_cell(text, KNOWN.register.written["parts"]["cut_treatment"], KNOWN, Context("in", "us"))
    assert (cell.sets["cut_treatment"], cell.sets.get("cut_preservative")) == (kind, name)
    assert (kind == "unknown") == any("moonlight" in remark for remark in cell.remarks)
