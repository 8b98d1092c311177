"""Greatest and least values, turning points and crowded zeros of motions made at random.

What is expected comes from the roots of the trigonometric polynomial as an ordinary one in z = exp(it), by the
eigenvalues of its companion pencil (scipy), or from zeros that were put there.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
import scipy.linalg
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from linkmotion.events import end_events
from linkmotion.gears import Arm
from linkmotion.gears.book import Valve
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.linkage import Harmonics
from linkmotion.linkage.turning_points import extremes, greatest, grid_size, turning_points
from linkmotion.linkage.zeros import TOUCH, zeros
from linkmotion.revolution import revolve
from linkmotion.valve import Ports
from tests.independent import eccentric_gears as joints
from tests.test_eccentric_agreement import full_tables, gear_of

TURN = 2 * math.pi
STEP = TURN / 96  # the finder's own sampling step for short series
LEVEL = CrankMotion(radius=280.0, rod=1700.0, height=0.0, slope=0.0)

sizes = st.floats(-9.0, 0.0).map(lambda power: 10.0**power)
angles = st.floats(0.0, TURN, exclude_max=True)


def value_at(c: Any, t: Any) -> Any:
    """Sum of the series, term by term."""
    return sum((own * np.exp(1j * k * np.asarray(t))).real for k, own in enumerate(c))


def turning_angles(c: Any) -> Any:
    """Angles of all roots of z^n f'(t), whether or not they lie on the circle: the true ones are among them."""
    c = np.append(0.0, c[1:])  # the mean plays no part
    c = c * (2.0**1000 if np.max(np.abs(c[1:])) < 1e-200 else 1.0)  # exact: nothing is subnormal then
    c = c / np.max(np.abs(c[1:]))  # else roots of motions of next to no size pass for infinite ones
    rate = 1j * np.arange(len(c)) * c / 2
    p = np.concatenate([np.conj(rate[:0:-1]), rate])  # by rising powers
    degree = len(p) - 1
    matrix, weight = np.eye(degree, k=1, dtype=complex), np.eye(degree, dtype=complex)
    matrix[-1], weight[-1, -1] = -p[:-1], p[-1]
    roots = scipy.linalg.eigvals(matrix, weight)  # not divided by the last coefficient, which may be next to nothing
    return np.angle(roots[np.isfinite(roots) & (roots != 0)])


@st.composite
def nearly_level(draw: Any) -> Any:
    """2 to 4 tops of a wave of 60 mm made unlike by as little as 1e-9 of it, by up to seven harmonics."""
    tops = draw(st.integers(2, 4))
    c = np.zeros(8, complex)
    spread = 60.0 * draw(sizes)
    for k in range(8):
        c[k] = spread * draw(st.floats(-0.1, 0.1)) * np.exp(1j * draw(angles))
    c[0] = c[0].real
    c[tops] += 60.0 * np.exp(1j * draw(angles))
    return c


@st.composite
def any_motion(draw: Any) -> Any:
    """Up to nine harmonics, each of any size, or none."""
    count = draw(st.integers(1, 9))
    c = [draw(st.floats(-50.0, 50.0)) + 0j]
    c += [draw(st.floats(0.0, 60.0)) * np.exp(1j * draw(angles)) for _ in range(count)]
    return np.array(c)


@given(st.lists(st.one_of(nearly_level(), any_motion()), min_size=1, max_size=4))
def test_greatest_and_least_are_those_of_the_polynomials_roots(motions: list[Any]) -> None:
    table = np.zeros((len(motions), 10), complex)
    for row, c in enumerate(motions):
        table[row, : len(c)] = c
    least, most = extremes(Harmonics(table))
    where, same = greatest(Harmonics(table))
    for row, c in enumerate(motions):
        at_turns = value_at(c, turning_angles(c)) if np.any(c[1:]) else c[:1].real
        assert abs(most[row] - np.max(at_turns)) < 1e-9
        assert abs(least[row] - np.min(at_turns)) < 1e-9
        assert same[row] == most[row]
        assert abs(value_at(c, where[row]) - most[row]) < 1e-9


