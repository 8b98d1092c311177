"""Dead centres by tram: halving, what it leaves out, play, doubt, and leads read off dead centre."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq
from typer.testing import CliRunner

from linkmotion.cli.app import app
from linkmotion.engine import Engine
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError
from linkmotion.files.tram_file import parse_tram_marks
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.linkage import Wheel, solve
from linkmotion.studies.assess import assess_side
from linkmotion.studies.setting.lead_errors import lead_errors
from linkmotion.studies.setting.tram import Tram, find_dead_centres
from linkmotion.studies.setting.tram_marks import Accuracy, MarkPair, TramError, halving_error

EXAMPLES = Path(__file__).parent.parent / "examples"
SHUNTER = EXAMPLES / "dock_shunter.toml"
CRANKS = {
    "through the axle": CrankMotion(254.0, 1460.5, 0.0, 0.0),
    "above": CrankMotion(304.8, 2184.4, 60.0, 0.0),
    "below, inclined": CrankMotion(304.8, 1500.0, -80.0, math.radians(7.0)),
}
FINE = Accuracy(mark=1e-3, crosshead=1e-3)
DATUM = {"front": 351.0, "back": 173.5}  # degrees on the tyre; the front's marks lie across the datum mark


@pytest.fixture(scope="module")
def shunter() -> Engine:
    return read_engine(SHUNTER)


def places(crank: CrankMotion, end: str, half: float, play: float) -> tuple[float, float]:
    """Crank angles (degrees from the end's dead centre, running forward) at one place of the crosshead.

    Found by bracketing on the crosshead's own law, the rod shorter by half the play where it pushes.
    """
    dead = 0.0 if end == "front" else float(crank.back_crank_angle)
    push, pull = (replace(crank, rod=crank.rod + side * play / 2) for side in (-1, 1))
    before, after = (push, pull) if end == "front" else (pull, push)

    def at(motion: CrankMotion, angle: float) -> float:  # the wheel's own angle: dead centre moves with the rod
        turned = dead + math.radians(angle) + motion.front_direction - crank.front_direction
        return float(motion.crosshead(turned))

    def beyond(first: float) -> float:
        return float(brentq(lambda a: at(after, a) - at(before, first), 0.1, 120.0, xtol=1e-13))

    first = float(brentq(lambda a: beyond(a) - a - 2 * half, -1.6 * half, -0.4 * half, xtol=1e-13))
    return first, beyond(first)


def pair(crank: CrankMotion, end: str, half: float, play: float, turned: str) -> MarkPair:
    """Exact marks, with the dead centre at its place of ``DATUM``."""
    signed = {"toward": 0.0, "forward": play, "backward": -play}[turned]  # backward, the rod pulls where it pushed
    low, high = places(crank, end, half, signed)
    return MarkPair(end, ((DATUM[end] + low) % 360, (DATUM[end] + high) % 360), turned)


@pytest.mark.parametrize("end", ["front", "back"])
@pytest.mark.parametrize("half", [8.0, 30.0, 55.0])
@pytest.mark.parametrize("play", [0.0, 0.6])
@pytest.mark.parametrize("name", CRANKS)
def test_error_of_halving_is_exact(name: str, play: float, half: float, end: str) -> None:
    crank = CRANKS[name]
    first, second = places(crank, end, half, play)
    expected = (first + second) / 2
    assert abs(sum(halving_error(crank, end, half, play)) - expected) < 1e-8  # degrees
    if play or crank.height:
        assert abs(expected) > 1e-3


def test_halving_is_exact_for_a_line_through_the_axle_without_play() -> None:
    """Ahrons, Steam Locomotive Construction and Maintenance (1921), p. 101: the rule as he gives it."""
    for half in (5.0, 20.0, 60.0):
        for end in ("front", "back"):
            assert halving_error(CRANKS["through the axle"], end, half) == (0.0, 0.0)


def test_slope_of_the_line_makes_no_difference() -> None:
    sloping = CRANKS["below, inclined"]
    level = replace(sloping, slope=0.0)
    assert abs(halving_error(level, "back", 25.0)[0] - halving_error(sloping, "back", 25.0)[0]) < 1e-12


def test_marks_near_the_dead_centre_suffer_more_from_play_and_less_from_the_offset() -> None:
    near, far = (halving_error(CRANKS["above"], "front", half, 0.5) for half in (10.0, 50.0))
    assert abs(near[0]) < abs(far[0]) / 10
    assert near[1] > 2 * far[1] > 0


def all_pairs(name: str, play: float, *turned: str) -> Iterator[MarkPair]:
    for way in turned:
        for end, half in (("front", 25.0), ("front", 40.0), ("back", 30.0)):
            yield pair(CRANKS[name], end, half, play, way)


@pytest.mark.parametrize("name", CRANKS)
@pytest.mark.parametrize(
    ("turned", "given"), [(("toward",), None), (("forward", "backward"), None), (("forward",), 0.5)]
)
def test_true_dead_centres_are_found(name: str, turned: tuple[str, ...], given: float | None) -> None:
    accuracy = replace(FINE, play=given, play_std=0.001)
    found = find_dead_centres(CRANKS[name], list(all_pairs(name, 0.5, *turned)), accuracy)
    for end, place in DATUM.items():
        assert abs(found.centres[end].angle - place) < 1e-6
    if turned != ("toward",):
        assert found.play is not None
        assert abs(found.play - 0.5) < 1e-6
    assert found.play_found == (turned == ("forward", "backward"))
    assert found.agree


@pytest.mark.parametrize("way", ["forward", "backward"])
@pytest.mark.parametrize("name", CRANKS)
def test_turning_that_was_not_noted_may_be_either_way_and_the_doubt_holds_both(name: str, way: str) -> None:
    """The halved marks stand where they do; what play may have done lies within the doubt, not far within."""
    accuracy = replace(FINE, play=0.5, play_std=0.001)
    noted = list(all_pairs(name, 0.5, way))
    blank = [replace(own, turned="") for own in noted]
    found = find_dead_centres(CRANKS[name], blank, accuracy)
    for end, place in DATUM.items():
        off = abs((found.centres[end].angle - place + 180) % 360 - 180)
        lates = [halving_error(CRANKS[name], end, own.half, 0.5)[1] for own in blank if own.end == end]
        assert min(lates) - 1e-3 < off < max(lates) + 1e-3, "not corrected either way: a mean of what each is out by"
        assert found.unsure[end] == pytest.approx(max(lates), abs=1e-9)
        assert off < found.centres[end].doubt < 2.2 * off
        assert find_dead_centres(CRANKS[name], noted, accuracy).centres[end].doubt < off / 5
    assert found.agree
    by_others = find_dead_centres(CRANKS[name], [*noted, *blank], accuracy)
    for end, place in DATUM.items():
        assert abs((by_others.centres[end].angle - place + 180) % 360 - 180) < 2e-3, "noted pairs count for more"
    assert by_others.agree


def test_pairs_of_an_end_may_have_been_turned_to_differently_where_it_was_not_noted() -> None:
    ways = (("front", 25.0, "forward"), ("front", 40.0, "backward"))
    pairs = [replace(pair(CRANKS["above"], end, half, 0.5, way), turned="") for end, half, way in ways]
    found = find_dead_centres(CRANKS["above"], pairs, replace(FINE, play=0.5, play_std=0.001))
    assert found.agree
    assert (
        abs(found.centres["front"].angle - DATUM["front"]) < 0.2 * found.unsure["front"] < found.centres["front"].doubt
    )


def test_the_doubt_of_turning_that_was_not_noted_holds_as_often_as_it_says() -> None:
    """Over 400 engines' marks, each turned one way or the other, at scatters below and above what play does."""
    rng, crank = np.random.default_rng(7), CRANKS["above"]
    for scatter in (0.01, 0.05, 0.2):
        accuracy = Accuracy(mark=scatter, crosshead=1e-4, play=0.5, play_std=0.01)
        exact = {
            way: [pair(crank, "front", half, 0.5, way) for half in (25.0, 40.0)] for way in ("forward", "backward")
        }
        held = 0
        for _ in range(400):
            own = exact[("forward", "backward")[rng.integers(2)]]
            moved = [
                MarkPair("front", (each.marks[0] + off[0], each.marks[1] + off[1]))
                for each, off in zip(own, rng.normal(0.0, scatter, (2, 2)), strict=True)
            ]
            found = find_dead_centres(crank, moved, accuracy).centres["front"]
            held += abs((found.angle - DATUM["front"] + 180) % 360 - 180) <= found.doubt
        assert held >= 0.93 * 400, scatter


def test_play_left_out_makes_the_dead_centre_late_and_is_told() -> None:
    found = find_dead_centres(CRANKS["through the axle"], list(all_pairs("through the axle", 0.5, "forward")), FINE)
    late = found.centres["back"].angle - DATUM["back"]
    assert found.play is None
    assert late > 0.05
    assert abs(late - 0.5 * found.per_play["back"]) < 0.001


def test_halved_mark_and_its_parts_add_up() -> None:
    found = find_dead_centres(CRANKS["above"], list(all_pairs("above", 0.5, "forward")), replace(FINE, play=0.5))
    for centre in found.centres.values():
        assert abs(centre.error - centre.offset - centre.late) < 1e-6
    measured = found.apart - found.apart_drawn
    assert (
        abs(measured - (DATUM["back"] - DATUM["front"]) % 360 + math.degrees(CRANKS["above"].back_crank_angle)) < 1e-6
    )


def crosshead_per_degree(crank: CrankMotion, end: str, half: float) -> float:
    """Movement of the crosshead so far from dead centre (mean of both sides of it), mm a degree, by differences.

    Written out afresh, along the cylinder line: x = r cos a + sqrt(L² - (h - r sin a)²), the dead centres where crank
    and rod are in line.
    """
    radius, rod, height = crank.radius, crank.rod, crank.height
    at_front, at_back = math.asin(height / (rod + radius)), math.pi + math.asin(height / (rod - radius))

    def x(degrees_on: float) -> float:
        turned = (at_front if end == "front" else at_back) + math.radians(degrees_on)
        return float(radius * math.cos(turned) + math.sqrt(rod**2 - (height - radius * math.sin(turned)) ** 2))

    step = 1e-3
    return sum(abs(x(at + step) - x(at - step)) / (2 * step) for at in (-half, half)) / 2


@pytest.mark.parametrize("end", ["front", "back"])
@pytest.mark.parametrize("half", [10.0, 45.0])
@pytest.mark.parametrize("name", CRANKS)
def test_doubt_of_one_pair_follows_from_how_fast_the_crosshead_moves_there(name: str, half: float, end: str) -> None:
    """Two places of the crosshead, each out by 0.1 mm in one standard deviation, halved; the marks sharp."""
    exact = pair(CRANKS[name], end, half, 0.0, "toward")
    found = find_dead_centres(CRANKS[name], [exact], Accuracy(mark=1e-9, crosshead=0.1)).centres[end]
    each = 0.1 / crosshead_per_degree(CRANKS[name], end, half)
    assert found.doubt == pytest.approx(stats.norm.ppf(0.975) * each / math.sqrt(2), rel=1e-6)


def noisy(rng: np.random.Generator, accuracy: Accuracy) -> Tram:
    crank, pairs = CRANKS["above"], []
    for exact in all_pairs("above", 0.3, "forward", "backward"):
        slip = rng.normal(0, accuracy.crosshead, 2) / crosshead_per_degree(crank, exact.end, exact.half)
        moved = np.array([-1, 1]) * slip + rng.normal(0, accuracy.mark, 2)
        pairs.append(MarkPair(exact.end, (exact.marks[0] + moved[0], exact.marks[1] + moved[1]), exact.turned))
    return find_dead_centres(crank, pairs, accuracy)


def test_doubt_holds_the_truth_in_95_of_100_cases() -> None:
    rng, accuracy = np.random.default_rng(7), Accuracy(mark=0.02, crosshead=0.06)
    trials = [noisy(rng, accuracy) for _ in range(400)]
    for end, place in DATUM.items():
        held = np.mean([abs(t.centres[end].angle - place) <= t.centres[end].doubt for t in trials])
        assert 0.94 <= held <= 0.99, held  # the doubt is only ever widened by scatter: a little over 95 %
        mean = np.mean([t.centres[end].angle - place for t in trials])
        assert abs(mean) < 0.15 * trials[0].centres[end].doubt
    assert np.mean([t.agree for t in trials]) > 0.97
    apart = (DATUM["back"] - DATUM["front"]) % 360
    assert 0.94 <= np.mean([abs(t.apart - apart) <= t.apart_doubt for t in trials]) <= 0.99
    plays = [t.play for t in trials if t.play is not None]
    assert len(plays) == len(trials)
    assert 0.94 <= np.mean([abs(p - 0.3) <= t.play_doubt for p, t in zip(plays, trials, strict=True)]) <= 0.99


def test_pairs_that_do_not_agree_are_told_and_widen_the_doubt() -> None:
    good = list(all_pairs("above", 0.0, "toward"))
    wrong = [*good, MarkPair("front", (good[0].marks[0] + 1.0, good[0].marks[1]), "toward")]
    assert find_dead_centres(CRANKS["above"], good, Accuracy(0.02, 0.06)).agree
    found = find_dead_centres(CRANKS["above"], wrong, Accuracy(0.02, 0.06))
    assert not found.agree
    assert abs(found.residual[3] - found.residual[0] - 0.5) < 0.02  # one mark a degree on: the halved one half as much
    assert np.max(np.abs(find_dead_centres(CRANKS["above"], good, Accuracy(0.02, 0.06)).residual)) < 1e-6
    assert (
        found.centres["front"].doubt
        > 5 * find_dead_centres(CRANKS["above"], good, Accuracy(0.02, 0.06)).centres["front"].doubt
    )


@pytest.mark.parametrize("marks", [(10.0, 10.5), (40.0, 10.0), (10.0, 200.0)])
def test_marks_that_straddle_no_dead_centre_are_refused(marks: tuple[float, float]) -> None:
    with pytest.raises(TramError, match=r"pair 1: the marks stand .* apart"):
        find_dead_centres(CRANKS["above"], [MarkPair("front", marks)], FINE)


# ---- leads read off dead centre -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["dock_shunter", "metre_gauge", "stephenson_goods", "donkey_eccentric"])
def test_error_of_a_lead_is_what_the_gear_does_there(name: str) -> None:
    """Against the gear solved at the wheel's very place."""
    side = assess_side(read_engine(EXAMPLES / f"{name}.toml").side_state())
    found = lead_errors(side, 0.75)
    for i, setting in enumerate(side.settings):
        for end, dead in (("front", 0.0), ("back", float(side.gear.crank.back_crank_angle))):
            at = [dead, dead + math.radians(0.75), dead - math.radians(0.75)]
            solution = solve(side.gear.declare(setting), Wheel.at(-np.array(at)))
            leads = side.ports.edge("steam", end).opening(np.ravel(solution.along("valve guide")) - side.central_at)
            assert abs(found.lead[end][i] - leads[0]) < 1e-7
            assert abs(found.after[end][i] - (leads[1] - leads[0])) < 1e-7
            assert abs(found.before[end][i] - (leads[2] - leads[0])) < 1e-7
    assert found.worst > 0.1  # mm


def test_full_gear_suffers_most_and_mid_gear_least(shunter: Engine) -> None:
    side = assess_side(shunter.side_state())
    found = lead_errors(side, 0.5)
    worst = {notch: abs(found.after["front"][i]) for i, notch in enumerate(found.notches)}
    assert max(worst, key=worst.__getitem__) in ("full forward", "full backward")
    assert min(worst, key=worst.__getitem__) == "mid"


# ---- file and command -----------------------------------------------------------------------------------------------

MARKS = """\
[tram]
tyre_diameter = "4' 6\\""
mark = "0.010 in"

[[pair]]
end = "front"
marks = ["3.25", "14.65"]

[[pair]]
end = "back"
degrees = [190.0, 214.5]
turned = "toward"
"""


def test_marks_are_read_in_the_files_unit() -> None:
    read = parse_tram_marks(MARKS, "marks.toml", "in")
    assert read.diameter == 54 * 25.4
    assert abs(read.pairs[0].marks[0] - math.degrees(3.25 / 27)) < 1e-12
    assert read.pairs[1] == MarkPair("back", (190.0, 214.5), "toward")
    assert abs(read.accuracy.mark - math.degrees(0.010 / 27) / 2) < 1e-12
    assert read.assumed == ("the crosshead comes back to its line within 0.1 mm",)


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ('end = "front"', 'end = "fore"', 6, "choose front or back"),
        ('marks = ["3.25", "14.65"]', 'marks = ["3.25"]', 7, "two figures in a list"),
        ('marks = ["3.25", "14.65"]', 'marks = ["3.25", "14,65"]', 7, "write a point for decimals"),
        ('tyre_diameter = "4\' 6\\""', 'unit = "in"', 7, "give \\[tram\\] tyre_diameter"),
        ('tyre_diameter = "4\' 6\\""', 'tyre_diameter = "54 thou"', 2, "is the unit right"),
        ('turned = "toward"', 'turned = "reverse"', 12, "known here: forward, backward, toward, not noted"),
        ('mark = "0.010 in"', 'marks = "0.010 in"', 3, "did you mean 'mark'"),
        ('mark = "0.010 in"', 'play = "-1 mm"', 3, "play is 0 or more"),
        ("degrees = [190.0, 214.5]", "degrees = [190.0, true]", 11, "a plain number of degrees"),
    ],
)
def test_wrong_marks_get_a_clear_message(old: str, new: str, line: int, words: str) -> None:
    assert old in MARKS
    with pytest.raises(FileError, match=words) as told:
        parse_tram_marks(MARKS.replace(old, new), "marks.toml", "in")
    assert told.value.line == line


