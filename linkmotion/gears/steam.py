"""What goes with a gear without being part of it: the wheels, and the steam in the cylinders.

Both tables of an engine file may be left out, and so may any of their keys; the studies that need a figure say
which one they assumed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from linkmotion.gears.book import Number
from linkmotion.gears.keys import Fault, in_degrees, in_form, in_mm, one_of
from linkmotion.sides import PAIR


@dataclass(frozen=True, kw_only=True)
class Wheels:
    """Driving wheels, and how the cranks of the two sides stand to one another."""

    diameter: Number = in_mm("driving wheel over the tread", None)
    leads: str = one_of("side whose crank leads in forward running", ("right", "left"), "right")
    lead_angle: Number = in_degrees("by how much it leads, degrees", 90.0)

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the figures, if anything."""
        if not 30.0 <= self.lead_angle <= 150.0:
            problem = f"cranks {self.lead_angle:g}° apart are not near a right angle"
            yield Fault("wheels", "lead_angle", problem, "give 30 to 150 degrees; leads = says which side is ahead")

    def ahead(self, side: str, way: int) -> float:
        """Crank of a side ahead of the engine's first one, degrees in the direction of running.

        Parameters
        ----------
        side : str
            By its name; the only one that there is counts from itself.
        way : int
            +1 forward, −1 backward.

        Examples
        --------
        >>> Wheels().ahead("right", 1), Wheels().ahead("right", -1)
        (90.0, -90.0)
        """
        if side != PAIR[1]:
            return 0.0
        return way * float(self.lead_angle) * (1 if self.leads == "right" else -1)


@dataclass(frozen=True, kw_only=True)
class Steam:
    """Steam and cylinders; pressures in bar by the gauge, above the atmosphere."""

    pressure: Number = in_form("pressure in the steam chest, by the gauge", "pressure")
    back_pressure: Number = in_form("pressure against the piston during exhaust, by the gauge", "pressure")
    clearance: Number = in_form(
        "clearance volume of one end (port and passage included), percent of the volume swept", "percent"
    )
    exponent: Number = in_form("n of expansion and compression, p V^n constant (1: hyperbolic)", "exponent")
    blow_down: str | None = one_of(
        "how the pressure falls at release: at once, or in a line to the dead centre",
        ("at release", "by dead centre"),
        None,
    )
    bore: Number = in_mm("cylinder bore", None)
    piston_rod: Number = in_mm("piston rod, diameter (it takes room at the back end)", None, zero=True)
    tail_rod: Number = in_mm("tail rod, diameter (it takes room at the front end)", None, zero=True)

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the figures, if anything."""
        for key in ("piston_rod", "tail_rod"):
            if self.bore is not None and (getattr(self, key) or 0.0) >= self.bore:
                yield Fault("steam", key, "the rod fills the cylinder", "give a diameter less than the bore")
        if self.pressure is not None and self.back_pressure is not None and self.back_pressure >= self.pressure:
            remedy = "both by the gauge: the back pressure is usually a small part of the other"
            yield Fault("steam", "back_pressure", "the back pressure is not less than the pressure", remedy)
