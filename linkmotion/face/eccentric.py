"""The single eccentric that would drive the valve most nearly as the gear does."""

from __future__ import annotations

from dataclasses import dataclass

from linkmotion.face.tables import one_line
from linkmotion.files.lengths import UNITS
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.virtual_eccentric import virtual_eccentric


@dataclass(frozen=True, repr=False)
class EquivalentEccentric:
    """Throw and place of one eccentric with long rods, fitted to a notch's valve motion by least squares.

    Attributes
    ----------
    notch : str
        Which.
    throw : float
        Half the travel it gives, in the engine file's unit.
    angle : float
        Ahead of the crank pin in forward running, degrees in (-180, 180].
    off_centre : float
        Mean of the exact motion, + forward.
    left_over : float
        Greatest departure of the exact motion from eccentric and mean together.
    unit : str
        Of its lengths.
    """

    notch: str
    throw: float
    angle: float
    off_centre: float
    left_over: float
    unit: str

    @property
    def advance(self) -> float:
        """Angular advance, degrees: beyond the right angle to the crank (negative: short of it)."""
        return abs(self.angle) - 90.0

    def __repr__(self) -> str:
        """In one line."""
        told = [f"throw {self.throw:.4g} {self.unit}", f"{self.angle:.2f}° ahead of the crank"]
        return one_line("EquivalentEccentric", self.notch, told)


def equivalent_eccentric_of(side: SideEvents, number: int, unit: str) -> EquivalentEccentric:
    """The equivalent eccentric of one notch of a side.

    Parameters
    ----------
    side : SideEvents
        As assessed.
    number : int
        Of the notch.
    unit : str
        Of the lengths in the result.
    """
    found, scale = virtual_eccentric(side.displacement[number]), float(UNITS[unit])
    return EquivalentEccentric(
        notch=side.notches[number],
        throw=float(found.throw) / scale,
        angle=float(found.angle),
        off_centre=float(found.off_centre) / scale,
        left_over=float(found.left_over) / scale,
        unit=unit,
    )
