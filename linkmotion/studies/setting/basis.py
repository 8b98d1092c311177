"""The gear that the advice is given for: as diagnosed from the readings, or as drawn with the readings laid over it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from linkmotion.events import DIRECTIONS, EVENTS
from linkmotion.gears.reverser import stacked
from linkmotion.gears.sensitivity import Key
from linkmotion.piston import dead_centre, part_from
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.dimensions import departed
from linkmotion.studies.figures.figure import DEGREES, MM, Figure, Reading, as_assessed, end_figure, figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.setting.side import Array, Steps, as_it_stands, model_of
from linkmotion.valve import ENDS
from linkmotion.valve_setting import staying
from linkmotion.wear.effects import turned


def believed(side: SideEvents, departures: Mapping[Key, float]) -> SideEvents:
    """A side with its dimensions departed from their figures; its valve is not set anew by a rule.

    Parameters
    ----------
    side : SideEvents
        As assessed.
    departures : dict
        By (table, key), mm and degrees.

    Raises
    ------
    LinkageError
        The gear cannot be assembled so.
    """
    settings = dict(zip(side.notches, side.settings, strict=True))
    found = departed(staying(side.gear, side.central_at), settings, departures)
    own = tuple(found.settings.values())
    now = turned(found.gear, stacked(own), side.condition)
    return replace(side, settings=own, motion=now, central_at=float(found.gear.valve.central_at))


def spread_of(side: SideEvents, keys: Sequence[Key], covariance: Array) -> Array:
    """Doubt of the F figures of a believed side by that of its dimensions: L (F, D) with L Lᵀ their covariance.

    By differences of one standard deviation either way; what cannot be turned or does not happen adds nothing.

    Parameters
    ----------
    side : SideEvents
        As it is believed to stand.
    keys : sequence of (table, key)
        The dimensions.
    covariance : array, one row and column for each
        mm and degrees.
    """
    size, axes = np.linalg.eigh(covariance)
    own = axes * np.sqrt(np.maximum(size, 0.0))  # covariance = own @ own.T
    felt = own[:, np.sqrt(np.maximum(size, 0.0)) > 1e-6]
    values = model_of(side, keys).predict(np.concatenate([felt.T, -felt.T]))
    half = felt.shape[1]
    return np.asarray(np.nan_to_num((values[:half] - values[half:]) / 2).T)


def shift_to(side: SideEvents, readings: Sequence[Reading], figures: Sequence[Figure] | None = None) -> Array:
    """What figures of a side must have added to be those that were read, shape (F,).

    NaN for figures that were not read: nothing is known of them. A lead is the same in both directions of running;
    of several readings of one figure the mean is taken, weighted by their uncertainties.

    Parameters
    ----------
    side : SideEvents
        As assessed.
    readings : sequence of Reading
        Of that side; those that are no figure of the events are passed over.
    figures : sequence of F figures, optional
        All of its own unless given.
    """
    figures = figures_of(side) if figures is None else figures
    weight, total = np.zeros(len(figures)), np.zeros(len(figures))
    for reading in readings:
        what, size, sigma = _as_figure(side, reading)
        for number, own in enumerate(figures):
            ways = (reading.direction, "") if what in EVENTS else (own.direction,)
            if (own.notch, own.end, own.kind) == (reading.notch, reading.end, what) and own.direction in ways:
                weight[number] += sigma**-2
                total[number] += sigma**-2 * (size - as_assessed(side, own))
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(weight > 0, total / weight, np.nan))


def drawn_figures(side: SideEvents) -> dict[Figure, float]:
    """Leads and cutoffs of a side as drawn: what levels are kept by, and targets that the drawing itself misses.

    Parameters
    ----------
    side : SideEvents
        Of the sound drawing.

    Returns
    -------
    dict
        By figure, in both directions: mm and percent of stroke.
    """
    places = product(("lead", "cutoff"), side.notches, DIRECTIONS, ENDS)
    return {figure: as_assessed(side, figure) for figure in (end_figure(*place) for place in places)}


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
        dead = float(dead_centre(crank, reading.end))

        def percent(angle: float) -> float:
            return 100 * float(part_from(crank, reading.end, dead + reading.forward * np.radians(angle)))

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
    model = GearModel.of(as_it_stands(side), readings, tuple(adjustments[j].key for j in own))
    per_step = np.array([adjustments[j].per_step for j in own])
    found = model.predict(steps[:, own] * per_step)
    if as_read:
        read = np.array([reading.value for reading in readings])
        found = found + read - model.predict(np.zeros((1, len(own))))
    return np.asarray(found)
