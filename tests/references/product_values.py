"""What the product finds for each kind of check, by every route that leads to it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import degrees, pi
from typing import Any

import numpy as np
from scipy.optimize import brentq

from linkmotion.events import DIRECTIONS, EndEvents, end_events
from linkmotion.gears import Arm, DieHeld, ReverserPosition, Walschaerts
from linkmotion.gears.book import Valve
from linkmotion.linkage import Harmonics
from linkmotion.revolution import Revolution, revolve
from linkmotion.valve import ENDS, Ports
from tests.independent.trial_gears import OUTSIDE_GEAR
from tests.references import (
    crank_values,
    cylinder_values,
    eccentric_values,
    gear_values,
    motion_values,
    peabody_gear,
    ring_values,
    setting_values,
    steam_values,
)
from tests.references.constant_lead import constant_lead, walschaerts

Numbers = dict[str, float]
Routes = dict[str, float]
NOTCHES = np.array([-13.2, -6.5, 0.0, 11.6])[:, None]  # lifting-arm angles, degrees
DIE_PLACES = np.linspace(-150.0, 150.0, 7)[:, None]  # mm, the whole slot


# ---- slide valve in harmonic motion ---------------------------------------------------------------------------------


class HarmonicPiston:
    """The piston with a rod without end."""

    back_crank_angle = pi

    def fraction(self, forward_angle: Any) -> Any:
        """Distance from the front limit over the stroke."""
        return (1 - np.cos(forward_angle)) / 2


@dataclass(frozen=True)
class SlideValve:
    """A valve driven by one eccentric with an endless rod; any unit of length."""

    throw: float
    advance: float
    lap: float
    exhaust_lap: float = 0.0
    port: float = 10.0

    @classmethod
    def of(cls, n: Numbers) -> SlideValve:
        """From travel, lap and lead."""
        throw = n["travel"] / 2
        advance = float(np.arcsin((n["lap"] + n["lead"]) / throw))
        return cls(throw, advance, n["lap"], n.get("exhaust_lap", 0.0), n.get("port", 10.0))

    def motion(self, admission: str) -> Harmonics:
        """Displacement from central, + forward: back of the middle at front dead centre with outside admission."""
        sign = 1 if admission == "outside" else -1
        return Harmonics(np.array([[0.0, sign * 1j * self.throw * np.exp(1j * self.advance)]]))

    def ports(self, admission: str) -> Ports:
        """The edges."""
        return Ports.of(
            Valve(admission=admission, steam_lap=self.lap, exhaust_lap=self.exhaust_lap,
                  port_width=self.port, guide_height=0.0)
        )  # fmt: skip

    def events(self, admission: str, end: str) -> EndEvents:
        """Product's events of one end, running forward."""
        return end_events(self.motion(admission), self.ports(admission), HarmonicPiston(), end)

    def by_route(self, value: Callable[[EndEvents], Any]) -> Routes:
        """A value read from the events of each end, with each admission."""
        return {
            f"{admission} {end}": float(value(self.events(admission, end))[0])
            for admission in ("outside", "inside")
            for end in ENDS
        }


def cutoff(n: Numbers) -> Routes:
    return SlideValve.of(n).by_route(lambda events: events.percent["cutoff"] / 100)


def compression(n: Numbers) -> Routes:
    return SlideValve.of(n).by_route(lambda events: events.percent["compression"] / 100)


def release(n: Numbers) -> Routes:
    return SlideValve.of(n).by_route(lambda events: 1 - events.percent["release"] / 100)


def greatest_opening(n: Numbers) -> Routes:
    return SlideValve.of(n).by_route(lambda events: events.opening)


def advance(n: Numbers) -> Routes:
    """The advance, degrees, at which the product finds the lead wanted."""

    def short(angle: float, admission: str, end: str) -> float:
        return float(SlideValve(n["throw"], angle, n["lap"]).events(admission, end).lead[0]) - n["lead"]

    return {
        f"{admission} {end}": degrees(brentq(short, 0.0, pi / 2, args=(admission, end), xtol=1e-13))
        for admission in ("outside", "inside")
        for end in ENDS
    }


