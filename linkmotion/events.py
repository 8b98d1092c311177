"""Port events: where an edge opens and closes, found exactly.

An event is a zero of a signed opening over the wrapped circle. The opening is a Fourier series, so
between two neighbouring turning points there is one zero or none: samples bracket the zeros,
turning points near the line are polished first (a port that just fails to open, or opens between
two samples), and every zero is polished by Newton's method kept inside its bracket.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage import Harmonics
from linkmotion.piston import Piston, dead_centre, part_from
from linkmotion.valve import ENDS, Ports

EVENTS = ("admission", "cutoff", "release", "compression")
FORWARD, BACKWARD = "forward", "backward"
DIRECTIONS = (FORWARD, BACKWARD)
TOUCH = 1e-6  # mm: a turning point this near the line is told as touching
_TURN = 2 * np.pi
_SAME = 1e-12  # radians


@dataclass(frozen=True)
class Zeros:
    """Zeros of S signals.

    Attributes
    ----------
    row : int array, shape (Z,)
        Which signal.
    angle : float array, shape (Z,)
        Radians in [0, 2 pi), increasing within a row.
    rising : bool array, shape (Z,)
        True where the signal goes from below zero to above it.
    touching : tuple of (row, angle)
        Turning points within TOUCH of zero (not counted as zeros).
    positive : bool array, shape (S,)
        Whether the signal is above zero at angle zero (tells 'always' from 'never').
    """

    row: NDArray[np.intp]
    angle: NDArray[np.float64]
    rising: NDArray[np.bool_]
    touching: tuple[tuple[int, float], ...]
    positive: NDArray[np.bool_]


def zeros(signal: Harmonics, samples: int = 0) -> Zeros:
    """All zeros of S signals, shape (S, K) of coefficients, polished to about 1e-12 rad.

    A turning point within TOUCH of zero is told as touching, and makes no zeros.
    """
    count = samples or max(96, 4 * signal.c.shape[-1])
    f = signal.on_grid(count)
    over = f > 0
    turns = _turns(signal, f, over)
    changes = over != np.roll(over, -1, -1)
    changes[turns.row[turns.lone], turns.at[turns.lone] - 1] = False  # one sample over the line, and only touching
    changes[turns.row[turns.lone], turns.at[turns.lone]] = False
    row, at = np.nonzero(changes)
    step = _TURN / count
    row, low, high, rising = (
        np.concatenate(pair)
        for pair in zip((row, at * step, (at + 1) * step, ~over[row, at]), turns.brackets(over, step), strict=True)
    )
    angle = _polish(signal, row, low, high, rising) % _TURN
    angle[_TURN - angle < _SAME] = 0.0  # a hair before the full turn is the start of it
    order = np.lexsort((angle, row))
    return Zeros(row[order], angle[order], rising[order], turns.touching, over[:, 0])


def _polish(
    signal: Harmonics, row: NDArray[np.intp], low: NDArray[Any], high: NDArray[Any], rising: NDArray[np.bool_]
) -> NDArray[Any]:
    """Newton inside brackets, halving where a step leaves them."""
    own = signal[row]
    rate = own.rate()
    t = (low + high) / 2
    for _ in range(60):
        value = own(t)
        before = (value > 0) != rising
        low, high = np.where(before, t, low), np.where(before, high, t)
        with np.errstate(divide="ignore", invalid="ignore"):
            step = t - value / rate(t)
        new = np.where((step >= low) & (step <= high), step, (low + high) / 2)
        done = np.max(np.abs(new - t), initial=0.0) < 1e-13
        t = new
        if done:
            break
    return np.asarray(t)


@dataclass(frozen=True)
class _Turns:
    """Turning points near the line: the sample nearest, the place and value polished.

    ``lone`` marks those whose one sample over the line only touches it; ``twice`` those that pass the
    line between samples, and so make two zeros there.
    """

    row: NDArray[np.intp]
    at: NDArray[np.intp]
    place: NDArray[Any]
    touches: NDArray[np.bool_]
    lone: NDArray[np.bool_]
    twice: NDArray[np.bool_]

    @property
    def touching(self) -> tuple[tuple[int, float], ...]:
        pairs = zip(self.row[self.touches], self.place[self.touches], strict=True)
        return tuple((int(row), float(place % _TURN)) for row, place in pairs)

    def brackets(self, over: NDArray[np.bool_], step: float) -> tuple[NDArray[Any], ...]:
        """Row, ends and direction of the brackets of the zeros made between samples."""
        row, at, middle = self.row[self.twice], self.at[self.twice], self.place[self.twice]
        first = ~over[row, at]
        return (
            np.concatenate([row, row]),
            np.concatenate([(at - 1) * step, middle]),
            np.concatenate([middle, (at + 1) * step]),
            np.concatenate([first, ~first]),
        )


def _turns(signal: Harmonics, f: NDArray[Any], over: NDArray[np.bool_]) -> _Turns:
    """Turning points that may reach the line between samples of one side, or at one lone sample."""
    before, after = np.roll(f, 1, -1), np.roll(f, -1, -1)
    differs = [over != np.roll(over, by, -1) for by in (1, -1)]
    alone = differs[0] & differs[1]
    nearest = ~differs[0] & ~differs[1] & (np.abs(f) <= np.abs(before)) & (np.abs(f) < np.abs(after))
    reach = np.abs(before - f) + np.abs(after - f) + TOUCH
    row, at = np.nonzero((alone | nearest) & (np.abs(f) <= reach))
    own, step = signal[row], _TURN / f.shape[-1]
    rate = own.rate()
    bend = rate.rate()
    t = at * step
    for _ in range(30 if row.size else 0):
        curve = bend(t)
        move = np.where(curve == 0, 0.0, -rate(t) / np.where(curve == 0, 1.0, curve))
        t = np.clip(t + move, (at - 1) * step, (at + 1) * step)
    value = own(t)
    touches = np.abs(value) <= TOUCH
    twice = nearest[row, at] & ~touches & ((value > 0) != over[row, at])
    return _Turns(row, at, t, touches, touches & alone[row, at], twice)


@dataclass(frozen=True)
class EndEvents:
    """Events of one end of the cylinder in S cases (notches, or variants).

    Attributes
    ----------
    lead : float array, shape (S,)
        Steam opening at the end's dead centre, mm, signed.
    opening : float array, shape (S,)
        Greatest steam opening, mm, not more than the port width.
    over_travel : float array, shape (S,)
        How far the steam edge runs past full opening, mm; zero where it does not.
    angle : dict of float arrays, shape (S,)
        For each of EVENTS, crank angle from the end's dead centre in the direction of running,
        degrees in [0, 360); NaN where the event does not happen.
    percent : dict of float arrays, shape (S,)
        The piston's distance from the end's dead centre, percent of stroke.
    missing : dict of tuples of str, length S
        For "steam" and "exhaust": "" or "never opens" / "never closes" / "opens twice" / "just touches".
    """

    lead: NDArray[Any]
    opening: NDArray[Any]
    over_travel: NDArray[Any]
    angle: dict[str, NDArray[Any]]
    percent: dict[str, NDArray[Any]]
    missing: dict[str, tuple[str, ...]]


def end_events(valve: Harmonics, ports: Ports, piston: Piston, end: str, direction: str = FORWARD) -> EndEvents:
    """Events of one end.

    Parameters
    ----------
    valve : Harmonics
        Displacement of the valve from central, mm, shape (S, K), as a series in the *forward* crank angle.
    ports, piston
        The working edges; the crank and piston.
    end, direction : str
        "front" or "back"; "forward" or "backward".
    """
    forward = direction == FORWARD
    run = valve if forward else valve.reversed()
    dead = np.broadcast_to(dead_centre(piston, end), valve.c.shape[:1])
    dead = dead if forward else -dead
    angle: dict[str, NDArray[Any]] = {}
    missing: dict[str, tuple[str, ...]] = {}
    for flow, opens, closes in (("steam", "admission", "cutoff"), ("exhaust", "release", "compression")):
        angle[opens], angle[closes], missing[flow] = port_angles(run, ports, flow, end)
    percent = {}
    for name, at in angle.items():
        percent[name] = 100 * part_from(piston, end, at if forward else -at)
        angle[name] = np.degrees(at - dead) % 360.0
    steam = _opening(run, ports, "steam", end)
    most = _greatest(steam)
    return EndEvents(
        steam(dead),
        np.minimum(most, ports.port_width),
        np.maximum(most - ports.port_width, 0.0),
        angle,
        percent,
        missing,
    )


def port_angles(
    run: Harmonics, ports: Ports, flow: str, end: str
) -> tuple[NDArray[Any], NDArray[Any], tuple[str, ...]]:
    """Where an edge's longest opening begins and ends, and what is unusual about it.

    Parameters
    ----------
    run : Harmonics
        Displacement of the valve from central, mm, shape (S, K), as a series in the crank angle in the direction of
        running.
    ports, flow, end
        Whose edge.

    Returns
    -------
    opens, closes : float array, shape (S,)
        Radians from front dead centre in the direction of running, in [0, 2 pi); NaN where it does not happen.
    missing : tuple of str, length S
        As in :class:`EndEvents`.
    """
    return _pairs(zeros(_opening(run, ports, flow, end)), run.c.shape[0])


def _opening(valve: Harmonics, ports: Ports, flow: str, end: str) -> Harmonics:
    edge = ports.edge(flow, end)
    c = edge.sign * valve.c
    c[..., 0] -= edge.lap if np.ndim(edge.lap) == 0 else np.reshape(edge.lap, -1)
    return Harmonics(c)


def _pairs(found: Zeros, rows: int) -> tuple[NDArray[Any], NDArray[Any], tuple[str, ...]]:
    """Opening and closing angle of each row's longest opening, and what is unusual about it."""
    opens, closes = np.full(rows, np.nan), np.full(rows, np.nan)
    told = [""] * rows
    number = np.bincount(found.row[found.rising], minlength=rows)
    plain = number == 1
    up, down = found.rising & plain[found.row], ~found.rising & plain[found.row]
    opens[found.row[up]], closes[found.row[down]] = found.angle[up], found.angle[down]
    for row in np.nonzero(~plain)[0].tolist():
        if number[row] == 0:
            told[row] = "never closes" if found.positive[row] else "never opens"
            continue
        told[row] = "opens twice"
        opens[row], closes[row] = max(_openings(found, row), key=lambda pair: (pair[1] - pair[0]) % _TURN)
    for row, _angle in found.touching:
        told[row] = f"{told[row]}, just touches".lstrip(", ")
    return opens, closes, tuple(told)


