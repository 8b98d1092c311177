"""Small linkages that exercise every closed-form step, cut and closure, with their equations written apart.

Each is declared to the product, and its free pins (in the order of declaration) are tied by equations
in their coordinates, for ``scipy.optimize.fsolve``. ``crank(w)`` is where the crank pin stands.
"""

from __future__ import annotations

import cmath
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import fsolve

from linkmotion.linkage import Linkage

Pins = dict[str, complex]
CRANK = 60.0  # mm


@dataclass(frozen=True)
class Small:
    """A linkage, its free pins' equations (all zero, mm), and where it stands with the wheel at angle zero."""

    declare: Callable[[], Linkage]
    equations: Callable[[Pins], list[float]]
    start: Pins

    def stand(self, wheel: np.ndarray[Any, Any]) -> dict[str, np.ndarray[Any, Any]]:
        """Free pins at each wheel angle (radians), each found from the one before."""
        names, flat = list(self.start), _flat(self.start)
        rows = []
        for angle in wheel:

            def closures(x: Any, angle: float = angle) -> list[float]:
                return self.equations(_pins(names, x) | {"crank pin": CRANK * cmath.exp(1j * angle)})

            flat, _told, reached, _words = fsolve(closures, flat, full_output=True, xtol=1e-13)
            assert reached == 1 or max(map(abs, closures(flat))) < 1e-9
            rows.append(flat)
        return {
            name: np.array(rows) @ np.eye(2 * len(names))[:, 2 * k : 2 * k + 2] @ [1, 1j]
            for k, name in enumerate(names)
        }


def _flat(pins: Pins) -> list[float]:
    return [part for pin in pins.values() for part in (pin.real, pin.imag)]


def _pins(names: list[str], x: Any) -> Pins:
    return {name: complex(x[2 * k], x[2 * k + 1]) for k, name in enumerate(names)}


def far(a: complex, b: complex, length: float) -> float:
    """Left over of a rod."""
    return abs(a - b) - length


def beside(pin: complex, a: complex, b: complex, offset: float = 0.0) -> float:
    """Left over of a pin on the line from a to b, ``offset`` to its left."""
    return ((pin - a) / (b - a)).imag * abs(b - a) - offset


def off_guide(pin: complex, origin: complex, direction: float) -> float:
    """Left over of a guide."""
    return ((pin - origin) * cmath.exp(-1j * direction)).imag


def _zero(left: complex) -> tuple[float, float]:
    return left.real, left.imag


def begun(*free: tuple[str, complex]) -> Linkage:
    """A linkage with a crank about the origin, and free pins in their sketched places."""
    linkage = Linkage()
    linkage.fixed("axle", 0.0, 0.0)
    linkage.crank("crank pin", "axle", CRANK)
    for name, place in free:
        linkage.pin(name, (place.real, place.imag))
    return linkage


def bar_between_guides(rod: float, near: float) -> Linkage:
    """A bar of 50 leaning forward between guides at heights 0 and 40, and a rod from the crank to its middle."""
    linkage = begun(("lower", near - 15.0 + 0j), ("upper", near + 15.0 + 40j), ("middle", near + 20j))
    linkage.plate("bar", {"lower": (0.0, 0.0), "middle": (25.0, 0.0), "upper": (50.0, 0.0)})
    linkage.guide("lower guide", "lower", (0.0, 0.0), 0.0)
    linkage.guide("upper guide", "upper", (0.0, 40.0), 0.0)
    linkage.rod("rod", "crank pin", "middle", rod)
    return linkage


# ---- one step each --------------------------------------------------------------------------------------------------


def slider_crank() -> Linkage:
    linkage = begun(("crosshead", 400 + 30j))
    linkage.rod("connecting rod", "crank pin", "crosshead", 380.0)
    linkage.guide("slidebars", "crosshead", (5.0, 12.0), 0.1)
    return linkage


def four_bar() -> Linkage:
    linkage = begun(("rocker pin", 260 + 230j))
    linkage.fixed("rocker shaft", 330.0, -20.0)
    linkage.rod("coupler", "crank pin", "rocker pin", 310.0)
    linkage.rod("rocker", "rocker shaft", "rocker pin", 260.0)
    return linkage


def coupler_plate() -> Linkage:
    linkage = begun(("rocker pin", 260 + 230j), ("tracer", 150 + 200j))
    linkage.fixed("rocker shaft", 330.0, -20.0)
    linkage.plate("coupler", {"crank pin": (10.0, 5.0), "rocker pin": (320.0, 5.0), "tracer": (150.0, 85.0)})
    linkage.rod("rocker", "rocker shaft", "rocker pin", 260.0)
    return linkage


