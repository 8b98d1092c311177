"""Valve in motion with play: what characterises the play operator, the flight across the play, and both together.

The play operator's laws (the follower rests inside the play, rate independence, wiping out, composition) are those
by which it is defined in the mathematics of hysteresis; they are checked here on drawn motions, most of them exactly.
The flight is held against a closed form and against an integration from event to event.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brentq
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.linkage import Wheel, solve
from linkmotion.revolution import revolve
from linkmotion.wear.condition import Condition
from linkmotion.wear.lost_motion import lost_motion
from linkmotion.wear.running import BALANCED_VALVE_DRAG, SLIDE_VALVE_DRAG, Load, play, running
from tests.gears_at_hand import example, of_engine
from tests.independent.thrown_valve import Motion, Thrown

Floats = NDArray[np.float64]
TURN = np.arange(360) * 2 * np.pi / 360
numbers = st.integers(-640, 640).map(lambda n: n / 16)  # sixteenths: sums and differences are exact
motions = st.lists(numbers, min_size=3, max_size=40).map(np.array)
widths = st.integers(0, 320).map(lambda n: n / 16)
harmonics = st.lists(st.tuples(numbers, st.floats(0, 6.2)), min_size=1, max_size=4)


def waves(parts: list[tuple[float, float]]) -> Floats:
    total: Floats = np.sum([a * np.cos((k + 1) * TURN - b) for k, (a, b) in enumerate(parts)], axis=0)
    return total


@st.composite
def with_width(draw: st.DrawFn) -> tuple[Floats, Floats]:
    """A motion and its half-width at each place."""
    x = draw(motions)
    return x, np.array(draw(st.lists(widths, min_size=x.size, max_size=x.size)))


@given(with_width())
def test_valve_stays_within_the_play_and_rests_in_it(drawn: tuple[Floats, Floats]) -> None:
    x, w = drawn
    y = play(x, w)
    assert np.all(y >= x - w)
    assert np.all(y <= x + w)
    before = np.roll(y, 1)
    free = np.abs(before - x) <= w
    assert np.array_equal(y[free], before[free])  # within the play it does not move at all
    assert np.all((y == before) | (np.abs(y - x) == w))  # and it moves only when pushed


@given(with_width(), st.data())
def test_speed_of_the_wheel_does_not_matter(drawn: tuple[Floats, Floats], data: st.DataObject) -> None:
    """The same motion run through at another rate (more samples on each monotone piece): the same follower."""
    x, w = drawn[0], drawn[1][0]
    counts = data.draw(st.lists(st.integers(1, 5), min_size=x.size, max_size=x.size))
    share = np.concatenate([k + np.sqrt(np.arange(n) / n) for k, n in enumerate(counts)])
    slow = np.interp(share, np.arange(x.size + 1), [*x, x[0]])
    assert np.array_equal(play(slow, w)[np.cumsum([0, *counts[:-1]])], play(x, w))


@given(motions, widths)
def test_travel_is_less_by_the_play(x: Floats, w: float) -> None:
    y = play(x, w)
    if np.ptp(x) < 2 * w:
        assert np.ptp(y) == 0.0
    else:
        assert y.max() == x.max() - w
        assert y.min() == x.min() + w


@given(with_width())
def test_travel_with_play_that_varies(drawn: tuple[Floats, Floats]) -> None:
    x, w = drawn
    y = play(x, w)
    if (x - w).max() < (x + w).min():
        assert np.ptp(y) == 0.0
    else:
        assert y.max() == (x - w).max()
        assert y.min() == (x + w).min()


@given(motions, st.integers(0, 39), st.floats(0, 1), st.floats(0, 1), widths)
def test_a_small_swing_is_wiped_out(x: Floats, where: int, back: float, on: float, w: float) -> None:
    """A swing that turns back before it passes its first turning point leaves no trace in what follows."""
    k = where % x.size
    step = np.roll(x, -k)[1] - x[k]
    far, near = x[k] + step * max(back, on), x[k] + step * min(back, on)
    swung = np.insert(x, k + 1, [far, near])
    assert np.array_equal(np.delete(play(swung, w), [k + 1, k + 2]), play(x, w))


@given(motions, widths, widths)
def test_two_plays_one_after_another_are_one_of_both_widths(x: Floats, one: float, two: float) -> None:
    assume(np.ptp(x) >= 2 * (one + two))
    assert np.array_equal(play(play(x, one), two), play(x, one + two))


@given(with_width())
def test_it_repeats_from_the_second_turn(drawn: tuple[Floats, Floats]) -> None:
    x, w = drawn
    assert np.array_equal(play(x, w, turns=2), play(x, w, turns=5))


@given(motions)
def test_without_play_nothing_changes(x: Floats) -> None:
    assert np.array_equal(play(x, 0.0), x)
    assert np.array_equal(play(x, np.zeros(x.size)), x)
    for load in (Load(), Load(drag=0.0, mass=80.0, revolutions=300.0), Load(100.0, 80.0, 300.0)):
        assert np.array_equal(running(x, 0.0, load), x)


@given(harmonics, st.floats(0.01, 2.0))
def test_rows_are_run_each_by_itself(parts: list[tuple[float, float]], w: float) -> None:
    x = np.array([waves(parts), waves(parts[::-1])])
    half = np.array([[w], [2 * w]])
    for load in (Load(), Load(20.0, 60.0, 120.0), Load(0.0, 60.0, 120.0)):
        both = running(x, 2 * half, load)
        assert np.array_equal(both, [running(x[k], 2 * half[k], load) for k in (0, 1)])


FAST = Load(drag=0.0, mass=50.0, revolutions=200.0)
HEAVY = FAST.inertia(1.0)  # N at 1 mm/rad²


def test_inertia_makes_the_travel_longer_by_the_play() -> None:
    """At the ends of its travel the valve lies on the far side of the play."""
    x, free = 60.0 * np.cos(TURN + 0.01), 1.25
    y = running(x, free, FAST)
    assert y.max() == x.max() + free / 2
    assert y.min() == x.min() - free / 2
    assert np.all(np.abs(y - x) <= free / 2 + 1e-12)


@pytest.mark.parametrize("free", [0.4, 1.25, 3.0])
def test_the_valve_flies_across_the_play_as_long_as_the_sine_says(free: float) -> None:
    """It leaves the pushing face in the middle of the travel, at the greatest speed, A; the other meets it after the
    angle t with t − sin t = free/A. From there it goes with that face until the middle again.
    """
    across = brentq(lambda t: t - np.sin(t) - free / 60.0, 0.01, 2.0)
    assert 0.34 < across < 0.7  # radians: nothing like at once
    for count, good in ((1440, 2e-4), (5760, 2e-5)):
        turn = np.arange(count) * 2 * np.pi / count
        y, x = running(60.0 * np.sin(turn), free, FAST), 60.0 * np.sin(turn)
        flying = turn < across
        assert np.max(np.abs(y - (60.0 * turn - free / 2))[flying]) < good
        assert np.array_equal(y[~flying & (turn < np.pi)], (x + free / 2)[~flying & (turn < np.pi)])


def wavy(side: int, parts: list[tuple[float, float]], half: float, changing: float) -> Motion:
    """A face of the play: harmonics of a motion, and the half-width beside it."""

    def motion(t: float) -> tuple[float, float, float]:
        turns = [(k + 1, a, (k + 1) * t - b) for k, (a, b) in enumerate(parts)]
        rate = -2 * changing * np.sin(2 * t), -4 * changing * np.cos(2 * t)
        return (
            sum(a * np.cos(c) for _k, a, c in turns) + side * (half + changing * np.cos(2 * t)),
            sum(-a * k * np.sin(c) for k, a, c in turns) + side * rate[0],
            sum(-a * k**2 * np.cos(c) for k, a, c in turns) + side * rate[1],
        )

    return motion


@pytest.mark.parametrize("slowing", [0.0, 3.0, 12.0, 30.0, 70.0, 200.0])
@pytest.mark.parametrize("second", [0.5, 9.0])
def test_flight_and_drag_against_an_integration_from_event_to_event(slowing: float, second: float) -> None:
    parts = [(60.0, 0.3), (second, 1.1), (1.2, 4.0)]
    low, high = (wavy(side, parts, 0.6, 0.15) for side in (-1, 1))
    exact = Thrown(low, high, slowing).turned(3, 72)
    load = Load(slowing * HEAVY, FAST.mass, FAST.revolutions)
    for count, good in ((1440, 5e-4), (5760, 2e-5)):
        faces = np.array([(low(t)[0], high(t)[0]) for t in np.arange(count) * 2 * np.pi / count]).T
        y = running(faces.mean(axis=0), faces[1] - faces[0], load)
        assert np.max(np.abs(y[:: count // 72] - exact)) < good
    dragged = play(faces.mean(axis=0), (faces[1] - faces[0]) / 2)
    assert np.max(np.abs(y - dragged)) > 0.5 or slowing > 60.0


@given(harmonics, st.floats(0.05, 2.0), st.sampled_from([0.0, 4.0, 40.0]))
def test_the_gear_can_push_but_not_hold(parts: list[tuple[float, float]], half: float, slowing: float) -> None:
    """Within the play the valve's step changes by the drag alone; met by a face only away from it."""
    x = waves(parts)
    y = running(x, 2 * half, Load(slowing * HEAVY, FAST.mass, FAST.revolutions))
    share = slowing * (2 * np.pi / 360) ** 2 + 1e-9
    change = np.diff(y, 2)
    low, high = (y <= x - half + 1e-9)[2:], (y >= x + half - 1e-9)[2:]
    before = ((y <= x - half + 1e-9) | (y >= x + half - 1e-9))[1:-1]
    free = ~low & ~high & ~before
    assert np.all(np.abs(change[free]) <= share)
    assert np.all(change[low & ~high & ~before] >= -share)
    assert np.all(change[high & ~low & ~before] <= share)


