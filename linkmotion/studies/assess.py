"""Is it right to bolt up? The valve events of every side, notch and direction of an engine."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from linkmotion.engine import AS_IT_STANDS, DRAWING, IN_SERVICE, SET_AFRESH, Engine, SideState
from linkmotion.events import BACKWARD, DIRECTIONS, FORWARD, EndEvents, events_by_way
from linkmotion.gears import DieHeight, Gear, ReverserPosition
from linkmotion.gears.reverser import Stop, stacked
from linkmotion.linkage import LinkageError
from linkmotion.revolution import Revolution
from linkmotion.sampled_events import ends_of
from linkmotion.studies.notch_error import NotchError as NotchError
from linkmotion.valve import Ports
from linkmotion.valve_setting import RuleError, central_place
from linkmotion.wear.condition import SOUND, Condition
from linkmotion.wear.effects import central_when_warm, turned, warm, worn
from linkmotion.wear.lost_motion import lost_motion
from linkmotion.wear.running import POSITIONS, Load, dragged, free_round

_DRIVES = 10.0  # percent of stroke by which one direction must take more steam than the other


@dataclass(frozen=True, eq=False)
class SideEvents:
    """One side of an engine in one state, all notches asked for.

    Attributes
    ----------
    side, state : str
        Which.
    notches : tuple of str
        S names, in file order.
    settings : tuple of ReverserPosition
        The reverser's position in each.
    motion : Revolution
        The gear's own motion, S notches: its play not in it.
    central_at : float
        Place of the spindle pin with the valve central, mm along its guide.
    condition : Condition
        What the gauge found; without its heat, unless it is in service.
    standing : str
        "as it stands", "set afresh" or "in service".
    load : Load
        What takes up the play: a little drag, unless said otherwise.
    """

    side: str
    state: str
    notches: tuple[str, ...]
    settings: tuple[ReverserPosition, ...]
    motion: Revolution
    central_at: float
    condition: Condition = SOUND
    standing: str = AS_IT_STANDS
    load: Load = Load()  # noqa: RUF009 - frozen

    @property
    def gear(self) -> Gear:
        """The gear that was turned."""
        return self.motion.gear

    @cached_property
    def ports(self) -> Ports:
        """The valve's working edges."""
        return Ports.of(self.gear.valve)

    @cached_property
    def displacement(self) -> Any:
        """Where the gear alone has the valve, mm from central, as series in the forward crank angle, shape (S, K)."""
        return self.motion.displacement(self.central_at)

    @cached_property
    def without_play(self) -> dict[str, dict[str, EndEvents]]:
        """Events of the gear alone, by direction of running and end."""
        return events_by_way(self.displacement, self.ports, self.gear.crank, DIRECTIONS)

    @cached_property
    def events(self) -> dict[str, dict[str, EndEvents]]:
        """Events by direction of running and end, its play in motion."""
        if not self.has_play:
            return self.without_play
        return {way: ends_of(self.valve(way), self.ports, self.gear.crank, way) for way in DIRECTIONS}

    @cached_property
    def travel(self) -> dict[str, Any]:
        """Travel of the valve in each direction of running, mm, shape (S,) each, its play in motion."""
        if not self.has_play:
            return dict.fromkeys(DIRECTIONS, self.motion.travel)
        return {way: np.ptp(self.valve(way), axis=-1) for way in DIRECTIONS}

    def valve(self, direction: str) -> Any:
        """Valve from central in motion, mm, shape (S, POSITIONS): evenly round in the direction of running."""
        return self._moving[direction]

    def valve_at(self, notch: int, crank_angle: Any, direction: str) -> Any:
        """Valve from central in motion in a notch, mm.

        Parameters
        ----------
        notch, direction : int, str
            Its number; "forward" or "backward".
        crank_angle : float or array
            From front dead centre in the direction of running, radians.
        """
        angle = np.asarray(crank_angle, float)
        if not self.has_play:
            return self.displacement[notch](angle if direction == FORWARD else -angle)
        places = np.linspace(0.0, 2 * np.pi, POSITIONS, endpoint=False)
        return np.interp(angle, places, self.valve(direction)[notch], period=2 * np.pi)

    @cached_property
    def _moving(self) -> dict[str, Any]:
        free = free_round(self.gear, self.settings, self.condition)
        return {way: dragged(self.displacement, free, self.load, way) for way in DIRECTIONS}

    @cached_property
    def lost(self) -> Any:
        """Lost motion at the spindle round the wheel, mm, shape (S, 96): evenly from front dead centre."""
        if not self.condition.loose:
            return np.zeros((len(self.notches), 96))
        return lost_motion(self.gear, stacked(self.settings), self.condition).total + np.zeros((len(self.notches), 1))

    @property
    def has_play(self) -> bool:
        """Whether anything is loose."""
        return bool(np.any(self.lost))

    @cached_property
    def drives(self) -> tuple[str, ...]:
        """Direction in which each notch drives the engine: "forward", "backward", or "both" near mid gear.

        The direction in which steam is let in over more of the stroke (cutoff less admission, mean of
        the ends), when the two differ by more than a tenth of the stroke.
        """
        more = [self._steam(direction) for direction in DIRECTIONS]
        gain = more[0] - more[1]
        return tuple("both" if abs(g) < _DRIVES else FORWARD if g > 0 else BACKWARD for g in gain)

    def _steam(self, direction: str) -> Any:
        net = [end.percent["cutoff"] - end.percent["admission"] for end in self.events[direction].values()]
        return np.nan_to_num(np.mean(net, axis=0))

    def driven(self, notch: int) -> tuple[str, ...]:
        """Directions to be looked at in a notch, by its number."""
        return DIRECTIONS if self.drives[notch] == "both" else (self.drives[notch],)


