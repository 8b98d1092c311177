"""Derivatives of readings to every dimension, exact: the law of :mod:`.law` with a complex step in each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS
from linkmotion.gears import Gear
from linkmotion.gears.reverser import stacked
from linkmotion.gears.sensitivity import STEP, stepped
from linkmotion.linkage import Harmonics, Wheel, solve
from linkmotion.revolution import revolve
from linkmotion.studies.event_derivatives import place_slopes
from linkmotion.studies.readings.kinds import Reading
from linkmotion.studies.readings.law import Moments, flow_of, value
from linkmotion.studies.readings.turned import departed, die_height, settings_of
from linkmotion.valve import Ports

if TYPE_CHECKING:
    from linkmotion.studies.readings.model import ReadingModel

Array = NDArray[np.float64]
_SMALL = 1e-3  # mm, degrees: of the one difference taken, for the die's height
_BY_OTHER_MEANS = ("die height", "lost motion")


def slopes_of(model: ReadingModel) -> Array:
    """Derivatives of R readings to D dimensions at the model's figures, shape (R, D).

    Of a die height they are central differences of the exact place (they err by 1e-7 or so); of lost motion
    nothing, since what the dimensions do to it is small; NaN where an event does not happen.
    """
    spindle, own_gear = spindles_of(model), stepped(model.gear, model.keys)
    found = np.zeros((len(model.readings), len(model.keys)))
    for row, notch in enumerate(model.settings):
        own = [i for i, r in enumerate(model.readings) if r.notch == notch and r.kind not in _BY_OTHER_MEANS]
        if own:
            readings = [model.readings[i] for i in own]
            found[own] = _in_notch(model, notch, readings, model.angles[own], spindle[row : row + 1], own_gear)
    for i, reading in enumerate(model.readings):
        if reading.kind == "die height":
            found[i] = _die_slopes(model, reading)
    return found


def angles_of(model: ReadingModel) -> Array:
    """Forward crank angle of each reading at the figures, radians, shape (R,); NaN where an event does not happen."""
    moments, names = Moments(spindles_of(model), model.gear, Ports.of(model.gear.valve)), list(model.settings)
    return np.array([moments.of(reading)[names.index(reading.notch)] for reading in model.readings])


def spindles_of(model: ReadingModel) -> Harmonics:
    """The spindle pin's place at the figures in every notch, with what a worn slot adds; shape (N, K)."""
    names = list(model.settings)
    c = revolve(model.gear, stacked([model.settings[name] for name in names])).spindle.c
    c = np.broadcast_to(c, (len(names), c.shape[-1]))
    if model.worn:
        more = np.stack([model.worn[name].c for name in names])
        longest = max(more.shape[-1], c.shape[-1])
        c, more = (np.pad(each, ((0, 0), (0, longest - each.shape[-1]))) for each in (c, more))
        c = c + more
    return Harmonics(c)


def _in_notch(
    model: ReadingModel, notch: str, readings: list[Reading], angles: Array, spindle: Harmonics, steps: Gear
) -> Array:
    """Derivatives of readings in one notch, taken at forward crank angles (R,)."""
    ports, setting = Ports.of(steps.valve), model.settings[notch]
    moves = place_slopes(model.gear, notch, setting, np.nan_to_num(angles), model.keys, steps).T
    rates, places = (each(np.nan_to_num(angles)) for each in (spindle.rate()[0], spindle[0]))
    found = np.full((len(readings), len(model.keys)), np.nan)
    for i in np.flatnonzero(~np.isnan(angles)):
        reading, rate = readings[i], rates[i]
        place = places[i] + 1j * STEP * moves[i]
        turn: Any = 0.0
        if reading.kind in EVENTS:
            edge = ports.edge(flow_of(reading.kind), reading.end)
            turn = -np.imag(edge.opening(place - steps.valve.central_at)) / STEP / (edge.sign * rate)
        elif reading.at is None and reading.end == "back" and reading.kind != "opening":
            turn = np.imag(steps.crank.back) / STEP
        moved = value(reading, angles[i] + 1j * STEP * turn, place + 1j * STEP * rate * turn, steps, ports)
        found[i] = np.broadcast_to(np.imag(moved) / STEP, len(model.keys))
    return found


def _die_slopes(model: ReadingModel, reading: Reading) -> Array:
    """Derivatives of the die's height at one crank angle, by differences, shape (D,)."""
    small = _SMALL * np.concatenate([np.eye(len(model.keys)), -np.eye(len(model.keys))])
    tall = departed(model, small, tall=True)
    setting = type(model.settings[reading.notch])(settings_of(model, reading.notch, small)[:, None])
    angle = reading.forward * np.radians(reading.at or 0.0)
    solution = solve(tall.declare(setting), Wheel.at(-angle), alone=True)
    above, below = np.split(np.ravel(die_height(tall, solution)), 2)
    return np.asarray((above - below) / (2 * _SMALL))
