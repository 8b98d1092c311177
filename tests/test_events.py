"""Port events: zeros of known trigonometric polynomials, and harmonic valve motion in closed form."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkmotion.events import DIRECTIONS, EVENTS, both_ends, end_events
from linkmotion.gears.book import Valve
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.linkage import Harmonics
from linkmotion.linkage.turning_points import extremes
from linkmotion.linkage.zeros import TOUCH, zeros
from linkmotion.revolution import revolve
from linkmotion.valve import ENDS, Ports
from tests.gears_at_hand import every_gear

TURN = 2 * math.pi
STEP = TURN / 96  # the finder's own sampling step for short series
AMPLITUDE, PHASE = 61.0, math.radians(245.0)  # of the harmonic valve: mm; v = A cos(crank angle − phase)
LEVEL = CrankMotion(radius=280.0, rod=1700.0, height=0.0, slope=0.0)
OFFSET = CrankMotion(radius=280.0, rod=1700.0, height=75.0, slope=math.radians(2.0))


def series(mean: float, *pairs: tuple[float, float]) -> Harmonics:
    """One signal: mean + the sum of a cos kt + b sin kt."""
    return Harmonics(np.array([[mean, *(a - 1j * b for a, b in pairs)]], complex))


def with_zeros_at(angles: list[float], scale: float) -> Harmonics:
    """An even number of zeros: the product of sin((t − angle)/2), sampled at 64 places."""
    t = np.arange(64) * TURN / 64
    return Harmonics.through(scale * np.prod([np.sin((t - a) / 2) for a in angles], axis=0)[None])


def ports(admission: str = "outside", **keys: Any) -> Ports:
    return Ports.of(
        Valve(**dict[str, Any](admission=admission, port_width=38.0, guide_height=0.0, steam_lap=23.0) | keys)
    )


def round_the_circle(one: Any, other: Any, turn: float = TURN) -> float:
    """Largest difference of angles, either way round."""
    return float(np.max(np.abs((np.subtract(one, other) + turn / 2) % turn - turn / 2)))


# ---- zeros ----------------------------------------------------------------------------------------------------------


@given(st.integers(2, 5), st.randoms(use_true_random=False))
def test_zeros_of_a_product_of_sines_are_found_all(pairs: int, chance: Any) -> None:
    """2 to 10 zeros anywhere on the circle, at least a tenth of a radian apart."""
    gaps = np.array([chance.uniform(0.1, 1.0) for _ in range(2 * pairs)])
    angles = (chance.uniform(0, TURN) + np.cumsum(gaps * TURN / gaps.sum())) % TURN
    angles = np.sort(np.where(TURN - angles < 1e-12, 0.0, angles))  # one place of the circle, told as zeros() tells it
    found = zeros(with_zeros_at(list(angles), 1000.0))
    assert found.angle.size == angles.size
    assert round_the_circle(found.angle, angles) < 1e-9
    assert np.all(found.rising[::2] != found.rising[1::2])


@pytest.mark.parametrize("places", [(20.5, 21.6, 22.4), (20.1, 20.7, 21.5), (20.9, 21.5, 22.3), (20.1, 20.5, 21.0)])
def test_zeros_within_three_samples_are_found_once_each(places: tuple[float, ...]) -> None:
    angles = np.array([*places, 70.3]) * STEP
    found = zeros(with_zeros_at(list(angles), 1000.0))
    assert found.angle.size == 4
    assert round_the_circle(found.angle, angles) < 1e-9


@pytest.mark.parametrize("sample", [0, 7, 48])
def test_a_zero_at_a_sample_is_found_there(sample: int) -> None:
    """Whatever sign rounding gives the signal there; 100 signals."""
    for seed in range(100):
        others = np.random.default_rng(seed).uniform(0.3, 6.0, 5)
        angles = np.sort((sample * STEP + np.append(0.0, others)) % TURN)
        found = zeros(with_zeros_at(list(angles), 1000.0))
        missed = np.abs((found.angle[:, None] - sample * STEP + math.pi) % TURN - math.pi).min()
        assert missed < 1e-9, seed


@pytest.mark.parametrize("name", every_gear())
def test_a_valve_without_lead_opens_at_its_dead_centre(name: str) -> None:
    """The lap is made the valve's own displacement at front dead centre, in every notch.

    In mid gear the valve may stand so near its turning point there that the port just touches.
    """
    own = every_gear()[name]
    turned = revolve(own.gear, own.together())
    displacement = turned.displacement(turned.spindle.c[:, 0].real)
    for row, notch in enumerate(own.settings):
        valve = displacement[row : row + 1]
        told = end_events(valve, ports(steam_lap=-float(valve(0.0)[0])), own.gear.crank, "front")
        assert abs(told.lead[0]) < 1e-12
        if notch == "mid" and "just touches" in told.missing["steam"][0]:
            continue
        nearest = min(round_the_circle(told.angle[event][0], 0.0, 360.0) for event in ("admission", "cutoff"))
        assert nearest < 1e-6, notch  # degrees


@pytest.mark.parametrize("gap", [STEP / 2, STEP / 10, STEP / 40])
@pytest.mark.parametrize("place", [0.3, 0.5, 0.9])
def test_two_zeros_closer_than_the_sampling_step_are_found(gap: float, place: float) -> None:
    middle = (20 + place) * STEP
    angles = [middle - gap / 2, middle + gap / 2, 4.0, 5.5]
    found = zeros(with_zeros_at(angles, 1000.0))
    assert found.angle.size == 4
    assert np.max(np.abs(found.angle - angles)) < 1e-9
    assert list(found.rising[:2]) in ([True, False], [False, True])
    assert found.touching == ()


@pytest.mark.parametrize("away", [0.0, 1e-9, -1e-9, 1e-4, -1e-4, STEP / 2, -STEP / 2])
def test_zeros_straddling_nought_are_found_once(away: float) -> None:
    """sin(t − away): rising at away, falling half a turn on."""
    found = zeros(series(0.0, (-math.sin(away), math.cos(away))))
    assert found.angle.size == 2
    assert np.all((found.angle >= 0) & (found.angle < TURN))
    rising, falling = found.angle[found.rising], found.angle[~found.rising]
    assert round_the_circle(rising, [away]) < 1e-12
    assert round_the_circle(falling, [away + math.pi]) < 1e-12


@pytest.mark.parametrize(("mean", "positive"), [(2.0, True), (-2.0, False), (1.0 + 1e-5, True), (-1.0 - 1e-5, False)])
def test_a_signal_that_never_crosses_has_no_zeros_but_a_sign(mean: float, positive: bool) -> None:
    found = zeros(series(mean, (1.0, 0.0)))
    assert found.angle.size == 0
    assert found.touching == ()
    assert bool(found.positive[0]) is positive


@pytest.mark.parametrize("at", [0.0, 7 * STEP, 7.5 * STEP, 2.0, TURN - STEP / 3])
@pytest.mark.parametrize("rise", [-0.5 * TOUCH, 0.0, 0.5 * TOUCH])
def test_a_turning_point_within_a_millionth_touches_and_does_not_cross(at: float, rise: float) -> None:
    """Cos(t − at) − 1 + rise, whether or not the turning point stands at a sample."""
    found = zeros(series(rise - 1.0, (math.cos(at), math.sin(at))))
    assert found.angle.size == 0
    assert [row for row, _ in found.touching] == [0]
    assert round_the_circle(found.touching[0][1], at) < 1e-6


@pytest.mark.parametrize("at", [0.0, 7 * STEP, 7.5 * STEP, 2.0, TURN - STEP / 3])
def test_a_turning_point_two_millionths_over_crosses_twice(at: float) -> None:
    rise = 2 * TOUCH
    found = zeros(series(rise - 1.0, (math.cos(at), math.sin(at))))
    half = math.acos(1 - rise)
    assert round_the_circle(np.sort(found.angle), np.sort([(at - half) % TURN, (at + half) % TURN])) < 1e-9
    assert found.touching == ()


def test_a_turning_point_two_millionths_short_is_nothing() -> None:
    found = zeros(series(-2 * TOUCH - 1.0, (math.cos(2.0), math.sin(2.0))))
    assert found.angle.size == 0
    assert found.touching == ()


def test_zeros_of_many_signals_keep_to_their_rows() -> None:
    signals = np.concatenate([series(mean, (1.0, 0.0)).c for mean in (0.5, 3.0, -0.2)])
    found = zeros(Harmonics(signals))
    assert found.row.tolist() == [0, 0, 2, 2]
    crossing = [math.acos(-0.5), TURN - math.acos(-0.5), math.acos(0.2), TURN - math.acos(0.2)]
    assert np.max(np.abs(found.angle - crossing)) < 1e-12


def test_extremes_of_a_sum_of_two_harmonics() -> None:
    """Cos t + b cos 2t with b > 1/4 is least where cos t = −1/(4b): −b − 1/(8b); greatest at 0: 1 + b."""
    b = 0.7
    least, most = extremes(series(0.0, (1.0, 0.0), (b, 0.0)))
    assert abs(least[0] - (-b - 1 / (8 * b))) < 1e-13
    assert abs(most[0] - (1 + b)) < 1e-13


# ---- harmonic motion in closed form ---------------------------------------------------------------------------------


def harmonic() -> Harmonics:
    return series(0.0, (AMPLITUDE * math.cos(PHASE), AMPLITUDE * math.sin(PHASE)))


def crank_direction(crank: CrankMotion, theta: float) -> float:
    """Direction of the crank from the cylinder line, running forward."""
    return math.asin(crank.height / (crank.rod + crank.radius)) - theta


def piston_gone(crank: CrankMotion, theta: float, end: str) -> float:
    """Piston's distance from an end's dead centre, percent of stroke, from the triangle itself."""
    phi = crank_direction(crank, theta)
    r, rod, h = crank.radius, crank.rod, crank.height
    s = r * math.cos(phi) + math.sqrt(rod**2 - (h - r * math.sin(phi)) ** 2)
    front, back = math.sqrt((rod + r) ** 2 - h**2), math.sqrt((rod - r) ** 2 - h**2)
    return float(100 * (front - s if end == "front" else s - back) / (front - back))


def back_dead_centre(crank: CrankMotion) -> float:
    """Forward crank angle at which the crank points straight back along the rod."""
    r, rod, h = crank.radius, crank.rod, crank.height
    return math.asin(h / (rod + r)) - math.pi - math.asin(h / (rod - r))


def closed_form(admission: str, end: str, event: str, lap: float) -> float:
    """Forward crank angle of an event: the edge opens half-angle before, and closes after, the valve's extreme."""
    steam = event in ("admission", "cutoff")
    wants_forward = (admission == "inside") == (end == "front")
    middle = PHASE if wants_forward == steam else PHASE + math.pi
    half = math.acos(lap / AMPLITUDE)
    return middle - half if event in ("admission", "release") else middle + half


