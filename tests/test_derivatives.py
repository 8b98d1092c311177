"""Derivatives to every dimension (finite differences) and every joint shift (multipliers, holes really moved)."""

from __future__ import annotations

import gc
import weakref
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import product
from typing import Any

import numpy as np
import pytest

from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.reverser import figure
from linkmotion.gears.sensitivity import numbers, valve_derivatives, with_numbers
from linkmotion.linkage import Linkage, Solution, Wheel, solve
from linkmotion.linkage.constraints import equations, jacobian, misfit
from linkmotion.linkage.derivatives import Gradient, dimensions, gradient, gradient_along
from linkmotion.linkage.parts import Abreast, Carried, Crank, Fixed, Guide, Plate, Rod, Slide
from tests.gears_at_hand import every_gear
from tests.small_linkages import SMALL

GEARS = tuple(every_gear())
WHEEL = Wheel.at(np.radians([8.0, 77.0, 131.0, 200.0, 262.0, 319.0]))
RELATIVE = 1e-6  # of the derivative's own greatest size over the positions
FLOOR = 2e-9  # mm per mm or degree: rounding of 1e-12 mm over a step of 1e-3 or more


def stencil(f: Callable[[float], Any], step: float) -> Any:
    """Central difference, free of third and fourth derivatives."""
    return (8 * (f(step) - f(-step)) - (f(2 * step) - f(-2 * step))) / (12 * step)


def alike(one: Any, other: Any) -> bool:
    size = float(np.max(np.abs(other)))
    return bool(np.max(np.abs(np.subtract(one, other))) <= RELATIVE * size + FLOOR)


# ---- a linkage with one number, or one hole, changed ----------------------------------------------------------------


def with_dimension(linkage: Linkage, key: tuple[str, str], by: float) -> Linkage:
    """The linkage with one of its numbers, keyed as in ``dimensions``, changed."""
    names = list(linkage.names)
    parts = []
    for part in linkage.parts:
        own = names[part.pin] if isinstance(part, Fixed | Crank) else part.name
        parts.append(_changed(part, key[1], by, names) if own == key[0] else part)
    return replace(linkage, parts=parts)


def _changed(part: Any, what: str, by: float, names: list[str]) -> Any:
    if isinstance(part, Plate):
        pin, axis = what.rsplit(".", 1)
        hole = part.pins.index(names.index(pin))
        places = list(part.places)
        x, y = places[hole]
        places[hole] = (x + by, y) if axis == "x" else (x, y + by)
        return replace(part, places=tuple(places))
    if isinstance(part, Guide | Carried) and what in ("x", "y"):
        field = "origin" if isinstance(part, Guide) else "offset"
        x, y = getattr(part, field)
        moved: dict[str, Any] = {field: (x + by, y) if what == "x" else (x, y + by)}
        return replace(part, **moved)
    return replace(part, **{what: getattr(part, what) + by})


def with_hole_moved(linkage: Linkage, part: str, pin: int, shift: complex) -> Linkage:
    """The linkage with a part's hole for a pin displaced in the frame's directions.

    The part is put on a pin of its own, carried by the old one without turning: with its hole shifted, the
    part stands as if the pin were shifted by as much the other way.
    """
    moved = Linkage(dict(linkage.names), list(linkage.near), list(linkage.parts))
    moved.names["hole"] = len(moved.near)
    moved.near.append(linkage.near[pin])
    hole = moved.names["hole"]
    moved.parts = [_rehung(p, pin, hole) if getattr(p, "name", None) == part else p for p in linkage.parts]
    moved.parts.append(Carried("bush", hole, pin, (-shift.real, -shift.imag)))
    return moved


def _rehung(part: Any, old: int, new: int) -> Any:
    if isinstance(part, Plate):
        return replace(part, pins=tuple(new if pin == old else pin for pin in part.pins))
    fields = {
        Rod: ("a", "b"),
        Guide: ("pin",),
        Slide: ("pin", "a", "b"),
        Carried: ("pin", "by"),
        Abreast: ("pin", "by"),
    }
    return replace(part, **{f: new for f in fields[type(part)] if getattr(part, f) == old})


