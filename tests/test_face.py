"""The library as a notebook sees it: names, changes, sweeps, studies, and what is told of a wrong word."""

from __future__ import annotations

import inspect
import subprocess
import sys

import matplotlib as mpl
import numpy as np
import pytest

import linkmotion as lm
from linkmotion.studies.assess import assess

ENGINE, READINGS = "examples/dock_shunter.toml", "examples/readings/dock_shunter.toml"


@pytest.fixture(scope="module")
def engine() -> lm.Engine:
    return lm.read_engine(ENGINE)


@pytest.fixture(scope="module")
def left(engine: lm.Engine) -> lm.Side:
    return engine["as found"].left


def test_the_face_in_fifteen_lines() -> None:
    """What a notebook needs, as the design has it; figures against the command's own table."""
    engine = lm.read_engine(ENGINE)
    found = engine["as found"]
    left = found.left
    assert "<table>" in left._repr_html_()
    assert left["full forward"].front.cutoff == pytest.approx(76.434, abs=1e-3)
    frame = left.events().to_frame()
    assert list(frame.columns)[:3] == ["state", "standing", "side"]
    assert len(left.events().rows()) == len(frame) == 18
    assert left.plot_openings("full forward").get_ylabel()
    assert left.set_afresh()["full forward"].front.lead == pytest.approx(0.0895, abs=5e-5)
    longer = left.change({"eccentric_rod.length": "+1/16 in"})
    assert longer["full forward"].front.lead < left["full forward"].front.lead
    axes = lm.sweep(left, "eccentric_rod.length", "±1/8 in", steps=21).plot("full forward", "front.lead")
    assert axes.lines[0].get_xdata().size == 21
    assert left.wear().rows()[0]["item"] == "radius rod, length"
    assert left.hold("mid", samples=400).plot().get_xlabel()
    assert lm.diagnose(engine, lm.read_readings(READINGS)).left.first == ("eccentric_rod.length",)


def test_every_figure_of_a_notch_is_the_assessments_own(engine: lm.Engine, left: lm.Side) -> None:
    """In the file's unit: an inch is 25.4 mm."""
    side = assess(engine.as_read, "as found", ["left"]).sides[0]
    for number, name in enumerate(side.notches):
        for direction in ("forward", "backward"):
            for end in ("front", "back"):
                own, there = getattr(left[name, direction], end), side.events[direction][end]
                assert own.lead * 25.4 == pytest.approx(there.lead[number], abs=1e-12)
                assert own.opening * 25.4 == pytest.approx(there.opening[number], abs=1e-12)
                for event in ("admission", "cutoff", "release", "compression"):
                    percent = there.percent[event][number]
                    assert getattr(own, event) == (None if np.isnan(percent) else pytest.approx(percent, abs=1e-12))
            travel = side.travel[direction][number]
            assert left[name, direction].travel * 25.4 == pytest.approx(travel, abs=1e-12)


def test_a_rod_too_long_by_what_a_file_says_is_the_same_change(engine: lm.Engine) -> None:
    by_file = engine.edit("eccentric_rod.length", "31 5/8 in", state="trial")["trial"].left
    by_hand = engine["drawing"].left.change({"eccentric_rod.length": "31 5/8 in"})
    assert by_file["mid"].front.lead == pytest.approx(by_hand["mid"].front.lead, abs=1e-12)
    assert by_file["mid"].front.lead != engine["drawing"].left["mid"].front.lead


def test_a_valve_moved_on_its_spindle_is_set_back_afresh(left: lm.Side) -> None:
    """Central further ahead by 1/32 in, one lead gains what the other loses; set afresh both are as they were."""
    place = left.assessed.central_at / 25.4
    moved = lm.Engine(left.engine).edit("valve.central_at", place + 1 / 32, "as found", "left")["as found"].left
    assert moved["mid"].front.lead == pytest.approx(left["mid"].front.lead + 1 / 32, abs=1e-9)
    assert moved["mid"].back.lead == pytest.approx(left["mid"].back.lead - 1 / 32, abs=1e-9)
    assert moved.set_afresh()["mid"].front.lead == pytest.approx(left.set_afresh()["mid"].front.lead, abs=1e-12)