@dataclass(frozen=True, eq=False)
class Assessment:
    """The events of an engine in one state."""

    engine: Engine
    state: str
    sides: tuple[SideEvents, ...]
    standing: str = AS_IT_STANDS

    @property
    def distinct_sides(self) -> tuple[SideEvents, ...]:
        """The sides that need looking at apart: one, when both are alike."""
        return self.sides[:1] if self.alike else self.sides

    @property
    def alike(self) -> bool:
        """Whether both sides are, so that one stands for both."""
        return len(self.sides) == 2 and self.sides[0].motion is self.sides[1].motion


def assess(
    engine: Engine,
    state: str = DRAWING,
    sides: Iterable[str] | None = None,
    notches: Iterable[str] | None = None,
    standing: str = AS_IT_STANDS,
    load: Load | None = None,
) -> Assessment:
    """Turn an engine's gear and find its events.

    Parameters
    ----------
    engine, state, sides
        As read; by name; of the engine's own, all unless given.
    notches, standing, load
        As for :func:`assess_side`.

    Raises
    ------
    NotchError
        A notch in which the gear cannot pass some crank angle, or that the reverser cannot reach.
    KeyError
        A state, side or notch that the engine does not have.
    ValueError
        Set afresh, where there is no rule to set it by.
    """
    setups = [engine.side_state(state, side) for side in (engine.sides if sides is None else sides)]
    found: list[SideEvents] = []
    for setup in setups:
        alike = bool(found) and setup.alike(setups[0])
        found.append(replace(found[0], side=setup.side) if alike else assess_side(setup, notches, standing, load))
    return Assessment(engine, state, tuple(found), standing)


def assess_side(
    setup: SideState, notches: Iterable[str] | None = None, standing: str = AS_IT_STANDS, load: Load | None = None
) -> SideEvents:
    """Turn one side in one state, as worn, its play in motion.

    Parameters
    ----------
    setup : SideState
        Which.
    notches : iterable of str, optional
        Those looked at; all unless given.
    standing : str
        "as it stands" (cold, the valve where it is on its spindle), "set afresh" (by its rule or the drawing's) or "in
        service" (as it stands, and then warm).
    load : Load, optional
        What takes up the play: a little drag, unless given.

    Raises
    ------
    NotchError, ValueError
        As :func:`assess`.
    """
    names = tuple(setup.notches) if notches is None else tuple(dict.fromkeys(notches))
    settings = {name: _setting(setup, name) for name in names}
    condition = setup.condition if standing == IN_SERVICE else setup.condition.cold
    gear = worn(setup.gear, condition)
    try:
        now = turned(warm(gear, condition), stacked(list(settings.values())), condition)
    except LinkageError as error:
        raise _blamed(setup, settings, condition) or error from None
    central = central_when_warm(place_of(setup, standing), condition)
    return SideEvents(
        setup.side, setup.state, names, tuple(settings.values()), now, central, condition, standing, load or Load()
    )


def afresh_at(setup: SideState) -> float:
    """Place of the spindle pin with the valve central (mm) set by its rule; as it stands, where there is none."""
    return place_of(setup, setup.on_reassembly)


def place_of(setup: SideState, standing: str = AS_IT_STANDS) -> float:
    """Place of the spindle pin with the valve central, mm, cold: where it is, or where the rule puts it.

    ``setup`` and ``standing`` as for :func:`assess_side`.

    Raises
    ------
    NotchError
        The gear cannot pass in the notch of the rule, or no place meets it.
    ValueError
        Set afresh, where there is no rule.
    """
    own = setup if standing == SET_AFRESH else setup.placed
    valve = own.rule if standing == SET_AFRESH else own.gear.valve
    if valve is None:
        raise ValueError(
            "the drawing gives the valve's place and no rule to set it by: give set_by and set_in in [valve]"
        )
    if valve.central_at is not None:
        return valve.central_at  # type: ignore[no-any-return]
    notch, condition = valve.set_in["notch"], own.condition.cold
    gear = replace(worn(own.gear, condition), valve=valve)
    try:
        setting = _setting(own, notch)
        motion = turned(gear, setting, condition)
        return central_place(valve, motion, free_round(gear, (setting,), condition))
    except (LinkageError, RuleError) as error:
        raise NotchError(notch, own, error) from None


def _setting(setup: SideState, name: str) -> ReverserPosition:
    notch = setup.notches[name]
    if isinstance(notch, Stop):  # where the eccentric stands now, slipped or not
        return worn(setup.gear, setup.condition).notches[name]
    on_rack = isinstance(notch, DieHeight) and name not in setup.own_notches
    gear = setup.rack if on_rack else setup.gear
    try:
        return gear.setting(notch)
    except LinkageError as error:
        raise NotchError(name, setup, error) from None


def _blamed(setup: SideState, settings: dict[str, ReverserPosition], condition: Condition) -> NotchError | None:
    """Which notch it is that cannot be passed."""
    for name, setting in settings.items():
        try:
            turned(warm(worn(setup.gear, condition), condition), setting, condition)
        except LinkageError as error:
            return NotchError(name, setup, error)
    return None
