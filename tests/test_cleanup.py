"""Slot clean-up: no proud point, no cut past a limit, the least metal, the planted arcs found, the path, the events.

What is proved here is computed afresh from points in the plane; the product's formulas are not used for it.
"""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from linkmotion.gears.slots import CurvedSlot
from linkmotion.revolution import revolve
from linkmotion.studies.assess import assess_side
from linkmotion.studies.slot.cleanup import CleanUp, clean_up
from linkmotion.studies.slot.face_fit import fit_faces, worn_faces
from linkmotion.studies.slot.in_gear import clean_up_in_gear, datum_of, drawn_slot, events_after, slot_of, with_path
from linkmotion.studies.slot.least_metal import least_metal
from linkmotion.studies.slot.parts import Limits, Proposal, proposal_from
from linkmotion.studies.slot.remarks import low_stretches, remarks
from linkmotion.views.machining_plots import plot_cleanup, plot_face_cut
from linkmotion.views.machining_sheet import sheet, sheets
from linkmotion.wear.curved_slot import CurvedDrawing
from linkmotion.wear.slot_drawing import FACES, Arc, SlotError
from linkmotion.wear.slot_faces import FaceReadings, SlotReadings, WornFace
from tests.gears_at_hand import EXAMPLES, example

SLOT = CurvedDrawing(radius=950.0, width=48.0, concave_forward=True, top=140.0, bottom=120.0, die_length=70.0)
CURVED = [path.stem for path in EXAMPLES if isinstance(example(path.stem).gear().slot, CurvedSlot)]


# ---- an independent account of a slot -------------------------------------------------------------------------------


def facing(slot: CurvedDrawing, face: str) -> tuple[float, int]:
    """Radius of a face as drawn, and whether its metal is outside (+1) or inside (−1) of its circle."""
    outside = (face == "back") == slot.concave_forward
    return slot.radius + (slot.width / 2 if outside else -slot.width / 2), 1 if outside else -1


def surface(slot: CurvedDrawing, face: str, place: Any, depth: Any) -> Any:
    """Points of the plane below a face, seen from the drawn centre of curvature as origin."""
    radius, sign = facing(slot, face)
    angle = np.asarray(place) / slot.radius
    ahead = -np.cos(angle) if slot.concave_forward else np.cos(angle)
    return (radius + sign * np.asarray(depth))[..., None] * np.stack([ahead, np.sin(angle)], axis=-1)


def loss_at(readings: SlotReadings, face: str, place: Any) -> Any:
    own = readings.on(face)
    places = np.unique(own.places)
    means = np.array([own.losses[own.places == p].mean() for p in places])
    return np.interp(place, places, np.where(means > 0, means, 0.0))


def fine(slot: CurvedDrawing, readings: SlotReadings, face: str) -> Any:
    return np.union1d(np.linspace(-slot.bottom, slot.top, 12_001), readings.on(face).places)


def shift_of(slot: CurvedDrawing, arc: Arc) -> Any:
    return np.array([arc.centre[0] - (slot.radius if slot.concave_forward else -slot.radius), arc.centre[1]])


def finished_depth(slot: CurvedDrawing, face: str, place: Any, arc: Arc) -> Any:
    """Depth of an arc below the drawn face, by the quadratic for where a line meets a circle."""
    radius, sign = facing(slot, face)
    ray = surface(slot, face, place, 0.0) / radius
    b = -2 * ray @ shift_of(slot, arc)
    c = shift_of(slot, arc) @ shift_of(slot, arc) - arc.radius**2
    return sign * ((-b + np.sqrt(b**2 - 4 * c)) / 2 - radius)


def proud_by(slot: CurvedDrawing, readings: SlotReadings, proposal: Proposal, more: float = 0.0) -> float:
    """How far any point of the worn faces lies beyond the finished arcs, into the metal that stays."""
    worst = -np.inf
    for cut in proposal.faces:
        places = fine(slot, readings, cut.face)
        points = surface(slot, cut.face, places, loss_at(readings, cut.face, places) + more)
        away = np.hypot(*(points - shift_of(slot, cut.course)).T)
        worst = max(worst, float(np.max(facing(slot, cut.face)[1] * (away - cut.course.radius))))
    return worst


# ---- property tests -------------------------------------------------------------------------------------------------


@st.composite
def slots_read(draw: Any) -> tuple[CurvedDrawing, SlotReadings]:
    radius = draw(st.floats(250, 3000))
    length = draw(st.floats(80, min(450, 0.6 * radius)))
    part = draw(st.floats(0.3, 0.7))
    slot = CurvedDrawing(radius, draw(st.floats(15, 80)), draw(st.booleans()), part * length, (1 - part) * length)

    def face() -> FaceReadings:
        count = draw(st.integers(1, 8))
        steps = st.integers(int(-2 * slot.bottom) + 1, int(2 * slot.top) - 1)  # half millimetres
        places = np.array(draw(st.lists(steps, min_size=count, max_size=count))) / 2
        losses = draw(st.lists(st.floats(-0.05, 1.5), min_size=count, max_size=count))
        return FaceReadings(places, losses)

    return slot, SlotReadings(face(), face(), 0.02)


