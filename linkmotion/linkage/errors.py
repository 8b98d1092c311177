"""What a linkage is refused with."""

from __future__ import annotations


class LinkageError(ValueError):
    """A linkage that is wrongly declared, cannot be ordered, or cannot be assembled."""


class UnreachableError(LinkageError):
    """The parts do not meet at some wheel angle.

    Attributes
    ----------
    parts : tuple of str
        The parts that fall short (or foul, being too long), as declared.
    short : float
        By how much, mm: positive when the parts are too short to meet, negative when too long.
    wheel : float
        Wheel angle of the worst position, radians anticlockwise.
    """

    def __init__(self, parts: tuple[str, ...], short: float, wheel: float) -> None:
        self.parts, self.short, self.wheel = parts, short, wheel
        way = "too short to meet" if short > 0 else "too long to fit"
        super().__init__(f"{' and '.join(parts)}: {way} by {abs(short):.3g} mm at wheel angle {wheel:.4f} rad")
