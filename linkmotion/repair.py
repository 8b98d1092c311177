"""A repair as an option for the shop: what it does to the engine, and what it takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Repair:
    """One repair that can be done or left.

    Attributes
    ----------
    name, what : str
        As the user calls it; what is done, in words.
    hours, cost : float
        Of work; in whatever money the user reckons.
    metal : float
        What it takes off the part, mm.
    needs, excludes : tuple of str
        Repairs that must be done with it, and such as cannot.
    layers, wear : dict
        As of a state: "both", "left", "right" to what it sets, and to what is left of the wear.
    """

    name: str
    what: str
    hours: float
    cost: float = 0.0
    metal: float = 0.0
    needs: tuple[str, ...] = ()
    excludes: tuple[str, ...] = ()
    layers: Mapping[str, Mapping[str, Mapping[str, Any]]] = field(default_factory=dict)
    wear: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)

    def touches(self, side: str) -> bool:
        """Whether it alters anything of a side.

        Parameters
        ----------
        side : str
            "left" or "right".
        """
        return any(self.layers.get(layer) or self.wear.get(layer) for layer in ("both", side))


def with_needs(repairs: Mapping[str, Repair], name: str) -> tuple[str, ...]:
    """A repair with all that it needs, these first.

    Parameters
    ----------
    repairs, name : mapping, str
        By name; which.
    """
    found: dict[str, None] = {}

    def add(own: str) -> None:
        for other in repairs[own].needs:
            if other not in found:
                add(other)
        found[own] = None

    add(name)
    return tuple(found)