def holes(linkage: Linkage) -> list[tuple[str, int]]:
    """Every part and each pin that it holds."""
    found: list[tuple[str, int]] = []
    for part in linkage.parts:
        match part:
            case Rod(name=name, a=a, b=b):
                found += [(name, a), (name, b)]
            case Plate(name=name, pins=pins):
                found += [(name, pin) for pin in pins]
            case Guide(name=name, pin=pin):
                found.append((name, pin))
            case Carried(name=name, pin=pin, by=by) | Abreast(name=name, pin=pin, by=by):
                found += [(name, pin), (name, by)]
            case Slide(name=name, pin=pin, a=a, b=b):
                found += [(name, pin), (name, a), (name, b)]
    return found


def multipliers(solution: Solution, wish: dict[str, complex]) -> dict[tuple[str, int], Any]:
    """Derivatives to every joint shift from the transposed loop equations, solved densely.

    With the equations f(x) = 0, a hole shifted by d counts as f(x − d): f' dx = g d, and w dx = l (g d), f'ᵀ l = w.
    """
    matrix, _rows, columns = jacobian(solution.linkage, solution.points)
    weights = np.zeros((*solution.shape, matrix.shape[-1]))
    for k, pin in enumerate(columns):
        weights[..., 2 * k], weights[..., 2 * k + 1] = np.real(wish.get(pin, 0)), np.imag(wish.get(pin, 0))
    found = np.linalg.solve(np.swapaxes(matrix, -1, -2), weights[..., None])[..., 0]
    shifts: dict[tuple[str, int], Any] = {}
    for row, equation in enumerate(equations(solution.linkage, solution.points)):
        for number, g in equation.gradient:
            shifts[equation.part, number] = shifts.get((equation.part, number), 0) + found[..., row] * g
    return shifts


# ---- small linkages: every kind of step, cut and closure ------------------------------------------------------------

OUTPUTS = [(name, pin) for name, small in SMALL.items() for pin in small.start]


@cache
def changed_small(name: str, key: tuple[str, str], by: float) -> Solution:
    """A small linkage with one of its numbers changed, solved: for all its pins and both axes."""
    return solve(with_dimension(SMALL[name].declare(), key, by), WHEEL)


@pytest.mark.parametrize(("name", "pin"), OUTPUTS)
@pytest.mark.parametrize("way", [1.0, 1j], ids=["x", "y"])
def test_derivatives_of_small_linkages_to_every_number(name: str, pin: str, way: complex) -> None:
    linkage = SMALL[name].declare()

    def place(key: tuple[str, str], by: float) -> Any:
        return (np.conj(way) * changed_small(name, key, by)[pin]).real

    found = gradient(solve(linkage, WHEEL), {pin: way})
    for key in dimensions(linkage):
        step = 1e-4 if key[1] in ("phase", "direction") else 2e-2
        difference = stencil(lambda by, key=key: place(key, by), step)  # type: ignore[misc]
        assert np.max(np.abs(found.dimension(*key) - difference)) < RELATIVE * np.max(np.abs(difference)) + 1e-7, key


@pytest.mark.parametrize(("name", "pin"), OUTPUTS)
@pytest.mark.parametrize("way", [1.0, 1j], ids=["x", "y"])
def test_joint_shifts_of_small_linkages_are_the_multipliers(name: str, pin: str, way: complex) -> None:
    solution = solve(SMALL[name].declare(), WHEEL)
    found, names = gradient(solution, {pin: way}), list(solution.linkage.names)
    wanted = multipliers(solution, {pin: way})
    for part, at in holes(solution.linkage):
        assert np.max(np.abs(found.joint(part, names[at]) - wanted[part, at])) < 1e-8, (part, names[at])


@pytest.mark.parametrize("name", SMALL)
def test_joint_shifts_of_small_linkages_are_what_a_moved_hole_does(name: str) -> None:
    pin = next(iter(SMALL[name].start))
    solution = solve(SMALL[name].declare(), WHEEL)
    check_moved_holes(solution, gradient(solution, {pin: 1.0}), lambda moved: moved[pin].real)


