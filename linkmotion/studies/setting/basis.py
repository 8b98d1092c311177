"""The gear that the advice is given for: as diagnosed from the readings, or as drawn with the readings laid over it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from linkmotion.events import EVENTS
from linkmotion.gears import Gear, Setting
from linkmotion.gears.reverser import Stop, figure, stacked
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.event_figures import REVERSER, Figure, figures_of
from linkmotion.studies.readings.kinds import DEGREES, MM, Reading
from linkmotion.studies.readings.model import ReadingModel
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.setting.side import Array, Steps, as_it_stands, variants_of
from linkmotion.valve import ENDS
from linkmotion.wear.effects import turned


def believed(side: SideEvents, departures: Mapping[Key, float]) -> SideEvents:
    """A side with its dimensions departed from their figures (mm, degrees); its valve is not set anew by a rule."""
    valve = replace(side.gear.valve, central_at=side.central_at, set_by=None, set_in=None)
    gear: Gear = replace(side.gear, valve=valve)
    given = numbers(gear)
    gear = with_numbers(gear, {key: given[key] + by for key, by in departures.items() if key in given})
    settings = tuple(
        _setting(gear, name, setting, departures) for name, setting in zip(side.notches, side.settings, strict=True)
    )
    now = turned(gear, stacked(settings), side.condition)
    return replace(side, settings=settings, turned=now, central_at=float(gear.valve.central_at))


def spread_of(side: SideEvents, keys: Sequence[Key], covariance: Array) -> Array:
    """Doubt of the figures of a believed side by that of its dimensions: L (F, D) with L Lᵀ their covariance.

    By differences of one standard deviation either way; what cannot be turned or does not happen adds nothing.
    """
    valve = replace(side.gear.valve, central_at=side.central_at, set_by=None, set_in=None)
    side = replace(side, turned=replace(side.turned, gear=replace(side.gear, valve=valve)))
    size, axes = np.linalg.eigh(covariance)
    own = axes * np.sqrt(np.maximum(size, 0.0))  # covariance = own @ own.T
    felt = own[:, np.sqrt(np.maximum(size, 0.0)) > 1e-6]
    values = variants_of(side, keys).figures(np.concatenate([felt.T, -felt.T]))[0]
    half = felt.shape[1]
    return np.asarray(np.nan_to_num((values[:half] - values[half:]) / 2).T)


def _setting(gear: Gear, name: str, setting: Setting, departures: Mapping[Key, float]) -> Setting:
    if isinstance(setting, Stop):  # the stop stands where a dimension says
        found = gear.notches[name]
        assert isinstance(found, Stop)
        return found
    by = departures.get(REVERSER.get(type(setting), ("", "")), 0.0)
    return type(setting)(float(np.ravel(figure(setting))[0]) + by)


def shift_to(side: SideEvents, readings: Sequence[Reading]) -> Array:
    """What the figures of a side as drawn must have added to be those that were read, shape (F,).

    NaN for figures that were not read: nothing is known of them. A lead is the same in both directions of running;
    of several readings of one figure the mean is taken, weighted by their uncertainties.
    """
    figures = figures_of(side)
    weight, total = np.zeros(len(figures)), np.zeros(len(figures))
    for reading in readings:
        what, size, sigma = _as_figure(side, reading)
        for number, own in enumerate(figures):
            ways = (reading.running, "") if what in EVENTS else (own.running,)
            if (own.notch, own.end, own.what) == (reading.notch, reading.end, what) and own.running in ways:
                weight[number] += sigma**-2
                total[number] += sigma**-2 * (size - _drawn(side, own))
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(weight > 0, total / weight, np.nan))


def drawn_figures(side: SideEvents) -> dict[Figure, float]:
    """Leads and cutoffs of a side as drawn, by which the levels are kept."""
    return {figure: _drawn(side, figure) for figure in figures_of(side) if figure.what in ("lead", "cutoff")}


def _drawn(side: SideEvents, own: Figure) -> float:
    events, i = side.events[own.running][own.end], side.notches.index(own.notch)
    found = events.percent[own.what] if own.what in EVENTS else getattr(events, own.what)
    return float(found[i])


def _as_figure(side: SideEvents, reading: Reading) -> tuple[str, float, float]:
    """A reading as a figure of the events: what, how much, and its uncertainty; "" where it is none."""
    size, sigma, crank = reading.value, reading.sigma, side.gear.crank
    if reading.kind in ("lead", "opening"):
        return reading.kind, size, sigma
    if reading.kind == "valve" and reading.end and reading.at is None:
        front, back = (side.ports.edge("steam", end) for end in ENDS)
        middle = front.sign * (front.lap - back.lap) / 2
        return "lead", float(side.ports.edge("steam", reading.end).opening(size + middle)), sigma
    if reading.kind not in EVENTS:
        return "", 0.0, 1.0
    if reading.unit == MM:
        stroke = float(crank.limits[0] - crank.limits[1])
        return reading.kind, 100 * size / stroke, 100 * sigma / stroke
    if reading.unit == DEGREES:
        dead = 0.0 if reading.end == "front" else float(crank.back)

        def percent(angle: float) -> float:
            gone = float(crank.fraction(dead + reading.forward * np.radians(angle)))
            return 100 * (gone if reading.end == "front" else 1 - gone)

        return reading.kind, percent(size), max(abs(percent(size + sigma) - percent(size)), 1e-6)
    return reading.kind, size, sigma


def readings_with(
    side: SideEvents, readings: Sequence[Reading], adjustments: Sequence[Adjustment], steps: Steps, as_read: bool
) -> Array:
    """What will be read on a side with so many steps of the adjustments, shape (S, R).

    Parameters
    ----------
    side : SideEvents
        As it is believed to stand.
    readings : sequence of Reading
        Of that side.
    adjustments : sequence of Adjustment
        A of them, of the whole engine.
    steps : int array, shape (S, A)
        Rows of steps.
    as_read : bool
        Whether what was read stands for the side as it is, and only the change is taken from its gear.
    """
    own = [j for j, each in enumerate(adjustments) if each.on(side.side)]
    model = ReadingModel.of(as_it_stands(side), readings, tuple(adjustments[j].key for j in own))
    per_step = np.array([adjustments[j].per_step for j in own])
    found = model.predict(steps[:, own] * per_step)
    if as_read:
        read = np.array([reading.value for reading in readings])
        found = found + read - model.predict(np.zeros((1, len(own))))
    return np.asarray(found)
