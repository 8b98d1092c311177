"""What the fitter's method did to the readings, as far as they tell; what looks misread, and what would not show."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.diagnosis.estimate import Estimate
from linkmotion.studies.diagnosis.evidence import Array
from linkmotion.studies.diagnosis.result import STANDS_OUT, Disturbance, Misread
from linkmotion.studies.diagnosis.side_readings import Part
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.disturbances import RISE, SPRINGS
from linkmotion.studies.figures.figure import DEGREES, MM
from linkmotion.valve import ENDS

_TOLD = 0.5  # probability from which a reading is called misread


def misread_in(found: Estimate, part: Part, place: NDArray[np.intp]) -> tuple[Misread, ...]:
    """Readings likelier misread than not, the likeliest first; by how much, in their own units.

    Parameters
    ----------
    found, part : Estimate, Part
        Of one side or both; the side.
    place : int array
        Numbers of the side's unknowns among the estimate's.
    """
    told = []
    for reading, unknown in zip(part.readings, place[part.misread], strict=True):
        own = np.any(found.sets == unknown, axis=1)
        chance = float(np.sum(found.weights[own]))
        if chance > _TOLD:
            told.append(Misread(reading, chance, float(found.weights[own] @ found.z[own, unknown] / chance)))
    return tuple(sorted(told, key=lambda own: -own.probability))


def hidden_in(found: Estimate, part: Part, place: NDArray[np.intp], best: int) -> Array:
    """How far each reading could be misread and not stand out, all else unknown as it is, in its own unit, shape (R,).

    With B = A_S⁻¹ a reading out by b of its uncertainties stands out by ``b sqrt(B_ii)``.

    Parameters
    ----------
    found, part, place
        As for :func:`misread_in`.
    best : int
        Number of the likeliest explanation.
    """
    linear, row = found.fitted.linear, slice(best, best + 1)
    wide = linear.variances(found.sets[row], found.wide[row])[0]
    wide[place[part.misread]] = 0.0
    inverse = np.linalg.inv((linear.slopes * wide) @ linear.slopes.T + np.eye(len(linear.slopes)))
    own = np.argmax(linear.slopes[:, place[part.misread]] != 0.0, axis=0)
    return np.asarray(STANDS_OUT / np.sqrt(np.diag(inverse)[own]) * found.fit.sigma[own])


def disturbances_of(found: Estimate, part: Part, place: NDArray[np.intp]) -> tuple[Disturbance, ...]:
    """The valve's place, the axle's height and the dead centres: over all explanations, and how well they are known.

    Parameters
    ----------
    found, part, place
        As for :func:`misread_in`.
    """
    central, axle, method = part.keys.index(CENTRAL), part.exact - 1, part.method
    spindle = float(part.priors.sound[central])
    before = {"valve on its spindle": (central, spindle, 2 * spindle, MM), "axle height": (axle, RISE, SPRINGS, MM)}
    for i, end in enumerate(ENDS):
        before[f"{end} dead centre"] = (part.exact + i, method.spread(end), method.doubt(end), DEGREES)
    told = []
    for name, (unknown, spread, near, unit) in before.items():
        z, variance = found.z[:, place[unknown]], found.variance[:, place[unknown]]
        mean = float(found.weights @ z)
        std = float(np.sqrt(found.weights @ (variance + (z - mean) ** 2)))
        most = near if near < 2 * spread else np.inf  # a bound holds whatever was read
        told.append(Disturbance(name, mean * spread, min(2 * std * spread, most), near, unit))
    return tuple(told)