def carried_pin() -> Linkage:
    """The carried pin is placed first and its carrier follows; a second arm is carried by the carrier."""
    linkage = begun(("arm pin", 420 - 50j), ("crosshead", 400 + 10j), ("drop", 390 - 90j))
    linkage.carried("arm", "arm pin", "crosshead", (20.0, -60.0))
    linkage.carried("drop arm", "drop", "crosshead", (-10.0, -100.0))
    linkage.rod("connecting rod", "crank pin", "arm pin", 410.0)
    linkage.guide("slidebars", "arm pin", (0.0, -40.0), -0.05)
    return linkage


def slotted_lever() -> Linkage:
    """A lever from a fixed shaft through the crank pin; a rod from a fixed pin slides along it."""
    linkage = begun(("slider", 20 + 350j))
    linkage.fixed("shaft", -40.0, -220.0)
    linkage.fixed("anchor", 330.0, 60.0)
    linkage.rod("rod", "anchor", "slider", 430.0)
    linkage.slide("slot", "slider", "shaft", "crank pin", 14.0)
    return linkage


def swivel_block() -> Linkage:
    """A rod from the crank pin runs through a swivel block and on to its far end."""
    linkage = begun(("far end", 600 + 50j))
    linkage.fixed("block", 320.0, 25.0)
    linkage.rod("rod", "crank pin", "far end", 520.0)
    linkage.slide("swivel", "block", "far end", "crank pin", 15.0)
    return linkage


def swivel_block_on_a_tail() -> Linkage:
    """The same with the rod short of the block: its line goes through it."""
    linkage = begun(("near end", 210 + 5j))
    linkage.fixed("block", 320.0, 25.0)
    linkage.rod("rod", "crank pin", "near end", 130.0)
    linkage.slide("swivel", "block", "crank pin", "near end", -15.0)
    return linkage


def square_block() -> Linkage:
    """A crosshead moved by a slot square to a slanting guide (a Scotch yoke)."""
    linkage = begun(("crosshead", 90 + 40j))
    linkage.guide("slidebars", "crosshead", (0.0, 30.0), 0.2)
    linkage.abreast("yoke", "crosshead", "crank pin", 0.05)
    return linkage


# ---- loops: nothing can be placed without a cut ---------------------------------------------------------------------

POINTS = {"one": 0 + 0j, "two": 220 + 30j, "three": -20 - 110j}
SHAFTS = {"upper": 505 + 320j, "lower": 275 - 310j}


def _floating(*free: tuple[str, complex]) -> Linkage:
    """A plate of three pins, the first on a rod from the crank."""
    linkage = begun(("one", 230 + 30j), ("two", 450 + 60j), ("three", 210 - 80j), *free)
    linkage.plate("plate", {name: (place.real, place.imag) for name, place in POINTS.items()})
    linkage.rod("drive rod", "crank pin", "one", 230.0)
    for name, place in SHAFTS.items():
        linkage.fixed(name, place.real, place.imag)
    return linkage


def _rigid(p: Pins) -> list[float]:
    return [
        far(p[a], p[b], abs(POINTS[a] - POINTS[b])) for a, b in (("one", "two"), ("one", "three"), ("two", "three"))
    ]


def held_by_three_rods() -> Linkage:
    linkage = _floating()
    linkage.rod("upper rod", "upper", "two", 260.0)
    linkage.rod("lower rod", "lower", "three", 230.0)
    return linkage


def held_by_a_guide() -> Linkage:
    linkage = _floating()
    linkage.rod("upper rod", "upper", "two", 260.0)
    linkage.guide("slidebars", "three", (0.0, -88.0), 0.03)
    return linkage


def held_by_a_block() -> Linkage:
    """The plate's edge one–two slides through a fixed block."""
    linkage = _floating()
    linkage.rod("lower rod", "lower", "three", 230.0)
    linkage.slide("swivel", "upper", "one", "two", 257.0)
    return linkage


def held_abreast(side_rod: float = 268.0) -> Linkage:
    """A crosshead on slanting bars, kept abreast of one pin of the plate, with a rod to another."""
    linkage = _floating(("crosshead", 190 + 140j))
    linkage.rod("upper rod", "upper", "two", 260.0)
    linkage.rod("side rod", "crosshead", "two", side_rod)
    linkage.guide("slidebars", "crosshead", (0.0, 150.0), -0.04)
    linkage.abreast("yoke", "three", "crosshead", 0.1)
    return linkage