@pytest.mark.parametrize("lower", [0, 1])
@pytest.mark.parametrize("apart", [1e-3, 1e-6, 1e-9])
@pytest.mark.parametrize("offset", [0.0, 0.3, 0.5])
def test_of_two_nearly_level_tops_the_higher_is_told_wherever_the_samples_stand(
    apart: float, offset: float, lower: int
) -> None:
    """60 cos 2(t − a) + (apart/2) cos(t − a): tops at a and a + π, the one or the other higher by ``apart``."""
    at, sign = (7 + offset) * STEP, 1 - 2 * lower
    c = np.array([0.0, sign * apart / 2 * np.exp(-1j * at), 60.0 * np.exp(-2j * at)])
    angle, most = greatest(Harmonics(c[None]))
    assert abs(most[0] - 60.0 - apart / 2) < 1e-13
    assert abs((angle[0] - at - lower * math.pi + math.pi) % TURN - math.pi) < 1e-9


def test_a_top_level_to_the_fourth_order_is_found() -> None:
    """Cos t + cos 2t/4 is least at half a turn, where its second and third derivatives are nothing too: −3/4."""
    for at in (0.0, 0.37 * STEP, STEP / 2):
        least, _most = extremes(Harmonics(np.array([[0.0, np.exp(-1j * at), 0.25 * np.exp(-2j * at)]])))
        assert abs(least[0] + 0.75) < 1e-11


def test_a_constant_is_its_own_greatest() -> None:
    least, most = extremes(Harmonics(np.array([[3.0 + 0j], [-2.0 + 0j]])))
    assert least.tolist() == most.tolist() == [3.0, -2.0]


@given(any_motion())
def test_every_turning_point_is_found_once_when_every_cell_is_searched(c: Any) -> None:
    signal = Harmonics(c[None])
    row, found = turning_points(signal, np.ones((1, grid_size(signal)), bool))
    assert np.all(row == 0)
    assert np.max(np.abs(value_at(1j * np.arange(len(c)) * c, found)), initial=0.0) < 1e-8
    fine = value_at(1j * np.arange(len(c)) * c, np.arange(20_000) * TURN / 20_000)
    changes = np.count_nonzero((fine > 0) != (np.roll(fine, -1) > 0))
    assert len(found) >= changes  # the fine samples may pass over a pair, never see one that is not there
    assert len(found) % 2 == 0


@pytest.mark.parametrize("size", [5e-324, 1e-310, 1e-200, 1e-12])
def test_next_to_nothing_is_measured_too(size: float) -> None:
    """Motions of subnormal size, alone and beside a great one."""
    least, most = extremes(Harmonics(np.array([[0.0, size, 0.0], [1.0, 60.0, size]], complex)))
    assert (least[0], most[0]) == (-size, size)
    assert abs(least[1] + 59.0) < 2e-12
    assert abs(most[1] - 61.0) < 2e-12


def test_the_die_slip_of_crossed_rods_beyond_full_gear_is_that_of_another_solution_sampled_densely() -> None:
    """The die is lowest twice in a revolution there, at places 1.5 µm apart: by the higher it slips 28.4919 mm."""
    own = gear_of("crossed rods, direct (stephenson)")
    angles = np.arange(0.0, 360.5, 0.5)
    tables = full_tables("crossed rods, direct (stephenson)")
    place = joints.solve(tables, -30.9, angles[:-1], kind="stephenson").die_place
    spline = CubicSpline(np.radians(angles), np.append(place, place[0]), bc_type="periodic")  # good to 1e-8 mm here
    turns = spline(spline.derivative().roots(extrapolate=False))
    slip = float(revolve(own.gear, Arm(-30.9)).die_slip[0])
    assert abs(slip - np.ptp(turns)) < 1e-6
    bottoms = np.sort(turns)[:2]
    assert 1e-3 < bottoms[1] - bottoms[0] < 2e-3
    assert round(slip, 4) == 28.4934


