"""What the product finds for the printed examples of setting: gears made to have the leads that were read."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from math import degrees, radians

import numpy as np
from scipy.optimize import brentq

from linkmotion.engine import Targets
from linkmotion.gears.book import ConnectingRod, Cylinder
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.gears.drive import DrivenValve
from linkmotion.gears.plain import Eccentric, EccentricRod, PlainEccentric
from linkmotion.revolution import revolve
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.setting.adjustments import Given, adjustments_of
from linkmotion.studies.setting.choices import advise
from linkmotion.studies.setting.side import SideEstimate
from linkmotion.studies.setting.tram import find_dead_centres
from linkmotion.studies.setting.tram_marks import Accuracy, MarkPair, halving_error

Numbers = dict[str, float]
Routes = dict[str, float]
INCH = 25.4
ROD: tuple[str, str] = ("eccentric_rod", "length")


def events_of(gear: PlainEccentric) -> SideEvents:
    """The gear turned, its valve where it stands."""
    setting = gear.notches["fixed"]
    return SideEvents("left", "made", ("fixed",), (setting,), revolve(gear, setting), float(gear.valve.central_at))


def leads(gear: PlainEccentric) -> tuple[float, float]:
    """Front and back lead, inches."""
    ends = events_of(gear).events["forward"]
    return float(ends["front"].lead[0]) / INCH, float(ends["back"].lead[0]) / INCH


@cache
def made(front: float, back: float, rods: float) -> PlainEccentric:
    """A direct gear with these leads (inches): throw 2.75 in, lap 7/8 in, rods so many times the usual."""
    valve = DrivenValve(
        admission="outside", port_width=1.5 * INCH, steam_lap=0.875 * INCH, guide_height=0.0, central_at=0.0
    )

    def gear(angle: float) -> PlainEccentric:
        own = PlainEccentric(
            cylinder=Cylinder(crank_radius=12 * INCH),
            connecting_rod=ConnectingRod(length=72 * INCH * rods),
            valve=valve,
            eccentric=Eccentric(throw=2.75 * INCH, angle=angle),
            eccentric_rod=EccentricRod(length=54 * INCH * rods),
        )
        one, other = leads(own)
        ahead = (one - other - (front - back)) * INCH / 2  # the valve moved ahead shuts the front port by as much
        return replace(own, valve=replace(valve, central_at=-ahead))

    def short(angle: float) -> float:
        return sum(leads(gear(angle))) - front - back

    return gear(float(brentq(short, 90.0, 130.0, xtol=1e-12)))


def gears(n: Numbers) -> Iterator[tuple[str, PlainEccentric]]:
    for rods, name in ((1.0, "usual rods"), (1000.0, "endless rods")):
        yield name, made(n["front"], n["back"], rods)


def with_rod(gear: PlainEccentric, longer: float) -> PlainEccentric:
    """The eccentric rod longer by so many inches."""
    rod = gear.eccentric_rod.length + longer * INCH
    return replace(gear, eccentric_rod=EccentricRod(length=rod))


def rod_to_equal_leads(n: Numbers) -> Routes:
    """By the advice, whose only means is the rod, in steps of a 64th; and by bringing the leads together."""
    found = {}
    for name, gear in gears(n):
        given = {ROD: Given(INCH / 64, -INCH / 4, INCH / 4)}
        targets = Targets(lead_difference=0.05, cutoff_difference=100.0)
        own = adjustments_of(gear, given, ["left"])
        advice = advise([SideEstimate(events_of(gear))], own, targets, move_sound_parts=True).taken
        found[f"advice, {name}"] = -advice.works[0].amount / INCH

        def apart(shorter: float, gear: PlainEccentric = gear) -> float:
            front, back = leads(with_rod(gear, -shorter))
            return front - back

        found[f"leads together, {name}"] = float(brentq(apart, -0.5, 0.5, xtol=1e-9))
    return found


def _lead_with_rod(end: int) -> Callable[[Numbers], Routes]:
    return lambda n: {name: leads(with_rod(gear, -n["shortened"]))[end] for name, gear in gears(n)}


def _line_and_line(gear: PlainEccentric) -> PlainEccentric:
    longer = float(brentq(lambda by: leads(with_rod(gear, by))[1], -0.5, 0.5, xtol=1e-10))
    return with_rod(gear, longer)


def front_with_back_shut(n: Numbers) -> Routes:
    return {name: leads(_line_and_line(gear))[0] for name, gear in gears(n)}


def back_with_advance(n: Numbers) -> Routes:
    found = {}
    for name, gear in gears(n):
        own = _line_and_line(gear)

        def turned(by: float, own: PlainEccentric = own) -> PlainEccentric:
            return replace(own, eccentric=replace(own.eccentric, angle=own.eccentric.angle + by))

        advance = float(brentq(lambda by: leads(turned(by))[0] - n["lead"], -5.0, 10.0, xtol=1e-10))
        assert advance > 1.0  # degrees: it was advanced
        found[name] = leads(turned(advance))[1]
    return found


def _apart(before: float, crank: CrankMotion, dead: float, after: float) -> float:
    """Crosshead so many degrees before dead centre, from its place after it."""
    places = crank.crosshead(np.radians([dead - before, dead + after]))
    return float(places[0] - places[1])


def halving(n: Numbers) -> Routes:
    """By the closed form; and from marks made where the crosshead stands alike, the found mark less the halved one."""
    crank = CrankMotion(n["crank"], n["rod"], 0.0, radians(5.0))
    found = {end: sum(halving_error(crank, end, n["half"])) for end in ("front", "back")}
    for end, dead in (("front", 0.0), ("back", degrees(crank.back_crank_angle))):
        after = n["half"]
        before = float(brentq(_apart, 1.0, 80.0, args=(crank, dead, after), xtol=1e-12))
        pair = MarkPair(end, (dead - before, dead + after))
        centre = find_dead_centres(crank, [pair], Accuracy(0.01, 0.01)).centres[end]
        found[f"marks, {end}"] = pair.middle - centre.angle
        found[f"halved, {end}"] = (after - before) / 2
    return found


VALUES: dict[str, Callable[[Numbers], Routes]] = {
    "rod shortened to equal leads": rod_to_equal_leads,
    "front lead with the rod shortened": _lead_with_rod(0),
    "back lead with the rod shortened": _lead_with_rod(1),
    "front lead with the back line and line": front_with_back_shut,
    "back lead with the eccentric advanced": back_with_advance,
    "error of halving": halving,
}