def abreast(side_rod: float) -> Small:
    """The plate held abreast; with a side rod of 242 it leans 12 degrees away from its sketch."""
    return Small(
        lambda: held_abreast(side_rod),
        lambda p: [
            *_rigid(p), far(p["crank pin"], p["one"], 230.0), far(SHAFTS["upper"], p["two"], 260.0),
            far(p["crosshead"], p["two"], side_rod), off_guide(p["crosshead"], 150j, -0.04),
            ((p["three"] - p["crosshead"]) * cmath.exp(-0.1j)).real,
        ],
        {"one": 290 + 30j, "two": 510 + 60j, "three": 270 - 80j, "crosshead": 250 + 140j},
    )  # fmt: skip


SMALL: dict[str, Small] = {
    "slider crank": Small(
        slider_crank,
        lambda p: [far(p["crank pin"], p["crosshead"], 380.0), off_guide(p["crosshead"], 5 + 12j, 0.1)],
        {"crosshead": 460 + 50j},
    ),
    "four bar": Small(
        four_bar,
        lambda p: [far(p["crank pin"], p["rocker pin"], 310.0), far(330 - 20j, p["rocker pin"], 260.0)],
        {"rocker pin": 300 + 230j},
    ),
    "coupler plate": Small(
        coupler_plate,
        lambda p: [
            far(p["crank pin"], p["rocker pin"], 310.0), far(330 - 20j, p["rocker pin"], 260.0),
            far(p["crank pin"], p["tracer"], abs(140 + 80j)), far(p["rocker pin"], p["tracer"], abs(170 - 80j)),
        ],
        {"rocker pin": 300 + 230j, "tracer": 150 + 220j},
    ),
    "carried pin": Small(
        carried_pin,
        lambda p: [
            far(p["crank pin"], p["arm pin"], 410.0), off_guide(p["arm pin"], -40j, -0.05),
            *_zero(p["arm pin"] - p["crosshead"] - (20 - 60j)), *_zero(p["drop"] - p["crosshead"] - (-10 - 100j)),
        ],
        {"arm pin": 495 - 65j, "crosshead": 475 - 5j, "drop": 465 - 105j},
    ),
    "slotted lever": Small(
        slotted_lever,
        lambda p: [far(330 + 60j, p["slider"], 430.0), beside(p["slider"], -40 - 220j, p["crank pin"], 14.0)],
        {"slider": 120 + 430j},
    ),
    "swivel block": Small(
        swivel_block,
        lambda p: [far(p["crank pin"], p["far end"], 520.0), beside(320 + 25j, p["far end"], p["crank pin"], 15.0)],
        {"far end": 605 + 50j},
    ),
    "swivel block on a tail": Small(
        swivel_block_on_a_tail,
        lambda p: [far(p["crank pin"], p["near end"], 130.0), beside(320 + 25j, p["crank pin"], p["near end"], -15.0)],
        {"near end": 215 + 5j},
    ),
    "square block": Small(
        square_block,
        lambda p: [
            off_guide(p["crosshead"], 30j, 0.2),
            ((p["crosshead"] - p["crank pin"]) * cmath.exp(-0.05j)).real,
        ],
        {"crosshead": 90 + 48j},
    ),
    "held by three rods": Small(
        held_by_three_rods,
        lambda p: [
            *_rigid(p), far(p["crank pin"], p["one"], 230.0), far(SHAFTS["upper"], p["two"], 260.0),
            far(SHAFTS["lower"], p["three"], 230.0),
        ],
        {"one": 290 + 30j, "two": 510 + 60j, "three": 270 - 80j},
    ),
    "held by a guide": Small(
        held_by_a_guide,
        lambda p: [
            *_rigid(p), far(p["crank pin"], p["one"], 230.0), far(SHAFTS["upper"], p["two"], 260.0),
            off_guide(p["three"], -88j, 0.03),
        ],
        {"one": 290 + 30j, "two": 510 + 60j, "three": 270 - 80j},
    ),
    "held by a block": Small(
        held_by_a_block,
        lambda p: [
            *_rigid(p), far(p["crank pin"], p["one"], 230.0), far(SHAFTS["lower"], p["three"], 230.0),
            beside(SHAFTS["upper"], p["one"], p["two"], 257.0),
        ],
        {"one": 290 + 30j, "two": 510 + 60j, "three": 270 - 80j},
    ),
    "held abreast": abreast(268.0),
}  # fmt: skip

LOOPS = tuple(name for name in SMALL if name.startswith("held"))
