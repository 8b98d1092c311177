"""Many gears at once, each with dimensions of its own: their events, and which cannot be assembled.

A block of a thousand variants is turned in one call. What some variants spoil for their block (parts that
do not meet, motion that wants more crank positions) is found variant by variant, and the block is cut up so.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import events_by_way
from linkmotion.gears import Gear, Setting
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.reverser import Stop, figure, stacked
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.linkage import Harmonics, Linkage, Wheel
from linkmotion.linkage.order import Order
from linkmotion.linkage.solve import NODES, fresh_orders
from linkmotion.linkage.turning_points import extremes
from linkmotion.revolution import MOST_NODES
from linkmotion.studies.assembling import DEAD_POINT, turned_as_can_be
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.event_figures import CENTRAL, END_FIGURES, REVERSER, values_of
from linkmotion.studies.hold.play import CLEARANCE, changes_by_play, freedom
from linkmotion.studies.valve_setting import RuleError, moved, place_by_rule
from linkmotion.valve import ENDS, Ports

Array = NDArray[Any]
Found = tuple[Array, Counter[str]]
ROUGH = 1e-8  # mm: a variant's motion is taken at more positions while its series' tail is larger
MOST_POSITIONS = 200_000  # solved in one call, which keeps the memory within some hundred megabytes
_STEP = 0.01  # mm or degrees: differences of the cut coordinates over it tell where Newton's method starts
NO_PLACE = "the valve cannot be set by its rule"


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
    free : dict of float arrays, shape (C, POSITIONS)
        By notch: lost motion per mm of each of the clearances among the keys.
    orders : list of Order
        Orders of solution, best first: every process must solve in the same one to get the same digits.
    starts : dict of tuples of (array, shape (N,), array, shape (D, N))
        By notch, for each loop of the best order: its cut coordinate as drawn, and its slopes to the dimensions.
    """

    gear: Gear
    names: tuple[str, ...]
    settings: tuple[Setting, ...]
    ways: tuple[tuple[str, ...], ...]
    keys: tuple[Key, ...]
    set_in: tuple[str, Setting] | None
    free: dict[str, Array] = field(repr=False)
    orders: list[Order] = field(repr=False)
    starts: dict[str, tuple[tuple[Array, Array], ...]] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, side: SideEvents, keys: Iterable[Key], notches: Iterable[str] | None = None) -> Variants:
        """From a side as assessed, with the notch in which its valve is set among its notches."""
        at = dict(zip(side.notches, side.settings, strict=True))
        names = side.notches if notches is None else tuple(notches)
        by_rule = side.gear.valve.central_at is None
        set_in = (side.gear.valve.set_in["notch"], at[side.gear.valve.set_in["notch"]]) if by_rule else None
        wanted = {name: at[name] for name in names} | dict([set_in] if set_in else [])
        orders = list(fresh_orders(side.gear.declare(stacked(list(wanted.values())))))
        ways = tuple(side.driven(side.notches.index(name)) for name in names)
        settings, keys = tuple(at[name] for name in names), tuple(keys)
        joints = [key[1] for key in keys if key[0] == CLEARANCE]
        free = freedom(side, names, joints) if joints else {}
        own = cls(side.gear, names, settings, ways, keys, set_in, free, orders)
        return replace(own, starts=own._starts())

    def _starts(self) -> dict[str, tuple[tuple[Array, Array], ...]]:
        """Cut coordinates and their slopes, from the gear as drawn and with each dimension altered by a little."""
        count = len(self.keys)
        few = _Block(self, np.vstack([np.zeros(count), _STEP * np.eye(count)]), NODES, attempt=1)
        if np.any(few.told != ""):
            return {}
        whole = {name: [np.broadcast_to(q, (count + 1, NODES)) for q in cuts] for name, cuts in few.cuts.items()}
        return {  # slopes in half the digits: light to send, and good enough to start from
            name: tuple((q[0], ((q[1:] - q[0]) / _STEP).astype(np.float32)) for q in cuts)
            for name, cuts in whole.items()
        }

    def figures(self, departures: Array) -> Found:
        """Figures of each variant, and why some cannot be assembled.

        Parameters
        ----------
        departures : float array, shape (S, D)
            From the figures of ``keys``, mm and degrees; clearances from nothing.

        Returns
        -------
        values : float array, shape (S, F)
            In the order of ``figures_of``; NaN all along for a variant that cannot be assembled.
        causes : Counter
            How many failed, by the parts that do not meet.
        """
        return self._figures(departures, NODES)

    def turned_in(self) -> dict[str, Setting]:
        """Every notch in which the gear must be turned."""
        wanted = dict(zip(self.names, self.settings, strict=True))
        return wanted | dict([self.set_in] if self.set_in else [])

    def _figures(self, departures: Array, nodes: int, attempt: int = 0) -> Found:
        """Figures by so many crank positions.

        Attempts: Newton's method from the sketch; the same and round the wheel; then in other orders of solution.
        """
        count = len(departures)
        if count == 0 or attempt > len(self.orders):
            return self._nothing(count), Counter()
        if count > 1 and count * nodes > MOST_POSITIONS:
            return self._halved(departures, nodes, attempt)
        block = _Block(self, departures, nodes, attempt)
        lost = block.told != ""
        if np.any(lost):
            values = self._nothing(count)
            values[~lost], causes = self._figures(departures[~lost], nodes, attempt)
            values[lost], why = self._figures(departures[lost], nodes, attempt + 1)
            if attempt > 0:  # the best order names the parts
                why = Counter(block.told[lost & np.all(np.isnan(values), axis=-1)].tolist())
            return values, causes + why
        if np.any(block.rough):
            return self._parted(departures, block.rough, nodes, 2 * nodes, attempt)
        try:
            return block.values(), Counter()
        except RuleError as error:
            values = self._nothing(count)
            values[~error.failed], causes = self._figures(departures[~error.failed], nodes, attempt)
            return values, causes + Counter({NO_PLACE: int(np.sum(error.failed))})

    def _parted(self, departures: Array, apart: Array, nodes: int, other_nodes: int, attempt: int) -> Found:
        """Some variants by themselves, with a number of positions of their own."""
        values = self._nothing(len(departures))
        values[~apart], causes = self._figures(departures[~apart], nodes, attempt)
        values[apart], why = self._figures(departures[apart], other_nodes, attempt)
        return values, causes + why

    def _halved(self, departures: Array, nodes: int, attempt: int) -> Found:
        first = np.arange(len(departures)) < len(departures) // 2
        return self._parted(departures, first, nodes, nodes, attempt)

    def _nothing(self, count: int) -> Array:
        return np.full((count, sum(len(ways) * len(ENDS) * len(END_FIGURES) + 1 for ways in self.ways)), np.nan)


