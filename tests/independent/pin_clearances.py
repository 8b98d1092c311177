"""How far the valve can be pushed and pulled with the wheel held: the exact extremes, by constrained optimisation.

Every pin may stand anywhere in its clearance circle (|gap| ≤ c/2), the die anywhere across its slot (± c/2). IPOPT
(interior point, exact second derivatives by casadi) finds the foremost and the rearmost valve over all of them
together, under the full loop equations of `pin_gears`: no derivative of the valve, no sum rule, no small quantity.
Crank angles and cases do not touch one another, so all of them are one separable problem.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import casadi as ca
import numpy as np

from .pin_gears import Floats, PinGear, Stand, drawn_places, front_dead_centre, gaps_of, in_radians

DIE = "die in the slot"
Clearances = Mapping[str, float]
OPTIONS: dict[str, Any] = {
    "ipopt.print_level": 0, "print_time": False, "ipopt.sb": "yes", "ipopt.tol": 1e-9, "ipopt.max_iter": 100,
    "ipopt.constr_viol_tol": 1e-11,
}  # fmt: skip


def names_of(gear: PinGear) -> tuple[str, ...]:
    """Joints that can have clearance: the pins, and the die across its slot."""
    return (*gear.pins, DIE)


def _one(gear: PinGear) -> Any:
    """Closures of one position in one case; places in their circles are given as shares of the radius."""
    names = gear.pins
    x, w, die = ca.SX.sym("x", gear.count), ca.SX.sym("w", 2 * len(names)), ca.SX.sym("die")
    given = ca.SX.sym("given", 3 + len(names))  # crank, arm, clearances
    gap = {n: (given[2 + k] / 2 * w[2 * k], given[2 + k] / 2 * w[2 * k + 1]) for k, n in enumerate(names)}
    stand = Stand(given[0], given[1], gaps_of(gear, gap), ahead=lambda _sine: given[2 + len(names)] / 2 * die)
    circles = [w[2 * k] ** 2 + w[2 * k + 1] ** 2 for k in range(len(names))]
    free = ca.vertcat(x, w, die)
    return ca.Function("one", [free, given], [ca.vertcat(*gear.closures(x, stand)), ca.vertcat(*circles)])


def valve_reach(gear: PinGear, turn: float, cases: Sequence[Clearances], crank_angles: Floats) -> tuple[Floats, Floats]:
    """Rearmost and foremost valve (cases, angles), mm from where it stands without clearance.

    ``turn`` is the reverser in degrees (mm with the die held), clearances are diametral, mm.
    """
    drawn = drawn_places(gear, turn, crank_angles)
    names, front, arm = names_of(gear), front_dead_centre(gear.dims), in_radians(gear, turn)
    given, fixed, start, signs = [], [], [], []
    for case in cases:
        widths = [case.get(name, 0.0) for name in names]
        still = np.array([0.0 if width else 1.0 for width in widths])
        for angle, place in zip(np.radians(crank_angles), drawn, strict=True):
            for sign in (-1.0, 1.0):
                given.append([front - angle, arm, *widths])
                fixed.append([*np.zeros(gear.count), *np.repeat(still[:-1], 2), still[-1]])
                start.append([*place, *np.zeros(2 * len(names) - 1)])
                signs.append(sign)
    found = _solve(gear, np.array(given), np.array(fixed) > 0, np.array(start), np.array(signs))
    valve = (found[:, 1] - np.array(start)[:, 1]).reshape(len(cases), len(crank_angles), 2)
    return valve[..., 0], valve[..., 1]


def _solve(gear: PinGear, given: Floats, fixed: Any, start: Floats, signs: Floats) -> Floats:
    """All blocks at once; block k drives the valve to the side of its sign."""
    count, size = start.shape
    free, pins = ca.MX.sym("free", size, count), len(gear.pins)
    closures, circles = _one(gear).map(count)(free, given.T)
    problem = {"x": ca.vec(free), "f": -ca.dot(free[1, :], signs[None, :]), "g": ca.vec(ca.vertcat(closures, circles))}
    solver = ca.nlpsol("reach", "ipopt", problem, OPTIONS)
    in_circle = np.arange(size) >= gear.count
    most = np.where(in_circle & fixed, 0.0, np.where(in_circle, 1.0, np.inf))
    low = np.tile([*np.zeros(gear.count), *np.full(pins, -np.inf)], count)
    high = np.tile([*np.zeros(gear.count), *np.ones(pins)], count)
    result = solver(x0=start.ravel(), lbx=-most.ravel(), ubx=most.ravel(), lbg=low, ubg=high)
    if not solver.stats()["success"]:
        raise ArithmeticError(f"IPOPT: {solver.stats()['return_status']}")
    return np.asarray(result["x"], dtype=np.float64).reshape(count, size)