def test_a_sweep_is_the_change_at_every_step(left: lm.Side) -> None:
    swept = lm.sweep(left, "return_crank.angle", "±0.5", steps=3)
    angle = swept.values[1]
    assert swept.values == pytest.approx((angle - 0.5, angle, angle + 0.5), abs=1e-12)
    lead = left.change({"return_crank.angle": angle - 0.5})["mid"].back.lead
    assert swept.of("mid", "back.lead")[0] == pytest.approx(lead, abs=1e-12)
    table = swept.table("mid", "front.lead", "travel")
    assert list(table.headings) == ["return_crank.angle", "front.lead", "travel"]


def test_a_quantity_of_ones_own_by_monte_carlo(left: lm.Side) -> None:
    """Difference of the leads: its variance is that of both less twice what they share."""
    held = left.hold("mid", samples=1000)
    front, back = held.values("mid", "front.lead"), held.values("mid", "back.lead")
    shared = np.cov(front, back)
    assert np.var(front - back, ddof=1) == pytest.approx(shared[0, 0] + shared[1, 1] - 2 * shared[0, 1], rel=1e-9)
    assert front.shape == (1000,)


@pytest.mark.parametrize(
    ("ask", "told"),
    [
        (lambda e: e["as fond"], "there is no state 'as fond': did you mean 'as found'?"),
        (lambda e: e["as found"]["lft"], "there is no side 'lft': did you mean 'left'?"),
        (lambda e: e["as found"].left["ful forward"], "there is no notch 'ful forward': did you mean 'full forward'?"),
        (lambda e: e["as found"].left["mid", "forwards"], "did you mean 'forward'?"),
        (lambda e: e["as found"].left.change({"eccentric_rod.lenght": 1}), "did you mean 'eccentric_rod.length'?"),
        (lambda e: e["as found"].left.change({"eccentric_rod.length": "1 inc"}), "closest is in"),
        (lambda e: e["as found"].left.change({"eccentric_rod.length": "-40"}), "eccentric_rod.length"),
        (lambda e: e["as found"].left.figure("mid", "front.leed"), "did you mean 'front.lead'?"),
        (lambda e: e["as found"].left.hold("mdi"), "did you mean 'mid'?"),
        (lambda e: e["as found"].left.clean_up(slot_widht=1), "did you mean 'slot_width'?"),
        (lambda e: e["drawing"].left.wear(), "choose a state"),
        (lambda e: lm.sweep(e["drawing"].left, "valve.steam_lap", "1/8 in"), "'±1/8 in'"),
        (lambda e: lm.diagnose(e, lm.read_readings(READINGS), sides=["lft"]), "did you mean 'left'?"),
        (lambda e: lm.advise(e, state="as fond"), "did you mean 'as found'?"),
        (lambda e: lm.advise(e, basis="drawings"), "did you mean 'drawing'?"),
        (lambda e: e.edit("valve.steam_lap", 1, side="lft"), "did you mean 'left'?"),
    ],
)
def test_a_wrong_word_is_told_with_the_nearest(engine: lm.Engine, ask, told: str) -> None:
    with pytest.raises(ValueError) as caught:  # noqa: PT011 - what it says is asked below
        ask(engine)
    assert told in str(caught.value)


@pytest.mark.parametrize("study", [lm.diagnose, lm.advise])
def test_sides_given_as_one_word_are_refused_and_not_taken_letter_by_letter(engine: lm.Engine, study) -> None:
    with pytest.raises(TypeError, match=r"\('left',\)"):
        study(engine, lm.read_readings(READINGS), sides="left")


