"""Indicator diagrams and turning effort: against quadrature, statics, the balance of work, and plain cases.

The printed tables of mean pressures are in ``tests/references`` and held in ``test_published.py``.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import fixed_quad
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.engine import Engine
from linkmotion.events import DIRECTIONS, EVENTS
from linkmotion.files.engine_file import parse_engine, read_engine
from linkmotion.files.faults import FileError
from linkmotion.gears.steam import Steam, Wheels
from linkmotion.studies.assess import Assessment, assess
from linkmotion.studies.steam.cylinder_work import CylinderWork, cylinder_work
from linkmotion.studies.steam.indicator import ATMOSPHERE, LIMITS, Conditions, EndDiagram, fault_of
from tests.gears_at_hand import EXAMPLES
from tests.references.cylinder_values import area

DOCK, GAUGE = (next(path for path in EXAMPLES if path.stem == stem) for stem in ("dock_shunter", "metre_gauge"))
SIZED = Steam(pressure=11.0, back_pressure=0.3, clearance=7.0, bore=356.0, piston_rod=57.0, tail_rod=44.0)
BAR_MM2_MM = 1e5 * 1e-6 * 1e-3  # J


@cache
def assessed(path: Path, state: str, steam: Steam, wheels: Wheels = Wheels()) -> Assessment:  # noqa: B008 - frozen
    return assess(replace(read_engine(path), steam=steam, wheels=wheels), state)


def works(path: Path, steam: Steam = SIZED) -> Iterator[CylinderWork]:
    """Drawing and last state, first, middle and last notch, both directions."""
    engine = read_engine(path)
    for state in {engine.state_names[0]: 0, engine.state_names[-1]: 0}:
        a = assessed(path, state, steam)
        count = len(a.sides[0].notches)
        for notch in {0: 0, count // 2: 0, count - 1: 0}:
            for direction in DIRECTIONS:
                yield cylinder_work(a, notch, direction)


# ---- one end --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("steam", [
    SIZED, replace(SIZED, exponent=1.13), replace(SIZED, exponent=0.9, blow_down="by dead centre"),
], ids=["hyperbolic", "n = 1.13", "n = 0.9, falling to the dead centre"])  # fmt: skip
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_mean_effective_pressure_is_the_area_of_the_diagram_by_quadrature(path: Path, steam: Steam) -> None:
    a = assessed(path, "drawing", steam)
    for notch in (0, len(a.sides[0].notches) // 2):
        for direction in DIRECTIONS:
            for end in cylinder_work(a, notch, direction).ends[:2]:
                assert end.diagram is not None
                assert abs(end.mean - area(end.diagram)) < 1e-9, (notch, direction, end.end)  # bar


def dock_diagram(**more: Any) -> EndDiagram:
    a = assessed(DOCK, "drawing", replace(SIZED, **more))
    found = cylinder_work(a, 2, "forward").ends[0].diagram
    assert found is not None
    return found


def test_pressure_follows_the_events() -> None:
    drawn = dock_diagram()
    steam, at = drawn.steam, drawn.angle

    def beside(event: str) -> list[float]:
        return [float(drawn.pressure(at[event] + step)) for step in (-1e-9, 1e-9)]

    assert beside("admission") == pytest.approx([drawn.compressed, steam.pressure], abs=1e-6)
    assert beside("cutoff") == pytest.approx([steam.pressure] * 2, abs=1e-6)
    assert beside("release") == pytest.approx([drawn.released, steam.back], abs=1e-6)
    assert beside("compression") == pytest.approx([steam.back] * 2, abs=1e-6)
    assert steam.pressure == pytest.approx(11.0 + 1.01325, abs=1e-12)
    assert steam.back < drawn.compressed < steam.pressure
    assert steam.back < drawn.released < steam.pressure


@pytest.mark.parametrize("exponent", [1.0, 1.2])
@pytest.mark.parametrize(("first", "last"), [("cutoff", "release"), ("compression", "admission")])
def test_shut_in_steam_keeps_p_v_to_the_n(exponent: float, first: str, last: str) -> None:
    drawn = dock_diagram(exponent=exponent)
    angle = np.linspace(drawn.angle[first] + 1e-6, drawn.angle[last] - 1e-6, 50)
    kept = drawn.pressure(angle) * (drawn.way(angle) + 0.07) ** exponent
    assert np.ptp(kept) / kept[0] < 1e-12
    assert np.ptp(drawn.pressure(angle)) > 1.0  # bar: it does expand


def test_volumes_at_the_events_are_the_percents_of_stroke_and_the_clearance() -> None:
    a = assessed(DOCK, "drawing", SIZED)
    for end in cylinder_work(a, 2, "forward").ends[:2]:
        assert end.diagram is not None
        own = a.sides[0].events["forward"][end.end].percent
        for event in EVENTS:
            assert end.diagram.volume[event] == pytest.approx(0.07 + own[event][2] / 100, abs=1e-12)


def test_the_piston_speed_is_the_difference_of_its_places() -> None:
    drawn = dock_diagram()
    angle, step = np.linspace(0.0, 6.0, 25), 1e-5
    differences = (drawn.way(angle + step) - drawn.way(angle - step)) / (2 * step)
    assert np.abs(drawn.way_rate(angle) - differences).max() < 1e-9


def test_hyperbolic_expansion_is_the_limit_of_polytropic() -> None:
    one = dock_diagram().mean
    change = [dock_diagram(exponent=1.0 + step).mean - one for step in (1e-3, 1e-6)]
    assert abs(change[0] / change[1] / 1000 - 1) < 2e-3
    assert 1e-8 < abs(change[1]) < 1e-4


def test_letting_the_pressure_fall_to_the_dead_centre_adds_a_triangle() -> None:
    at_once, falling = dock_diagram(), dock_diagram(blow_down="by dead centre")
    triangle = (at_once.released - at_once.steam.back) * (1.07 - at_once.volume["release"]) / 2
    assert triangle > 0.1  # bar
    assert falling.mean - at_once.mean == pytest.approx(triangle, abs=1e-12)


def test_events_that_make_no_diagram_are_told() -> None:
    sound = {"admission": 6.2, "cutoff": 2.0, "release": 2.5, "compression": 5.5}
    assert fault_of(sound) == ""
    assert fault_of(sound | {"release": float("nan"), "compression": float("nan")}) == "no release and no compression"
    assert fault_of(sound | {"cutoff": 2.6}) == "steam and exhaust are open together: steam blows through"


def test_what_is_unusual_in_a_diagram_is_told() -> None:
    a = assessed(DOCK, "drawing", replace(SIZED, pressure=2.0, clearance=2.0))
    told = [end.told for end in cylinder_work(a, a.sides[0].notches.index("mid"), "forward").ends]
    assert all("expands below the back pressure" in each for each in told)
    assert all("compression rises above the chest pressure" in each for each in told)
    assert not any(end.told for end in cylinder_work(assessed(DOCK, "drawing", SIZED), 0, "forward").ends)


# ---- round the wheel ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_torque_over_a_turn_is_the_work_of_the_diagrams(path: Path) -> None:
    for work in works(path):
        turned = [0.0, *work.corners, 2 * np.pi]  # all is smooth between them
        total = sum(fixed_quad(work.torque, low, high, n=40)[0] for low, high in pairwise(turned))
        by_area = sum(end.mean * end.area * end.stroke * BAR_MM2_MM for end in work.ends)
        scale = sum(abs(end.mean) * end.area * end.stroke * BAR_MM2_MM for end in work.ends)
        assert abs(total - by_area) < 1e-9 * scale, (work.state, work.notch, work.direction)
        assert work.work == pytest.approx(by_area, rel=1e-12)
        assert work.effort.mean == pytest.approx(by_area / (2 * np.pi), rel=1e-12)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("direction", DIRECTIONS)
def test_torque_is_the_rods_thrust_times_its_distance_from_the_axle(path: Path, direction: str) -> None:
    """Statics: the thrust along the rod balances the piston along the slidebars; its moment turns the crank."""
    a = assessed(path, "drawing", SIZED)
    work, crank = cylinder_work(a, 0, direction), a.sides[0].gear.crank
    front, back = work.ends[0], work.ends[1]
    assert front.diagram is not None
    assert back.diagram is not None
    for angle in np.linspace(0.1, 6.2, 37):
        forward = angle if direction == "forward" else -angle
        along = float(crank.front_direction - crank.slope) - forward  # of the crank, in the cylinder line's own axes
        pin = crank.radius * np.exp(1j * along)
        crosshead = np.sqrt(crank.rod**2 - (crank.height - pin.imag) ** 2) + pin.real + 1j * crank.height
        pressures = [end.diagram.pressure(angle - end.diagram.dead) - ATMOSPHERE for end in (front, back)]  # type: ignore[union-attr]
        push = (pressures[1] * back.area - pressures[0] * front.area) * 0.1  # N, forward
        rod = (pin - crosshead) / crank.rod
        thrust = push / rod.real  # along the rod, on the crank pin: along the slidebars it is the piston's push
        moment = (np.conj(pin) * thrust * rod).imag / 1000  # N m, anticlockwise
        assert moment * (-1 if direction == "forward" else 1) == pytest.approx(
            float(work.torque(angle, a.sides[0].side)), abs=1e-8 * front.area
        )


def test_the_right_side_turns_as_the_left_does_a_quarter_of_a_turn_earlier() -> None:
    angle = np.linspace(0.0, 2 * np.pi, 50)
    for direction, sign in (("forward", 1), ("backward", -1)):
        work = cylinder_work(assessed(DOCK, "drawing", SIZED), 0, direction)
        assert work.torque(angle, "right") == pytest.approx(work.torque(angle + sign * np.pi / 2, "left"), abs=1e-8)
    led = assessed(DOCK, "drawing", SIZED, Wheels(leads="left", lead_angle=85.0))
    work = cylinder_work(led, 0, "forward")
    assert work.torque(angle, "right") == pytest.approx(work.torque(angle - np.radians(85), "left"), abs=1e-8)


def test_effort_has_the_greatest_and_least_torque_of_a_finer_search() -> None:
    work = cylinder_work(assessed(DOCK, "drawing", SIZED), 2, "forward")
    torque = work.torque(np.linspace(0, 2 * np.pi, 200_001))
    assert work.effort.greatest == pytest.approx(torque.max() / work.effort.mean, rel=1e-4)
    assert work.effort.least == pytest.approx(torque.min() / work.effort.mean, rel=1e-3)
    assert work.effort.greatest >= torque.max() / work.effort.mean - 1e-6
    assert work.effort.fluctuation == pytest.approx(0.83, abs=0.02)


def test_without_a_bore_the_proportions_are_the_same() -> None:
    plain = replace(SIZED, piston_rod=None, tail_rod=None)
    sized, bare = (
        cylinder_work(assessed(DOCK, "drawing", s), 2, "forward") for s in (plain, replace(plain, bore=None))
    )
    assert bare.effort.fluctuation == pytest.approx(sized.effort.fluctuation, rel=1e-12)
    assert bare.shares == pytest.approx(sized.shares, rel=1e-12)
    assert bare.mean == pytest.approx(sized.mean, rel=1e-12)


def test_rods_take_their_room_from_the_pistons_area() -> None:
    work = cylinder_work(assessed(DOCK, "drawing", SIZED), 0, "forward")
    areas = [end.area for end in work.ends[:2]]
    assert areas == pytest.approx([np.pi / 4 * (356**2 - rod**2) for rod in (44, 57)], rel=1e-14)
    wanted = sum(end.mean * end.area for end in work.ends) / sum(end.area for end in work.ends)
    assert work.mean == pytest.approx(wanted, rel=1e-14)


def test_sides_that_differ_pull_unevenly() -> None:
    drawn, found = (cylinder_work(assessed(DOCK, state, SIZED), 4, "forward") for state in ("drawing", "as found"))
    spread = [max(work.shares) - min(work.shares) for work in (drawn, found)]
    assert sum(found.shares) == pytest.approx(4.0, abs=1e-12)
    assert spread[1] > 3 * spread[0]


def test_work_of_unit_steam_grows_as_the_gear_is_notched_up() -> None:
    a = assessed(DOCK, "drawing", SIZED)
    economy = [cylinder_work(a, notch, "forward").of_unit_steam for notch in range(5)]
    assert all(later < earlier for later, earlier in pairwise(economy))
    assert 0.9 < economy[0] < 1.0 < economy[4] < 1.6


# ---- ends without a diagram, figures assumed, files -----------------------------------------------------------------


def altered(text: str, more: str = "") -> Engine:
    read = DOCK.read_text(encoding="utf-8").replace("exhaust_lap = 0 ", text or "exhaust_lap = 0 ")
    own = re.compile(r"^\[(wheels|steam)\]\n(.+\n)+", re.MULTILINE)
    assert len(own.findall(read)) == 2
    return parse_engine(own.sub("", read) + more)


def test_an_end_that_never_releases_does_no_work_and_says_so() -> None:
    a = assess(altered('exhaust_lap_front = "1 1/4"\nexhaust_lap_back = 0 '))
    work = cylinder_work(a, a.sides[0].notches.index("forward 40"), "forward")
    assert [end.told for end in work.ends] == ["exhaust port never opens", ""] * 2
    assert [end.diagram is None for end in work.ends] == [True, False] * 2
    assert work.shares == pytest.approx((0.0, 2.0, 0.0, 2.0), abs=1e-12)
    assert work.effort.least < 0.1


def test_steam_that_is_not_given_is_assumed_and_named() -> None:
    taken = Conditions.of(Steam(pressure=8.0))
    assert taken.assumed == ("back_pressure", "clearance", "exponent", "blow_down")
    assert (taken.pressure, taken.back, taken.clearance) == pytest.approx((9.01325, 1.21325, 0.08), abs=1e-12)
    assert Conditions.of(replace(SIZED, exponent=1.0, blow_down="at release")).assumed == ()


def test_an_engine_file_may_hold_steam_and_wheels() -> None:
    engine = altered("", """
