"""One state, one story: what two commands, the page and the library tell of a state is the same to the last digit."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

import linkmotion as lm
from linkmotion.cli import app
from linkmotion.engine import DRAWING
from linkmotion.events import DIRECTIONS, EVENTS
from linkmotion.files.lengths import UNITS
from linkmotion.studies.page_data import page_data
from linkmotion.valve import ENDS
from linkmotion.views.moving.payload import payload
from tests.gears_at_hand import EXAMPLES, example

REPAIRED = ("dock_shunter", "metre_gauge")  # a repaired state is one more of its kind: of two engines, in and mm
STATES = [(path.stem, state) for path in EXAMPLES for state in example(path.stem).state_names
          if state != "as repaired" or path.stem in REPAIRED]  # fmt: skip
Place = tuple[str, str, str, str]  # side, notch, direction, end
Story = dict[tuple[Place, str], float]
FIGURES = ("lead", *EVENTS, "opening", "travel", "lost motion")


def said(*words: str) -> Any:
    ran = CliRunner().invoke(app, list(words))
    assert ran.exit_code in (0, 1), ran.output
    assert ran.exception is None or isinstance(ran.exception, SystemExit)
    return json.loads(ran.stdout)


def path_of(stem: str) -> str:
    return str(next(path for path in EXAMPLES if path.stem == stem))


@cache
def checked(stem: str, state: str) -> Story:
    """By `check`: every figure of the state as it stands, in the file's unit."""
    found: Story = {}
    for row in said("check", path_of(stem), "--state", state, "--json")["events"]:
        if row["standing"] == "as it stands":
            place = (row["side"], row["notch"], row["direction"], row["end"])
            own = {"lead": row["lead"], "opening": row["opening"], "travel": row["valve_travel"]}
            own |= {"lost motion": row["lost_motion"], **{event: row[f"{event}_percent"] for event in EVENTS}}
            found |= {(place, figure): value for figure, value in own.items()}
    return found


def compared(stem: str, state: str) -> Iterator[tuple[Place, str, float]]:
    if state == DRAWING:
        return
    told = said("compare", path_of(stem), "--state", DRAWING, "--state", state, "--json")
    keys = {"lead": "lead", "cutoff": "cutoff_percent", "release": "release_percent", "opening": "opening",
            "compression": "compression_percent", "travel": "valve_travel", "lost motion": "lost_motion"}  # fmt: skip
    for row in told["rows"]:
        place = (row["side"], row["notch"], row["direction"], row["end"])
        for figure, key in keys.items():
            yield place, figure, row[key][1]


def weighed(stem: str, state: str) -> Iterator[tuple[Place, str, float]]:
    if state == DRAWING:
        return
    for own in said("wear", path_of(stem), "--state", state, "--direction", "both", "--json")["sides"]:
        for row in own["in_motion"]:
            place = (own["side"], row["notch"], row["direction"], row["end"])
            for figure in ("lead", *EVENTS, "opening", "travel"):
                yield place, figure, row[figure][1]


def on_the_page(stem: str, state: str) -> Iterator[tuple[Place, str, float]]:
    engine = example(stem)
    scale = float(UNITS[engine.unit])
    for case in payload(page_data(engine, [state]))["cases"]:
        for side in case["sides"] if case["state"] == state else ():
            for notch, ways in case["events"].items():
                for way, ends in ways.items():
                    for own in ends:
                        place = (side, notch, way, own["end"])
                        yield place, "lead", own["lead"] / scale
                        for event in EVENTS:
                            yield place, event, own["percent"].get(event)


def in_the_library(stem: str, state: str) -> Iterator[tuple[Place, str, float]]:
    engine = lm.read_engine(path_of(stem))
    for side in map(engine[state].__getitem__, engine[state].sides):
        for name in side.notches:
            for way in DIRECTIONS:
                notch = side[name, way]
                for end in (notch.front, notch.back):
                    place = (side.name, name, way, end.name)
                    yield place, "lead", end.lead
                    yield place, "opening", end.opening
                    yield place, "travel", notch.travel
                    yield place, "lost motion", notch.lost_motion
                    for event in EVENTS:
                        yield place, event, getattr(end, event)


@pytest.mark.parametrize("teller", [compared, weighed, on_the_page, in_the_library], ids=lambda each: each.__name__)
@pytest.mark.parametrize(("stem", "state"), STATES, ids=lambda each: each)
def test_a_state_has_one_story(
    stem: str, state: str, teller: Callable[[str, str], Iterator[tuple[Place, str, float | None]]]
) -> None:
    ours = checked(stem, state)
    count = 0
    for place, figure, value in teller(stem, state):
        own = ours[place, figure]
        assert (value is None) == (own is None), (place, figure)
        assert value is None or round(value, 6) == pytest.approx(own, abs=1.1e-6, rel=0), (place, figure)
        count += 1
    assert count or (state == DRAWING and teller in (compared, weighed))
    assert {side for (side, *_rest), _figure in ours} == set(example(stem).sides)
    assert {end for (*_rest, end), _figure in ours} == set(ENDS)


def test_the_lead_that_was_told_in_three_ways_is_told_in_one() -> None:
    """Dock shunter, as found, left, full forward: 0.119/0.119 set afresh without its play, 0.058/0.180 without it, and
    0.026/0.153 as a fitter reads it (the die of 3 in across the slot's hollows)."""
    ours = checked("dock_shunter", "as found")
    leads = [ours[("left", "full forward", "forward", end), "lead"] for end in ENDS]
    assert leads == [pytest.approx(0.0260, abs=5e-5), pytest.approx(0.1531, abs=5e-5)]


def test_nothing_is_called_right_of_which_half_is_left_out(tmp_path: Path) -> None:
    """A side with 0.9 mm at a pin and a worn slot is no side "within the targets"."""
    worn = tmp_path / "worn.toml"
    text = Path(path_of("metre_gauge")).read_text(encoding="utf-8")
    worn.write_text(
        text + '\n[state.loose.left.wear]\nclearance = { "die pin" = 0.9 }\n'
        "slot = [{ at = -60, front = 0.4, back = 0.4 }, { at = 60, front = 0.4, back = 0.4 }]\n",
        encoding="utf-8",
    )
    ran = CliRunner().invoke(app, ["check", str(worn), "--state", "loose", "--tables"])
    assert ran.exit_code == 1
    assert "of lost motion with the wheel held" in " ".join(ran.output.split())
    assert "within the targets" not in ran.output
