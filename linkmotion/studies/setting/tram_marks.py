r"""Dead centres by tram: from wheel marks taken at equal crosshead positions either side of them.

The trammel stands on the frame and reaches the tyre. With the crosshead at one place the distance D from axle to
crosshead pin is the same before and after the dead centre, so that the crank stands at equal angles s either side of
the line from axle to pin, with

    cos s = ± (D² + r² − L²) / (2 r D)        (+ front, − back)

That line is the crank's direction at dead centre only when the cylinder line passes through the axle. With the line a
height h above the axle halving the marks gives the direction asin(h/D), and dead centre has asin(h/(L ± r)): the
difference is the *offset* part. With play p between crank pin and crosshead pin the rod pushes on one side of the dead
centre and pulls on the other, its length being L ∓ p/2: s differs before and after, and the halved mark is late, in the
direction of turning, by half the difference: the *play* part. Both are exact here. Where each mark is come up to moving
toward the dead centre, the rod works one way and play does no harm.

Source of the rule of halving: E. L. Ahrons, Steam Locomotive Construction and Maintenance (1921), p. 101; the two parts
that it leaves out are derived here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.piston import dead_centre

FORWARD, BACKWARD, TOWARD = "forward", "backward", "toward"
TURNED = (FORWARD, BACKWARD, TOWARD)
"""How the wheel was turned to a pair of marks."""


class TramError(ValueError):
    """Marks from which no dead centre can be found; ``pair`` is the number of the pair, from 0, or None."""

    def __init__(self, problem: str, remedy: str, pair: int | None = None) -> None:
        self.problem, self.remedy, self.pair = problem, remedy, pair
        super().__init__(f"{'' if pair is None else f'pair {pair + 1}: '}{problem}\n  {remedy}")


@dataclass(frozen=True)
class MarkPair:
    """Two marks on the tyre at one place of the crosshead, either side of a dead centre.

    Attributes
    ----------
    end : str
        "front" or "back" dead centre.
    marks : (float, float)
        Degrees round the tyre from a datum mark, in the order in which they come to the tram running forward.
    turned : str
        "forward" or "backward": the wheel was turned through both marks that way. "toward": each mark was come up to
        moving toward the dead centre. "": not noted.
    """

    end: str
    marks: tuple[float, float]
    turned: str = ""

    @property
    def middle(self) -> float:
        """Half way between the marks, degrees in [0, 360)."""
        return (self.marks[0] + self.half) % 360.0

    @property
    def half(self) -> float:
        """Half the way from the first mark to the second, degrees."""
        return ((self.marks[1] - self.marks[0]) % 360.0) / 2


@dataclass(frozen=True)
class Accuracy:
    """How near the marks are made: standard deviations.

    Attributes
    ----------
    mark : float
        A mark, degrees of the wheel.
    crosshead : float
        The crosshead brought to its place, mm.
    play, play_std : float or None, float
        Free movement of the crosshead with the wheel held, mm, and its standard deviation; None: not measured.
    """

    mark: float
    crosshead: float
    play: float | None = None
    play_std: float = 0.0


def halving_error(crank: CrankMotion, end: str, half: float, play: float = 0.0) -> tuple[float, float]:
    """How far the halved marks stand beyond the true dead centre, degrees.

    Parameters
    ----------
    crank : CrankMotion
        Crank, rod and cylinder line.
    end : str
        "front" or "back".
    half : float
        Half the angle between the marks, degrees.
    play : float
        Free movement between crank pin and crosshead pin along the rod, mm.

    Returns
    -------
    offset : float
        By the line's offset, positive when the halved mark comes after dead centre running forward.
    late : float
        By play, positive in the direction in which the wheel is turned through both marks.

    Examples
    --------
    A 12 in. crank, a rod of 86 in., the line 1 in. above the axle, marks 30 degrees either side:

    >>> crank = CrankMotion(12.0, 86.0, 1.0, 0.0)
    >>> [round(each, 4) for each in halving_error(crank, "front", 30.0)]
    [-0.011, 0.0]
    >>> [round(each, 4) for each in halving_error(crank, "front", 30.0, play=0.02)]
    [-0.011, 0.0854]
    """
    r, rod, s = float(crank.radius), float(crank.rod), np.radians(half)
    way = 1.0 if end == "front" else -1.0
    d = way * r * np.cos(s) + np.sqrt(rod**2 - (r * np.sin(s)) ** 2)
    lengths = rod + np.array([-way, way]) * play / 2  # before and after the dead centre
    for _ in range(20 if play else 1):
        cosine = way * (d**2 + r**2 - lengths**2) / (2 * r * d)
        if not np.all(np.abs(cosine) < 1):
            raise TramError("so much play lets the crank pass dead centre within it", "take the marks further apart")
        before, after = np.arccos(cosine)
        slope = -way * (1 - (r**2 - lengths**2) / d**2) / (2 * r) / np.sqrt(1 - cosine**2)
        step = (before + after - 2 * s) / np.sum(slope)
        d = d - step
        if abs(step) < 1e-13 * d:
            break
    line = np.arcsin(crank.height / d) - np.arcsin(crank.height / (rod + way * r))
    return float(-np.degrees(line)), float(np.degrees(after - before) / 2)


def crosshead_rate(crank: CrankMotion, end: str, half: float) -> float:
    """Movement of the crosshead at an angle from dead centre, mm per degree (mean of both sides of it).

    Parameters
    ----------
    crank, end : CrankMotion, str
        "front" or "back": about which dead centre.
    half : float
        The angle, degrees.
    """
    dead = dead_centre(crank, end)
    at = dead + np.radians(half) * np.array([-1.0, 1.0])
    rate = np.imag(crank.crosshead(at + 1e-30j)) / 1e-30
    return float(np.radians(np.mean(np.abs(rate))))
