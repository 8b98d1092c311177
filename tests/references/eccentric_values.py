"""What the product's gears with eccentrics find for the published rules.

The rules of the slide valve suppose that piston and valve move as from rods without end. Here the gears have rods a
hundred thousand times their cranks, throws and half links. What the slant of a connecting or eccentric rod does to
first order is equal and opposite at the two ends of the cylinder, and what the two eccentric rods' spread over the
link does is equal and opposite with open and with crossed rods: the mean over these is off by squares of 1e-5 only.
(At a hundred times it is off by 2e-5 of the stroke, at a thousand by 2e-7, at ten thousand by 2e-9.)

Stephenson's and Gooch's gears stand in half gear, so that neither eccentric alone could give the motion found.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import atan2, degrees, hypot, sqrt
from typing import Any

import numpy as np
from scipy.optimize import brentq

from linkmotion.events import EndEvents, both_ends
from linkmotion.gears import DieHeld, ReverserPosition, Stop
from linkmotion.linkage import Harmonics
from linkmotion.revolution import revolve
from linkmotion.valve import ENDS, Ports
from tests.gears_at_hand import every_gear, gear_from
from tests.independent import virtual_eccentric as layouts
from tests.independent.stephenson_trial_gears import with_changes
from tests.independent.trial_gears import Tables
from tests.independent.virtual_eccentric import TwoEccentrics, arc_place

Numbers = dict[str, float]
Routes = dict[str, float]
LONG = 1e5  # rods over cranks, throws and half links
CRANK, HALF_LINK, DIE = 12.0, 6.0, 3.0  # in
ADMISSIONS = ("outside", "inside")
KINDS = ("plain eccentric", "stephenson", "gooch")


@dataclass(frozen=True)
class Turned:
    """One gear turned once, its valve set for equal leads."""

    gear: Any
    motion: Harmonics

    @classmethod
    def of(cls, tables: Tables, kind: str, setting: ReverserPosition) -> Turned:
        """From tables, in one notch."""
        gear = gear_from(tables, kind)
        turn = revolve(gear, setting)
        return cls(gear, turn.displacement((turn.spindle(0.0)[0] + turn.spindle(gear.crank.back_crank_angle)[0]) / 2))

    @property
    def ports(self) -> Ports:
        """The edges."""
        return Ports.of(self.gear.valve)

    @property
    def ends(self) -> tuple[EndEvents, EndEvents]:
        """Events of both ends running forward."""
        told = both_ends(self.motion, self.ports, self.gear.crank, "forward")
        return told["front"], told["back"]

    @property
    def lead(self) -> float:
        """Lead, alike at both ends."""
        front, back = self.ends
        return float(front.lead[0] + back.lead[0]) / 2


def eccentric_of(n: Numbers, gear: float) -> tuple[float, float]:
    """Throw, and advance in degrees, of each of two eccentrics that give travel, lap and lead in ``gear`` of full."""
    along = n["lap"] + n["lead"]
    across = sqrt((n["travel"] / 2) ** 2 - along**2) / gear
    return hypot(along, across), degrees(atan2(along, across))


def engine(n: Numbers, admission: str, longer: float) -> Tables:
    """Engine and valve of a row of data."""
    return {
        "cylinder": {"crank_radius": CRANK, "line_height": 0.0, "inclination": 0.0},
        "connecting_rod": {"length": n.get("connecting_rod", CRANK * longer)},
        "valve": {
            "admission": admission, "steam_lap": n["lap"], "exhaust_lap": n.get("exhaust_lap", 0.0),
            "port_width": n.get("port", 10.0), "guide_height": 0.0, "guide_inclination": 0.0,
        },
    }  # fmt: skip


def plain(n: Numbers, admission: str, throw: float, advance: float, longer: float = LONG) -> Turned:
    """One eccentric on a rod; with inside admission it stands opposite."""
    angle = 90.0 + advance - (180.0 if admission == "inside" else 0.0)
    own = {"eccentric": {"throw": throw, "angle": angle}, "eccentric_rod": {"length": throw * longer}}
    return Turned.of(engine(n, admission, longer) | own, "plain eccentric", Stop(angle))


def linked(kind: str, n: Numbers, admission: str, pair: TwoEccentrics, die: float, longer: float = LONG) -> Turned:
    """Two eccentrics and a link, the die held; with inside admission the eccentrics stand opposite."""
    if kind == "stephenson":
        tables = layouts.stephenson_layout(pair)
    else:
        tables = layouts.gooch_layout(pair, pair.rod, HALF_LINK * LONG)
    if admission == "inside":
        opposite = {key: value - 180.0 for key, value in tables["eccentrics"].items() if key.endswith("angle")}
        tables = with_changes(tables, {"eccentrics": opposite})
    held = DieHeld(pair.side * arc_place(die, tables["expansion_link"]["slot_radius"]))
    return Turned.of(tables | engine(n, admission, longer), kind, held)


def turned(n: Numbers, kind: str, admission: str) -> Iterator[Turned]:
    """The gears over which the mean is taken: one, or open and crossed rods."""
    if kind == "plain eccentric":
        yield plain(n, admission, *eccentric_of(n, 1.0))
        return
    for rods in ("open", "crossed"):
        pair = TwoEccentrics(*eccentric_of(n, DIE / HALF_LINK), HALF_LINK, HALF_LINK * LONG, rods)
        yield linked(kind, n, admission, pair, DIE)


def by_every_gear(value: Callable[[Turned], float]) -> Callable[[Numbers], Routes]:
    """A value read from a turned gear, mean of open and crossed rods, by each gear and admission."""

    def routes(n: Numbers) -> Routes:
        return {
            f"{kind}, {admission}": float(np.mean([value(own) for own in turned(n, kind, admission)]))
            for kind in KINDS
            for admission in ADMISSIONS
        }

    return routes


def mean_of_ends(value: Callable[[EndEvents], Any]) -> Callable[[Numbers], Routes]:
    """A value read from the events of an end, by each gear."""
    return by_every_gear(lambda own: float(np.mean([value(end)[0] for end in own.ends])))


def exhaust_at_end_of_stroke(own: Turned) -> float:
    """Exhaust opening of one end with the piston at the other, mean of both."""
    ends = zip(ENDS, (own.gear.crank.back_crank_angle, 0.0), strict=True)
    return float(np.mean([own.ports.edge("exhaust", end).opening(own.motion(at))[0] for end, at in ends]))


def advance(n: Numbers) -> Routes:
    """Advance, degrees, at which one eccentric gives the lead wanted: exact also with a rod of five throws."""
    data = {"travel": 2 * n["throw"]} | n

    def short(angle: float, admission: str, longer: float) -> float:
        return plain(data, admission, n["throw"], angle, longer).lead - n["lead"]

    return {
        f"{admission}, rod of {longer:g} throws": float(brentq(short, 0.0, 90.0, args=(admission, longer), xtol=1e-12))
        for admission in ADMISSIONS
        for longer in (5.0, 25.0)
    }


def pair_for_lead(n: Numbers, rods: str) -> TwoEccentrics:
    """Two eccentrics on rods of ten half links, with the advance that gives the lead wanted in mid gear."""

    def pair(angle: float) -> TwoEccentrics:
        return TwoEccentrics(n["travel"] / 2, angle, HALF_LINK, 10 * HALF_LINK, rods)

    def short(angle: float) -> float:
        return layouts.mid_gear_lap_and_lead(pair(angle)) - n["lap"] - n["lead"]

    return pair(float(brentq(short, 0.0, 89.0, xtol=1e-13)))


def stationary_link(n: Numbers) -> Iterator[tuple[str, Turned]]:
    """Every notch, with open and with crossed rods."""
    for rods in ("open", "crossed"):
        for u in (1.0, 0.75, 0.4, 0.0, -0.4, -0.75, -1.0):
            own = linked("gooch", n, "outside", pair_for_lead(n, rods), u * HALF_LINK, 10.0)
            yield f"{rods} rods, die at {u * HALF_LINK:+.1f}", own


def lead_in_every_notch(n: Numbers) -> Routes:
    """Lead of a stationary link."""
    return {name: own.lead for name, own in stationary_link(n)}


def full_travel(n: Numbers) -> Routes:
    """Travel of a stationary link's valve in both full gears."""
    travel = {name: float(np.ptp(own.motion.on_grid(720))) for name, own in stationary_link(n)}
    return {name: value for name, value in travel.items() if name.endswith(f"{HALF_LINK:.1f}")}


