"""Laws that every gear obeys, looped over all gears at hand in every notch."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from typing import Any

import numpy as np
import pytest

from linkmotion.events import both_ends
from linkmotion.gears.frame import CROSSHEAD_PIN, VALVE_GUIDE, VALVE_PIN
from linkmotion.gears.reverser import stacked
from linkmotion.gears.sensitivity import marked, numbers, with_numbers
from linkmotion.gears.slots import is_tie
from linkmotion.linkage import Linkage, Solution, Wheel, solve
from linkmotion.linkage.constraints import misfit
from linkmotion.linkage.parts import Crank, Plate, Rod
from linkmotion.revolution import TAIL, revolve
from linkmotion.valve import ENDS, Ports
from tests.gears_at_hand import (
    EXAMPLES,
    GearAtHand,
    every_gear,
    example,
    mirrored,
    mirrored_setting,
    of_engine,
)

GEARS = tuple(every_gear())
FINE = Wheel.revolution(3600)  # each tenth of a degree
CLOSED = 1e-9  # mm
ALIKE = 1e-10  # mm: to this each loop is closed; together, the worst notch decides how many Newton steps are taken
TURN = 2 * np.pi


def finely(name: str) -> Solution:
    """All notches of a gear together."""
    own = every_gear()[name]
    return solve(own.gear.declare(own.together()), FINE)


def slope(path: Any) -> Any:
    """Derivative of an evenly sampled periodic path to the angle, by its Fourier series."""
    count = path.shape[-1]
    return np.fft.ifft(1j * np.fft.fftfreq(count, 1 / count) * np.fft.fft(path))


# ---- closure --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples_close_at_each_tenth_of_a_degree_in_every_notch_state_and_side(path: Any) -> None:
    engine = example(path.stem)
    for state in engine.state_names:
        for side in engine.sides:
            own = of_engine(engine, state, side)
            for notch, setting in own.settings.items():
                left = misfit(solve(own.gear.declare(setting), FINE))
                assert max(left.values()) < CLOSED, (state, side, notch, left)


@pytest.mark.parametrize("name", GEARS)
def test_rods_and_plates_keep_their_lengths(name: str) -> None:
    solution = finely(name)
    for part in solution.linkage.parts:
        pairs: list[tuple[int, int, Any]] = []
        if isinstance(part, Rod):
            pairs = [(part.a, part.b, part.length)]
        elif isinstance(part, Plate):
            at = [np.asarray(x + 1j * y) for x, y in part.places]
            pairs = [(part.pins[0], b, np.abs(at[k] - at[0])) for k, b in enumerate(part.pins) if k]
        for a, b, length in pairs:
            assert np.max(np.abs(np.abs(solution.points[a] - solution.points[b]) - length)) < CLOSED, part.name


@pytest.mark.parametrize("name", GEARS)
def test_plates_are_never_turned_inside_out(name: str) -> None:
    """The third pin stays on its side of the first two."""
    solution = finely(name)
    for part in solution.linkage.parts:
        if isinstance(part, Plate) and len(part.pins) > 2:
            drawn = [np.asarray(x + 1j * y) for x, y in part.places]
            placed = [solution.points[pin] for pin in part.pins]
            for k in range(2, len(drawn)):
                share = (drawn[k] - drawn[0]) / (drawn[1] - drawn[0])
                found = (placed[k] - placed[0]) / (placed[1] - placed[0])
                assert np.max(np.abs(found - share)) < 1e-11, part.name


@pytest.mark.parametrize("name", GEARS)
def test_the_revolution_closes_on_itself_without_a_jump(name: str) -> None:
    """From each tenth of a degree to the next, also from the last to the first, no pin moves faster than it should.

    The step is a chord of the path, so not longer than the greatest speed allows; a jump of assembly is a
    hundred times that.
    """
    solution = finely(name)
    rates = solution.rates()
    for pin, index in solution.linkage.names.items():
        path = np.broadcast_to(solution.points[index], solution.shape)
        step = np.abs(np.roll(path, -1, axis=-1) - path)
        assert np.max(step) <= 1.001 * np.max(np.abs(rates[pin])) * TURN / 3600 + 1e-9, pin


@pytest.mark.parametrize("name", GEARS)
def test_every_rod_has_its_key(name: str) -> None:
    """Each rod of the linkage is the length of one key, which makes the rod longer by what is added to it."""
    own = every_gear()[name]
    setting = own.together()
    key_of = {rod: key for key, rod in marked(own.gear, "rod").items()}
    lengths = _rod_lengths(own.gear.declare(setting))
    assert set(lengths) <= set(key_of), name
    for rod in lengths:
        longer = with_numbers(own.gear, {key_of[rod]: numbers(own.gear)[key_of[rod]] + 1.0})
        grown = {other: length - lengths[other] for other, length in _rod_lengths(longer.declare(setting)).items()}
        assert np.max(np.abs(grown.pop(rod) - 1.0)) < 1e-9, rod
        assert all(np.max(np.abs(none)) < 1e-9 for none in grown.values()), rod


def _rod_lengths(linkage: Linkage) -> dict[str, Any]:
    return {part.name: part.length for part in linkage.parts if isinstance(part, Rod) and not is_tie(part.name)}


# ---- velocity -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", GEARS)
def test_velocities_are_the_slopes_of_the_paths(name: str) -> None:
    """By the Fourier series of 256 places, to a millionth of the greatest speed of the pin."""
    own = every_gear()[name]
    solution = solve(own.gear.declare(own.together()), Wheel.revolution(256))
    rates = solution.rates()
    for pin, index in solution.linkage.names.items():
        path = np.broadcast_to(solution.points[index], solution.shape)
        speed = np.broadcast_to(rates[pin], solution.shape)
        assert np.max(np.abs(speed - slope(path))) < 1e-6 * max(1.0, float(np.max(np.abs(speed)))), pin


@pytest.mark.parametrize("name", GEARS)
def test_velocities_are_the_finite_differences_of_the_paths(name: str) -> None:
    """Between places a thousandth of a radian either way; the third derivative leaves 1e-7 of the throw."""
    own = every_gear()[name]
    at, step = np.random.default_rng(3).uniform(0, TURN, 8), 1e-3
    for setting in own.settings.values():
        linkage = own.gear.declare(setting)
        rates = solve(linkage, Wheel.at(at)).rates()
        before, after = (solve(linkage, Wheel.at(at + turn)) for turn in (step, -step))
        for pin in linkage.names:
            found = (after[pin] - before[pin]) / (2 * step)
            assert np.max(np.abs(rates[pin] - found)) < 2e-6 * max(100.0, float(np.max(np.abs(found)))), pin


# ---- series ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", GEARS)
def test_the_series_gives_what_is_solved_directly_at_any_angle(name: str) -> None:
    own = every_gear()[name]
    turned = revolve(own.gear, own.together())
    at = np.random.default_rng(11).uniform(-TURN, TURN, 60)
    direct = solve(own.gear.declare(own.together()), Wheel.at(-at))
    for row, place in enumerate(np.broadcast_to(direct.along(VALVE_GUIDE), (len(own.settings), at.size))):
        assert np.max(np.abs(turned.spindle[row](at) - place)) < 1e-9


@pytest.mark.parametrize("name", [name for name in GEARS if every_gear()[name].gear.slot is not None])
def test_die_and_swing_are_those_of_the_pins(name: str) -> None:
    """Die place and link angle from the pins alone: the pin's arm about the slot's centre, and the turned link."""
    own = every_gear()[name]
    slot = own.gear.slot
    assert slot is not None
    turned = revolve(own.gear, own.together())
    assert turned.die is not None
    assert turned.swing is not None
    at = np.random.default_rng(12).uniform(0, TURN, 20)
    direct = solve(own.gear.declare(own.together()), Wheel.at(-at))
    (heel, (hx, hy)), (toe, (tx, ty)) = list(slot.pins.items())[:2]
    line = np.broadcast_to(direct[toe] - direct[heel], (len(own.settings), at.size))
    angle = np.degrees(np.angle(line / complex(tx - hx, ty - hy)))
    die = np.broadcast_to(direct[slot.die], line.shape)
    seen = complex(hx, hy) + (die - direct[heel]) * np.exp(-1j * np.radians(angle))
    for row in range(len(own.settings)):
        assert np.max(np.abs(turned.swing[row](at) - angle[row])) < 1e-9
        x, y = slot.at(turned.die[row](at))
        assert np.max(np.abs(x + 1j * y - seen[row])) < 1e-8


# ---- symmetry -------------------------------------------------------------------------------------------------------


def solve_at(own: GearAtHand, wheel: Any) -> Solution:
    """All notches together at any wheel angles, radians anticlockwise."""
    return solve(own.gear.declare(own.together()), Wheel.at(wheel))


@pytest.mark.parametrize("name", GEARS)
def test_a_place_of_the_wheel_is_the_same_whichever_way_it_is_reached(name: str) -> None:
    own = every_gear()[name]
    wheel = np.radians(np.arange(0.0, 360.0, 7.0))
    one, other = solve_at(own, -wheel), solve_at(own, -wheel[::-1])
    shape = (len(own.settings), wheel.size)
    for pin in one.linkage.names:
        there, back = (np.broadcast_to(solution[pin], shape) for solution in (one, other))
        assert np.max(np.abs(there - back[:, ::-1])) < 1e-9, pin


REVERSED = {"admission": "cutoff", "cutoff": "admission", "release": "compression", "compression": "release"}


@pytest.mark.parametrize("name", GEARS)
def test_running_backward_meets_the_events_of_running_forward_in_reverse(name: str) -> None:
    """Where a port opens in one direction it closes in the other; angles count the other way; leads are the same."""
    own = every_gear()[name]
    turned = revolve(own.gear, own.together())
    valve, ports = turned.displacement(np.mean(turned.extremes, axis=0)), Ports.of(own.gear.valve)
    ahead, astern = (both_ends(valve, ports, own.gear.crank, way) for way in ("forward", "backward"))
    for end in ENDS:
        assert np.max(np.abs(ahead[end].lead - astern[end].lead)) < 1e-10
        assert ahead[end].missing == astern[end].missing
        for event, other in REVERSED.items():
            there, back = ahead[end].angle[event], astern[end].angle[other]
            assert np.array_equal(np.isnan(there), np.isnan(back))
            assert np.nanmax(np.abs((there + back + 180) % 360 - 180), initial=0.0) < 1e-8
            gone = ahead[end].percent[event] - astern[end].percent[other]
            assert np.nanmax(np.abs(gone), initial=0.0) < 1e-8


@pytest.mark.parametrize("name", GEARS)
def test_a_gear_turned_over_gives_the_same_valve_motion_run_the_other_way(name: str) -> None:
    own = every_gear()[name]
    turned, over = (
        revolve(own.gear, own.together()),
        revolve(mirrored(own.gear), mirrored_setting(own.gear, own.together())),
    )
    theta = np.radians(np.arange(0.0, 360.0, 7.0))
    for row in range(len(own.settings)):
        assert np.max(np.abs(over.spindle[row](theta) - turned.spindle[row](-theta))) < 1e-9


@pytest.mark.parametrize("name", GEARS)
def test_every_pin_of_a_gear_turned_over_is_the_mirror_image(name: str) -> None:
    own = every_gear()[name]
    wheel = np.random.default_rng(5).uniform(0, TURN, 12)
    solution = solve_at(own, wheel)
    over = solve(mirrored(own.gear).declare(mirrored_setting(own.gear, own.together())), Wheel.at(-wheel))
    for pin in solution.linkage.names:
        if pin in ("slot top", "slot bottom"):  # turned over, one is the other
            continue
        assert np.max(np.abs(over[pin] - np.conj(solution[pin]))) < 1e-9, pin


@pytest.mark.parametrize("name", GEARS)
def test_a_gear_twice_the_size_moves_twice_as_far(name: str) -> None:
    """Every length doubled, also the die's place; angles stay."""
    own = every_gear()[name]
    lengths = {k: v for k, v in numbers(own.gear).items() if k not in angles_of(own.gear)}
    big = with_numbers(own.gear, {key: 2 * value for key, value in lengths.items()})
    for setting in own.settings.values():
        doubled = type(setting)(2 * setting.place) if hasattr(setting, "place") else setting
        plain, twice = revolve(own.gear, setting), revolve(big, doubled)
        theta = np.radians(np.arange(0.0, 360.0, 9.0))
        assert np.max(np.abs(twice.spindle[0](theta) - 2 * plain.spindle[0](theta))) < 1e-9


