"""Exhaust beats: their places from the release events, the words told of them, and the sound that is written."""

from __future__ import annotations

import io
import json
import re
import wave
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.engine import Engine
from linkmotion.events import DIRECTIONS
from linkmotion.files.engine_file import parse_engine, read_engine
from linkmotion.files.wav import as_wav
from linkmotion.gears.steam import Wheels
from linkmotion.studies.assess import assess
from linkmotion.studies.in_motion import in_motion
from linkmotion.studies.steam.beats import Beats, beats
from linkmotion.studies.steam.sound import RATE, sound
from linkmotion.valve import ENDS
from linkmotion.wear.running import Load
from tests.gears_at_hand import EXAMPLES

DOCK, GAUGE = (next(path for path in EXAMPLES if path.stem == stem) for stem in ("dock_shunter", "metre_gauge"))
OF_TWO = [path for path in EXAMPLES if len(read_engine(path).sides) > 1]  # of three it is refused
SILENCE = RATE // 200  # samples: 5 ms without a sound


def released(engine: Engine, direction: str, notch: int, ahead: float) -> dict[str, float]:
    """Left crank at each release, degrees in the direction of running, put together from the events here."""
    found = {}
    for side in assess(engine).sides:
        back = np.degrees(float(side.gear.crank.back_crank_angle))
        dead = {"front": 0.0, "back": back if direction == "forward" else 360.0 - back}
        for end in ENDS:
            at = float(side.events[direction][end].angle["release"][notch])
            found[f"{side.side} {end}"] = (dead[end] + at - (ahead if side.side == "right" else 0.0)) % 360.0
    return found


def onsets_in(data: bytes) -> dict[str, list[int]]:
    """First sample of each beat as heard in each ear: the first that is not nothing after a silence."""
    with wave.open(io.BytesIO(data)) as file:
        assert (file.getframerate(), file.getnchannels(), file.getsampwidth()) == (RATE, 2, 2)
        samples = np.frombuffer(file.readframes(file.getnframes()), "<i2").reshape(-1, 2)
    found = {}
    for ear, name in enumerate(("left", "right")):
        heard = np.flatnonzero(samples[:, ear])
        found[name] = heard[np.diff(heard, prepend=-RATE) > SILENCE].tolist()
    return found


# ---- places ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", OF_TWO, ids=lambda path: path.stem)
def test_beats_come_at_the_release_events_of_every_gear(path: Path) -> None:
    engine = read_engine(path)
    a = assess(engine)
    for notch in range(len(a.sides[0].notches)):
        for direction in DIRECTIONS:
            wanted = released(engine, direction, notch, 90.0 if direction == "forward" else -90.0)
            found = {beat.name: beat.angle for beat in beats(a, notch, direction).beats}
            assert found.keys() == wanted.keys()
            for name, angle in found.items():
                assert abs((angle - wanted[name] + 180.0) % 360.0 - 180.0) < 1e-9, name


@pytest.mark.parametrize("direction", DIRECTIONS)
def test_intervals_make_a_turn_and_what_is_late_makes_up_for_what_is_early(direction: str) -> None:
    case = beats(assess(read_engine(DOCK), "as found"), 2, direction)
    angles = np.array([beat.angle for beat in case.beats])
    assert abs(sum(beat.interval for beat in case.beats) - 360.0) < 1e-9
    assert np.abs(np.diff(angles) - [beat.interval for beat in case.beats[1:]]).max() < 1e-9
    assert abs(sum(beat.late for beat in case.beats)) < 1e-9
    even = angles - [beat.late for beat in case.beats]
    assert np.abs(np.diff(even) - 90.0).max() < 1e-9


def test_even_places_are_those_of_least_squares() -> None:
    case = beats(assess(read_engine(DOCK), "as found"), 2, "forward")
    late = np.array([beat.late for beat in case.beats])
    for shift in (-0.01, 0.01):
        assert np.sum((late + shift) ** 2) > np.sum(late**2)


@pytest.mark.parametrize(("leads", "by"), [("right", 90.0), ("right", 91.5), ("left", 90.0), ("left", 85.0)])
@pytest.mark.parametrize("direction", DIRECTIONS)
def test_right_beats_stand_by_the_cranks_angle_before_or_after_the_left(leads: str, by: float, direction: str) -> None:
    engine = replace(read_engine(DOCK), wheels=Wheels(leads=leads, lead_angle=by))
    found = {beat.name: beat.angle for beat in beats(assess(engine), 0, direction).beats}
    sign = (1 if leads == "right" else -1) * (1 if direction == "forward" else -1)
    for end in ENDS:
        assert abs((found[f"left {end}"] - found[f"right {end}"] - sign * by + 180.0) % 360.0 - 180.0) < 1e-9


def test_cranks_out_of_square_are_heard() -> None:
    square, out = (
        beats(assess(replace(read_engine(DOCK), wheels=Wheels(lead_angle=by))), 0, "forward") for by in (90.0, 92.0)
    )
    late = [{beat.name: beat.late for beat in case.beats} for case in (square, out)]
    for end in ENDS:
        assert abs(late[1][f"right {end}"] - late[0][f"right {end}"] + 1.0) < 1e-9, "half of the error earlier"
        assert abs(late[1][f"left {end}"] - late[0][f"left {end}"] - 1.0) < 1e-9, "half of it later"


