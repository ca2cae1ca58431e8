"""YAML: what stays text, what is refused, and where."""

from __future__ import annotations

import pytest

from gatepost import yamlfile
from gatepost.errors import InputError


@pytest.mark.parametrize(
    "text",
    ["no", "yes", "12:30", "0123", "1_000", "2026-05-01", "on", "off", "0x1F", "1e", ".", "+", "1.2.3", "NaN", ".inf"],
)
def test_odd_scalars_stay_text(text):
    assert yamlfile.load(f"a: {text}", "x").data == {"a": text}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("3", 3),
        ("-2", -2),
        ("0.5", 0.5),
        (".5", 0.5),
        ("1e3", 1000.0),
        ("true", True),
        ("null", None),
        ("~", None),
        ('"3"', "3"),
        ("0", 0),
    ],
)
def test_plain_scalars(text, value):
    found = yamlfile.load(f"a: {text}", "x").data["a"]
    assert found == value
    assert type(found) is type(value)


def test_a_key_that_stands_twice_is_located():
    with pytest.raises(InputError, match=r"x:3: a: the key stands twice here; keep one \(first on line 1\)"):
        yamlfile.load("a: 1\nb: 2\na: 3\n", "x")
    assert len(yamlfile.load("a: 1\na: 2\n", "x", strict=False).problems) == 1


@pytest.mark.parametrize("text", ["a: [1", "a: b: c", "- &x [*x]", "[" * 200, "\x00"])
def test_what_cannot_be_read_is_refused_with_a_place(text):
    with pytest.raises(InputError) as caught:
        yamlfile.load(text, "x")
    assert str(caught.value).startswith("x:")


def test_an_alias_bomb_is_refused():
    lines = ["a0: &a0 [1, 1, 1, 1, 1, 1, 1, 1, 1]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 9)]
    with pytest.raises(InputError):
        yamlfile.load("\n".join(lines), "x")


def test_lines_are_those_of_the_file():
    located = yamlfile.load("a:\n  - b: 1\n    c: 2\n", "x")
    assert located.line(("a", 0, "c")) == 3
    assert located.line(("a", 0, "missing")) == 2


def test_a_tag_runs_nothing():
    assert yamlfile.load("a: !!python/object/apply:os.system [x]", "x").data == {"a": ["x"]}
