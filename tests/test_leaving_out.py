"""Missing facts: a column that is left out gives the same finding, a note that asks for it, or a stated default; never
another number without a word.

The design states this for every column and every rule. Each whole project is copied once for each of its columns, and the
copy without the column compared with the whole one, rule by rule, number by number.
"""

from __future__ import annotations

import numpy as np
import pytest
import yaml

import leaving_out
import projects
from gatepost.clauses import encode_word
from gatepost.library import OVERS
from gatepost.reading import read
from gatepost.review import review
from gatepost.writing.findings import notes

REGISTER = leaving_out.KNOWN.register


@pytest.fixture(scope="module")
def seen():
    """Columns that were left out somewhere, gathered by the projects' tests for the last one."""
    return set()


@pytest.mark.parametrize("name", projects.PROJECTS)
def test_no_column_of_a_project_is_left_out_without_a_word(name, tmp_path, seen):
    copies = leaving_out.judged(name, tmp_path)
    seen |= set(copies.left_out[1:])
    word = leaving_out.noted(copies) | leaving_out.assumed(copies)
    silent = []
    for over, number, row, what in leaving_out.changes(copies):
        column = REGISTER.written[copies.left_out[number][0]][copies.left_out[number][1]]
        stated = column.blank != "unknown" or column.without
        if not stated and not leaving_out.spoken_for(copies, word, over, number, row):
            silent.append((copies.left_out[number], over, row, what))
    assert silent == []


def test_every_column_was_left_out_somewhere(seen):
    """A column that no project fills would never be walked."""
    every = {
        (over, name)
        for over, names in leaving_out.NAMES.items()
        for name in REGISTER.written[over]
        if name not in names
    }
    assert sorted(every - seen) == []


@pytest.mark.parametrize("over", OVERS)
def test_a_rule_that_lacks_a_fact_of_its_example_waits_and_is_never_denied(over):
    """Every rule, every column that it reads: with the column unknown no clause is surely false."""
    walked = 0
    for one in leaving_out.RULES:
        if one.rule.over != over:
            continue
        for name in one.columns:
            example = {key: value for key, value in one.rule.example.items() if key != name}

            class Row:
                def get(self, wanted, example=example):
                    return np.array([encode_word(REGISTER.find(over, wanted), example.get(wanted))])

            denied = [clause.text for clause in one.clauses if clause.ask(Row())[1].any()]
            assert denied == [], (one.rule.rule, name)
            walked += 1
    assert walked >= {"parts": 400, "joints": 200, "project": 10}[over]


@pytest.mark.parametrize("key", ["site", "life", "work", "stands"])
@pytest.mark.parametrize("name", ["demo_sound", "garden_deck_us", "shed_and_table_eu", "yard_of_faults_us"])
def test_no_key_of_a_project_is_left_out_without_a_word(name, key, tmp_path):
    folder = projects.PROJECTS[name]
    data = yaml.safe_load((folder / "project.yaml").read_text(encoding="utf-8"))
    if key not in data:
        return
    for path in folder.iterdir():
        if path.name != "project.yaml":
            (tmp_path / path.name).write_bytes(path.read_bytes())

    def told(**change):
        (tmp_path / "project.yaml").write_text(yaml.safe_dump({**data, **change}), encoding="utf-8")
        made = review(read(tmp_path / "project.yaml", scheme=data.get("scheme")))
        words = {*made.facts.project.said, *(note.message for note in notes(made))}
        words |= {one.rule.rule.rule for one in made.found if one.over == "project"}
        found = {(one.rule.rule.rule, one.over, one.row) for one in made.found}
        frames = (made.facts.parts, made.facts.joints, made.facts.whole)
        return words, found, [frame.select_dtypes("number").to_numpy(float) for frame in frames]

    (words, found, numbers), (fewer_words, other_found, other_numbers) = told(), told(**{key: None})
    pairs = zip(other_numbers, numbers, strict=True)
    same = all((np.isnan(other) | np.isclose(other, one, rtol=1e-9)).all() for other, one in pairs)
    assert fewer_words - words or (same and found == other_found)


def test_what_goes_on_without_a_cell_is_said_once_with_the_number_of_rows(tmp_path):
    (tmp_path / "parts.csv").write_text("part,material,width\npost,larch,\nrail,larch,3\nbrace,larch,\npin,steel,\n")
    said = [text for text in read(tmp_path / "parts.csv").said if text.startswith("not given: ")]
    assert len(said) == 1
    assert "width of 2 parts (moisture is reckoned by the thickness alone)" in said[0]
    assert said[0].count("width of") == 1
