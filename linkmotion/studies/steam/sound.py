"""The beats as sound: at each release a burst of shaped noise, the left cylinder more to the left ear.

Every burst is made of the same noise, so that only time and strength tell one beat from another. Its first sample
stands out of silence: the beat begins there, and nowhere else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.steam.beats import Beats

RATE = 44_100  # samples a second
BEFORE, BETWEEN = 0.25, 0.75  # seconds of silence
_LOUDEST, _SOFTEST = 0.9, 0.05  # of full scale
_EDGE, _OTHER_EAR = 0.25, 0.4
_LOW, _HIGH = 90.0, 900.0  # Hz: the noise lies between
_NOISE = 1 << 15  # samples


@dataclass(frozen=True, eq=False)
class Sound:
    """Sound of beats.

    Attributes
    ----------
    samples : array, shape (N, 2)
        Left and right ear, −1 to 1.
    onsets : tuple of (int, int, str)
        Sample at which each beat begins, number of the case, and "left front" and so on.
    """

    samples: NDArray[np.float64]
    onsets: tuple[tuple[int, int, str], ...]


def sound(cases: Sequence[Beats], revolutions: float, seconds: float) -> Sound:
    """Cases one after another, as sound at :data:`RATE` samples a second.

    Parameters
    ----------
    cases : sequence of Beats
        Loudness is told by the strongest beat of all.
    revolutions, seconds : float
        Of the wheel per minute; for how long each is heard.
    """
    loudest = max((abs(beat.strength) for case in cases for beat in case.sounding), default=0.0)
    onsets: list[tuple[int, int, str]] = []
    pieces: list[tuple[int, NDArray[np.float64]]] = []
    start = BEFORE
    for number, case in enumerate(cases):
        for at, which in _times(case, revolutions, seconds):
            beat, sample = case.sounding[which], round((start + at) * RATE)
            loud = max(abs(beat.strength) / loudest, _SOFTEST) if loudest else _SOFTEST
            made = _LOUDEST * loud * _burst(_length(case, revolutions), beat.rise / (6 * revolutions))
            ears = (1.0, _OTHER_EAR) if beat.side == "left" else (_OTHER_EAR, 1.0)
            pieces.append((sample, made[:, None] * np.array(ears)))
            onsets.append((sample, number, beat.name))
        start += seconds + BETWEEN
    samples = np.zeros((round(start * RATE), 2))
    for sample, made in pieces:
        room = samples[sample : sample + len(made)]
        room += made[: len(room)]
    return Sound(samples, tuple(onsets))


def _times(case: Beats, revolutions: float, seconds: float) -> list[tuple[float, int]]:
    """Seconds from the start at which beats come, the first at none, and which beat each is."""
    if not case.sounding:
        return []
    angles = np.array([beat.angle for beat in case.sounding])
    turns = np.arange(int(np.ceil(seconds * revolutions / 60)) + 1)
    times = (360.0 * turns[:, None] + angles - angles[0]) / (6 * revolutions)
    return [(float(t), i) for row in times for i, t in enumerate(row) if t < seconds]


def _length(case: Beats, revolutions: float) -> int:
    """Samples of a burst: silence must come before the next."""
    shortest = min(beat.interval for beat in case.sounding) / (6 * revolutions)
    return max(int(min(0.3, 0.8 * shortest) * RATE), 1)


def _burst(length: int, rise: float) -> NDArray[np.float64]:
    """A burst: up from a sharp edge in the time the port takes to open, then dying away."""
    t = np.arange(length) / RATE
    last = length / RATE
    up = _EDGE + (1 - _EDGE) * np.minimum(t / max(min(rise, last / 3), 1 / RATE), 1.0)
    return np.asarray(_noise()[:length] * up * np.exp(-4 * t / last) * (1 - t / last))


@lru_cache(maxsize=1)
def _noise() -> NDArray[np.float64]:
    """Noise between two pitches, greatest at its first sample (1)."""
    white = np.fft.rfft(np.random.default_rng(1).standard_normal(_NOISE))
    pitch = np.fft.rfftfreq(_NOISE, 1 / RATE)
    shaped = np.fft.irfft(white * pitch**2 / (pitch**2 + _LOW**2) / (1 + (pitch / _HIGH) ** 2), _NOISE)
    first = int(np.argmax(np.abs(shaped)))
    return np.asarray(np.roll(shaped, -first) / shaped[first])
