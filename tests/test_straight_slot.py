"""A straight slot cleaned up to parallel lines: least metal, fit, die, drawings and events, each by another way."""

from __future__ import annotations

import io
import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
from scipy import optimize

import linkmotion as lm
from linkmotion.commands.cleanup import CleanupRequest, run_cleanup
from linkmotion.files.dxf import Lettering, as_dxf
from linkmotion.gears.slots import StraightSlot
from linkmotion.revolution import revolve
from linkmotion.studies.assess import assess_side
from linkmotion.studies.slot.cleanup import CleanUp, clean_up
from linkmotion.studies.slot.face_fit import fit_faces
from linkmotion.studies.slot.in_gear import SlotInGear, drawn_slot, events_after, with_path
from linkmotion.studies.slot.parts import Limits
from linkmotion.studies.slot.remarks import remarks
from linkmotion.studies.slot.stations import stations
from linkmotion.studies.slot.workpiece import workpiece
from linkmotion.views.machining_sheet import sheets
from linkmotion.wear.curved_slot import CurvedDrawing
from linkmotion.wear.slot_drawing import FACES, Arc, Line, SlotDrawing, SlotError
from linkmotion.wear.slot_faces import FaceReadings, SlotReadings
from linkmotion.wear.straight_slot import StraightDrawing
from tests.gears_at_hand import EXAMPLES, example

SLOT = StraightDrawing(width=60.0, top=160.0, bottom=140.0, die_length=70.0)
ALLAN = next(path for path in EXAMPLES if path.stem == "allan_saddle_tank")
PLACES = np.linspace(-140.0, 160.0, 13)


def read_worn(seed: int, size: float = 1.0) -> SlotReadings:
    """Front face worn most at the top, back face at the bottom, with hollows of their own."""
    rng = np.random.default_rng(seed)
    hollow = rng.uniform(0.0, 0.15, (2, PLACES.size))
    front = size * (0.3 * (PLACES + 140.0) / 300.0 + hollow[0])
    back = size * (0.25 * (160.0 - PLACES) / 300.0 + hollow[1])
    return SlotReadings(FaceReadings(PLACES, front), FaceReadings(PLACES, back), 0.02)


def surface(face: str, place: Any, loss: Any) -> Any:
    """x of a worn face in the link's axes, with the metal of the front face ahead."""
    return (1 if face == "front" else -1) * (30.0 + np.asarray(loss)) + 0.0 * np.asarray(place)


# ---- least metal ----------------------------------------------------------------------------------------------------


def by_linear_programme(readings: SlotReadings) -> float:
    """Least mean cut, in lean and the two lines' places at mid slot: exact, since all is linear in them.

    The worn surface is straight between readings, so that a line that clears it at the readings clears it everywhere.
    """
    rows, most, goal = [], [], np.zeros(3)
    for k, (face, sign) in enumerate((("front", 1.0), ("back", -1.0))):
        own = readings.on(face)
        for place, x in zip(own.places, surface(face, own.places, own.losses), strict=True):
            row = np.zeros(3)
            row[0], row[1 + k] = -sign * place, -sign
            rows.append(row)
            most.append(-sign * x)
        goal[0] += sign * 10.0 / 2  # the middle of the slot is 10 mm above mid slot
        goal[1 + k] += sign / 2
    found = optimize.linprog(goal, A_ub=np.array(rows), b_ub=most, bounds=[(None, None)] * 3)
    worn = [np.trapezoid(readings.on(face).losses, PLACES) / 300.0 for face in FACES]
    return float(found.fun) - 30.0 - float(np.mean(worn))


