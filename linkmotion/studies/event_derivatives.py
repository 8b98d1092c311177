r"""Derivatives of every event to every dimension, by the implicit function theorem.

With x(θ; p) the place of the spindle pin at crank angle θ for dimensions p, c(p) the place that is
central, s = ±1 and l(p) the sense and the lap of an edge, its opening is ``o = s (x - c) - l``. An
event stands where o = 0, so that

    dθ/dp = -(s (x_p - c_p) - l_p) / (s x_θ),        d(percent)/dp = 100 (f_θ dθ/dp + f_p)

with f the piston's part of the stroke. The lead is o at the end's dead centre, which moves with p
itself; the greatest opening is o at a turning point, where θ need not be followed. Where the valve
is set by a rule, c(p) follows the rule: the rule's equation is differentiated in the same way.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import BACKWARD, EVENTS, FORWARD
from linkmotion.gears import Gear, Setting
from linkmotion.gears.reverser import Stop, figure
from linkmotion.gears.sensitivity import STEP, Key, stepped, valve_derivatives
from linkmotion.linkage import Harmonics, Wheel, solve
from linkmotion.linkage.turning_points import greatest
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.event_figures import CENTRAL, Figure, dimensions_of, figures_of, values_of
from linkmotion.valve import ENDS, Ports

Slopes = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class EventDerivatives:
    """Derivatives of F figures to D dimensions.

    Attributes
    ----------
    figures : tuple of Figure, length F
        What is differentiated.
    keys : tuple of (table, key), length D
        Dimensions. ("valve", "central_at") is a shift of the valve on its spindle, beside what a rule
        gives; ("reversing", "arm angle") turns the arm on its shaft, alike in every notch.
    value : float array, shape (F,)
        The figures, mm or percent of stroke; NaN where an event does not happen.
    slope : float array, shape (F, D)
        Per mm for lengths, per degree for angles.
    """

    figures: tuple[Figure, ...]
    keys: tuple[Key, ...]
    value: NDArray[np.float64]
    slope: Slopes

    def to(self, key: Key) -> NDArray[np.float64]:
        """Derivatives of all figures to one dimension, shape (F,)."""
        return self.slope[:, self.keys.index(key)]


def event_derivatives(side: SideEvents, notches: Iterable[str] | None = None) -> EventDerivatives:
    """Differentiate the events of a side to all its dimensions.

    Parameters
    ----------
    side : SideEvents
        As assessed; where the valve is set by a rule, with the notch of ``set_in`` among its notches.
    notches : iterable of str, optional
        Notches wanted; all, if not given.

    Raises
    ------
    ValueError
        The side has play, worn faces or heat: what is differentiated is a sound gear.

    Notes
    -----
    At a port that only just opens or closes (a tangent event) the derivatives grow without bound, and
    where the admission stands at its dead centre its percent of stroke has a kink; there a linear
    spread says little and the Monte Carlo is to be believed. Where the greatest opening is the port's
    width, that is what it depends on.
    """
    if not side.condition.sound:
        raise ValueError("the derivatives are of a sound gear; assess the side without its wear")
    names = side.notches if notches is None else tuple(notches)
    basis = _Basis(side)
    central = _central_slopes(side, basis)
    rows: list[Slopes] = []
    values: list[float] = []
    for name in names:
        i = side.notches.index(name)
        ways = side.driven(i)
        rows += _NotchSlopes(side, i, basis).figures(ways, central)
        values += [float(value[i]) for value in values_of(side.events, ways, side.turned.travel)]
    return EventDerivatives(figures_of(side, names), basis.keys, np.array(values), np.array(rows))


def place_slopes(
    gear: Gear, notch: str, setting: Setting, angles: NDArray[Any], keys: Sequence[Key], own: Gear
) -> Slopes:
    """Derivatives of the spindle pin's place at fixed forward crank angles (N,) to D dimensions, shape (D, N).

    ``own`` is the gear with a complex step in each of ``keys`` (:func:`~linkmotion.gears.sensitivity.stepped`).
    """
    solution = solve(gear.declare(setting), Wheel.at(-angles))
    found = valve_derivatives(gear, setting, solution) | {CENTRAL: 0.0}  # the pin's place, not from central
    slopes = np.array([np.broadcast_to(found.get(key, 0.0), angles.shape) for key in keys])
    if isinstance(setting, Stop):  # the stop stands where a dimension says
        stop = np.broadcast_to(np.imag(figure(own.notches[notch])) / STEP, len(keys))
        slopes = slopes + np.outer(stop, np.broadcast_to(found["reversing", "stop angle"], angles.shape))
    return slopes


class _Basis:
    """The gear with a complex step in each dimension: one row for each, so that all slopes come together."""

    def __init__(self, side: SideEvents) -> None:
        self.keys = dimensions_of(side.gear, side.settings[0])
        self.count = len(self.keys)
        self.gear = stepped(side.gear, self.keys)
        self.ports = Ports.of(self.gear.valve)

    def slopes(self, stepped: Any) -> Slopes:
        """Derivatives of something computed from the stepped gear, shape (D,)."""
        return np.broadcast_to(np.imag(stepped) / STEP, (self.count,))

    def unit(self, key: Key) -> Slopes:
        """One for a dimension, nothing for the others."""
        return np.array([float(other == key) for other in self.keys])


class _NotchSlopes:
    """One notch: its moments (dead centres, events, ends of the travel) and the valve's slopes there."""

    def __init__(self, side: SideEvents, notch: int, basis: _Basis) -> None:
        self.side, self.notch, self.basis, self.ports = side, notch, basis, side.ports
        self.spindle = Harmonics(side.turned.spindle.c[notch])
        self.angle = self._moments()
        angles = np.nan_to_num(np.array(list(self.angle.values())))
        self.rate = dict(zip(self.angle, self.spindle.rate()(angles), strict=True))
        self.place = dict(zip(self.angle, self._place_slopes(angles).T, strict=True))

    def _moments(self) -> dict[Any, float]:
        """Forward crank angle of each moment, radians."""
        back = float(self.side.gear.crank.back)
        found: dict[Any, float] = {"front": 0.0, "back": back}
        for way, ends in self.side.events.items():
            for end, own in ends.items():
                for event, angle in own.angle.items():
                    after = np.radians(angle[self.notch])
                    found[way, end, event] = found[end] + (after if way == FORWARD else -after)
        pin = Harmonics(np.array([-self.spindle.c, self.spindle.c]))
        return found | dict(zip(("rearmost", "foremost"), greatest(pin)[0].tolist(), strict=True))

    def _place_slopes(self, angles: NDArray[Any]) -> Slopes:
        """Derivatives of the spindle pin's place at fixed crank angles, shape (D, N)."""
        side, basis = self.side, self.basis
        name, setting = side.notches[self.notch], side.settings[self.notch]
        return place_slopes(side.gear, name, setting, angles, basis.keys, basis.gear)

    @cached_property
    def _dead(self) -> dict[str, Slopes]:
        """Slopes of the dead centres' forward crank angles."""
        return {"front": np.zeros(self.basis.count), "back": self.basis.slopes(self.basis.gear.crank.back)}

    def opening(self, moment: Any, flow: str, end: str, central: Slopes) -> Any:
        """Slopes of an edge's signed opening at a moment's crank angle."""
        sign = self.ports.edge(flow, end).sign
        return sign * (self.place[moment] - central) - self.basis.slopes(self.basis.ports.edge(flow, end).lap)

    def lead(self, end: str, central: Slopes) -> Any:
        """Slopes of the lead: the valve's, and those of the dead centre that it is taken at."""
        sign = self.ports.edge("steam", end).sign
        return self.opening(end, "steam", end, central) + sign * self.rate[end] * self._dead[end]

    def percent(self, way: str, end: str, event: str, central: Slopes) -> tuple[Slopes, float]:
        """Slopes of an event's percent of stroke, and its derivative to the central place."""
        moment, flow = (way, end, event), "steam" if event in EVENTS[:2] else "exhaust"
        angle, rate, sign = self.angle[moment], self.rate[moment], self.ports.edge(flow, end).sign
        if np.isnan(angle):  # the event does not happen
            return np.full(self.basis.count, np.nan), np.nan
        away = 100.0 if end == "front" else -100.0
        turn = -self.opening(moment, flow, end, central) / (sign * rate)
        speed = float(np.imag(self.side.gear.crank.fraction(angle + 1j * STEP)) / STEP)
        gone = self.basis.slopes(self.basis.gear.crank.fraction(angle))
        return away * (speed * turn + gone), away * speed / rate

    def greatest(self, end: str, central: Slopes) -> Any:
        """Slopes of the greatest steam opening in use."""
        if self.side.events[FORWARD][end].over_travel[self.notch] > 0:
            return self.basis.slopes(self.basis.ports.port_width)
        return self.uncut(end, central)

    def uncut(self, end: str, central: Slopes) -> Any:
        """Slopes of the greatest steam opening before it is cut off at the port width."""
        foremost = self.ports.edge("steam", end).sign > 0
        return self.opening("foremost" if foremost else "rearmost", "steam", end, central)

    def figures(self, ways: Iterable[str], central: Slopes) -> list[Slopes]:
        """Slopes in the order of :func:`figures_of`."""
        return [*self._end_figures(ways, central), self.place["foremost"] - self.place["rearmost"]]

    def _end_figures(self, ways: Iterable[str], central: Slopes) -> Iterator[Slopes]:
        for way in ways:
            for end in ENDS:
                yield self.lead(end, central)
                for event in EVENTS:
                    yield self.percent(way, end, event, central)[0]
                yield self.greatest(end, central)


def _central_slopes(side: SideEvents, basis: _Basis) -> Slopes:
    """Slopes of the central place: as given, or as the setting rule makes it follow the dimensions."""
    valve, own = side.gear.valve, basis.unit(CENTRAL)
    if valve.central_at is not None:
        return own
    at = _NotchSlopes(side, side.notches.index(valve.set_in["notch"]), basis)
    still = np.zeros(basis.count)
    if valve.set_by == "equal cutoff":
        way = BACKWARD if valve.set_in.get("direction") == BACKWARD else FORWARD
        (front, front_c), (back, back_c) = (at.percent(way, end, "cutoff", still) for end in ENDS)
        return np.asarray(own - (front - back) / (front_c - back_c))
    of = at.lead if valve.set_by == "equal lead" else at.uncut
    # lead_front - lead_back = 0 with the valve moved by c: the one changes by -s c, the other by +s c
    sign = side.ports.edge("steam", "front").sign
    return np.asarray(own + (of("front", still) - of("back", still)) / (2 * sign))
