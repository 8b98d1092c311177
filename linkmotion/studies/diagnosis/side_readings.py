"""The readings of one side as a function of everything that is not known of them.

The unknowns are, in this order: the dimensions (the valve's place on its spindle among them), the height of the axle,
the dead centres and the play, the slot worn in one place and its die loose there, and what each reading is misread by.
The first two are predicted exactly by the gear, the others add linearly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from linkmotion.events import DIRECTIONS
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.diagnosis.evidence import Array
from linkmotion.studies.diagnosis.priors import SIZES, Priors
from linkmotion.studies.diagnosis.worn_place import WORN, columns, worn_places
from linkmotion.studies.figures.dimensions import CENTRAL, REVERSER
from linkmotion.studies.figures.disturbances import RISE, Disturbances, Method, axle_moves
from linkmotion.studies.figures.figure import DEGREES, MM, PERCENT, Reading
from linkmotion.studies.figures.looseness import Loose, looseness
from linkmotion.studies.figures.model import GearModel

Unknown = tuple[str, ...]
AXLE: Unknown = ("axle height",)
SHARED = (("reversing", "shaft_x"), ("reversing", "shaft_y"), *REVERSER.values())
"""Dimensions that both sides of an engine share: where the weighshaft stands, and how the reach rod turns it."""
PORT: Key = ("valve", "port_width")
_FLAT, _NARROW = 4.0, 4.0  # uncertainties within which openings are alike; sound spreads by which a port is narrow
_MISREAD = {MM: 1.5, PERCENT: 2.5, DEGREES: 3.0}  # by how much a misread figure is usually out; no source


@dataclass(frozen=True)
class Basis:
    """The readings about a place: slopes to every unknown, and what the play's means add; whitened."""

    slopes: Array
    mean: Array


