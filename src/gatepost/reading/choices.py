"""What a shop could write instead: rows of choices read as a parts list or a joints list is read."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from ..library import Library, Over
from .assemble import completed
from .files import Rows
from .lists import read_list
from .sizes import Context

NAMES = {"parts": ["part", "material"], "joints": ["joint", "part_a", "part_b"]}


def choices_frame(
    columns: Sequence[str], cells: Sequence[Sequence[str]], over: Over, scheme: str, units: str, known: Library
) -> pd.DataFrame:
    """Rows of written columns as the facts that `read` makes of them, blanks filled as in any list.

    columns  names of the register, as a shop writes them; cells  a row each, text
    Raises InputError for a cell that cannot be read.
    """
    missing = [name for name in NAMES[over] if name not in columns]
    header = [*missing, *columns]
    rows = [["-" if name != "material" else "" for name in missing] + list(row) for row in cells]
    lines = list(range(1, len(rows) + 2))
    read = read_list(Rows("choices", lines, [header, *rows]), over, known, Context(units, scheme))
    return completed(read, over, known, {})[0]