@settings(max_examples=150)
@given(read=slots_read(), allowance=st.sampled_from([0.0, 0.04]))
def test_no_point_of_a_worn_face_stands_proud(read: Any, allowance: float) -> None:
    slot, readings = read
    for proposal in clean_up(slot, readings, allowance=allowance).proposals:
        assert proud_by(slot, readings, proposal, allowance) < 1e-9, proposal.name
        assert all(cut.clean for cut in proposal.faces)


@settings(max_examples=100)
@given(read=slots_read(), cuts=st.tuples(st.floats(0, 1), st.floats(0, 1)), left=st.floats(0.2, 2.0))
def test_no_limited_cut_goes_past_its_limit_and_what_stays_low_is_told(read: Any, cuts: Any, left: float) -> None:
    slot, readings = read
    wall = 2.0  # behind each face; a wall that wear has already taken below the least is not cut at all
    done = clean_up(slot, readings, Limits(cuts[0], cuts[1], wall, wall, least_wall=left))
    for proposal in (each for each in done.proposals if each.name.endswith("limited")):
        for cut, most in zip(proposal.faces, cuts, strict=True):
            places = fine(slot, readings, cut.face)
            loss, depth = loss_at(readings, cut.face, places), finished_depth(slot, cut.face, places, cut.course)
            taken = np.maximum(depth - loss, 0.0)
            assert taken.max() < most + 1e-9
            assert np.all(taken[wall - loss - taken < left - 1e-9] < 1e-9)
            low = loss - depth
            if low.max() > 1.1e-3:  # a hollow under a thousandth of a millimetre is told as clean
                assert abs(cut.hollow.max() - low.max()) < 1e-4  # the grid of the one is coarser
            else:
                assert cut.hollow.max() < max(low.max(), 0.0) + 1e-9
            told = low_stretches(cut)
            assert cut.clean == (not told)
            named = np.any([(places > a - 3) & (places < b + 3) for a, b, _ in told], axis=0) if told else False
            assert not np.any((low > 2e-3) & ~np.asarray(named))


@settings(max_examples=60)
@given(read=slots_read())
def test_limits_that_do_not_bear_change_nothing(read: Any) -> None:
    slot, readings = read
    done = clean_up(slot, readings, Limits(50.0, 50.0, 100.0, 100.0, 10.0))
    by_name = {proposal.name: proposal for proposal in done.proposals}
    apart = [name for name in by_name if not name.endswith("limited")]
    assert len(by_name) == 2 * len(apart)
    for free, held in ((by_name[name], by_name[f"{name}, limited"]) for name in apart):
        assert free.front.course == held.front.course
        assert free.back.course == held.back.course


def test_a_slot_as_drawn_stays_as_drawn() -> None:
    untouched = FaceReadings(np.linspace(-100, 100, 9), np.zeros(9))
    for proposal in clean_up(SLOT, SlotReadings(untouched, untouched, 0.02), clearance=0.1).proposals:
        assert proposal.front.course.centre == SLOT.centre
        assert proposal.mean_cut < 1e-10
        assert abs(proposal.die.width - 47.9) < 1e-9
        assert abs(proposal.die.pin_offset) < 1e-9
        assert abs(proposal.path.radius - 950.0) < 1e-9


# ---- the least metal ------------------------------------------------------------------------------------------------


def worn_readings(seed: int, size: float = 1.0, slot: CurvedDrawing = SLOT) -> SlotReadings:
    """Wear of the usual sort, each face by itself, with some scatter."""
    random = np.random.default_rng(seed)

    def face() -> FaceReadings:
        places = np.linspace(10 - slot.bottom, slot.top - 10, 11)
        middle, spread, deep = random.uniform(-60, 60), random.uniform(30, 90), random.uniform(0.2, 0.9)
        slope = random.uniform(-2e-3, 2e-3)
        loss = deep * np.exp(-(((places - middle) / spread) ** 2)) + slope * places
        return FaceReadings(places, size * np.maximum(loss + random.normal(0, 0.02, places.size), 0.0))

    return SlotReadings(face(), face(), 0.02)


def mean_along(places: Any, values: Any) -> float:
    return float(np.trapezoid(values, places) / (places[-1] - places[0]))


