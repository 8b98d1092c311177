"""Readings that cannot be, or that contradict one another, found before anything is concluded from them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import Engine
from linkmotion.events import BACKWARD, EVENTS
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.figures.figure import DEGREES, MM, PERCENT, PUSHED, SPOTTED, Reading
from linkmotion.studies.figures.model import GearModel

CONTRADICTS = 5.0  # standard deviations between two takings of one reading
_MARGIN = 4.0  # standard deviations that a reading is allowed beyond a limit
_SLIPS = {  # of unit: what was read over what it is, and what it looks like
    25.4: "a figure in millimetres taken as inches",
    1 / 25.4: "a figure in inches taken as millimetres",
    1000.0: "a figure in thou taken as inches",
    1 / 1000.0: "a figure in inches taken as thou",
    1 / 0.0254: "a figure in thou taken as millimetres",
    0.0254: "a figure in millimetres taken as thou",
}
_REACH = {
    PERCENT: 60.0,
    DEGREES: 110.0,
}  # between an event and where the figures have it: no fault does more; no source
_PARTS, _ANY_PARTS = 0.2, 30.0  # part of a distance, and mm, that no part of a gear is out; no source
_TOGETHER, _FITS = 3, 8.0  # readings that show a slip of unit together; how many times better it must fit
_LIKELY = 3.0  # and how well, in parts of a quarter of a millimetre or the reading's own uncertainty


@dataclass(frozen=True)
class ReadingFault:
    """Something that cannot be.

    Attributes
    ----------
    reading : Reading or None
        Which; None for the file as a whole.
    words : str
        What is wrong, with ``{name}`` for every length.
    remedy : str
        What to do.
    lengths : dict
        The lengths in the words, mm.
    """

    reading: Reading | None
    words: str
    remedy: str
    lengths: dict[str, float] = field(default_factory=dict)


def faults_of(engine: Engine, state: str, readings: Sequence[Reading]) -> Iterator[ReadingFault]:
    """What cannot be in the readings of an engine in a state: the plainest first.

    Parameters
    ----------
    engine, state, readings : Engine, str, sequence of Reading
        Of every side, in the state in which the gear is believed to be.

    Raises
    ------
    NotchError
        The gear of that state cannot pass in a notch that was read.
    """
    for side in engine.sides:
        own = [reading for reading in readings if reading.side == side]
        if not own:
            continue
        assessed = assess(engine, state, (side,), dict.fromkeys(reading.notch for reading in own)).sides[0]
        yield from _of_side(assessed, own)


def _of_side(side: SideEvents, readings: list[Reading]) -> Iterator[ReadingFault]:
    for reading in readings:
        if reading.kind == "die height" and side.gear.slot is None:
            told = f"a {side.gear.name} gear has no die"
            yield ReadingFault(reading, told, "take the row out")
            return
    model = GearModel.of(side, readings)
    likely = model.at_figures
    for reading, expected in zip(readings, likely.tolist(), strict=True):
        yield from _impossible(side, reading, expected)
        yield from _out_of_reach(side, reading, expected)
    yield from _contradictory(readings)
    yield from _of_another_unit(side, readings, likely)


def _impossible(side: SideEvents, reading: Reading, expected: float) -> Iterator[ReadingFault]:
    if reading.unit == PERCENT and not 0 <= reading.value <= 100:
        yield ReadingFault(reading, f"{reading.value:g} % of the stroke cannot be", "it lies between 0 and 100 percent")
    elif reading.unit == DEGREES and not -360 < reading.value < 360:
        yield ReadingFault(reading, f"{reading.value:g}° is more than a turn", "give degrees past that dead centre")
    elif reading.unit == MM:
        least, most, why = _limits(side, reading, expected)
        slack = _MARGIN * reading.sigma
        if least - slack <= reading.value <= most + slack:
            return
        lengths = {"value": reading.value, "least": least, "most": most, "expected": expected}
        for factor, words in _SLIPS.items():
            if abs(reading.value / factor - expected) < max(0.5 * abs(expected), 3 * reading.sigma / factor):
                told = f"{{value}} looks like {words} (about {{expected}} is to be expected)"
                yield ReadingFault(reading, told, "write the unit with the figure, or correct it", lengths)
                return
        limit = "not less than {least}" if reading.value < least else "not more than {most}"
        yield ReadingFault(
            reading, f"{{value}} cannot be: it is {limit}, {why}", "look at the figure and its unit", lengths
        )


def _out_of_reach(side: SideEvents, reading: Reading, expected: float) -> Iterator[ReadingFault]:
    """An event so far from where the figures have it that no gear like this one gives it."""
    if reading.kind not in EVENTS or not np.isfinite(expected):
        return
    front, back = side.gear.crank.limits
    reach = _REACH[reading.unit] if reading.unit in _REACH else _REACH[PERCENT] / 100 * float(front - back)
    if abs(reading.value - expected) > reach + _MARGIN * reading.sigma:
        sign, lengths = " %" if reading.unit == PERCENT else "°", {}
        told = f"{reading.value:.4g}{sign}, where about {expected:.4g}{sign} is"
        if reading.unit == MM:
            told, lengths = "{value}, where about {expected} is", {"value": reading.value, "expected": expected}
        remedy = "look at the figure, its unit, its notch and its direction of running"
        yield ReadingFault(reading, f"out of reach: {told} to be expected", remedy, lengths)


def _limits(side: SideEvents, reading: Reading, expected: float) -> tuple[float, float, str]:
    """What a length can be at all, mm, and why."""
    if reading.kind in SPOTTED:
        room = np.inf if reading.spot is not None and reading.spot.mark else _PARTS * abs(expected) + _ANY_PARTS
        return expected - room, expected + room, "with parts anything like those of the engine file"
    ports, travel = side.ports, float(np.max(side.motion.travel))
    if reading.kind == "opening":
        shut, width = "what a port that stays shut opens by", "the width of the port (valve.port_width)"
        return 0.0, float(ports.port_width), shut if reading.value < 0 else width
    if reading.kind == "lead":
        lap = float(ports.edge("steam", reading.end).lap)
        return -(travel + lap), float(ports.port_width), "with a port of that width and a valve of that travel"
    if reading.kind in EVENTS:
        front, back = side.gear.crank.limits
        return 0.0, float(front - back), "the stroke of the piston"
    if reading.kind == "die height":
        assert side.gear.slot is not None
        reach = 1.25 * float(max(side.gear.slot.top, side.gear.slot.bottom))
        return -reach, reach, "with a slot of that length"
    if reading.kind == "lost motion":
        return 0.0, travel, "the travel of the valve"
    return -travel, travel, "the travel of the valve"


def _contradictory(readings: list[Reading]) -> Iterator[ReadingFault]:
    for one, two in combinations(readings, 2):
        if _what(one) != _what(two) or one.kind in SPOTTED:  # of these `reconcile` tells which is to be taken again
            continue
        apart, sigma = abs(one.value - two.value), float(np.hypot(one.sigma, two.sigma))
        if apart <= CONTRADICTS * sigma:
            continue
        where = f" (line {one.line})" if one.line else ""
        told, lengths = f"it was read before{where}, and differs by {apart:.3g} {two.unit}", {}
        if two.unit == MM:
            told, lengths = f"it was read before{where}, and differs by {{apart}}", {"apart": apart}
        remedy = f"that is {apart / sigma:.0f} times what both readings are good for; take it again, or keep one"
        if one.direction != two.direction:
            remedy = "it is one place of the wheel: play taken up the other way; read it against the play, and keep one"
        yield ReadingFault(two, told, remedy, lengths)


def _what(reading: Reading) -> tuple[object, ...]:
    """What is read: alike for two takings of one reading, whichever way the wheel was turned to a dead centre.

    But for a spindle that was pushed: forward and back are two readings, with the play between them.
    """
    turned = reading.direction if reading.kind in EVENTS else ""
    at = reading.at
    if at is not None:
        at = (360.0 - at if reading.direction == BACKWARD else at) % 360.0
    pushed = reading.turned if reading.turned in PUSHED else ""
    return reading.kind, reading.notch, reading.end, turned, reading.unit, at, pushed


def _of_another_unit(side: SideEvents, readings: list[Reading], likely: NDArray[np.float64]) -> Iterator[ReadingFault]:
    """Lengths that all fit the gear far better by a slip of unit."""
    lengths = [
        (reading, expected)
        for reading, expected in zip(readings, likely.tolist(), strict=True)
        if reading.unit == MM and reading.kind not in ("lost motion", "die height", *SPOTTED) and np.isfinite(expected)
    ]
    if len(lengths) < _TOGETHER:
        return
    read, expected = np.array([r.value for r, _e in lengths]), np.array([e for _r, e in lengths])
    good = np.array([max(r.sigma, 0.25) for r, _e in lengths])  # mm: what any gear may be out
    as_read = float(np.sqrt(np.mean(((read - expected) / good) ** 2)))
    for factor, words in _SLIPS.items():
        own = float(np.sqrt(np.mean(((read / factor - expected) / good) ** 2)))
        if own * _FITS < as_read and own < _LIKELY:
            told = f"the lengths of the {side_words(side.side)} look like {words}: so taken they fit the gear"
            yield ReadingFault(None, told, "write the unit with the figures, or mend unit in [readings]")
            return
