"""The gear's own motion at the card model's scale: where every pin stands, in every notch, round the wheel."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any, TypeVar

import numpy as np

from linkmotion.elevation.outlines import number
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.gears import Gear
from linkmotion.gears.frame import CRANK
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import Crank, Fixed, Part
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.card.shapes import Points
from linkmotion.studies.side_drawing import elevation_of

POSITIONS = 48  # wheel positions at which pieces are tried against one another
_STILL = 1e-6  # mm of card
P = TypeVar("P", bound=Part)


@dataclass(frozen=True, eq=False)
class Motion:
    """A side's motion reduced to the model's scale.

    Attributes
    ----------
    side : SideEvents
        The side and its S notches.
    scale : float
        Millimetres of the engine to a millimetre of card.
    pins : dict
        Complex places, mm of card, shape (S, N), running forward from front dead centre.
    drawn : Elevation
        The side as it is drawn, millimetres of the engine: whose outlines the pieces have.
    """

    side: SideEvents
    scale: float
    pins: dict[str, Points]
    drawn: Elevation

    @classmethod
    def of(cls, side: SideEvents, scale: float) -> Motion:
        """From an assessed side.

        Parameters
        ----------
        side, scale : SideEvents, float
            As assessed; millimetres of the engine to one of card.
        """
        solution = side.motion.solution
        shape = (len(side.notches), solution.shape[-1])
        step = max(1, shape[1] // POSITIONS)
        pins: dict[str, Points] = {
            name: np.broadcast_to(solution[name], shape)[:, ::step].astype(np.complex128) / scale
            for name in solution.linkage.names
        }
        return cls(side, scale, pins, _drawn(side))

    @property
    def gear(self) -> Gear:
        """The gear."""
        return self.side.gear

    @property
    def linkage(self) -> Linkage:
        """Its linkage."""
        return self.side.motion.solution.linkage

    @cached_property
    def names(self) -> list[str]:
        """Pins by number."""
        return list(self.linkage.names)

    def parts(self, kind: type[P]) -> Iterator[P]:
        """The linkage's parts of a kind."""
        return (part for part in self.linkage.parts if isinstance(part, kind))

    def short(self, value: Any) -> float:
        """A dimension in mm of card.

        Parameters
        ----------
        value : float or array
            mm; of an array the first.
        """
        return number(value) / self.scale

    @property
    def shape(self) -> tuple[int, int]:
        """Notches and wheel positions."""
        notches, wheel = self.pins[CRANK[2]].shape
        return notches, wheel

    @cached_property
    def wheel(self) -> Points:
        """Direction of the crank."""
        crank = self.pins[CRANK[2]] - self.pins[CRANK[1]]
        return crank / np.abs(crank)

    def stands(self, pin: str) -> bool:
        """Whether a pin stands at one place of the board whatever is done."""
        return bool(np.ptp(self.pins[pin].real) < _STILL and np.ptp(self.pins[pin].imag) < _STILL)

    @cached_property
    def fixed(self) -> list[str]:
        """Pins of the frame, those that the reverser shifts included."""
        return [self.names[part.pin] for part in self.parts(Fixed)]

    @cached_property
    def cranks(self) -> list[str]:
        """Pins of the wheel, the crank pin first."""
        found = [self.names[part.pin] for part in self.parts(Crank)]
        return sorted(found, key=lambda pin: pin != CRANK[2])


@lru_cache(maxsize=1)
def _drawn(side: SideEvents) -> Elevation:
    """The side's drawing, kept while one scale after another is tried."""
    return elevation_of(side)
