"""What the live page's server does with what a browser sends, without a browser."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("bokeh")

from linkmotion.files.engine_file import read_engine
from linkmotion.live.session import BEFORE, LONGEST, WEAR, Session
from linkmotion.studies.page_data import page_data
from linkmotion.views.moving.payload import payload

DOCK = Path("examples/dock_shunter.toml")


def change(session: Session, key: str, value: str) -> None:
    session.carry_out({"do": "change", "key": key, "value": value})


def value_of(session: Session, key: str) -> float | None:
    return next(row.value for row in session.rows() if row.key == key)


def test_a_change_is_written_into_the_file_and_its_comments_stay() -> None:
    session = Session(read_engine(DOCK))
    change(session, "eccentric_rod.length", "31 9/16")
    assert session.message == ""
    assert session.engine.drawing["eccentric_rod"]["length"] == pytest.approx(31.5625 * 25.4, abs=1e-9)
    assert 'length = "31 9/16"      # return-crank pin to foot pin of the link' in session.engine.text
    before = DOCK.read_text("utf-8").splitlines()
    after = session.engine.text.splitlines()
    assert len(before) == len(after)
    assert sum(a != b for a, b in zip(before, after, strict=True)) == 1
    assert value_of(session, "eccentric_rod.length") == pytest.approx(31.5625, abs=1e-9)
    assert BEFORE in {case.state for case in session.shown.cases}


def test_what_it_was_before_stands_beside_it_unchanged() -> None:
    session = Session(read_engine(DOCK))
    first = session.shown.cases[0]
    change(session, "reversing.lifting_link", "14")
    now, was = (next(c for c in session.shown.cases if c.state == state) for state in ("drawing", BEFORE))
    u = was.notches["full forward"]
    assert u == first.notches["full forward"]
    assert was.central_at == pytest.approx(first.central_at, abs=1e-9)
    assert np.max(np.abs(was.motion.series - first.motion.series)) < 1e-9
    assert np.max(np.abs(now.motion.series - first.motion.series)) > 1.0


def test_a_gear_that_cannot_be_assembled_is_told_and_the_last_good_one_kept() -> None:
    session = Session(read_engine(DOCK))
    change(session, "union_link.length", "14 1/8")
    good, shown = session.engine, session.shown
    change(session, "eccentric_rod.length", "12")
    assert "too short to meet" in session.message
    assert session.engine is good
    assert session.shown is shown
    change(session, "eccentric_rod.length", "about a yard")
    assert "eccentric_rod.length" in session.message
    assert session.engine is good
    change(session, "eccentric_rod.length", "31.5")
    assert session.message == ""
    assert value_of(session, "union_link.length") == 14.125


def test_a_state_and_side_are_changed_alone() -> None:
    session = Session(read_engine(DOCK))
    session.carry_out({"do": "choose", "state": "as found", "side": "right"})
    change(session, "eccentric_rod.length", "31.6")
    assert session.engine.gear("as found", "right").eccentric_rod.length == pytest.approx(31.6 * 25.4, abs=1e-9)  # type: ignore[attr-defined]
    assert session.engine.gear("as found", "left") == session.opened.gear("as found", "left")
    assert session.engine.gear() == session.opened.gear()


def test_a_figure_for_both_sides_that_a_side_overrules_is_told() -> None:
    session = Session(read_engine(DOCK), "as found")
    change(session, "eccentric_rod.length", "31.6")
    assert "the right side has a figure of its own" in session.message
    assert session.engine.gear("as found", "left").eccentric_rod.length == pytest.approx(31.6 * 25.4, abs=1e-9)  # type: ignore[attr-defined]
    change(session, "wear.clearance.foot", "0.03")
    assert "the left side has a figure of its own" in session.message
    change(session, "union_link.length", "14.1")
    assert session.message == ""


def test_wear_can_be_entered_that_the_file_has_not() -> None:
    session = Session(read_engine("examples/gooch_tank.toml"))
    row = next(row for row in session.rows() if row.table == WEAR and "die pin" in row.words)
    assert row.value is None
    change(session, row.key, "0.5")
    assert session.message == ""
    assert session.engine.wear["clearance"] == {"die pin": 0.5}
    now = session.shown.cases[0].motion.lost
    was = next(c for c in session.shown.cases if c.state == BEFORE).motion.lost
    assert now.max() > 0.3
    assert was.max() == 0.0


def test_everything_is_put_back() -> None:
    session = Session(read_engine(DOCK))
    change(session, "connecting_rod.length", "58")
    session.carry_out({"do": "back"})
    assert session.engine is session.opened
    assert session.reply()["bench"]["changed"] is False


@pytest.mark.parametrize(
    "asked",
    [
        {"do": "change", "key": "engine.name", "value": "other"},
        {"do": "change", "key": "valve.set_in.notch", "value": "mid"},
        {"do": "change", "key": "../../etc/passwd", "value": "1"},
        {"do": "change", "key": "eccentric_rod.length", "value": "1" * (LONGEST + 1)},
        {"do": "change", "key": "eccentric_rod.length", "value": 31},
        {"do": "change", "key": ["eccentric_rod.length"], "value": "31"},
        {"do": "choose", "state": "none such", "side": "left"},
        {"do": "choose", "state": "drawing", "side": "middle"},
        {"do": "save", "file": "/tmp/x"},
        {},
    ],
)
def test_what_may_not_be_asked_changes_nothing(asked: dict[str, object]) -> None:
    session = Session(read_engine(DOCK))
    session.carry_out(asked)
    assert session.engine is session.opened
    assert (session.state, session.side) == ("drawing", "both")


def test_a_figure_cannot_smuggle_lines_into_the_file() -> None:
    session = Session(read_engine(DOCK))
    change(session, "eccentric_rod.length", '31"\n[wear]\naxle_height = 9\nx = "')
    assert session.message != ""
    assert session.engine is session.opened


def test_figures_of_every_gear_can_be_changed_a_little() -> None:
    for path in sorted(Path("examples").glob("*.toml")):
        if path.stem.endswith("-readings"):
            continue
        session = Session(read_engine(path))
        for row in list(session.rows())[::13]:
            value = (row.value or 0.0) + (row.most - row.least) * 1e-4
            change(session, row.key, f"{value:.8f}")
            assert session.message == "", (path.stem, row.key, session.message)
            assert value_of(session, row.key) == pytest.approx(value, abs=2e-8)


@pytest.mark.parametrize("state", ["drawing", "as found"])
def test_what_is_remembered_from_the_last_change_is_what_would_be_found_afresh(state: str) -> None:
    session, rod = Session(read_engine(DOCK), state), "eccentric_rod.length"
    for key, figure in ((rod, "31 5/8"), ("wear.axle_height", "0.1"), (rod, "31.5")):
        before = session.shown
        change(session, key, figure)
        assert session.shown is not before
        afresh = page_data(*session._beside(session.engine), itemised=False)
        assert payload(session.shown) == payload(afresh)
