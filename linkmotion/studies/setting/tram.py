"""Dead centres by tram: the true places of the dead centres' marks, with their doubt.

What halving the marks leaves out is in :mod:`linkmotion.studies.setting.tram_marks`. Where it was not noted how the
wheel was turned, play may have made a pair's halved mark so much late or as much early: nothing is taken off it, it
counts for less beside pairs of which it was noted, and the doubt holds all such pairs of an end being out the one way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.studies.setting.tram_marks import (
    BACKWARD,
    FORWARD,
    TOWARD,
    Accuracy,
    MarkPair,
    TramError,
    crosshead_rate,
    halving_error,
)
from linkmotion.valve import ENDS

NARROWEST, WIDEST = 1.0, 80.0  # degrees from dead centre to a mark: nearer the crosshead hardly moves
WIDE = 1.959963984540054  # standard deviations either way that hold 95 % of a normal distribution
_UNLIKELY = 0.01
_WAY = {FORWARD: 1.0, BACKWARD: -1.0, TOWARD: 0.0}


@dataclass(frozen=True)
class DeadCentre:
    """One dead centre as found.

    Attributes
    ----------
    end : str
        Which.
    pairs : int
        From how many pairs.
    angle, doubt : float
        Its mark, degrees round the tyre; half-width that holds the truth in 95 %.
    halved : float
        Where halving the marks alone puts it (mean of the pairs).
    offset, late : float
        Mean parts of the halved marks' error, degrees in forward running: by the offset line, and by play.
    """

    end: str
    pairs: int
    angle: float
    doubt: float
    halved: float
    offset: float
    late: float

    @property
    def error(self) -> float:
        """How far the halved marks stand beyond the true dead centre running forward, degrees."""
        return (self.halved - self.angle + 180.0) % 360.0 - 180.0


@dataclass(frozen=True, eq=False)
class Tram:
    """Dead centres from marks.

    Attributes
    ----------
    centres : dict
        By end, those that have pairs.
    play, play_doubt : float or None, float
        Play used or found, mm, and its 95 % half-width; None where nothing says how much there is.
    play_found : bool
        Whether the marks themselves gave it.
    residual : float array, shape (N,)
        What is left of each pair, degrees.
    agree : bool
        False when the pairs differ by more than their accuracy explains (1 % chance).
    apart, apart_doubt, apart_drawn : float
        From front to back dead centre running forward, degrees: by the marks, its 95 % half-width, by the drawing's
        crank and rod (NaN without marks at both).
    per_play : dict
        By end: degrees by which halved marks taken turning one way through are late for each mm of play.
    unsure : dict
        By end where the turning to some pair was not noted: degrees by which the play reckoned with makes its halved
        mark late or early, the most of them.
    """

    centres: dict[str, DeadCentre]
    play: float | None
    play_doubt: float
    play_found: bool
    residual: NDArray[np.float64]
    agree: bool
    apart: float
    apart_doubt: float
    apart_drawn: float
    per_play: dict[str, float]
    unsure: dict[str, float]


def find_dead_centres(crank: CrankMotion, pairs: Sequence[MarkPair], accuracy: Accuracy) -> Tram:
    """Dead centres by weighted least squares over all pairs, play with them where the marks can tell it.

    Play is found when pairs were taken turning both ways through, or refined when it was measured; otherwise it is
    taken to be nothing, and ``per_play`` says what each millimetre of it would do.

    Parameters
    ----------
    crank : CrankMotion
        By its dimensions, mm and radians.
    pairs : sequence of MarkPair
        Marks either side of a dead centre, degrees on the wheel.
    accuracy : Accuracy
        How near marks and crosshead were found, one sigma; the play, if it was measured.

    Raises
    ------
    TramError
        No pairs, or one that straddles no dead centre.
    """
    if not pairs:
        raise TramError("there are no marks", "give at least one pair of marks for a dead centre")
    for number, pair in enumerate(pairs):
        if not NARROWEST <= pair.half <= WIDEST:
            problem = f"the marks stand {2 * pair.half:.1f}° apart: no pair either side of a dead centre does"
            raise TramError(problem, f"wanted {2 * NARROWEST:g}° to {2 * WIDEST:g}°, the first to come first", number)
    fit = _Fit(crank, pairs, accuracy)
    ends = [end for end in ENDS if any(pair.end == end for pair in pairs)]
    centres = {end: fit.centre(end) for end in ends}
    apart, apart_doubt = fit.apart()
    return Tram(
        centres=centres,
        play=fit.play if fit.with_play else None,
        play_doubt=fit.doubt(-1) if fit.with_play else 0.0,
        play_found=fit.with_play and accuracy.play is None,
        residual=fit.residual,
        agree=fit.agree,
        apart=apart,
        apart_doubt=apart_doubt,
        apart_drawn=float(np.degrees(crank.back_crank_angle)),
        per_play={end: fit.per_play(end) for end in ends},
        unsure={end: float(np.max(np.abs(own))) for end, own in fit.either_way().items() if np.any(own)},
    )


class _Fit:
    """Least squares for the dead centres' marks and the play, exact errors linearised anew at each turn."""

    def __init__(self, crank: CrankMotion, pairs: Sequence[MarkPair], accuracy: Accuracy) -> None:
        self.crank, self.pairs, self.accuracy = crank, pairs, accuracy
        self.ends = [end for end in ENDS if any(pair.end == end for pair in pairs)]
        self.way = np.array([_WAY.get(pair.turned, 0.0) for pair in pairs])
        self.with_play = accuracy.play is not None or {1.0, -1.0} <= set(self.way)
        self.std = np.array([self._std(pair) for pair in pairs])
        self.first = {end: next(pair.middle for pair in pairs if pair.end == end) for end in self.ends}
        self.x = np.zeros(len(self.ends) + self.with_play)
        for _ in range(8):
            step = self._step()
            self.x = self.x + step
            if np.max(np.abs(step)) < 1e-12:
                break
        self.parts = self._parts(self.play)
        self.residual = self._left()
        self._judge()

    @property
    def play(self) -> float:
        return float(self.x[-1]) if self.with_play else 0.0

    def _std(self, pair: MarkPair) -> float:
        """Standard deviation of a halved mark: two marks, and two places of the crosshead."""
        shift = self.accuracy.crosshead / crosshead_rate(self.crank, pair.end, pair.half)
        return float(np.hypot(self.accuracy.mark, shift) / np.sqrt(2))

    def _halved(self, play: float) -> NDArray[np.float64]:
        """Offset and play parts of each pair's error as if it were turned forward through both, shape (N, 2)."""
        return np.array([halving_error(self.crank, pair.end, pair.half, play) for pair in self.pairs])

    def either_way(self) -> dict[str, NDArray[np.float64]]:
        """By end, what play does to each pair of it whose turning was not noted, degrees; 0 for all other pairs."""
        late = self._halved(self.play)[:, 1]
        return {end: late * [pair.end == end and not pair.turned for pair in self.pairs] for end in self.ends}

    def _parts(self, play: float) -> NDArray[np.float64]:
        """Offset and play parts of each pair's error, shape (N, 2); play's sign as in forward running."""
        found = self._halved(play)
        return np.stack([found[:, 0], found[:, 1] * self.way], axis=-1)

    def _left(self) -> NDArray[np.float64]:
        """Halved marks less what is expected of them, degrees, near zero."""
        dead = np.array([self.first[pair.end] + self.x[self.ends.index(pair.end)] for pair in self.pairs])
        off = np.array([pair.middle for pair in self.pairs]) - dead - np.sum(self._parts(self.play), axis=-1)
        return np.asarray((off + 180.0) % 360.0 - 180.0)

    def _step(self) -> NDArray[np.float64]:
        design = np.zeros((len(self.pairs), self.x.size))
        for row, pair in enumerate(self.pairs):
            design[row, self.ends.index(pair.end)] = 1.0
        left, std, small = self._left(), self._spread(), 1e-3
        if self.with_play:
            design[:, -1] = (self._parts(self.play + small)[:, 1] - self._parts(self.play - small)[:, 1]) / (2 * small)
        if self.accuracy.play is not None:
            design = np.vstack([design, np.eye(self.x.size)[-1]])
            left = np.append(left, self.accuracy.play - self.play)
            std = np.append(std, max(self.accuracy.play_std, 1e-6))
        weighted = design / std[:, None]
        gain = np.linalg.inv(weighted.T @ weighted) @ weighted.T / std
        own = gain[:, : len(self.pairs)]
        apart = gain * np.append(self.std, std[len(self.pairs) :])  # what is out in each by itself
        together = [own @ out for out in self.either_way().values()]
        self.covariance = apart @ apart.T + np.sum([np.outer(out, out) for out in together], axis=0)
        return np.asarray(gain @ left)

    def _spread(self) -> NDArray[np.float64]:
        """Standard deviation of each halved mark, play of which the way was not noted with it."""
        return np.asarray(np.linalg.norm([self.std, *self.either_way().values()], axis=0))

    def _judge(self) -> None:
        """Whether the pairs agree, and by how much their scatter widens the doubt."""
        from scipy.special import chdtrc

        misfit = float(np.sum((self.residual / self._spread()) ** 2))
        free = len(self.pairs) - self.x.size + (self.accuracy.play is not None)
        self.agree = free <= 0 or bool(chdtrc(free, misfit) >= _UNLIKELY)
        self.widened = max(1.0, float(np.sqrt(misfit / free))) if free > 0 else 1.0

    def doubt(self, which: int) -> float:
        """95 % half-width of an unknown."""
        return float(WIDE * self.widened * np.sqrt(self.covariance[which, which]))

    def centre(self, end: str) -> DeadCentre:
        own = np.array([pair.end == end for pair in self.pairs])
        which = self.ends.index(end)
        angle = self.first[end] + self.x[which]
        offset, late = self.parts[own].mean(axis=0)
        halved = angle + float(np.mean(self.residual[own]) + offset + late)
        return DeadCentre(
            end, int(own.sum()), float(angle % 360.0), self.doubt(which), halved % 360.0, float(offset), float(late)
        )

    def apart(self) -> tuple[float, float]:
        if len(self.ends) < 2:
            return float("nan"), float("nan")
        between = self.first["back"] + self.x[1] - self.first["front"] - self.x[0]
        both = np.zeros(self.x.size)
        both[:2] = (-1.0, 1.0)
        return float(between % 360.0), float(WIDE * self.widened * np.sqrt(both @ self.covariance @ both))

    def per_play(self, end: str) -> float:
        small = 1e-3
        own = [halving_error(self.crank, end, pair.half, small)[1] for pair in self.pairs if pair.end == end]
        return float(np.mean(own)) / small
