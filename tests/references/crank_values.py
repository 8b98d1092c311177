"""What the product finds for crank and connecting rod: its closed form, and the linkage core that solves them."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import cos, degrees, pi, radians, sin
from typing import Any

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq, minimize_scalar

from tests.references.doors import Numbers, Routes, closed_form, crosshead_solved

Way = Callable[[float], float]


def crossheads(crank: float, rod: float) -> dict[str, Way]:
    """Crosshead pin from the axle at a crank angle (radians) from the outer dead centre, by each route."""
    motion = closed_form(crank, rod)
    return {
        "closed form": lambda angle: float(motion.crosshead(angle)),
        "linkage core": lambda angle: float(crosshead_solved(crank, rod, -angle)[0][0]),
    }


def rates(crank: float, rod: float) -> dict[str, Way]:
    """How fast the crosshead comes in, over the crank pin's speed."""
    motion = closed_form(crank, rod)
    return {
        "closed form": lambda angle: -float(np.imag(motion.crosshead(angle + 1e-30j)) * 1e30) / crank,
        "linkage core": lambda angle: -float(crosshead_solved(crank, rod, -angle)[1][0]) / crank,
    }


def shaft_to_pin(n: Numbers) -> Routes:
    return {name: at(radians(n["angle"])) for name, at in crossheads(n["crank"], n["rod"]).items()}


def travel(n: Numbers) -> Routes:
    return {
        name: at(radians(n["from"])) - at(radians(n["to"])) for name, at in crossheads(n["crank"], n["rod"]).items()
    }


def angle_at_travel(n: Numbers) -> Routes:
    return {
        name: degrees(brentq(lambda a, at=at: at(0.0) - at(a) - n["travel"], 0.1, pi / 2, xtol=1e-9))
        for name, at in crossheads(n["crank"], n["rod"]).items()
    }


def cosine_at_travel(n: Numbers) -> Routes:
    return {name: cos(radians(angle)) for name, angle in angle_at_travel(n).items()}


def speed_excess(n: Numbers) -> Routes:
    """Percent; the limit at the dead centres, taken 0.001 rad from them (error of the order of its square)."""
    near = 1e-3
    return {name: 100 * (at(near) / -at(near - pi) - 1) for name, at in rates(1.0, n["rod_in_cranks"]).items()}


# ---- Wellner: speeds and inertia at places of the piston -------------------------------------------------------------


@cache
def angle_at(place: float, rod: float) -> float:
    """Crank angle from the outer dead centre, radians, with the piston a part of its stroke from there; closed form."""
    motion = closed_form(1.0, rod)
    return float(brentq(lambda angle: float(motion.fraction(angle)) - place, 0.0, pi, xtol=1e-14))


def crank_over_piston(n: Numbers) -> Routes:
    """Speed of the crank pin over the piston's."""
    angle = angle_at(n["place"], n["rod"])
    return {name: 1 / at(angle) for name, at in rates(1.0, n["rod"]).items()}


def fastest(n: Numbers, place: bool) -> Routes:
    """Least of crank speed over piston speed, or where on the stroke it stands."""
    found, motion = {}, closed_form(1.0, n["rod"])
    for name, at in rates(1.0, n["rod"]).items():
        angle = minimize_scalar(lambda a, at=at: -at(a), bounds=(1.0, 1.6), method="bounded", options={"xatol": 1e-9}).x
        found[name] = float(motion.fraction(angle)) if place else 1 / at(angle)
    return found


def inertia_share(n: Numbers) -> Routes:
    """Inertia at the dead centre (rod without end) over mean pressure at which two areas of work are equal.

    The angles of both strokes are the product's; inertia by the book's own two terms.
    """
    place, slant = n["place"] / 2, 1 / n["rod"]
    out, home = angle_at(place, n["rod"]), pi - angle_at(1 - place, n["rod"])

    def difference(way: float) -> float:
        one, two = angle_at(way / 2, n["rod"]), pi - angle_at(1 - way / 2, n["rod"])
        return cos(one) + slant * cos(2 * one) - (cos(two) - slant * cos(2 * two))

    area = quad(difference, 0.0, n["place"], epsabs=1e-7, limit=40)[0]
    return {"closed form": 2 / pi * (home - out) / area}


