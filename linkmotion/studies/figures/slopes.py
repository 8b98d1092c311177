r"""Exact derivatives of figures to every dimension: the law of :mod:`.law` with a complex step in each.

With x(θ; p) the place of the spindle pin at crank angle θ for dimensions p, and c(p) the place that is central, an
event stands where its edge's opening o = s (x - c) - l is nothing, so that dθ/dp = -(s (x_p - c_p) - l_p) / (s x_θ).
A lead is o at the end's dead centre, which moves with p itself; a greatest opening is o at a turning point, where θ
need not be followed. Where the valve is set by a rule, c(p) follows the rule: the rule is differentiated likewise.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS
from linkmotion.gears import Gear, ReverserPosition
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.reverser import Stop, figure, stacked
from linkmotion.gears.sensitivity import STEP, output_derivatives, stepped
from linkmotion.linkage import Harmonics, Solution, Wheel, solve
from linkmotion.linkage.derivatives import Gradient, gradient_along
from linkmotion.linkage.many import solve_at
from linkmotion.piston import dead_centre
from linkmotion.revolution import revolve
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.figure import SPOTTED, TRAVEL, Figure, end_figure
from linkmotion.studies.figures.law import Moments, Rows, flow_of, value
from linkmotion.studies.figures.measured import Measured
from linkmotion.studies.figures.play import GREATEST
from linkmotion.studies.figures.predict import DIE, LOST, Moved
from linkmotion.studies.figures.spots import ALONG
from linkmotion.valve import ENDS, Ports
from linkmotion.valve_setting import direction_of, even_between, place_by_rule

Array = NDArray[Any]
_SMALL = 1e-3  # mm, degrees: of the one difference taken, for the die's height


class AtFigures:
    """The gear with every dimension at its figure: its motion in each of N notches, and the moments of figures there.

    Parameters
    ----------
    moved : Moved
        The gear, its notches, the D dimensions.
    """

    def __init__(self, moved: Moved) -> None:
        self.moved, self.gear, self.ports = moved, moved.varied.gear, Ports.of(moved.varied.gear.valve)
        self.keys, count = moved.varied.keys, len(moved.notches)
        turned = revolve(self.gear, stacked(list(moved.varied.settings.values())), known=moved.orders.get(0))
        self.solution, c = turned.solution, turned.spindle.c
        self.spindle = Harmonics(moved.with_wear(np.broadcast_to(c, (count, c.shape[-1])), 1))
        self.central = self._central()
        still = np.zeros((count, len(self.keys)))
        self.moments = Moments(moved.varied, still, self.spindle, np.full(count, self.central))
        self._known: dict[Figure, float] = {}

    def rows_of(self, figures: Sequence[Figure]) -> Rows:
        """Number of each figure's notch, shape (F,).

        Parameters
        ----------
        figures : sequence of F figures
            Of the notches turned.
        """
        return np.array([self.moved.notches.index(own.notch) for own in figures], int)

    def angles(self, figures: Sequence[Figure]) -> Array:
        """Forward crank angle of each figure, radians, shape (F,); NaN where an event does not happen.

        Parameters
        ----------
        figures : sequence of F figures
            Of the notches turned; what is found is kept.
        """
        new = [own for own in dict.fromkeys(figures) if own not in self._known]
        if new:
            self._known |= zip(new, self.moments.of(new, self.rows_of(new)[:, None])[:, 0].tolist(), strict=True)
        return np.array([self._known[own] for own in figures])

    def _central(self) -> float:
        valve = self.gear.valve
        if not self.moved.set_in:
            return float(valve.central_at)
        row = self.moved.notches.index(self.moved.set_in)
        return float(place_by_rule(valve, self.spindle[row : row + 1], self.ports, self.gear.crank)[0])


def slopes_of(at: AtFigures, figures: Sequence[Figure]) -> Array:
    """Derivatives of F figures to D dimensions, shape (F, D): the figure's unit per mm or degree.

    Of a die height they are central differences of the exact place (they err by 1e-7 or so); of lost motion
    nothing, since what the dimensions do to it is small; NaN where an event does not happen.

    Parameters
    ----------
    at : AtFigures
        The gear as turned.
    figures : sequence of F figures
        Of its notches.
    """
    found = np.zeros((len(figures), len(at.keys)))
    own = [i for i, each in enumerate(figures) if each.kind not in (DIE, LOST, GREATEST, *SPOTTED)]
    if own:
        found[own] = _Stepped(at, [figures[i] for i in own]).slopes()
    dies = [i for i, each in enumerate(figures) if each.kind == DIE]
    if dies:
        found[dies] = _die_slopes(at, [figures[i] for i in dies])
    spotted = [i for i, each in enumerate(figures) if each.kind in SPOTTED]
    if spotted:
        found[spotted] = _spot_slopes(at, [figures[i] for i in spotted])
    return found


class _Stepped:
    """The gear with a complex step in each dimension, and the pin's place with it at every moment that is wanted."""

    def __init__(self, at: AtFigures, figures: Sequence[Figure]) -> None:
        self.at, self.figures = at, figures
        self.gear = stepped(at.gear, at.keys)
        self.ports = Ports.of(self.gear.valve)
        self.angle, rows = at.angles(figures), at.rows_of(figures)
        self._travels = [i for i, each in enumerate(figures) if each.kind == TRAVEL]
        rear = rows[self._travels]
        self._ruled = self._rule_moments()
        set_row = [at.moved.notches.index(at.moved.set_in)] * len(self._ruled) if at.moved.set_in else []
        rows = np.concatenate([rows, rear, np.array(set_row, int)])
        angles = np.concatenate([self.angle, at.moments.farthest(-1)[rear], self._ruled])
        angles = np.nan_to_num(angles)
        places, self.rate = (each[rows](angles) for each in (at.spindle, at.spindle.rate()))
        along = _solved_at(at, rows, angles)
        slopes = _by_dimension(at, rows, along, gradient_along(along, VALVE_GUIDE), self.gear)
        self.place = places + 1j * STEP * slopes
        self.central = self._central()

    def slopes(self) -> Array:
        """Of the figures, shape (F, D)."""
        found = np.full((len(self.figures), len(self.at.keys)), np.nan)
        for i in np.flatnonzero(~np.isnan(self.angle)).tolist():
            place = self.place[:, i]
            if i in self._travels:
                place = place - self.place[:, len(self.figures) + self._travels.index(i)]
            own = _moved(self.figures[i], self.angle[i], place, self.rate[i], self.gear, self.ports, self.central)
            found[i] = np.imag(own) / STEP
        return found

    def _rule_moments(self) -> Array:
        """Forward crank angles at which the setting rule looks at the valve."""
        at, valve = self.at, self.at.gear.valve
        if not at.moved.set_in:
            return np.zeros(0)
        if valve.set_by == "equal cutoff":
            return at.angles(self._cutoffs())
        row = at.moved.notches.index(at.moved.set_in)
        if valve.set_by == "equal opening":
            return np.array([at.moments.farthest(sign)[row] for sign in (1, -1)])
        return np.array([dead_centre(at.gear.crank, end) for end in ENDS], float)

    def _cutoffs(self) -> list[Figure]:
        notch, way = self.at.moved.set_in, direction_of(self.at.gear.valve)
        return [end_figure("cutoff", notch, way, end) for end in ENDS]

    def _central(self) -> Any:
        """The central place with its steps: as given, or as the setting rule makes it follow the dimensions."""
        at, valve = self.at, self.at.gear.valve
        if not at.moved.set_in:
            return self.gear.valve.central_at
        places, rates = self.place[:, -2:].T, self.rate[-2:]
        if valve.set_by == "equal cutoff":
            figures = list(zip(self._cutoffs(), self._ruled, places, rates, strict=True))
            front, back = (_moved(*own, self.gear, self.ports, at.central) for own in figures)
            near = [(own, angle, np.real(place), rate) for own, angle, place, rate in figures]
            moved = [_moved(*own, at.gear, at.ports, at.central + 1j * STEP) for own in near]
            slope = -np.imag(front - back) / np.imag(moved[0] - moved[1])
        else:
            turns = [0.0, np.imag(dead_centre(self.gear.crank, "back")) / STEP if valve.set_by == "equal lead" else 0.0]
            seen = [p + 1j * STEP * rate * turn for p, rate, turn in zip(places, rates, turns, strict=True)]
            slope = np.imag(even_between(self.ports, seen[0] + seen[1])) / STEP
        return at.central + 1j * STEP * (slope + np.array([float(key == CENTRAL) for key in at.keys]))


