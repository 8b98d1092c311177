"""How a dimension is taken and with what, in the words of the workshop, by what its key was declared to be.

All of it is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linkmotion.elevation.dimension_marks import ANGLE, DISTANCE, DimensionMark

_CENTRES = (
    "Trammel or vernier over the pins, less half of both diameters; or between the bores, and half of both; or one of "
    "each."
)
_FRAME = {
    "x": "Level, from a plumb line at the axle's centre to one at this centre: tape, or straight-edge and rule.",
    "y": "Rule or height staff from the rail to this centre, less the axle's height (half the wheel on its tread).",
    "line": "Square from the axle's centre to a wire stretched through the cylinder: rule. Above the axle is +.",
}
_SLOT = {
    "radius": "Straight-edge over a face and depth gauge: chord and rise, then half the slot's width off or on.",
    "offset": "Link on the marking-off table, upright line level: height gauge to that line and to mid slot.",
    "lean": "Reversing arm set pointing forward and level: clinometer against the slide's face.",
    "top": "Die hard up: along mid slot from its middle to the die pin's centre, dividers stepped or a thin rule.",
    "bottom": "Die hard down: along mid slot from its middle to the die pin's centre, dividers stepped or a thin rule.",
}
_EDGE = {
    "port": "Across the port at both its ends: inside calipers, or a slip that just enters.",
    "steam": "Valve and port face each over their steam edges: half of the difference; an end alone, valve central.",
    "exhaust": "Valve and port face each over their exhaust edges: half of the difference. Clearance is negative.",
}
_NOTCH = "Clinometer on the arm in each notch: 0 = pointing forward and level, up is +; or lay off its ends' heights."
_ON_TABLE = "Part on the marking-off table, the line through its main pins level: height gauge to both centres."
_ON_BARS = "Square and rule from the slide bars: along them and square to them, between the two centres."
_TURNED = "Farthest less nearest to one fixed point as the wheel is turned, halved; or trammel over centre and pin."
_ON_AXLE = (
    "Clinometer on the wheel, this and the crank pin brought to one line in turn; or three trammel lengths between the "
    "centres. Ahead in forward running is +."
)
_SLOPE = "Clinometer along it, engine level on its springs. Rising to the front is +."
_BETWEEN = "Protractor between the two lines, or three trammel lengths between the centres."


def how_taken(said: Mapping[str, Any], mark: DimensionMark | None) -> str:
    """How a dimension is taken, and with what.

    Parameters
    ----------
    said : mapping
        What its key was declared to be (``letters.said_of``).
    mark : DimensionMark or None
        Where it lies; None where the drawing does not have it.
    """
    if how := said.get("how"):
        return str(how)
    if said["kind"] == "notches":
        return _NOTCH
    for name, words in (("slot", _SLOT), ("frame", _FRAME)):
        if said.get(name):
            return words[said[name]]
    if said.get("edge"):
        return _EDGE[said["edge"][0]]
    if said["kind"] == "angle":
        return _angle(said, mark)
    if said.get("rod"):
        return _CENTRES
    return _length(mark)


def _angle(said: Mapping[str, Any], mark: DimensionMark | None) -> str:
    if said.get("slips"):
        others = "; ".join(" and ".join(way.words) for way in said.get("readings", ()))
        return f"{_ON_AXLE} Or by lengths: {others}." if others else _ON_AXLE
    return _SLOPE if mark is not None and mark.kind == ANGLE and mark.body == "frame" else _BETWEEN


def _length(mark: DimensionMark | None) -> str:
    if mark is None or mark.kind == DISTANCE:
        on_wheel = mark is not None and mark.start == 0 and mark.body != "frame"
        return _TURNED if on_wheel else _CENTRES
    return _ON_BARS if mark.body == "crosshead" else _ON_TABLE
