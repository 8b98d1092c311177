"""Lost motion: how far the valve can be pushed and pulled with the wheel held.

By virtual work the reaction in joint i per unit valve load is -dv/d(gap_i), so a pin with diametral clearance
c lets the valve move freely by ``c |dv/d(gap_i)|``, and the die in its slot likewise with the component
square to the slot: exact to first order in the clearances. The sum over the joints is what a dial gauge on
the spindle reads when it is pushed and pulled.

What is left out goes by the square of the clearances. Pushed one way the valve moves by half the sum and
½ gᵀ H g more, H the second derivatives to the gaps g; pulled the other way by as much less, so that of the whole
movement that term drops out as well. Measured against the exact reach (``tests/test_lost_motion.py``) with 0.5 mm
in every joint of three examples: the whole within 0.0012 mm of 2.9 to 4.5 mm, one side within 0.45 %.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from linkmotion.gears import Gear, ReverserPosition
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.slots import PART, TIE, Slot, is_seen, is_tie
from linkmotion.linkage import Linkage, Solution, Wheel, solve
from linkmotion.linkage.derivatives import Gradient, gradient_along
from linkmotion.linkage.parts import Carried, Plate, Rod, Slide
from linkmotion.wear.condition import Condition

DIE = "die in the slot"


@dataclass(frozen=True)
class LostMotion:
    """Free movement of the valve, wheel held.

    Attributes
    ----------
    crank_angle : float array, shape (N,)
        From front dead centre in forward running, degrees.
    joints : dict of float arrays, shape (N,) or (S, N)
        Free movement from each joint alone, mm, by pin name (and DIE).
    ways : dict of complex arrays, shapes as joints
        The same as vectors in the elevation: which way the pin moves in its hole to take the valve forward.
    """

    crank_angle: Any
    joints: dict[str, Any]
    ways: dict[str, Any] = field(default_factory=dict)

    @property
    def total(self) -> Any:
        """Sum over the joints, mm."""
        return sum(self.joints.values(), np.zeros(np.shape(self.crank_angle)))


def joints_of(linkage: Linkage) -> dict[str, str]:
    """Pins that can have clearance: pin to a part whose hole it runs in (the slot's die is apart).

    Parameters
    ----------
    linkage : Linkage
        As a gear declares it.
    """
    names = list(linkage.names)
    found: dict[str, str] = {}
    for part in linkage.parts:
        match part:
            case Rod(name=name, a=a, b=b) if not is_tie(name):
                pins: tuple[int, ...] = (a, b)
            case Plate(name=name, pins=pins):
                pass
            case Carried(name=name, pin=pin):
                pins = (pin,)
            case Slide(name=name, pin=pin) if not is_tie(name):
                pins = (pin,)
            case _:
                continue
        for pin in pins:
            if is_seen(names[pin]):
                found.setdefault(names[pin], name)
    return found


def lost_motion(gear: Gear, setting: ReverserPosition, condition: Condition, positions: int = 96) -> LostMotion:
    """Lost motion round the wheel, from each joint.

    Parameters
    ----------
    gear, setting
        The gear as it stands, and the reverser.
    condition : Condition
        Its clearances.
    positions : int
        Crank positions, evenly round the wheel.
    """
    solution = solve(gear.declare(setting), Wheel.revolution(positions))
    gradient = gradient_along(solution, VALVE_GUIDE)
    angle = np.arange(positions) * (360.0 / positions)
    ways = free_by_joint(gear, condition, solution, gradient)
    return LostMotion(angle, {joint: np.abs(way) for joint, way in ways.items()}, ways)


def free_by_joint(gear: Gear, condition: Condition, solution: Solution, gradient: Gradient) -> dict[str, Any]:
    """Free movement of an output from each joint, as vectors: which way the pin moves in its hole to take it forward.

    Parameters
    ----------
    gear, condition : Gear, Condition
        The gear as it stands, and its clearances.
    solution, gradient : Solution, Gradient
        Of its linkage; of the output.
    """
    return dict(_free(gear, condition, solution, gradient))


def _free(gear: Gear, condition: Condition, solution: Solution, gradient: Gradient) -> Iterator[tuple[str, Any]]:
    parts = joints_of(solution.linkage)
    for pin, clearance in condition.clearance.items():
        push = gradient.joint(parts[pin], pin)
        if parts[pin] == "radius rod":
            push = push + gradient.joint("swivel block", pin)
        yield pin, clearance * push
    if condition.slot or condition.die_clearance:
        for slot in gear.slots:
            play = condition.die_play(slot.die_place(solution))  # along the drawn slot, as effects.turned takes it
            yield f"{slot.word}{DIE}", play * _square_to_slot(slot, gradient)


def _square_to_slot(slot: Slot, gradient: Gradient) -> Any:
    """Derivative of the valve to a shift of the die square to the slot."""
    solution = gradient.solution
    tied = any(getattr(part, "name", "") == f"{slot.word}{TIE}" for part in solution.linkage.parts)
    push = gradient.joint(f"{slot.word}{TIE if tied else PART}", slot.die)
    if tied:
        return push
    square = slot.turn(solution) * slot.square_at(slot.die_place(solution))  # the die held fast: only this is its own
    return np.real(push * np.conj(square)) * square
