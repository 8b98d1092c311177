"""What lessons ask of the face, against closed forms of a plain eccentric and against the files' own text."""

from __future__ import annotations

import tomllib
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest

import linkmotion as lm

R, ROD, THROW, AHEAD, ECCENTRIC_ROD, LAP = 100.0, 500.0, 25.0, 115.0, 600.0, 8.0
CENTRAL = 600.0
ENGINE, READINGS = "examples/dock_shunter.toml", "examples/readings/dock_shunter.toml"
TURN = np.array([0.0, 33.0, 90.0, 151.0, 180.0, 275.0])


@pytest.fixture(scope="module")
def donkey() -> lm.Side:
    """Everything level and through the axle, so that all of it has a closed form."""
    tables = {
        "cylinder": {"crank_radius": R}, "connecting_rod": {"length": ROD},
        "valve": {"admission": "outside", "steam_lap": LAP, "port_width": 12, "guide_height": 0, "central_at": CENTRAL},
        "eccentric": {"throw": THROW, "angle": AHEAD}, "eccentric_rod": {"length": ECCENTRIC_ROD},
    }  # fmt: skip
    return lm.new_engine("donkey", "plain eccentric", "mm", tables)["drawing"].left


@pytest.fixture(scope="module")
def engine() -> lm.Engine:
    return lm.read_engine(ENGINE)


@pytest.fixture(scope="module")
def left(engine: lm.Engine) -> lm.Side:
    return engine["drawing"].left


def slider(radius: float, rod: float, degrees: np.ndarray) -> np.ndarray:
    """Crosshead (or spindle pin) of a crank at an angle, on a line through the axle."""
    angle = np.radians(degrees)
    return radius * np.cos(angle) + np.sqrt(rod**2 - (radius * np.sin(angle)) ** 2)


def test_the_valve_is_where_the_closed_form_puts_it(donkey: lm.Side) -> None:
    forward = slider(THROW, ECCENTRIC_ROD, TURN + AHEAD) - CENTRAL
    assert donkey.valve_path("fixed", TURN) == pytest.approx(forward, abs=1e-9)
    backward = slider(THROW, ECCENTRIC_ROD, -TURN + AHEAD) - CENTRAL
    assert donkey.valve_path("fixed", TURN, "backward") == pytest.approx(backward, abs=1e-9)
    assert donkey.central_at == CENTRAL


def test_piston_stroke_and_dead_centre(donkey: lm.Side, left: lm.Side) -> None:
    gone = (R + ROD - slider(R, ROD, TURN)) / (2 * R) * 100
    assert donkey.piston_path(TURN) == pytest.approx(gone, abs=1e-9)
    assert donkey.stroke == pytest.approx(2 * R, abs=1e-9)
    assert left.stroke == pytest.approx(20.0, abs=1e-9)  # in inches, the file's unit
    assert donkey.back_dead_centre == 180.0
    raised = donkey.change({"cylinder.line_height": 40.0})
    drop = np.arcsin(40 / (ROD - R)), np.arcsin(40 / (ROD + R))  # the line of centres at the back, at the front
    assert raised.back_dead_centre == pytest.approx(180 + np.degrees(drop[1] - drop[0]), abs=1e-9)


def test_ports_open_by_what_is_past_the_lap(donkey: lm.Side) -> None:
    """Outside admission: back opens the front port to steam, forward to exhaust (no exhaust lap)."""
    valve = slider(THROW, ECCENTRIC_ROD, TURN + AHEAD) - CENTRAL
    assert donkey.opening_path("fixed", "front", TURN) == pytest.approx(-valve - LAP, abs=1e-9)
    assert donkey.opening_path("fixed", "back", TURN, "exhaust") == pytest.approx(-valve, abs=1e-9)
    assert donkey.port_opening("back", 11.0) == pytest.approx(3.0, abs=1e-12)


def test_pins_run_where_their_crank_takes_them(donkey: lm.Side, left: lm.Side) -> None:
    pin = donkey.pin_path("crank pin", "fixed", TURN)
    assert pin == pytest.approx(R * np.exp(-1j * np.radians(TURN)), abs=1e-9)
    radius = left.dimension("return_crank.pin_radius")
    assert np.abs(left.pin_path("return-crank pin", "mid", TURN)) == pytest.approx(np.full(6, radius), abs=1e-9)


