"""Small rules that a figure's sign, a unit or a degree of freedom decides, each against a closed form."""

from __future__ import annotations

import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from linkmotion.files.slot_readings import read_slot_readings
from linkmotion.files.starter import starter
from linkmotion.gears.eccentrics import EccentricLink, EccentricRods
from linkmotion.gears.steam import Wheels
from linkmotion.studies.diagnosis.result import Diagnosis
from linkmotion.studies.setting.advice import _not_seen
from linkmotion.studies.slot.parts import Limits


def link(**changed: float) -> EccentricLink:
    pins = {"forward_pin_x": 80.0, "forward_pin_y": 150.0, "backward_pin_x": 70.0, "backward_pin_y": -160.0}
    return EccentricLink(
        **{"slot_top": 150.0, "slot_bottom": 150.0, "saddle_x": 80.0, "saddle_y": 150.0, **pins, **changed}
    )


@pytest.mark.parametrize("height", [-90.0, 0.0, 120.0])
def test_a_link_upright_is_sketched_where_both_rods_reach(height: float) -> None:
    """Both rods are measured out to a link whose origin stands 1000 mm ahead of the axle, by Pythagoras."""
    rods = EccentricRods(forward=math.hypot(1080.0, height + 150.0), backward=math.hypot(1070.0, height - 160.0))
    assert link().origin(rods, height) == (pytest.approx(1000.0, abs=1e-9), height)
    longer = EccentricRods(forward=math.hypot(1090.0, height + 150.0), backward=rods.backward)
    assert link().origin(longer, height)[0] == pytest.approx(1005.0, abs=1e-9), "midway, where they differ"


def test_a_saddle_pin_is_an_eccentric_rod_pin_only_where_both_its_figures_say_so() -> None:
    assert link().saddle_pin == "forward pin"
    assert link(saddle_x=70.0, saddle_y=-160.0).saddle_pin == "backward pin"
    assert link(saddle_x=80.0, saddle_y=0.0).saddle_pin == "saddle pin"
    assert link(saddle_x=0.0, saddle_y=150.0).saddle_pin == "saddle pin"


@pytest.mark.parametrize(("leads", "ahead"), [("right", 90.0), ("left", -90.0)])
def test_the_left_crank_is_the_one_that_the_other_is_measured_from(leads: Any, ahead: float) -> None:
    wheels = Wheels(diameter=1000.0, lead_angle=90.0, leads=leads)
    assert [wheels.ahead("left", way) for way in (1, -1)] == [0.0, 0.0]
    assert [wheels.ahead("right", way) for way in (1, -1)] == [ahead, -ahead]


@pytest.mark.parametrize(("unit", "words"), [("mm", "millimetres"), ("in", "inches"), ("ft", "feet")])
def test_a_starter_says_in_words_what_bare_numbers_are(unit: str, words: str) -> None:
    assert f"# Bare numbers are {words};" in starter("walschaerts", unit)


def test_bare_slot_readings_take_the_unit_of_the_engine(tmp_path: Path) -> None:
    path = tmp_path / "slot.csv"
    path.write_text("place,front,back\n1,0.01,2 mm\n", encoding="utf-8")
    front, back = read_slot_readings(path, "in")
    assert (front.places.tolist(), back.losses.tolist()) == ([pytest.approx(25.4, abs=1e-12)], [2.0])
    assert front.losses.tolist() == [pytest.approx(0.254, abs=1e-12)]


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_work_that_is_seen_cannot_wait_on_whichever_side_of_nothing_the_fault_lies(sign: float) -> None:
    """One adjustment, of 0.3 mm a step, and a difference of 0.9 mm, or 0.3 mm, seen to 0.1 mm; 0.15 mm is allowed."""

    def problem(wrong: float) -> Any:
        return SimpleNamespace(
            doubt=np.array([0.1]), limit=np.array([0.15]), hours=np.array([1.0]),
            misses=lambda steps: sign * (wrong - 0.3 * np.asarray(steps, float)),
        )  # fmt: skip

    assert _not_seen(problem(0.9), np.array([3]), np.array([True])).tolist() == [False]
    assert _not_seen(problem(0.3), np.array([1]), np.array([True])).tolist() == [True]


@pytest.mark.parametrize(
    ("fit", "grown", "fits"), [(0.0011, 1.0, True), (0.0009, 1.0, False), (0.5, 2.8, True), (0.5, 4.0, False)]
)
def test_readings_fit_if_they_scatter_no_further_than_three_times_as_stated(
    fit: float, grown: float, fits: bool
) -> None:
    found = SimpleNamespace(fit=fit, grown=grown)
    assert Diagnosis.fits.fget(found) == fits  # type: ignore[attr-defined]


@pytest.mark.parametrize(("face", "cut", "depth"), [("front", 1.0, 7.5), ("back", 2.0, 9.5)])
def test_a_face_may_go_as_deep_as_its_wall_less_what_must_be_left(face: str, cut: float, depth: float) -> None:
    limits = Limits(cut_front=1.0, cut_back=2.0, wall_front=12.0, wall_back=14.0, least_wall=4.5)
    allowed = limits.on(SimpleNamespace(face=face))  # type: ignore[arg-type]
    assert (allowed.cut, allowed.depth) == (cut, depth)
