"""Rulers read something other than nothing where there is something, and just as much as there is.

What a linkage misses its parts by, what a series leaves out, how far a share is sure: each is held against equations
written apart, closed forms, or an error put in by hand.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy import stats

from linkmotion.linkage import Harmonics, Solution, Wheel, solve
from linkmotion.linkage.constraints import misfit
from linkmotion.studies.tolerances.limits import Kept
from tests.gears_at_hand import gear_from, of_tables
from tests.independent.trial_gears import OUTSIDE_GEAR, with_changes
from tests.small_linkages import CRANK, SMALL, coupler_plate

COUNT = 24
WHEEL = -np.arange(COUNT) * 2 * np.pi / COUNT  # clockwise
OF_ONE_FIGURE = [name for name in SMALL if not name.startswith("held") and name != "coupler plate"]


def displaced(solution: Solution, pin: str, by: complex) -> Solution:
    """The same with one pin set over by so much (mm) at all positions."""
    points = list(solution.points)
    points[solution.linkage.names[pin]] = solution[pin] + by
    return replace(solution, points=points)


# ---- a linkage's misfit ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("by", [0.3 + 0.1j, -0.02 + 0.7j])
@pytest.mark.parametrize("name", OF_ONE_FIGURE)
def test_misfit_is_what_the_equations_written_apart_have_left_over(name: str, by: complex) -> None:
    small = SMALL[name]
    solution = solve(small.declare(), Wheel.revolution(COUNT))
    for pin in small.start:
        moved = displaced(solution, pin, by)
        left = np.array(
            [
                small.equations({free: complex(np.broadcast_to(moved[free], COUNT)[k]) for free in small.start}
                                | {"crank pin": CRANK * np.exp(1j * angle)})
                for k, angle in enumerate(WHEEL)
            ]
        )  # fmt: skip
        assert np.abs(left).max() > 0.01
        assert max(misfit(moved).values()) == pytest.approx(np.abs(left).max(), abs=1e-9), pin


def test_misfit_of_a_plate_is_how_far_its_pin_stands_off_its_hole() -> None:
    solution = solve(coupler_plate(), Wheel.revolution(COUNT))
    assert misfit(displaced(solution, "tracer", 0.3 - 0.2j))["coupler"] == pytest.approx(0.3, abs=1e-9)
    assert misfit(displaced(solution, "tracer", 0.3 - 0.5j))["coupler"] == pytest.approx(0.5, abs=1e-9)
    along = (solution["rocker pin"] - solution["crank pin"]) / 310.0  # the plate's first two pins drawn apart
    assert misfit(displaced(solution, "rocker pin", 0.4 * along))["coupler"] == pytest.approx(0.4, abs=1e-9)


def test_misfit_names_the_part_that_does_not_fit_and_by_how_much() -> None:
    """A gear's pins held against the drawing of another whose eccentric rod is 0.5 mm longer."""
    own = of_tables("outside", OUTSIDE_GEAR)
    setting = own.settings["full forward"]
    rod = OUTSIDE_GEAR["eccentric_rod"]["length"]
    other = gear_from(with_changes(OUTSIDE_GEAR, {"eccentric_rod": {"length": rod + 0.5}}))
    read = misfit(replace(solve(own.gear.declare(setting), Wheel.revolution(COUNT)), linkage=other.declare(setting)))
    assert read.pop("eccentric rod") == pytest.approx(0.5, abs=1e-9)
    assert max(read.values()) < 1e-9


# ---- a series' tail -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("harmonic", [13, 14, 15])
def test_tail_is_the_greatest_of_the_last_three_harmonics_kept(harmonic: int) -> None:
    t = np.arange(32) * 2 * np.pi / 32
    rows = [7.0 + 3.0 * np.cos(2 * t), 0.25 * np.sin(harmonic * t + 0.4)]
    assert Harmonics.through(rows).tail == pytest.approx(0.25, abs=1e-13)
    assert Harmonics.through(5.0 * np.cos(12 * t)).tail < 1e-14  # one that is not among the last three


def test_tail_of_a_geometric_series_and_what_it_leaves_out() -> None:
    """Poisson's kernel, 1 + 2 Σ rᵏ cos kt: sampled M times, harmonic k gathers r to k, M − k, M + k, 2 M − k ..."""
    r, count = 0.7, 32
    t = np.arange(count) * 2 * np.pi / count

    def kernel(angle: np.ndarray) -> Any:
        return (1 - r**2) / (1 - 2 * r * np.cos(angle) + r**2)

    series = Harmonics.through(kernel(t))
    gathered = (r**13 + r ** (count - 13)) / (1 - r**count)
    assert series.tail == pytest.approx(2 * gathered, rel=1e-9)
    between = t + np.pi / count
    left = np.max(np.abs(series(between) - kernel(between)))
    assert series.tail / 10 < left < series.tail * series.c.shape[-1]


# ---- how sure a share is --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("share", "engines"), [(0.9, 400), (0.5, 1000), (0.02, 250)])
def test_error_of_a_share_is_the_scatter_of_counts(share: float, engines: int) -> None:
    own = Kept((), engines, share, np.array([share]))
    assert own.error == pytest.approx(stats.binom.std(engines, share) / engines, rel=1e-12)


def test_a_share_of_all_is_not_sure() -> None:
    """One more failure counted than was seen: of 99 that all keep the limits, 1 in 100."""
    assert Kept((), 99, 1.0, np.ones(1)).error == pytest.approx(0.01, rel=1e-12)
