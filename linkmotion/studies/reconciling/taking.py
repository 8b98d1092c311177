"""Everything that was measured of a side, as equations in all that is not known of it; whitened.

The unknowns are, in this order: the dimensions, the axle's height, what the fitter's method adds, what measured figures
share (a wheel's diameter), and what each taking is wrong by. The takings are the measured parts, then the readings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears.keys import key_in_words
from linkmotion.measuring.taken import NORMAL
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.diagnosis.evidence import Linear
from linkmotion.studies.diagnosis.priors import SIZES
from linkmotion.studies.figures.disturbances import RISE, Disturbances, Method, axle_moves
from linkmotion.studies.figures.figure import DEGREES, MM, PERCENT, Reading
from linkmotion.studies.figures.looseness import looseness
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.reconciling.drawn_and_measured import Known, Part
from linkmotion.studies.tolerances.tolerance import kind_of

Array = NDArray[np.float64]
FAR = 5.0  # usual slips: a reading further than this from its gear is named where the gear cannot be brought to it
SLIP = {MM: 1.5, PERCENT: 2.5, DEGREES: 3.0}  # by how much a wrong taking is usually out; common practice, no source


class FarOff(ValueError):
    """A reading so far from what the gear gives that no gear near the drawing can be put together to explain it.

    Attributes
    ----------
    reading : Reading
        That furthest off.
    expected : float
        What it would read by drawing and measured parts, in its unit.
    """

    def __init__(self, reading: Reading, expected: float) -> None:
        self.reading, self.expected = reading, expected
        super().__init__(self.told(*(f"{size:.5g} {reading.unit}" for size in (reading.value, expected))))

    def told(self, read: str, expected: str) -> str:
        """In words, both figures as they are to be written."""
        return f"{self.reading}: read {read}, by drawing and parts {expected}: no gear near the drawing gives that"


@dataclass(frozen=True)
class Taking:
    """One taking: a part measured by itself, or a reading on the gear put together.

    Attributes
    ----------
    of : Part or Reading
        Which.
    value, sigma : float
        What was read, and its standard uncertainty, in ``unit``: with what play adds to it.
    unit : str
        "mm", "degrees" or "percent".
    """

    of: Part | Reading
    value: float
    sigma: float
    unit: str

    @property
    def doubt(self) -> float:
        """19 in 20, as stated."""
        return self.of.doubt if isinstance(self.of, Part) else NORMAL * self.of.sigma

    def __str__(self) -> str:
        """In words."""
        return key_in_words(self.of.key) if isinstance(self.of, Part) else str(self.of)


class Takings:
    """R takings of a side as equations in N unknowns.

    Parameters
    ----------
    side : SideEvents
        As its state has it.
    known : Known
        Drawing and parts.
    readings : sequence of Reading
        Of the side; lost motion tells the play and no more.
    method : Method
        How they were taken.

    Attributes
    ----------
    takings : tuple of R Taking
    apart : tuple of Reading
        Readings that say nothing here: lost motion, and events that do not happen on this gear.
    base, sizes : float arrays, shape (N,) and (N, sizes)
        Variance of each unknown where nothing is wrong, and what something wrong of each size adds.
    """

    def __init__(self, side: SideEvents, known: Known, readings: Sequence[Reading], method: Method) -> None:
        self.side, self.known, self.method = side, known, method
        self.moves = axle_moves(side)
        self.keys = tuple(dict.fromkeys((*known.keys, *self.moves)))
        whole = GearModel.of(side, readings, self.keys) if readings else None
        use = [] if whole is None else _usable(whole, readings)
        self.readings = tuple(readings[i] for i in use)
        self.apart = tuple(own for i, own in enumerate(readings) if i not in use)
        self.loose = looseness(side, readings) if readings else None
        self.model = whole.only(use) if whole is not None and use else None
        self.disturbances = None
        if self.model is not None and self.loose is not None:
            self.disturbances = Disturbances(self.model, side, self.readings, method, self.loose)
        self.takings = (*self._parts(), *self._read())
        self.sigma = np.array([own.sigma for own in self.takings])
        self.base, self.sizes = self._variances()

    def far_off(self) -> FarOff | None:
        """The reading furthest from what drawing and parts give, in usual slips, if it is :data:`FAR` off."""
        if self.model is None:
            return None
        expected = self.model.about(self.departures(np.zeros((1, self.exact)))[0]).at_figures
        slips = [abs(own.value - by) / SLIP[own.unit] for own, by in zip(self.readings, expected, strict=True)]
        most = int(np.argmax(slips))
        return FarOff(self.readings[most], float(expected[most])) if slips[most] > FAR else None

    def _parts(self) -> list[Taking]:
        found = []
        for own in self.known.parts:
            unit = MM if kind_of(self.side.gear, own.key) == "length" else DEGREES
            found.append(Taking(own, own.value, own.sigma, unit))
        return found

    def _read(self) -> list[Taking]:
        more = self.disturbances.scatter if self.disturbances is not None else np.zeros(0)
        return [
            Taking(own, own.value, float(np.hypot(own.sigma, extra)), own.unit)
            for own, extra in zip(self.readings, more, strict=True)
        ]

    @property
    def count(self) -> int:
        """Dimensions, D."""
        return len(self.known.keys)

    @property
    def exact(self) -> int:
        """Unknowns with which the gear is turned: dimensions and the axle's height; they come first."""
        return self.count + 1

    @property
    def shared(self) -> list[object]:
        """Sources of doubt that measured parts share."""
        return list(dict.fromkeys(source for own in self.known.parts for source in own.shared))

    @property
    def disturbing(self) -> int:
        """Unknowns of the fitter's method."""
        return len(self.disturbances.names) if self.disturbances is not None else 0

    @property
    def first_slip(self) -> int:
        """Number of the unknown by which the first taking is wrong."""
        return self.exact + self.disturbing + len(self.shared)

    def _variances(self) -> tuple[Array, Array]:
        sizes, count = np.array(SIZES), len(self.takings)
        base = np.append(np.ones(self.first_slip), np.zeros(count))
        wrong = np.zeros((base.size, sizes.size))
        wrong[: self.count] = self.known.ratio[:, None] * sizes**2
        usual = np.array([SLIP[own.unit] for own in self.takings]) / np.maximum(self.sigma, 1e-12)
        wrong[self.first_slip :] = (usual[:, None] * sizes) ** 2
        return base, wrong

    def departures(self, x: Array) -> Array:
        """Departures of the model's dimensions from the reference, mm and degrees, shape (H, keys).

        Parameters
        ----------
        x : array, shape (H, exact)
            The exact unknowns, in their spreads.
        """
        found = np.zeros((len(x), len(self.keys)))
        found[:, : self.count] = (x[:, :-1] * self.known.spread) @ self.known.moves
        rise = np.array([self.moves.get(key, 0.0) for key in self.keys])
        return found + np.outer(x[:, -1] * RISE, rise)

    def about(self, x: Array) -> tuple[Linear, Array]:
        """The equations about a place, and their residuals r, so that r = J z + e; whitened.

        Parameters
        ----------
        x : array, shape (exact,)
            The exact unknowns, in their spreads.

        Returns
        -------
        linear, residual : Linear, array (1, R)
            NaN where the gear cannot be assembled there.
        """
        slopes = np.zeros((len(self.takings), self.base.size))
        left = np.empty(len(self.takings))
        split = len(self.known.parts)
        for row, own in enumerate(self.known.parts):
            at = self.known.keys.index(own.key)
            slopes[row, at] = self.known.spread[at]
            for source, amount in own.shared.items():
                slopes[row, self.exact + self.disturbing + self.shared.index(source)] = amount
            left[row] = own.value - self.known.reference[at]
        if self.model is not None and self.disturbances is not None:
            about = self.model.about(self.departures(x[None])[0])
            columns, mean = self.disturbances.columns(about)
            own_moves = self._moves()
            slopes[split:, : self.exact] = np.nan_to_num(about.slopes) @ own_moves.T
            slopes[split:, self.exact : self.exact + self.disturbing] = columns
            read = np.array([own.value for own in self.readings])
            left[split:] = read - about.at_figures - mean + slopes[split:, : self.exact] @ x
        slopes /= self.sigma[:, None]
        slopes[:, self.first_slip :] = np.eye(len(self.takings))
        return Linear.about(slopes, self.base), (left / self.sigma)[None]

    def _moves(self) -> Array:
        """What a spread of each exact unknown moves of the model's dimensions, shape (exact, keys)."""
        return self.departures(np.eye(self.exact))


def _usable(model: GearModel, readings: Sequence[Reading]) -> list[int]:
    expected = model.at_figures
    return [i for i, own in enumerate(readings) if own.kind != "lost motion" and np.isfinite(expected[i])]