def test_the_cylinder_holds_what_its_events_say(donkey: lm.Side) -> None:
    own = donkey["fixed"].front
    after = {"cutoff": "shut in, expanding", "release": "exhaust", "compression": "shut in, compressing"}
    for event, holds in after.items():
        assert donkey.cylinder_holds("fixed", "front", own.angles[event] + 0.05) == holds  # type: ignore[operator]
    assert donkey.cylinder_holds("fixed", "front", own.angles["cutoff"] - 0.05) == "live steam"  # type: ignore[operator]


def test_lost_motion_is_the_clearance_over_the_cosine_of_the_rods_slant(donkey: lm.Side) -> None:
    """The rod carries 1/cos of the load on the spindle, and by virtual work its pins' slack comes through so."""
    lost = donkey.with_clearance(0.2).lost_motion("fixed")
    sine = THROW * np.sin(np.radians(lost.crank_angle + AHEAD)) / ECCENTRIC_ROD
    expected = 0.2 / np.sqrt(1 - sine**2)
    through = [name for name, free in lost.joints.items() if free.max() > 0.1]
    assert len(through) == 2  # both ends of the eccentric rod, and nothing of the piston's train
    for name in through:
        assert lost.joints[name] == pytest.approx(expected, abs=1e-9)
    assert lost.total == pytest.approx(2 * expected, abs=1e-9)
    assert {row["joint"] for row in lost.rows()[:2]} == set(through)
    assert lost.plot().get_ylabel() == "lost motion at the spindle, mm"
    assert donkey.with_clearance({through[0]: "0.2 mm"})["fixed"].lost_motion == pytest.approx(expected.max(), rel=1e-3)


def test_drag_shortens_the_travel_by_the_play_and_inertia_lengthens_it(donkey: lm.Side) -> None:
    """At the ends of the travel the rod is level, so that the play there is the clearances' plain sum."""
    loose, travel = donkey.with_clearance(0.2)["fixed"], donkey["fixed"].travel
    slow, fast = loose.in_motion(drag=500.0), loose.in_motion(drag=0.0, mass=60.0, revolutions=250.0)
    assert slow.travel == pytest.approx(travel - 0.4, abs=2e-3)
    assert fast.travel == pytest.approx(travel + 0.4, abs=2e-2)
    assert np.ptp(slow.valve_path(np.arange(0, 360, 0.25))) == pytest.approx(slow.travel, abs=1e-4)
    assert slow.front.lead == pytest.approx(slow.valve_path(0.0) * -1 - LAP, abs=1e-3)
    assert [row["end"] for row in slow.rows()] == ["front", "back"]
    sound = donkey["fixed"].in_motion()
    assert sound.front.cutoff == pytest.approx(donkey["fixed"].front.cutoff, abs=1e-12)


def test_the_equivalent_eccentric_of_an_eccentric_is_itself(donkey: lm.Side) -> None:
    """The slant of the rod adds even harmonics alone: e²/4l of the second, and the first is left as it was."""
    found = donkey.equivalent_eccentric("fixed")
    assert found.throw == pytest.approx(THROW, abs=1e-10)
    assert found.angle == pytest.approx(AHEAD, abs=1e-9)
    assert found.advance == pytest.approx(AHEAD - 90, abs=1e-9)
    assert found.left_over == pytest.approx(THROW**2 / (4 * ECCENTRIC_ROD), rel=1e-3)


def test_lead_errors_are_the_valves_movement_past_the_dead_centre(donkey: lm.Side) -> None:
    here, past = (slider(THROW, ECCENTRIC_ROD, np.array(AHEAD + by)) for by in (0.0, 1.0))
    row = donkey.lead_errors(1.0).rows()[0]
    assert row["front_past"] == pytest.approx(here - past, abs=1e-9)
    here, short = (slider(THROW, ECCENTRIC_ROD, np.array(180 + AHEAD + by)) for by in (0.0, -1.0))
    assert row["back_short"] == pytest.approx(short - here, abs=1e-9)


def test_figures_of_every_notch(left: lm.Side) -> None:
    leads = left.figures("back.lead")
    assert leads.tolist() == [left[notch].back.lead for notch in left.notches]
    cutoff = left.figures("front.cutoff", "backward")
    assert cutoff[0] == left["full forward", "backward"].front.cutoff != left["full forward"].front.cutoff