@pytest.mark.parametrize("direction", DIRECTIONS)
@pytest.mark.parametrize("admission", ["outside", "inside"])
@pytest.mark.parametrize("crank", [LEVEL, OFFSET], ids=["level", "offset"])
def test_events_of_harmonic_motion_are_those_of_the_closed_form(
    crank: CrankMotion, admission: str, direction: str
) -> None:
    laps: dict[str, Any] = {"steam_lap": None, "steam_lap_front": 23.0, "steam_lap_back": 21.0}
    laps |= {"exhaust_lap_front": 1.5, "exhaust_lap_back": -2.0}
    told = both_ends(harmonic(), ports(admission, **laps), crank, direction)
    forward = direction == "forward"
    other = {"admission": "cutoff", "cutoff": "admission", "release": "compression", "compression": "release"}
    for end in ENDS:
        dead = 0.0 if end == "front" else back_dead_centre(crank)
        steam_lap = laps[f"steam_lap_{end}"]
        for event in EVENTS:
            kind = "steam" if event in ("admission", "cutoff") else "exhaust"
            lap = laps[f"{kind}_lap_{end}"]
            theta = closed_form(admission, end, event if forward else other[event], lap)
            angle = math.degrees((theta - dead) if forward else (dead - theta))
            assert round_the_circle(told[end].angle[event][0], angle, 360.0) < 1e-10
            assert abs(told[end].percent[event][0] - piston_gone(crank, theta, end)) < 1e-10
        sign = 1 if (admission == "inside") == (end == "front") else -1
        assert abs(told[end].lead[0] - (sign * AMPLITUDE * math.cos(dead - PHASE) - steam_lap)) < 1e-10
        assert told[end].missing == {"steam": ("",), "exhaust": ("",)}


