"""A gear that cannot pass in some notch."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from linkmotion.engine import SideState
from linkmotion.linkage import LinkageError, UnreachableError
from linkmotion.valve_setting import RuleError


class NotchError(LinkageError):
    """The gear cannot pass in some notch.

    Attributes
    ----------
    notch, side, state : str
        Where.
    cause : LinkageError or RuleError
        Which parts, by how much; or why the setting rule finds no place.
    crank_angle : float or None
        Crank angle from front dead centre in forward running, degrees.
    """

    def __init__(self, notch: str, setup: SideState, cause: LinkageError | RuleError) -> None:
        self.notch, self.side, self.state, self.cause = notch, setup.side, setup.state, cause
        self.crank_angle = None
        if isinstance(cause, UnreachableError):
            self.crank_angle = float(np.degrees(-cause.wheel) % 360)
        super().__init__(self.words(lambda mm: f"{mm:.2f} mm"))

    def words(self, length: Callable[[float], str]) -> str:
        """The message, its length shown in the reader's unit.

        Parameters
        ----------
        length : callable
            From mm to words.
        """
        told, cause = str(self.cause), self.cause
        if isinstance(cause, UnreachableError):
            way = "too short to meet, by" if cause.short > 0 else "too long to fit, by"
            by = f"{way} {length(abs(cause.short))} at crank angle {self.crank_angle:.0f}°"
            told = f"{' and '.join(cause.parts)}: {by}"
        passing = "" if isinstance(cause, RuleError) else "the gear cannot pass: "
        return f"notch {self.notch!r}: {passing}{told}"