def settled(linkage: Linkage, near: Solution) -> Solution:
    """A linkage with a hole moved, by Newton on all its equations together from where it stood."""
    points = [np.broadcast_to(point, near.shape) for point in near.points]
    bush = linkage.parts[-1]
    assert isinstance(bush, Carried)
    points.append(points[bush.by])
    solution = replace(near, linkage=linkage, points=points)
    for _ in range(3):  # from a thousandth away each step squares what is left
        matrix, _rows, columns = jacobian(solution.linkage, solution.points)
        left = np.stack(
            [np.broadcast_to(e.left, near.shape) for e in equations(solution.linkage, solution.points)], axis=-1
        )
        step = np.linalg.solve(matrix, left[..., None])[..., 0]
        moved = list(solution.points)
        for k, pin in enumerate(columns):
            moved[linkage.names[pin]] = moved[linkage.names[pin]] - (step[..., 2 * k] + 1j * step[..., 2 * k + 1])
        solution = replace(solution, points=moved)
    assert max(misfit(solution).values()) < 1e-11
    return solution


def check_moved_holes(solution: Solution, found: Gradient, output: Callable[[Solution], Any]) -> None:
    """Every hole moved by a thousandth either way, along x and along y."""
    linkage = solution.linkage
    for part, pin in holes(linkage):
        shift = found.joint(part, list(linkage.names)[pin])
        for way, slope in ((1.0, np.real(shift)), (1j, np.imag(shift))):
            ahead, behind = (
                output(settled(with_hole_moved(linkage, part, pin, by * way), solution)) for by in (1e-3, -1e-3)
            )
            difference = (ahead - behind) / 2e-3
            assert np.max(np.abs(slope - difference)) < 1e-6 * max(1.0, np.max(np.abs(difference))), (part, pin, way)


# ---- gears ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", GEARS)
def test_the_valve_s_derivative_to_every_dimension_is_its_finite_difference(name: str) -> None:
    """In every third notch; the changed gears, each with one dimension off, are solved together."""
    own, step = every_gear()[name], 2e-2  # mm, or degrees
    drawn = numbers(own.gear)
    moves = {(key, by): row for row, (key, by) in enumerate(product(drawn, (step, -step, 2 * step, -2 * step)))}
    columns = {key: np.array([[drawn[key] + (by if key == moved else 0.0)] for moved, by in moves]) for key in drawn}
    for setting in list(own.settings.values())[::3]:
        found = valve_derivatives(own.gear, setting, solve(own.gear.declare(setting), WHEEL))
        valve = solve(with_numbers(own.gear, columns).declare(setting), WHEEL).along(VALVE_GUIDE)
        for key in drawn:
            if key != ("valve", "central_at"):  # the spindle does not move with that
                difference = stencil(lambda by, key=key, valve=valve: valve[moves[key, by]], step)  # type: ignore[misc]
                assert alike(found[key], difference), key
        assert found["valve", "central_at"] == -1.0


@pytest.mark.parametrize("name", GEARS)
def test_the_valve_s_derivative_to_the_reverser_is_its_finite_difference(name: str) -> None:
    own = every_gear()[name]
    for setting in own.settings.values():
        found = valve_derivatives(own.gear, setting, solve(own.gear.declare(setting), WHEEL))
        key = next(k for k in found if k in {("reversing", w) for w in ("arm angle", "die place", "stop angle")})

        def valve(by: float, setting: Any = setting) -> Any:
            return solve(own.gear.declare(type(setting)(figure(setting) + by)), WHEEL).along(VALVE_GUIDE)

        assert alike(found[key], stencil(valve, 1e-2))


@pytest.mark.parametrize("name", GEARS)
def test_derivatives_of_notches_together_are_those_of_each_alone(name: str) -> None:
    own = every_gear()[name]
    together = solve(own.gear.declare(own.together()), WHEEL)
    found = valve_derivatives(own.gear, own.together(), together)
    shape = (len(own.settings), WHEEL.turn.size)
    for row, setting in enumerate(own.settings.values()):
        alone = valve_derivatives(own.gear, setting, solve(own.gear.declare(setting), WHEEL))
        for key, value in alone.items():
            assert np.max(np.abs(np.broadcast_to(found[key], shape)[row] - value)) < 1e-9, key


