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
from linkmotion.views.doubt_words import better_words, untold
from linkmotion.views.printout import Point
from linkmotion.views.tables import Shown
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
def worn() -> EventDoubts:
    side, _ = looked_at(engine_of(WEAR).text, FOUND)
    doubts = event_doubts(engine_of(WEAR), side)
    assert doubts is not None
    return doubts


@pytest.mark.parametrize("reading", READINGS)
def test_each_reading_s_part_is_what_moving_it_does_to_the_whole_engine(reading: str) -> None:
    """The file written anew with the reading moved, read and assessed: gear, slot, die block and play in motion."""
    where, size, doubt = READINGS[reading]
    doubts = worn()
    more, less = (looked_at(engine_of(_with(reading, size + way)).text, FOUND)[1] for way in (doubt, -doubt))
    # mm or percent: what shapes the gear changes its play too, which the study leaves out
    seen, near = 0.0, 2e-3 if where.startswith(("bow", "bent", "axle")) else 3e-4
    for figure in doubts.model.figures:
        expected = (more[figure] - less[figure]) / 2 / NORMAL
        parts = {".".join(source[4:]): part.amount for source, part in doubts.parts(figure).items()}
        assert parts.get(where, 0.0) == pytest.approx(expected, rel=0.02, abs=near)
        seen = max(seen, abs(expected))
    assert seen > 4 * near


def _with(reading: str, size: float) -> str:
    changed, count = re.subn(rf'"{re.escape(reading)} ±', f'"{size:.7f} ±', WEAR, count=1)
    assert count == 1
    return changed


@cache
def loose(foot: str) -> Engine:
    """An engine with one loose pin, and nothing else in doubt."""
    return engine_of(f'\n[state."as found".left.wear.clearance]\nfoot = "{foot}"\n')


def lost_motion(allowed: float) -> Judged:
    engine = loose("0.040 ± 0.006 in")
    engine = replace(engine, targets=replace(engine.targets, lost_motion=allowed))
    found = doubtful(assess(engine, FOUND, ("left",)))
    assert found is not None
    return next(own for own in found.judged if own.finding.what == "lost motion")


def test_lost_motion_is_held_against_its_target_with_its_doubt() -> None:
    size = lost_motion(100.0).finding.size
    sure, out, near = (lost_motion(size * part) for part in (1.3, 0.7, 1.05))
    assert (sure.told, out.told, near.told) == (WITHIN, OUT, UNTOLD)
    assert sure.doubt == pytest.approx(size * 0.006 / 0.040, rel=1e-3)  # one clearance: in proportion
    (better,) = near.better
    assert better.dimension == "left wear.clearance.foot"
    (told,) = better_words(near.better, Shown("in"))
    assert told.startswith("clearance at the foot (left) to ± 0.00")
    assert better.to == pytest.approx(0.97 * 25.4 * 0.040 * 0.05, rel=0.01)


def test_what_is_allowed_is_told_as_the_findings_tell_it() -> None:
    """To three places of an inch 1/64 reads 0.016, which 0.0157 is not: a lead 0.0158 apart would seem within it."""
    engine = loose("0.040 ± 0.006 in")
    size = lost_motion(100.0).finding.size
    limit = 25.4 * round(size * 1.05 / 25.4, 4)
    engine = replace(engine, targets=replace(engine.targets, lost_motion=limit))
    found = doubtful(assess(engine, FOUND, ("left",)))
    assert found is not None
    words = " ".join(block.words for block in untold(found, Shown("in")) if isinstance(block, Point))
    assert f", {limit / 25.4:.4f}".rstrip("0") + " in allowed" in words


def test_no_clearance_is_less_than_nothing() -> None:
    """A pin that fills its hole within a doubt: what the valve lags by is drawn from nothing on, not to both sides."""
    engine = loose("0 ± 0.020 in")
    side = assess(engine, FOUND, ("left",)).sides[0]
    doubts = event_doubts(engine, side)
    assert doubts is not None
    travel = next(figure for figure in doubts.model.figures if figure.kind == "travel")
    assert doubts.bends(travel)
    drawn = doubts.drawn(travel)
    sound = side.travel[side.driven(0)[0]][0]
    assert np.max(drawn) <= sound + 1e-6
    assert np.mean(drawn > sound - 1e-6) == pytest.approx(0.5, abs=0.04)
