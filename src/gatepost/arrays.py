"""What every room of physics needs: values as float arrays, and silence where unknown values meet."""

from __future__ import annotations

from functools import partial

import numpy as np
from numpy.typing import ArrayLike

Array = np.ndarray

quiet = partial(np.errstate, divide="ignore", invalid="ignore", over="ignore")
"""`with quiet():` unknown values and the ends of a range give NaN or infinity, and no warning."""


def floats(*values: ArrayLike | None) -> list[Array]:
    """Values as float arrays; None and "nan" count as unknown.

    >>> [array.tolist() for array in floats([1, None], 2)]
    [[1.0, nan], 2.0]
    """
    return [np.asarray(value, float) for value in values]


def inside(values: ArrayLike, low: float, high: float) -> Array:
    """True where low <= values <= high; False for NaN."""
    [array] = floats(values)
    return (array >= low) & (array <= high)
