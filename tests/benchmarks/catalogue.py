"""A merchant's catalogue of any length, invented: plain articles in the words of the trade, the same for the same count.

`python tests/benchmarks/catalogue.py ROWS FILE` writes it as CSV.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

WOODS = ["western red cedar", "white oak", "larch", "Douglas fir", "southern pine", "spruce", "redwood", "teak"]
WAYS = ["{}", "{} heartwood", "PT {}", "PT {} .15 pcf", "{} kiln-dried", "reclaimed {}", "{} clear", "{} #2"]
PANELS = ["MDO plywood", "A-C plywood", "marine plywood", "OSB", "MDF", "BC plywood exterior"]
OTHERS = ["galvanized steel", "stainless steel", "HDPE"]
MATERIALS = [*(way.format(wood) for wood in WOODS for way in WAYS), *PANELS, *OTHERS]
THICK = ["3/4", "1", '1 1/4"', "1-1/2", "19 mm", "38 mm", "3 1/2", "5 1/2"]
WIDE = ["1 1/2", "2 1/2", "3 1/2", "5 1/2", "7 1/4", "9 1/4", "140 mm"]
LONG = ["18", "24", "36", "4 ft", "6 ft", "8 ft", "2400 mm", "1800 mm"]
EXPOSURES = ["weather", "ground", "sheltered", "indoor", "ground + weather", "fresh water", ""]
ROLES = ["post", "rail", "board", "panel", "seat", "leg", "step", "trim", "floor", ""]
FINISHES = ["", "oil", "2 coats paint", "clear varnish", "semi-transparent stain", "none"]
DETAILS = ["open", "lapped", "trapped", "cup", "ventilated", ""]
ENDS = ["open", "sealed", "capped", ""]
COLUMNS = {
    "material": MATERIALS,
    "thickness": THICK,
    "width": WIDE,
    "length": LONG,
    "exposure": EXPOSURES,
    "role": ROLES,
    "finish": FINISHES,
    "detail": DETAILS,
    "end grain": ENDS,
}


def cells(count: int, seed: int = 1) -> dict[str, np.ndarray]:
    """The columns of the catalogue as arrays of text."""
    rng = np.random.default_rng(seed)
    drawn = {name: np.array(words, object)[rng.integers(0, len(words), count)] for name, words in COLUMNS.items()}
    names = np.array([f"article {number}" for number in range(1, count + 1)], object)
    quantities = np.array([str(number) for number in range(1, 61)], object)[rng.integers(0, 60, count)]
    return {"part": names, "qty": quantities, **drawn}


def write(count: int, path: Path) -> None:
    """Write the catalogue as CSV."""
    columns = cells(count)
    quoted = [
        ['"' + cell.replace('"', '""') + '"' if '"' in cell else cell for cell in one] for one in columns.values()
    ]
    with path.open("w", encoding="utf-8", newline="") as file:
        file.write(",".join(columns) + "\n")
        file.writelines(",".join(row) + "\n" for row in zip(*quoted, strict=True))


if __name__ == "__main__":
    write(int(sys.argv[1]), Path(sys.argv[2]))