def test_force_that_decides() -> None:
    """50 kg, 60 mm either way, 200 rev/min: 50 × 0.06 × (2π 200/60)² = 1315.947 N at the ends of the stroke.

    With more drag than that the valve stops where it is left; with a little less it hardly goes on.
    """
    x, free = 60.0 * np.cos(TURN), 1.25
    force = 50.0 * 0.060 * (2 * np.pi * 200 / 60) ** 2
    assert force == pytest.approx(1315.947, abs=5e-4)
    ruled = [running(x, free, Load(share * force, 50.0, 200.0)) for share in (1.000001, 0.98, 0.5, 0.0)]
    assert np.array_equal(ruled[0], play(x, free / 2))
    assert 0.0 < np.max(np.abs(ruled[1] - ruled[0])) < 0.02
    travels = [np.ptp(y) for y in ruled]
    assert travels == sorted(travels)
    assert travels[0] == pytest.approx(120.0 - free, abs=1e-12)
    assert travels[-1] == pytest.approx(120.0 + free, abs=1e-12)


def test_inertia_goes_with_the_square_of_the_revolutions() -> None:
    slow, fast = Load(1.0, 50.0, 100.0), Load(1.0, 50.0, 300.0)
    assert fast.inertia(1.0) == pytest.approx(9 * slow.inertia(1.0), rel=1e-14)