def test_where_nothing_is_said_the_turning_is_not_noted_and_it_is_told(tmp_path: Path) -> None:
    said = MARKS.replace('mark = "0.010 in"', 'mark = "0.010 in"\nplay = "0.02 in"')
    assert [own.turned for own in parse_tram_marks(said, "marks.toml", "in").pairs] == ["", "toward"]
    noted = said.replace('"14.65"]', '"14.65"]\nturned = "not noted"')
    assert parse_tram_marks(noted, "marks.toml", "in").pairs == parse_tram_marks(said, "marks.toml", "in").pairs
    file = tmp_path / "marks.toml"
    told = {}
    for name, text in (("said", said), ("forward", noted.replace("not noted", "forward"))):
        file.write_text(text)
        told[name] = " ".join(CliRunner().invoke(app, ["tram", str(SHUNTER), str(file)]).output.split())
    assert "how the wheel was turned is not noted of every pair" in told["said"]
    assert "not noted" not in told["forward"]


def test_file_without_pairs_is_refused() -> None:
    with pytest.raises(FileError, match="there are no marks"):
        parse_tram_marks("[tram]\nmark_degrees = 0.1\n", "marks.toml", "in")


def test_command_finds_dead_centres(tmp_path: Path) -> None:
    file = tmp_path / "marks.toml"
    file.write_text(MARKS)
    ran = CliRunner().invoke(app, ["tram", str(SHUNTER), str(file), "--json"])
    assert ran.exit_code == 0, ran.output
    found = json.loads(ran.output)
    centres = {each["end"]: each for each in found["dead_centres"]}
    assert (
        abs(centres["front"]["angle"] - math.degrees(8.95 / 27)) < 5.1e-7
    )  # six decimals; the shunter's line passes through the axle
    assert abs(centres["back"]["angle"] - 202.25) < 5.1e-7
    plain = CliRunner().invoke(app, ["tram", str(SHUNTER), str(file)])
    assert "8.950" in plain.output
    assert "traps hands" in " ".join(plain.output.split())


def test_command_tells_leads_read_off_dead_centre_by_so_much_of_the_tyre() -> None:
    by_degrees, by_length = (
        json.loads(CliRunner().invoke(app, ["tram", str(SHUNTER), *given, "--json"]).output)["leads_read_wrong"]
        for given in (["--out-by", "0.5°"], ["--out-by", f"{math.radians(0.5) * 20:.12f}", "--tyre", "40 in"])
    )
    assert by_degrees["notches"][0]["past_dead_centre"] > 0.2 / 25.4  # in, full forward gear
    for one, two in zip(by_degrees["notches"], by_length["notches"], strict=True):
        assert abs(one["past_dead_centre"] - two["past_dead_centre"]) < 1.1e-6  # a unit of the last place


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "give a file of marks"),
        (["--out-by", "1/8 in"], "give --tyre"),
        (["--out-by", "60°"], "up to 45°"),
        (["--out-by", "half"], "'half' is not a length"),
    ],
)
def test_command_wants_marks_or_an_amount(arguments: list[str], words: str) -> None:
    ran = CliRunner().invoke(app, ["tram", str(SHUNTER), *arguments])
    assert isinstance(ran.exception, FileError)
    assert words in str(ran.exception)
