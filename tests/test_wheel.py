"""The wheel carries data/ file by file, and nothing that is not the package."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest
from hatchling.builders.wheel import WheelBuilder

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    folder = tmp_path_factory.mktemp("dist")
    [path] = WheelBuilder(str(ROOT)).build(directory=str(folder), versions=["standard"])
    with zipfile.ZipFile(path) as archive:
        yield {name: archive.read(name) for name in archive.namelist()}


def test_data_is_whole(wheel):
    shipped = {n.removeprefix("gatepost/data/"): b for n, b in wheel.items() if n.startswith("gatepost/data/")}
    here = {str(p.relative_to(ROOT / "data")): p.read_bytes() for p in (ROOT / "data").rglob("*") if p.is_file()}
    assert shipped == here


def test_only_the_package_is_shipped(wheel):
    tops = {name.split("/")[0] for name in wheel}
    assert {top for top in tops if not top.endswith(".dist-info")} == {"gatepost"}
