"""Facts: all made, none for a missing fact without a word, no row added, the order right."""

from __future__ import annotations

import functools
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from gatepost.deriving import derive
from gatepost.deriving.engine import needed, order
from gatepost.deriving.values import ManyWords, Words, once_a_kind
from gatepost.library import OVERS, library
from gatepost.reading import read
from gatepost.review import review

KNOWN = library()
DEMO = Path(__file__).resolve().parents[1] / "data" / "demo"
WRITTEN = {over: list(KNOWN.register.written[over]) for over in ("parts", "joints")}


@functools.cache
def sound():
    return derive(read(DEMO / "sound" / "project.yaml"))


def test_every_fact_is_made_once_after_what_it_needs():
    place = {node: i for i, node in enumerate(order(KNOWN))}
    facts = KNOWN.register.facts
    assert set(place) == {(over, name) for over in OVERS for name, column in facts[over].items() if column.derived}
    for node, at in place.items():
        for _, needs in needed(KNOWN.register, facts[node[0]][node[1]]):
            assert place.get(needs, -1) < at


def test_once_a_kind_gives_what_row_by_row_gives():
    """A word, several words and numbers with unknown ones among them; what is one for all rows stays one."""
    rng = np.random.default_rng(5)

    def plain(word, many, number, one):
        worth = np.where(word.is_in("b"), number, np.nan) + np.where(many.has("y"), 1, 0) + one
        return {"worth": worth, "text": np.array(["x", None], object)[word.codes]}

    facts = {
        "word": Words(rng.integers(-1, 2, 400), ("a", "b")),
        "many": ManyWords(rng.integers(0, 4, 400), ("x", "y")),
        "number": rng.choice([np.nan, 1.5, -2.0], 400),
        "one": np.array([7.0]),
    }
    kinds = []

    def told(**given):
        kinds.append(len(given["number"]))
        return plain(**given)

    made, expected = once_a_kind(told)(**facts), plain(**facts)
    assert kinds[0] <= 3 * 4 * 3
    np.testing.assert_array_equal(made["worth"], expected["worth"])
    assert made["text"].tolist() == expected["text"].tolist()


def test_frames_hold_every_fact_and_no_more_rows():
    facts = sound()
    frames = {"parts": facts.parts, "joints": facts.joints, "project": facts.whole}
    given = {"parts": facts.project.parts, "joints": facts.project.joints, "project": facts.project.whole}
    for over, frame in frames.items():
        columns = KNOWN.register.facts[over]
        assert {name for name, column in columns.items() if column.kind != "series"} <= set(frame.columns)
        assert len(frame) == len(given[over])


@pytest.mark.parametrize("over", OVERS)
def test_facts_keep_the_bounds_and_words_of_the_register(over):
    frame = {"parts": sound().parts, "joints": sound().joints, "project": sound().whole}[over]
    for name, column in KNOWN.register.facts[over].items():
        if column.is_number and column.bounds:
            values = frame[name].to_numpy(float)
            assert (np.isnan(values) | (values >= column.bounds[0]) & (values <= column.bounds[1])).all(), name
        elif column.values and column.kind != "words":
            assert list(frame[name].cat.categories) == list(column.values), name


def listed(over):
    """A list of the sound demo as a frame of text."""
    return pd.read_csv(DEMO / "sound" / f"{over}.csv", dtype=str, keep_default_na=False)


@pytest.mark.parametrize(
    ("over", "column"),
    [(o, c) for o in ("parts", "joints") for c in listed(o).columns if not KNOWN.register.written[o][c].required],
)
def test_a_column_left_out_changes_nothing_without_a_word(over, column, tmp_path):
    """A number that changes rests on a default that is said, or the column's absence keeps a rule waiting."""
    frames = {name: listed(name) for name in ("parts", "joints")}
    if over == "parts" and column == "material":
        frames["parts"]["species"] = frames["parts"].pop("material").str.strip()
    else:
        frames[over] = frames[over].drop(columns=column)
    for name, frame in frames.items():
        frame.to_csv(tmp_path / f"{name}.csv", index=False)
    (tmp_path / "project.yaml").write_text(
        (DEMO / "sound" / "project.yaml").read_text(encoding="utf-8"), encoding="utf-8"
    )
    shutil.copy(DEMO / "sound" / "prices.csv", tmp_path)
    found = review(read(tmp_path / "project.yaml"))
    fact = KNOWN.register.written[over][column].name
    assumed = found.facts.project.assumed[over]
    told = set(assumed["row"][assumed["column"].isin([fact, *KNOWN.register.written[over][column].reads])])
    before, after = (sound().parts, found.facts.parts) if over == "parts" else (sound().joints, found.facts.joints)
    for name in KNOWN.register.facts[over]:
        changed = [
            i
            for i, (a, b) in enumerate(zip(before[name], after[name], strict=True))
            if pd.notna(a) and pd.notna(b) and a != b
        ]
        own = name in (fact, column) or KNOWN.register.facts[over][name].kind in ("text", "phrase")
        rests = (
            {"none"}
            if column
            in (
                "material",
                "treatment",
                "finish",
                "fastener",
                "coating",
                "glue",
                "hardware",
                "hardware_coating",
                "size",
                "grade",
                "near",
                "touches",
                "worked",
            )
            else set()
        )
        if changed and not own and not rests:
            assert set(changed) <= told | silent(over, fact), (name, changed)


def silent(over, fact):
    """Rows whose default need not be said, as the register has it: quiet columns."""
    column = KNOWN.register.facts[over][fact]
    return set(range(1000)) if column.quiet or column.blank == "unknown" else set()


def test_reasons_lead_from_an_unknown_fact_to_the_cell_that_would_tell(tmp_path):
    (tmp_path / "parts.csv").write_text(
        "part,material,exposure,thickness,width\npost,oak,,90,90\nrail,oak,weather,,90\n"
    )
    (tmp_path / "project.yaml").write_text("site: Madison, WI\nunits: mm\nparts: parts.csv\n")
    found = review(read(tmp_path / "project.yaml"))
    told = {(one.column, row) for one in found.missing for row in one.rows if one.over == "parts"}
    assert ("exposure", 0) in told
    assert ("thickness_mm", 1) in told
    assert ("use_class", 0) not in told


def test_width_on_the_driest_and_wettest_day_tells_the_swing_and_starts_from_the_day_of_assembly(tmp_path):
    """Wood Handbook eq. 13-2: growth goes with the change in moisture, so the day drops out (eq. 13-3 beyond 14 % differs a little)."""
    path = tmp_path / "parts.csv"
    rows = "\n".join(f"{word},white oak,1,5,sheltered,board,{word}" for word in ("8", "10", "12"))
    path.write_text(f"part,species,thickness,width,exposure,role,moisture\n{rows}\n", encoding="utf-8")
    parts = derive(read(path, site="Madison, WI")).parts
    span = parts["width_wettest_mm"] - parts["width_driest_mm"]
    assert np.allclose(span, parts["swing_mm"], rtol=0.12)
    assert (parts["width_driest_mm"].diff().dropna() < 0).all()
