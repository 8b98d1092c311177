"""Stephenson's and Gooch's gears of the product, drawn level and symmetrical, tend to the old books' one eccentric.

The closed forms, the layouts and the orders of what they leave out are derived in
``tests/independent/virtual_eccentric.py``.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from linkmotion.events import DIRECTIONS, both_ends
from linkmotion.gears import Arm, DieHeld, Stop
from linkmotion.linkage import Harmonics
from linkmotion.revolution import Revolution, revolve
from linkmotion.studies import virtual_eccentric as study
from linkmotion.valve import Ports
from tests.gears_at_hand import every_gear, gear_from
from tests.independent import virtual_eccentric as closed
from tests.independent.virtual_eccentric import TwoEccentrics, arc_place

ENDLESS = 1e9  # mm: hanger of a Gooch link led along a level line; it lifts the link by less than 1e-6 mm
KINDS, RODS = ("stephenson", "gooch"), ("open", "crossed")
DIES = (0.0, 60.0, -120.0)  # mm from mid link toward the forward pin


def turned(kind: str, pair: TwoEccentrics, die: float, hanger: float = ENDLESS) -> Revolution:
    """A layout turned with its die held ``die`` mm from mid link toward the forward pin."""
    tables = closed.stephenson_layout(pair) if kind == "stephenson" else closed.gooch_layout(pair, pair.rod, hanger)
    return revolve(gear_from(tables, kind), DieHeld(pair.side * arc_place(die, pair.rod)))


def lap_and_lead(turn: Revolution) -> float:
    """Half the distance between the spindle's places at the dead centres, mm."""
    return float(turn.spindle(math.pi)[0] - turn.spindle(0.0)[0]) / 2


def rates(errors: list[float]) -> list[float]:
    """Powers of two by which errors fall from one to the next."""
    return [math.log2(before / after) for before, after in pairwise(errors)]


def worst(found: list[float], wanted: float) -> float:
    return float(np.max(np.nan_to_num(np.abs(np.subtract(found, wanted)), nan=np.inf)))


# ---- the equivalent eccentric ---------------------------------------------------------------------------------------


def errors(kind: str, pair: TwoEccentrics, die: float) -> tuple[float, float]:
    """How far the study's eccentric is from the closed form's, and what it leaves over; both over the throw."""
    turn = turned(kind, pair, die)
    found, form = study.virtual_eccentric(turn.displacement(pair.rod)), getattr(closed, kind)(pair, die)
    centre = found.throw[0] * np.exp(
        1j * np.radians(found.angle[0])
    )  # seen from the axle, the crank pin along the real
    return abs(centre - complex(-form.lap_and_lead, form.across)) / pair.throw, found.left_over[0] / pair.throw


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("rods", RODS)
@pytest.mark.parametrize("die", DIES)
def test_equivalent_eccentric_tends_to_the_closed_form_as_the_rods_lengthen(kind: str, rods: str, die: float) -> None:
    """As the rods' square when the throws shrink with them (mid gear: cube), else as the rods; so does the rest."""

    def pair(throw: float, longer: float) -> TwoEccentrics:
        return TwoEccentrics(throw, 15.0, 150.0, 1500.0 * longer, rods)

    longer = (16.0, 32.0, 64.0)
    shrinking = [errors(kind, pair(60.0 / k, k), die) for k in longer]
    fixed = [errors(kind, pair(60.0, k), die) for k in longer]
    assert worst(rates([error for error, _ in shrinking]), 2.0 if die else 3.0) < 0.25  # slowest: Gooch, die 60
    assert worst(rates([rest for _, rest in shrinking]), 2.0) < 0.02
    for column in zip(*fixed, strict=True):
        assert worst(rates(list(column)), 1.0) < 0.05
    assert shrinking[0][0] < 2e-4  # of the throw; with the sign of c/l wrong, 6e-3 to 1.2e-2 in mid gear


@pytest.mark.parametrize("kind", KINDS)
def test_closed_form_for_the_other_rods_is_far_off(kind: str) -> None:
    """The comparison can fail: open rods against the form for crossed ones."""
    pair = TwoEccentrics(60.0, 15.0, 150.0, 24000.0)
    other = getattr(closed, kind)(TwoEccentrics(60.0, 15.0, 150.0, 24000.0, "crossed"), 0.0)
    found = study.virtual_eccentric(turned(kind, pair, 0.0).displacement(pair.rod))
    assert abs(found.throw[0] - other.lap_and_lead) / pair.throw > 0.01
    assert errors(kind, pair, 0.0)[0] < 2e-4