def _openings(found: Zeros, row: int) -> Iterator[tuple[float, float]]:
    angles, rising = found.angle[found.row == row], found.rising[found.row == row]
    for i in np.nonzero(rising)[0].tolist():
        yield float(angles[i]), float(angles[(i + 1) % angles.size])


def _greatest(signal: Harmonics) -> NDArray[Any]:
    """Greatest value of each of S signals."""
    return extremes(signal)[1]


def extremes(signal: Harmonics) -> tuple[NDArray[Any], NDArray[Any]]:
    """Least and greatest value of each of S signals, polished."""
    count = max(96, 4 * signal.c.shape[-1])
    f = signal.on_grid(count)
    rate, bend = signal.rate(), signal.rate().rate()
    found = []
    for at in (np.argmin(f, -1), np.argmax(f, -1)):
        t = middle = at * (_TURN / count)
        for _ in range(6):
            curve = bend(t)
            move = np.where(curve == 0, 0.0, -rate(t) / np.where(curve == 0, 1.0, curve))
            t = np.clip(t + move, middle - _TURN / count, middle + _TURN / count)
        found.append(signal(t))
    return found[0], found[1]


def both_ends(valve: Harmonics, ports: Ports, piston: Piston, direction: str) -> dict[str, EndEvents]:
    """Events of both ends, by end."""
    return {end: end_events(valve, ports, piston, end, direction) for end in ENDS}
