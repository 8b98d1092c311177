"""Port events: where an edge opens and closes, found exactly.

An event is a zero of a signed opening over the wrapped circle; the opening is a Fourier series
(:mod:`linkmotion.linkage.zeros`).

Examples
--------
A valve of 50 mm travel in step with a very long rod, 15 mm lap, an angle of advance of asin(18/25): 3 mm lead, and
cutoff where 25 sin(angle + advance) has come back to 15:

>>> from types import SimpleNamespace
>>> from linkmotion.gears.book import Valve
>>> advance = np.arcsin(18 / 25)
>>> valve = Harmonics(np.array([[0.0, -25 * np.exp(1j * (advance - np.pi / 2))]]))
>>> ports = Ports.of(Valve(admission="outside", port_width=30.0, steam_lap=15.0, guide_height=0.0))
>>> piston = SimpleNamespace(back_crank_angle=np.pi, fraction=lambda angle: (1 - np.cos(angle)) / 2)
>>> front = both_ends(valve, ports, piston, "forward")["front"]
>>> print(f"lead {front.lead[0]:.3f} mm, cutoff {front.angle['cutoff'][0]:.3f} degrees")
lead 3.000 mm, cutoff 97.076 degrees
>>> print(f"{np.degrees(np.pi - np.arcsin(15 / 25) - advance):.3f}")
97.076
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage import Harmonics
from linkmotion.linkage.turning_points import extremes
from linkmotion.linkage.zeros import Zeros, zeros
from linkmotion.piston import Piston, dead_centre, part_from
from linkmotion.valve import ENDS, Edge, Ports

EVENTS = ("admission", "cutoff", "release", "compression")
FLOWS = {"steam": EVENTS[:2], "exhaust": EVENTS[2:]}  # which opening and closing each of a port's edges makes
FORWARD, BACKWARD = "forward", "backward"
DIRECTIONS = (FORWARD, BACKWARD)
_TURN = 2 * np.pi
_TIMES = {2: "twice", 3: "three times", 4: "four times"}


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
        For "steam" and "exhaust": "" or "never opens" / "never closes" / "opens twice" (or more often) /
        "just touches".
    """

    lead: NDArray[Any]
    opening: NDArray[Any]
    over_travel: NDArray[Any]
    angle: dict[str, NDArray[Any]]
    percent: dict[str, NDArray[Any]]
    missing: dict[str, tuple[str, ...]]


def end_events(valve: Harmonics, ports: Ports, piston: Piston, end: str, direction: str = FORWARD) -> EndEvents:
    """Events of one end in one direction of running.

    Parameters
    ----------
    valve, ports, piston
        As for :func:`events_by_way`.
    end, direction : str
        "front" or "back"; "forward" or "backward".
    """
    return events_by_way(valve, ports, piston, (direction,), (end,))[direction][end]


def both_ends(valve: Harmonics, ports: Ports, piston: Piston, direction: str) -> dict[str, EndEvents]:
    """Events of both ends in one direction of running.

    Parameters
    ----------
    valve, ports, piston
        As for :func:`events_by_way`.
    direction : str
        "forward" or "backward".

    Returns
    -------
    dict of EndEvents
        By "front" and "back".
    """
    return events_by_way(valve, ports, piston, (direction,))[direction]


def events_by_way(
    valve: Harmonics,
    ports: Ports,
    piston: Piston,
    ways: Iterable[str],
    ends: Iterable[str] = ENDS,
    reached: tuple[Any, Any] | None = None,
) -> dict[str, dict[str, EndEvents]]:
    """Events by direction of running and end; a port's zeros are found once for both directions.

    Where a port opens more than once, the events are those of its longest opening.

    Parameters
    ----------
    valve : Harmonics
        Displacement of the valve from central, mm, shape (S, K), as a series in the *forward* crank angle.
    ports, piston
        The working edges; the crank and piston.
    ways, ends : iterables of str
        Of "forward" and "backward"; of "front" and "back".
    reached : pair of arrays, shape (S,), optional
        Least and greatest displacement, mm, where they are known.

    Returns
    -------
    dict of dicts of EndEvents
        By direction, then by end.
    """
    ways = tuple(ways)
    reached = extremes(valve) if reached is None else reached
    found: dict[str, dict[str, EndEvents]] = {way: {} for way in ways}
    for end in ends:
        passed = {flow: zeros(signed_opening(valve, ports.edge(flow, end))) for flow in FLOWS}
        for way in ways:
            found[way][end] = _of_end(valve, passed, ports, piston, end, way, reached)
    return found


