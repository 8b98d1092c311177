"""What can be altered on an engine to set its valves: each with its least step, its limits and the shop's words.

The words, the usual steps and the hours stand with the key that is altered (:mod:`linkmotion.gears.shop_work`); what
an engine really has is for its file to say.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from linkmotion.gears import Gear, ReverserPosition
from linkmotion.gears.sensitivity import Key, declared
from linkmotion.gears.shop_work import ShopWork
from linkmotion.sides import BOTH
from linkmotion.studies.figures.dimensions import CENTRAL, dimensions_of
from linkmotion.studies.tolerances.tolerance import kind_of

_INCH = 25.4


@dataclass(frozen=True)
class Adjustment:
    """One thing that can be altered, on one side or on both at once.

    Attributes
    ----------
    key : (table, key)
        The dimension.
    side : str
        By its name, or "both" where it alters both sides at once.
    step : float
        Least alteration, mm or degrees.
    least, most : int
        Steps allowed, the one way and the other.
    work : ShopWork
        Its words and order.
    hours : float
        What it costs to do it at all.
    turn : float
        Where the step is part of a turn of a thread: how much of a turn; else 0.
    assumed : bool
        True where the engine file does not say it.
    hours_assumed : bool
        True where the engine file does not give its cost.
    """

    key: Key
    side: str
    step: float
    least: int
    most: int
    work: ShopWork
    hours: float
    turn: float = 0.0
    assumed: bool = False
    hours_assumed: bool = True

    @property
    def trims(self) -> bool:
        """Whether it may always be moved: the valve on its spindle, which has no figure of its own."""
        return self.key == CENTRAL

    @property
    def per_step(self) -> float:
        """What a step does to the dimension, mm or degrees (a longer spindle carries the valve ahead of its pin)."""
        return self.step * self.work.way

    def words(self, steps: int) -> str:
        """What is to be done, with ``{}`` for the amount.

        Parameters
        ----------
        steps : int
            Whose sign says which way.
        """
        return self.work.more if steps > 0 else self.work.less

    def on(self, side: str) -> bool:
        """Whether it alters a side."""
        return self.side in (side, BOTH)


@dataclass(frozen=True)
class Given:
    """What an engine file says of an adjustment: step and limits, mm or degrees; ``turn`` as in Adjustment; hours."""

    step: float
    least: float
    most: float
    turn: float = 0.0
    hours: float | None = None


def usual_adjustments(gear: Gear, setting: ReverserPosition, inches: bool) -> dict[Key, Given]:
    """What a gear of this kind usually has, with usual steps and limits; common practice, no source.

    Parameters
    ----------
    gear, setting : Gear, ReverserPosition
        Whose dimensions they are.
    inches : bool
        Whether steps are usual fractions of an inch, or millimetres; the result is mm and degrees.
    """
    found = {}
    for key in adjustable_keys(gear, setting):
        if (own := work_on(gear, key)).offered:
            angle = kind_of(gear, key) == "angle"
            step, most = own.degrees if angle else own.inches if inches else own.mm
            size = step * (_INCH if inches and not angle else 1.0)
            found[key] = Given(size, -most * size, most * size)
    return found


def work_on(gear: Gear, key: Key) -> ShopWork:
    """The work by which a dimension is altered: as declared with its key (the arms' angle: with the notches).

    Parameters
    ----------
    gear, key : Gear, (table, key)
        Any of its dimensions; for one that was declared without, the plainest words.
    """
    where = ("reversing", "notches") if key[1] == "arm angle" else key
    if key[1] not in ("die place", "stop angle") and (own := declared(gear, where).get("work")) is not None:
        return own  # type: ignore[no-any-return]
    name = " ".join(key).replace("_", " ")
    return ShopWork(name, f"make the {name} {{}} more", f"make the {name} {{}} less", 1, 4.0, offered=False)


def adjustable_keys(gear: Gear, setting: ReverserPosition) -> tuple[Key, ...]:
    """Every dimension that could be altered.

    Parameters
    ----------
    gear, setting : Gear, ReverserPosition
        Whose dimensions they are.
    """
    return dimensions_of(gear.as_set(), setting)


def adjustments_of(
    gear: Gear, given: dict[Key, Given], sides: Iterable[str] | None = None, assumed: bool = False
) -> tuple[Adjustment, ...]:
    """The adjustments of some sides, in the order of work; those shared by both sides once, and only for both.

    Parameters
    ----------
    gear : Gear
        In whose words they are told.
    given : dict
        By (table, key): step and limits, mm or degrees.
    sides : iterable of str
        Of the gear's own; all unless given.
    assumed : bool
        Whether the engine file does not say what is given.
    """
    wanted = gear.sides if sides is None else tuple(sides)
    found = []
    for key, own in given.items():
        least, most = (int(np.sign(limit) * np.floor(abs(limit) / own.step + 1e-9)) for limit in (own.least, own.most))
        work = work_on(gear, key)
        hours = work.hours if own.hours is None else own.hours
        plain = Adjustment(key, BOTH, own.step, least, most, work, hours, own.turn, assumed, own.hours is None)
        if not plain.work.shared:
            found += [replace(plain, side=side) for side in wanted]
        elif len(wanted) == len(gear.sides):  # with one side alone it would alter the other unseen
            found.append(plain if len(wanted) > 1 else replace(plain, side=wanted[0]))
    return tuple(sorted(found, key=lambda each: each.work.order))
