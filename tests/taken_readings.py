"""Readings as they are taken on a real engine: the gear by an independent solver, and the fitter's disturbances on it.

Nothing here is the model that inverts them: dead centres are off anywhere within half a degree, each joint has its own
clearance, the valve follows through backlash with a part of the play that is its own at every reading, it stands
anywhere on its spindle, and the axle anywhere on its springs. Of the product only the lost motion per mm of clearance
is used (it is held to an exact reach in `test_lost_motion.py`).
"""

from __future__ import annotations

import copy
import math
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.figures.figure import Figure, Reading
from linkmotion.studies.figures.play import clearable, freedom
from linkmotion.wear.lost_motion import DIE
from tests.gears_at_hand import example, number_of
from tests.independent.at_once import Round, drawn_round, slot_place, turned_round, worn_round
from tests.independent.drawing import crank_radius
from tests.independent.port_events import KINDS, lap
from tests.independent.trial_gears import Tables
from tests.worn_slots import WornSlot

Floats = NDArray[np.float64]
POSITIONS, FINE = 120, 1440
ENDS = ("front", "back")
_FRAME = (
    ("cylinder", "line_height"), ("valve", "guide_height"), ("expansion_link", "trunnion_y"),
    ("expansion_link", "hanger_y"), ("reversing", "shaft_y"), ("valve", "rocker.pivot_y"), ("valve", "hanger.pivot_y"),
)  # fmt: skip


@dataclass(frozen=True)
class Taking:
    """How one engine was read.

    Attributes
    ----------
    off : dict
        Degrees by which each end's mark stands beyond the dead centre, in forward running.
    clearance : float
        The greatest at any joint, mm; each has a half of it to the whole.
    lag : float
        What part of the play the valve hangs behind, 0 to 1.
    place, rise : float
        The valve ahead of where the file has it, and the axle above its height, mm.
    turned : str
        How the wheel was turned to a dead centre; or the spindle pushed there: half of the play at least is taken up.
    said : bool
        Whether the readings say so.
    noise : float
        How many times as far as stated the readings scatter.
    """

    off: dict[str, float]
    clearance: float
    lag: float
    place: float
    rise: float
    turned: str
    said: bool
    noise: float = 1.0


def drawn_taking(rng: np.random.Generator, noise: float = 1.0) -> Taking:
    """One drawn at random, within what is usual in a shop."""
    off = {end: float(rng.uniform(-0.5, 0.5)) for end in ENDS}
    place, rise = float(rng.uniform(-2.0, 2.0)), float(rng.uniform(-6.0, 6.0))
    turned = str(rng.choice(["forward", "backward"]))
    loose, lag = float(rng.uniform(0.0, 0.25)), float(rng.uniform(0.0, 1.0))
    return Taking(off, loose, lag, place, rise, turned, bool(rng.random() < 0.5), noise)


