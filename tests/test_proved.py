"""Rules that were proved beforehand: the same rules, and only while nothing they were made from has changed."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

import make_docs
from gatepost import proved
from gatepost.errors import InputError
from gatepost.judging import check_file, load_rules
from gatepost.library import Library, data_folder
from gatepost.yamlfile import load_file


@pytest.fixture
def folder(tmp_path) -> Path:
    """A data folder of our own with rules proved as they stand in the package."""
    for name in ("rules", "tables"):
        shutil.copytree(data_folder() / name, tmp_path / name)
    for name in ("columns.yaml", "sources.yaml"):
        shutil.copy(data_folder() / name, tmp_path / name)
    (tmp_path / proved.NAME).write_text(make_docs.proved_rules(), encoding="utf-8")
    return tmp_path


def test_the_packaged_file_is_what_proof_gives_now():
    written = (data_folder() / proved.NAME).read_text(encoding="utf-8")
    assert json.loads(written) == json.loads(make_docs.proved_rules()), "run python tests/make_docs.py"


def test_rules_proved_beforehand_are_those_that_prove_themselves(folder):
    known = Library(folder)
    files = sorted((folder / "rules").glob("*.yaml"))
    assert all(known.is_proved(f"rules/{path.name}") for path in files)
    anew = [one for path in files for one in check_file(load_file(path, f"data/rules/{path.name}"), known)[0]]
    ready = load_rules(known)
    assert [one.rule for one in ready] == [one.rule for one in anew]
    assert [(one.status, one.place, one.line, one.columns) for one in ready] == [
        (one.status, one.place, one.line, one.columns) for one in anew
    ]
    assert known.register == Library(data_folder()).register


@pytest.mark.parametrize("name", ["rules/detail.yaml", "columns.yaml", "sources.yaml", "tables/roles.csv"])
def test_any_change_has_all_rules_proved_again(folder, name):
    path = folder / name
    path.write_text(path.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    assert not Library(folder).is_proved("rules/detail.yaml")


def test_a_rule_broken_after_proof_is_refused(folder):
    path = folder / "rules" / "detail.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("near_miss: [", "near_miss: [{}, ", 1), encoding="utf-8")
    with pytest.raises(InputError, match="must break exactly one clause"):
        load_rules(Library(folder))


@pytest.mark.parametrize("text", ["", "[]", "{", '{"stamp": "0", "tables": [], "files": {}}', '{"stamp": 1}'])
def test_a_file_that_is_broken_or_not_of_these_rules_is_not_used(folder, text):
    (folder / proved.NAME).write_text(text, encoding="utf-8")
    assert not Library(folder).is_proved("rules/detail.yaml")


def test_a_shops_own_rules_are_always_proved(folder, tmp_path):
    own = tmp_path / "own.yaml"
    own.write_text("- rule: gate-too-low\n", encoding="utf-8")
    with pytest.raises(InputError, match="is missing"):
        load_rules(Library(folder), [own])