def _of_end(
    valve: Harmonics,
    passed: dict[str, Zeros],
    ports: Ports,
    piston: Piston,
    end: str,
    way: str,
    reached: tuple[Any, Any],
) -> EndEvents:
    forward = way == FORWARD
    dead = np.broadcast_to(dead_centre(piston, end), valve.c.shape[:1])
    angle: dict[str, NDArray[Any]] = {}
    percent: dict[str, NDArray[Any]] = {}
    missing: dict[str, tuple[str, ...]] = {}
    for flow, own in passed.items():
        opens, closes = FLOWS[flow]
        angle[opens], angle[closes], missing[flow] = longest_openings(own if forward else own.reversed(), len(dead))
    for name, at in angle.items():
        percent[name] = 100 * part_from(piston, end, at if forward else -at)
        angle[name] = np.degrees(at - (dead if forward else -dead)) % 360.0
    steam = ports.edge("steam", end)
    most = steam.opening(reached[1] if steam.sign > 0 else reached[0])
    return EndEvents(
        steam.opening(valve(dead)),
        np.minimum(most, ports.port_width),
        np.maximum(most - ports.port_width, 0.0),
        angle,
        percent,
        missing,
    )


def signed_opening(valve: Harmonics, edge: Edge) -> Harmonics:
    """Signed opening of an edge, mm, shape (S, K), as a series in the angle in which the valve's motion is one.

    Parameters
    ----------
    valve : Harmonics
        Displacement of the valve from central, mm, shape (S, K).
    edge : Edge
        One of its ports'; its lap one number, or one for each of the S.
    """
    c = edge.sign * valve.c
    c[..., 0] -= edge.lap if np.ndim(edge.lap) == 0 else np.reshape(edge.lap, -1)
    return Harmonics(c)


def longest_openings(found: Zeros, rows: int) -> tuple[NDArray[Any], NDArray[Any], tuple[str, ...]]:
    """Where the longest opening of each of S edges begins and ends, and what is unusual about it.

    Parameters
    ----------
    found : Zeros
        Of the signed openings, in the direction of running.
    rows : int
        S.

    Returns
    -------
    opens, closes : float array, shape (S,)
        Radians from front dead centre in the direction of running, in [0, 2 pi); NaN where it does not happen.
    missing : tuple of str, length S
        As in :class:`EndEvents`.
    """
    opens, closes = np.full(rows, np.nan), np.full(rows, np.nan)
    told = [""] * rows
    number = np.bincount(found.row[found.rising], minlength=rows)
    plain = number == 1
    up, down = found.rising & plain[found.row], ~found.rising & plain[found.row]
    opens[found.row[up]], closes[found.row[down]] = found.angle[up], found.angle[down]
    for row in np.nonzero(~plain)[0].tolist():
        told[row] = remark(int(number[row]), bool(found.positive[row]))
        if number[row] == 0:
            continue
        opens[row], closes[row] = max(_openings(found, row), key=lambda pair: (pair[1] - pair[0]) % _TURN)
    for row, _angle in found.touching:
        told[row] = f"{told[row]}, just touches".lstrip(", ")
    return opens, closes, tuple(told)


def remark(times: int, is_open: bool) -> str:
    """What is unusual about a port that opens so many times in a revolution, or is open (or shut) all round it.

    Parameters
    ----------
    times : int
        How often it opens.
    is_open : bool
        Which of the two, where it never moves from it.

    Returns
    -------
    str
        "" for a port that opens once, else as in ``EndEvents.missing``.
    """
    if times == 1:
        return ""
    if times == 0:
        return "never closes" if is_open else "never opens"
    return f"opens {_TIMES.get(times, f'{times} times')}"


def _openings(found: Zeros, row: int) -> Iterator[tuple[float, float]]:
    angles, rising = found.angle[found.row == row], found.rising[found.row == row]
    for i in np.nonzero(rising)[0].tolist():
        yield float(angles[i]), float(angles[(i + 1) % angles.size])