def exhaust_at_end_of_stroke(n: Numbers) -> Routes:
    """Exhaust opening of one end with the piston at the other."""
    valve, found = SlideValve.of(n), {}
    for admission in ("outside", "inside"):
        for end, at in (("back", 0.0), ("front", pi)):
            edge = valve.ports(admission).edge("exhaust", end)
            found[f"{admission} {end}"] = float(edge.opening(valve.motion(admission)(at))[0])
    return found


# ---- Walschaerts gear -----------------------------------------------------------------------------------------------


def leads(turn: Revolution, gear: Walschaerts) -> np.ndarray[Any, Any]:
    """Lead, mm: shape (directions and ends, notches)."""
    valve, ports = turn.displacement(gear.valve.central_at), Ports.of(gear.valve)
    return np.array([end_events(valve, ports, gear.crank, end, way).lead for way in DIRECTIONS for end in ENDS])


def exact_gears() -> Iterable[tuple[str, Walschaerts, ReverserPosition]]:
    """The gear of constant lead, both admissions, die held in the slot and hung from a lifting link."""
    for admission in ("outside", "inside"):
        gear = walschaerts(constant_lead(admission))
        yield f"{admission}, die held", gear, DieHeld(DIE_PLACES)
        yield f"{admission}, lifting link", gear, Arm(NOTCHES)


def mid_gear_travel(_: Numbers) -> Routes:
    """Travel over lap + lead (mean of the ends) with the die on the trunnion: exact for any proportions."""
    gears = {name: walschaerts(constant_lead(name)) for name in ("outside", "inside")}
    found = {}
    for name, gear in (gears | {"usual gear, unequal leads": walschaerts(OUTSIDE_GEAR)}).items():
        turn = revolve(gear, DieHeld(np.array([[0.0]])))
        found[name] = float(turn.travel[0] / (gear.valve.steam_lap + leads(turn, gear)[:2].mean()))
    return found


def spread_of_lead(_: Numbers) -> Routes:
    return {name: float(np.ptp(leads(revolve(gear, notches), gear))) for name, gear, notches in exact_gears()}


def valve_moved_by_die(_: Numbers) -> Routes:
    """Valve's movement with the link upright (both dead centres) while the die runs along the slot, mm."""
    found = {}
    for name, gear, notches in exact_gears():
        turn = revolve(gear, notches)
        for end, at in (("front", 0.0), ("back", pi)):
            assert np.abs(turn.swing(at)).max() < 1e-10  # degrees: upright
            assert np.ptp(turn.die(at)) > 75.0  # mm: the die has run
            found[f"{name}, {end}"] = float(np.ptp(turn.spindle(at)))
    return found


_PLAIN: dict[str, Callable[[Numbers], Routes]] = {
    "cutoff": cutoff,
    "compression": compression,
    "release": release,
    "greatest opening": greatest_opening,
    "advance": advance,
    "exhaust open at end of stroke": exhaust_at_end_of_stroke,
    "mid-gear travel": mid_gear_travel,
    "spread of lead": spread_of_lead,
    "valve moved by the die": valve_moved_by_die,
}


def _by_every_route(ways: list[Callable[[Numbers], Routes]]) -> Callable[[Numbers], Routes]:
    def routes(n: Numbers) -> Routes:
        return {name: value for way in ways for name, value in way(n).items()}

    return routes


_ROOMS = (
    crank_values, eccentric_values, peabody_gear, setting_values, cylinder_values, gear_values, motion_values,
    steam_values, ring_values,
)  # fmt: skip
_TABLES = (_PLAIN, *(room.VALUES for room in _ROOMS))
VALUES: dict[str, Callable[[Numbers], Routes]] = {
    check: _by_every_route([table[check] for table in _TABLES if check in table])
    for check in dict.fromkeys(check for table in _TABLES for check in table)
}
