"""What the product finds for the printed figures of cylinder work, by every route."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from itertools import pairwise

import numpy as np
from scipy.integrate import fixed_quad
from scipy.optimize import brentq

from linkmotion.files.quantities import HORSEPOWER, PRESSURES
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.studies.steam.cylinder_work import CylinderWork, EndWork
from linkmotion.studies.steam.indicator import Conditions, EndDiagram
from linkmotion.valve import ENDS

Numbers = dict[str, float]
Routes = dict[str, float]
NO_CLEARANCE = 1e-9  # of the volume swept: changes no figure here by more than 3e-8
CRANK = CrankMotion(1.0, 5.0, 0.3, 0.0)  # an offset line: pressures against volume do not know of it


def ideal(end: str, cutoff: float, clearance: float, pressure: float = 1.0, back: float = 0.0) -> EndDiagram:
    """The books' diagram: steam from the end of the stroke to cutoff, expansion to its end, no compression."""
    steam = Conditions(pressure, back, clearance)
    turn = {"admission": 0.0, "cutoff": 0.0, "release": 0.0, "compression": 2 * np.pi - 1e-9}
    bare = EndDiagram(end, "forward", CRANK, turn, steam)
    far = float(CRANK.back_crank_angle) if end == "front" else 2 * np.pi - float(CRANK.back_crank_angle)
    at = brentq(lambda angle: float(bare.way(angle)) - cutoff, 0.0, far, xtol=1e-14)
    return EndDiagram(end, "forward", CRANK, turn | {"cutoff": at, "release": far}, steam)


def area(diagram: EndDiagram) -> float:
    """Area of the diagram by quadrature of pressure over volume, corner to corner; nothing of the closed form."""
    turned_back = float(brentq(diagram.way_rate, np.pi - 0.5, np.pi + 0.5, xtol=1e-14))
    ends = sorted({*(angle % (2 * np.pi) for angle in diagram.angle.values()), 0.0, turned_back, 2 * np.pi})
    return sum(
        float(fixed_quad(lambda a: diagram.pressure(a) * diagram.way_rate(a), low, high, n=60)[0])
        for low, high in pairwise(ends)
    )


def _by_route(diagram: Callable[[str], EndDiagram], value: Callable[[EndDiagram, float], float]) -> Routes:
    """A value from the mean pressure of each end, in closed form and by quadrature."""
    found: Routes = {}
    for end in ENDS:
        drawn = diagram(end)
        found |= {f"{end}, closed form": value(drawn, drawn.mean), f"{end}, quadrature": value(drawn, area(drawn))}
    return found


def unit_of_steam(n: Numbers) -> Routes:
    return _by_route(lambda end: ideal(end, n["cutoff"], NO_CLEARANCE), lambda drawn, mean: mean / drawn.taken)


def of_expansion(n: Numbers) -> Routes:
    def after(drawn: EndDiagram, mean: float) -> float:
        return n["before"] * (mean / n["cutoff"] - 1)

    found = _by_route(lambda end: ideal(end, n["cutoff"], NO_CLEARANCE), after)
    return found | {"expansion alone": n["before"] * ideal("front", n["cutoff"], NO_CLEARANCE).expanded / n["cutoff"]}


def mean_pressure(n: Numbers) -> Routes:
    return _by_route(lambda end: ideal(end, n["cutoff"], n["clearance"] / 100), lambda _, mean: mean)


def with_factor(factor: float, clearance: float) -> float:
    """Cutoff at which the mean pressure is a part of the pressure of admission."""
    return float(brentq(lambda k: ideal("front", k, clearance).mean - factor, 1e-3, 0.999, xtol=1e-14))


def mean_effective(n: Numbers) -> Routes:
    found: Routes = {}
    for clearance in (NO_CLEARANCE, 0.07):
        cutoff = with_factor(n["factor"], clearance)
        routes = _by_route(
            partial(ideal, cutoff=cutoff, clearance=clearance, pressure=n["pressure"], back=n["back"]), lambda _, m: m
        )
        found |= {f"clearance {clearance}, {name}": value for name, value in routes.items()}
    return found


def mean_from_left(n: Numbers) -> Routes:
    found: Routes = {}
    for clearance in (NO_CLEARANCE, 0.03):

        def short(k: float, c: float = clearance) -> float:
            return ideal("back", k, c, n["pressure"], n["back"]).mean - n["left"]

        cutoff = float(brentq(short, 1e-3, 0.999, xtol=1e-14))
        found[f"clearance {clearance}"] = ideal("back", cutoff, clearance).mean
    return found


def horsepower(n: Numbers) -> Routes:
    """Power of one cylinder, both ends alike: from the diagrams, and from the turning effort round the wheel."""
    psi, inch = PRESSURES["psi"], 25.4
    pressure = n["pressure"] * psi / ideal("front", 0.5, 0.05).mean
    ends = tuple(
        EndWork("left", end, ideal(end, 0.5, 0.05, pressure), "", n["area"] * inch**2, n["stroke"] * 12 * inch, {})
        for end in ENDS
    )
    steam = Conditions(pressure, 0.0, 0.05)
    work = CylinderWork("drawing", "full", "forward", ends, steam, 1.0, {"left": 0.0})
    turned = [0.0, *work.corners, 2 * np.pi]
    by_wheel = sum(fixed_quad(work.torque, low, high, n=60)[0] for low, high in pairwise(turned))
    turns = n["strokes"] / 2
    return {"diagrams": work.power(turns) / HORSEPOWER, "wheel": by_wheel * turns / 60 / HORSEPOWER}


VALUES: dict[str, Callable[[Numbers], Routes]] = {
    "work of a unit of steam": unit_of_steam,
    "work of expansion": of_expansion,
    "mean pressure": mean_pressure,
    "mean effective pressure": mean_effective,
    "mean pressure from what it leaves": mean_from_left,
    "horsepower": horsepower,
}
