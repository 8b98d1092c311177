"""Pieces of card: outlines with holes, slits and printed marks, millimetres of card, complex numbers as points."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.elevation.outlines import band, disc, placed, united

Points = NDArray[np.complex128]
Shape = Any  # a shapely geometry

HOLE = 1.75  # radius of a hole for a paper fastener
STICK = 1.0  # radius of a hole for a cocktail stick: a peg, or a guide while gluing
HALF = 6.0  # half the width of a rod
SLIT = 2 * HOLE + 0.4  # width of a slit in which a fastener slides
LEAST = 1.2  # least card left between two edges that are cut
CARD = 0.4  # thickness of the card that the heights are reckoned with


@dataclass(frozen=True)
class Hole:
    """A round hole; holes of one pin lie over one another when the model is put together."""

    pin: str
    at: complex
    radius: float = HOLE
    note: str = ""


@dataclass(frozen=True, eq=False)
class Slit:
    """A slit in which a pin slides along a line."""

    pin: str
    line: Points
    width: float = SLIT

    @property
    def shape(self) -> Shape:
        """What is cut out."""
        return band(self.line, self.width / 2)


@dataclass(frozen=True, eq=False)
class Mark:
    """A printed line or area; ``style`` is "line", "dash", "fine", "heavy", "fill", "tint" or "glue"."""

    points: Points
    style: str = "line"


@dataclass(frozen=True)
class Note:
    """Printed words: capitals ``size`` mm high or less, turned by degrees, ``anchor`` "left", "centre" or "right"."""

    text: str
    at: complex
    size: float = 2.0
    turn: float = 0.0
    anchor: str = "centre"


@dataclass(frozen=True, eq=False)
class Piece:
    """A piece of card to be cut out.

    Attributes
    ----------
    name : str
        As told in the instructions.
    outline : shapely polygon
        To be cut, mm.
    holes, slits
        To be cut too.
    marks, notes
        To be printed on it.
    copies : int
        How many are wanted.
    made_of : str
        "card", or what else it is cut from.
    """

    name: str
    outline: Shape
    holes: tuple[Hole, ...] = ()
    slits: tuple[Slit, ...] = ()
    marks: tuple[Mark, ...] = ()
    notes: tuple[Note, ...] = ()
    copies: int = 1
    made_of: str = "card"

    @property
    def cuts(self) -> tuple[Hole | Slit, ...]:
        """Holes and slits."""
        return (*self.holes, *self.slits)

    def takes(self, pin: str) -> bool:
        """Whether it has a hole or a slit for a pin."""
        return any(cut.pin == pin for cut in self.cuts)


@dataclass(frozen=True, eq=False)
class Moving:
    """A piece in its place on the board, in S notches and at N wheel positions: ``origin + turn * point``."""

    piece: Piece
    origin: Points
    turn: Points

    @property
    def name(self) -> str:
        """Its piece's name."""
        return self.piece.name

    def on_board(self, point: Any) -> Any:
        """A point of the piece on the board, complex mm, shape (S, N).

        Parameters
        ----------
        point : complex or array
            In the piece's own axes, mm; broadcast against (S, N).
        """
        return self.origin + self.turn * point

    def seen(self, path: Any) -> Any:
        """Points of the board in the piece's own axes, complex mm.

        Parameters
        ----------
        path : complex or array
            On the board, mm; broadcast against (S, N).
        """
        return (path - self.origin) * np.conj(self.turn)

    def outline_at(self, notch: int, wheel: int) -> Shape:
        """The outline on the board.

        Parameters
        ----------
        notch, wheel : int
            Numbers of the notch and of the wheel position.
        """
        o, t = complex(self.origin[notch, wheel]), complex(self.turn[notch, wheel])
        return placed(self.piece.outline, o, t)


def pairs(points: Points) -> Any:
    """Complex points as rows of x and y."""
    return np.column_stack([points.real, points.imag])


def oblong(x0: float, y0: float, x1: float, y1: float) -> Points:
    """Corners of an oblong, closed, for a mark."""
    return np.array([x0 + 1j * y0, x1 + 1j * y0, x1 + 1j * y1, x0 + 1j * y1, x0 + 1j * y0])


def around(places: Iterable[complex], half: float = HALF) -> Shape:
    """The smallest hollow-free piece round some places, rounded at the corners."""
    return united(disc(complex(p), half) for p in places).convex_hull


def unit(vector: Any) -> Any:
    """Complex numbers brought to length one."""
    return vector / np.abs(vector)
