"""A worn side turned: its events in motion beside those without play, and its lost motion joint by joint, as rows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from linkmotion.events import EVENTS
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.row_figures import length, plain
from linkmotion.valve import ENDS
from linkmotion.wear.lost_motion import LostMotion, lost_motion


def moving_rows(side: SideEvents, directions: Iterable[Iterable[str]]) -> Iterator[dict[str, Any]]:
    """One row for a notch, a direction and an end; figures without their play and with it, mm or percent of stroke.

    Parameters
    ----------
    side, directions : SideEvents, iterable of iterables of str
        As assessed; those looked at in each notch.
    """
    for i, (notch, looked_at) in enumerate(zip(side.notches, directions, strict=True)):
        for direction in looked_at:
            for end in ENDS:
                still, moving = side.without_play[direction][end], side.events[direction][end]
                yield {
                    "notch": notch,
                    "direction": direction,
                    "end": end,
                    "lead": (length(still.lead[i]), length(moving.lead[i])),
                    **{event: (plain(still.percent[event][i]), plain(moving.percent[event][i])) for event in EVENTS},
                    "opening": (length(still.opening[i]), length(moving.opening[i])),
                    "travel": (length(side.motion.travel[i]), length(side.travel[direction][i])),
                }


def changed_by_drag(
    side: SideEvents, directions: Iterable[Iterable[str]], drags: Iterable[float]
) -> dict[str, tuple[float, float]]:
    """What other drags make of a worn side's events in motion: "lead", "cutoff", "travel" → least and greatest change.

    Parameters
    ----------
    directions : iterable of iterables of str
        Those looked at in each notch.
    drags : iterable of float
        N, instead of the side's own; mass and revolutions stay.

    Returns
    -------
    dict
        mm, and percent of the stroke; events that are missing with either drag are left out.
    """
    ways = [tuple(each) for each in directions]
    found: dict[str, list[float]] = {"lead": [], "cutoff": [], "travel": []}
    for drag in drags:
        other = replace(side, load=replace(side.load, drag=drag))
        for i, looked_at in enumerate(ways):
            for way in looked_at:
                found["travel"].append(float(other.travel[way][i] - side.travel[way][i]))
                for end in ENDS:
                    now, was = other.events[way][end], side.events[way][end]
                    found["lead"].append(float(now.lead[i] - was.lead[i]))
                    found["cutoff"].append(float(now.percent["cutoff"][i] - was.percent["cutoff"][i]))
    return {figure: (float(np.nanmin(own)), float(np.nanmax(own))) for figure, own in found.items()}


def loosest_notch(side: SideEvents) -> int:
    """Number of the notch in which the lost motion is greatest at some crank angle."""
    return int(np.argmax(side.lost.max(axis=-1)))


def lost_round_the_wheel(side: SideEvents, notch: int, positions: int = 96) -> LostMotion:
    """Lost motion of one notch, in total and from each joint, greatest joint first; mm.

    Parameters
    ----------
    side, notch : SideEvents, int
        As assessed; its number.
    positions : int
        Even steps of the crank angle, from front dead centre in forward running.
    """
    found = lost_motion(side.gear, side.settings[notch], side.condition, positions)
    joints = {joint: np.broadcast_to(free, (positions,)) for joint, free in found.joints.items()}
    order = sorted(joints, key=lambda joint: -float(joints[joint].max()))
    return LostMotion(found.crank_angle, {joint: joints[joint] for joint in order})
