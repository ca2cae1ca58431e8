"""Every table of data/: sources, statuses, bounds, words, keys, and what one table says of another."""

from __future__ import annotations

import re

import numpy as np
import pytest

from gatepost import yamlfile
from gatepost.clauses import compile_clause
from gatepost.library import OVERS, STATUSES, library
from gatepost.reading.vocabulary import normal

KNOWN = library()
REGISTER = KNOWN.register
FACTS = [column for over in OVERS for column in REGISTER.facts[over].values()]
LOOKUPS = [column for column in FACTS if column.lookup]
# climate_monthly.csv is the data of the works that sites.csv names for each place.
WITHOUT_SOURCE = {"climate_monthly"}


@pytest.mark.parametrize("name", KNOWN.table_names())
def test_rows_have_a_source_that_is_listed_and_a_status(name):
    table = KNOWN.table(name)
    assert len(set(table.header)) == len(table.header)
    assert len(table) > 0
    if name in WITHOUT_SOURCE:
        return
    assert table.header[-2:] == ["source", "status"]
    assert set(table.words("status")) <= set(STATUSES)
    cited = {key for cell in table.words("source") for key in re.split(r";\s*", cell)}
    assert cited - {"practice"} <= set(KNOWN.sources)


def test_a_row_without_source_is_practice_and_the_other_way_round():
    for name in set(KNOWN.table_names()) - WITHOUT_SOURCE:
        table = KNOWN.table(name)
        for source, status in zip(table.words("source"), table.words("status"), strict=True):
            if source == "practice":
                assert status == "practice", name


def test_no_row_is_graded_above_its_work():
    rank = {"seen": 3, "secondary": 2, "memory": 1, "practice": 0}
    for name in set(KNOWN.table_names()) - WITHOUT_SOURCE:
        for row in KNOWN.table(name).records():
            for key in re.split(r";\s*", row["source"]):
                if key != "practice":
                    assert rank[row["status"]] <= rank[KNOWN.sources[key].status], (name, row)


@pytest.mark.parametrize("column", LOOKUPS, ids=lambda column: f"{column.over}.{column.name}")
def test_a_lookup_finds_allowed_values_under_keys_that_are_unique(column):
    table_name, key, name = column.lookup
    table = KNOWN.table(table_name)
    keys = table.words(table.header[0])
    assert len(set(keys)) == len(keys)
    allowed = REGISTER.facts[column.over][key].values
    assert set(keys) <= set(allowed) | ({"zinc-coated steel"} if table_name == "metals" else set())
    if column.is_number:
        values = table.numbers(name)
        low, high = column.bounds
        assert ((values >= low) & (values <= high) | np.isnan(values)).all()
    else:
        assert set(table.words(name)) - {""} <= set(column.values)


@pytest.mark.parametrize("name", ["shrinkage", "movement_coefficients"])
def test_wood_moves_more_tangentially_than_radially(name):
    table = KNOWN.table(name)
    radial, tangential = (
        table.numbers(next(c for c in table.header if c.startswith(d))) for d in ("radial", "tangential")
    )
    both = ~(np.isnan(radial) | np.isnan(tangential))
    assert (radial[both] < tangential[both]).all()


def test_every_wood_of_every_table_is_listed():
    woods = set(KNOWN.table("species").words("species"))
    for name in KNOWN.table_names():
        table = KNOWN.table(name)
        if "species" in table.header:
            assert set(table.words("species")) - {""} <= woods, name
    for row in KNOWN.table("species_names").records():
        assert set(filter(None, row["may_mean"].split("; "))) <= woods, row


def test_phrases_stand_as_they_are_matched():
    for name in ("words", "species_names"):
        phrases = KNOWN.table(name).words("phrase")
        assert [p for p in phrases if normal(p) != p] == []


def test_words_set_allowed_values_once():
    seen = set()
    for row in KNOWN.table("words").records():
        key = (row["column"], row["phrase"])
        assert key not in seen
        seen.add(key)
        if row["column"] == "ignored":
            continue
        column = REGISTER.facts["parts"].get(row["column"]) or REGISTER.facts["joints"][row["column"]]
        allowed = {*column.values, "unknown"}
        if column.is_number:
            assert row["value"] == "unknown" or float(row["value"]) >= 0
        else:
            assert set(row["value"].removesuffix("?").split(" + ")) <= allowed, row


def test_defaults_are_allowed_values():
    for row in KNOWN.table("defaults").records():
        facts, written = REGISTER.facts[row["list"]], REGISTER.written[row["list"]]
        column, given = (facts.get(row[key]) or written[row[key]] for key in ("column", "given"))
        assert row["is"] in given.values, row
        assert row["value"] == "unknown" or column.is_number or set(row["value"].split(" + ")) <= set(column.values), (
            row
        )


def test_class_steps_ask_only_what_the_register_says_they_need():
    needs = {need.removesuffix("?") for need in REGISTER.facts["parts"]["use_class"].needs}
    for step in yamlfile.load_file(KNOWN.folder / "class_steps.yaml").data:
        assert step["source"] in KNOWN.sources
        for text in step["when"]:
            assert set(compile_clause(text, "parts", REGISTER).columns) <= needs | {"use_class"}


def test_climate_is_whole_and_sensible():
    sites, months = KNOWN.table("sites"), KNOWN.table("climate_monthly")
    assert len(months) == 12 * len(sites)
    assert list(months.words("site")[::12]) == list(dict.fromkeys(months.words("site")))
    assert (months.numbers("month").reshape(-1, 12) == np.arange(1, 13)).all()
    humidity = months.numbers("rh_pct")
    assert ((humidity > 5) & (humidity <= 100)).all()
    assert not (months.numbers("t_min_c") > months.numbers("t_max_c")).any()
    assert (np.abs(sites.numbers("lat")) <= 90).all()
    assert (np.abs(sites.numbers("lon")) <= 180).all()


def test_every_source_is_cited_somewhere():
    cited = {
        key
        for name in KNOWN.table_names()
        if name not in WITHOUT_SOURCE
        for cell in KNOWN.table(name).words("source")
        for key in re.split(r";\s*", cell)
    }
    rules = "".join(path.read_text(encoding="utf-8") for path in (KNOWN.folder / "rules").glob("*.yaml"))
    files = ("class_steps.yaml", "work_steps.yaml", "client_words.yaml")
    steps = "".join((KNOWN.folder / name).read_text(encoding="utf-8") for name in files)
    cited |= set(re.findall(r"source: (\S+)", rules + steps))
    folder = KNOWN.folder.parent / "tests" / "published"
    cited |= {
        key
        for path in folder.glob("*.yaml")
        for key in re.findall(r"^work: (\S+)", path.read_text(encoding="utf-8"), re.M)
    }
    assert set(KNOWN.sources) - cited == set()
