r"""Closed forms for gears with two eccentrics: the one eccentric that would move the valve alike.

Layout, for all of it: cylinder line, valve guide and axle in one level line; valve moved directly; two equal
throws e, at 90 + delta degrees ahead of the crank pin and as far behind (delta the angular advance); two equal
rods l; eccentric-rod pins at heights +c and -c in link axes; die held at the height u in link axes (suspension
"ideal", no slip), u counted toward the forward rod's pin. theta is the crank angle from front dead centre.

Both rods, to first order in 1/l. With the forward pin on top ("open") the eccentrics stand at ::

    Ef = e (-sin(theta + delta), -cos(theta + delta))        Eb = e (sin(theta - delta), cos(theta - delta))
    F_x = Ef_x + l - (F_y - Ef_y)^2 / 2l                      B_x = Eb_x + l - (B_y - Eb_y)^2 / 2l

and a point at height u of a link inclined by psi takes the share (1 + u/c)/2 of F and (1 - u/c)/2 of B.

**Stephenson**, pins on the slot's own circle, slot radius l, concave to the axle. The die stays at height 0, so
F_y = (c - u) cos psi and B_y = -(c + u) cos psi. The squares F_y^2, B_y^2 in these shares make
(c^2 - u^2) cos^2 psi / 2l, which the slot's rise between chord and arc, (c^2 - u^2) cos psi / 2l, takes away up to
order psi^2. The products, with Ef_y - Eb_y = -2 e cos(theta) cos(delta), leave ::

    g = l - e (sin delta + (c/l)(1 - u^2/c^2) cos delta) cos theta - (u/c) e cos delta sin theta

**Gooch**, mid link led along the level line (hanger endless), pins at (0, +-c) in link axes, slot concave to the
valve with the radius R of the radius rod. Mid link takes half of each rod: the same lap and lead as Stephenson's
mid gear. Since psi turns with (F_x - B_x)/2c, and Ef_y + Eb_y = 2 e sin(theta) sin(delta), ::

    g = l + R - e (sin delta + (c/l) cos delta) cos theta - (u/c) e (cos delta - (c/l) sin delta) sin theta

**Crossed rods**: forward pin below, c and u of the other sign in the derivation; the signs before c/l change.

Rates, of the largest error of g (less its mean over the revolution) over e. Terms left out are of the orders
(c/l)^2 and e/l. At fixed throw the error over e falls as 1/l, no faster than the term in c/l itself; with throws
shrinking as 1/l it falls as 1/l^2, while without the term in c/l it would fall only as 1/l.

At dead centre the gear stands symmetrical about its level line with the link upright in mid gear (Stephenson) or
in every notch (Gooch), and half the distance between the two valve places is exact for any l: see
`mid_gear_lap_and_lead`. A Gooch gear with hanger h over mid link's mean place tends to it as 1/h.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .plane_vectors import Floats
from .stephenson_trial_gears import ENGINE, with_changes
from .trial_gears import Tables


@dataclass(frozen=True)
class TwoEccentrics:
    """Equal throws in mm, advance in degrees, half link c and rods l in mm, "open" or "crossed"."""

    throw: float
    advance: float
    half_link: float
    rod: float
    rods: str = "open"

    @property
    def side(self) -> int:
        """+1 with the forward rod's pin on top, -1 with it below."""
        return {"open": 1, "crossed": -1}[self.rods]

    @property
    def obliquity(self) -> float:
        """Half link over rod, with the sign the formulas want."""
        return self.side * self.half_link / self.rod

    @property
    def parts(self) -> tuple[float, float]:
        """e sin(delta) and e cos(delta), mm."""
        delta = math.radians(self.advance)
        return self.throw * math.sin(delta), self.throw * math.cos(delta)


@dataclass(frozen=True)
class VirtualEccentric:
    """``lap_and_lead`` along the crank and ``across`` it, mm; half travel is their root of squares."""

    lap_and_lead: float
    across: float

    def displacement(self, crank_angles: Floats) -> Floats:
        """Valve forward of its mean place, mm, running forward with direct drive."""
        theta = np.radians(crank_angles)
        return -self.lap_and_lead * np.cos(theta) - self.across * np.sin(theta)


