"""Where the reverser stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np


@dataclass(frozen=True)
class Arm:
    """Lifting arm at an angle, degrees (0 = pointing forward, + up)."""

    angle: Any


@dataclass(frozen=True)
class DieHeight:
    """Die brought to a place by the arm with the engine on front dead centre, mm: the arm angle is to be found."""

    height: Any


@dataclass(frozen=True)
class DieHeld:
    """Die held at one place of the slot, mm along it from the middle, + up (ideal suspension)."""

    place: Any


@dataclass(frozen=True)
class Stop:
    """Eccentric against a stop at an angle ahead of the crank pin, degrees (a fixed eccentric has one)."""

    angle: Any


ReverserPosition = Arm | DieHeight | DieHeld | Stop
Notch = Arm | DieHeight | Stop  # as written in an engine file


def figure(setting: ReverserPosition) -> Any:
    """The one figure of a setting: degrees of an arm or a stop, mm of a die.

    Parameters
    ----------
    setting : ReverserPosition
        Of any kind.
    """
    return getattr(setting, fields(setting)[0].name)


def stacked(settings: Sequence[ReverserPosition]) -> ReverserPosition:
    """Settings one after another, as one of shape (S, 1).

    Parameters
    ----------
    settings : sequence of S ReverserPositions
        Of one kind, each with one figure.

    Examples
    --------
    >>> stacked([Arm(20.0), Arm(-20.0)]).angle.shape
    (2, 1)
    """
    return type(settings[0])(np.array([[float(np.ravel(figure(setting))[0])] for setting in settings]))