@pytest.mark.parametrize("seed", range(6))
def test_least_metal_is_that_of_a_linear_programme(seed: int) -> None:
    readings = read_worn(seed)
    done = clean_up(SLOT, readings)
    own = done.proposal("worn line")
    assert own.mean_cut == pytest.approx(by_linear_programme(readings), abs=1e-7)
    assert own.mean_cut < done.proposal("drawn line").mean_cut - 0.03


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("forward", [True, False])
def test_an_arc_of_ten_kilometres_takes_as_much_metal(seed: int, forward: bool) -> None:
    """Over the slot's half length such an arc rises by a thousandth of a millimetre, and so far the two may differ."""
    arc = CurvedDrawing(1e7, SLOT.width, forward, SLOT.top, SLOT.bottom, SLOT.die_length)
    limits = Limits(cut_front=0.12, cut_back=0.15)
    one, two = (clean_up(slot, read_worn(seed), limits, 0.1, 0.02) for slot in (SLOT, arc))
    assert [own.name.replace("line", "centre") for own in one.proposals] == [own.name for own in two.proposals]
    assert len(one.proposals) == 4
    for line, curve in zip(one.proposals, two.proposals, strict=True):
        for what in ("mean_cut", "width"):
            assert getattr(line, what) == pytest.approx(getattr(curve, what), abs=1.5e-3)
        low = [sum(np.max(cut.hollow) for cut in own.faces) for own in (line, curve)]
        assert low[0] == pytest.approx(low[1], abs=3e-3)


@pytest.mark.parametrize("forward", [True, False])
def test_a_line_is_what_an_arc_becomes_as_its_radius_grows(forward: bool) -> None:
    """Depth, its slopes, the die and the path of one lean: ten times the radius, a tenth of the difference."""
    places, lean, ahead = np.linspace(-140.0, 160.0, 31), 0.004, {"front": 30.4, "back": -30.3}

    def told(slot: Any, courses: dict[str, Any], per_lean: float, per_ahead: float) -> list[Any]:
        front, back = courses["front"], courses["back"]
        path, residual = slot.nearest_path(slot.beside(back, 30.0))
        return [
            *(slot.depth(face, places, courses[face]) for face in FACES),
            (slot.slopes("front", places, front) - slot.slopes("front", 0.0, front))[:, 1] * per_lean / 100,
            slot.slopes("back", places, back)[:, 2] * per_ahead,
            slot.apart(front, back), slot.apart(path, back), residual, *slot.strays(path),
        ]  # fmt: skip

    lines = told(SLOT, {face: Line(at, lean) for face, at in ahead.items()}, 1.0, 1.0)
    differences = []
    for radius in (1e5, 1e6, 1e7):
        slot = CurvedDrawing(radius, SLOT.width, forward, SLOT.top, SLOT.bottom, SLOT.die_length)
        centre = (slot.forth * radius, -slot.forth * lean * radius)
        arcs = {face: Arc(centre, float(np.hypot(centre[0] - at, centre[1]))) for face, at in ahead.items()}
        cosine = 1 / np.hypot(1.0, lean)  # a radius grows square to the arc, a line goes ahead along x
        found = told(slot, arcs, -slot.forth * radius, -slot.forth * cosine)
        differences.append(max(np.max(np.abs(np.subtract(a, b))) for a, b in zip(lines, found, strict=True)))
    assert differences[0] > 3e-6
    assert differences[1] < 0.15 * differences[0]
    assert differences[2] < 0.02 * differences[0] < 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_faces_come_clean_and_limits_are_kept(seed: int) -> None:
    readings, limits = read_worn(seed), Limits(cut_front=0.1, cut_back=0.1)
    done = clean_up(SLOT, readings, limits, allowance=0.01)
    for own in done.proposals:
        for cut, sign in zip(own.faces, (1.0, -1.0), strict=True):
            assert isinstance(cut.course, Line)
            read = readings.on(cut.face)
            fine = np.linspace(-140.0, 160.0, 3001)
            worn = surface(cut.face, fine, np.interp(fine, read.places, read.losses))
            over = sign * (cut.course.ahead + cut.course.lean * fine - worn)
            if own.name.endswith("limited"):
                assert np.max(over) < 0.1 + 1e-9
                assert np.max(cut.hollow) == pytest.approx(max(-np.min(over), 0.0), abs=2e-4)
            else:
                assert np.min(over) == pytest.approx(0.01, abs=1e-7)
                assert cut.clean
    low = [own for own in done.proposals if not own.front.clean or not own.back.clean]
    assert low
    told = " ".join(remark.words for remark in remarks(done))
    assert "face stays low by up to" in told


def test_a_slot_as_drawn_stays_as_drawn_and_nothing_is_gained_by_leaning() -> None:
    flat = FaceReadings(PLACES, np.zeros(PLACES.size))
    done = clean_up(SLOT, SlotReadings(flat, flat, 0.02))
    assert [own.name for own in done.proposals] == ["drawn line"]
    assert done.proposals[0].width == pytest.approx(60.0, abs=1e-12)
    assert done.proposals[0].mean_cut == pytest.approx(0.0, abs=1e-12)
    assert any("nothing is gained by another line" in remark.words for remark in remarks(done))


