"""What to measure next: of all parts and distances, that after which leads and cutoffs are known most nearly.

With C the covariance of the dimensions and w the slopes of a figure in its target, a measurement of slope h and
standard uncertainty s takes ``(w C h)² / (h C h + s²)`` off the figure's variance; the measurements are ranked by what
they take off the sum over the figures.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS
from linkmotion.gears.sensitivity import Key
from linkmotion.linkage.parts import Fixed
from linkmotion.measuring.taken import NORMAL
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.dimensions import CENTRAL, REVERSER
from linkmotion.studies.figures.figure import DEGREES, DISTANCE, MM, Figure, Reading, figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.figures.spots import Spot, pins_to_measure
from linkmotion.studies.reconciling.taking import Takings
from linkmotion.studies.tolerances.tolerance import MEASURED, kind_of
from linkmotion.valve import ENDS

Array = NDArray[np.float64]
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
        Part by which the doubts of leads and cutoffs shrink, 0 to 1, once those before it are taken.
    """

    part: Key | None
    distance: Reading | None
    doubt: float
    unit: str
    narrows: float


def next_measurements(takings: Takings, x: Array, covariance: Array) -> tuple[NextMeasurement, ...]:
    """The measurements that would tell most, best first, each with those before it taken.

    Parameters
    ----------
    takings : Takings
        What was measured.
    x, covariance : arrays, shape (exact,) and (D, D)
        Where the likeliest account stands, in spreads; covariance of the dimensions, mm and degrees.
    """
    side, keys = takings.side, takings.known.keys
    weighed = _weighed(side, keys)
    if not len(weighed):
        return ()
    asked = [*_parts(takings), *_distances(takings, x)]
    slopes = np.array([slope for slope, _own in asked])
    sigma = np.array([own.doubt for _slope, own in asked]) / NORMAL
    found: list[NextMeasurement] = []
    taken = np.zeros(len(asked), bool)
    while len(found) < MOST:
        total = float(np.einsum("fd,de,fe->", weighed, covariance, weighed))
        across = slopes @ covariance
        whole = np.einsum("md,md->m", across, slopes) + sigma**2
        gains = np.sum((across @ weighed.T) ** 2, axis=1) / whole / total
        best = int(np.argmax(np.where(taken, 0.0, gains)))
        if taken[best] or not gains[best] > _WORTH:
            break
        taken[best] = True
        narrowed = 1.0 - float(np.sqrt(max(1.0 - gains[best], 0.0)))
        found.append(replace(asked[best][1], narrows=narrowed))
        covariance = covariance - np.outer(across[best], across[best]) / whole[best]
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
        kind = kind_of(takings.side.gear, key)
        unit = MM if kind == "length" else DEGREES
        yield np.eye(len(known.keys))[i], NextMeasurement(key, None, MEASURED[kind], unit, 0.0)


def _same(taken: Reading, notch: str, end: str, pins: set[str], fixed: set[str]) -> bool:
    """Whether a distance was taken already: of the same pins, there, or anywhere where both are fixed to the frame."""
    if taken.spot is None or taken.kind != DISTANCE or {taken.spot.pin, taken.spot.since} != pins:
        return False
    return pins <= fixed or (taken.notch, taken.end) == (notch, end)


def _distances(takings: Takings, x: Array) -> Iterator[tuple[Array, NextMeasurement]]:
    side = takings.side
    linkage = side.gear.declare(side.settings[0])
    pins = list(dict.fromkeys(pins_to_measure(linkage).values()))
    names = list(linkage.names)
    fixed = {names[part.pin] for part in linkage.parts if isinstance(part, Fixed)}
    notches = dict.fromkeys([side.notches[0], side.notches[-1]])
    figures = [
        Figure(kind=DISTANCE, notch=notch, end=end, spot=Spot(a, b))
        for notch in notches
        for end in ENDS
        for a, b in combinations(pins, 2)
        if not any(_same(taken, notch, end, {a, b}, fixed) for taken in takings.readings)
    ]
    model = GearModel.of(side, figures, takings.keys).about(takings.departures(x[None])[0])
    of_known = slice(len(takings.known.keys))  # they come first; what moves with the axle is not asked for
    for own, slope, expected in zip(figures, model.slopes[:, of_known], model.at_figures.tolist(), strict=True):
        doubt = _BY_TRAMMEL * max(1.0, expected / 1000.0)
        reading = Reading(
            side=side.side, kind=own.kind, notch=own.notch, end=own.end, spot=own.spot, value=expected,
            sigma=doubt / NORMAL,
        )  # fmt: skip
        yield slope, NextMeasurement(None, reading, doubt, MM, 0.0)