def test_the_back_lead_is_taken_at_the_true_back_dead_centre() -> None:
    """The offset line puts it 0.27 degrees off half a turn: 0.3 mm on this valve."""
    told = end_events(harmonic(), ports(), OFFSET, "back")
    dead = back_dead_centre(OFFSET)
    assert abs(told.lead[0] - (AMPLITUDE * math.cos(dead - PHASE) - 23.0)) < 1e-10
    assert abs(told.lead[0] - (AMPLITUDE * math.cos(math.pi - PHASE) - 23.0)) > 0.2


def test_the_true_dead_centres_are_the_ends_of_the_stroke() -> None:
    theta = np.linspace(0, TURN, 200_001)
    gone = OFFSET.fraction(theta)
    assert abs(gone[0]) < 1e-15
    assert abs(OFFSET.fraction(OFFSET.back_crank_angle) - 1) < 1e-15
    assert np.all((gone > -1e-15) & (gone < 1 + 1e-15))
    assert abs(theta[np.argmax(gone)] - OFFSET.back_crank_angle) < TURN / 200_000


def test_early_admission_is_told_as_just_short_of_a_full_turn() -> None:
    """With lead the port opens before its dead centre: near 360 degrees, and the piston still short of its end."""
    told = end_events(harmonic(), ports(), LEVEL, "front")
    assert told.lead[0] == pytest.approx(-AMPLITUDE * math.cos(PHASE) - 23.0, abs=1e-12)
    assert 355.0 < told.angle["admission"][0] < 360.0
    assert 0.0 < told.percent["admission"][0] < 0.3