# ---- fit ------------------------------------------------------------------------------------------------------------


def test_the_line_fitted_is_that_of_polyfit_with_its_covariance() -> None:
    losses = read_worn(3).front.losses
    fit = fit_faces(SLOT, ("front",), (PLACES,), (losses,), 0.02)
    assert fit is not None
    figures, covariance = np.polyfit(PLACES, 30.0 + losses, 1, cov="unscaled")
    assert fit.figures == pytest.approx(figures, rel=1e-9)
    assert fit.covariance == pytest.approx(0.02**2 * covariance, rel=1e-9)
    left = losses + 30.0 - np.polyval(figures, PLACES)
    assert fit.misfit == pytest.approx(np.sqrt(np.sum(left**2) / 11), rel=1e-9)


def test_what_the_gauge_s_zero_and_tilt_add_by_the_law_of_errors() -> None:
    """The law of propagation of uncertainty (JCGM 100:2008, 5.2, from memory), with every matrix written out."""
    fit = fit_faces(SLOT, ("back",), (PLACES,), (read_worn(1).back.losses,), 0.02, zero=0.03, tilt=0.05)
    assert fit is not None
    design = -np.stack([PLACES, np.ones(PLACES.size)], axis=-1)
    along = (PLACES - 10.0) / 150.0
    readings = 0.02**2 * np.eye(13) + 0.03**2 * np.ones((13, 13)) + 0.05**2 * np.outer(along, along)
    gain = np.linalg.inv(design.T @ design) @ design.T
    assert fit.covariance == pytest.approx(gain @ readings @ gain.T, rel=1e-9)
    plain = fit_faces(SLOT, ("back",), (PLACES,), (read_worn(1).back.losses,), 0.02)
    assert plain is not None
    assert np.all(fit.expanded > 2 * plain.expanded)


@pytest.mark.parametrize("faces", [("front",), ("front", "back")])
def test_planted_lines_are_found_within_the_stated_uncertainty(faces: tuple[str, ...]) -> None:
    rng, trials = np.random.default_rng(8), 2000
    true = {"front": Line(30.3, 0.0012), "back": Line(-30.2, 0.0012)}
    losses = tuple(
        (1 if face == "front" else -1) * (true[face].ahead + true[face].lean * PLACES)
        - 30.0
        + rng.normal(0, 0.02, (trials, 13))
        + rng.normal(0, 0.02, (trials, 1))
        for face in faces
    )
    fit = fit_faces(SLOT, faces, (PLACES,) * len(faces), losses, 0.02, zero=0.02)
    assert fit is not None
    wanted = np.array([0.0012, *(true[face].ahead for face in faces)])
    share = np.mean(np.abs(fit.figures - wanted) <= fit.expanded, axis=0)
    assert np.all(np.abs(share - 0.9545) < 4 * np.sqrt(0.9545 * 0.0455 / trials))
    for k in range(len(faces)):
        covered = np.mean(fit.covers([0.0012, wanted[1 + k]], k))
        assert abs(covered - 0.95) < 4 * np.sqrt(0.95 * 0.05 / trials)
    assert np.mean(fit.not_so_worn) < 0.02


def test_too_few_places_make_no_line() -> None:
    assert fit_faces(SLOT, ("front",), (np.array([0.0]),), (np.array([0.1]),), 0.02) is None
    assert fit_faces(SLOT, ("front",), (np.array([0.0, 20.0]),), (np.array([0.1, 0.2]),), 0.02) is None
    assert fit_faces(SLOT, ("front",), (np.array([-50.0, 90.0]),), (np.array([0.1, 0.2]),), 0.02) is not None
    with pytest.raises(SlotError, match="no slot"):
        replace(SLOT, width=0.0)


# ---- the die, and the pin's path ------------------------------------------------------------------------------------


def off(course: Line, x: float, y: float) -> float:
    """How far a point stands ahead of a line, square to it."""
    return float((x - course.ahead - course.lean * y) / np.hypot(1.0, course.lean))


