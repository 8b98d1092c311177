"""Parts that are off, marked on the drawing: each with what the example's file says of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from linkmotion.files.engine_file import read_engine
from linkmotion.studies.assess import assess
from linkmotion.studies.side_drawing import elevation_of
from linkmotion.views.parts_off import parts_off
from tests.bad_engines.changed import EXAMPLES
from tests.bad_engines.command import Command

# by hand from the files: what the state gives less what the drawing does
OFF = {
    ("dock_shunter", "as found", "left"): {
        "lifting link": "0.0625 in long",
        "radius rod": "0.0625 in long",
        "eccentric rod": "bowed",
        "return crank": "slipped",
        "expansion link": "slot worn, die slack in the slot",
    },
    ("dock_shunter", "as repaired", "right"): {},
    ("metre_gauge", "as found", "right"): {
        "weighshaft": "shaft y −2.00 mm",
        "eccentric rod": "1.00 mm short",
        "union link": "6.00 mm short",
    },
    ("stephenson_goods", "as found", "right"): {
        "lifting link": "0.125 in long",
        "forward eccentric": "forward angle +1.50°",
    },
    ("joy_mixed_traffic", "as found", "right"): {"anchor link": "2.00 mm long"},
}


@pytest.mark.parametrize(("name", "state", "side"), OFF)
def test_each_part_that_is_off_is_named_with_by_how_much(name: str, state: str, side: str) -> None:
    engine = read_engine(EXAMPLES / f"{name}.toml")
    drawn = elevation_of(assess(engine, "drawing", [side]).sides[0], engine)
    assert parts_off(engine, state, side, drawn) == OFF[name, state, side]
    assert parts_off(engine, "drawing", side, drawn) == {}


def test_the_report_s_drawing_says_them(linkmotion: Command, tmp_path: Path) -> None:
    run = linkmotion(
        "check", EXAMPLES / "dock_shunter.toml", "--state", "as found", "--notch", "mid", "--into", tmp_path
    )
    assert run.code == 1
    (left,) = (tmp_path / "report-plots").glob("*-gear-left.svg")
    drawing = left.read_text(encoding="utf-8")
    for part in ("radius rod", "lifting link"):
        assert f"{part}: {OFF['dock_shunter', 'as found', 'left'][part]}" in drawing
