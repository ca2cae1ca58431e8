"""Small encoded columns and projects, written by hand: what tests of single makers of facts share."""

from __future__ import annotations

import numpy as np

from gatepost.deriving import (
    derive,
)
from gatepost.deriving.values import Words
from gatepost.library import library
from gatepost.reading import read

KNOWN = library()
PARTS, JOINTS, PROJECT = (KNOWN.register.facts[over] for over in ("parts", "joints", "project"))
COLORS = ("red", "green", "blue")


def words(values, *chosen):
    return Words(np.array([values.index(word) if word else -1 for word in chosen], int), tuple(values))


def of(column, *chosen):
    return words(column.values, *chosen)


def written(folder, text, **settings):
    path = folder / "project.yaml"
    path.write_text(text, encoding="utf-8")
    return derive(read(path, **settings))
