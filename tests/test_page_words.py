"""What the moving page says of parts: something of every part of every gear at hand."""

from __future__ import annotations

import numpy as np
import pytest

from linkmotion.revolution import revolve
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.side_drawing import elevation_of
from linkmotion.views.moving.drawn import UNNAMED
from linkmotion.views.moving.page_words import does
from tests.gears_at_hand import every_gear


@pytest.mark.parametrize("name", every_gear())
def test_every_part_that_can_be_pointed_at_is_explained(name: str) -> None:
    own = every_gear()[name]
    turned = revolve(own.gear, own.together())
    side = SideEvents(
        "left", "drawing", tuple(own.settings), tuple(own.settings.values()), turned, float(np.mean(turned.extremes))
    )
    bodies = [body.name for body in elevation_of(side).bodies if body.kind not in UNNAMED]
    assert {"wheel", "piston", "valve"} <= set(bodies)
    bare = does(own.gear.name, "a part that no gear has")
    for body in bodies:
        told = does(own.gear.name, body)
        assert told != bare, f"{own.gear.name}: nothing is said of the {body}"
        assert told.endswith(".")