def test_opening_is_cut_off_at_the_port_and_the_rest_is_over_travel() -> None:
    told = both_ends(harmonic(), ports(port_width=30.0), LEVEL, "forward")
    for end in ENDS:
        assert told[end].opening[0] == 30.0
        assert abs(told[end].over_travel[0] - (AMPLITUDE - 23.0 - 30.0)) < 1e-12
    wide = end_events(harmonic(), ports(port_width=60.0), LEVEL, "front")
    assert abs(wide.opening[0] - (AMPLITUDE - 23.0)) < 1e-12
    assert wide.over_travel[0] == 0.0


# ---- ports that never open, never close, open twice, just touch -----------------------------------------------------


def test_a_lap_beyond_the_travel_never_opens() -> None:
    told = end_events(harmonic(), ports(steam_lap=AMPLITUDE + 1), LEVEL, "front")
    assert told.missing == {"steam": ("never opens",), "exhaust": ("",)}
    for event in ("admission", "cutoff"):
        assert np.isnan(told.angle[event][0])
        assert np.isnan(told.percent[event][0])
    assert abs(told.opening[0] + 1) < 1e-12


def test_a_clearance_beyond_the_travel_never_closes() -> None:
    told = end_events(harmonic(), ports(exhaust_lap=-AMPLITUDE - 1), LEVEL, "back")
    assert told.missing == {"steam": ("",), "exhaust": ("never closes",)}
    assert np.isnan(told.angle["release"][0])
    assert np.isnan(told.angle["compression"][0])


@pytest.mark.parametrize("short", [0.4e-6, -0.4e-6])
def test_a_port_that_just_opens_or_just_fails_to_is_told_as_touching(short: float) -> None:
    told = end_events(harmonic(), ports(steam_lap=AMPLITUDE + short), LEVEL, "front")
    assert told.missing["steam"] == ("never opens, just touches",)
    assert np.isnan(told.angle["admission"][0])


def test_of_two_openings_the_longer_is_told() -> None:
    """Back port of 40 cos 2t + 8 cos t with 20 mm lap: u = cos t solves 80 u² + 8 u − 60 = 0."""
    told = end_events(series(0.0, (8.0, 0.0), (40.0, 0.0)), ports(steam_lap=20.0), LEVEL, "back")
    assert told.missing["steam"] == ("opens twice",)
    first = math.acos((-8 + math.sqrt(8**2 + 4 * 80 * 60)) / 160)
    assert round_the_circle(told.angle["admission"][0], math.degrees(-first - math.pi), 360.0) < 1e-10
    assert round_the_circle(told.angle["cutoff"][0], math.degrees(first - math.pi), 360.0) < 1e-10


def test_every_row_is_told_for_itself() -> None:
    """One valve, three amplitudes: never opens, plain, plain."""
    valve = Harmonics(np.concatenate([harmonic().c * share for share in (0.3, 0.6, 1.0)]))
    told = end_events(valve, ports(), LEVEL, "front")
    assert told.missing["steam"] == ("never opens", "", "")
    for row, share in ((1, 0.6), (2, 1.0)):
        alone = end_events(Harmonics(harmonic().c * share), ports(), LEVEL, "front")
        for event in EVENTS:
            assert abs(told.angle[event][row] - alone.angle[event][0]) < 1e-10


# ---- series ---------------------------------------------------------------------------------------------------------


def test_a_series_through_samples_gives_value_and_rate_anywhere() -> None:
    def value(t: Any) -> Any:
        return 3.0 + 2.0 * np.cos(t) - 0.5 * np.sin(3 * t) + 0.25 * np.cos(5 * t)

    t = np.arange(16) * TURN / 16
    found, asked = Harmonics.through(value(t)), np.linspace(-4, 9, 57)
    for at in asked:
        assert abs(found(at) - value(at)) < 1e-13
        rate = -2.0 * np.sin(at) - 1.5 * np.cos(3 * at) - 1.25 * np.sin(5 * at)
        assert abs(found.rate()(at) - rate) < 1e-12
        assert abs(found(at, order=1) - rate) < 1e-12
        assert abs(found.reversed()(at) - value(-at)) < 1e-13
    assert np.max(np.abs(found.on_grid(40) - value(np.arange(40) * TURN / 40))) < 1e-13
    assert Harmonics.through(value(np.arange(32) * TURN / 32)).tail < 1e-14