def angles_of(gear: Any) -> set[tuple[str, str]]:
    """Keys that are angles, by the dimension book's own word."""
    return {(table.name, key) for table in fields(gear) for key in _angles(getattr(gear, table.name))}


def _angles(table: Any) -> Iterator[str]:
    for key in fields(table):
        inner = getattr(table, key.name)
        if key.metadata["kind"] == "angle":
            yield key.name
        elif key.metadata["kind"] == "table" and inner is not None:
            yield from (f"{key.name}.{name}" for name in _angles(inner))


# ---- many at once ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", GEARS)
def test_notches_together_stand_as_each_alone(name: str) -> None:
    own = every_gear()[name]
    together = solve(own.gear.declare(own.together()), Wheel.revolution(48))
    for row, setting in enumerate(own.settings.values()):
        alone = solve(own.gear.declare(setting), Wheel.revolution(48))
        for pin in alone.linkage.names:
            there = np.broadcast_to(together[pin], (len(own.settings), 48))[row]
            assert np.max(np.abs(there - alone[pin])) < ALIKE, pin


@pytest.mark.parametrize("name", GEARS)
def test_notches_together_move_as_each_alone(name: str) -> None:
    """The series together has as many terms as its worst notch needs: apart by what the tail may be."""
    own = every_gear()[name]
    together = revolve(own.gear, own.together())
    theta = np.radians(np.arange(0.0, 360.0, 11.0))
    for row, (notch, setting) in enumerate(own.settings.items()):
        alone = revolve(own.gear, setting)
        assert np.max(np.abs(together.spindle[row](theta) - alone.spindle[0](theta))) < 10 * TAIL, notch
        assert abs(together.travel[row] - alone.travel[0]) < 10 * TAIL
        if own.gear.slot is not None:
            assert abs(together.die_slip[row] - alone.die_slip[0]) < 1e-9
            assert abs(together.link_swing[row] - alone.link_swing[0]) < 1e-9