# ---- Edler: the line beside the axle --------------------------------------------------------------------------------
# Rod and crank are of one length, so that the crank cannot pass all round: the linkage core, which solves whole turns,
# refuses the gear, and the closed form stands alone.


def beside(n: Numbers) -> Routes:
    """Slide pin from the foot of the normal, the crank so many degrees from that normal; crank and rod of 1."""
    angle = radians(90 - n["angle"])
    motion = closed_form(1.0, 1.0, n["offset"])
    return {"closed form": float(motion.crosshead(motion.front_direction - angle))}


def beside_rate(n: Numbers) -> Routes:
    """Speed of the slide pin over the crank pin's, away from the foot of the normal, times cos² of the rod's slant.

    The rod's slant is the book's own closed form: sin = offset - cos(angle).
    """
    angle = radians(90 - n["angle"])
    share = 1 - (n["offset"] - sin(angle)) ** 2
    motion = closed_form(1.0, 1.0, n["offset"])
    bent = np.imag(motion.crosshead(motion.front_direction - angle + 1e-30j)) * 1e30
    return {"closed form": float(bent) * share}


def beside_dead_centre(n: Numbers) -> Routes:
    """Crank from the normal at the outer dead centre, degrees."""
    motion = closed_form(1.0, 1.0, n["offset"])
    return {"closed form": 90 - degrees(motion.front_direction)}


# ---- Kuhn: how far the usual formulas err ----------------------------------------------------------------------------


def errors(rod: float) -> dict[str, tuple[Any, Any]]:
    """Piston's way, speed and acceleration, crank and its speed being 1: exact, and by the usual two terms."""
    angle, slant = np.linspace(0, pi, 3601), 1 / rod
    step = angle[1] - angle[0]
    solved, rate = crosshead_solved(1.0, rod, -np.concatenate([[-step], angle, [pi + step]]))
    rate = -rate
    return {
        "way": (solved[1] - solved[1:-1], 1 - np.cos(angle) + slant / 2 * np.sin(angle) ** 2),
        "speed": (rate[1:-1], np.sin(angle) + slant / 2 * np.sin(2 * angle)),
        "acceleration": ((rate[2:] - rate[:-2]) / (2 * step), np.cos(angle) + slant * np.cos(2 * angle)),
    }


def greatest_error(n: Numbers) -> Routes:
    exact, usual = errors(n["rod"])[n["of"]]
    return {"linkage core": float(np.abs(exact - usual).max())}


def error_percent(n: Numbers) -> Routes:
    """Where the error is greatest in the first quarter, percent of the exact (of the usual formula's, if so asked)."""
    exact, usual = (values[:1801] for values in errors(n["rod"])[n["of"]])
    at = int(np.abs(exact - usual).argmax())
    base = usual if n.get("over") == "usual" else exact
    return {"linkage core": float(100 * abs((exact - usual)[at] / base[at]))}


def way_beyond_middle(n: Numbers) -> Routes:
    """Crosshead short of the middle of its stroke with the crank upright; less a part, if given."""
    return {name: n["rod"] - at(pi / 2) - n.get("less", 0.0) for name, at in crossheads(n["crank"], n["rod"]).items()}


VALUES: dict[str, Callable[[Numbers], Routes]] = {
    "shaft to pin": shaft_to_pin,
    "travel": travel,
    "angle at travel": angle_at_travel,
    "cosine at travel": cosine_at_travel,
    "speed excess": speed_excess,
    "crank speed over piston speed": crank_over_piston,
    "least of crank speed over piston speed": lambda n: fastest(n, False),
    "place of the fastest piston": lambda n: fastest(n, True),
    "inertia over pressure": inertia_share,
    "beside the axle": beside,
    "beside the axle, rate": beside_rate,
    "beside the axle, dead centre": beside_dead_centre,
    "error of the usual formula": greatest_error,
    "error of the usual formula, percent": error_percent,
    "short of the middle": way_beyond_middle,
}
