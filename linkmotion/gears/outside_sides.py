"""Tables of both sides of an engine in one gear: the same keys, each marked as its own side's.

What a key is the length of, slips about, or is altered by is then the left's or the right's; what the table can do it
does as before.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, fields, replace
from typing import Any, TypeVar

from linkmotion.gears.book import Number
from linkmotion.gears.combination_lever import CombinationLever, UnionLink
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.gears.keys import in_degrees, in_mm
from linkmotion.gears.return_crank import ReturnCrank
from linkmotion.gears.rocked_link import ExpansionLink
from linkmotion.gears.shop_work import ShopWork, lengthened
from linkmotion.gears.walschaerts import EccentricRod
from linkmotion.sides import side_words

LEFT, RIGHT = "left", "right"
ACROSS = "Square and rule from a line stretched along the engine's middle."
Table = TypeVar("Table")


def of_side(side: str) -> Callable[[type[Table]], type[Table]]:
    """Make a table of the one it derives from, its keys those of one side of the engine.

    Parameters
    ----------
    side : str
        "left" or "right".
    """

    def made(table: type[Table]) -> type[Table]:
        for key in fields(table):  # type: ignore[arg-type]
            table.__annotations__[key.name] = key.type
            setattr(table, key.name, field(default=key.default, metadata=_of_its_side(key.metadata, side)))
        return dataclass(frozen=True, kw_only=True)(table)

    return made


def _of_its_side(said: Any, side: str) -> dict[str, Any]:
    """What a key was declared to be, of one side; the other figures by which an angle may be read are not carried."""
    own = {**said, "meaning": f"{side_words(side)}: {said['meaning']}"} | (
        {"readings": ()} if "readings" in said else {}
    )
    own |= {mark: f"{side} {said[mark]}" for mark in ("rod", "slips") if said.get(mark)}
    if pin := said.get("pin"):
        own["pin"] = (f"{side} {pin[0]}", pin[1])
    own["side"] = side
    if work := said.get("work"):
        own["work"] = _work_of_side(work, side)
    return own


def _work_of_side(work: ShopWork, side: str) -> ShopWork:
    more, less = (words.replace(f"the {work.name}", f"the {side} {work.name}") for words in (work.more, work.less))
    return replace(work, name=f"{side} {work.name}", more=more, less=less)


@dataclass(frozen=True, kw_only=True)
class OutsideEngine:
    """An outside crank, connecting rod, crosshead and valve spindle."""

    crank_angle: Number = in_degrees("its crank pin ahead of the middle one, + leading in forward running")
    connecting_rod: Number = in_mm("connecting rod, centres", rod="connecting rod")
    line_height: Number = in_mm(
        "height of its cylinder's line above the axle, square to the line", 0.0, signed=True, frame="line"
    )
    inclination: Number = in_degrees("slope of its cylinder's line, + rising to the front", 0.0)
    arm_x: Number = in_mm("union-link pin ahead of its crosshead pin", 0.0, signed=True)
    arm_y: Number = in_mm("union-link pin above its crosshead pin (negative below)", signed=True)
    guide_height: Number = in_mm("height of its valve spindle's line, where it crosses x = 0", signed=True, frame="y")
    spindle_reach: Number = in_mm(
        "from the pin that drives its valve spindle to the lever link's pin on it, + ahead",
        signed=True,
        work=lengthened("spindle crosshead", 4, 1.0),
        how="Along the spindle, pin to pin, tape or trammel.",
    )
    spindle_across: Number = in_mm(
        "its valve spindle from the engine's middle plane, + to the left",
        signed=True,
        how=ACROSS,
    )


@dataclass(frozen=True, kw_only=True)
class OutsideRod:
    """A radius rod and the lifting link that carries it."""

    length: Number = in_mm(
        "radius rod, die pin to combination-lever pin",
        rod="radius rod",
        work=lengthened("radius rod", 5, 4.0, offered=False),
    )
    lift_pin: Number = in_mm("lift pin from the die pin toward the lever (negative: tail behind the link)", signed=True)
    lift_pin_rise: Number = in_mm("lift pin above the rod's line", 0.0, signed=True)
    lifting_link: Number = in_mm("lifting link, centres", rod="lifting link", work=lengthened("lifting link", 4, 3.0))


@of_side(LEFT)
class LeftEngine(OutsideEngine):
    """The left one."""


@of_side(RIGHT)
class RightEngine(OutsideEngine):
    """The right one."""


class _Told(ReturnCrank):
    """A return crank whose derived figures are told as its side's."""

    def derived(self, crank: CrankMotion) -> dict[str, tuple[Any, str]]:
        side = LEFT if isinstance(self, LeftReturnCrank) else RIGHT
        return {f"{side} {words}": own for words, own in super().derived(crank).items()}


@of_side(LEFT)
class LeftReturnCrank(_Told):
    """Left return crank."""


@of_side(RIGHT)
class RightReturnCrank(_Told):
    """Right return crank."""


@of_side(LEFT)
class LeftEccentricRod(EccentricRod):
    """Left eccentric rod."""


@of_side(RIGHT)
class RightEccentricRod(EccentricRod):
    """Right eccentric rod."""


@of_side(LEFT)
class LeftExpansionLink(ExpansionLink):
    """Left expansion link."""


@of_side(RIGHT)
class RightExpansionLink(ExpansionLink):
    """Right expansion link."""


@of_side(LEFT)
class LeftRadiusRod(OutsideRod):
    """Left radius rod."""


@of_side(RIGHT)
class RightRadiusRod(OutsideRod):
    """Right radius rod."""


@of_side(LEFT)
class LeftCombinationLever(CombinationLever):
    """Left combination lever."""


@of_side(RIGHT)
class RightCombinationLever(CombinationLever):
    """Right combination lever."""


@of_side(LEFT)
class LeftUnionLink(UnionLink):
    """Left union link."""


@of_side(RIGHT)
class RightUnionLink(UnionLink):
    """Right union link."""