def test_the_die_fits_and_its_pin_runs_nearest_to_the_drawn_line() -> None:
    done = clean_up(SLOT, read_worn(2, 8.0), clearance=0.12)
    own = done.proposal("worn line")
    front, back, die, path = own.front.course, own.back.course, own.die, own.path
    assert abs(front.lean) > 0.005
    assert front.lean == back.lean == die.front.lean == path.lean
    assert own.width == pytest.approx(off(back, front.ahead, 0.0), abs=1e-9)
    assert die.width == pytest.approx(own.width - 0.12, abs=1e-12)
    assert off(die.front, front.ahead, 0.0) == pytest.approx(0.06, abs=1e-9)
    assert off(back, die.back.ahead, 0.0) == pytest.approx(0.06, abs=1e-9)
    middle = Line((front.ahead + back.ahead) / 2, front.lean)
    assert off(middle, path.ahead, 0.0) == pytest.approx(die.pin_offset, abs=1e-9)
    pins = np.linspace(35.0 - 140.0, 160.0 - 35.0, 2001)

    def stray(ahead: float) -> float:
        return float(np.max([abs(off(Line(ahead, path.lean), 0.0, y)) for y in (pins[0], pins[-1], *pins[::100])]))

    best = optimize.minimize_scalar(stray, bounds=(-10, 10), method="bounded", options={"xatol": 1e-10})
    assert own.residual == pytest.approx(best.fun, abs=1e-7)
    assert own.plain_residual == pytest.approx(stray(middle.ahead), abs=1e-9)


# ---- in the gear ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class LeaningSlot(StraightSlot):
    """A straight slot that leans."""

    lean: float = 0.0

    def at(self, place: Any) -> Any:
        """Point of the line."""
        return self.ahead + self.lean * place, place


def test_a_gear_with_a_leaning_path_moves_like_one_declared_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same line declared in the link's own axes, instead of the link drawn anew in turned ones."""
    setup = example("allan_saddle_tank").side_state()
    drawn, path = setup.gear.slot, Line(0.8, 0.006)
    assert isinstance(drawn, StraightSlot)
    odd = LeaningSlot(drawn.pins, drawn.die, drawn.top, drawn.bottom, drawn.ahead + path.ahead, path.lean)
    for name in ("full forward", "forward 25", "mid"):
        setting = assess_side(setup, [name]).settings[0]
        turned = revolve(with_path(setup.gear, path), setting).displacement(0.0).on_grid(90)
        plain = revolve(setup.gear, setting).displacement(0.0).on_grid(90)
        with monkeypatch.context() as patch:
            patch.setattr(type(setup.gear), "slot", property(lambda _gear: odd))
            declared = revolve(setup.gear, setting).displacement(0.0).on_grid(90)
        assert np.max(np.abs(turned - declared)) < 1e-8
        assert np.max(np.abs(turned - plain)) > 0.1


def test_the_drawn_line_with_its_die_restores_the_events_and_a_leaning_one_does_not() -> None:
    setup = example("allan_saddle_tank").side_state()
    slot = drawn_slot(setup.gear, 62.0, 80.0)
    assert slot == StraightDrawing(62.0, 185.0, 185.0, 80.0)
    before = assess_side(setup)
    same, other = (events_after(setup, path) for path in (Line(0.0), Line(0.0, 0.004)))
    for end, own in before.events["forward"].items():
        assert np.max(np.abs(same.events["forward"][end].lead - own.lead)) < 1e-9
        assert np.max(np.abs(other.events["forward"][end].lead - own.lead)) > 0.05


# ---- what is handed to the machinist --------------------------------------------------------------------------------


def work_of(slot: SlotDrawing = SLOT) -> CleanUp:
    return clean_up(slot, read_worn(4))