def stephenson(pair: TwoEccentrics, die: float) -> VirtualEccentric:
    """Virtual eccentric of a Stephenson gear with the die ``die`` mm from mid link toward the forward pin."""
    (along, across), u = pair.parts, die / pair.half_link
    return VirtualEccentric(along + pair.obliquity * (1 - u**2) * across, u * across)


def gooch(pair: TwoEccentrics, die: float) -> VirtualEccentric:
    """Virtual eccentric of a Gooch gear: its lap and lead do not know the notch."""
    (along, across), u = pair.parts, die / pair.half_link
    return VirtualEccentric(along + pair.obliquity * across, u * (across - pair.obliquity * along))


def mid_gear_lap_and_lead(pair: TwoEccentrics) -> float:
    """Lap plus lead in mid gear, mm, exact: half the distance between the valve's places at dead centres.

    At front dead centre Ef = (-e sin delta, -e cos delta), F_y = c: F_x = -e sin delta + the root of
    l^2 - (c + e cos delta)^2; at the back one e sin delta + the root of l^2 - (c - e cos delta)^2.
    """
    (along, across), c = pair.parts, pair.side * pair.half_link
    roots = [math.sqrt(pair.rod**2 - (c + k * across) ** 2) for k in (-1, 1)]
    return along + (roots[0] - roots[1]) / 2


def arc_place(die: float, slot_radius: float) -> float:
    """Place along the slot's arc, mm, of a die at the height ``die`` in link axes."""
    return slot_radius * math.asin(die / slot_radius)


def stephenson_layout(pair: TwoEccentrics) -> Tables:
    """Tables of the layout in which `stephenson` is the limit; set by the die place, suspension "ideal"."""
    c, r = pair.half_link, pair.rod
    pin_x = math.sqrt(r**2 - c**2) - r
    return with_changes(
        ENGINE,
        {
            "valve": {
                "admission": "outside", "steam_lap": 1.0, "exhaust_lap": 0.0, "port_width": 30.0,
                "guide_height": 0.0, "guide_inclination": 0.0, "central_at": r,
            },
            "eccentrics": {
                "forward_throw": pair.throw, "forward_angle": 90.0 + pair.advance,
                "backward_throw": pair.throw, "backward_angle": -90.0 - pair.advance,
            },
            "eccentric_rods": {"forward": r, "backward": r},
            "expansion_link": {
                "forward_pin_x": pin_x, "forward_pin_y": pair.side * c,
                "backward_pin_x": pin_x, "backward_pin_y": -pair.side * c,
                "saddle_x": 0.0, "saddle_y": 0.0, "slot_radius": r, "slot_concave_to": "axle",
                "slot_top": c, "slot_bottom": c,
            },
            "reversing": {"suspension": "ideal", "notches": {"mid": 0.0}},
        },
    )  # fmt: skip


def gooch_layout(pair: TwoEccentrics, radius_rod: float, hanger: float) -> Tables:
    """Tables of the layout in which `gooch` is the limit for an endless ``hanger``."""
    middle = math.sqrt(pair.rod**2 - pair.half_link**2)
    return with_changes(
        stephenson_layout(pair),
        {
            "expansion_link": {
                "forward_pin_x": 0.0, "backward_pin_x": 0.0,
                "slot_radius": radius_rod, "slot_concave_to": "valve",
                "hanger_x": middle, "hanger_y": hanger, "hanger": hanger,
            },
            "radius_rod": {"length": radius_rod, "lift_pin": 0.3 * radius_rod, "lift_pin_rise": 0.0},
        },
    )  # fmt: skip


def plain_eccentric_place(throw: float, angle: float, rod: float, height: float, crank_angles: Floats) -> Floats:
    """Place g in mm of a spindle moved directly by one eccentric, on a level guide at ``height``; exact.

    g = e cos(a) + the root of l^2 - (h - e sin(a))^2, a = -theta - ``angle`` the eccentric's direction (level
    cylinder line through the axle, running forward).
    """
    a = -np.radians(crank_angles) - math.radians(angle)
    return np.asarray(throw * np.cos(a) + np.sqrt(rod**2 - (height - throw * np.sin(a)) ** 2), dtype=np.float64)