class _Block:
    """Variants turned together at so many crank positions."""

    def __init__(self, own: Variants, departures: Array, nodes: int, attempt: int) -> None:
        self.own, self.count, self.departures = own, len(departures), departures
        self.cuts: dict[str, list[Array]] = {}
        self.by = dict(zip(own.keys, departures.T, strict=True))
        given = numbers(own.gear)
        varied = {key: given[key] + by for key, by in self.by.items() if key in given}
        self.flat = with_numbers(own.gear, varied)  # for what goes by variants alone
        self.tall = with_numbers(own.gear, {key: value[:, None] for key, value in varied.items()})
        self.ports = Ports.of(self.flat.valve)
        self.rough, self.told = np.zeros(self.count, bool), np.full(self.count, "", object)
        self.spindles = {
            name: self._spindle(name, setting, nodes, attempt) for name, setting in own.turned_in().items()
        }
        if 2 * nodes > MOST_NODES:
            self.told[self.rough] = DEAD_POINT

    def values(self) -> Array:
        """Figures, shape (S, F); of use when all can be assembled and none is rough."""
        central = self._central()
        columns: list[Array] = []
        for name, ways in zip(self.own.names, self.own.ways, strict=True):
            least, most = extremes(self.spindles[name])
            valve = moved(self.spindles[name], central)
            reached = least - central, most - central
            events = events_by_way(valve, self.ports, self.flat.crank, ways, reached=reached)
            own = values_of(events, ways, most - least)
            if self.own.free:
                free = self._clearances() @ self.own.free[name]
                changes = changes_by_play(valve, self.ports, self.flat.crank, ways, free)
                own = [value + change for value, change in zip(own, changes, strict=True)]
            columns += own
        return np.stack(columns, axis=-1)

    def _clearances(self) -> Array:
        """Clearances of each variant, shape (S, C)."""
        return np.stack([value for key, value in self.by.items() if key[0] == CLEARANCE], axis=-1)

    def _spindle(self, name: str, setting: Setting, nodes: int, attempt: int) -> Harmonics:
        """Spindle pin's place in a notch, shape (S, K); marks what cannot be assembled or wants more positions."""
        linkage, wheel = self._declared(name, setting), Wheel.revolution(nodes)
        order = self.own.orders[max(attempt - 1, 0)]
        near = None
        if attempt == 0 and nodes == NODES and name in self.own.starts:
            near = [q + self.departures @ slope for q, slope in self.own.starts[name]]
        solution, told = turned_as_can_be(linkage, order, wheel, self.count, attempt > 0, near)
        self.cuts[name] = solution.cuts
        self.told = np.where(self.told == "", told, self.told)
        with np.errstate(invalid="ignore"):
            c = Harmonics.through(solution.along(VALVE_GUIDE)).c
            self.rough |= np.max(np.abs(c[..., -3:]), axis=-1) > ROUGH
        return Harmonics(np.broadcast_to(c, (self.count, c.shape[-1])))

    def _declared(self, name: str, setting: Setting) -> Linkage:
        if isinstance(setting, Stop):
            setting = self.tall.notches[name]  # the stop is a dimension's
        reverser = REVERSER.get(type(setting))
        if reverser in self.by:
            setting = type(setting)(np.ravel(figure(setting))[0] + self.by[reverser][:, None])
        return self.tall.declare(setting)

    def _central(self) -> Any:
        """Central place in each variant: as given, or by the rule, and the valve's departure from it."""
        valve = self.flat.valve
        if self.own.set_in is None:
            return valve.central_at
        place = place_by_rule(valve, self.spindles[self.own.set_in[0]], self.ports, self.flat.crank)
        return place + self.by.get(CENTRAL, 0.0)
