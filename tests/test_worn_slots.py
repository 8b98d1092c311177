"""A slot worn where its die works in one notch: planted by the independent solver, told by the diagnosis."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from linkmotion.engine import DRAWING
from linkmotion.face.advice import advised
from linkmotion.files.readings_file import Readings
from linkmotion.studies.diagnosis.result import FIRST
from linkmotion.studies.diagnosis.side_readings import Part
from linkmotion.studies.diagnosis.study import diagnose
from linkmotion.studies.diagnosis.worn_place import CENTRE_LINE, WORN_SLOT, worn_places
from linkmotion.studies.figures.disturbances import Method
from linkmotion.studies.tolerances.tolerance import general_tolerances
from linkmotion.views.diagnosis_view import Words
from linkmotion.wear.condition import Condition
from tests.benchmarks.diagnosis import NAMES, Bench, cases
from tests.gears_at_hand import example
from tests.independent.at_once import turned_round, worn_round
from tests.taken_readings import Taking, form, shop
from tests.worn_slots import WornSlot

CAREFUL = Taking({"front": 0.0, "back": 0.0}, 0.0, 0.0, 0.0, 0.0, "forward", True)
FULL = "full forward"


def worn(name: str, by: float, fades: float = 10.0) -> WornSlot:
    path = shop(name).path(FULL)
    return WornSlot(float(np.min(path)), float(np.max(path)), fades, by)


@pytest.mark.parametrize("name", ["dock_shunter", "stephenson_goods", "allan_saddle_tank"])
def test_a_slot_worn_from_end_to_end_is_one_whose_centre_line_is_off(name: str) -> None:
    own = shop(name)
    gear = own.settings[0], own.kind, own.drawn[0].x
    everywhere = worn_round(own.tables, *gear, WornSlot(-1e3, 1e3, 1.0, 0.8).ahead)
    off = own.tables["expansion_link"].get("slot_offset", 0.0) + 0.8
    whole = turned_round({**own.tables, "expansion_link": own.tables["expansion_link"] | {"slot_offset": off}}, *gear)
    np.testing.assert_allclose(everywhere.valve, whole.valve, rtol=0, atol=1e-8)
    assert np.ptp(whole.valve - own.drawn[0].valve) > 1e-3


@pytest.mark.parametrize("name", ["dock_shunter", "metre_gauge", "stephenson_goods", "gooch_tank", "allan_saddle_tank"])
def test_it_moves_what_is_read_where_it_is_worn_as_the_independent_solution_has_it(name: str) -> None:
    """Slopes per mm of the centre line, of the leads and the die's height, against differences."""
    own = shop(name)
    blank = [reading for reading in form(own.side) if reading.kind == "lead"]
    part = Part(own.side, blank, Bench.of(name).priors, Method())
    at = [own.side.notches.index(reading.notch) for reading in blank]
    ours = (part.basis(np.zeros(part.exact)).slopes * part.sigma[:, None])[:, part.worn[0]]
    assert part.told[part.worn[0]] == (WORN_SLOT, FULL)
    quiet = replace(CAREFUL, noise=0.0)
    by = 0.05

    def read(size: float) -> np.ndarray:
        found = own.read(blank, {}, quiet, np.random.default_rng(0), replace(worn(name, size), fades=0.05 * reach))
        return np.array([reading.value for reading in found])

    slot = own.side.gear.slot
    assert slot is not None
    reach = float(slot.top + slot.bottom)
    back = replace(quiet, lag=0.0)
    assert back.lag == 0.0  # the die's own play does nothing where the valve hangs nowhere behind
    theirs = (read(by) - read(-by)) / (2 * by)
    there = np.array([own.side.notches[i] == FULL for i in at])
    np.testing.assert_allclose(ours[there], theirs[there], rtol=0, atol=2e-3)
    assert np.max(np.abs(ours[there])) > 0.3
    backward = np.array([own.side.notches[i] == "full backward" for i in at])
    assert np.max(np.abs(ours[backward])) == 0.0
    assert np.max(np.abs(theirs[backward])) < 1e-9


def test_planted_ones_are_found_and_no_sound_reading_is_called_misread() -> None:
    found = list(cases(NAMES, "worn", 20, 5))
    named = [{own.key for own in case.found.accused} >= set(case.planted) for case in found]
    assert sum(named) >= 19
    assert sum(bool(case.found.misread) for case in found) <= 1
    assert sum(own.low <= case.truth[key] <= own.high
               for case in found for key in case.planted for own in [case.found.suspect(key)]) >= 17  # fmt: skip


def test_one_notch_cannot_tell_it_from_the_whole_slot_and_one_that_was_gauged_is_known() -> None:
    own = shop("dock_shunter").side
    keys = tuple(general_tolerances(own.gear, own.settings[0]))
    every = form(own)
    assert [place.key[1] for place in worn_places(own, every, keys)] == [FULL, "full backward"]
    assert worn_places(own, [reading for reading in every if reading.notch == FULL], keys) == ()
    assert worn_places(own, every, [key for key in keys if key != CENTRE_LINE]) == ()
    (place, *_rest) = worn_places(own, every, keys)
    gauged = replace(own, condition=Condition(slot=place.losses(-0.5)))
    assert worn_places(gauged, every, keys) == ()
    middle = (place.low + place.high) / 2
    assert float(gauged.condition.slot_shift(middle)) == pytest.approx(-0.5, abs=1e-12)
    assert float(gauged.condition.die_play(middle)) == pytest.approx(1.0, abs=1e-12)


def test_it_is_told_in_words_and_the_advice_takes_it_to_stay_so() -> None:
    own, bench = shop("dock_shunter"), Bench.of("dock_shunter")
    read = own.read(form(own.side), {}, CAREFUL, np.random.default_rng(2), worn("dock_shunter", -1.0))
    found = diagnose(own.side, read, bench.priors)
    suspect = found.suspect((WORN_SLOT, FULL))
    assert suspect.standing == FIRST
    assert suspect.low < -1.0 < suspect.high
    told = " ".join(Words(found, "mm", frozenset()).sentences())
    assert f"the slot, worn where the die works in full forward: centre line {-suspect.estimate:.2f} mm back" in told
    readings = Readings("worn", DRAWING, "mm", "", tuple(read))
    advice = advised(example("dock_shunter"), DRAWING, ["left"], readings, "diagnosis")
    said = " ".join(advice.words().sentences(advice.foreseen))
    assert "the slot is worn, and is taken to stay so" in said
    assert {row["dimension"] for row in advice.rows()} <= {"valve.central_at"}