def test_one_side_alone_gives_two_beats_a_half_turn_apart() -> None:
    a = assess(read_engine(DOCK), sides=("left",))
    case = beats(a, 0, "forward")
    assert [beat.name for beat in case.beats] == ["left front", "left back"]
    assert case.even == 180.0
    both = {beat.name: beat.angle for beat in beats(assess(read_engine(DOCK)), 0, "forward").beats}
    assert all(abs(beat.angle - both[beat.name]) < 1e-12 for beat in case.beats)


def test_play_moves_the_beats_as_the_valve_in_motion_moves() -> None:
    a = assess(read_engine(DOCK), "as found", load=Load(drag=200.0))
    left = {beat.end: beat for beat in beats(a, 2, "forward").beats if beat.side == "left"}
    moving = in_motion(a.sides[0], 2, "forward")
    back = np.degrees(float(a.sides[0].gear.crank.back_crank_angle))
    for end, dead in (("front", 0.0), ("back", back)):
        assert abs(left[end].angle - (dead + moving.angle[end, "release"])) < 1e-9
        still = float(a.sides[0].without_play["forward"][end].angle["release"][2])
        assert moving.angle[end, "release"] - still > 0.2, "the play is taken up before the valve follows: late"


# ---- words and silence ----------------------------------------------------------------------------------------------


def silent_engine() -> Engine:
    """The dock shunter with an exhaust lap at the front that the notched-up valve never runs out."""
    return parse_engine(
        DOCK.read_text(encoding="utf-8").replace(
            "exhaust_lap = 0 ", 'exhaust_lap_front = "1 1/4"\nexhaust_lap_back = 0 '
        )
    )


def test_an_end_that_never_releases_is_silent_and_said_so() -> None:
    a = assess(silent_engine())
    notch = a.sides[0].notches.index("forward 40")
    case = beats(a, notch, "forward")
    assert [beat.name for beat in case.sounding] == ["right back", "left back"]
    assert [beat.words for beat in case.beats[2:]] == [
        f"the {side} front beat is silent: exhaust port never opens" for side in ("left", "right")
    ]
    assert case.even == 90.0
    assert all(abs(beat.late) < 1e-9 for beat in case.sounding)
    assert [round(beat.interval) for beat in case.sounding] == [270, 90]
    assert {name for _, _, name in sound([case], 60, 3).onsets} == {"right back", "left back"}


def test_words_say_which_beat_is_late_and_by_how_much() -> None:
    words = {beat.name: beat.words for beat in beats(assess(read_engine(DOCK)), 0, "forward").beats}
    assert words["left front"] == "the left front beat comes 2.3° early"
    assert words["right back"] == "the right back beat comes 2.3° late"


def test_notched_up_the_steam_let_go_has_less_pressure() -> None:
    a = assess(read_engine(DOCK))
    strength = [beats(a, i, "forward").beats[0].strength for i in range(5)]
    assert all(one > two > 0 for one, two in pairwise(strength))