def by_linear_programme(slot: CurvedDrawing, readings: SlotReadings) -> float:
    """Least mean cut of both faces with the arcs linearised: depth = a ± (b cos + c sin), b and c shared."""
    places = np.linspace(-slot.bottom, slot.top, 2601)  # every 0.1 mm
    wave = surface(slot, "front", places, 0.0) / facing(slot, "front")[0]
    rows, limits, goal, given_loss = [], [], np.zeros(4), 0.0
    for k, face in enumerate(FACES):
        depth = np.zeros((places.size, 4))
        depth[:, :2], depth[:, 2 + k] = facing(slot, face)[1] * wave, 1.0
        loss = loss_at(readings, face, places)
        rows.append(-depth)
        limits.append(-loss)
        goal += [mean_along(places, column) / 2 for column in depth.T]
        given_loss += mean_along(places, loss) / 2
    found = optimize.linprog(goal, np.concatenate(rows), np.concatenate(limits), bounds=(None, None))
    return float(found.fun) - given_loss


@pytest.mark.parametrize("seed", range(4))
def test_least_cut_is_that_of_a_linear_programme_where_wear_is_small(seed: int) -> None:
    """The difference is of second order in the wear: a tenth of the wear, a hundredth of the difference."""
    off = []
    for size in (0.1, 0.01):
        readings = worn_readings(seed, size)
        front, back = (Limits().on(WornFace(SLOT, face, readings.on(face))) for face in FACES)
        made = least_metal((front, back))  # of wear so small no proposal of its own is made of it
        own = proposal_from("worn centre", (front, back), made, Limits(), 0.1)
        linear = by_linear_programme(SLOT, readings)
        assert own.mean_cut > 0.01 * size
        off.append(abs(own.mean_cut - linear))
    assert off[0] < 2e-6  # against cuts of some 0.03 mm
    assert off[1] < off[0] / 50


class Exact:
    """Metal and hollows for a centre anywhere, from dense points."""

    def __init__(
        self, slot: CurvedDrawing, readings: SlotReadings, cuts: tuple[float, float] = (np.inf, np.inf)
    ) -> None:
        self.slot, self.cuts = slot, dict(zip(FACES, cuts, strict=True))
        self.places = np.union1d(np.linspace(-slot.bottom, slot.top, 4001), readings.front.places)
        self.places = np.union1d(self.places, readings.back.places)
        self.loss = {face: loss_at(readings, face, self.places) for face in FACES}

    def __call__(self, shift: Any) -> tuple[float, float]:
        """Sum of the deepest hollows, and mean depth of the finished faces."""
        hollow, mean = 0.0, 0.0
        for face in FACES:
            sign = facing(self.slot, face)[1]

            def away(depth: Any, face: str = face) -> Any:
                return np.hypot(*(surface(self.slot, face, self.places, depth) - shift).T)

            radius = max(sign * away(self.loss[face]))
            if np.isfinite(self.cuts[face]):
                radius = min(radius, min(sign * away(self.loss[face] + self.cuts[face])))
            centre = (self.slot.centre[0] + shift[0], shift[1])
            depth = finished_depth(self.slot, face, self.places, Arc(centre, sign * radius))
            hollow += max(0.0, float(np.max(self.loss[face] - depth)))
            mean += mean_along(self.places, depth) / 2
        return hollow, mean

    def least(self, which: int, near: Any) -> float:
        """By searches without derivatives, from several starts."""
        scale = np.array([100.0, 5.0])  # mm in x, in y
        starts = [near / scale, np.zeros(2), np.array([0.3, 1.0]), np.array([-0.3, -1.0])]
        options = {"xatol": 1e-8, "fatol": 1e-12, "maxiter": 600}
        runs = [
            optimize.minimize(lambda u: self(u * scale)[which], u, method="Nelder-Mead", options=options)
            for u in starts
        ]
        return float(min(run.fun for run in runs))


@pytest.mark.parametrize(("seed", "forward"), [(1, True), (2, False), (3, True)])
def test_no_search_finds_less_metal(seed: int, forward: bool) -> None:
    slot = replace(SLOT, concave_forward=forward)
    readings = worn_readings(seed)
    exact, own = Exact(slot, readings), clean_up(slot, readings).proposal("worn centre")
    shift = shift_of(slot, own.front.course)
    # 2e-6: the mean is taken by the trapezium rule over stations of 1.3 mm here, 0.07 mm there
    assert exact(shift)[1] < exact.least(1, shift) + 2e-6
    assert exact(shift * 0.9)[1] > exact(shift)[1] + 1e-5  # the comparison can tell


