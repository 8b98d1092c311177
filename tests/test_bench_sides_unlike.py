"""The bench on an engine whose sides are drawn unlike: where a figure is entered, and what a screen says of it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.entering import Wish, carry_out
from linkmotion.bench.figure_tried import tried
from linkmotion.bench.figures_of_parts import places
from linkmotion.bench.side_picture import Drawings, Moment
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError
from tests.bench_at import Wire, laid_out, on_the_wire

BRANCH = "crosshead_branch"
ANGLE, ROD, MID = "other_side.crank_angle", "drive_rod.length", "reversing.notches.mid"


@pytest.fixture
def work(tmp_path: Path) -> EngineAtWork:
    return EngineAtWork(laid_out(tmp_path, BRANCH), BRANCH)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Wire]:
    with on_the_wire(laid_out(tmp_path / "engines", BRANCH)) as own:
        yield own


def entered(work: EngineAtWork, name: str, value: str, side: str, state: str = "drawing") -> tuple[str, str, str]:
    """What is said of an entry, and the lines of the file that it took away and put in."""
    before = work.kept.text.split("\n")
    change = carry_out(work, Wish("figure", work.kept.version, state, side, name, value))
    assert change is not None
    after = work.path.read_text(encoding="utf-8").split("\n")
    gone, come = (list(set(one) - set(other)) for one, other in ((before, after), (after, before)))
    return change.words, "".join(gone).strip(), "".join(come).strip()


def drawn(work: EngineAtWork, table: str, key: str) -> list[object]:
    engine = read_engine(work.path)
    return [engine.tables("drawing", side)[table][key] for side in engine.sides]


def test_a_figure_goes_to_the_sides_own_drawing_where_that_gives_it(work: EngineAtWork) -> None:
    words, gone, come = entered(work, ANGLE, "-89.5", "right")
    assert words.startswith("drawing, right side: ")
    assert (gone, come) == ("crank_angle = -90", "crank_angle = -89.5")
    assert drawn(work, "other_side", "crank_angle") == [90.0, -89.5]


def test_any_other_figure_goes_to_the_drawing_of_both(work: EngineAtWork) -> None:
    words, gone, come = entered(work, ROD, "525", "right")
    assert words.startswith("drawing, both sides: ")
    assert gone.startswith("length = 524 ")
    assert come.startswith("length = 525 ")
    assert drawn(work, "drive_rod", "length") == [525.0, 525.0]
    words, gone, _come = entered(work, ANGLE, "91", "left")
    assert words.startswith("drawing, both sides: ")
    assert gone.startswith("crank_angle = 90 ")
    assert drawn(work, "other_side", "crank_angle") == [91.0, -90.0]


def test_a_figure_taken_out_of_a_sides_own_drawing_is_that_of_both_again(work: EngineAtWork) -> None:
    words, gone, come = entered(work, ANGLE, "", "right")
    assert "taken out (was -90)" in words
    assert (gone, come) == ("crank_angle = -90", "")
    assert drawn(work, "other_side", "crank_angle") == [90.0, 90.0]
    assert places(work, "drawing", "right")[ANGLE].layer == ()


def test_a_state_says_beside_its_figures_what_is_drawn_of_that_side(work: EngineAtWork) -> None:
    for side, angle in (("left", "90"), ("right", "-90")):
        own = places(work, "as found", side)[ANGLE]
        assert (own.layer, own.own, own.drawn, own.stands) == (("state", "as found", side), "", angle, angle)
    assert places(work, "as found", "right")[ANGLE].whence == "drawing, right side"
    assert places(work, "as found", "right")[ROD].whence == "drawing, both sides"
    assert places(work, "drawing", "right")[MID].layer == ("drawing", "right")


def test_a_figure_slid_is_that_of_the_side(work: EngineAtWork) -> None:
    right = tried(work, "drawing", "right", ANGLE, 0.5)
    assert right.value == "-87"
    left = tried(work, "drawing", "left", ANGLE, 0.5)
    assert left.value == "93"
    assert not right.stand.assessment.alike


def test_a_refusal_names_the_field_of_the_side_that_it_is_about(bench: Wire) -> None:
    wish = {"do": "figure", "state": "drawing", "side": "right", "name": ANGLE, "value": "-400"}
    told = bench.ask(f"e/{BRANCH}/change", wish | {"seen": bench.seen(BRANCH)})
    assert told.code == 422
    assert "-360 to 360" in told.text
    told = bench.ask(f"e/{BRANCH}/change", wish | {"seen": bench.seen(BRANCH), "value": "-89"}).read
    assert told["figure"]["of_side"] is True
    assert (told["figure"]["own"], told["figure"]["whence"]) == ("-89", "drawing, right side")


def test_the_screen_says_which_drawing_is_entered(bench: Wire) -> None:
    page = bench.ask(f"e/{BRANCH}/side?state=drawing&side=right").text
    assert "This is the <strong>drawing, right side</strong>" in page
    assert "alike for both sides" not in page
    assert 'value="-90"' in page
    assert page.count("drawing, right side</p>") == 6  # the angle and five notches
    assert 'value="-90"' not in bench.ask(f"e/{BRANCH}/side?state=drawing&side=left").text


def test_the_drawing_behind_a_side_is_its_own(work: EngineAtWork) -> None:
    """Parts of the side as repaired have their figures as drawn: its ghost stands where the side's own drawing does."""
    drawings = Drawings(work)

    def stand(svg: str) -> list[str]:
        return re.findall(r'transform="([^"]+)"', svg)

    there = {side: stand(drawings.svg(Moment("drawing", side, "full forward", 40.0))) for side in ("left", "right")}
    for side, own in there.items():
        behind = drawings.svg(Moment("as repaired", side, "full forward", 40.0)).split('class="behind"')[1]
        assert stand(behind)[: len(own)] == own
    assert there["left"] != there["right"]


def test_no_side_that_the_engine_has_not_is_entered_into_its_drawing(work: EngineAtWork) -> None:
    with pytest.raises(FileError, match="there is no side 'middle'"):
        entered(work, ANGLE, "90", "middle")
