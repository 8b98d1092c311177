"""Many gears at once, each with dimensions of its own: their events, and which cannot be assembled.

A block of a few thousand variants is turned in one call. What one variant spoils for its block
(parts that do not meet, motion that wants more crank positions) is found by halving the block.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import BACKWARD, FORWARD, both_ends, extremes
from linkmotion.gears import Gear, Setting
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.reverser import Stop, figure
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.linkage import Harmonics, LinkageError, UnreachableError, Wheel, solve
from linkmotion.linkage.order import Order
from linkmotion.linkage.solve import NODES, keep_order, order_of
from linkmotion.revolution import MOST_NODES
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.event_figures import CENTRAL, END_FIGURES, REVERSER, values_of
from linkmotion.valve import ENDS, Ports

Array = NDArray[Any]
ROUGH = 1e-8  # mm: a variant's motion is taken at more positions while its series' tail is larger
MOST_POSITIONS = 200_000  # solved in one call, which keeps the memory within some hundred megabytes
DEAD_POINT = "a part is at a dead point"


class _Rule(Exception):
    """The valve's setting rule finds no place in some variant."""


@dataclass(frozen=True)
class Variants:
    """The events of a side as a function of its dimensions' departures; goes to other processes as it is.

    Attributes
    ----------
    gear : Gear
        The figures that the variants depart from.
    names, settings, ways
        Notches wanted, the reverser in each, directions looked at in each.
    keys : tuple of (table, key)
        The D dimensions that vary.
    set_in : (str, Setting) or None
        Notch in which the valve is set, where a rule finds its place.
    central_at : float
        Place of the valve with every dimension at its figure, mm.
    orders : dict
        Orders of solution, by notch: another process must solve in the same order to get the same digits.
    """

    gear: Gear
    names: tuple[str, ...]
    settings: tuple[Setting, ...]
    ways: tuple[tuple[str, ...], ...]
    keys: tuple[Key, ...]
    set_in: tuple[str, Setting] | None
    central_at: float
    orders: dict[str, Order] = field(repr=False)

    @classmethod
    def of(cls, side: SideEvents, keys: Iterable[Key], notches: Iterable[str] | None = None) -> Variants:
        """From a side as assessed, with the notch in which its valve is set among its notches."""
        at = dict(zip(side.notches, side.settings, strict=True))
        names = side.notches if notches is None else tuple(notches)
        by_rule = side.gear.valve.central_at is None
        set_in = (side.gear.valve.set_in["notch"], at[side.gear.valve.set_in["notch"]]) if by_rule else None
        wanted = {name: at[name] for name in names} | dict([set_in] if set_in else [])
        orders = {name: order_of(side.gear.declare(setting)) for name, setting in wanted.items()}
        ways = tuple(side.driven(side.notches.index(name)) for name in names)
        settings = tuple(at[name] for name in names)
        return cls(side.gear, names, settings, ways, tuple(keys), set_in, side.central_at, orders)

    def figures(self, departures: Array) -> tuple[Array, Counter[str]]:
        """Figures of each variant, and why some cannot be assembled.

        Parameters
        ----------
        departures : float array, shape (S, D)
            From the figures of ``keys``, mm and degrees.

        Returns
        -------
        values : float array, shape (S, F)
            In the order of ``figures_of``; NaN all along for a variant that cannot be assembled.
        causes : Counter
            How many failed, by the parts that do not meet.
        """
        for name, setting in self.turned_in().items():  # every process takes the first one's order
            keep_order(self.gear.declare(setting), self.orders[name])
        return self._figures(departures, NODES)

    def turned_in(self) -> dict[str, Setting]:
        """Every notch in which the gear must be turned."""
        wanted = dict(zip(self.names, self.settings, strict=True))
        return wanted | dict([self.set_in] if self.set_in else [])

    def _figures(self, departures: Array, nodes: int) -> tuple[Array, Counter[str]]:
        count = len(departures)
        if count > 1 and count * nodes > MOST_POSITIONS:
            return self._halved(departures, nodes)
        try:
            block = _Block(self, departures, nodes)
            values = block.values()
        except (LinkageError, _Rule) as error:
            return self._halved(departures, nodes) if count > 1 else (self._nothing(1), Counter([_cause(error)]))
        rough, causes = block.rough, Counter[str]()
        if np.any(rough):
            if 2 * nodes > MOST_NODES:
                return self._nothing(count), Counter({DEAD_POINT: count})
            values[rough], causes = self._figures(departures[rough], 2 * nodes)
        return values, causes

    def _halved(self, departures: Array, nodes: int) -> tuple[Array, Counter[str]]:
        middle = len(departures) // 2
        (one, why), (two, why_too) = (self._figures(d, nodes) for d in (departures[:middle], departures[middle:]))
        return np.concatenate([one, two]), why + why_too

    def _nothing(self, count: int) -> Array:
        return np.full((count, sum(len(ways) * len(ENDS) * len(END_FIGURES) + 1 for ways in self.ways)), np.nan)