def _moved(figure: Figure, angle: Any, place: Any, rate: Any, gear: Gear, ports: Ports, central: Any) -> Any:
    """A figure whose dimensions and place carry complex steps, its moment following them."""
    turn: Any = 0.0
    if figure.kind in EVENTS:
        edge = ports.edge(flow_of(figure.kind), figure.end)
        turn = -np.imag(edge.opening(place - central)) / STEP / (edge.sign * rate)
    elif figure.at is None and figure.end == "back" and figure.kind != "opening":
        turn = np.imag(dead_centre(gear.crank, "back")) / STEP
    return value(figure, angle + 1j * STEP * turn, place + 1j * STEP * rate * turn, gear, ports, central)


def _setting(at: AtFigures, rows: Rows) -> ReverserPosition:
    """The reverser with a notch to each of P positions."""
    settings = [at.moved.varied.settings[notch] for notch in at.moved.notches]
    return type(settings[0])(np.ravel(figure(stacked(settings)))[rows])


def _solved_at(at: AtFigures, rows: Rows, angles: Array) -> Solution:
    """The gear in P notches, at a forward crank angle in each."""
    return solve_at(at.gear.declare(_setting(at, rows)), at.solution, rows, angles)


def _by_dimension(at: AtFigures, rows: Rows, solution: Solution, output: Gradient, own: Gear) -> Array:
    """Derivatives of an output at P positions, each at a fixed crank angle, to D dimensions, shape (D, P).

    ``own`` is the gear with a complex step in each dimension.
    """
    setting = _setting(at, rows)
    found = output_derivatives(at.gear, setting, output)
    slopes = np.array([np.broadcast_to(found.get(key, 0.0), rows.shape) for key in at.keys]).reshape(-1, rows.size)
    if isinstance(setting, Stop):  # the stop stands where a dimension says
        stops = [
            np.imag(np.broadcast_to(figure(own.notches[notch]), len(at.keys))) / STEP for notch in at.moved.notches
        ]
        slopes = slopes + np.array(stops).T[:, rows] * found["reversing", "stop angle"]
    return slopes