@pytest.mark.parametrize("name", GEARS)
def test_variants_together_move_as_each_alone(name: str) -> None:
    """Every dimension varied in its own row by a thousandth (angles by a tenth of a degree), and all in the last."""
    own = every_gear()[name]
    setting = next(iter(own.settings.values()))
    given, angles = numbers(own.gear), angles_of(own.gear)
    changed = {key: value + (0.1 if key in angles else 1e-3 * value) for key, value in given.items()}
    rows = [{key} for key in given] + [set(list(given)[::3])]
    columns = {k: np.array([[changed[k] if k in row else v] for row in rows]) for k, v in given.items()}
    together = solve(with_numbers(own.gear, columns).declare(setting), Wheel.revolution(48)).along(VALVE_GUIDE)
    for row, keys in enumerate(rows):
        gear = with_numbers(own.gear, {key: changed[key] for key in keys})
        alone = solve(gear.declare(setting), Wheel.revolution(48)).along(VALVE_GUIDE)
        assert np.max(np.abs(np.broadcast_to(together, (len(rows), 48))[row] - alone)) < 1e-10, keys


def test_settings_are_stacked_in_order() -> None:
    settings: list[Any] = list(every_gear()["dock_shunter"].settings.values())
    together: Any = stacked(settings)
    assert np.array_equal(np.ravel(together.angle), [np.ravel(setting.angle)[0] for setting in settings])


