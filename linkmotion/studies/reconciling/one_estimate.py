"""Drawing, measured parts and what was measured on the gear put together, as one estimate of every dimension.

Every dimension of a side is as near its drawing as its tolerance says, or the part is off it by far more (another
engine's part, a part once altered). A part measured by itself is that near its figure; a distance between pins, a place
of a pin, a lead or any other reading is what the gear of these dimensions gives, with what the fitter's method adds.
Any taking may be wrong by far more than its doubt. All of it is one set of equations, exact about the likeliest account
(:mod:`.taking`, :mod:`.weighing`).

What checks a taking is asked with no trust in the drawing: each dimension as wide as a usual fault. With ``A = J P Jᵀ +
1`` a taking out by b of its uncertainties stands out by ``b sqrt((A⁻¹)_ii)``: where that is next to nothing, nothing
checks it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import Engine
from linkmotion.gears.sensitivity import Key
from linkmotion.linkage import LinkageError
from linkmotion.measuring.taken import NORMAL
from linkmotion.studies.diagnosis.evidence import NONE, Linear
from linkmotion.studies.diagnosis.priors import Priors, priors_of
from linkmotion.studies.diagnosis.result import STANDS_OUT
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.disturbances import Method
from linkmotion.studies.figures.figure import DEGREES, MM, Reading
from linkmotion.studies.reconciling.drawn_and_measured import as_drawn, known_of
from linkmotion.studies.reconciling.intervals import shortest
from linkmotion.studies.reconciling.next_measurement import NextMeasurement, next_measurements
from linkmotion.studies.reconciling.reconciled import (
    BOTH,
    DRAWN,
    INFERRED,
    PART,
    RULE,
    Contradiction,
    OffInstead,
    Reconciled,
    Reconciliation,
    Suspected,
    Unchecked,
)
from linkmotion.studies.reconciling.taking import SLIP, Takings
from linkmotion.studies.reconciling.weighing import Accounts, weighed
from linkmotion.studies.tolerances.tolerance import Tolerance, kind_of

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
_TOLD = 0.7  # of a usual fault's spread: a dimension known no better than that by what was measured is not told by it
_NARROWED = 0.85  # of what drawing or part alone give: what is known so much better comes from the readings too
_WRONG = 0.5  # probability that a taking is wrong from which a contradiction is named
_GROUP = 0.99  # of the ways to explain a contradiction: so much must be in the group that is named
_TWENTIETH = 0.05  # of the likeliest: what is at least so likely beside it is told with it
_MOST_UNNOTICED = 50.0  # usual slips: an error that goes unnoticed though so large is never noticed


def reconcile(
    engine: Engine,
    state: str,
    name: str,
    readings: Iterable[Reading],
    tolerances: Mapping[Key, Tolerance],
    method: Method | None = None,
) -> Reconciliation:
    """One estimate of every dimension of a side.

    Parameters
    ----------
    engine, state, name : Engine, str, str
        The engine, the state that holds the measured parts, and the side, by its name.
    readings : iterable of Reading
        Of the side, on the gear put together; may be none.
    tolerances : mapping
        Of the drawing, as :func:`~linkmotion.studies.tolerances.given.tolerances_from` gives them.
    method : Method, optional
        How the readings were taken.

    Raises
    ------
    NotchError
        The gear as drawn cannot pass.
    FarOff
        A reading is so far off that the gear cannot be brought near it.
    """
    side = as_drawn(engine, state, name)
    priors = priors_of(side, tolerances)
    known = known_of(engine, side, priors)
    takings = Takings(side, known, tuple(readings), method or Method())
    try:
        return _Told(takings, weighed(takings) if takings.takings else None, priors).reconciliation()
    except LinkageError:  # on the way to what was read; the gear as drawn and measured has passed
        far = takings.far_off()
        if far is None:
            raise
        raise far from None


class _Told:
    """What the accounts of a side's takings say."""

    def __init__(self, takings: Takings, found: Accounts | None, priors: Priors) -> None:
        self.takings, self.known, self.priors = takings, takings.known, priors
        self.found = weighed(takings) if found is None else found
        self.dims = np.arange(takings.count)
        self.trustless = self._without_trust()
        self._left = self.trustless.spreads(np.full((1, 1), NONE), np.zeros((1, 1)))[0]

    def reconciliation(self) -> Reconciliation:
        found, takings = self.found, self.takings
        misfit = float(found.linear.misfit(found.residual)[0]) if len(takings.takings) else 0.0
        from scipy.special import chdtrc

        return Reconciliation(
            side=takings.side.side, state=takings.side.state, dimensions=tuple(self._dimensions()),
            takings=takings.takings, apart=takings.apart, contradictions=tuple(self._contradictions()),
            unchecked=tuple(self._unchecked()), next=self._next(), method=takings.method, misfit=misfit,
            fit=float(chdtrc(len(takings.takings), misfit)) if takings.takings else 1.0,
        )  # fmt: skip

    def _without_trust(self) -> Linear:
        """The equations with every dimension as wide as a usual fault, and no taking wrong."""
        base = self.takings.base.copy()
        base[self.dims] += self.known.ratio
        return Linear.about(self.found.linear.slopes, base)

    def _dimensions(self) -> list[Reconciled]:
        spread = self.known.spread
        means = self.found.z[:, self.dims] * spread
        stds = np.sqrt(self.found.variance[:, self.dims]) * spread
        low, high = shortest(self.found.weights, means, np.maximum(stds, 1e-9))
        middle, likeliest = (low + high) / 2, means[0]
        # Where the limits reach from one account to another, halfway between is a figure that no account has.
        value = np.where(np.abs(middle - likeliest) > NORMAL * stds[0], likeliest, middle)
        doubt = np.maximum(high - value, value - low)
        off = self.found.weights @ self.found.wrong[:, self.dims]
        return [
            self._dimension(i, value[i], doubt[i], stds[0, i], float(off[i]))
            for i, key in enumerate(self.known.keys)
            if key != CENTRAL
        ]

    def _dimension(self, i: int, departure: float, doubt: float, std: float, off: float) -> Reconciled:
        key, part = self.known.keys[i], self.known.part(self.known.keys[i])
        sound = float(self.known.spread[i] if key in self.known.ruled else self.priors.sound[i])
        wide = float(np.sqrt(self.trustless.base[i])) * self.known.spread[i]
        told = float(np.sqrt(self._left[i])) * self.known.spread[i]
        if part is not None:
            alone = part.doubt / NORMAL
            by_part = alone if key not in self.known.drawn else float(1 / np.hypot(1 / alone, 1 / sound))
            origin = BOTH if std < _NARROWED * by_part else PART
        else:
            unmeasured = RULE if key in self.known.ruled else DRAWN
            origin = INFERRED if std < _NARROWED * sound or off > _WRONG else unmeasured
        return Reconciled(
            key=key, unit=MM if kind_of(self.takings.side.gear, key) == "length" else DEGREES,
            drawn=self.known.drawn.get(key), within=NORMAL * sound,
            measured=None if part is None else part.value, measured_doubt=None if part is None else part.doubt,
            value=float(self.known.reference[i] + departure), doubt=float(doubt), origin=origin, off=off,
            borne_out=bool(part is not None or told < _TOLD * wide),
        )  # fmt: skip

    def _contradictions(self) -> list[Contradiction]:
        """For each taking that is wrong in the likeliest account: that, and those that may be instead of it."""
        weights, wrong = self.found.weights, self.found.wrong[:, self.takings.first_slip :]
        groups = []
        for i in np.flatnonzero(wrong[0]).tolist():
            right = ~wrong[:, i]
            if float(weights[right & ~np.any(wrong & ~wrong[0], axis=1)].sum()) < 1.0 - _WRONG:
                groups.append(self._group(right, i))
        right = ~np.any(wrong, axis=1)
        if not groups and wrong.size and float(weights[right].sum()) < 1.0 - _WRONG:
            groups.append(self._group(right))
        return sorted(groups, key=lambda own: -own.group[0].probability)

    def _group(self, right: Flags, first: int | None = None) -> Contradiction:
        """All that explains a contradiction, as far as it counts.

        Parameters
        ----------
        right : bool array, shape (H,)
            Accounts in which its first taking is not wrong; or in which none is, where it has no first.
        first : int, optional
            That taking, by its number.
        """
        weights, slip = self.found.weights, self.takings.first_slip
        here, there = float(weights[~right].sum()), float(weights[right].sum())
        share = (weights[~right] @ self.found.wrong[~right] / here) if here else np.zeros(self.found.wrong.shape[1])
        more = weights[right] @ self.found.wrong[right] - there * share  # than by chance
        if first is None:
            more[slip:] = weights @ self.found.wrong[:, slip:]
        else:
            more[slip + first] = here
        more[(more < 0) | (self.takings.sizes[:, -1] == 0)] = 0.0
        order, least = np.argsort(-more, kind="stable"), _TWENTIETH * more.max()
        before = np.cumsum(more[order]) - more[order]
        told = order[(more[order] >= least) | ((before < _GROUP * more.sum()) & (order >= slip))].tolist()
        taken = [i - slip for i in told if i >= slip]
        group = tuple(Suspected(self.takings.takings[i], float(more[slip + i]), self._out_by(i)) for i in taken)
        drawing = tuple(self._off(d, float(more[d]), right) for d in told if d < slip)
        nothing = float(weights[~np.any(self.found.wrong[:, told], axis=1)].sum())
        return Contradiction(group, drawing, nothing if nothing >= least else 0.0)

    def _off(self, d: int, probability: float, right: Flags) -> OffInstead:
        own, key = right & self.found.wrong[:, d], self.known.keys[d]
        by = float(np.average(self.found.z[own, d], weights=self.found.weights[own]) * self.known.spread[d])
        return OffInstead(key, probability, by, MM if kind_of(self.takings.side.gear, key) == "length" else DEGREES)

    def _out_by(self, i: int) -> float:
        unknown = self.takings.first_slip + i
        own = self.found.wrong[:, unknown]
        weights = self.found.weights[own]
        return float(weights @ self.found.z[own, unknown] / weights.sum() * self.takings.sigma[i])

    def _unchecked(self) -> list[Unchecked]:
        shown = np.sqrt(np.maximum(np.diag(self.trustless.inverse), 1e-30))
        told = []
        for own, part in zip(self.takings.takings, shown.tolist(), strict=True):
            size = STANDS_OUT * own.sigma / part
            if size > SLIP[own.unit]:
                told.append(Unchecked(own, size if size < _MOST_UNNOTICED * SLIP[own.unit] else None))
        return sorted(told, key=lambda own: -(own.unnoticed or np.inf))

    def _next(self) -> tuple[NextMeasurement, ...]:
        spread, moves = self.known.spread, self.known.moves
        covariance = self.found.covariance(0, self.dims) * np.outer(spread, spread)
        x = self.found.z[0, : self.takings.exact]
        return next_measurements(self.takings, x, moves.T @ covariance @ moves)
