"""The year at a place as a picture."""

from __future__ import annotations

import subprocess
import sys
from xml.etree import ElementTree

import numpy as np
import pytest

from gatepost.deriving.site import facts_of_place
from gatepost.errors import InputError
from gatepost.library import library
from gatepost.project import Climate, Site
from gatepost.reading import find_site
from gatepost.writing import sheets, site_picture

KNOWN = library()
SVG = "{http://www.w3.org/2000/svg}"


def page_of(site):
    return sheets.site_page(site, facts_of_place(site, KNOWN), KNOWN)


def texts(svg):
    return [" ".join("".join(each.itertext()).split()) for each in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def test_it_is_xml_with_title_description_and_text_as_text():
    page = page_of(find_site("Madison, WI", KNOWN))
    svg = site_picture.draw(page, KNOWN)
    root = ElementTree.fromstring(svg)
    assert root.get("role") == "img"
    assert (root[0].tag, root[1].tag) == (f"{SVG}title", f"{SVG}desc")
    assert root.get("aria-labelledby") == f"{root[0].get('id')} {root[1].get('id')}"
    assert page.site in root[0].text
    assert all(month in root[1].text for month in sheets.MONTHS)
    shown = texts(svg)
    for text in ("Moisture content of sheltered wood [%]", "Days with rain", "Mean temperature [°C]", "Jan", "Dec"):
        assert text in shown
    for month in page.months:
        assert f"{month.emc_pct:.1f}" in shown
    joined = " ".join(shown)
    assert "Scheffer climate index" in joined
    assert "(seen)" in joined
    assert "Hollow points" in joined


def test_black_and_grey_only():
    svg = site_picture.draw(page_of(find_site("Madison, WI", KNOWN)), KNOWN)
    colours = {word[:7] for word in svg.split("#")[1:] for word in ["#" + word[:6]] if len(word) == 7}
    colours = {colour for colour in colours if all(sign in "0123456789abcdef" for sign in colour[1:])}
    assert colours
    assert all(colour[1:3] == colour[3:5] == colour[5:7] for colour in colours)


def test_equal_input_gives_equal_bytes_in_two_processes(tmp_path):
    for name in ("a.svg", "b.svg"):
        call = [sys.executable, "-m", "gatepost", "site", "Madison, WI", "-o", name]
        done = subprocess.run(call, cwd=tmp_path, capture_output=True, text=True, check=False)
        assert (done.returncode, done.stdout) == (0, ""), done.stderr
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.svg", "b.svg"]
    assert "<dc:date>" not in (tmp_path / "a.svg").read_text(encoding="utf-8")


def test_what_is_not_known_is_said_and_not_drawn():
    nothing = Site("<Nowhere> & $x^2$", None, None, None, None, None, Climate.unknown(), "weather file", "seen")
    svg = site_picture.draw(page_of(nothing), KNOWN)
    assert texts(svg).count("not known") == 3
    assert any("<Nowhere> & $x^2$" in text for text in texts(svg))
    some = np.where(np.arange(12) == 1, np.nan, 12.0)
    partly = Site("Partly", 1.0, 2.0, None, None, None, Climate(some, some + 50, some), "weather file", "seen")
    assert texts(site_picture.draw(page_of(partly), KNOWN)).count("–") == 3


def test_extremes_stay_inside_the_axes():
    def flat(value):
        return np.full(12, float(value))

    for t_c, rh_pct, days in ((-60.0, 99.0, 31), (45.0, 2.0, 0), (30.0, 99.9, 31)):
        site = Site("Far", 0.0, 0.0, None, None, None, Climate(flat(t_c), flat(rh_pct), flat(days)), "x", "seen")
        ElementTree.fromstring(site_picture.draw(page_of(site), KNOWN))


@pytest.mark.parametrize("name", ["year.png", "year", "year.svgz"])
def test_another_suffix_is_refused(tmp_path, name):
    page = page_of(find_site("Madison, WI", KNOWN))
    with pytest.raises(InputError, match=r"written as \.svg"):
        site_picture.write(page, tmp_path / name, KNOWN)
    assert not list(tmp_path.iterdir())


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(InputError, match="cannot be written"):
        site_picture.write(page_of(find_site("Madison, WI", KNOWN)), tmp_path / "none" / "year.svg", KNOWN)