# ---- what the drive is made of --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", GEARS)
def test_the_crosshead_is_where_crank_and_rod_put_it(name: str) -> None:
    own = every_gear()[name]
    crank = own.gear.crank
    theta = np.radians(np.arange(0.0, 360.0, 5.0))
    solution = solve(own.gear.declare(next(iter(own.settings.values()))), Wheel.at(-theta))
    along = (solution[CROSSHEAD_PIN] * np.exp(-1j * crank.slope)).real
    assert np.max(np.abs(along - crank.crosshead(theta))) < 1e-10
    height = (solution[CROSSHEAD_PIN] * np.exp(-1j * crank.slope)).imag
    assert np.max(np.abs(height - crank.height)) < 1e-10


@pytest.mark.parametrize("name", GEARS)
def test_the_wheel_turns_every_crank_clockwise_in_forward_running(name: str) -> None:
    own = every_gear()[name]
    linkage = own.gear.declare(next(iter(own.settings.values())))
    solution = solve(linkage, Wheel.revolution(360))
    cranks = [part for part in linkage.parts if isinstance(part, Crank)]
    assert cranks
    for part in cranks:
        arm = solution.points[part.pin] - solution.points[part.about]
        turned = np.angle(arm[1:] / arm[:-1])
        assert np.max(np.abs(turned + np.radians(1.0))) < 1e-12
    assert VALVE_PIN in linkage.names or any(getattr(part, "name", "") == VALVE_GUIDE for part in linkage.parts)
