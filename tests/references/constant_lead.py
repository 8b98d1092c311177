"""A Walschaerts gear drawn so that the old rules hold exactly, and trial gears made into product objects.

On paper, with the cylinder line through the axle and level:

1. The link is upright at both dead centres when the return-crank pin is then equally far from the foot,
   that is when its diameter stands square to the line from the axle to the foot F:
   angle = ±90 deg − direction of F, rod² = pin_radius² + |F|².
2. The crosshead arm and the union pin move alike when the lever leans by τ either way about the
   radius-rod pin at the two dead centres, sin τ = crank / lower arm. The union link is then the same
   at both: from the arm's pin to a point lower arm · cos τ below the slot's centre of curvature C.
3. The radius rod is as long as the slot radius, and its pin lies at C at both dead centres when the
   valve guide runs upper arm · cos τ above C.

Then the valve stands upper arm · sin τ either side of its middle at the dead centres, wherever the die
is: lap + lead = crank · upper arm / lower arm in every notch, by whatever the rod is hung.
"""

from __future__ import annotations

import math
from typing import get_type_hints

from linkmotion.gears import Walschaerts
from tests.independent.trial_gears import OUTSIDE_GEAR, Tables, with_changes

CRANK, PIN, ROD, RADIUS, LOWER, UPPER = 280.0, 160.0, 1700.0, 950.0, 800.0, 77.0  # mm
TRUNNION, FOOT, ARM = (1050.0, 520.0), (1026.0, 120.0), (-20.0, -255.0)  # mm
MIDDLE = (TRUNNION[0] + RADIUS, TRUNNION[1])  # C, centre of curvature of the slot


def walschaerts(tables: Tables) -> Walschaerts:
    """The product's gear from a trial gear."""
    kinds = get_type_hints(Walschaerts)
    return Walschaerts(**{name: kinds[name](**keys) for name, keys in tables.items()})


def constant_lead(admission: str) -> Tables:
    """Drawing of a gear with exactly constant lead, "outside" or "inside" admission."""
    sign = 1 if admission == "outside" else -1
    lean = math.asin(CRANK / LOWER)
    beside = MIDDLE[0] - ROD - ARM[0]
    below = MIDDLE[1] - LOWER * math.cos(lean) - ARM[1]
    return with_changes(OUTSIDE_GEAR, {
        "return_crank": {"pin_radius": PIN, "angle": 90.0 * sign - math.degrees(math.atan2(FOOT[1], FOOT[0]))},
        "eccentric_rod": {"length": math.hypot(PIN, *FOOT)},
        "union_link": {"length": math.hypot(beside, below)},
        "combination_lever": {"upper_arm": sign * UPPER},
        "valve": {
            "admission": admission,
            "guide_height": MIDDLE[1] + sign * UPPER * math.cos(lean),
            "central_at": MIDDLE[0],
        },
    })  # fmt: skip
