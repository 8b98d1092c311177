"""Reverser positions that the moving page tabulates: between them valve and lost motion are what the gear gives."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from linkmotion.gears import Arm
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.motion_table import LOST_ANGLES, NODE_COUNTS, nodes_for, weights
from linkmotion.wear.condition import Condition
from linkmotion.wear.lost_motion import lost_motion
from tests.gears_at_hand import example

LOOSE = {"derived_heavy_goods": ("left foot", "right foot"), "stephenson_goods": ("forward pin", "backward pin")}


def loose(name: str) -> SideEvents:
    """An example with 0.3 mm at the pins of its links."""
    clearance = dict.fromkeys(LOOSE[name], 0.3)
    return assess_side(replace(example(name).side_state(), condition=Condition(clearance=clearance)))


def lost_off(side: SideEvents, nodes: np.ndarray) -> float:
    """By how much lost motion interpolated from the nodes is off at places between, mm."""
    places = np.linspace(nodes.min(), nodes.max(), 43)[1:-1]
    places = places[np.min(np.abs(places[:, None] - nodes), axis=1) > 1e-6]
    at, there = (
        lost_motion(side.gear, Arm(u[:, None]), side.condition, LOST_ANGLES).total + np.zeros((u.size, LOST_ANGLES))
        for u in (nodes, places)
    )
    return float(np.max(np.abs(weights(nodes, places) @ at - there)))


@pytest.mark.parametrize("name", LOOSE)
def test_lost_motion_between_the_nodes_is_within_a_hundredth_of_a_millimetre(name: str) -> None:
    side = loose(name)
    assert lost_off(side, nodes_for(Arm, [side])) < 0.01
    few = nodes_for(Arm, [side], NODE_COUNTS[:1])
    assert lost_off(side, few) > 0.008  # so many would not do everywhere: it has corners, as the valve has not