class Shop:
    """One side of an example as drawn, ready to be altered and read."""

    def __init__(self, name: str, side: str | None = None) -> None:
        engine = example(name)
        self.side: SideEvents = assess(engine, sides=(side or engine.sides[0],)).sides[0]
        self.kind = self.side.gear.name.removeprefix("plain ")
        tables = engine.tables("drawing", side)
        if "reversing" in tables:
            tables["reversing"] = {"suspension": "lifting link"} | tables["reversing"]
        if "rocker" in tables["valve"]:
            tables["valve"]["rocker"] = {"angle": 0.0} | tables["valve"]["rocker"]
        self.tables = tables
        self.settings = [number_of(setting) for setting in self.side.settings]
        self.drawn = [drawn_round(tables, setting, self.kind, POSITIONS) for setting in self.settings]
        joints = clearable(self.side.gear)
        self.free = freedom(self.side, self.side.notches, joints)
        self.die_free = {notch: rows[joints.index(DIE)] for notch, rows in self.free.items()} if DIE in joints else {}

    def read(
        self,
        blank: list[Reading],
        departures: dict[Key, float],
        taking: Taking,
        rng: np.random.Generator,
        worn: WornSlot | None = None,
    ) -> list[Reading]:
        """What is read of a list of readings; those that cannot be are left out."""
        tables = _departed(self.tables, departures)
        _raised(tables, taking.rise)
        clearances = taking.clearance * rng.uniform(0.5, 1.0, next(iter(self.free.values())).shape[0])
        found = []
        for i, notch in enumerate(self.side.notches):
            own = [reading for reading in blank if reading.notch == notch]
            if own:
                gear = (tables, self._setting(i, notch, tables, departures), self.kind, self.drawn[i].x)
                turned = turned_round(*gear) if worn is None else worn_round(*gear, worn.ahead)
                half = _fine(clearances @ self.free[notch]) / 2
                if worn is not None:
                    place = _fine(slot_place(tables, self.kind, turned))
                    half = half + worn.clearance(place) * _fine(self.die_free[notch]) / 2
                turn = _Turn(tables, turned, half, self.side.central_at + taking.place, taking)
                found += [turn.taken(reading, rng) for reading in own]
        return [reading for reading in found if math.isfinite(reading.value)]

    def path(self, notch: str) -> Floats:
        """Of the die along the slot in a notch, as drawn, mm."""
        return slot_place(self.tables, self.kind, self.drawn[self.side.notches.index(notch)])

    def _setting(self, row: int, notch: str, tables: Tables, departures: dict[Key, float]) -> float:
        if self.kind == "eccentric":
            return float(tables["eccentric"]["backward_angle" if notch == "backward" else "angle"])
        return self.settings[row] + departures.get(("reversing", "arm angle"), 0.0)


@cache
def shop(name: str, side: str | None = None) -> Shop:
    """One side of an example."""
    return Shop(name, side)


def _departed(tables: Tables, departures: dict[Key, float]) -> Tables:
    found = copy.deepcopy(tables)
    for lap_of in ("steam_lap", "exhaust_lap"):
        if lap_of in found["valve"]:
            found["valve"] |= dict.fromkeys((f"{lap_of}_front", f"{lap_of}_back"), found["valve"].pop(lap_of))
    for (table, key), by in departures.items():
        if (table, key) == ("reversing", "arm angle"):
            continue
        own: Any = found[table]
        *inner, last = key.split(".")
        for name in inner:
            own = own[name]
        own[last] = own.get(last, 0.0) + by
    return found


def _raised(tables: Tables, rise: float) -> None:
    """The axle up in its horns: seen from it the frame has gone down."""
    for table, key in _FRAME:
        own: Any = tables.get(table, {})
        *inner, last = key.split(".")
        for name in inner:
            own = own.get(name, {})
        if last in own:
            slope = math.cos(math.radians(tables["cylinder"].get("inclination", 0.0))) if table == "cylinder" else 1.0
            own[last] -= rise * slope


def _fine(samples: Floats) -> Floats:
    """A motion given evenly round the wheel, at FINE positions, by its Fourier series."""
    return np.asarray(np.fft.irfft(np.fft.rfft(samples) * (FINE / samples.shape[-1]), FINE))


