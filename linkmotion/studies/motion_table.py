"""The motion of every pin at every crank angle and every reverser position, as one compact table.

Over the reverser a pin's motion is smooth, over the crank angle it is periodic: Fourier coefficients at a few
Chebyshev nodes of the reverser give any other position by barycentric interpolation,

    c(u) = sum_j w_j c_j / (u - u_j)  /  sum_j w_j / (u - u_j),   w_j = (-1)^j, halved at both ends

(Berrut and Trefethen, SIAM Review 46 (2004), equations 4.2 and 5.4; from memory, and tested), exact between the
outermost notches to far less than a gauge can read.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears import Gear
from linkmotion.gears.reverser import ReverserPosition, Stop, figure
from linkmotion.linkage import Harmonics, Linkage, LinkageError
from linkmotion.studies.assess import SideEvents
from linkmotion.valve import ENDS, Ports
from linkmotion.wear.condition import Condition
from linkmotion.wear.effects import turned
from linkmotion.wear.lost_motion import joints_of, lost_motion

GOOD = 1e-4  # mm: more nodes are taken while the valve between them is off by more,
GOOD_LOST = 5e-3  # mm: or its free movement, which has corners where a joint's share changes sign
NODE_COUNTS = (9, 13, 17, 25)  # a worn slot's profile has corners: the last is taken whatever it gives
FIGURES = (
    "central_at",
    "back",
    *(f"{flow}_{end}" for flow in ("steam", "exhaust") for end in ENDS),
    "port_width",
    "inclination",
    "afresh_at",
)
LOST_ANGLES = 72


@dataclass(frozen=True, eq=False)
class Motion:
    """Everything that moves on one side in one state, or the difference of two such.

    Attributes
    ----------
    series : complex array, shape (U, Q, K)
        Fourier coefficients in the forward crank angle at each reverser node, of each quantity: mm, degrees.
    figures : float array
        In the order of FIGURES: mm; ``back`` (back dead centre) in radians; ``inclination`` (cylinder) in degrees;
        ``afresh_at`` where the valve is central once it is set by its rule (as it stands, where there is none).
    lost : float array, shape (U, LOST_ANGLES)
        Free movement of the valve, mm.
    """

    series: NDArray[Any]
    figures: NDArray[Any]
    lost: NDArray[Any]

    def __sub__(self, other: Motion) -> Motion:
        count = max(self.series.shape[-1], other.series.shape[-1])
        series = _wide(self.series, count) - _wide(other.series, count)
        return Motion(series, self.figures - other.figures, self.lost - other.lost)


def position(setting: ReverserPosition, notches: tuple[ReverserPosition, ...]) -> float:
    """Reverser position of a setting: its one figure (degrees, mm); a stop's is its number.

    Parameters
    ----------
    setting, notches : ReverserPosition, tuple of such
        One of those of the side's notches.
    """
    if isinstance(setting, Stop):
        return float(notches.index(setting))
    return float(np.ravel(figure(setting))[0])


def settings_at(kind: type[Any], nodes: Any, notches: tuple[ReverserPosition, ...]) -> ReverserPosition:
    """Settings at reverser positions, as one of shape (U, 1).

    Parameters
    ----------
    kind, nodes : type, array, shape (U,)
        Of the settings; their positions.
    notches : tuple of ReverserPosition
        Those of the side's notches, which stops are named by.
    """
    if kind is Stop:
        values = [float(figure(notches[round(u)])) for u in np.ravel(nodes)]
        return Stop(np.array(values)[:, None])
    return kind(np.asarray(nodes, float)[:, None])  # type: ignore[no-any-return]


def nodes_for(kind: type[Any], sides: Iterable[SideEvents], counts: tuple[int, ...] = NODE_COUNTS) -> NDArray[Any]:
    """Reverser positions to tabulate: Chebyshev nodes between the outermost notches of all these sides.

    So many of ``counts`` that valve and lost motion between them are right, at worst the last; every stop of an
    eccentric.

    Parameters
    ----------
    kind, sides : type, iterable of SideEvents
        Of the settings; of one gear.
    counts : tuple of int
        Tried in turn.
    """
    seen = sorted(sides, key=lambda side: not side.condition.slot)  # what wants the most nodes is asked first
    if kind is Stop:
        return np.arange(len(seen[0].settings), dtype=float)[::-1]
    places = [position(s, side.settings) for side in seen for s in side.settings]
    least, most = min(places), max(places)
    if least == most:
        return np.array([least])
    nodes = np.array([])
    for count in counts:
        nodes = (least + most) / 2 + (most - least) / 2 * np.cos(np.pi * np.arange(count) / (count - 1))
        between = (nodes[:-1] + nodes[1:]) / 2
        if count == counts[-1] or all(_off(side, kind, nodes, between) < 1 for side in seen):
            break
    return nodes


def _off(side: SideEvents, kind: type[Any], nodes: NDArray[Any], between: NDArray[Any]) -> float:
    """By how much the valve, or its free movement, interpolated between the nodes is off, over what is allowed."""
    at = [kind(u[:, None]) for u in (nodes, between)]
    try:
        series = [turned(side.gear, settings, side.condition).spindle.c for settings in at]
        lost = [_played(side.gear, settings, side.condition)[0] for settings in at]
    except LinkageError:
        return 0.0  # told where the table is made
    count, share = min(c.shape[-1] for c in series), weights(nodes, between)
    there = np.einsum("tn,nk->tk", share, series[0][:, :count])
    valve = np.max(np.sum(np.abs(there - series[1][:, :count]), axis=-1))
    return float(max(valve / GOOD, np.max(np.abs(share @ lost[0] - lost[1])) / GOOD_LOST))


def weights(nodes: NDArray[Any], places: Any) -> NDArray[Any]:
    """Barycentric weights of Chebyshev nodes at places other than nodes, shape (places, nodes).

    Parameters
    ----------
    nodes, places : arrays, shape (U,) and (places,)
        Of the reverser.

    Examples
    --------
    >>> nodes = np.cos(np.pi * np.arange(5) / 4)
    >>> round(float(weights(nodes, [0.3])[0] @ nodes**4), 12)
    0.0081
    """
    sign = (-1.0) ** np.arange(nodes.size)
    sign[[0, -1]] /= 2
    share = sign / (np.asarray(places, float)[:, None] - nodes)
    return np.asarray(share / share.sum(axis=-1, keepdims=True))


def quantities(linkage: Linkage, slotted: bool) -> tuple[str, ...]:
    """What a motion holds, in its order: of every joint, last, which way its pin moves in its hole."""
    names = [f"{pin} {axis}" for pin in linkage.names for axis in "xy"] + ["spindle"]
    names += ["die", "link"] if slotted else []
    return (*names, *(f"{joint} play {axis}" for joint in joints_of(linkage) for axis in "xy"))


def motion_at(
    gear: Gear,
    condition: Condition,
    settings: ReverserPosition,
    places: tuple[float, float],
    known: tuple[Gear, Motion] | None = None,
) -> Motion:
    """Turn a gear at the reverser's nodes.

    Parameters
    ----------
    gear : Gear
        As it stands, worn.
    condition : Condition
        Its play and its slot.
    settings : ReverserPosition
        The nodes, shape (U, 1).
    places : (central_at, afresh_at)
        Where the spindle pin is with the valve central: as it stands; and once it is set by its rule, mm.
    known : (Gear, Motion), optional
        A sound gear turned there before: where this is the same one its play alone is new.
    """
    rows, linkage = np.size(figure(settings)), gear.declare(settings)
    sound_slot = not condition.die_offset and not any(reading.front or reading.back for reading in condition.slot)
    if known is not None and sound_slot and known[0] == gear:
        pins = list(np.moveaxis(known[1].series, 1, 0)[: -2 * len(joints_of(linkage))])
    else:
        pins = _turned(gear, settings, condition)
    lost, ways = _played(gear, settings, condition)
    for joint in joints_of(linkage):
        way = np.broadcast_to(ways.get(joint, 0j), (rows, LOST_ANGLES))
        pins += [Harmonics.through(way.real).c, Harmonics.through(way.imag).c]
    count = max(own.shape[-1] for own in pins)
    ports = Ports.of(gear.valve)
    laps = [ports.edge(flow, end).lap for flow in ("steam", "exhaust") for end in ENDS]
    central_at, afresh_at = places
    figures = [
        central_at,
        gear.crank.back_crank_angle,
        *laps,
        ports.port_width,
        gear.cylinder.inclination,
        afresh_at,
    ]
    return Motion(np.stack([_wide(own, count) for own in pins], axis=1), np.array(figures, float), lost)


def _turned(gear: Gear, settings: ReverserPosition, condition: Condition) -> list[NDArray[Any]]:
    """Series of the pins, the spindle, and with a link of the die and the link."""
    now = turned(gear, settings, condition)
    rows = np.size(figure(settings))
    shape = (rows, now.solution.wheel.turn.size)
    found: list[Any] = []
    for pin in now.solution.points:
        place = np.broadcast_to(pin, shape)
        found += [Harmonics.through(place.real).c, Harmonics.through(place.imag).c]
    others = [now.spindle.c] if gear.slot is None else [own.c for own in (now.spindle, now.die, now.swing)]
    return found + [np.broadcast_to(own, (rows, own.shape[-1])) for own in others]


def _played(gear: Gear, settings: ReverserPosition, condition: Condition) -> tuple[NDArray[Any], dict[str, Any]]:
    """Free movement of the valve, mm, and of each joint that has any, which way."""
    none = np.zeros((np.size(figure(settings)), LOST_ANGLES))
    if not condition.loose:
        return none, {}
    found = lost_motion(gear, settings, condition, LOST_ANGLES)
    return none + found.total, found.ways


def _wide(series: NDArray[Any], count: int) -> NDArray[Any]:
    """Series with zeros for the harmonics it has not."""
    wide = np.zeros((*series.shape[:-1], count), series.dtype)
    wide[..., : series.shape[-1]] = series
    return wide
