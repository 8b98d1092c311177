"""Clearances among the tolerances: what play makes of the events of a gear turned slowly.

A clearance is made anywhere from nothing to its tolerance. The valve's drag takes the play up, so that the valve
follows the gear as through backlash (:func:`linkmotion.wear.running.play`): it lags by half of its lost motion,
and turns back late. A lead falls by about half the lost motion there, a port opens and closes later, the travel falls
by half the lost motion at each end; so a clearance moves the mean of an event as well as spreading it. A rule by which
the valve is set is followed with the play taken to neither side.

How far the valve moves per millimetre of clearance is taken from the gear with its figures as they stand: what the
other tolerances change of it is of the second order.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from linkmotion.events import EVENTS, FLOWS, FORWARD
from linkmotion.gears import Gear
from linkmotion.gears.reverser import stacked
from linkmotion.gears.sensitivity import Key
from linkmotion.linkage import Harmonics
from linkmotion.piston import Piston
from linkmotion.sampled_events import Array, SampledEvents, sampled_events
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.figure import END_FIGURES, MM, PERCENT, TRAVEL, Figure
from linkmotion.valve import ENDS, Ports
from linkmotion.wear.condition import Condition
from linkmotion.wear.dragged import Dragged, Faces
from linkmotion.wear.effects import pins_of
from linkmotion.wear.lost_motion import DIE, lost_motion

CLEARANCE, LOST = "clearance", "lost motion"
GREATEST = "greatest lost motion"
"""Of a notch, wherever the wheel stands then; no reading."""
_UNIT = {kind: PERCENT if kind in EVENTS else MM for kind in END_FIGURES}
POSITIONS = 720  # only the change that play makes is read off them, so that their coarseness falls out


@dataclass(frozen=True, eq=False)
class Play:
    """What play adds to the figures of a side.

    Attributes
    ----------
    keys : tuple of (table, key)
        The C clearances among the dimensions that may depart.
    free : dict of float arrays, shape (C, POSITIONS)
        By notch: lost motion round the wheel per mm of each.
    lost : dict of float arrays
        By notch: lost motion of the side as it stands, mm, evenly round the wheel from front dead centre. It is taken
        not to change with the dimensions (their part is small).
    worn : WornThere or None
        Play and wear that are there already, from which ``keys`` depart; None where they depart from nothing.
    """

    keys: tuple[Key, ...]
    free: Mapping[str, Array]
    lost: Mapping[str, Array]
    worn: WornThere | None = None

    @classmethod
    def of(cls, side: SideEvents, figures: Sequence[Figure], keys: Sequence[Key]) -> Play:
        """Of a side, for some figures.

        Parameters
        ----------
        side : SideEvents
            As assessed.
        figures : sequence of Figure
            Where clearances are asked for: of ``END_FIGURES`` in a direction of running, events in percent, or travels.
        keys : sequence of (table, key)
            Dimensions; clearances are those of the table "clearance".

        Raises
        ------
        ValueError
            A figure of which is not known what a clearance does to it.
        """
        clearances = tuple(key for key in keys if key[0] == CLEARANCE)
        notches = dict.fromkeys(figure.notch for figure in figures)
        for figure in figures if clearances else ():
            if figure.kind != TRAVEL and not (
                figure.kind in END_FIGURES and figure.direction and figure.unit == _UNIT[figure.kind]
            ):
                raise ValueError(f"{figure}: what a clearance does to it is not known; name an event and a direction")
        free = freedom(side, notches, [key[1] for key in clearances]) if clearances else {}
        return cls(clearances, free, {notch: side.lost[side.notches.index(notch)] for notch in notches})

    def lost_at(self, figure: Figure) -> float:
        """Lost motion at a figure's crank angle, mm.

        Parameters
        ----------
        figure : Figure
            Of one of the notches this was made for; on front dead centre where it gives no crank angle.
        """
        if figure.kind == GREATEST:
            return float(self.lost[figure.notch].max())
        return float(at_angle(self.lost[figure.notch], figure.forward * (figure.at or 0.0)))

    def changes(
        self, figures: Sequence[Figure], valve: Callable[[str], Harmonics], ports: Ports, piston: Piston, by: Array
    ) -> Array:
        """What clearances change of F figures on S gears, each in its own unit, shape (S, F).

        Parameters
        ----------
        figures : sequence of F figures
            Of the notches this was made for.
        valve : callable
            Notch to the valve's displacement there without play, mm: Harmonics (S, K) in the forward crank angle.
        ports, piston
            Numbers, or one of each figure for every gear.
        by : array, shape (S, C)
            The clearances, mm.
        """
        found = np.empty((len(by), len(figures)))
        for notch, free in self.free.items():
            own = [i for i, figure in enumerate(figures) if figure.notch == notch]
            if not own:
                continue
            loose, ahead = (by @ free, None) if self.worn is None else self.worn.there(notch, by, free)
            ways = list(dict.fromkeys(figures[i].direction for i in own if figures[i].direction)) or [FORWARD]
            kinds = [kind for kind in END_FIGURES if any(figures[i].kind == kind for i in own)]
            names = [*((way, end, kind) for way in ways for end in ENDS for kind in kinds), ("", "", TRAVEL)]
            found_here = _changes_by_play(valve(notch), ports, piston, ways, kinds, loose, ahead)
            changed = dict(zip(names, found_here, strict=True))
            for i in own:
                if figures[i].kind == GREATEST:
                    found[:, i] = loose.max(axis=-1) - self.lost_at(figures[i])
                else:
                    found[:, i] = changed[figures[i].direction, figures[i].end, figures[i].kind]
        return found


@dataclass(frozen=True, eq=False)
class WornThere:
    """Play and wear of a side as they are.

    Attributes
    ----------
    least : float array, shape (C,)
        By how much each of the keys of play can depart at least, mm: no clearance is less than nothing.
    free, ahead : dict of float arrays, shape (POSITIONS,)
        By notch: lost motion, mm, and how far worn faces carry the valve ahead, in forward running.
    carried : dict of float arrays, shape (C, POSITIONS)
        By notch: how far each key carries the valve ahead, mm per mm.
    """

    least: Array
    free: Mapping[str, Array]
    ahead: Mapping[str, Array]
    carried: Mapping[str, Array]

    def there(self, notch: str, by: Array, free: Array) -> tuple[Array, Array]:
        """Lost motion of S gears, and how far their wear carries the valve ahead, mm, shape (S, POSITIONS) each.

        Parameters
        ----------
        notch : str
            Which.
        by, free : arrays, shape (S, C) and (C, POSITIONS)
            Departures of the keys, and the lost motion that each gives, mm per mm.
        """
        by = np.maximum(by, self.least)
        return np.maximum(self.free[notch] + by @ free, 0.0), self.ahead[notch] + by @ self.carried[notch]


def clearable(gear: Gear) -> tuple[str, ...]:
    """Joints of a gear that can have clearance: its pins, and the die in its slot.

    Parameters
    ----------
    gear : Gear
        With or without a link.
    """
    return (*pins_of(gear), *([DIE] if gear.slot is not None else []))


def freedom(side: SideEvents, notches: Iterable[str], joints: Iterable[str]) -> dict[str, Array]:
    """Lost motion of the valve round the wheel, mm per mm of clearance.

    Parameters
    ----------
    side : SideEvents
        Whose gear it is, as it stands.
    notches, joints : iterables of str
        Notches of the side; C joints, of those that :func:`clearable` gives.

    Returns
    -------
    dict of arrays, shape (C, POSITIONS)
        By notch, evenly from front dead centre in forward running.
    """
    notches, joints = tuple(notches), tuple(joints)
    if not notches:
        return {}
    pins = {joint: 1.0 for joint in joints if joint != DIE}
    one = Condition(clearance=pins, die_clearance=float(DIE in joints))
    settings = stacked([side.settings[side.notches.index(notch)] for notch in notches])
    own, shape = lost_motion(side.gear, settings, one, POSITIONS).joints, (len(notches), POSITIONS)
    found = np.reshape([np.broadcast_to(own[joint], shape) for joint in joints], (len(joints), *shape))
    return dict(zip(notches, np.moveaxis(found, 0, 1), strict=True))


def at_angle(round_wheel: Array, degrees: float) -> Array:
    """Figures given evenly round the wheel, at a forward crank angle, by straight lines between, shape (...,).

    Parameters
    ----------
    round_wheel : array, shape (..., N)
        From front dead centre in forward running.
    degrees : float
        The angle; any turn.
    """
    count = round_wheel.shape[-1]
    at = degrees % 360.0 / 360.0 * count
    before = int(at)
    one, two = round_wheel[..., before % count], round_wheel[..., (before + 1) % count]
    return np.asarray(one + (two - one) * (at - before))


def _changes_by_play(
    valve: Harmonics,
    ports: Ports,
    piston: Piston,
    ways: Iterable[str],
    kinds: Sequence[str],
    free: Array,
    ahead: Array | None,
) -> list[Array]:
    """What play changes of each figure of a notch, by way, end and kind, and of its travel, shape (S,) each.

    Parameters
    ----------
    valve : Harmonics
        Displacement of the valve, mm, shape (S, K), in the forward crank angle.
    ports, piston
        Numbers, or one of each figure for every case.
    ways : iterable of str
        Directions of running, one at least; a travel is the same in each.
    kinds : sequence of str
        Which of ``END_FIGURES`` are looked at.
    free : array, shape (S, POSITIONS)
        Lost motion round the wheel in the forward crank angle, mm.
    ahead : array, shape (S, POSITIONS), or None
        How far wear carries the valve ahead, mm.
    """
    x, half = np.broadcast_to(valve.on_grid(POSITIONS), free.shape), free / 2
    now = x if ahead is None else x + ahead
    still, dragged = Faces(x, x), Faces(now - half, now + half)
    flows = [flow for flow, events in FLOWS.items() if set(events) & set(kinds)]
    columns: list[Array] = []
    travel = np.zeros(len(free))
    for way in ways:
        motions = (Dragged(faces, way == FORWARD) for faces in (still, dragged))
        one, two = (sampled_events(motion, ports, piston, way, flows) for motion in motions)
        columns += [after - alone for alone, after in zip(_figures(one, kinds), _figures(two, kinds), strict=True)]
        travel = two.travel - one.travel
    return [*columns, travel]


def _figures(found: SampledEvents, kinds: Sequence[str]) -> list[Array]:
    by_name = {"lead": found.lead, "opening": found.opening}
    return [found.percent[end, kind] if kind in EVENTS else by_name[kind][end] for end in ENDS for kind in kinds]