def followed(low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """Between which limits what is pushed along by limits, one after the other, has come at each of them.

    Limits after limits are limits again: those of one place, then of two together, of four, until of all before it.
    """
    step = 1
    while step < low.size:
        then = low[step:], high[step:]
        low = np.append(low[:step], np.clip(low[:-step], *then))
        high = np.append(high[:step], np.clip(high[:-step], *then))
        step *= 2
    return low, high


class _Turn:
    """One notch: the valve as it moves with its play, and what is read of it."""

    def __init__(self, tables: Tables, turned: Round, half: Floats, central: float, taking: Taking) -> None:
        self.tables, self.taking, self.half, self.central = tables, taking, half, central
        self.x, self.die = _fine(turned.valve), _fine(turned.die)
        cylinder, rod = tables["cylinder"], tables["connecting_rod"]["length"]
        r, h = crank_radius(tables), float(cylinder.get("line_height", 0.0))
        front, back = math.asin(h / (rod + r)), math.pi + math.asin(h / (rod - r))
        self.r, self.h, self.rod, self.front = r, h, rod, front
        self.pushed = {"pushed forward": 1.0, "pushed back": -1.0}.get(taking.turned, 0.0)
        self.dead = {"front": 0.0, "back": (front - back) % (2 * math.pi)}

    def taken(self, blank: Reading, rng: np.random.Generator) -> Reading:
        """One reading."""
        lag = max(1.0 + 0.1 * float(rng.standard_normal()), 0.0)
        value = self._value(blank, lag) + self.taking.noise * blank.sigma * float(rng.standard_normal())
        told = self.taking.turned if self.taking.said and blank.kind == "lead" else ""
        return replace(blank, value=value, turned=told)

    def _value(self, blank: Figure, lag: float) -> float:
        off = {end: math.radians(degrees) for end, degrees in self.taking.off.items()}
        if blank.kind == "die height":
            return float(_at(self.die, off["front"]))
        way = blank.direction or ("forward" if self.pushed and blank.kind != "lead" else self.taking.turned)
        valve = (self._dragged(way, self.half * self.taking.lag * lag) if way in ("forward", "backward") else
                 self.x + self.pushed * self.half * (1.0 + self.taking.lag) / 2) - self.central  # fmt: skip
        if blank.kind == "lead":
            return float(_at(self._open(valve, "steam", blank.end), self.dead[blank.end] + off[blank.end]))
        if blank.kind == "opening":
            most = float(np.max(self._open(valve, "steam", blank.end)))
            return float(np.clip(most, 0.0, self.tables["valve"]["port_width"]))
        return self._percent(self._event(valve, blank), blank.end)

    def _dragged(self, way: str, half: Floats) -> Floats:
        """The valve behind the gear by what it hangs back, the wheel turned one way."""
        if not np.any(half):
            return self.x
        step = 1 if way == "forward" else -1
        x, back = self.x[::step], half[::step]
        low, high = followed(x - back, x + back)
        return np.asarray(np.clip(np.clip(x[0], low[-1], high[-1]), low, high)[::step])

    def _open(self, valve: Floats, flow: str, end: str) -> Floats:
        to_steam = (1 if self.tables["valve"]["admission"] == "inside" else -1) * (1 if end == "front" else -1) * valve
        return (to_steam if flow == "steam" else -to_steam) - lap(self.tables, flow, end)

    def _event(self, valve: Floats, blank: Figure) -> float:
        """Forward angle of an event, radians, that nearest to where the port was last wide open or shut."""
        flow, rising = KINDS[blank.kind]
        opening = self._open(valve, flow, blank.end)
        if blank.direction == "backward":
            rising = -rising
        now, then = opening * rising, np.roll(opening, -1) * rising
        at = np.flatnonzero((now < 0) & (then >= 0))
        if at.size != 1:
            return math.nan
        k = int(at[0])
        return float((k + now[k] / (now[k] - then[k])) * 2 * math.pi / FINE)

    def _percent(self, angle: float, end: str) -> float:
        """Piston's distance from an end over the stroke, percent."""

        def piston(at: float) -> float:
            crank = self.front - at
            return self.r * math.cos(crank) + math.sqrt(self.rod**2 - (self.h - self.r * math.sin(crank)) ** 2)

        front, back = piston(self.dead["front"]), piston(self.dead["back"])
        part = (front - piston(angle)) / (front - back)
        return 100.0 * (part if end == "front" else 1.0 - part)


def _at(motion: Floats, angle: float) -> Any:
    place = angle / (2 * math.pi) * FINE % FINE
    return np.interp(place, np.arange(FINE + 1), np.append(motion, motion[0]))


def form(side: SideEvents, lead: float = 0.05, opening: float = 0.1, percent: float = 0.25) -> list[Reading]:
    """What a fitter reads: leads and openings in every notch, cutoff and compression as it drives, the die's height."""
    found = []
    for i, notch in enumerate(side.notches):
        for end in ENDS:
            at = Reading(side=side.side, kind="lead", notch=notch, end=end, value=0.0, sigma=lead)
            found += [at, replace(at, kind="opening", sigma=opening)]
            found += [
                replace(at, kind=kind, direction=direction, unit="percent", sigma=percent)
                for direction in side.driven(i)
                for kind in (EVENTS[1], EVENTS[3])
            ]
        if side.gear.slot is not None:
            found.append(Reading(side=side.side, kind="die height", notch=notch, value=0.0, sigma=0.25))
    return found
