"""What to measure next: of all parts and distances, that after which leads and cutoffs are known most nearly.

With C the covariance of the dimensions and w the slopes of a figure in its target, a measurement of slope h and
standard uncertainty s takes ``(w C h)² / (h C h + s²)`` off the figure's variance; the measurements are ranked by what
they take off the sum over the figures.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS
from linkmotion.gears.sensitivity import Key
from linkmotion.measuring.taken import NORMAL
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.diagnosis.priors import Priors
from linkmotion.studies.figures.dimensions import CENTRAL, REVERSER
from linkmotion.studies.figures.figure import DEGREES, DISTANCE, MM, Figure, Reading, figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.figures.spots import Spot, pins_to_measure
from linkmotion.studies.reconciling.taking import Takings
from linkmotion.studies.tolerances.tolerance import kind_of
from linkmotion.valve import ENDS

Array = NDArray[np.float64]
_BY_PART = {MM: 0.15, DEGREES: 0.15}  # either way, 19 in 20: a part on the bench by vernier; common practice, no source
_BY_TRAMMEL = 0.4  # mm either way up to a metre, and by length beyond: pins on the engine; common practice, no source
_LEAD, _CUTOFF = 0.4, 2.0  # mm, percent: what a lead and a cutoff count by
_WORTH = 0.02  # of the figures' variance: less is not worth a measurement
MOST = 5


@dataclass(frozen=True)
class NextMeasurement:
    """A measurement to take next.

    Attributes
    ----------
    part : (table, key) or None
        The part to measure by itself; None where it is a distance.
    distance : Reading or None
        The distance to measure; its value is what is expected.
    doubt : float
        How near it is taken to be measured, 19 in 20; mm or degrees.
    unit : str
        "mm" or "degrees".
    narrows : float
        Part by which the doubts of leads and cutoffs shrink, 0 to 1.
    """

    part: Key | None
    distance: Reading | None
    doubt: float
    unit: str
    narrows: float


def next_measurements(takings: Takings, x: Array, covariance: Array, priors: Priors) -> tuple[NextMeasurement, ...]:
    """The measurements that would tell most, best first.

    Parameters
    ----------
    takings : Takings
        What was measured.
    x, covariance : arrays, shape (exact,) and (D, D)
        Where the likeliest account stands, in spreads; covariance of the dimensions, mm and degrees.
    priors : Priors
        Of the dimensions.
    """
    side, keys = takings.side, takings.known.keys
    weighed = _weighed(side, keys)
    if not len(weighed):
        return ()
    total = float(np.einsum("fd,de,fe->", weighed, covariance, weighed))
    asked = [*_parts(takings), *_distances(takings, x)]
    gains = []
    for slopes, own in asked:
        across = covariance @ slopes
        sigma = own.doubt / NORMAL
        gains.append(float(np.sum((weighed @ across) ** 2)) / (float(slopes @ across) + sigma**2) / total)
    order = np.argsort(-np.array(gains), kind="stable")[:MOST]
    found = []
    for i in order.tolist():
        if gains[i] > _WORTH:
            own = asked[i][1]
            narrowed = 1.0 - float(np.sqrt(max(1.0 - gains[i], 0.0)))
            found.append(NextMeasurement(own.part, own.distance, own.doubt, own.unit, narrowed))
    return tuple(found)


def _weighed(side: SideEvents, keys: Sequence[Key]) -> Array:
    """Slopes of leads and cutoffs in what each counts by; the valve is set afresh, so its place is of no account."""
    figures = [own for own in figures_of(side) if own.kind in ("lead", "cutoff")]
    found = GearModel.of(side, figures, keys).slopes
    by = np.array([_CUTOFF if own.kind in EVENTS else _LEAD for own in figures])
    found = found[np.all(np.isfinite(found), axis=1)] / by[np.all(np.isfinite(found), axis=1), None]
    found[:, [key == CENTRAL for key in keys]] = 0.0
    return np.asarray(found)


def _parts(takings: Takings) -> Iterator[tuple[Array, NextMeasurement]]:
    known = takings.known
    for i, key in enumerate(known.keys):
        if key in (CENTRAL, *REVERSER.values()):
            continue
        unit = MM if kind_of(takings.side.gear, key) == "length" else DEGREES
        yield np.eye(len(known.keys))[i], NextMeasurement(key, None, _BY_PART[unit], unit, 0.0)


def _distances(takings: Takings, x: Array) -> Iterator[tuple[Array, NextMeasurement]]:
    side = takings.side
    linkage = side.gear.declare(side.settings[0])
    pins = list(dict.fromkeys(pins_to_measure(linkage).values()))
    notches = dict.fromkeys([side.notches[0], side.notches[-1]])
    figures = [
        Figure(kind=DISTANCE, notch=notch, end=end, spot=Spot(a, b))
        for notch in notches
        for end in ENDS
        for a, b in combinations(pins, 2)
    ]
    model = GearModel.of(side, figures, takings.keys)
    slopes = model.slopes @ takings.departures(np.eye(takings.exact)).T
    spread = takings.known.spread
    for own, slope, expected in zip(figures, slopes[:, : spread.size], model.at_figures.tolist(), strict=True):
        doubt = _BY_TRAMMEL * max(1.0, expected / 1000.0)
        reading = Reading(
            side=side.side, kind=own.kind, notch=own.notch, end=own.end, spot=own.spot, value=expected,
            sigma=doubt / NORMAL,
        )  # fmt: skip
        yield slope / spread, NextMeasurement(None, reading, doubt, MM, 0.0)