# ---- zeros that crowd within one step -------------------------------------------------------------------------------


@st.composite
def crowded(draw: Any) -> tuple[list[float], list[float]]:
    """2 to 4 zeros within one step, wherever the step stands, and others well away: an even number in all."""
    number = draw(st.integers(2, 4))
    gaps = np.array([0.0] + [draw(st.floats(0.05, 1.0)) for _ in range(number - 1)])
    first, width = draw(angles), draw(st.floats(0.2, 0.98)) * STEP
    others = first + np.array([2.0, 3.3, 4.5])[: 2 + number % 2]
    return [float(own) for own in first + np.cumsum(gaps) * width / np.sum(gaps)], others.tolist()


def product_at(places: list[float], t: Any) -> Any:
    return 1e6 * np.prod([np.sin((t - a) / 2) for a in places], axis=0)


@given(crowded())
def test_zeros_within_one_step_are_found_all(made: tuple[list[float], list[float]]) -> None:
    """Up to four, so that the port opens and shuts (and opens and shuts again) between two samples."""
    crowd, places = made[0], made[0] + made[1]
    tops = [np.max(np.abs(product_at(places, np.linspace(*pair, 33)))) for pair in itertools.pairwise(crowd)]
    assume(min(tops) > 2 * TOUCH)  # less is told as touching, below
    found = zeros(Harmonics.through(product_at(places, np.arange(32) * TURN / 32)[None]))
    assert found.angle.size == len(places)
    assert found.touching == ()
    missed = np.abs((found.angle[:, None] - np.array(places)[None] + math.pi) % TURN - math.pi)
    assert np.max(np.min(missed, axis=0)) < 1e-8
    assert np.max(np.min(missed, axis=1)) < 1e-8
    assert np.all(found.rising[::2] != found.rising[1::2])


@given(any_motion(), st.integers(0, 17), st.sampled_from([-100.0, -3.0, -0.5, 0.0, 0.5, 3.0, 100.0]))
def test_a_line_laid_at_a_turning_point_is_passed_as_often_as_its_polynomial_turns_about_it(
    c: Any, number: int, over: float
) -> None:
    """Turning points a few millionths from the line: signs at all of them tell how often it is passed."""
    assume(np.max(np.abs(c[1:])) > 1.0)
    at = np.sort(turning_angles(c) % TURN)
    line = at[number % len(at)]
    c = np.concatenate([c[:1] - value_at(c, line) + over * TOUCH, c[1:]])
    values = value_at(c, at)
    assume(np.min(np.abs(np.abs(values) - TOUCH)) > 0.1 * TOUCH)
    signs = values[np.abs(values) > TOUCH] > 0
    found = zeros(Harmonics(c[None]))
    assert found.angle.size == np.count_nonzero(signs != np.roll(signs, 1))
    assert np.max(np.abs(value_at(c, found.angle)), initial=0.0) < 1e-9
    if abs(over) < 1 and abs(value_at(1j * np.arange(len(c)) * c, line)) < 1e-6:  # the root lies on the circle
        assert min(abs((line - angle + math.pi) % TURN - math.pi) for _row, angle in found.touching) < 1e-3


def test_a_port_that_opens_three_times_is_told_so() -> None:
    """30 cos 3t with 20 mm lap: three openings, alike."""
    valve = Harmonics(np.array([[0.0, 0.0, 0.0, 30.0]], complex))
    ports = Ports.of(Valve(admission="outside", port_width=38.0, guide_height=0.0, steam_lap=20.0))
    for end in ("front", "back"):
        assert end_events(valve, ports, LEVEL, end).missing["steam"] == ("opens three times",)
