"""Where the valve stands central: as given, or found by the rule by which the shop sets it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import BACKWARD, FORWARD, both_ends
from linkmotion.gears import Gear
from linkmotion.gears.book import Valve
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.linkage import Harmonics
from linkmotion.linkage.turning_points import extremes
from linkmotion.piston import dead_centre
from linkmotion.revolution import Revolution
from linkmotion.sampled_events import ends_of
from linkmotion.valve import ENDS, Ports, displaced
from linkmotion.wear.running import Load, dragged

_EQUAL = 1e-9  # percent of stroke between the cutoffs
_NEAR = 1 / 8  # of the travel: no valve is set further than this from equal leads


class RuleError(ValueError):
    """A setting rule that no place of the valve can meet.

    Attributes
    ----------
    failed : bool array, shape (S,)
        In which of the cases looked at.
    """

    def __init__(self, words: str, failed: NDArray[np.bool_]) -> None:
        self.failed = failed
        super().__init__(words)


def central_place(valve: Valve, motion: Revolution, free: NDArray[Any] | None = None) -> float:
    """Place of the spindle pin with the valve set by its rule, mm along its guide.

    Parameters
    ----------
    valve : Valve
        With ``set_by`` and ``set_in``.
    motion : Revolution
        The gear in the notch of ``set_in``.
    free : array, shape (1, POSITIONS), optional
        Its lost motion, mm, if it has any: a valve is set by what is read of it in motion, its play taken up by drag.

    Raises
    ------
    RuleError
        No place of the valve near equal leads meets the rule.
    """
    ports, crank = Ports.of(valve), motion.gear.crank
    if free is None or not np.any(free):
        return float(place_by_rule(valve, motion.spindle, ports, crank)[0])
    way = direction_of(valve)
    read = dragged(motion.spindle, free, Load(), way)
    if valve.set_by == "equal opening":
        return float(even_between(ports, read.min() + read.max()))

    def unequal(place: NDArray[Any]) -> Any:
        found = ends_of(read - place[:, None], ports, crank, way)
        one, two = (own.lead if valve.set_by == "equal lead" else own.percent["cutoff"] for own in found.values())
        return one - two

    start = place_by_rule(replace(valve, set_by="equal lead"), motion.spindle, ports, crank)
    return float(_root(unequal, start, _NEAR * np.ptp(read, axis=-1))[0])


def place_by_rule(valve: Valve, spindle: Harmonics, ports: Ports, crank: CrankMotion) -> NDArray[Any]:
    """Places that a valve's setting rule finds in S cases, mm along the guide, shape (S,).

    "equal lead" makes the leads of both ends alike in the notch and direction of ``set_in``, "equal cutoff" the
    cutoffs (percent of stroke), "equal opening" the greatest openings (before they are cut off at the port width).

    Parameters
    ----------
    valve : Valve
        With ``set_by`` and ``set_in``.
    spindle : Harmonics
        Place of the spindle pin along its guide in that notch, mm, shape (S, K).
    ports, crank
        Numbers, or one of each figure for every case.

    Raises
    ------
    RuleError
        No place of the valve near equal leads meets the rule.
    """
    if valve.set_by == "equal opening":
        least, most = extremes(spindle)
        return even_between(ports, least + most)
    back = np.broadcast_to(
        dead_centre(crank, "back"), spindle.c.shape[:1]
    )  # the same place of the wheel in either direction
    even = even_between(ports, spindle(np.zeros_like(back)) + spindle(back))
    if valve.set_by == "equal lead":
        return even
    direction = direction_of(valve)

    def unequal(place: NDArray[Any]) -> Any:
        ends = both_ends(displaced(spindle, place), ports, crank, direction)
        return ends["front"].percent["cutoff"] - ends["back"].percent["cutoff"]

    return _root(unequal, even, _NEAR * np.subtract(*extremes(spindle)[::-1]))


def staying(gear: Gear, place: float) -> Gear:
    """The gear with its valve left where it stands, however it was once set.

    Parameters
    ----------
    gear : Gear
        Of any rule.
    place : float
        Of the spindle pin with the valve central, mm along its guide.
    """
    return replace(gear, valve=replace(gear.valve, central_at=place, set_by=None, set_in=None))


def direction_of(valve: Valve) -> str:
    """Direction of running in which the valve's rule looks at the events: "forward" where none is said.

    Parameters
    ----------
    valve : Valve
        With ``set_in``.
    """
    return BACKWARD if valve.set_in.get("direction") == BACKWARD else FORWARD


def even_between(ports: Ports, places: Any) -> NDArray[Any]:
    """Central place from the sum of two places of the pin at which the ends' steam openings are to be alike.

    With openings s(x - c) - f and -s(x' - c) - b at the two ends, s = ±1, they are equal for
    c = (x + x' - s (f - b)) / 2.

    Parameters
    ----------
    ports : Ports
        Whose steam laps are f and b.
    places : float or array
        x + x', mm along the guide; the result has its shape.
    """
    front, back = (ports.edge("steam", end) for end in ENDS)
    return np.asarray((places - front.sign * (front.lap - back.lap)) / 2)


def _root(unequal: Callable[[Any], Any], start: NDArray[Any], reach: NDArray[Any]) -> NDArray[Any]:
    """Secant steps from a start, all cases together; a case that has come home stays as it is."""
    last, place = start, start + 1e-3 * reach
    before, value = unequal(last), unequal(place)
    for _ in range(20):
        away = ~(np.abs(value) < _EQUAL)
        if not np.any(away):
            return place
        with np.errstate(divide="ignore", invalid="ignore"):
            step = np.where(away, value * (place - last) / (value - before), 0.0)
        last, before, place = place, value, place - step
        lost = ~(np.abs(place - start) <= reach)
        if np.any(lost):
            break
        value = unequal(place)
    else:
        lost = away
    raise RuleError("no place of the valve makes the cutoffs equal there", lost)