@pytest.mark.parametrize("seed", [1, 4])
def test_no_search_leaves_less_hollow_within_the_limits(seed: int) -> None:
    readings = worn_readings(seed)
    cuts = (0.12, 0.08)
    own = clean_up(SLOT, readings, Limits(*cuts)).proposal("worn centre, limited")
    exact, shift = Exact(SLOT, readings, cuts), shift_of(SLOT, own.front.course)
    hollow = exact(shift)[0]
    assert hollow > 0.05
    assert abs(hollow - sum(cut.hollow.max() for cut in own.faces)) < 1e-6
    assert hollow < exact.least(0, shift) + 1e-6


def test_about_the_drawn_centre_each_face_goes_to_its_deepest_loss() -> None:
    readings = worn_readings(5)
    own = clean_up(SLOT, readings).proposal("drawn centre")
    assert abs(own.front.course.radius - (926.0 - readings.front.losses.max())) < 1e-9
    assert abs(own.back.course.radius - (974.0 + readings.back.losses.max())) < 1e-9
    assert abs(own.width - (48.0 + readings.front.losses.max() + readings.back.losses.max())) < 1e-9
    assert own.residual < 1e-9


# ---- the planted arcs -----------------------------------------------------------------------------------------------

TRIALS = 1000


def within_scatter(count: int, chance: float) -> bool:
    """A count out of the trials that scatter alone would leave in 998 cases of 1,000."""
    low, high = stats.binom.ppf([0.001, 0.999], TRIALS, chance)
    return bool(low <= count <= high)


@pytest.mark.parametrize("forward", [True, False])
@pytest.mark.parametrize("faces", [("front",), ("back",), ("front", "back")])
def test_planted_arcs_are_found_within_the_stated_uncertainty(faces: tuple[str, ...], forward: bool) -> None:
    """Each of centre x, centre y and radius by itself, at coverage 2 (95.45 %); all three together at 95 %.

    Bounds for 1,000 trials, two-sided: 933 to 973 of 954.5 expected, and 927 to 970 of 950.
    """
    slot, random = replace(SLOT, concave_forward=forward), np.random.default_rng(20)
    centre = (slot.centre[0] + 5.0, 2.0)
    arcs = {face: Arc(centre, slot.size(face) + slot.forth * -5.0 + 0.3 * slot.sign(face)) for face in FACES}
    places = tuple(np.linspace(-110, 130, n) for n in (13, 9)[: len(faces)])
    losses = tuple(
        finished_depth(slot, face, at, arcs[face]) + random.normal(0, 0.02, (TRIALS, at.size))
        for face, at in zip(faces, places, strict=True)
    )
    fit = fit_faces(slot, faces, places, losses, 0.02)
    assert fit is not None
    found = fit.figures
    true = np.array([*centre, *(arcs[face].radius for face in faces)])
    for count in np.sum(np.abs(found - true) <= fit.expanded, axis=0):
        assert within_scatter(int(count), 0.9545), count
    for k, face in enumerate(faces):
        assert within_scatter(int(np.sum(fit.covers([*centre, arcs[face].radius], k))), 0.95)
        assert np.sum(fit.covers([centre[0], centre[1] + 0.5, arcs[face].radius], k)) < 0.8 * TRIALS
    assert np.mean(fit.not_so_worn) < 0.02
    assert np.all(np.abs(fit.correlation) > 0.999)  # a short arc: told, not hidden
    for k in range(len(faces)):
        scattered = np.corrcoef(found[:, 0], found[:, 2 + k])[0, 1]
        assert np.max(np.abs(fit.correlation[:, k] - scattered)) < 2e-4
    assert np.all(fit.place < 0.05)  # while its place in the metal is known to a few hundredths


@pytest.mark.parametrize(("zero", "tilt"), [(0.02, 0.0), (0.0, 0.03), (0.02, 0.02)])
@pytest.mark.parametrize("faces", [("front",), ("back",), ("front", "back")])
def test_a_zero_and_a_tilt_common_to_a_face_are_in_the_doubt(faces: tuple[str, ...], zero: float, tilt: float) -> None:
    """A gauge whose zero is off and whose straightedge is tilted, anew for every face and every trial."""
    random = np.random.default_rng(21)
    centre = (SLOT.centre[0] + 5.0, 2.0)
    arcs = {face: Arc(centre, SLOT.size(face) - 5.0 + 0.3 * SLOT.sign(face)) for face in FACES}
    places = tuple(np.linspace(-115, 135, n) for n in (41, 33)[: len(faces)])
    losses = []
    for face, at in zip(faces, places, strict=True):
        off, lean = random.normal(0, zero, (TRIALS, 1)), random.normal(0, tilt, (TRIALS, 1))
        noise = random.normal(0, 0.02, (TRIALS, at.size))
        losses.append(finished_depth(SLOT, face, at, arcs[face]) + off + lean * (at - 10.0) / 130.0 + noise)
    fit = fit_faces(SLOT, faces, places, tuple(losses), 0.02, zero, tilt)
    blind = fit_faces(SLOT, faces, places, tuple(losses), 0.02)
    assert fit is not None
    assert blind is not None
    found = fit.figures
    true = np.array([*centre, *(arcs[face].radius for face in faces)])
    for count in np.sum(np.abs(found - true) <= fit.expanded, axis=0):
        assert within_scatter(int(count), 0.9545), count
    for k, face in enumerate(faces):
        assert within_scatter(int(np.sum(fit.covers([*centre, arcs[face].radius], k))), 0.95)
        assert np.sum(blind.covers([*centre, arcs[face].radius], k)) < 0.75 * TRIALS
        at = np.linspace(places[k][0], places[k][-1], 11)
        lines = [finished_depth(SLOT, face, at, Arc(c, r)) for c, r in zip(fit.common, fit.sizes[:, k], strict=True)]
        worst = np.std(np.array(lines) - finished_depth(SLOT, face, at, arcs[face]), axis=0).max()
        assert np.max(np.abs(2 * worst / fit.place[..., k] - 1)) < 0.12
    assert (
        np.mean(fit.not_so_worn) < 0.025
    )  # one face's tilt against the other's: chi-square with one degree of freedom
    assert abs(np.mean(fit.misfit**2) / np.mean(fit.explained**2) - 1) < 0.1
    assert abs(np.std(fit.misfit**2) / np.mean(fit.scatter) - 1) < 0.15


