"""The yearly cycle of sheltered members against an independent numerical solution driven by hourly weather.

Hourly temperature and humidity of typical years, in tests/weather: Chicago and San Francisco from the TMY3 set of the
United States Department of Energy (2008), 45 N 8 E from the PVGIS service of the European Commission (2005 to 2023,
reuse with attribution); rounded to 0.1 °C and 1 %.
"""

from __future__ import annotations

import gzip
from pathlib import Path

import numpy as np
import pytest
from scipy.linalg import solve_banded

from gatepost import moisture, rain
from gatepost.deriving.wetness import coefficients
from gatepost.library import library

WEATHER = Path(__file__).resolve().parent / "weather"
C = coefficients(library().table("emc_coefficients"))
CELLS = 24


def hours(name):
    with gzip.open(WEATHER / f"{name}.csv.gz", "rt") as file:
        return np.loadtxt(file, delimiter=",", skiprows=1).T


def numerical(emc, t_c, thickness):
    """Mean moisture of a slab by hour: implicit steps, faces at the air's equilibrium, D of moisture and temperature."""
    dx, state, means = thickness / CELLS, np.full(CELLS, emc.mean()), []
    for _ in range(2):
        means = []
        for goal, t in zip(emc, t_c, strict=True):
            d = rain.diffusion_m2_s(state, t, 1.0) * 3600 / dx**2
            inner = (d[1:] + d[:-1]) / 2
            left, right = np.concatenate([[2 * d[0]], inner]), np.concatenate([inner, [2 * d[-1]]])
            matrix = np.zeros((3, CELLS))
            matrix[0, 1:], matrix[1], matrix[2, :-1] = -inner, 1 + left + right, -inner
            known = state.copy()
            known[0] += left[0] * goal
            known[-1] += right[-1] * goal
            state = solve_banded((1, 1), matrix, known)
            means.append(state.mean())
    return np.array(means)


@pytest.mark.parametrize("thickness", [0.019, 0.038, 0.089])
@pytest.mark.parametrize("name", ["chicago", "san_francisco", "45n_8e"])
def test_the_short_form_stays_within_four_tenths_of_a_point(name, thickness):
    month, t, rh = hours(name)
    emc = moisture.emc_pct(np.maximum(t, -15), np.minimum(rh, 99.9), C)
    wanted = numerical(emc, t, thickness)
    by_month = [month == one for one in range(1, 13)]
    mean_t, mean_rh, hourly, wanted = (
        np.array([values[here].mean() for here in by_month]) for values in (t, rh, emc, wanted)
    )
    share = library().table("rain_model").number("hours_share", "likely")
    mean = moisture.emc_pct(np.maximum(mean_t, -15), mean_rh, C)
    goal = (mean + share * (hourly - mean))[None, :]
    lag = rain.lag_days(np.array([[thickness]]), rain.diffusion_m2_s(goal, mean_t, 1.0))
    apart = rain.march(goal, lag)[0] - wanted
    assert np.sqrt((apart**2).mean()) < 0.4
