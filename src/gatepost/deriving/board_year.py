"""The year of one plain board at a place, sheltered and in the rain: what a shop can lay its own parts beside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..library import Library
from ..project import Climate
from .index_place import member
from .values import Array, Words
from .wetness import CASES, months

TABLES = ("rain_faces", "rain_model", "emc_coefficients", "finishes")
SHELTERED = "sheltered"


@dataclass(frozen=True)
class BoardYear:
    """Moisture content by month [%], shape (12,); NaN where the climate is not known.

    sheltered, rained_on  the likely values
    low, high             driest reading of the sheltered board, wettest of the board in the rain
    species, thickness_mm, width_mm  the board: bare, and in the rain lying flat
    """

    sheltered: Array
    rained_on: Array
    low: Array
    high: Array
    species: str
    thickness_mm: float
    width_mm: float


def board_year(climate: Climate, known: Library) -> BoardYear:
    """The year of the reference member of the exposure index, under a roof and in the rain."""
    reference = known.table("index_reference")
    board = {**member(reference, known), **{name: known.table(name) for name in TABLES}, "climate": climate}
    situations = board["rain_situation"].values
    roofed = {**board, "rain_situation": Words(np.array([situations.index(SHELTERED)]), situations)}
    sheltered, rained_on = ({case: months(case, facts)[0] for case in CASES} for facts in (roofed, board))
    words = dict(zip(reference.words("quantity"), reference.words("word"), strict=True))
    return BoardYear(
        sheltered["likely"],
        rained_on["likely"],
        sheltered["low"],
        rained_on["high"],
        words["species"],
        *(reference.number(name, "value") for name in ("thickness_mm", "width_mm")),
    )
