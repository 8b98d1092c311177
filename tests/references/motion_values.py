"""What the valve and event rooms give for motions of printed gears that are no kind of engine file yet.

Each gear's motion is its own closed form, written here from its geometry; the product finds events, openings and
farthest places. The Hackworth gear goes through its engine file as well.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import acos, cos, degrees, radians, sin, sqrt, tan
from typing import Any

import numpy as np
from scipy.optimize import brentq

from linkmotion.valve import ENDS
from tests.references.doors import (
    Numbers,
    Routes,
    by_command,
    by_library,
    edge_openings,
    events_of,
    farthest,
    series_of,
    valve_of,
)

Motion = Callable[[Any], Any]
ENDLESS = 1e6  # connecting rod in cranks, for a piston in harmonic motion

# ---- Deprez: one eccentric opposite the crank, its rod's end at a height y in a slotted frame -----------------------


def deprez(throw: float, rod: float, height: float) -> Motion:
    """Valve from its middle, + forward, as the crank goes round from the dead centre at which it stands back."""

    def back(angle: Any) -> Any:
        slant = np.sqrt(rod**2 - (height - throw * np.sin(angle)) ** 2)
        return throw * np.cos(angle) + slant - sqrt(rod**2 - height**2)

    return lambda angle: -back(angle)


@cache
def deprez_events(throw: float, rod: float, height: float, cranks: float, equal: float) -> Any:
    """Events with the unequal valve as printed, or with equal laps where one is given."""
    laps = {"steam_lap_front": 20.0, "exhaust_lap_front": 24.0, "steam_lap_back": 30.0, "exhaust_lap_back": 12.0}
    if equal:
        laps = {"steam_lap": equal, "exhaust_lap": 0.0}
    return events_of(deprez(throw, rod, height), laps, cranks)


def of_deprez(n: Numbers) -> Routes:
    """An event of one end, percent of its stroke; the front end is the book's left."""
    ends = deprez_events(n["throw"], n["rod"], n["height"], n["cranks"], n.get("equal", 0.0))
    value = ends[n["end"]][n["figure"]]
    return {"events": 100 - value if n.get("of") == "return done" else value}


def deprez_farthest(n: Numbers) -> Routes:
    """How far the valve goes to one side, mm."""
    least, most = farthest(deprez(n["throw"], n["rod"], n["height"]))
    return {"events": most if n["side"] == "forward" else -least}


# ---- Hackworth: an eccentric's rod whose middle is led in a tilted straight slot ------------------------------------


def hackworth(throw: float, die: float, pin: float, pivot: float, tilt: float) -> Motion:
    """Valve from its middle, + forward; lengths mm, tilt radians."""

    def valve(angle: Any) -> Any:
        x, y = throw * np.cos(angle), -throw * np.sin(angle)
        along = complex(sin(tilt), cos(tilt))
        to_pivot = -x + 1j * (pivot - y)
        middle = (np.conj(along) * to_pivot).real  # along the slot from the pivot to abreast of the eccentric, negative
        reach = -middle + np.sqrt(die**2 - np.abs(to_pivot) ** 2 + middle**2)
        led = (1j * pivot + reach * along).real
        return x + (led - x) * pin / die

    return valve


def hackworth_routes(n: Numbers) -> dict[str, Motion]:
    """The motion by the closed form, and of the engine file, whose notches are named by their tilts."""
    sizes = (n["throw"], n["die"], n["pin"], n["pivot"], radians(n["tilt"]))
    from_file, _back = valve_of(n["gear"], notch=f"{n['tilt']:g}")
    return {"closed form": hackworth(*sizes), "engine file": from_file}


def hackworth_cutoff(n: Numbers) -> Routes:
    """Cutoff, percent, mean of both strokes; piston in harmonic motion."""
    ends = events_of(hackworth_routes(n)["closed form"], {"steam_lap": n["lap"], "exhaust_lap": 0.0}, ENDLESS)
    found = {"closed form": sum(ends[end]["cutoff"] for end in ENDS) / 2}
    for route, rows in {"command": by_command, "library": by_library}.items():
        notch = f"{n['tilt']:g}"
        places = [("drawing", notch, "forward", end) for end in ENDS]
        found[route] = sum(rows(n["gear"])[place]["cutoff_percent"] for place in places) / 2
    return found


def hackworth_part(n: Numbers) -> Routes:
    """Half of the first harmonic along the dead centres, or square to them, mm."""
    found = {}
    for route, motion in hackworth_routes(n).items():
        first = series_of(motion)[1]
        found[route] = abs(first.real if n["which"] == "along" else first.imag) / 2
    return found


# ---- an eccentric opposite the crank in a tilted slot; a valve's own edges ------------------------------------------


def tilted(throw: float, tilt: float) -> Motion:
    """Valve from its middle, + forward, rods long; tilt radians from square to the line of the valve's motion."""
    return lambda angle: -throw * (np.cos(angle) + np.sin(angle) / tan(tilt))


def tilt_for(n: Numbers) -> Routes:
    """Tilt, degrees, at which the steam is cut off at a percentage of the stroke."""

    def short(tilt: float) -> float:
        ends = events_of(tilted(n["throw"], tilt), {"steam_lap": n["lap"], "exhaust_lap": 0.0}, ENDLESS)
        return float(ends["front"]["cutoff"]) - n["cutoff"]

    return {"events": degrees(brentq(short, 0.3, 1.4, xtol=1e-12))}


def lead_by_events(n: Numbers) -> Routes:
    """Lead of a valve in harmonic motion that cuts off and releases at percentages of the stroke, no exhaust lap.

    A cos w + B sin w is nothing at release and the lap at cutoff; the product has to find both again.
    """
    cutoff, release = (acos(1 - n[event] / 50) for event in ("cutoff", "release"))
    over = -cos(release) / sin(release)
    along = n["lap"] / (cos(cutoff) + over * sin(cutoff))
    laps = {"steam_lap": n["lap"], "exhaust_lap": 0.0}
    ends = events_of(lambda w: -along * (np.cos(w) + over * np.sin(w)), laps, ENDLESS)
    for end in ENDS:
        assert all(abs(ends[end][event] - n[event]) < 1e-3 for event in ("cutoff", "release"))
    return {end: ends[end]["lead"] for end in ENDS}


def exhaust_opening(n: Numbers) -> Routes:
    """Exhaust opening of one end with the other end's steam edge open by a given amount."""
    found = {}
    for end, other in (("front", "back"), ("back", "front")):
        at = edge_openings(_both(n), 0.0)["steam", other]
        for sign in (-1.0, 1.0):
            openings = edge_openings(_both(n), sign * (n["steam"] - at))
            if abs(openings["steam", other] - n["steam"]) < 1e-9:
                found[end] = openings["exhaust", end]
    return found


def _both(n: Numbers) -> dict[str, float]:
    """Laps: of both ends together the print has the sum."""
    return {"steam_lap": n["laps"] / 2, "exhaust_lap": n["exhaust_laps"] / 2}


VALUES: dict[str, Callable[[Numbers], Routes]] = {
    "deprez": of_deprez,
    "deprez, farthest": deprez_farthest,
    "hackworth, cutoff": hackworth_cutoff,
    "hackworth, part": hackworth_part,
    "tilt for a cutoff": tilt_for,
    "lead by cut-off and release": lead_by_events,
    "exhaust opening beside a steam opening": exhaust_opening,
}
