"""What can be altered on an engine to set its valves: each with its least step, its limits and the shop's words.

The words, the steps and the effort of the usual ones stand in :data:`USUAL`; what an engine really has is for its
file to say. Nothing here has a source: it is common practice.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from linkmotion.engine import SIDES
from linkmotion.gears import Gear, Setting, Walschaerts
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.figures.dimensions import CENTRAL, dimensions_of
from linkmotion.studies.tolerances.tolerance import kind_of

BOTH = "both"
_INCH = 25.4


@dataclass(frozen=True)
class Usual:
    """An adjustment that gears have, in the words of the shop.

    Attributes
    ----------
    name : str
        The part.
    more, less : str
        What is done for a positive and a negative amount, with ``{}`` for the amount.
    order : int
        Place in the order of work: what upsets everything after it comes first, the valve on its spindle last.
    effort : float
        Cost of doing it at all, a locknut on the spindle being 1.
    inches, mm, degrees : (float, int)
        Usual step in the unit (inches for files of inches), and most steps either way.
    shared : bool
        True where it alters both sides at once.
    offered : bool
        Whether it is assumed where the engine file says nothing.
    way : int
        −1 where more of it is less of the dimension.
    """

    name: str
    more: str
    less: str
    order: int
    effort: float
    inches: tuple[float, int] = (1 / 64, 8)
    mm: tuple[float, int] = (0.5, 6)
    degrees: tuple[float, int] = (0.25, 6)
    shared: bool = False
    offered: bool = True
    way: int = 1


def _length(name: str, order: int, effort: float, way: int = 1) -> Usual:
    return Usual(name, f"lengthen the {name} by {{}}", f"shorten the {name} by {{}}", order, effort, way=way)


def _turned(name: str, upon: str) -> Usual:
    words = f"turn the {name} on its {upon} so that it stands {{}} further"
    return Usual(name, f"{words} ahead", f"{words} back", 2, 4.0)


USUAL: dict[Key, Usual] = {
    ("expansion_link", "trunnion_x"): Usual(
        "link bracket", "pack the link bracket forward by {}", "pack the link bracket back by {}", 1, 5.0,
    ),
    ("expansion_link", "trunnion_y"): Usual(
        "link bracket", "pack the link bracket up by {}", "let the link bracket down by {}", 1, 5.0, offered=False,
    ),
    ("return_crank", "angle"): Usual(
        "return crank", "turn the return crank on the crank pin, its pin {} further ahead",
        "turn the return crank on the crank pin, its pin {} further back", 2, 4.0, degrees=(0.1, 10),
    ),
    ("eccentrics", "forward_angle"): _turned("fore-gear eccentric", "axle"),
    ("eccentrics", "backward_angle"): _turned("back-gear eccentric", "axle"),
    ("eccentric", "angle"): _turned("eccentric", "shaft"),
    ("eccentric", "backward_angle"): replace(_turned("backward stop of the eccentric", "shaft"), offered=False),
    ("expansion_link", "hanger"): replace(_length("link's suspension link", 3, 3.0), offered=False),
    ("reversing", "arm angle"): Usual(
        "reach rod", "alter the reach rod so that the lifting arms stand {} higher",
        "alter the reach rod so that the lifting arms stand {} lower", 3, 2.0, shared=True,
    ),
    ("reversing", "lifting_link"): _length("lifting link", 4, 3.0),
    ("reversing", "rod_lifting_link"): _length("radius rod's lifting link", 4, 3.0),
    ("radius_rod", "length"): replace(_length("radius rod", 5, 4.0), offered=False),
    ("eccentric_rod", "length"): _length("eccentric rod", 5, 2.0),
    ("eccentric_rods", "forward"): _length("fore-gear eccentric rod", 5, 2.0),
    ("eccentric_rods", "backward"): _length("back-gear eccentric rod", 5, 2.0),
    ("valve", "spindle_rod"): replace(_length("intermediate valve rod", 5, 2.0), offered=False),
    CENTRAL: _length("valve spindle", 6, 1.0, way=-1),
}  # fmt: skip
"""Adjustments by the dimension that they alter, in the words of the shop."""


@dataclass(frozen=True)
class Adjustment:
    """One thing that can be altered, on one side or on both at once.

    Attributes
    ----------
    key : (table, key)
        The dimension.
    side : str
        "left", "right", or "both" where it alters both sides at once.
    step : float
        Least alteration, mm or degrees.
    least, most : int
        Steps allowed, the one way and the other.
    turn : float
        Where the step is part of a turn of a thread: how much of a turn; else 0.
    assumed : bool
        True where the engine file does not say it.
    """

    key: Key
    side: str
    step: float
    least: int
    most: int
    turn: float = 0.0
    assumed: bool = False

    @property
    def usual(self) -> Usual:
        """Its words, order and effort."""
        if self.key in USUAL:
            return USUAL[self.key]
        name = " ".join(self.key).replace("_", " ")
        return Usual(name, f"make the {name} {{}} more", f"make the {name} {{}} less", 1, 4.0, offered=False)

    @property
    def per_step(self) -> float:
        """What a step does to the dimension, mm or degrees (a longer spindle carries the valve ahead of its pin)."""
        return self.step * self.usual.way

    def words(self, steps: int) -> str:
        """What is to be done, with ``{}`` for the amount."""
        return self.usual.more if steps > 0 else self.usual.less

    def on(self, side: str) -> bool:
        """Whether it alters a side."""
        return self.side in (side, BOTH)


@dataclass(frozen=True)
class Given:
    """What an engine file says of an adjustment: step and limits, mm or degrees; ``turn`` as in Adjustment."""

    step: float
    least: float
    most: float
    turn: float = 0.0


def usual_adjustments(gear: Gear, setting: Setting, inches: bool) -> dict[Key, Given]:
    """What a gear of this kind usually has, with usual steps and limits."""
    found = {}
    for key in adjustable_keys(gear, setting):
        if key in USUAL and USUAL[key].offered:
            own = USUAL[key]
            angle = kind_of(gear, key) == "angle"
            step, most = own.degrees if angle else own.inches if inches else own.mm
            size = step * (_INCH if inches and not angle else 1.0)
            found[key] = Given(size, -most * size, most * size)
    return found


def adjustable_keys(gear: Gear, setting: Setting) -> tuple[Key, ...]:
    """Every dimension that could be altered."""
    return dimensions_of(by_crank_pin(gear), setting)


def adjustments_of(
    given: dict[Key, Given], sides: Iterable[str] = SIDES, assumed: bool = False
) -> tuple[Adjustment, ...]:
    """The adjustments of some sides, in the order of work; those shared by both sides once, and only for both."""
    wanted = tuple(sides)
    found = []
    for key, own in given.items():
        least, most = (int(np.sign(limit) * np.floor(abs(limit) / own.step + 1e-9)) for limit in (own.least, own.most))
        plain = Adjustment(key, BOTH, own.step, least, most, own.turn, assumed)
        if not plain.usual.shared:
            found += [replace(plain, side=side) for side in wanted]
        elif len(wanted) == len(SIDES):  # with one side alone it would alter the other unseen
            found.append(plain)
    return tuple(sorted(found, key=lambda each: each.usual.order))


def by_crank_pin(gear: Gear) -> Gear:
    """The gear with its return crank given by length and angle: turned on the crank pin, it keeps its length.

    So the radius of its pin's circle follows, which a turn on the crank pin changes more than it does the angle.
    """
    if not isinstance(gear, Walschaerts) or gear.return_crank.pin_radius is None:
        return gear
    crank = gear.crank.radius
    radius, angle = gear.return_crank.polar(crank)
    length = np.sqrt(crank**2 + radius**2 - 2 * crank * radius * np.cos(angle))
    own = replace(gear.return_crank, length=length, angle=np.degrees(angle), pin_radius=None, sense=None)
    other_root = abs(own.polar(crank)[0] - radius) > 1e-6  # a pin between axle and crank pin, which no engine has
    return gear if other_root else replace(gear, return_crank=own)