def test_the_drawing_has_lines_where_a_curved_slot_has_arcs() -> None:
    done, datum = work_of(), (-12.0, 7.5)
    own = done.proposal("worn line")
    piece = workpiece(SlotInGear(done, "saddle pin", datum), own)
    text = as_dxf(piece, stations(piece), "mm", Lettering((), (), (), 3))
    document = ezdxf.read(io.StringIO(text))  # type: ignore[attr-defined]
    space = document.modelspace()
    assert document.audit().errors == []
    assert not list(space.query("ARC"))
    middle = Line((own.front.course.ahead + own.back.course.ahead) / 2, own.front.course.lean)
    wanted = {"slot finished": [own.front.course, own.back.course], "pin path": [own.path], "centre line": [middle],
              "slot as drawn": [Line(30.0), Line(-30.0), Line(0.0)]}  # fmt: skip
    for layer, courses in wanted.items():
        found = [line for line in space.query(f'LINE[layer=="{layer}"]') if abs(line.dxf.start.y - line.dxf.end.y) > 99]
        assert len(found) == len(courses)
        for line, course in zip(found, courses, strict=True):
            for end, place in ((line.dxf.start, -140.0), (line.dxf.end, 160.0)):
                assert end.x + datum[0] == pytest.approx(course.ahead + course.lean * place, abs=1e-9)
                assert end.y + datum[1] == pytest.approx(place, abs=1e-9)
    assert len(list(space.query("LWPOLYLINE"))) == 2
    assert len(list(space.query('LINE[layer=="datum"]'))) == 2  # one cross: there is no centre


def test_the_example_is_cleaned_up_and_its_sheets_say_where_the_lines_lie(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    request = CleanupRequest(ALLAN, "link out", "left", into=tmp_path / "sheets")
    assert run_cleanup(request) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert printed.startswith("Least metal that cleans up within the limits, the ends within the targets: drawn line")
    assert "front face, x at mid slot" in printed
    assert "radius" not in printed
    run_cleanup(replace(request, output="json"))
    data = json.loads(capsys.readouterr().out)
    assert {row["proposal"] for row in data["proposals"]} >= {"drawn line", "worn line"}
    drawn, worn = (
        next(row for row in data["proposals"] if row["proposal"] == f"{own} line") for own in ("drawn", "worn")
    )
    assert drawn["lean"] == 0.0
    assert 0 < worn["lean"] < 0.2
    assert worn["cut_mean"] < 0.5 * drawn["cut_mean"]
    assert drawn["path_off_drawn"] == pytest.approx(0.0, abs=1e-6)
    assert drawn["radius_front"] is drawn["centre_x"] is drawn["die_radius_back"] is None
    front = 31.0 + 0.34 + 0.04 - 19.0  # deepest loss and the allowance; the saddle pin stands 19 mm ahead
    assert drawn["ahead_front"] == pytest.approx(front, abs=1e-6)
    lines = data["worn_faces_95_percent"]
    assert set(lines) == set(FACES)
    assert lines["front"]["lean"] > lines["front"]["lean_within"] > 0
    page = (tmp_path / "sheets" / "slot-drawn-line.html").read_text()
    for words in ("x at the top", "lean, °", f"<td>{front:.3f}</td>", "flat", "The lines to which the faces have worn"):
        assert words in page
    assert "radius" not in page.split("</style>")[1]
    assert (tmp_path / "sheets" / "slot-worn-line.dxf").exists()


def test_the_library_s_face_cleans_up_a_straight_slot_too() -> None:
    left = lm.read_engine(str(ALLAN))["link out"].left
    found = left.clean_up()
    assert found.proposals[:2] == ("drawn line", "worn line")
    own = found["worn line"]
    assert own.depth("front", 100.0) > own.depth("front", -100.0)
    assert own.depth("back", 100.0) < own.depth("back", -100.0)
    drawn = found["drawn line"]
    lead = drawn.cleaned["full forward"].front.lead
    assert lead == pytest.approx(found.as_drawn["full forward"].front.lead, abs=1e-9)
    assert drawn.plot().lines
    assert "drawn line" in repr(found)
    wider = left.clean_up(slot_width="64 mm", allowance="0 mm")
    assert wider["drawn line"].slot_width == pytest.approx(64.0 + 0.34 + 0.41, abs=1e-9)


def test_sheets_of_a_curved_slot_still_tell_of_arcs() -> None:
    setup = example("dock_shunter").side_state("as found")
    from linkmotion.studies.slot.in_gear import clean_up_in_gear

    own = FaceReadings([-100.0, 0.0, 50.0, 100.0], [0.2, 0.1, 0.15, 0.3])
    work = clean_up_in_gear(setup, SlotReadings(own, own, 0.02), 50.0, 60.0)
    page = sheets(work, "a title", "mm")["slot-drawn-centre.html"].decode()
    assert "<th>centre x</th>" in page
    assert "The arcs to which the faces have worn" in page
    assert isinstance(work.done.proposals[0].path, Arc)