def test_the_gauge_s_zero_and_tilt_are_as_sure_as_a_reading_unless_given() -> None:
    face = FaceReadings(np.linspace(-110, 130, 9), np.full(9, 0.2))
    own = SlotReadings(face, face, 0.02)
    assert (own.zero, own.tilt) == (0.02, 0.02)
    sure, fit = (worn_faces(SLOT, each)["front"] for each in (SlotReadings(face, face, 0.02, 0.0, 0.0), own))
    assert sure is not None
    assert fit is not None
    assert sure.place[0] > 0.02
    assert fit.place[0] > sure.place[0] + 0.02
    with pytest.raises(SlotError, match="zero is uncertain"):
        SlotReadings(face, face, 0.02, -0.01)


def test_a_centre_that_gains_nothing_is_not_shown_beside_the_drawn_one() -> None:
    """Even wear, with limits too; and faces that lean the same way, where another centre does gain."""
    places = np.linspace(-115, 135, 9)
    even = FaceReadings(places, np.full(9, 0.3))
    done = clean_up(SLOT, SlotReadings(even, even, 0.02))
    assert [proposal.name for proposal in done.proposals] == ["drawn centre"]
    (said,) = [one for one in remarks(done) if "nothing is gained" in one.words]
    assert not said.warns
    assert done.proposals[0].mean_cut < 1e-6
    held = clean_up(SLOT, SlotReadings(even, even, 0.02), Limits(cut_front=1.0))
    assert [proposal.name for proposal in held.proposals] == ["drawn centre", "drawn centre, limited"]
    assert sum("nothing is gained" in one.words for one in remarks(held)) == 2
    tilted = FaceReadings(places, 0.3 + 0.001 * places)
    leaning = FaceReadings(places, 0.3 - 0.001 * places)  # both the same way: one centre higher suits both
    other = clean_up(SLOT, SlotReadings(tilted, leaning, 0.02))
    assert [proposal.name for proposal in other.proposals] == ["drawn centre", "worn centre"]
    assert other.proposal("drawn centre").mean_cut > other.proposal("worn centre").mean_cut + 0.001
    assert not any("nothing is gained" in one.words for one in remarks(other))


def test_faces_that_may_be_case_hardened_are_told_how_deep_they_end() -> None:
    """Even wear of 0.3 mm and 0.2 mm, 0.04 mm allowed: the finished faces lie so deep all along."""
    places = np.linspace(-115, 135, 9)
    front, back = FaceReadings(places, np.full(9, 0.3)), FaceReadings(places, np.full(9, 0.2))
    done = clean_up(SLOT, SlotReadings(front, back, 0.02), allowance=0.04)
    (said,) = [one for one in remarks(done) if "case-hardened" in one.words]
    assert said.sizes[:2] == pytest.approx((0.34, 0.34), abs=1e-6)
    assert "no source" in said.words
    assert said.sizes[2] < said.sizes[3]
    assert "go {0} below the drawn ones at the deepest; a case is {2} to {3} deep" in said.words  # no 0.34 to 0.34


def test_joint_region_is_the_95_per_cent_point_of_chi_square() -> None:
    from linkmotion.studies.slot import face_fit as cleanup_fit

    for count in (2, 3):
        assert abs(cleanup_fit._JOINT[count] - stats.chi2.ppf(0.95, count)) < 1e-9