@pytest.mark.parametrize("angle", [106.0, -73.0])
def test_a_plain_eccentric_is_its_own_equivalent(angle: float) -> None:
    """Exactly in throw and angle when the guide passes through the axle: rods add even terms only."""
    drawn = closed.stephenson_layout(TwoEccentrics(60.0, 15.0, 150.0, 900.0))
    tables = {name: drawn[name] for name in ("cylinder", "connecting_rod", "valve")}
    tables |= {"eccentric": {"throw": 60.0, "angle": angle}, "eccentric_rod": {"length": 900.0}}
    found = study.virtual_eccentric(revolve(gear_from(tables, "plain eccentric"), Stop(angle)).displacement(900.0))
    assert abs(found.throw[0] - 60.0) < 1e-11
    assert abs(found.angle[0] - angle) < 1e-10
    assert abs(found.advance[0] - (abs(angle) - 90.0)) < 1e-10
    slant = 900.0 - np.sqrt(900.0**2 - (60.0 * np.sin(np.radians(np.arange(0.0, 360.0, 0.5)))) ** 2)
    assert abs(found.off_centre[0] + slant.mean()) < 1e-10
    assert abs(found.left_over[0] - np.abs(slant - slant.mean()).max()) < 1e-6  # seen at half degrees


@pytest.mark.parametrize("name", [name for name, own in every_gear().items() if own.gear.slot is not None])
def test_no_other_eccentric_fits_better(name: str) -> None:
    """The mean square left over grows for any small change of throw or angle."""
    own = every_gear()[name]
    spindle = revolve(own.gear, own.together()).spindle
    found, t = study.virtual_eccentric(spindle), np.radians(np.arange(0.0, 360.0, 1.0))

    def left(more: float, ahead: float) -> np.ndarray:
        fitted = (found.throw + more)[:, None] * np.cos(t + np.radians(found.angle + ahead)[:, None])
        rest = spindle.on_grid(t.size) - found.off_centre[:, None] - fitted
        return np.asarray(np.mean(rest**2, axis=1))

    for more, ahead in ((0.01, 0.0), (-0.01, 0.0), (0.0, 0.05), (0.0, -0.05)):
        assert np.all(left(more, ahead) > left(0.0, 0.0) + 1e-6 * (more != 0)), (more, ahead)


# ---- lead -----------------------------------------------------------------------------------------------------------


def leads(turn: Revolution, places: int) -> np.ndarray:
    """Mean lead of the ends, mm: shape (directions, notches)."""
    middle = (turn.spindle(0.0) + turn.spindle(math.pi)) / 2
    told = [both_ends(turn.displacement(middle), Ports.of(turn.gear.valve), turn.gear.crank, w) for w in DIRECTIONS]
    found = np.array([(ends["front"].lead + ends["back"].lead) / 2 for ends in told])
    assert found.shape == (2, places)
    return found


@pytest.mark.parametrize(("rods", "sign"), [("open", 1), ("crossed", -1)])
@pytest.mark.parametrize("toward", [1, -1])
def test_lead_grows_toward_mid_gear_with_open_rods_and_shrinks_with_crossed(rods: str, sign: int, toward: int) -> None:
    """By (half link / rod) · throw · cos(advance) · (1 - u²), here 5 mm in all, to a hundredth of that."""
    pair = TwoEccentrics(60.0, 15.0, 150.0, 1500.0, rods)
    dies = toward * np.array([140.0, 120.0, 90.0, 60.0, 30.0, 0.0])
    places = np.array([[pair.side * arc_place(die, pair.rod)] for die in dies])
    turn = revolve(gear_from(closed.stephenson_layout(pair), "stephenson"), DieHeld(places))
    for lead in leads(turn, dies.size):
        assert np.all(sign * np.diff(lead) > 0.1)
        wanted = sign * 0.1 * 60.0 * math.cos(math.radians(15.0)) * (1 - (dies / 150.0) ** 2)
        assert np.max(np.abs(lead - lead[0] - (wanted - wanted[0]))) < 0.05