def test_everything_shows_itself_in_one_line(engine: lm.Engine, left: lm.Side) -> None:
    readings = lm.read_readings(READINGS)
    shown = [
        engine, engine["drawing"], left, left["mid"], left["mid"].front, left.events(), left.wear(), readings,
        left.hold("mid", samples=200), lm.diagnose(engine, readings), lm.diagnose(engine, readings).left,
        lm.advise(engine, readings), left.clean_up(), lm.sweep(left, "valve.steam_lap", "±0.01", steps=2),
    ]  # fmt: skip
    for each in shown:
        assert "\n" not in repr(each)
        assert len(repr(each)) < 320, repr(each)
        assert repr(each).startswith(f"<{type(each).__name__} ")


def test_tables_show_hostile_names_as_text() -> None:
    shown = lm.Table("<b>", {"<i>": "&"}, ({"<i>": "<script>"},))._repr_html_()
    assert "<script>" not in shown
    assert "&lt;script&gt;" in shown


def test_an_engine_built_in_python_is_written_and_read_again(engine: lm.Engine, tmp_path) -> None:
    tables = {
        "cylinder": {"crank_radius": 100}, "connecting_rod": {"length": 500},
        "valve": {"admission": "outside", "steam_lap": 8, "port_width": 12, "guide_height": 0, "central_at": 600},
        "eccentric": {"throw": 25, "angle": 115}, "eccentric_rod": {"length": "600 mm"},
        "state": {"long rod": {"left": {"eccentric_rod": {"length": 601}}}},
    }  # fmt: skip
    made = lm.new_engine("donkey", "plain eccentric", "mm", tables)
    file = tmp_path / "donkey.toml"
    file.write_text(made.text, encoding="utf-8")
    again = lm.read_engine(file)
    assert again.states == ("drawing", "long rod")
    leads = [each["long rod"].left["fixed"].front.lead for each in (made, again)]
    assert leads[0] == leads[1]
    # outside admission, the eccentric's centre 25 sin 115° off the line: a longer rod carries the valve forward
    off = 25 * np.sin(np.radians(115))
    ahead = np.sqrt(601**2 - off**2) - np.sqrt(600**2 - off**2)
    assert made["drawing"].left["fixed"].front.lead - leads[0] == pytest.approx(ahead, abs=1e-9)
    assert made.edit("valve.steam_lap", 9)["drawing"].left["fixed"].front.lead == pytest.approx(
        made["drawing"].left["fixed"].front.lead - 1.0, abs=1e-12
    )
    with pytest.raises(lm.FileError, match="did you mean 'throw'"):
        lm.new_engine("donkey", "plain eccentric", "mm", tables | {"eccentric": {"thro": 25, "angle": 115}})


def test_findings_and_targets_are_tables(engine: lm.Engine) -> None:
    assert engine["drawing"].within_targets
    assert not engine["as found"].within_targets
    first = engine["as found"].findings().rows()[0]
    assert first["out"] is True
    assert "in" in first["words"]
    assert {row["target"] for row in engine.targets} >= {"lead_difference", "side_cutoff_difference"}


def test_dir_names_everything_and_all_of_it_is_there() -> None:
    assert set(lm.__all__) <= set(dir(lm))
    for name in lm.__all__:
        assert getattr(lm, name) is not None
    assert lm.__version__.count(".") == 2
    with pytest.raises(AttributeError, match="no attribute 'asses'"):
        lm.asses  # type: ignore[attr-defined]  # noqa: B018


def test_every_public_name_is_told_with_its_parameters_and_units() -> None:
    """A sentence, and for a function of several arguments its parameters."""
    for name in lm.__all__:
        own = getattr(lm, name)
        if not (inspect.isfunction(own) or inspect.isclass(own)) or name.endswith("Error"):
            continue
        told = inspect.getdoc(own) or ""
        assert told, name
        if inspect.isfunction(own):
            assert "Parameters\n" in told, name
            assert "Raises\n" in told, name


def test_help_loads_no_numbers() -> None:
    code = "import sys, linkmotion; linkmotion.__version__; dir(linkmotion); print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


@pytest.fixture(autouse=True)
def _drawn_nowhere():
    mpl.use("agg")
    yield
    import matplotlib.pyplot as plt

    plt.close("all")