def test_a_slot_read_in_python_and_hollowed_alike_everywhere_is_cleaned_up_by_what_was_read(left: lm.Side) -> None:
    """Faces lost a and b all along: width + a + b, nothing more to cut, pin hole (b − a)/2 ahead of the middle."""
    at = np.arange(-5.0, 6.0)
    readings = {"at": at, "front": np.full(11, 0.010), "back": ["0.020 in"] * 11}
    made = {"slot_width": "2 in", "die_length": "3 in", "gauge": "0.5 thou", "clearance": "3 thou", "allowance": 0}
    work = left.clean_up(readings, **made)
    own = work["drawn centre"]
    assert own.slot_width == pytest.approx(2.030, abs=1e-9)
    assert own.die_width == pytest.approx(2.027, abs=1e-9)
    assert own.die_pin_ahead == pytest.approx(0.005, abs=1e-9)
    assert (own.depth("front"), own.depth("back", 3)) == pytest.approx((0.010, 0.020), abs=1e-9)
    assert own.mean_cut == pytest.approx(0.0, abs=1e-9)
    assert own.path_off_drawn == pytest.approx(0.0, abs=1e-9)
    assert own.path_off_drawn_hole_in_middle == pytest.approx(0.005, abs=1e-9)
    assert own.clean
    assert own.cleaned["mid"].front.lead == pytest.approx(left["mid"].front.lead, abs=1e-9)
    assert work.as_drawn["mid"].front.lead == pytest.approx(left["mid"].front.lead, abs=1e-12)
    assert own.plot_face("front").get_xlabel()
    assert "drawn centre" in work.proposals


def test_readings_as_a_table_are_those_of_the_file(engine: lm.Engine) -> None:
    text = tomllib.loads(Path(READINGS).read_text(encoding="utf-8"))
    rows = lm.read_readings(READINGS).table(engine).rows()
    assert len(rows) > 10
    leads = [row for row in rows if row["kind"] == "lead"]
    assert len(leads) == 10
    written = str(text)
    for row in leads:
        assert row["unit"] == "in"
        assert f"{row['value']:.3f}".lstrip("0") in written


def test_the_estimated_side_has_the_dimensions_of_the_first_explanation(engine: lm.Engine) -> None:
    found = lm.diagnose(engine, lm.read_readings(READINGS)).left
    first = found.explanations().rows()[0]
    assert first["dimension"] == "eccentric_rod.length"
    drawn = engine["drawing"].left.dimension("eccentric_rod.length")
    assert found.estimated.dimension("eccentric_rod.length") == pytest.approx(drawn + first["off"], abs=1e-9)
    assert "expansion_link.trunnion_x" in found.alike("eccentric_rod.length")


def test_supposing_a_part_of_the_first_explanation_gives_that_its_limits(engine: lm.Engine) -> None:
    found = lm.diagnose(engine, lm.read_readings(READINGS)).left
    first = found.explanations().rows()[0]
    alone = found.supposing("eccentric_rod.length")
    assert alone.first == ("eccentric_rod.length",)
    assert alone.explanations().rows() == [pytest.approx(first | {"probability": 1.0}, abs=1e-4)]
    with pytest.raises(lm.UnknownName, match="lenght"):
        found.supposing("eccentric_rod.lenght")
    with pytest.raises(ValueError, match="one or two"):
        found.supposing()


def test_advice_keeps_to_the_adjustments_given(engine: lm.Engine) -> None:
    given = {
        "eccentric_rod.length": {"step": "1/32 in", "most": "1/8 in"},
        "valve.central_at": {"pitch": "1/16 in", "turn": "1/8", "most": "1/8 in"},
    }
    advice = lm.advise(engine, lm.read_readings(READINGS), sides=("left",), adjustments=given)
    assert advice.rows()[0]["dimension"] == "eccentric_rod.length"
    assert advice.rows()[0]["amount"] == pytest.approx(-3 / 32, abs=1e-9)  # the fault that was planted
    assert (advice.met, advice.barrier, advice.out) == (True, "", 0)
    leads = [row["then"] for row in advice.readings() if row["kind"] == "lead"]
    assert len(leads) == 10
    assert np.ptp(leads) < 1 / 64
    del given["eccentric_rod.length"]
    alone = lm.advise(engine, lm.read_readings(READINGS), sides=("left",), adjustments=given)
    assert (alone.met, alone.barrier) == (False, "gear")