def test_wear_to_arcs_about_one_centre_is_cleaned_up_about_it() -> None:
    arcs = {face: Arc((956.0, -1.5), SLOT.size(face) + 6.0 + 0.35 * SLOT.sign(face)) for face in FACES}
    places = np.linspace(-120, 140, 261)
    front, back = (FaceReadings(places, finished_depth(SLOT, face, places, arcs[face])) for face in FACES)
    readings = SlotReadings(front, back, 0.02)
    own: Any = clean_up(SLOT, readings).proposal("worn centre")
    assert np.hypot(*np.subtract(own.front.course.centre, (956.0, -1.5))) < 0.01
    assert own.mean_cut < 1e-5  # the readings are joined by straight lines, the arc is not straight
    assert abs(own.back.course.radius - arcs["back"].radius) < 0.01


def test_a_face_not_worn_to_an_arc_is_told() -> None:
    places = np.linspace(-110, 130, 13)
    hump = FaceReadings(places, 0.6 * np.exp(-((places / 25) ** 2)))
    done = clean_up(SLOT, SlotReadings(hump, hump, 0.02))
    assert sum("not worn to an arc" in remark.words for remark in remarks(done)) == 2


# ---- die block, path, events ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("forward", [True, False])
def test_die_fits_the_slot_and_its_pin_runs_on_the_path(forward: bool) -> None:
    slot = replace(SLOT, concave_forward=forward)
    for own in clean_up(slot, worn_readings(2), clearance=0.12).proposals:
        die = own.die
        middle_x: dict[str, Any] = {face: 0.0 for face in FACES}
        for face, radius in (("front", die.front.radius), ("back", die.back.radius)):
            sign = facing(slot, face)[1]
            gap = own.faces[FACES.index(face)].course.radius - radius
            assert abs(sign * gap - 0.06) < 1e-9
            middle_x[face] = own.front.course.centre[0] - slot.forth * np.sqrt(
                radius**2 - own.front.course.centre[1] ** 2
            )
        assert abs(die.width - abs(die.front.radius - die.back.radius)) < 1e-9
        assert middle_x["front"] > middle_x["back"]
        hole = (middle_x["front"] + middle_x["back"]) / 2 + die.pin_offset
        runs = own.front.course.centre[0] - slot.forth * np.sqrt(own.path.radius**2 - own.front.course.centre[1] ** 2)
        assert abs(hole - runs) < 1e-3  # at mid slot the block stands a little askew of the x axis


def test_path_is_the_nearest_to_the_drawn_line() -> None:
    for centre in ((957.0, 3.0), (940.0, -1.0), (950.0, 2.0), (955.0, 0.0)):
        path, residual = SLOT.nearest_path(Arc(centre, 951.0))
        pins = np.linspace(35 - SLOT.bottom, SLOT.top - 35, 4001) / SLOT.radius
        line = np.stack([950.0 - 950.0 * np.cos(pins), 950.0 * np.sin(pins)], axis=-1)
        away = np.hypot(*(line - np.array(centre)).T)
        best = optimize.minimize_scalar(lambda r, away=away: np.max(np.abs(away - r)), bounds=(900, 1000))
        assert abs(residual - best.fun) < 1e-5
        assert abs(np.max(np.abs(away - path.radius)) - residual) < 1e-7


@pytest.mark.parametrize("forward", [True, False])
def test_a_die_with_its_hole_in_the_middle_runs_off_the_drawn_line_by_what_is_told(forward: bool) -> None:
    slot = replace(SLOT, concave_forward=forward)
    pins = np.linspace(35 - slot.bottom, slot.top - 35, 4001)
    line = np.stack([-slot.forth * np.cos(pins / slot.radius), np.sin(pins / slot.radius)], axis=-1) * slot.radius
    for own in clean_up(slot, worn_readings(2)).proposals:
        away = np.hypot(*(line - shift_of(slot, own.front.course)).T)
        between = (own.front.course.radius + own.back.course.radius) / 2
        assert abs(own.plain_residual - np.max(np.abs(away - between))) < 1e-6
        assert own.plain_residual > own.residual + 1e-3


@pytest.mark.parametrize("limits", [Limits(wall_front=12.0, wall_back=11.0), Limits(0.1, 0.1, 12.0, 11.0)])
def test_metal_left_behind_a_face_is_the_wall_less_all_that_is_gone(limits: Limits) -> None:
    """Worn away or cut away, whichever lies deeper."""
    readings = worn_readings(3)
    for own in clean_up(SLOT, readings, limits).proposals:
        for cut, wall in zip(own.faces, (12.0, 11.0), strict=True):
            at = fine(SLOT, readings, cut.face)
            low = np.maximum(finished_depth(SLOT, cut.face, at, cut.course), loss_at(readings, cut.face, at))
            assert abs(cut.wall_left - (wall - low.max())) < 1e-4
            assert cut.wall_left < wall - 0.05


