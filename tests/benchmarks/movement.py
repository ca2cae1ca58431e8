"""How long a million boards take through swing, band and gap, beside the bare expression of eq. 13-2 on the same arrays.

`python tests/benchmarks/movement.py [BOARDS]` prints the ratios side by side; no test holds them.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

import numpy as np

from gatepost import moisture


def best(call: Callable[[], object], times: int = 5) -> float:
    """Seconds of the quickest of several calls."""
    seconds = []
    for _ in range(times):
        start = time.perf_counter()
        call()
        seconds.append(time.perf_counter() - start)
    return min(seconds)


def main(count: int) -> None:
    """Print the table."""
    rng = np.random.default_rng(1)
    width, start, end = rng.uniform(20, 300, count), rng.uniform(7, 10, count), rng.uniform(10, 13.9, count)
    coefficient, least = rng.uniform(0.0015, 0.004, count), rng.choice([2.0, 3.0], count)
    shrinkage = coefficient * 3000
    wet = rng.uniform(15, 29, count)
    bare = best(lambda: width * coefficient * (end - start))
    whole = best(lambda: moisture.swing_band_gap(width, coefficient, shrinkage, start, end, 0.19, least))
    wide = best(lambda: moisture.swing_band_gap(width, coefficient, shrinkage, start, wet, 0.19, least))
    mixed = rng.permutation(np.concatenate([wet[::2], end[: len(end[1::2])]]))
    both = best(lambda: moisture.swing_band_gap(width, coefficient, shrinkage, start, mixed, 0.19, least))
    print(f"{count} boards")
    print(f"eq. 13-2, bare numpy expression   {bare * 1000:8.1f} ms   1.0")
    print(f"swing, band and gap               {whole * 1000:8.1f} ms   {whole / bare:.1f}")
    print(f"the same, up to 15 to 29 %        {wide * 1000:8.1f} ms   {wide / bare:.1f}")
    print(f"the same, half of each at random  {both * 1000:8.1f} ms   {both / bare:.1f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
