"""A gear's figures as a function of its dimensions: predicted exactly for any number of gears, and differentiated."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears import Gear, ReverserPosition
from linkmotion.gears.reverser import stacked
from linkmotion.gears.sensitivity import Key
from linkmotion.linkage import Harmonics
from linkmotion.linkage.many import MOST_POSITIONS, Orders, longer
from linkmotion.linkage.solve import NODES
from linkmotion.revolution import revolve
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.dimensions import Varied, by_end, dimensions_of
from linkmotion.studies.figures.figure import Figure, Reading
from linkmotion.studies.figures.play import CLEARANCE, Play, clearable
from linkmotion.studies.figures.predict import Moved, Turned, reasons
from linkmotion.studies.figures.slopes import AtFigures, slopes_of
from linkmotion.studies.figures.starts import Starts
from linkmotion.valve_setting import staying

Array = NDArray[np.float64]
_WORTH = 2  # gears for each turned to know where Newton's method starts, from which that is worth while


@dataclass(frozen=True, eq=False)
class GearModel:
    """F figures as a function of the departures of D dimensions from those given; goes to other processes as it is.

    Attributes
    ----------
    figures : tuple of Figure
        What is looked at; readings are figures too.
    moved : Moved
        The gear in its notches, which of its dimensions may depart, and what else moves the valve.
    play : Play
        What play adds.

    Examples
    --------
    What a longer eccentric rod does to the front lead, by the exact gear and by its slope:

    >>> from linkmotion.files.engine_file import read_engine
    >>> from linkmotion.studies.assess import assess
    >>> side = assess(read_engine("examples/dock_shunter.toml")).sides[0]
    >>> lead = Figure(kind="lead", notch="full forward", end="front")
    >>> model = GearModel.of(side, [lead], [("eccentric_rod", "length")])
    >>> now, longer = model.predict([[0.0], [0.1]])[:, 0]
    >>> bool(abs(longer - now - 0.1 * model.slopes[0, 0]) < 1e-4)
    True
    """

    figures: tuple[Figure, ...]
    moved: Moved = field(repr=False)
    play: Play = field(repr=False)

    @classmethod
    def of(
        cls, side: SideEvents, figures: Iterable[Figure], keys: Iterable[Key] | None = None, afresh: bool = False
    ) -> GearModel:
        """From a side as assessed.

        Parameters
        ----------
        side : SideEvents
            With the notches of the figures among its own.
        figures : iterable of Figure
            What is looked at; readings must be of this side.
        keys : iterable of (table, key), optional
            Dimensions that may depart: mm and degrees; unless given all of the gear, the reverser's arm on its shaft
            and the valve on its spindle. ("clearance", joint) is a clearance, mm from nothing; a lap that the file
            gives for both ends may depart at each, as ("valve", "steam_lap_front").
        afresh : bool
            Whether a valve that is set by a rule is set afresh by it on every gear. Otherwise it stays where the side
            has it, however it was once set.

        Raises
        ------
        ValueError
            A reading of another side, a notch that the side does not have, an unknown dimension, a figure of which is
            not known what a clearance does to it; or a valve to be set afresh on a side that is not sound.
        """
        figures = tuple(figures)
        for figure in figures:
            if figure.notch not in side.notches or (isinstance(figure, Reading) and figure.side != side.side):
                raise ValueError(f"{figure}: no reading of this side ({side.side}) and its notches")
        if afresh and not side.condition.sound:
            raise ValueError("a valve is set afresh on a sound gear; assess the side without its wear")
        ruled = afresh and side.gear.valve.central_at is None
        gear = side.gear if ruled else staying(side.gear, side.central_at)
        keys = None if keys is None else tuple(keys)
        gear = gear if keys is None else by_end(gear, keys)
        known = dimensions_of(gear, side.settings[0])
        own = known if keys is None else keys
        if unknown := set(own) - {*known, *((CLEARANCE, joint) for joint in clearable(gear))}:
            raise ValueError(f"no dimensions of this gear: {sorted(unknown)}")
        set_in = gear.valve.set_in["notch"] if ruled else ""
        at = dict(zip(side.notches, side.settings, strict=True))
        settings = {
            name: at[name] for name in dict.fromkeys([*(f.notch for f in figures), *([set_in] if ruled else [])])
        }
        orders = Orders(gear.declare(stacked(list(settings.values()))))
        moved = Moved(Varied(gear, own, settings), set_in, _worn(side, settings, gear), orders)
        return cls(figures, moved, Play.of(side, figures, own))

    @property
    def keys(self) -> tuple[Key, ...]:
        """The D dimensions that may depart, in the order of every array of departures."""
        return self.moved.varied.keys

    @property
    def gear(self) -> Gear:
        """The gear with every dimension at its figure."""
        return self.moved.varied.gear

    def predict(self, departures: Any) -> Array:
        """The figures of S gears.

        Parameters
        ----------
        departures : float array, shape (S, D) or (D,)
            From the figures of ``keys``, mm and degrees; clearances from nothing.

        Returns
        -------
        float array, shape (S, F)
            In each figure's own unit; NaN where the gear cannot be assembled or the event does not happen.
        """
        return self.tried(departures)[0]

    def tried(self, departures: Any) -> tuple[Array, Counter[str]]:
        """The figures of S gears, and how many cannot be had.

        Parameters
        ----------
        departures : float array, shape (S, D) or (D,)
            As for :meth:`predict`.

        Returns
        -------
        figures : float array, shape (S, F)
            As :meth:`predict` gives them.
        causes : Counter of str
            How many gears cannot be assembled or set, by the reason.
        """
        rows = np.atleast_2d(np.asarray(departures, float))
        most = max(MOST_POSITIONS // (NODES * len(self.moved.notches)), 1) if self.figures else len(rows)
        found, causes = np.empty((len(rows), len(self.figures))), Counter[str]()
        starts = self.starts if len(rows) > _WORTH * (len(self.keys) + 1) else None
        for start in range(0, len(rows) if self.figures else 0, most):
            turned = Turned(self.moved, rows[start : start + most], self._with_die, self._pins, starts)
            near = self.angles if np.any(turned.departures) else np.full(len(self.figures), np.nan)
            found[start : start + most] = turned.values(self.figures, near, self.play)
            causes += reasons(turned.told)
        return found, causes

    @property
    def _with_die(self) -> bool:
        return any(figure.kind == "die height" for figure in self.figures)

    @property
    def _pins(self) -> tuple[str, ...]:
        """Pins of which distances or places are looked at."""
        spots = [figure.spot for figure in self.figures if figure.spot is not None]
        return tuple(dict.fromkeys(pin for spot in spots for pin in (spot.pin, spot.since)))

    @cached_property
    def at_figures(self) -> Array:
        """The figures with every dimension as given, shape (F,)."""
        return np.asarray(self.predict(np.zeros(len(self.keys)))[0])

    @cached_property
    def angles(self) -> Array:
        """Forward crank angle from front dead centre at which each figure is taken, radians, shape (F,)."""
        return self.at.angles(self.figures)

    @cached_property
    def at(self) -> AtFigures:
        """The gear with every dimension as given, turned."""
        return AtFigures(self.moved)

    @cached_property
    def starts(self) -> Starts | None:
        """Where Newton's method starts on gears much like the one given."""
        return Starts.of(self.moved.varied, self.moved.orders)

    @cached_property
    def slopes(self) -> Array:
        """Derivatives with every dimension as given, shape (F, D): the figure's unit per mm or degree.

        Exact, but for die heights (central differences, good to 1e-7); of lost motion, and to clearances, nothing.
        NaN where an event does not happen.

        Notes
        -----
        At a port that only just opens or closes (a tangent event) the derivatives grow without bound, and where the
        admission stands at its dead centre its percent of stroke has a kink; there a linear spread says little and
        the gears really turned are to be believed. Where the greatest opening is the port's width, that is what it
        depends on.
        """
        return slopes_of(self.at, self.figures)

    def __getstate__(self) -> dict[str, Any]:
        """For another process: without the gear as turned, which it turns again."""
        return {name: own for name, own in vars(self).items() if name != "at"}

    def about(self, departures: Any) -> GearModel:
        """The same figures of a gear whose dimensions have moved; departures count from there.

        Parameters
        ----------
        departures : float array, shape (D,)
            mm and degrees.
        """
        return replace(self, moved=replace(self.moved, varied=self.moved.varied.about(departures)))

    def only(self, indices: Iterable[int]) -> GearModel:
        """The model of some of the figures, turned in their notches alone; of all of them this one.

        Parameters
        ----------
        indices : iterable of int
            Their numbers, of F.
        """
        figures, moved = tuple(self.figures[i] for i in indices), self.moved
        if figures == self.figures:
            return self
        wanted = dict.fromkeys([*(figure.notch for figure in figures), *([moved.set_in] if moved.set_in else [])])
        settings = {notch: moved.varied.settings[notch] for notch in wanted}
        return replace(self, figures=figures, moved=replace(moved, varied=replace(moved.varied, settings=settings)))


def _worn(side: SideEvents, settings: dict[str, ReverserPosition], gear: Gear) -> dict[str, Harmonics]:
    """What slot wear or an offset die adds to the spindle's motion, by notch."""
    if not (side.condition.slot or side.condition.die_offset):
        return {}
    found = {}
    for notch, setting in settings.items():
        as_worn = side.motion.spindle.c[side.notches.index(notch)]
        sound = revolve(gear, setting).spindle.c[0]
        count = max(as_worn.size, sound.size)
        found[notch] = Harmonics(longer(as_worn, count) - longer(sound, count))
    return found