@pytest.mark.parametrize(
    ("name", "sign"),
    [("stephenson_goods", 1), ("open rods, rocker (stephenson)", 1), ("crossed rods, direct (stephenson)", -1)],
)
def test_lead_does_so_in_gears_of_usual_proportions(name: str, sign: int) -> None:
    """From either full gear; the turn may be a little beside mid gear, where the lead alters by hundredths."""
    own = every_gear()[name]
    mid = list(own.settings).index("mid")
    for lead in leads(revolve(own.gear, own.together()), len(own.settings)):
        rising = sign * np.diff(lead)
        assert np.all(rising[:mid] > 0)
        assert np.all(rising[mid:] < 0.03)
        assert min(abs(lead[mid] - lead[0]), abs(lead[mid] - lead[-1])) > 2.5  # mm


@pytest.mark.parametrize("rods", RODS)
def test_lap_and_lead_in_mid_gear_tends_to_the_rule_as_the_cube_of_the_rods(rods: str) -> None:
    """With a = c ± e cos(advance) the roots' series leave (a₊⁴ - a₋⁴)/16 l³ over the rule, then (a₊⁶ - a₋⁶)/32 l⁵."""
    over = []
    for longer in (1.0, 2.0, 4.0, 8.0):
        pair = TwoEccentrics(60.0, 15.0, 150.0, 1500.0 * longer, rods)
        found = lap_and_lead(turned("stephenson", pair, 0.0))
        assert abs(found - closed.mid_gear_lap_and_lead(pair)) < 1e-10
        rule = 60.0 * (math.sin(math.radians(15.0)) + pair.obliquity * math.cos(math.radians(15.0)))
        over.append(pair.side * (found - rule))
        far, near = 150.0 + pair.parts[1], 150.0 - pair.parts[1]
        terms = (far**4 - near**4) / (16 * pair.rod**3), (far**6 - near**6) / (32 * pair.rod**5)
        assert abs(over[-1] - terms[0]) < 1.02 * terms[1] + 1e-11
    assert worst(rates(over), 3.0) < 0.02
    assert over[0] > 0.03  # mm


@pytest.mark.parametrize("rods", RODS)
def test_lead_of_a_gooch_gear_is_constant_as_its_hanger_lengthens(rods: str) -> None:
    pair = TwoEccentrics(60.0, 15.0, 150.0, 1500.0, rods)
    spread = []
    for hanger in (1e3, 2e3, 4e3, 8e3, 16e3):
        found = [lap_and_lead(turned("gooch", pair, die, hanger)) for die in (-140.0, -70.0, 0.0, 70.0, 140.0)]
        spread.append(float(np.ptp(found)))
    assert spread[0] > 5e-4  # mm
    assert worst(rates(spread), 1.0) < 0.02
    ideal = [lap_and_lead(turned("gooch", pair, die)) for die in (-140.0, 0.0, 140.0)]
    assert worst(ideal, closed.mid_gear_lap_and_lead(pair)) < 1e-6


@pytest.mark.parametrize("name", ["gooch_tank", "Gooch (gooch)"])
def test_lead_of_usual_gooch_gears_alters_little(name: str) -> None:
    """By two thirds of a millimetre at most over all notches, where Stephenson's alters by three or more."""
    own = every_gear()[name]
    assert isinstance(own.together(), Arm)
    for lead in leads(revolve(own.gear, own.together()), len(own.settings)):
        assert 0.0 < np.ptp(lead) < 0.67


def test_the_study_takes_the_series_first_term() -> None:
    found = study.virtual_eccentric(Harmonics(np.array([[2.0, 3.0 * np.exp(1j * 2.0), 0.25j]])))
    assert abs(found.throw[0] - 3.0) < 1e-15
    assert abs(math.radians(found.angle[0]) - 2.0) < 1e-15
    assert abs(found.off_centre[0] - 2.0) < 1e-15
    assert abs(found.left_over[0] - 0.25) < 1e-4


def test_a_die_held_at_an_eccentric_rods_pin_moves_as_that_pin() -> None:
    """Full gear of a link with its pins on the slot's own circle: the valve follows one eccentric."""
    turn, at = turned("stephenson", TwoEccentrics(60.0, 15.0, 150.0, 1500.0), 150.0), np.arange(0.0, 360.0, 10.0)
    exact = closed.plain_eccentric_place(60.0, 105.0, 1500.0, 0.0, at)
    assert np.max(np.abs(turn.spindle[0](np.radians(at)) - exact)) < 1e-7