def _spot_slopes(at: AtFigures, figures: Sequence[Figure]) -> Array:
    """Derivatives of distances and places, shape (F, D): by pins, the line's own slope, the dead centre's turn."""
    rows, gear, measured = at.rows_of(figures), stepped(at.gear, at.keys), measured_at(at, figures)
    found = _by_dimension(at, rows, measured.solution, measured.gradient, gear).T
    for key in set(ALONG.values()) & set(at.keys):
        if key is not None:
            found[:, at.keys.index(key)] += measured.turning(key)
    back = np.imag(np.broadcast_to(dead_centre(gear.crank, "back"), len(at.keys))) / STEP
    at_back = np.array([own.at is None and own.end == "back" for own in figures])
    return np.asarray(found + np.outer(measured.rates * at_back, back))


def measured_at(at: AtFigures, figures: Sequence[Figure]) -> Measured:
    """F distances and places, the gear standing at the moment of each.

    Parameters
    ----------
    at : AtFigures
        The gear as turned.
    figures : sequence of F figures
        Of its notches.
    """
    return Measured(at.gear, _solved_at(at, at.rows_of(figures), at.angles(figures)), figures)


def _die_slopes(at: AtFigures, figures: Sequence[Figure]) -> Array:
    """Derivatives of the die's height at crank angles, by differences, shape (F, D)."""
    varied, count = at.moved.varied, len(at.keys)
    small = _SMALL * np.concatenate([np.eye(count), -np.eye(count)])
    found = np.empty((len(figures), count))
    for angle in dict.fromkeys(own.forward * (own.at or 0.0) for own in figures):
        there = [i for i, own in enumerate(figures) if own.forward * (own.at or 0.0) == angle]
        tall = varied.gears(np.tile(small, (len(there), 1)), tall=True)
        places = np.concatenate([varied.reverser(figures[i].notch, small) for i in there])
        kind = type(varied.settings[figures[there[0]].notch])
        linkage, wheel = tall.declare(kind(places[:, None])), Wheel.at(-np.radians(angle))
        solution = solve(linkage, wheel, alone=True, known=at.moved.orders.get(0))
        heights = np.ravel(tall.die_height(solution)).reshape(len(there), 2, count)
        found[there] = (heights[:, 0] - heights[:, 1]) / (2 * _SMALL)
    return found
