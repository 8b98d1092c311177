"""Valve in motion with play: what characterises the play operator, inertia ruling, and the change between them.

The play operator's laws (the follower rests inside the play, rate independence, wiping out, composition) are those
by which it is defined in the mathematics of hysteresis; they are checked here on drawn motions, most of them exactly.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.linkage import Wheel, solve
from linkmotion.revolution import revolve
from linkmotion.wear.condition import Condition
from linkmotion.wear.lost_motion import lost_motion
from linkmotion.wear.running import Load, play, running
from tests.gears_at_hand import example, of_engine

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
    thrice, mixed = np.tile(x, 3), Load(drag=10.0, mass=20.0, revolutions=60.0)
    third = running(thrice, thrice, np.tile(2 * w, 3), mixed)[2 * x.size :]
    assert np.array_equal(running(x, x, 2 * w, mixed), third)


@given(motions)
def test_without_play_nothing_changes(x: Floats) -> None:
    assert np.array_equal(play(x, 0.0), x)
    assert np.array_equal(play(x, np.zeros(x.size)), x)
    for load in (Load(), Load(drag=0.0, mass=80.0, revolutions=300.0), Load(100.0, 80.0, 300.0)):
        assert np.array_equal(running(x, -x, 0.0, load), x)


@given(harmonics, st.floats(0.01, 2.0))
def test_rows_are_run_each_by_itself(parts: list[tuple[float, float]], w: float) -> None:
    x = np.array([waves(parts), waves(parts[::-1])])
    half = np.array([[w], [2 * w]])
    for load in (Load(), Load(20.0, 60.0, 120.0), Load(0.0, 60.0, 120.0)):
        both = running(x, -x, 2 * half, load)
        assert np.array_equal(both, [running(x[k], -x[k], 2 * half[k], load) for k in (0, 1)])


def test_inertia_makes_the_travel_longer_by_the_play() -> None:
    """Forward of its middle a valve is accelerated backward, so it lies on the far side of the play."""
    x, free = 60.0 * np.cos(TURN + 0.01), 1.25
    y = running(x, -x, free, Load(drag=0.0, mass=50.0, revolutions=200.0))
    assert y.max() == pytest.approx(x.max() + free / 2, abs=1e-12)
    assert y.min() == pytest.approx(x.min() - free / 2, abs=1e-12)
    assert np.array_equal(np.abs(y - x).round(12), np.full(360, free / 2))


def test_force_that_decides() -> None:
    """50 kg, 60 mm either way, 200 rev/min: 50 × 0.06 × (2π 200/60)² = 1315.947 N at the ends of the stroke."""
    x, free = 60.0 * np.cos(TURN), 1.25
    force = 50.0 * 0.060 * (2 * np.pi * 200 / 60) ** 2
    assert force == pytest.approx(1315.947, abs=5e-4)
    ruled = [running(x, -x, free, Load(drag, 50.0, 200.0)) for drag in (force * 1.000001, force * 0.999999)]
    assert np.array_equal(ruled[0], play(x, free / 2))
    assert ruled[1].max() == pytest.approx(60.0 + free / 2, abs=1e-12)  # at the very end alone inertia is the more
    assert np.ptp(ruled[0]) == pytest.approx(120.0 - free, abs=1e-12)


@given(st.floats(0.02, 0.98))
def test_inertia_rules_where_it_exceeds_the_drag(share: float) -> None:
    x, free = 60.0 * np.cos(TURN + 0.005), 1.25
    load = Load(drag=share * 1315.947, mass=50.0, revolutions=200.0)
    y, most = running(x, -x, free, load), np.abs(load.inertia(-x)) > load.drag
    assert 0 < most.sum() < 360
    assert np.array_equal(y[most], x[most] + free / 2 * np.sign(x[most]))
    before = np.roll(y, 1)[~most]
    drag = np.clip(before, (x - free / 2)[~most], (x + free / 2)[~most])
    assert np.array_equal(y[~most], drag)


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
