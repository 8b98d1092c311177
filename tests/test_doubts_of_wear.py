"""What the gauge found, with its doubt, reaches events, leads, lost motion and what is said of targets."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from linkmotion.engine import Engine
from linkmotion.files.engine_file import parse_engine
from linkmotion.measuring.taken import NORMAL
from linkmotion.studies.assess import assess
from linkmotion.studies.doubts.event_doubts import EventDoubts, event_doubts
from linkmotion.studies.doubts.judged import OUT, UNTOLD, WITHIN, Judged, doubtful
from linkmotion.studies.figures.figure import Figure
from tests.bad_engines.changed import DOCK
from tests.benchmarks.doubts import WEAR, looked_at

FOUND = "as found"
READINGS = {  # a reading as it stands in WEAR: where its doubt is kept, its size and doubt, inches
    "0.31": ("bow.eccentric rod.0", 0.31, 0.02),
    "0.03": ("bent.foot.ahead.0", 0.03, 0.01),
    "0.10": ("axle_height.0", 0.10, 0.03),
    "0.010": ("die_clearance.0", 0.010, 0.002),
    "0.012": ("slot.1.front.0", 0.012, 0.003),  # the second row, foremost in none of the orders
    "0.015": ("slot.2.back.0", 0.015, 0.003),
    "1.7635": ("clearance.die pin.0", 1.7635, 0.002),
    "1.7515": ("clearance.foot.1", 1.7515, 0.0015),
}


def engine_of(wear: str) -> Engine:
    return parse_engine(DOCK.split('\n[state."as found"')[0] + wear)


@cache
def worn() -> tuple[dict[str, float], EventDoubts]:
    side, found = looked_at(engine_of(WEAR).text, FOUND)
    doubts = event_doubts(engine_of(WEAR), side)
    assert doubts is not None
    return {_named(figure): value for figure, value in found.items()}, doubts


def _named(figure: Figure) -> str:
    return str(replace(figure, at=None))


@pytest.mark.parametrize("reading", READINGS)
def test_each_reading_s_part_is_what_moving_it_does_to_the_whole_engine(reading: str) -> None:
    """The file written anew with the reading moved, read and assessed: gear, slot, die block and play in motion."""
    where, size, doubt = READINGS[reading]
    _, doubts = worn()
    moved = [
        {_named(figure): value for figure, value in looked_at(engine_of(_with(reading, size + way)).text, FOUND)[1].items()}
        for way in (doubt, -doubt)
    ]
    seen = 0.0
    for figure in doubts.model.figures:
        expected = (moved[0][_named(figure)] - moved[1][_named(figure)]) / 2 / NORMAL
        parts = {".".join(source[4:]): part.amount for source, part in doubts.parts(figure).items()}
        # mm or percent: by so much events read off samples of a quarter of a degree jump, and what shapes the gear
        # changes its play, which the study leaves out
        assert parts.get(where, 0.0) == pytest.approx(expected, rel=0.02, abs=2e-3)
        seen = max(seen, abs(expected))
    assert seen > 0.02


def _with(reading: str, size: float) -> str:
    changed, count = re.subn(rf'"{re.escape(reading)} ±', f'"{size:.7f} ±', WEAR, count=1)
    assert count == 1
    return changed


def clearance(text: str, limit: str = "0.06") -> Judged:
    """The lost motion of an engine with one loose pin."""
    found = doubtful(assess(engine_of(f'{_TARGET.format(limit)}\n[state."as found".left.wear.clearance]\nfoot = {text}\n'), FOUND, ("left",)))
    assert found is not None
    return next(own for own in found.judged if own.finding.what == "lost motion")


_TARGET = ""
