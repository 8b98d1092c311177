"""What the drawing is made from: a gear's parts, where every pin goes in every notch, and a few sizes beside."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from linkmotion.elevation.outlines import number
from linkmotion.gears import Gear, ReverserPosition
from linkmotion.gears.frame import CRANK, VALVE_GUIDE
from linkmotion.linkage import Linkage, Solution
from linkmotion.linkage.parts import Crank, Fixed, Guide, Part

_STILL = 1e-6  # mm
P = TypeVar("P", bound=Part)


@dataclass(frozen=True)
class Given:
    """Sizes that an engine file may give beside the gear, mm; what is not given is drawn in proportion to the crank.

    Attributes
    ----------
    wheel : float or None
        Driving wheel over the tread.
    bore, piston_rod : float or None
        Of the cylinder; diameter of the rod.
    slot_width, die_length : float or None
        Of the link and its die block.
    """

    wheel: float | None = None
    bore: float | None = None
    piston_rod: float | None = None
    slot_width: float | None = None
    die_length: float | None = None


@dataclass(frozen=True, eq=False)
class Paths:
    """A side's gear and the paths of its pins.

    Attributes
    ----------
    gear : Gear
        The gear that was turned.
    linkage : Linkage
        Its parts.
    notches : tuple of str
        S names.
    settings : tuple of ReverserPosition
        Where the reverser stands in each.
    pins : dict
        Places by pin, complex mm, shape (S, N), running forward from front dead centre.
    central_at : float
        Place of the spindle pin along its guide with the valve central, mm.
    reach : float
        By how much the valve leaves the middle at most, mm.
    given : Given
        Other sizes.
    """

    gear: Gear
    linkage: Linkage
    notches: tuple[str, ...]
    settings: tuple[ReverserPosition, ...]
    pins: dict[str, NDArray[np.complex128]]
    central_at: float
    reach: float
    given: Given

    @classmethod
    def of(
        cls,
        gear: Gear,
        turned: Solution,
        notches: Sequence[str],
        settings: Sequence[ReverserPosition],
        central_at: float,
        reach: float,
        given: Given,
    ) -> Paths:
        """From a gear turned once round in all of its notches."""
        shape = (len(notches), turned.shape[-1])
        pins = {name: np.asarray(np.broadcast_to(turned[name], shape), np.complex128) for name in turned.linkage.names}
        return cls(gear, turned.linkage, tuple(notches), tuple(settings), pins, central_at, reach, given)

    @cached_property
    def names(self) -> list[str]:
        """Pins by number."""
        return list(self.linkage.names)

    @cached_property
    def r(self) -> float:
        """The crank's radius, mm, to which everything is in proportion that no dimension gives."""
        return number(self.gear.crank.radius)

    def parts(self, kind: type[P]) -> Iterator[P]:
        """The linkage's parts of a kind."""
        return (part for part in self.linkage.parts if isinstance(part, kind))

    @cached_property
    def valve_guide(self) -> Guide:
        """The line of the valve-spindle pin."""
        return next(guide for guide in self.parts(Guide) if guide.name == VALVE_GUIDE)

    @cached_property
    def frame_pins(self) -> list[str]:
        """Pins fixed to the frame, and those that the reverser shifts."""
        return [self.names[part.pin] for part in self.parts(Fixed)]

    @cached_property
    def standing(self) -> list[str]:
        """Pins that stand at one place whatever is done."""
        return [pin for pin in self.frame_pins if float(np.max(np.abs(self.pins[pin] - self.pins[pin][0, 0]))) < _STILL]

    @cached_property
    def wheel_pins(self) -> list[str]:
        """Pins that turn with the wheel."""
        return [self.names[part.pin] for part in self.parts(Crank)]

    @cached_property
    def sheaves(self) -> dict[str, str]:
        """Eccentrics: the pin at the centre of each, and the name of the arm from the axle to it.

        An arm that is nearly as long as the crank is a crank (the other side's).
        """
        arms = {end: (name, start) for name, start, end in self.gear.arms}
        found = {}
        for pin in self.wheel_pins:
            name, start = arms.get(pin, (pin, CRANK[1]))
            throw = float(np.abs(self.pins[pin][0, 0] - self.place(CRANK[1])))
            if pin != CRANK[2] and start == CRANK[1] and throw < _AS_A_CRANK * self.r:
                found[pin] = name
        return found

    @cached_property
    def reversing_arm(self) -> tuple[str, str, str] | None:
        """The arm by which the reverser is told: its name, its shaft and its end; none where nothing turns."""
        for name, shaft, end in self.gear.arms:
            if shaft in self.standing and end in self.frame_pins and end not in self.standing:
                long = np.abs(self.pins[end][:, 0] - self.pins[shaft][:, 0])
                if float(np.ptp(long)) < 1e-6 * float(np.max(long)):
                    return name, shaft, end
        return None

    def place(self, pin: str) -> complex:
        """Where a pin that stands still stands."""
        return complex(self.pins[pin][0, 0])

    def mates(self, pin: str, part: Part) -> list[Part]:
        """The other parts on a pin."""
        at = self.linkage.names[pin]
        return [each for each in self.linkage.parts if each is not part and at in each.pins]


_AS_A_CRANK = 0.8  # crank radii


def plain(value: Any) -> complex:
    """A place (x, y) as one complex number."""
    return complex(number(value[0]), number(value[1]))