class _Block:
    """Variants turned together at so many crank positions."""

    def __init__(self, own: Variants, departures: Array, nodes: int) -> None:
        self.own, self.nodes, self.count = own, nodes, len(departures)
        self.by = dict(zip(own.keys, departures.T, strict=True))
        given = numbers(own.gear)
        varied = {key: given[key] + by for key, by in self.by.items() if key in given}
        self.flat = with_numbers(own.gear, varied)  # for what goes by variants alone
        self.tall = with_numbers(own.gear, {key: value[:, None] for key, value in varied.items()})
        self.rough = np.zeros(self.count, bool)
        self.ports = Ports.of(self.flat.valve)

    def values(self) -> Array:
        """Figures, shape (S, F)."""
        spindles = {name: self._spindle(name, setting) for name, setting in self.own.turned_in().items()}
        central = self._central(spindles)
        columns: list[Array] = []
        for name, ways in zip(self.own.names, self.own.ways, strict=True):
            least, most = extremes(spindles[name])
            valve = _moved(spindles[name], central)
            events = {way: both_ends(valve, self.ports, self.flat.crank, way) for way in ways}
            columns += values_of(events, ways, most - least)
        return np.stack(columns, axis=-1)

    def _spindle(self, name: str, setting: Setting) -> Harmonics:
        """Spindle pin's place in a notch, shape (S, K); marks the variants that want more positions."""
        if isinstance(setting, Stop):
            setting = self.tall.notches[name]  # the stop is a dimension's
        reverser = REVERSER.get(type(setting))
        if reverser in self.by:
            setting = type(setting)(np.ravel(figure(setting))[0] + self.by[reverser][:, None])
        solution = solve(self.tall.declare(setting), Wheel.revolution(self.nodes))
        c = Harmonics.through(solution.along(VALVE_GUIDE)).c
        self.rough |= np.max(np.abs(c[..., -3:]), axis=-1) > ROUGH
        return Harmonics(np.broadcast_to(c, (self.count, c.shape[-1])))

    def _central(self, spindles: dict[str, Harmonics]) -> Any:
        """Central place in each variant: as given, or by the rule, and the valve's departure from it."""
        if self.own.set_in is None:
            return self.flat.valve.central_at
        valve, spindle = self.own.gear.valve, spindles[self.own.set_in[0]]
        if valve.set_by == "equal opening":
            least, most = extremes(spindle)
            place = self._between(most + least)
        else:
            back = np.broadcast_to(self.flat.crank.back, (self.count,))
            place = self._between(spindle(np.zeros(self.count)) + spindle(back))
        if valve.set_by == "equal cutoff":
            way = BACKWARD if valve.set_in.get("direction") == BACKWARD else FORWARD
            place = self._equal_cutoff(spindle, way)
        return place + self.by.get(CENTRAL, 0.0)

    def _between(self, places: Array) -> Any:
        """Central place from the sum of two places of the pin at which the ends' openings are to be alike."""
        front, back = (self.ports.edge("steam", end) for end in ENDS)
        return (places - front.sign * (front.lap - back.lap)) / 2

    def _equal_cutoff(self, spindle: Harmonics, way: str) -> Any:
        """Newton from the place found with no departures, the slope by one small difference.

        Raises
        ------
        _Rule
            Some variant has no such place near.
        """

        def unequal(place: Array) -> Any:
            ends = both_ends(_moved(spindle, place), self.ports, self.flat.crank, way)
            return ends["front"].percent["cutoff"] - ends["back"].percent["cutoff"]

        place, small = np.full(self.count, self.own.central_at), 1e-3
        slope = (unequal(place + small) - unequal(place - small)) / (2 * small)
        for _ in range(20):
            left = unequal(place)
            if not np.all(np.isfinite(left)):
                break
            if np.max(np.abs(left)) < 1e-9:
                return place
            step = left / slope
            place = place - step
        raise _Rule(f"no place of the valve makes the cutoffs equal in {self.own.set_in!r}")


def _moved(spindle: Harmonics, central: Any) -> Harmonics:
    c = spindle.c.copy()
    c[..., 0] -= central
    return Harmonics(c)


def _cause(error: Exception) -> str:
    """Why a variant cannot be assembled, alike for all that fail in the same way."""
    if isinstance(error, UnreachableError):
        return f"{' and '.join(error.parts)}: too {'short to meet' if error.short > 0 else 'long to fit'}"
    return "the valve cannot be set by its rule" if isinstance(error, _Rule) else DEAD_POINT