@pytest.mark.parametrize("name", GEARS)
def test_joint_shifts_of_gears_are_the_multipliers(name: str) -> None:
    """The valve's place is taken along its guide, so the guide's own shift counts against it."""
    own = every_gear()[name]
    for setting in own.settings.values():
        solution = solve(own.gear.declare(setting), WHEEL)
        guide, names = solution.guide(VALVE_GUIDE), list(solution.linkage.names)
        line = complex(np.exp(1j * guide.direction))
        found, wanted = gradient_along(solution, VALVE_GUIDE), multipliers(solution, {names[guide.pin]: line})
        wanted[VALVE_GUIDE, guide.pin] = wanted[VALVE_GUIDE, guide.pin] - line
        for part, pin in holes(solution.linkage):
            assert np.max(np.abs(found.joint(part, names[pin]) - wanted[part, pin])) < 1e-9, (part, names[pin])


MOVED = ("dock_shunter", "metre_gauge", "ideal suspension", "stephenson_goods", "hanger drive (stephenson)",
         "Gooch, sliding block, rocker (gooch)", "allan_saddle_tank", "donkey_eccentric")  # fmt: skip


@pytest.mark.parametrize("name", MOVED)
def test_joint_shifts_of_gears_are_what_a_moved_hole_does(name: str) -> None:
    """With the guide's own hole moved, the place along the guide is that of the hole. Each kind of gear and hanging."""
    own = every_gear()[name]
    solution = solve(own.gear.declare(next(iter(own.settings.values()))), WHEEL)
    check_moved_holes(solution, gradient_along(solution, VALVE_GUIDE), lambda moved: moved.along(VALVE_GUIDE))


@pytest.mark.parametrize("name", GEARS)
def test_the_loop_equations_are_as_many_as_the_unknowns_and_are_met(name: str) -> None:
    own = every_gear()[name]
    solution = solve(own.gear.declare(next(iter(own.settings.values()))), WHEEL)
    matrix, rows, columns = jacobian(solution.linkage, solution.points)
    assert matrix.shape == (*solution.shape, len(rows), 2 * len(columns))
    assert len(rows) == 2 * len(columns)
    assert max(misfit(solution).values()) < 1e-10
    assert np.max(np.linalg.cond(matrix)) < 1e5


@pytest.mark.parametrize("name", GEARS)
def test_the_jacobian_is_the_slope_of_what_is_left_over(name: str) -> None:
    """Pins moved off their places one by one; the equations' left-overs against the Jacobian's columns."""
    own = every_gear()[name]
    solution = solve(own.gear.declare(next(iter(own.settings.values()))), WHEEL)
    matrix, _rows, columns = jacobian(solution.linkage, solution.points)
    for k, pin in enumerate(columns):
        for axis, way in enumerate((1.0, 1j)):
            left = []
            for by in (1e-3, -1e-3):
                points = [np.array(p) for p in solution.points]
                points[solution.linkage.names[pin]] = points[solution.linkage.names[pin]] + by * way
                moved = replace(solution, points=points)
                left.append([np.broadcast_to(e.left, solution.shape) for e in equations(moved.linkage, moved.points)])
            slope = (np.array(left[0]) - np.array(left[1])) / 2e-3
            assert np.max(np.abs(slope.T - matrix[..., 2 * k + axis])) < 1e-8, pin


def test_a_gradient_is_freed_when_it_is_let_go() -> None:
    """Its arrays stay where they are for the next one: held by a ring until the collector came, they cost half as much
    again.
    """
    own = every_gear()["hackworth_quarry"]
    turned = solve(own.gear.declare(next(iter(own.settings.values()))), Wheel.revolution(36))
    found = gradient_along(turned, VALVE_GUIDE)
    assert len(found.dimension("valve rod", "length")) == 36
    gone = weakref.ref(found)
    collecting = gc.isenabled()
    gc.disable()
    try:
        del found
        assert gone() is None
    finally:
        if collecting:
            gc.enable()