@pytest.mark.parametrize("name", ["dock_shunter", "stephenson_goods"])
def test_running_the_other_way_the_valve_lags_on_the_other_side(name: str) -> None:
    """With drag alone: forward the valve follows late, backward it follows late too, so the two embrace the drawing."""
    own = of_engine(example(name))
    setting = own.settings["full forward"]
    free = lost_motion(own.gear, setting, Condition(clearance={"crank pin": 0.4, "die pin": 0.4}), 360).total
    x = solve(own.gear.declare(setting), Wheel.revolution(360)).along(VALVE_GUIDE)
    ahead = play(x, free / 2)
    astern = play(x[::-1], free[::-1] / 2)[::-1]
    rate = revolve(own.gear, setting).spindle.rate()[0](TURN)
    moving = np.abs(rate) > 0.2 * np.abs(rate).max()
    assert np.all(((ahead - x) * rate)[moving] < 0)  # behind the gear in its own direction
    assert np.allclose((ahead - astern)[moving], (-np.sign(rate) * free)[moving], rtol=0, atol=1e-12)
    assert ahead.max() == (x - free / 2).max()
    assert ahead.min() == (x + free / 2).min()


# ---- drag as measured -----------------------------------------------------------------------------------------------


def test_measured_drag_is_the_printed_force_and_is_named_in_the_help() -> None:
    kilogram = 9.80665
    for newton, kilograms in zip((*SLIDE_VALVE_DRAG, BALANCED_VALVE_DRAG), (450, 900, 135), strict=True):
        assert abs(newton - kilograms * kilogram) < 50  # rounded to 100 N
    told = " ".join(CliRunner().invoke(app, ["wear", "--help"]).output.split())
    assert f"{SLIDE_VALVE_DRAG[0]:.0f} to {SLIDE_VALVE_DRAG[1]:.0f}, balanced {BALANCED_VALVE_DRAG:.0f}" in told


def test_a_plain_slide_valve_under_steam_is_dragged_at_two_hundred_turns_where_a_balanced_one_flies() -> None:
    """60 kg with a travel of 120 mm at 200 turns a minute takes 1580 N at the dead ends: between the two drags."""
    angle = np.arange(720) * 2 * np.pi / 720
    x, dragged = 60 * np.cos(angle), play(60 * np.cos(angle), 0.5)
    for drag, flies in ((SLIDE_VALVE_DRAG[0], False), (BALANCED_VALVE_DRAG, True)):
        y = running(x, np.full(720, 1.0), Load(drag, 60.0, 200.0))
        assert bool(np.abs(y - dragged).max() > 0.02) is flies
