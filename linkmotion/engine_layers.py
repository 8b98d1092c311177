"""The layers in which an engine file gives its figures, each with its path in the file.

At the bottom lie the drawing's own tables, alike for every side; over them what the drawing has of its own for one
side; then, state by state, what each has for every side, and for the one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from linkmotion.sides import BOTH

DRAWING = "drawing"
Tables = Mapping[str, Mapping[str, Any]]
Where = tuple[str, ...]
_STEPS = {"state": 3, DRAWING: 2}  # of the path of a layer, by its first


@dataclass(frozen=True)
class State:
    """A named state: what differs from the drawing (or from the state it is based on)."""

    name: str
    based_on: str | None = None
    note: str = ""
    layers: Mapping[str, Tables] = field(default_factory=dict)  # "both", or a side → tables
    wear: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)  # the same → what the gauge found
    set_afresh: bool = False  # whether its valves were set again by the drawing's rule


@dataclass(frozen=True)
class Layer:
    """What one place of an engine file gives of a side.

    Attributes
    ----------
    where : tuple of str
        Path in the file: () for the drawing's own tables, ``("drawing", side)``, ``("state", name, "both" or side)``;
        ``("state", name)`` for what a state says by its ``set_afresh``.
    tables, wear : mapping
        Figures, table by table; what the gauge found.
    """

    where: Where
    tables: Tables
    wear: Mapping[str, Any] = field(default_factory=dict)

    @property
    def state(self) -> str:
        """The state in which it stands, or the drawing."""
        return self.where[1] if self.where[:1] == ("state",) else DRAWING

    @property
    def side(self) -> str:
        """The side whose own it is, "both", or "" of the drawing's own tables and of a state as a whole."""
        return self.where[-1] if self.where[:1] == (DRAWING,) or len(self.where) > 2 else ""

    def gives(self, path: Where) -> bool:
        """Whether it says something of a table, or of a key of one.

        Parameters
        ----------
        path : tuple of str
            Of either, such as ``("valve", "rocker")``.
        """
        given: Any = self.tables
        for step in path:
            given = given.get(step) if isinstance(given, Mapping) else None
        return given is not None


def layer_at(state: str, side: str) -> Where:
    """Path in an engine file of the layer that is one side's own in a state, or in the drawing.

    Parameters
    ----------
    state, side : str
        The drawing, or a state by its name; a side, or "both" for what is alike.

    Examples
    --------
    >>> layer_at("as found", "both"), layer_at("drawing", "right"), layer_at("drawing", "both")
    (('state', 'as found', 'both'), ('drawing', 'right'), ())
    """
    if state != DRAWING:
        return "state", state, side
    return () if side == BOTH else (DRAWING, side)


def whose(layer: Where) -> tuple[str, str]:
    """State and side of a layer by its path: :func:`layer_at` the other way round.

    Parameters
    ----------
    layer : tuple of str
        Its path; of what is too short for one, the drawing of both.

    Examples
    --------
    >>> whose(("state", "as found", "left")), whose(("drawing", "right")), whose(())
    (('as found', 'left'), ('drawing', 'right'), ('drawing', 'both'))
    """
    if len(layer) < 2:
        return DRAWING, BOTH
    return (layer[1] if layer[0] == "state" else DRAWING), layer[-1]


def parted(where: Where) -> tuple[Where, Where]:
    """A path in an engine file as that of its layer, and the rest of it.

    Parameters
    ----------
    where : tuple of str
        Of a table or key.

    Examples
    --------
    >>> parted(("state", "as found", "left", "radius_rod", "length"))
    (('state', 'as found', 'left'), ('radius_rod', 'length'))
    >>> parted(("drawing", "right", "radius_rod", "length"))
    (('drawing', 'right'), ('radius_rod', 'length'))
    >>> parted(("radius_rod", "length"))
    ((), ('radius_rod', 'length'))
    """
    steps = _STEPS.get(where[0], 0) if where else 0
    return where[:steps], where[steps:]
