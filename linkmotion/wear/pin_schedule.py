"""A schedule of pins and bushes: what was found, and what to bore and turn to, joint by joint.

Lengths mm. A pin that is worn is turned down to ``turned_to`` and its bush made to that; else both are made to the
drawing's size.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from linkmotion.wear.bushes import FRICTION, BushPlan, plan
from linkmotion.wear.fits import Fit, Span
from linkmotion.wear.rings import Rings

_SAME = 1e-9  # mm: what two figures differ by in rounding


@dataclass(frozen=True)
class Pin:
    """A pin as drawn, and the bush in which it runs.

    Attributes
    ----------
    name : str
        Of the joint.
    size : float
        Diameter as drawn.
    turned_to : float or None
        Diameter to which a worn pin is turned; the drawing's unless given.
    inner, outer : Fit
        Pin in bush at the size that holds; bush in its housing, None where there is no bush.
    rings : Rings or None
        Bush and housing, where their sizes are all given.
    material : str
        Of the bush, in words.
    quantity : int
        In the whole engine.
    """

    name: str
    size: float
    turned_to: float | None
    inner: Fit
    outer: Fit | None
    rings: Rings | None
    material: str
    quantity: int

    @property
    def made_to(self) -> float:
        """The size that holds."""
        return self.size if self.turned_to is None else self.turned_to

    @property
    def metal(self) -> float:
        """What comes off the pin, on the diameter."""
        return self.size - self.made_to


@dataclass(frozen=True)
class Found:
    """Diameters as found: least and greatest of bush and pin."""

    bush: Span
    pin: Span

    @property
    def clearance(self) -> float:
        """Greatest bush less least pin, since both wear along the pull."""
        return self.bush.most - self.pin.least


@dataclass(frozen=True)
class Joint:
    """A line of the schedule.

    Attributes
    ----------
    pin : Pin
        As drawn and as it is to be.
    found : dict of Found
        By side.
    pressing : BushPlan or None
        Of a bush whose sizes are all given.
    remarks : tuple of (str, str, Span or float)
        Side, what is to be said with ``{}`` for the figure, and the figure, mm.
    """

    pin: Pin
    found: Mapping[str, Found]
    pressing: BushPlan | None
    remarks: tuple[tuple[str, str, float], ...]


def joint(pin: Pin, found: Mapping[str, Found]) -> Joint:
    """A line of the schedule.

    Parameters
    ----------
    pin, found : Pin, dict of Found
        As it is to be; as found, by side.

    Raises
    ------
    BushError
        The bush cannot be so.
    """
    pressing = None
    if pin.rings is not None and pin.outer is not None:
        pressing = plan(pin.rings, pin.outer, pin.inner, Span(*FRICTION))
    return Joint(pin, found, pressing, tuple(each for side, own in found.items() for each in _remarks(pin, side, own)))


def _remarks(pin: Pin, side: str, own: Found) -> list[tuple[str, str, float]]:
    told = []
    if own.pin.least < pin.inner.shaft.least - _SAME:
        words = "the pin does not clean up at this size: it is {} at its least; make it new, or turn it to less"
        told.append((side, words, own.pin.least))
    if own.bush.most > pin.inner.hole.most + _SAME:
        told.append((side, "the bush is beyond this size, {} at its greatest: bush it anew", own.bush.most))
    elif own.bush.least < pin.inner.hole.least - _SAME:
        told.append((side, "the bush is bored out from {}", own.bush.least))
    return told