class Part:
    """One side's readings, ready to be explained.

    Attributes
    ----------
    readings : tuple of Reading
        The R that say something of dimensions.
    apart : tuple of (Reading, float)
        Those that do not, with what the gear as figured has there.
    at_figures : float array, shape (R,)
        The readings on the gear as figured.
    unknowns : tuple
        What each of the n unknowns is, by which two sides know what they share.
    exact : int
        How many of them the gear predicts exactly; they come first.
    base, sizes : float arrays, shape (n,) and (n, 3)
        Variance of each as it is by itself, and what a fault of each size adds to it.
    """

    def __init__(self, side: SideEvents, readings: Sequence[Reading], priors: Priors, method: Method) -> None:
        self.side, self.priors, self.method = side, priors, method
        self.loose: Loose = looseness(side, readings)
        own_axle = axle_moves(side)
        keys = tuple(dict.fromkeys((*priors.keys, *own_axle)))
        whole = GearModel.of(side, readings, keys)
        expected = whole.at_figures.tolist()
        use = [i for i, reading in enumerate(readings) if reading.kind != "lost motion" and np.isfinite(expected[i])]
        self.readings = tuple(readings[i] for i in use)
        self.apart = tuple((readings[i], expected[i]) for i in range(len(readings)) if i not in use)
        self.model = whole.only(use)
        self.disturbances = Disturbances(self.model, side, self.readings, method, self.loose)
        self.at_figures = whole.at_figures[use]
        self.read = np.array([reading.value for reading in self.readings])
        noise = np.array([reading.sigma for reading in self.readings])
        self.sigma = np.hypot(noise, self.disturbances.scatter)
        self.exact = len(priors.keys) + 1
        spread = np.append(priors.sound, RISE)
        rows = np.zeros((self.exact, len(keys)))
        rows[:-1, : len(priors.keys)] = priors.moves
        rows[-1] = [own_axle.get(key, 0.0) for key in keys]
        self._moves = rows * spread[:, None]
        self.places = worn_places(side, self.readings, keys)
        self.unknowns = self._named()
        never = len(use) + 3 * len(self.places)  # what is nothing but for a fault
        self.base = np.append(np.ones(len(self.unknowns) - never), np.zeros(never))
        self.sizes = self._sizes()
        self._left: dict[bytes, Array] = {np.zeros(self.exact).tobytes(): (self.read - self.at_figures)[None]}
        self._bases: dict[bytes, Basis] = {}

    def _named(self) -> tuple[Unknown, ...]:
        own = self.side.side
        dimensions = [key if key in SHARED else (*key, own) for key in self.priors.keys]
        disturbances = [(name, own) for name in self.disturbances.names]
        worn: list[Unknown] = [(*place.key, own) for place in self.places]
        worn += [(*place.key, f"loose, turned {way}", own) for place in self.places for way in DIRECTIONS]
        return (*dimensions, AXLE, *disturbances, *worn, *(("misread", own, str(i)) for i in range(len(self.readings))))

    def _sizes(self) -> Array:
        sizes = np.array(SIZES)
        found = np.zeros((len(self.unknowns), sizes.size))
        found[: len(self.priors.keys)] = self.priors.ratio[:, None] * sizes**2
        for members in (self.worn, *self.worn_and_loose):
            found[list(members)] = (WORN * sizes) ** 2
        usual = np.array([_MISREAD[reading.unit] for reading in self.readings])
        found[len(found) - usual.size :] = (usual[:, None] * sizes) ** 2
        return found

    @property
    def suspects(self) -> list[int]:
        """Which unknowns may be faults of the gear."""
        return [*(i for i, key in enumerate(self.priors.keys) if key != CENTRAL), *self.worn]

    @property
    def worn(self) -> list[int]:
        """Which unknowns are the slot worn in one place."""
        start = len(self.unknowns) - len(self.readings) - 3 * len(self.places)
        return list(range(start, start + len(self.places)))

    @property
    def worn_and_loose(self) -> list[tuple[int, int]]:
        """Each of these with the die loose there, the valve hanging back the one way or the other."""
        many = len(self.places)
        return [(worn, worn + many + i + way) for i, worn in enumerate(self.worn) for way in range(len(DIRECTIONS))]

    @property
    def told(self) -> dict[int, Key]:
        """What each unknown that may be wrong is told by: the dimensions in their order, then the worn places."""
        return dict(enumerate(self.keys)) | dict(zip(self.worn, (place.key for place in self.places), strict=True))

    @property
    def misread(self) -> list[int]:
        """Which unknowns are misreadings."""
        return list(range(len(self.unknowns) - len(self.readings), len(self.unknowns)))

    @property
    def bend(self) -> Array | None:
        """Where the port is as narrow as the greatest openings that were read, if they look cut off by it.

        The greatest opening bends there: from the figures the port's width may not be seen at all.
        """
        width = float(self.model.gear.valve.port_width)
        tops = [i for i, reading in enumerate(self.readings) if reading.kind == "opening"]
        if not tops or PORT not in self.keys:
            return None
        most = float(np.max(self.read[tops]))
        cut = [i for i in tops if abs(self.read[i] - most) < _FLAT * self.sigma[i] and self.at_figures[i] > most]
        off = (most - width) / float(self.priors.sound[self.keys.index(PORT)])
        if len(cut) < 2 or off > -_NARROW:
            return None
        x = np.zeros(self.exact)
        x[self.keys.index(PORT)] = off
        return x

    def uncut(self, x: Array) -> float:
        """How much wider than figured the port must be to cut off no opening that was read, mm; NaN if none was."""
        at = self.model.about(self.departures(x)).at
        rows, found = at.rows_of(self.readings), [np.nan]
        for row, reading in zip(rows, self.readings, strict=True):
            if reading.kind == "opening":
                edge = at.ports.edge("steam", reading.end)
                found.append(float(edge.opening(at.moments.reached(edge.sign)[row] - at.central)))
        return float(np.fmax.reduce(found)) - float(self.model.gear.valve.port_width)

    def departures(self, x: Array) -> Array:
        """Departures of the model's dimensions, mm and degrees, shape (H, D).

        Parameters
        ----------
        x : array, shape (H, exact)
            The exact unknowns, in their spreads.
        """
        return np.asarray(x @ self._moves)

    def over(self, x: Array) -> Array:
        """What the gear leaves of the readings, in their units, shape (H, R); NaN where it cannot be assembled.

        Of one place alone it is kept: every fit comes back to some.

        Parameters
        ----------
        x : array, shape (H, exact)
            The exact unknowns, in their spreads.
        """
        place = x.tobytes()
        if place in self._left:
            return self._left[place]
        left = np.asarray(self.read - self.model.predict(self.departures(x)))
        if len(x) == 1:
            self._left[place] = left
        return left

    def basis(self, x: Array) -> Basis:
        """The readings about a place, whitened; it is kept.

        Parameters
        ----------
        x : array, shape (exact,)
            The exact unknowns, in their spreads.
        """
        place = x.tobytes()
        if place not in self._bases:
            self._bases[place] = self.basis_of(self.model.about(self.departures(x)), self.disturbances, self.sigma)
        return self._bases[place]

    def basis_of(self, about: GearModel, disturbances: Disturbances, sigma: Array) -> Basis:
        """The readings about a place, of any readings with their disturbances.

        Parameters
        ----------
        about : GearModel
            Of the readings, standing at the place.
        disturbances, sigma : Disturbances, array, shape (R,)
            Of the readings; their uncertainties.
        """
        taken, mean = disturbances.columns(about)
        worn = columns(self.places, self.side, about, disturbances)
        slopes = [about.slopes @ self._moves.T, taken, *worn, np.eye(sigma.size)[:, : sigma.size]]
        return Basis(np.nan_to_num(np.column_stack(slopes)) / sigma[:, None], mean / sigma)

    @property
    def keys(self) -> tuple[Key, ...]:
        """The dimensions."""
        return self.priors.keys
