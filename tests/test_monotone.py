"""The smooth curve through readings, against scipy's own."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from linkmotion.wear.monotone import monotone

FIGURES = st.floats(-2.0, 2.0).map(lambda v: round(v, 2))  # readings, of which some are alike


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(st.floats(0.5, 30.0), FIGURES), min_size=2, max_size=12))
def test_it_is_the_library_s_curve(points: list[tuple[float, float]]) -> None:
    x, y = np.cumsum([step for step, _ in points]), np.array([value for _, value in points])
    between = np.linspace(x[0], x[-1], 301)
    assert np.max(np.abs(monotone(x, y)(between) - PchipInterpolator(x, y)(between))) < 1e-12


def test_it_overshoots_no_reading_where_a_spline_would() -> None:
    x, y = np.arange(6.0), np.array([0.0, 0.0, 0.0, 1.0, 1.0, 1.0])
    found = monotone(x, y)(np.linspace(0, 5, 501))
    assert found.min() == 0.0
    assert found.max() == 1.0
    assert monotone(x, y)(2.5) == pytest.approx(0.5, abs=1e-12)
