"""The axle, and dead centres found by eye, are as uncertain as what lies anywhere within its bound."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from linkmotion.studies.diagnosis.side_readings import Part
from linkmotion.studies.figures.disturbances import EYE, RISE, SPRINGS, TRAMMEL, Method
from tests.benchmarks.diagnosis import Bench
from tests.taken_readings import Taking, drawn_taking

_QUIET = Taking({"front": 0.0, "back": 0.0}, 0.0, 0.0, 0.0, 0.0, "forward", True, 0.0)


def test_axles_as_they_are_planted_stand_as_far_off_as_is_taken_to_be_likely() -> None:
    """Standard deviation of what is drawn for the studies, against that of a bound (JCGM 100:2008, 4.3.7)."""
    rng = np.random.default_rng(5)
    rises = np.array([drawn_taking(rng).rise for _ in range(4000)])
    assert np.max(np.abs(rises)) <= SPRINGS
    assert float(np.std(rises)) == pytest.approx(RISE, rel=0.025)


def test_dead_centres_by_eye_as_they_are_planted_lie_as_far_off_as_is_taken_to_be_likely() -> None:
    """Likewise; one that was found nearer than by eye is known as nearly as is stated, 19 in 20."""
    rng = np.random.default_rng(6)
    off = np.array([list(drawn_taking(rng).off.values()) for _ in range(4000)])
    assert np.max(np.abs(off)) <= EYE
    assert float(np.std(off)) == pytest.approx(Method().spread("front"), rel=0.02)
    assert Method({"front": TRAMMEL}).spread("front") == pytest.approx(TRAMMEL / 2, abs=1e-12)


def test_readings_are_taken_to_move_with_the_axle_as_they_do_over_its_whole_bound() -> None:
    """Of Allan's gear, whose eccentric rods are known no better than the axle; the mean square is Gauss's, of 5 points.

    With half of the bound for its standard deviation it comes to a seventh too little.
    """
    own = Bench.of("allan_saddle_tank")
    places, weights = np.polynomial.legendre.leggauss(5)

    def read(rise: float) -> list[float]:
        found = own.shop.read(own.blank, {}, replace(_QUIET, rise=rise), np.random.default_rng(0))
        return [each.value for each in found]

    readings = own.shop.read(own.blank, {}, _QUIET, np.random.default_rng(0))
    part = Part(own.shop.side, readings, own.priors, Method())
    off = np.array([read(float(SPRINGS * place)) for place in places]) - part.read
    wanted = np.sqrt(weights / 2 @ off**2) / part.sigma
    taken = np.abs(part.basis(np.zeros(part.exact)).slopes[:, part.exact - 1])
    felt = wanted > 0.5
    assert np.count_nonzero(felt) > 10
    assert taken[felt] == pytest.approx(wanted[felt], rel=0.05)
