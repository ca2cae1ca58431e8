"""Amounts in the user's units: lengths of stock, areas, volumes, masses."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

from ..units import MM_PER_IN, print_size, print_sizes

MM_PER_FT = 12 * MM_PER_IN
FT2_PER_M2 = 1e6 / MM_PER_FT**2
QUARTS_PER_LITRE = 1 / 0.946352946
QUARTS_PER_GALLON = 4
GRAMS_PER_OUNCE = 28.349523125
OUNCES_PER_POUND = 16


def stock_length(mm: float, units: str) -> str:
    """Whole feet or metres, as lengths are ordered.

    >>> stock_length(4876.8, "in"), stock_length(4800, "mm"), stock_length(4876.8, "both")
    ('16 ft', '4.8 m', '16 ft (4.88 m)')
    """
    feet = mm / MM_PER_FT
    inches = f"{feet:.0f} ft" if abs(feet - round(feet)) < 1e-6 else print_size(mm, "in")
    metres = f"{mm / 1000:.4g} m" if round(mm) % 100 == 0 else f"{mm / 1000:.2f} m"
    return {"in": inches, "mm": metres}.get(units, f"{inches} ({metres})")


def coarse(part: dict[str, Any], units: str) -> str:
    """Length, width and thickness as far as they are written."""
    sizes = [part[name] for name in ("length_mm", "width_mm", "thickness_mm")]
    return print_sizes([one for one in sizes if one is not None], units) or "not written"


def area(m2: float, units: str) -> str:
    """Whole square feet, or square metres to a tenth."""
    feet = "under 1 sq ft" if m2 * FT2_PER_M2 < 1 else f"{m2 * FT2_PER_M2:.0f} sq ft"
    metres = "under 0.1 m²" if m2 < 0.1 else f"{m2:.1f} m²"
    return {"in": feet, "mm": metres}.get(units, f"{feet} ({metres})")


def litres(ends: tuple[float, float] | None, units: str) -> str:
    """Low to high, up to the next half quart or gallon, or the next tenth of a litre.

    >>> litres((0.7, 1.06), "in"), litres((0.7, 1.06), "mm"), litres(None, "mm")
    ('1 to 1-1/2 quarts', '0.7 to 1.1 litres', 'no published coverage; as the label says')
    """
    if ends is None:
        return "no published coverage; as the label says"
    quarts = [one * QUARTS_PER_LITRE for one in ends]
    if quarts[1] > QUARTS_PER_GALLON:
        inches = _counted("gallon", *(_halves(one / QUARTS_PER_GALLON) for one in quarts))
    else:
        inches = _counted("quart", *(_halves(one) for one in quarts))
    metric = _counted("litre", *(f"{math.ceil(one * 10 - 1e-6) / 10:g}" for one in ends))
    return {"in": inches, "mm": metric}.get(units, f"{inches} ({metric})")


def mass(low_g: float, high_g: float, units: str) -> str:
    """Low to high in ounces or pounds, or in grams or kilograms."""
    ounces = [one / GRAMS_PER_OUNCE for one in (low_g, high_g)]
    pounds = [_halves(one / OUNCES_PER_POUND - 0.01) for one in ounces]
    inches = (
        f"{_span(*pounds)} lb"
        if ounces[1] >= OUNCES_PER_POUND - 0.1
        else f"{_span(*(str(math.ceil(one)) for one in ounces))} oz"
    )
    heavy = high_g >= 1000
    metric = f"{_span(*(f'{_two(one / 1000 if heavy else one)}' for one in (low_g, high_g)))} {'kg' if heavy else 'g'}"
    return {"in": inches, "mm": metric}.get(units, f"{inches} ({metric})")


def _halves(value: float) -> str:
    whole, rest = divmod(max(math.ceil(value * 2 - 1e-6), 1), 2)
    return str(whole) if not rest else f"{whole}-{Fraction(1, 2)}" if whole else "1/2"


def _span(low: str, high: str) -> str:
    return high if low == high else f"{low} to {high}"


def _counted(unit: str, low: str, high: str) -> str:
    return f"{_span(low, high)} {unit}{'' if high in ('1', '1/2') else 's'}"


def _two(value: float) -> str:
    return f"{float(f'{value:.2g}'):g}"