@pytest.mark.parametrize(
    "stem", [stem for stem in CURVED if stem != "southern_mineral"]
)  # its block is held at a place
# along the slot, counted from its middle, which moves here
def test_a_gear_with_a_moved_path_moves_like_one_declared_so(stem: str) -> None:
    """Against the gear's own linkage with the centre of its slot put where it is, off the link's axis."""
    setup = example(stem).side_state()
    slot: Any = slot_of(setup.gear)
    middle = slot.at(0.0)
    path = Arc((slot.centre[0] + 6.0 - middle[0], 2.5), slot.radius + 5.2)
    moved = replace(slot, centre=(slot.centre[0] + 6.0, 2.5), radius=path.radius)
    kind = type(setup.gear)
    declared = type(kind.__name__, (kind,), {"slot": property(lambda self: moved)})
    odd = declared(**{table.name: getattr(setup.gear, table.name) for table in fields(setup.gear)})
    for setting in assess_side(setup).settings:
        one, two = revolve(odd, setting), revolve(with_path(setup.gear, path), setting)
        apart = one.displacement(0.0).on_grid(90) - two.displacement(0.0).on_grid(90)
        assert np.max(np.abs(apart)) < 1e-9


@pytest.mark.parametrize("stem", CURVED)
def test_events_after_follow_the_path(stem: str) -> None:
    setup = example(stem).side_state()
    before = assess_side(setup)
    slot = drawn_slot(setup.gear, 40.0, 50.0)
    assert isinstance(slot, CurvedDrawing)
    same = events_after(setup, Arc(slot.centre, slot.radius))
    other = events_after(setup, Arc((slot.centre[0], slot.centre[1] + 2.0), slot.radius))
    for end, own in before.events["forward"].items():
        for event, percent in own.percent.items():
            assert np.nanmax(np.abs(same.events["forward"][end].percent[event] - percent)) < 1e-9
    changes = [
        np.nanmax(np.abs(other.events["forward"][e].lead - before.events["forward"][e].lead)) for e in ("front",)
    ]
    assert changes[0] > 1e-4
    room = [np.subtract(a.gear.slot.top, a.motion.die_reach[1]) for a in (before, other)]  # type: ignore[union-attr]
    assert np.max(np.abs(room[0] - room[1])) < 2.1  # the die itself moves by about as much as the centre, no more


def test_drawn_centre_with_its_die_restores_the_events_and_a_plain_die_does_not() -> None:
    setup = example("dock_shunter").side_state()
    places = np.linspace(-90, 90, 7)
    readings = SlotReadings(FaceReadings(places, np.full(7, 0.8)), FaceReadings(places, np.zeros(7)), 0.02)
    work = clean_up_in_gear(setup, readings, 50.0, 60.0, datum="trunnion")
    assert work.before is not None
    lead = {name: a.events["forward"]["front"].lead for name, a in (("before", work.before), *work.after.items())}
    assert np.max(np.abs(lead["drawn centre"] - lead["before"])) < 1e-8
    plain = work.plain["drawn centre"]
    assert abs(plain.motion.die_reach[0][0] - work.before.motion.die_reach[0][0]) > 1e-4
    assert abs(work.done.proposal("drawn centre").die.pin_offset + 0.4) < 1e-9  # the slot's middle went ahead by 0.4
    assert not work.stuck


def test_datum_is_a_pin_of_the_link() -> None:
    gear = example("stephenson_goods").gear()
    slot: Any = slot_of(gear)
    assert datum_of(gear, "mid slot") == (0.0, 0.0)
    assert datum_of(gear, "forward pin") == slot.pins["forward pin"]
    with pytest.raises(SlotError, match="choose one of: mid slot, forward pin"):
        datum_of(gear, "gudgeon")


# ---- what is told, what is refused, what is shown -------------------------------------------------------------------


def one_reading(place: float, loss: float) -> SlotReadings:
    return SlotReadings(FaceReadings([place], [loss]), FaceReadings([0.0], [0.0]), 0.02)


def told(done: CleanUp) -> str:
    return "\n".join(remark.words.format(*(f"{size:.2f} mm" for size in remark.sizes)) for remark in remarks(done))


def test_what_is_told_of_the_readings() -> None:
    front = FaceReadings([-110, -100, -90, 20], [0.1, -0.05, 0.2, 0.3])
    back = FaceReadings([-100, 100], [0.1, 0.4])
    words = told(clean_up(SLOT, SlotReadings(front, back, 0.01), Limits(0.15, 0.1, 10, 10, 9.8)))
    assert "1 of the front face's readings stand proud, by up to 0.05 mm" in words
    assert "front face is not read for 120.00 mm at the top" in words
    assert "front face has no reading for 110.00 mm between two places" in words
    assert "back face is read at too few places" in words
    assert "drawn centre: only 9.70 mm is left behind the front face" in words
    assert "drawn centre, limited: the back face stays low by up to 0.20 mm" in words
    assert "each may be out by 0.02 mm (two sigma)" in words


