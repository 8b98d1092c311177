"""Stephenson, Gooch, Allan and plain eccentric gears, solved one crank position at a time.

The loops of `eccentric_loops` are closed by ``scipy.optimize`` at front dead centre in the assembly the rules
choose (`eccentric_assembly`), and followed from there by Newton's method in small steps of the crank.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from scipy.optimize import brentq, root

from .closing import NotClosed, polished
from .drawing import Dims
from .eccentric_loops import EccentricGear
from .joint_angles import Positions
from .plane_vectors import Floats, Unknowns, Vector, residual_and_jacobian, turned

LARGEST_STEP = 5.0  # degrees of crank between two solutions on the way to a wanted position
LARGEST_TURN = 0.3  # radians any part may turn in one such step; a crank turns 0.09
TURNING = ("connecting rod", "forward rod", "backward rod", "link", "radius rod", "rocker", "swing")


def polish(gear: EccentricGear, x: Floats, crank: Any) -> Floats:
    """Newton's method from a near solution, or from many at once; refuses what does not close to rounding."""
    return polished(lambda x: residual_and_jacobian(gear.loops(Unknowns(gear.names, x), crank)[0]), x, crank)


def close(gear: EccentricGear, start: Floats, crank: float) -> Floats:
    """Solve from a rough sketch at one direction of the crank (radians)."""

    def closures(x: Floats) -> tuple[Floats, Floats]:
        return residual_and_jacobian(gear.loops(Unknowns(gear.names, x), crank)[0])

    x = np.asarray(root(closures, start, jac=True, options={"xtol": 1e-10}).x, dtype=np.float64)
    return polish(gear, x, crank)


def follow(gear: EccentricGear, x: Floats, crank: float, target: float) -> Floats:
    """Carry a solution at ``crank`` to ``target`` (radians) in small steps, refusing jumps of assembly."""
    steps = max(1, math.ceil(abs(target - crank) / math.radians(LARGEST_STEP) - 1e-9))
    for k in range(1, steps + 1):
        there = crank + (target - crank) * k / steps
        x = unbroken(gear, x, polish(gear, x, there), there)
    return x


def unbroken(gear: EccentricGear, before: Floats, x: Floats, crank: float) -> Floats:
    """The next solution, if no part has jumped since the one ``before``."""
    from .eccentric_assembly import keeps_assembly

    most = max(abs(x[k] - before[k]) for k, name in enumerate(gear.names) if name in TURNING)
    if most > LARGEST_TURN or not keeps_assembly(gear, x):
        raise NotClosed(f"assembly lost with the crank at {math.degrees(crank):.3f} degrees")
    return x


def place_pins(gear: EccentricGear, x: Floats, crank: float) -> dict[str, complex]:
    """All pins at one solution, in mm."""
    return pins_of(gear, gear.loops(Unknowns(gear.names, x), crank)[1], crank)


def pins_of(gear: EccentricGear, found: dict[str, Vector], crank: Any) -> dict[str, Any]:
    """All pins, those of the loops and the others, in mm; with many solutions at once those that move as arrays."""
    pins, heading = {name: pin.z for name, pin in found.items()}, turned(crank)
    pins["crank pin"] = gear.reach[0] * heading
    if gear.kind == "eccentric":
        return pins | {"eccentric": gear.eccentric("forward") * heading}
    for which in ("forward", "backward"):
        pins[f"{which} eccentric"] = gear.eccentric(which) * heading
    if gear.suspension != "ideal":
        pins["arm pin"] = gear.arm_end()
    if gear.kind == "allan":
        pins["rod arm pin"] = gear.arm_end("rod_arm")
    return pins


def solve(
    dims: Dims,
    setting: float,
    crank_angles: Sequence[float] | Floats,
    direction: str = "forward",
    kind: str = "stephenson",
) -> Positions:
    """Solve the gear of the tables ``dims`` at each crank angle (degrees), one after the other.

    ``setting`` as in `EccentricGear`. A plain eccentric has no link: its link angle and die place are nan.
    Raises `NotClosed` where the gear cannot pass.
    """
    from .eccentric_assembly import first_solution

    gear = EccentricGear(dims, kind, setting)
    sense = {"forward": -1.0, "backward": 1.0}[direction]
    angles = np.asarray(crank_angles, dtype=np.float64)
    cranks = gear.front_dead_centre + sense * np.radians(angles)
    crank, x, rows = gear.front_dead_centre, first_solution(gear), []
    for target in cranks.tolist():
        x, crank = follow(gear, x, crank, target), target
        rows.append(x)
    every = np.array(rows).T
    closures, found = gear.loops(Unknowns(gear.names, every), cranks)
    pins = {name: np.broadcast_to(at, cranks.shape) for name, at in pins_of(gear, found, cranks).items()}
    table = dict(zip(gear.names, every, strict=True))
    nothing = np.full(len(angles), np.nan)
    return Positions(
        crank_angle=angles,
        valve=table["valve"],
        piston=table["piston"],
        link_angle=np.degrees(table.get("link", nothing)),
        die_place=table.get("die", nothing),
        points={name: np.stack([at.real, at.imag], axis=-1) for name, at in pins.items()},
        closure=float(max(np.abs(each.z).max() for each in closures)),
    )


def arm_for_die(dims: Dims, die: float, kind: str = "stephenson") -> float:
    """Arm angle in degrees, (-180, 180], with the die at arc place ``die`` mm on front dead centre.

    Every sixth degree of the whole circle is tried, and each crossing polished; of several the one with its
    lifting link (Allan: both links) nearest to upright, with a sliding block the one nearest to the die.
    """

    def solved(arm: float) -> dict[str, float]:
        return at_front(dims, arm, kind)

    if dims["reversing"]["suspension"] == "ideal":
        return die
    arms, places = np.arange(-180.0, 181.0, 6.0), []
    for arm in arms:
        try:
            places.append(solved(float(arm))["die"] - die)
        except NotClosed:
            places.append(math.nan)
    crossed = [k for k in range(len(arms) - 1) if places[k] * places[k + 1] <= 0.0]
    found = []
    for k in crossed:
        try:
            arm = brentq(lambda a: solved(a)["die"] - die, arms[k], arms[k + 1], xtol=1e-13, rtol=1e-14)
        except NotClosed:
            continue
        if abs(solved(arm)["die"] - die) < 1e-9:  # else a jump between assemblies, no crossing
            found.append(float(arm))
    if not found:
        raise NotClosed(f"no arm angle puts the die {die:g} mm from mid link")
    return min(found, key=lambda arm: leaning(dims, arm, kind))


def at_front(dims: Dims, arm: float, kind: str) -> dict[str, float]:
    """All unknowns at front dead centre, the arm at an angle, degrees."""
    from .eccentric_assembly import first_solution

    gear = EccentricGear(dims, kind, arm)
    return dict(zip(gear.names, first_solution(gear), strict=True))


def leaning(dims: Dims, arm: float, kind: str) -> float:
    """How far the lifting links are from upright at front dead centre; how far a sliding block is from the die."""
    x, suspension = at_front(dims, arm, kind), dims["reversing"]["suspension"]
    if suspension == "sliding block":
        return abs(x["rod hung"])
    hung = {"stephenson": ["link hung"], "gooch": ["rod hung"], "allan": ["link hung", "rod hung"]}[kind]
    return sum(abs(math.cos(x[name])) for name in hung)
