r"""What trammel and tape measure on a gear put together: how far two pins are apart, and where a pin stands.

With a and b the places of two pins, their distance is \|a − b\|, and its derivative to a shift of a is the unit
vector from b to a. A place is counted along a direction e, from a pin on (the axle, where no other is named):
Re(ē (a − b)). The directions of the spindle's guide and of the cylinder's line turn with their own inclinations.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears import Gear
from linkmotion.gears.book import RADIAN
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.sensitivity import Key
from linkmotion.linkage import Linkage, Solution

Array = NDArray[Any]
Pins = Callable[[str], Array]
AXLE, SPINDLE_PIN = "axle", "spindle pin"
UP, AHEAD, GUIDE, LINE = "y", "x", "guide", "line"
ALONG: dict[str, Key | None] = {
    AHEAD: None, UP: None, GUIDE: ("valve", "guide_inclination"), LINE: ("cylinder", "inclination"),
}  # fmt: skip
"""Directions in which a place is counted, forward or up, and the inclination with which each turns."""
_NO_PIN = "slot"  # points of the slot's drawing, at which there is nothing to measure to


@dataclass(frozen=True)
class Spot:
    """Two pins, and how the one is measured from the other.

    Attributes
    ----------
    pin, since : str
        Names of pins as the linkage has them; ``since`` is the axle unless another is named.
    along : str
        "" for their distance; else the direction in which ``pin`` is counted from ``since``, + forward or up: one of
        :data:`ALONG`.
    mark : str
        Of a place: a mark that somebody made, or a face, from which it was measured and of which nothing is known but
        that it is on the frame; "" where it was measured from ``since``.

    Examples
    --------
    >>> str(Spot("die pin", "trunnion")), str(Spot("spindle pin", along="guide", mark="chest face"))
    ('die pin to trunnion', 'spindle pin from chest face along the guide')
    """

    pin: str
    since: str = AXLE
    along: str = ""
    mark: str = ""

    def __str__(self) -> str:
        if not self.along:
            return f"{self.pin} to {self.since}"
        way = {AHEAD: "ahead of", UP: "above"}.get(self.along)
        whence = self.mark or self.since
        return f"{self.pin} {way} {whence}" if way else f"{self.pin} from {whence} along the {self.along}"

    def value(self, gear: Gear, pins: Pins) -> Array:
        """Distance or place, mm.

        Parameters
        ----------
        gear : Gear
            Whose pins they are: its dimensions numbers, or of the pins' shape.
        pins : callable
            Name to complex places, mm.
        """
        apart = pins(self.pin) - pins(self.since)
        return np.asarray(np.real(np.conj(self._direction(gear)) * apart) if self.along else np.abs(apart))

    def wish(self, gear: Gear, pins: Pins) -> dict[str, Array]:
        """Weights of the pins, as :func:`linkmotion.linkage.gradient` wants them, for its derivative.

        Parameters
        ----------
        gear, pins
            As for :meth:`value`.
        """
        apart = pins(self.pin) - pins(self.since)
        size = np.abs(apart)
        unit = np.divide(apart, size, out=np.zeros(apart.shape, complex), where=size > 0)
        e = np.broadcast_to(self._direction(gear), apart.shape) if self.along else unit
        return {self.pin: e, self.since: -e} if self.pin != self.since else {}

    def turning(self, gear: Gear, pins: Pins) -> tuple[Key, Array] | None:
        """What its direction turns with, and mm per degree of that; None where it does not turn."""
        key = ALONG.get(self.along)
        if key is None:
            return None
        apart = pins(self.pin) - pins(self.since)
        return key, np.imag(np.conj(self._direction(gear)) * apart) * RADIAN

    def _direction(self, gear: Gear) -> Any:
        if self.along in (AHEAD, UP):
            return 1.0 if self.along == AHEAD else 1j
        slope = gear.valve.guide_inclination if self.along == GUIDE else gear.cylinder.inclination
        return np.exp(1j * RADIAN * np.asarray(slope))


def pins_to_measure(linkage: Linkage) -> dict[str, str]:
    """Pins to which a trammel can be put: the names that a user may write to those of the linkage.

    Parameters
    ----------
    linkage : Linkage
        As the gear declares it in any notch.
    """
    names = {name: name for name in linkage.names if not name.startswith(_NO_PIN)}
    guided = next(part.pins[0] for part in linkage.parts if getattr(part, "name", "") == VALVE_GUIDE)
    return names | {SPINDLE_PIN: list(linkage.names)[guided]}


def places_in(solution: Solution) -> Pins:
    """Places of pins in a solution, of its shape, by name."""
    return lambda name: np.broadcast_to(solution[name], solution.shape)
