"""What nails, screws and bolts hold in wood: pull along the shank and load across it. Guide values, no structural design."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .arrays import Array, floats, quiet

SMALL_MM = 6.35
"""Below this shank the wood bears alike along and across the grain."""
MM_PER_IN = 25.4
MOST_GRAVITY = 1.0


def withdrawal_n(
    penetration_mm: ArrayLike,
    diameter_mm: ArrayLike,
    gravity: ArrayLike,
    k: ArrayLike,
    gravity_power: ArrayLike,
    diameter_power: ArrayLike,
) -> Array:
    """Ultimate pull from side grain, dry and just driven [N]: k G^a D^b L.

    penetration_mm  of the shank or thread in the holding piece [mm]
    gravity         specific gravity, ovendry weight and volume at 12 %, 0.1 to 1; outside NaN
    k, the powers   of the kind of fastener, for N and mm

    Wood Handbook eqs. 8-1 (nails), 8-10 (screws) and 8-13 (lag screws). An 8d common nail 38 mm deep in a wood of 0.5:
    >>> round(float(withdrawal_n(38, 3.33, 0.5, 54.12, 2.5, 1)))
    1211
    """
    length, d, g, constant, a, b = floats(penetration_mm, diameter_mm, gravity, k, gravity_power, diameter_power)
    with quiet():
        pull = constant * g**a * d**b * length
    return np.where((g >= 0.1) & (g <= MOST_GRAVITY) & (d > 0) & (length >= 0), pull, np.nan)


def bearing_mpa(gravity: ArrayLike, diameter_mm: ArrayLike) -> Array:
    """Least dowel bearing strength of wood: along and across alike below 1/4 in, across the grain above [MPa].

    The equations of the National Design Specification (recalled): 16600 G^1.84 psi, and 6100 G^1.45 D^-0.5 psi.
    """
    g, d = floats(gravity, diameter_mm)
    with quiet():
        return np.where(d < SMALL_MM, 114.5 * g**1.84, 212.0 * g**1.45 / np.sqrt(d))


def yield_limit_n(
    diameter_mm: ArrayLike,
    side_mm: ArrayLike,
    main_mm: ArrayLike,
    side_bearing_mpa: ArrayLike,
    main_bearing_mpa: ArrayLike,
    yield_mpa: ArrayLike,
) -> Array:
    """Load across one fastener in single shear, the least of six ways to yield, each reduced [N].

    diameter_mm      shank, or root where the thread bears [mm]
    side_mm, main_mm lengths in the piece fastened through and in the holding piece [mm]
    bearing_mpa      of both pieces; above 1/4 in the reduction is that of a load across the grain [MPa]
    yield_mpa        bending yield strength of the fastener [MPa]

    Yield limit equations as in Technical Report 12 and the National Design Specification (recalled). An 8d common nail
    through 3/4 in, wood of 0.50 twice: 90 lb (400 N).
    >>> round(float(yield_limit_n(3.327, 19.05, 44.45, 31.97, 31.97, 689.5)), -1)
    400.0
    """
    d, side, main, fs, fm, fy = floats(diameter_mm, side_mm, main_mm, side_bearing_mpa, main_bearing_mpa, yield_mpa)
    with quiet():
        ratio, lengths = fm / fs, main / side
        bend = 2 * fy / (3 * fm)
        k1 = _both_turn(ratio, lengths)
        k2 = -1 + np.sqrt(2 * (1 + ratio) + bend * (1 + 2 * ratio) * d**2 / main**2)
        k3 = -1 + np.sqrt(2 * (1 + ratio) / ratio + bend * (2 + ratio) * d**2 / side**2)
        crush, turn, bent = _reductions(d)
        modes = (
            d * main * fm / crush,
            d * side * fs / crush,
            k1 * d * side * fs / turn,
            k2 * d * main * fm / ((1 + 2 * ratio) * bent),
            k3 * d * side * fm / ((2 + ratio) * bent),
            d**2 / bent * np.sqrt(bend / (1 + ratio)) * fm,
        )
        least = np.minimum.reduce(np.broadcast_arrays(*modes))
    return np.where((d > 0) & (side > 0) & (main > 0), least, np.nan)


def _both_turn(ratio: Array, lengths: Array) -> Array:
    """Factor of the mode in which the fastener turns as a stiff bar in both pieces."""
    inner = ratio + 2 * ratio**2 * (1 + lengths + lengths**2) + lengths**2 * ratio**3
    return (np.sqrt(inner) - ratio * (1 + lengths)) / (1 + ratio)


def _reductions(d: Array) -> tuple[Array, Array, Array]:
    """Reduction terms for crushing, turning and bending, by the shank; thick shanks as loaded across the grain."""
    inches = d / MM_PER_IN
    thin = np.where(inches <= 0.17, 2.2, 10 * inches + 0.5)
    across = 1.25
    crush, turn, bent = (np.where(d < SMALL_MM, thin, term * across) for term in (4.0, 3.6, 3.2))
    return crush, turn, bent
