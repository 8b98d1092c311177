"""A linkage declared as a part of a larger one, under names of its own."""

from __future__ import annotations

from typing import Any

from linkmotion.linkage.linkage import Linkage
from linkmotion.linkage.parts import XY, Holder
from linkmotion.linkage.plane import Real


class Within(Linkage):
    """A linkage whose pins and parts stand in another, their names with a word before them.

    It knows only its own pins, by their bare names; the other has them all.

    Parameters
    ----------
    host : Linkage
        The larger one.
    word : str
        Before every name: pin "foot" of the part called "left" is the host's "left foot".
    turned : float or array, shape (variants, 1)
        Its cranks ahead of where they are declared, radians anticlockwise.

    Examples
    --------
    >>> engine = Linkage()
    >>> left = Within(engine, "left")
    >>> left.fixed("axle", 0.0, 0.0)
    >>> left.crank("crank pin", about="axle", radius=300.0)
    >>> list(engine.names)
    ['left axle', 'left crank pin']
    """

    def __init__(self, host: Linkage, word: str, turned: Real = 0.0) -> None:
        super().__init__({}, host.near, host.parts, host.facings)
        self.host, self.word, self.turned = host, word, turned

    def _new(self, name: str, near: XY) -> int:
        self.names[name] = self.host._new(self._called(name), near)
        return self.names[name]

    def _called(self, name: str) -> str:
        return f"{self.word} {name}"

    def crank(self, name: str, about: str, radius: Real, phase: Real = 0.0) -> None:
        """Declare a pin turned by the wheel, as :meth:`Linkage.crank`; ``phase`` from where this linkage stands."""
        super().crank(name, about, radius, phase + self.turned)

    def add(self, kind: type[Holder], name: str, *pins: str, **figures: Any) -> None:
        """Declare a part of any kind, as :meth:`Linkage.add`."""
        super().add(kind, self._called(name), *pins, **figures)

    def plate(self, name: str, places: dict[str, XY]) -> None:
        """Hold pins in one rigid figure, as :meth:`Linkage.plate`."""
        super().plate(self._called(name), places)

    def facing(self, part: str, a: str, b: str, toward: XY, along: tuple[str, str, XY] | None = None) -> None:
        """Say that a part faces a way, as :meth:`Linkage.facing`."""
        super().facing(self._called(part), a, b, toward, along)