def test_what_an_item_does_is_told_by_figure(engine: lm.Engine) -> None:
    """A radius rod 1/16 in too long: so much, and the lever's share more, off the front lead."""
    wear, left = engine["as found"].left.wear(), engine["drawing"].left
    ratio = left.dimension("combination_lever.upper_arm") / left.dimension("combination_lever.lower_arm")
    assert wear.changes("radius rod, length")["lead front"] == pytest.approx(-(1 + ratio) / 16, abs=1e-3)
    assert wear.sentences()[0].startswith("radius rod, length: ")


def test_pictures_take_the_end_and_the_place_that_are_asked_for(left: lm.Side) -> None:
    assert "back end" in left.plot_openings_by_piston("mid", "back").get_xlabel()
    assert len(left.plot_valve_on_ports(-0.5).patches) > 4


@pytest.mark.parametrize(
    ("ask", "told"),
    [
        (lambda s: s.pin_path("levr pin", "mid", 0), "did you mean 'lever pin'?"),
        (lambda s: s.valve_path("midd", 0), "did you mean 'mid'?"),
        (lambda s: s.piston_path(0, "forwards"), "did you mean 'forward'?"),
        (lambda s: s.port_opening("frnt", 0), "did you mean 'front'?"),
        (lambda s: s.port_opening("front", 0, "steem"), "did you mean 'steam'?"),
        (lambda s: s.plot_openings_by_piston("mid", "bak"), "did you mean 'back'?"),
        (lambda s: s.figures("front.leed"), "did you mean 'front.lead'?"),
        (lambda s: s.dimension("valve.steam_lab"), "did you mean 'valve.steam_lap'?"),
        (lambda s: s.with_clearance({"die pn": 0.01}), "did you mean 'die pin'?"),
        (lambda s: s.with_clearance({"die pin": "1 inc"}), "clearance at the die pin: "),
        (lambda s: s.with_clearance(-0.01), "nothing or more is wanted"),
        (lambda s: s["mid"].in_motion(drag=-1), "drag=-1"),
        (lambda s: s.clean_up({"at": [0], "front": [0]}, slot_width=2, gauge=0.001), "'back' is missing"),
        (lambda s: s.clean_up({"att": [0]}, slot_width=2, gauge=0.001), "did you mean 'at'?"),
        (lambda s: s.clean_up(slot_width=2, gauge=0.001), "no depth readings"),
    ],
)
def test_a_wrong_word_is_told_with_the_remedy(left: lm.Side, ask, told: str) -> None:
    with pytest.raises(ValueError) as caught:  # noqa: PT011 - what it says is asked below
        ask(left)
    assert told in str(caught.value)


def test_an_adjustment_that_cannot_be_used_is_told_with_its_key(engine: lm.Engine) -> None:
    with pytest.raises(lm.FileError, match=r"adjustments.valve.central_at: most is missing"):
        lm.advise(engine, adjustments={"valve.central_at": {"step": "1/64 in"}})
    with pytest.raises(lm.FileError, match=r"did you mean 'valve.central_at'"):
        lm.advise(engine, adjustments={"valve.centralat": {"step": "1/64 in", "most": "1/8 in"}})


def test_results_show_themselves_in_one_line(left: lm.Side) -> None:
    readings = {"at": [-4.0, 0.0, 4.0], "front": [0.01, 0.01, 0.01], "back": [0.01, 0.01, 0.01]}
    work = left.clean_up(readings, slot_width=2, die_length=3, gauge=0.001)
    loose = left.with_clearance(0.01)
    for each in (loose, loose.lost_motion("mid"), loose["mid"].in_motion(), left.equivalent_eccentric("mid"),
                 work["drawn centre"], work.as_drawn):  # fmt: skip
        assert repr(each).startswith(f"<{type(each).__name__} ")
        assert "\n" not in repr(each)


@pytest.fixture(autouse=True)
def _drawn_nowhere():
    mpl.use("agg")
    yield
    import matplotlib.pyplot as plt

    plt.close("all")