def spread_of_lead(n: Numbers) -> Routes:
    """Greatest less least lead over all notches of a stationary link."""
    leads = lead_in_every_notch(n)
    return {
        rods: float(np.ptp([lead for name, lead in leads.items() if name.startswith(rods)]))
        for rods in ("open", "crossed")
    }


def notches_that_alter_the_lead(n: Numbers) -> Routes:
    """Share of the steps from notch to notch of a shifting link over which the lead alters by a hundredth or more."""
    found: Routes = {}
    for rods in ("open", "crossed"):
        pair = TwoEccentrics(n["travel"] / 2, 15.0, HALF_LINK, 10 * HALF_LINK, rods)
        leads = [linked("stephenson", n, "outside", pair, die, 10.0).lead for die in (5.0, 3.5, 2.0, 0.0, -2.5, -4.0)]
        found[f"{rods} rods"] = float(np.mean(np.abs(np.diff(leads)) >= 0.01))
    return found


OPEN_RODS = ("open rods, rocker", "launch link", "inclined", "hung from below", "hanger drive", "ideal suspension")


def lead_grows_toward_mid_gear(_: Numbers) -> Routes:
    """Share of the steps toward mid gear over which the lead grows, from either full gear; invented gears."""
    found: Routes = {}
    for name in OPEN_RODS:
        own = every_gear()[f"{name} (stephenson)"]
        notches, turn = list(own.settings), revolve(own.gear, own.together())
        lead = (turn.spindle(own.gear.crank.back_crank_angle) - turn.spindle(0.0)) / 2
        grown = np.diff(lead * (1 if lead[0] > 0 else -1))  # of lap and lead, whichever way the valve is driven
        mid = notches.index("mid")
        found[f"{name}, forward"], found[f"{name}, backward"] = (
            float(np.mean(steps > 0)) for steps in (grown[:mid], -grown[mid:])
        )
    return found


VALUES: dict[str, Callable[[Numbers], Routes]] = {
    "cutoff": mean_of_ends(lambda end: end.percent["cutoff"] / 100),
    "compression": mean_of_ends(lambda end: end.percent["compression"] / 100),
    "release": mean_of_ends(lambda end: 1 - end.percent["release"] / 100),
    "greatest opening": mean_of_ends(lambda end: end.opening + end.over_travel),
    "exhaust open at end of stroke": by_every_gear(exhaust_at_end_of_stroke),
    "advance": advance,
    "stationary link's lead": lead_in_every_notch,
    "stationary link's travel": full_travel,
    "stationary link's spread of lead": spread_of_lead,
    "notches that alter the lead": notches_that_alter_the_lead,
    "lead grows toward mid gear": lead_grows_toward_mid_gear,
}
