"""The smooth curve through readings against scipy's own, and what it promises."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from linkmotion.wear.smooth import through


@pytest.mark.parametrize("count", [2, 3, 4, 11, 40])
@pytest.mark.parametrize("seed", range(6))
def test_it_is_scipy_s_curve(count: int, seed: int) -> None:
    rng = np.random.default_rng([count, seed])
    at = np.cumsum(rng.uniform(0.2, 20.0, count)) - 50.0
    value = np.round(rng.normal(0.0, 0.2, count), seed)  # few decimals: neighbours that are equal
    place = np.concatenate([at, rng.uniform(at[0], at[-1], 500)])
    assert np.max(np.abs(through(at, value, place) - PchipInterpolator(at, value)(place))) < 1e-13


def test_it_passes_the_readings_overshoots_none_and_stays_at_the_last() -> None:
    rng = np.random.default_rng(5)
    at, value = np.cumsum(rng.uniform(1.0, 9.0, 20)), rng.uniform(0.0, 0.3, 20)
    assert np.max(np.abs(through(at, value, at) - value)) < 1e-15
    for k in range(19):
        between = through(at, value, np.linspace(at[k], at[k + 1], 101))
        assert between.min() > min(value[k], value[k + 1]) - 1e-15
        assert between.max() < max(value[k], value[k + 1]) + 1e-15
    beyond = through(at, value, np.array([[at[0] - 7.0], [at[-1] + 7.0]]))
    assert beyond.tolist() == [[pytest.approx(value[0], abs=1e-15)], [pytest.approx(value[-1], abs=1e-15)]]


def test_along_a_straight_line_it_is_the_line() -> None:
    at = np.array([0.0, 1.0, 4.0, 5.5])
    place = np.linspace(0.0, 5.5, 23)
    assert np.max(np.abs(through(at, 0.3 - 0.02 * at, place) - (0.3 - 0.02 * place))) < 1e-15