[steam]
pressure = 160
back_pressure = "20 kPa"
clearance = 7.5
bore = "14"
piston_rod = "2 1/4 in"
blow_down = "by dead centre"
[wheels]
diameter = "3 1/2 ft"
leads = "left"
lead_angle = 89.5
""")  # fmt: skip
    assert engine.steam.pressure == pytest.approx(160 * 0.0689475729, abs=1e-7)  # psi, as the file is in inches
    assert engine.steam.back_pressure == pytest.approx(0.2, abs=1e-12)
    assert (engine.steam.bore, engine.steam.piston_rod, engine.steam.exponent) == (355.6, 57.15, None)
    assert engine.wheels == Wheels(diameter=1066.8, leads="left", lead_angle=89.5)
    assert parse_engine(GAUGE.read_text(encoding="utf-8") + "\n[steam]\npressure = 12\n").steam.pressure == 12.0  # bar


@pytest.mark.parametrize(
    ("text", "key", "told"),
    [
        ("[steam]\npressure = 'high'", "steam.pressure", "a pressure is wanted"),
        ("[steam]\npressure = 5000", "steam.pressure", "is the unit right?"),
        ("[steam]\npressure = '-20 psi'", "steam.pressure", "vacuum"),
        ("[steam]\npressure = true", "steam.pressure", "a pressure is wanted"),
        ("[steam]\nclearance = 0", "steam.clearance", "from 0.1 to 50 percent"),
        ("[steam]\nexponent = 3", "steam.exponent", "0.5 to 2"),
        ("[steam]\nblow_down = 'slowly'", "steam.blow_down", "choose 'at release' or 'by dead centre'"),
        ("[steam]\nbore = '14'\npiston_rod = '15'", "steam.piston_rod", "fills the cylinder"),
        ("[steam]\npressure = 10\nback_pressure = 20", "steam.back_pressure", "not less than the pressure"),
        ("[steam]\npresure = 10", "steam.presure", "did you mean 'pressure'?"),
        ("[wheels]\nleads = 'both'", "wheels.leads", "choose 'right' or 'left'"),
        ("[wheels]\nlead_angle = 180", "wheels.lead_angle", "not near a right angle"),
        ("[wheels]\ndiameter = 0", "wheels.diameter", "no length"),
        ("[wheel]\ndiameter = 5", "wheel", "did you mean 'wheels'?"),
    ],
)
def test_steam_and_wheels_that_cannot_be_are_told_with_line_and_key(text: str, key: str, told: str) -> None:
    with pytest.raises(FileError) as caught:
        altered("", "\n" + text + "\n")
    assert key in str(caught.value)
    assert told in str(caught.value)
    assert caught.value.line is not None


# ---- the command ----------------------------------------------------------------------------------------------------


def run(*words: object) -> Any:
    return CliRunner().invoke(app, ["diagram", *map(str, words)])


OF_TWO = [path for path in EXAMPLES if len(read_engine(path).sides) > 1]  # of three it is refused


@pytest.mark.parametrize("path", OF_TWO, ids=lambda path: path.stem)
def test_command_prints_every_example_with_what_it_assumed_and_its_limits(path: Path) -> None:
    told = run(path)
    assert told.exit_code == 0, told.output
    inches = read_engine(path).unit != "mm"
    heard = CliRunner().invoke(app, ["beats", str(path)]).output
    for text in (told.output, heard):  # pressures as a shop that measures so reads its gauge: 0.2 bar are 2.9 psi
        words = " ".join(text.split()).split("bar or pinch")[0]
        assert f"back pressure {'2.9 psi' if inches else '0.20 bar'}" in words
        assert re.search(r"\d bar\b" if inches else r"\bpsi\b", words) is None
    given = "[steam]" in path.read_text(encoding="utf-8")
    assumed = (
        ("Assumed, not given: back pressure",)
        if given
        else (f"Assumed, not given: pressure {'145.0 psi' if inches else '10.00 bar'}", "No bore given")
    )
    for words in (*assumed, "no condensation", "certify nothing"):
        assert words in " ".join(told.output.split())


def test_command_compares_states_in_words() -> None:
    told = run(DOCK, "--state", "drawing", "--state", "as found", "--notch", "forward 25")
    assert "forward 25, running forward, as found against drawing: work +9." in told.output


def test_how_the_pressure_falls_at_release_is_said_as_the_trade_says_it() -> None:
    told = " ".join(run(DOCK, "--notch", "full forward").output.split())
    assert "constant; blow-down at release." in told
    falling = " ".join(run(DOCK, "--notch", "full forward", "--blow-down", "by dead centre").output.split())
    assert "constant; blow-down by dead centre." in falling


def test_command_gives_json_of_figures(tmp_path: Path) -> None:
    steam = ["--steam", "11 bar", "--back-pressure", "0.3 bar", "--clearance", 7, "--speed", "120 rpm"]
    sizes = ["--bore", "356 mm", "--piston-rod", "57 mm", "--tail-rod", "44 mm", "--notch", "full forward"]
    told = json.loads(run(DOCK, *steam, *sizes, "--json").output)
    work = cylinder_work(assessed(DOCK, "drawing", SIZED), 0, "forward")
    (case,) = told["cases"]
    assert case["mean_effective_pressure_bar"] == pytest.approx(work.mean, abs=5.1e-7)  # six decimals
    assert [end["mean_effective_pressure_bar"] for end in case["ends"]] == pytest.approx(
        [e.mean for e in work.ends], abs=5.1e-7
    )
    assert case["power_watts"] == pytest.approx(work.work * 2, abs=5.1e-7)
    assert told["steam"]["assumed"] == ["exponent", "blow_down"]
    assert told["limits"] == LIMITS


def test_the_picture_says_its_limits_and_the_mean_pressures(tmp_path: Path) -> None:
    svg = tmp_path / "d.svg"
    assert (
        run(GAUGE, "--state", "drawing", "--state", "as found", "--picture", svg, "--notch", "forward 50").exit_code
        == 0
    )
    drawn = svg.read_text(encoding="utf-8")
    for words in (
        "no condensation",
        "mean, front end: 6.99, then",
        "as found",
        "Turning effort",
        "clearance",
    ):
        assert words in drawn, words


def test_command_refuses_figures_that_cannot_be() -> None:
    for words, said in (
        (["--steam", "ten"], "--steam: read 'ten'; a pressure is wanted"),
        (["--steam", "1 bar", "--back-pressure", "2 bar"], "--back-pressure: the back pressure is not less"),
        (["--bore", "2 in", "--tail-rod", "3 in"], "--tail-rod: the rod fills the cylinder"),
        (["--clearance", "0"], "--clearance: read 0.0; from 0.1 to 50 percent"),
        (["--blow-down", "never"], "--blow-down: read 'never'"),
        (["--speed", "10 mph"], "needs the wheel's diameter"),
    ):
        told = run(GAUGE, *words)  # which says nothing of its wheels
        assert isinstance(told.exception, ValueError)
        assert said in str(told.exception)
