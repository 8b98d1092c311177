"""The return crank: a small crank fixed on the end of the main crank pin."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, ClassVar

import numpy as np

from linkmotion.gears.book import RADIAN, Instead, Number
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.gears.keys import Fault, in_degrees, in_mm, one_of
from linkmotion.gears.return_crank_angle import BY_FOOT
from linkmotion.gears.shop_work import ShopWork
from linkmotion.linkage import Linkage

RETURN_CRANK, RETURN_CRANK_PIN = "return crank", "return-crank pin"
_KEYED_AFRESH = ShopWork(
    "return crank",
    "turn the return crank on the crank pin, its pin {} further ahead, seen from the axle",
    "turn the return crank on the crank pin, its pin {} further back, seen from the axle",
    2,
    6.0,
    degrees=(0.1, 10),
)


@dataclass(frozen=True, kw_only=True)
class ReturnCrank:
    """Return crank on the main crank pin."""

    pin_radius: Number = in_mm("radius of the return-crank pin's circle about the axle", None)
    angle: Number = in_degrees(
        "return-crank pin ahead of the crank pin, + leading in forward running",
        None,
        slips="return crank",
        work=_KEYED_AFRESH,
        readings=BY_FOOT,
    )
    length: Number = in_mm("crank pin to return-crank pin", None)
    sense: str | None = one_of(
        "whether the pin leads or follows, when only length and pin_radius are given", ("leads", "follows"), None
    )

    INSTEAD: ClassVar[Instead] = (
        (("pin_radius", "angle"), ("length", "sense")),
        (("length", "angle"), ("pin_radius", "sense")),
        (("length", "pin_radius"), ("angle",)),
    )

    def faults(self, crank_radius: Number) -> Iterator[Fault]:
        """What is wrong with these figures, if anything."""
        given = [key for key in ("pin_radius", "angle", "length") if getattr(self, key) is not None]
        if len(given) != 2:
            yield Fault(
                "return_crank",
                "pin_radius",
                f"two figures are wanted, {len(given)} are given",
                "give two of pin_radius, angle and length",
            )
            return
        if "angle" not in given and self.sense is None:
            yield Fault(
                "return_crank",
                "sense",
                "length and pin_radius leave two places for the pin",
                'say sense = "leads" or "follows" (seen in forward running)',
            )
        if not np.isfinite(self._pin(crank_radius)):
            yield Fault(
                "return_crank",
                "length",
                "no return-crank pin fits these figures",
                "the length must reach from the crank pin to the pin's circle",
            )

    def derived(self, crank: CrankMotion) -> dict[str, tuple[Any, str]]:
        """Pin's circle, angle, and length between the pins: two of them are given."""
        radius, angle = self.polar(crank.radius)
        return {
            "return-crank pin's circle": (radius, "length"),
            "return crank ahead of the crank pin": (np.degrees(angle), "angle"),
            "return crank, crank pin to its pin": (np.abs(crank.radius - radius * np.exp(1j * angle)), "length"),
        }

    def _pin(self, crank_radius: Number) -> Number:
        with np.errstate(invalid="ignore"):
            radius, angle = self.polar(crank_radius)
        return radius * np.exp(1j * angle)

    def polar(self, crank_radius: Number) -> tuple[Number, Number]:
        """Pin radius (mm) and angle ahead of the crank pin (radians), from either pair of figures.

        ``crank_radius`` in mm, here and in the other methods.
        """
        if self.pin_radius is not None and self.angle is not None:
            return self.pin_radius, self.angle * RADIAN
        if self.angle is not None:
            angle = self.angle * RADIAN
            across = crank_radius * np.sin(angle)
            return crank_radius * np.cos(angle) + np.sqrt(self.length**2 - across**2), angle
        cosine = (crank_radius**2 + self.pin_radius**2 - self.length**2) / (2 * crank_radius * self.pin_radius)
        return self.pin_radius, np.arccos(cosine) * (-1 if self.sense == "follows" else 1)

    def slipped(self, degrees: float, crank_radius: Number) -> ReturnCrank:
        """Turned on the main crank pin, + the way the wheel turns running forward: it keeps its length.

        Its pin goes round the crank pin, so both its radius about the axle and its angle change.
        """
        radius, angle = self.polar(crank_radius)
        pin = crank_radius + (radius * np.exp(-1j * angle) - crank_radius) * np.exp(-1j * np.radians(degrees))
        return replace(self, pin_radius=np.abs(pin), angle=-np.degrees(np.angle(pin)), length=None, sense=None)

    def as_set(self, crank_radius: Number) -> ReturnCrank:
        """By length and angle, as it is set: turned on the crank pin, it keeps its length."""
        if self.pin_radius is None:
            return self
        radius, angle = self.polar(crank_radius)
        length = np.sqrt(crank_radius**2 + radius**2 - 2 * crank_radius * radius * np.cos(angle))
        own = replace(self, length=length, angle=np.degrees(angle), pin_radius=None, sense=None)
        other_root = abs(own.polar(crank_radius)[0] - radius) > 1e-6  # between axle and crank pin: no engine has that
        return self if other_root else own

    def declare(self, gear: Linkage, crank: CrankMotion) -> None:
        """Declare its pin on a linkage that has the axle."""
        radius, ahead = self.polar(crank.radius)
        gear.crank(RETURN_CRANK_PIN, "axle", radius, crank.front_direction - ahead)
