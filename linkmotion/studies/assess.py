"""Is it right to bolt up? The valve events of every side, notch and direction of an engine."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from linkmotion.engine import DRAWING, SIDES, Engine, SideState
from linkmotion.events import BACKWARD, DIRECTIONS, FORWARD, EndEvents, events_by_way
from linkmotion.gears import DieHeight, Gear, ReverserPosition
from linkmotion.gears.reverser import Stop, stacked
from linkmotion.linkage import LinkageError, UnreachableError
from linkmotion.revolution import Revolution
from linkmotion.valve import Ports
from linkmotion.valve_setting import RuleError, central_place
from linkmotion.wear.condition import SOUND, Condition
from linkmotion.wear.effects import central_when_warm, turned, warm, worn
from linkmotion.wear.lost_motion import lost_motion

_DRIVES = 10.0  # percent of stroke by which one direction must take more steam than the other


class NotchError(LinkageError):
    """The gear cannot pass in some notch.

    Attributes
    ----------
    notch, side, state : str
        Where.
    cause : LinkageError or RuleError
        Which parts, by how much; or why the setting rule finds no place.
    crank_angle : float or None
        Crank angle from front dead centre in forward running, degrees.
    """

    def __init__(self, notch: str, setup: SideState, cause: LinkageError | RuleError) -> None:
        self.notch, self.side, self.state, self.cause = notch, setup.side, setup.state, cause
        self.crank_angle = None
        if isinstance(cause, UnreachableError):
            self.crank_angle = float(np.degrees(-cause.wheel) % 360)
        super().__init__(self.words(lambda mm: f"{mm:.2f} mm"))

    def words(self, length: Callable[[float], str]) -> str:
        """The message, its length shown in the reader's unit."""
        told, cause = str(self.cause), self.cause
        if isinstance(cause, UnreachableError):
            way = "too short to meet, by" if cause.short > 0 else "too long to fit, by"
            by = f"{way} {length(abs(cause.short))} at crank angle {self.crank_angle:.0f}°"
            told = f"{' and '.join(cause.parts)}: {by}"
        passing = "" if isinstance(cause, RuleError) else "the gear cannot pass: "
        return f"notch {self.notch!r}: {passing}{told}"


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
        The motion, S notches.
    central_at : float
        Place of the spindle pin with the valve central, mm along its guide.
    condition : Condition
        What the gauge found.
    """

    side: str
    state: str
    notches: tuple[str, ...]
    settings: tuple[ReverserPosition, ...]
    motion: Revolution
    central_at: float
    condition: Condition = SOUND

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
        """Valve displacement from central, mm, as series in the forward crank angle, shape (S, K)."""
        return self.motion.displacement(self.central_at)

    @cached_property
    def events(self) -> dict[str, dict[str, EndEvents]]:
        """Events by direction of running and end."""
        return events_by_way(self.displacement, self.ports, self.gear.crank, DIRECTIONS)

    @cached_property
    def lost(self) -> Any:
        """Lost motion at the spindle round the wheel, mm, shape (S, 96): evenly from front dead centre."""
        settings = stacked(self.settings)
        if self.condition.sound:
            return np.zeros((len(self.notches), 96))
        return lost_motion(self.gear, settings, self.condition).total + np.zeros((len(self.notches), 1))

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
        """Directions to be looked at in a notch."""
        return DIRECTIONS if self.drives[notch] == "both" else (self.drives[notch],)


@dataclass(frozen=True, eq=False)
class Assessment:
    """The events of an engine in one state."""

    engine: Engine
    state: str
    sides: tuple[SideEvents, ...]

    @property
    def distinct_sides(self) -> tuple[SideEvents, ...]:
        """The sides that need looking at apart: one, when both are alike."""
        if len(self.sides) == 2 and self.sides[0].motion is self.sides[1].motion:
            return self.sides[:1]
        return self.sides


def assess(
    engine: Engine, state: str = DRAWING, sides: Iterable[str] = SIDES, notches: Iterable[str] | None = None
) -> Assessment:
    """Turn an engine's gear and find its events.

    Raises
    ------
    NotchError
        A notch in which the gear cannot pass some crank angle, or that the reverser cannot reach.
    KeyError
        A state or notch that the engine does not have.
    """
    found: list[SideEvents] = []
    first: tuple[Gear, Condition] | None = None
    for side in sides:
        setup = engine.side_state(state, side)
        alike = found and (setup.gear, setup.condition) == first
        found.append(replace(found[0], side=side) if alike else assess_side(setup, notches))
        first = (setup.gear, setup.condition) if len(found) == 1 else first
    return Assessment(engine, state, tuple(found))


def assess_side(setup: SideState, notches: Iterable[str] | None = None) -> SideEvents:
    """Turn one side in one state, as worn; a setting rule is applied cold, and heat comes after."""
    names = tuple(setup.notches) if notches is None else tuple(dict.fromkeys(notches))
    settings = {name: _setting(setup, name) for name in names}

    def setting_of(name: str) -> ReverserPosition:
        return settings[name] if name in settings else _setting(setup, name)

    condition = setup.condition
    gear = worn(setup.gear, condition)
    try:
        now = turned(warm(gear, condition), stacked(list(settings.values())), condition)
    except LinkageError as error:
        raise _blamed(setup, settings) or error from None
    try:
        central = central_place(gear, setting_of, lambda own, setting: turned(own, setting, condition))
    except (LinkageError, RuleError) as error:
        raise NotchError(setup.gear.valve.set_in["notch"], setup, error) from None
    central = central_when_warm(central, condition)
    return SideEvents(setup.side, setup.state, names, tuple(settings.values()), now, central, condition)


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


def _blamed(setup: SideState, settings: dict[str, ReverserPosition]) -> NotchError | None:
    """Which notch it is that cannot be passed."""
    for name, setting in settings.items():
        try:
            turned(warm(worn(setup.gear, setup.condition), setup.condition), setting, setup.condition)
        except LinkageError as error:
            return NotchError(name, setup, error)
    return None