# ---- the sound ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", OF_TWO, ids=lambda path: path.stem)
@pytest.mark.parametrize("revolutions", [37.0, 240.0])
def test_beats_heard_in_the_file_are_spaced_as_the_release_events_to_a_sample(path: Path, revolutions: float) -> None:
    engine, state = read_engine(path), ""
    state = engine.state_names[-1]
    a = assess(engine, state)
    case = beats(a, 0, a.sides[0].driven(0)[0])
    angles = np.sort([beat.angle for beat in case.beats])
    heard = onsets_in(as_wav(sound([case], revolutions, 4.0).samples, RATE))
    assert heard["left"] == heard["right"], "both ears hear every beat, the one louder"
    turns = np.arange(len(heard["left"]))
    exact = (360.0 * (turns // 4) + angles[turns % 4]) / (6 * revolutions) * RATE
    assert len(turns) == pytest.approx(4 * 4.0 * revolutions / 60, abs=1.0)
    for first in (0, 1):
        assert np.abs((np.array(heard["left"]) - heard["left"][first]) - (exact - exact[first])).max() <= 1.0


def test_a_beat_moved_by_half_a_degree_is_told_by_that_measure() -> None:
    case = beats(assess(read_engine(DOCK)), 0, "forward")
    moved = replace(
        case, beats=(case.beats[0], replace(case.beats[1], angle=case.beats[1].angle + 0.5), *case.beats[2:])
    )
    one, two = (onsets_in(as_wav(sound([each], 60, 2).samples, RATE))["left"] for each in (case, moved))
    assert two[1] - one[1] == pytest.approx(0.5 / 360 * RATE, abs=1.0)
    assert two[2] == one[2]


def test_each_case_sounds_for_its_seconds_after_a_silence() -> None:
    a = assess(read_engine(DOCK))
    made = sound([beats(a, 0, "forward"), beats(a, 4, "forward")], 120, 2.0)
    starts = [min(at for at, case, _ in made.onsets if case == number) for number in (0, 1)]
    assert [start / RATE for start in starts] == pytest.approx([0.25, 3.0], abs=1e-4)
    assert not made.samples[: starts[0]].any()
    assert not made.samples[starts[1] - RATE // 4 : starts[1]].any()
    assert made.samples.shape[0] / RATE == pytest.approx(5.75, abs=1e-4)


def test_the_sound_is_as_loud_as_the_steam_and_nearer_to_its_own_ear() -> None:
    case = beats(assess(read_engine(DOCK)), 0, "forward")
    half = replace(case, beats=tuple(replace(beat, strength=beat.strength / 2) for beat in case.beats))
    made = sound([case, half], 60, 2.0)
    peak: dict[tuple[int, str], Any] = {}
    for at, number, name in made.onsets:
        peak.setdefault((number, name), np.abs(made.samples[at : at + RATE // 5]).max(0))
    for name, own in (("right front", 1), ("left back", 0)):
        assert peak[1, name][own] / peak[0, name][own] == pytest.approx(0.5, rel=1e-9)
        assert peak[0, name][1 - own] / peak[0, name][own] == pytest.approx(0.4, rel=1e-9)
    assert 0.2 < np.abs(made.samples).max() <= 0.9


def test_a_port_that_opens_slowly_gives_a_softer_beat() -> None:
    case = beats(assess(read_engine(DOCK)), 0, "forward")
    slow = replace(case, beats=tuple(replace(beat, rise=20.0) for beat in case.beats))
    sharp, soft = (np.abs(sound([each], 60, 0.5).samples).max() for each in (case, slow))
    assert soft < 0.8 * sharp


def test_the_same_engine_makes_the_same_file() -> None:
    def made() -> bytes:
        return as_wav(sound([beats(assess(read_engine(DOCK)), 0, "forward")], 60, 1.0).samples, RATE)

    assert made() == made()


def test_no_beat_at_all_is_silence() -> None:
    case = beats(assess(read_engine(DOCK)), 0, "forward")
    none: Beats = replace(case, beats=tuple(replace(beat, angle=float("nan")) for beat in case.beats))
    assert none.worst == 0.0
    assert not sound([none], 60, 1.0).samples.any()


# ---- the command ----------------------------------------------------------------------------------------------------


def run(*words: object) -> Any:
    return CliRunner().invoke(app, ["beats", *map(str, words)])


def test_command_prints_writes_and_draws(tmp_path: Path) -> None:
    wav, svg = tmp_path / "b.wav", tmp_path / "b.svg"
    told = run(DOCK, "--state", "drawing", "--state", "as found", "--sound", wav, "--seconds", 1, "--picture", svg)
    assert told.exit_code == 0, told.output
    assert "The left back beat comes" in told.output or "the left back beat comes" in told.output
    assert "Most changed from drawing: the left back beat, 2.5° later." in told.output
    assert len(onsets_in(wav.read_bytes())["left"]) == 8
    drawn = svg.read_text(encoding="utf-8")
    assert len(re.findall(">left front<", drawn)) == 2 * 2 + 1  # on ring and strip of both states, and in the key
    assert "10 ms early" in drawn
    assert "2.3° early" in drawn


def test_command_gives_json_with_every_beat() -> None:
    told = json.loads(run(DOCK, "--speed", "12 mph", "--wheel", "3' 6\"", "--notch", "mid", "--json").output)
    assert told["revolutions_a_minute"] == pytest.approx(
        12 * 1609.344 / 60 / (np.pi * 42 * 0.0254), abs=5.1e-7
    )  # six decimals
    assert [case["direction"] for case in told["cases"]] == ["forward", "backward"]
    assert {(beat["side"], beat["end"]) for beat in told["cases"][0]["beats"]} == {
        (side, end) for side in ("left", "right") for end in ENDS
    }


def test_command_ends_with_1_when_a_beat_is_further_out_than_allowed() -> None:
    assert [run(DOCK, "--within", limit).exit_code for limit in (2.2, 2.4)] == [1, 0]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--speed", "12 mph"], "--speed: '12 mph' needs the wheel's diameter"),
        (["--speed", "fast"], "--speed: read 'fast'; a speed is wanted"),
        (["--speed", "0"], "a speed of more than nothing"),
        (["--speed", "5000"], "no steam engine's speed"),
        (["--sound", "x.wav", "--seconds", "0.1"], "--seconds"),
        (["--lead-angle", "10"], "--lead-angle: cranks 10° apart are not near a right angle"),
        (["--leads", "both"], "--leads: read 'both'"),
        (["--steam", "10 parsec"], "--steam: read '10 parsec'; a pressure is wanted"),
        (["--notch", "fulll forward"], "there is no notch 'fulll forward'"),
    ],
)
def test_command_refuses_what_it_cannot_use(words: list[str], said: str, tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.chdir(tmp_path)
    told = run(GAUGE, *words)  # which says nothing of its wheels
    assert isinstance(told.exception, ValueError)
    assert said in str(told.exception)
    assert list(tmp_path.iterdir()) == []
