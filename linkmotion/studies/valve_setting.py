"""Where the valve stands central: as given, or found by the rule by which the shop sets it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from linkmotion.events import BACKWARD, both_ends
from linkmotion.gears import Gear, Setting
from linkmotion.revolution import Revolution, revolve
from linkmotion.valve import Ports

_EXACT = 1e-9  # mm


class RuleError(ValueError):
    """A setting rule that no place of the valve can meet."""


def central_place(
    gear: Gear, setting_of: Callable[[str], Setting], turn: Callable[[Gear, Setting], Revolution] = revolve
) -> float:
    """Place of the spindle pin with the valve central, mm along its guide.

    Rules: "equal lead" makes the leads of both ends alike in the notch and direction of ``set_in``,
    "equal cutoff" the cutoffs (percent of stroke), "equal opening" the greatest openings (before
    they are cut off at the port width).

    Parameters
    ----------
    gear : Gear
        With ``valve.central_at``, or ``valve.set_by`` and ``set_in``.
    setting_of : callable
        Reverser setting of a notch, by name.
    turn : callable
        How the gear is turned (with its wear, if it has any).
    """
    valve = gear.valve
    if valve.central_at is not None:
        return valve.central_at  # type: ignore[no-any-return]
    turned = turn(gear, setting_of(valve.set_in["notch"]))
    backward = valve.set_in.get("direction") == BACKWARD
    rule = {"equal lead": _equal_lead, "equal opening": _equal_opening, "equal cutoff": _equal_cutoff}
    return rule[str(valve.set_by)](turned, Ports.of(valve), backward)


def _between(ports: Ports, at_front: Any, at_back: Any) -> float:
    """Central place that makes the steam openings alike with the pin at these two places.

    With openings s(x - c) - f and -s(x' - c) - b at the two ends, s = ±1, they are equal for
    c = (x + x' - s (f - b)) / 2.
    """
    front, back = ports.edge("steam", "front"), ports.edge("steam", "back")
    return float((at_front + at_back - front.sign * (front.lap - back.lap)) / 2)


def _equal_lead(turned: Revolution, ports: Ports, backward: bool) -> float:
    back = turned.gear.crank.back  # the same place of the wheel in either direction
    return _between(ports, turned.spindle(0.0)[0], turned.spindle(back)[0])


def _equal_opening(turned: Revolution, ports: Ports, backward: bool) -> float:
    least, most = turned.extremes
    ends = (most[0], least[0]) if ports.edge("steam", "front").sign > 0 else (least[0], most[0])
    return _between(ports, *ends)


def _equal_cutoff(turned: Revolution, ports: Ports, backward: bool) -> float:
    direction = BACKWARD if backward else "forward"

    def unequal(central: float) -> float:
        ends = both_ends(turned.displacement(central), ports, turned.gear.crank, direction)
        return float(ends["front"].percent["cutoff"][0] - ends["back"].percent["cutoff"][0])

    middle = _equal_lead(turned, ports, backward)
    reach = turned.travel[0] / 8
    low, high = middle - reach, middle + reach
    f_low, f_high = unequal(low), unequal(high)
    if not f_low * f_high < 0:
        raise RuleError("no place of the valve makes the cutoffs equal there")
    return _root(unequal, low, high, f_low, f_high)


def _root(f: Callable[[float], float], low: float, high: float, f_low: float, f_high: float) -> float:
    """Zero within a bracket: false position, the idle end's value halved so that both ends move."""
    side, new = 0, low
    for _ in range(100):
        new = (low * f_high - high * f_low) / (f_high - f_low)
        value = f(new)
        if value == 0 or high - low < _EXACT or abs(value) < _EXACT:
            break
        if value * f_high > 0:
            high, f_high = new, value
            f_low = f_low / 2 if side == -1 else f_low
            side = -1
        else:
            low, f_low = new, value
            f_high = f_high / 2 if side == 1 else f_high
            side = 1
    return float(np.clip(new, low, high))