@pytest.mark.parametrize("shift", [(475.0, 0.0), (-475.0, 0.0), (0.0, 475.0), (100.0, 100.0)])
def test_a_centre_let_no_further_off_is_told(shift: tuple[float, float]) -> None:
    """Half the slot's radius of 950, fore and aft or up and down."""
    done = clean_up(SLOT, worn_readings(2))
    one = done.proposals[0]
    off = Arc((SLOT.centre[0] + shift[0], SLOT.centre[1] + shift[1]), one.front.course.radius)
    far = replace(done, proposals=(replace(one, front=replace(one.front, course=off)),))
    assert ("as far off as it is let, 475.00 mm" in told(far)) == (475.0 in map(abs, shift))


def test_readings_at_one_place_are_averaged() -> None:
    face = FaceReadings([0.0, 0.0, 50.0], [0.2, 0.4, 0.1])
    assert face.averaged[0].tolist() == [0.0, 50.0]
    assert abs(face.averaged[1][0] - 0.3) < 1e-12


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (lambda: FaceReadings([0.0, 1.0], [0.1]), "as many losses as places"),
        (lambda: FaceReadings([], []), "one at least"),
        (lambda: FaceReadings([0.0], [np.nan]), "not a number"),
        (lambda: SlotReadings(FaceReadings([0.0], [0.1]), FaceReadings([0.0], [0.1]), 0.0), "above zero"),
        (lambda: replace(SLOT, width=0.0), "do not make a slot"),
        (lambda: replace(SLOT, die_length=300.0), "not longer than the die block"),
        (lambda: Limits(cut_front=-1.0), "a limit is below zero"),
        (
            lambda: clean_up(SLOT, SlotReadings(FaceReadings([141], [0.1]), FaceReadings([0], [0]), 0.1)),
            "beyond the slot",
        ),
        (lambda: clean_up(SLOT, SlotReadings(FaceReadings([0], [13]), FaceReadings([0], [0]), 0.1)), "over a quarter"),
        (lambda: clean_up(SLOT, worn_readings(1), clearance=-0.1), "no clearance for this die"),
        (lambda: clean_up(SLOT, worn_readings(1), allowance=-0.1), "is no allowance"),
        (lambda: slot_of(example("donkey_eccentric").gear()), "no slot in a gear"),
    ],
)
def test_what_cannot_be_used_is_refused_with_a_remedy(wrong: Any, words: str) -> None:
    with pytest.raises(SlotError, match=words) as caught:
        wrong()
    assert len(str(caught.value).splitlines()) == 2
    assert caught.value.remedy


def test_sheets_are_alike_each_time_and_each_tells_of_its_own_proposal() -> None:
    setup = example("dock_shunter").side_state()
    slot = drawn_slot(setup.gear, 50.0, 60.0)
    assert isinstance(slot, CurvedDrawing)
    readings = worn_readings(3, slot=slot)
    title = "Limpet <left> & friends"
    work = clean_up_in_gear(setup, readings, 50.0, 60.0, datum="trunnion")
    files = sheets(work, title, "in")
    assert list(files) == [
        "slot-drawn-centre.html", "slot-drawn-centre.dxf", "slot-worn-centre.html", "slot-worn-centre.dxf",
    ]  # fmt: skip
    text = files["slot-worn-centre.html"].decode()
    own = work.done.proposal("worn centre")
    assert "Limpet &lt;left&gt; &amp; friends" in text
    assert f"{own.front.course.radius / 25.4:.4f}" in text
    assert f"{own.die.width / 25.4:.4f}" in text
    assert "certify nothing" in text
    assert "drawn centre: " not in text  # what is told of the other proposal stands on its own sheet
    assert sheet(work, own, title, "in", "slot-worn-centre.dxf") == text


def test_plots_draw_the_arcs_to_scale() -> None:
    done = clean_up(SLOT, worn_readings(3), Limits(0.1, 0.1))
    own = done.proposals[-1]
    ax = plot_cleanup(done, own)
    assert ax.get_aspect() == 1.0
    x, y = ax.lines[1].get_data()  # the finished front face
    away = np.hypot(x - own.front.course.centre[0], y - own.front.course.centre[1])
    assert np.max(np.abs(away - own.front.course.radius)) < 1e-9
    low = plot_face_cut(done, own, "front")
    labels = [text.get_text() for text in low.get_legend().get_texts()]
    assert labels == ["to be cut", "left low", "finished", "read, ± two sigma"]
