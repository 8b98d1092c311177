"""The card model: its sheets measured from the PDF, its pieces tried on the moving gear, its layers tried by force."""

from __future__ import annotations

import itertools
import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
import pymupdf
import pytest
import shapely
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.elevation.body import Pinned
from linkmotion.elevation.outlines import Outline
from linkmotion.files.engine_file import parse_engine
from linkmotion.linkage import Wheel, solve
from linkmotion.revolution import revolve
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.card.card_model import CardModel, card_model
from linkmotion.studies.card.latch import PEG
from linkmotion.studies.card.layers import Joint, layers, sweeps
from linkmotion.studies.card.packing import LAP, MARGIN, Laid, parted, upright
from linkmotion.studies.card.scale import fitting_scale, too_near
from linkmotion.studies.card.shapes import CARD, HOLE, SLIT
from linkmotion.studies.side_drawing import elevation_of
from linkmotion.views.card.card_book import Layout, as_pdf, layout
from linkmotion.views.card.ink import room_of, width_of
from linkmotion.views.card.pieces import labels
from linkmotion.views.card.words import Named, steps
from tests.gears_at_hand import EXAMPLES, every_gear, example
from tests.test_how_to_add_a_gear import block, toy_gear  # noqa: F401 - a fixture

TOO_MANY = "derived_heavy_goods"  # pieces: two gears and the levers between them
STEMS = [path.stem for path in EXAMPLES if path.stem != TOO_MANY]
SLOTTED = [stem for stem in STEMS if example(stem).gear().slot is not None]
POINT = 25.4 / 72  # mm
BAR = 0.1  # mm: what the sheets must hold when measured


@cache
def side_of(stem: str) -> SideEvents:
    return assess(example(stem)).sides[0]


@cache
def model_of(stem: str) -> CardModel:
    return card_model(side_of(stem), fitting_scale(side_of(stem)))


@cache
def layout_of(stem: str) -> Layout:
    return layout(model_of(stem))


@cache
def pdf_of(stem: str) -> bytes:
    return as_pdf(model_of(stem), example(stem).name, "drawing", layout_of(stem))


# What a ruler would find: piece, two pins, and the engine's own figure (table and key), which is to be there in scale.
_SHARED = [("connecting rod", "crank pin", "crosshead pin", "connecting_rod", "length")]
_WALSCHAERTS = [
    *_SHARED,
    ("eccentric rod", "return-crank pin", "foot", "eccentric_rod", "length"),
    ("radius rod", "die pin", "lever pin", "radius_rod", "length"),
    ("combination lever", "union pin", "lever pin", "combination_lever", "lower_arm"),
    ("combination lever", "lever pin", "valve pin", "combination_lever", "upper_arm"),
    ("union link", "crosshead-arm pin", "union pin", "union_link", "length"),
    ("lifting arm", "weighshaft", "arm pin", "reversing", "arm"),
]
_RODS = [(f"{w} eccentric rod", f"{w} eccentric", f"{w} pin", "eccentric_rods", w) for w in ("forward", "backward")]
_LINKED = [
    *_SHARED,
    *_RODS,
    ("lifting arm", "weighshaft", "arm pin", "reversing", "arm"),
    ("lifting link", "arm pin", "lift pin", "reversing", "lifting_link"),
]
_BY_SADDLE = [row for row in _LINKED if row[0] != "lifting link"]
_BY_SADDLE.append(("lifting link", "arm pin", "saddle pin", "reversing", "lifting_link"))
_DOCK = [*_WALSCHAERTS, ("lifting link", "arm pin", "lift pin", "reversing", "lifting_link")]
RULED: dict[str, list[tuple[str, str, str, str, str]]] = {
    "dock_shunter": _DOCK,
    "dock_sister": _DOCK,
    "metre_gauge": _WALSCHAERTS,
    "inside_goods": [
        *_SHARED,
        ("eccentric rod", "eccentric", "foot", "eccentric_rod", "length"),
        ("lifting link", "arm pin", "lift pin", "reversing", "lifting_link"),
    ],
    "stephenson_goods": [*_BY_SADDLE],
    "gooch_tank": [
        *_LINKED,
        ("radius rod", "die pin", "rod pin", "radius_rod", "length"),
        ("suspension link", "link hanger", "saddle pin", "expansion_link", "hanger"),
        ("spindle rod", "rod pin", "valve pin", "valve", "spindle_rod"),
    ],
    "allan_saddle_tank": [
        *_BY_SADDLE,
        ("radius rod", "die pin", "rod pin", "radius_rod", "length"),
        ("lifting arm", "weighshaft", "rod-arm pin", "reversing", "rod_arm"),
        ("rod lifting link", "rod-arm pin", "lift pin", "reversing", "rod_lifting_link"),
    ],
    "donkey_eccentric": [*_SHARED, ("eccentric rod", "eccentric", "driving pin", "eccentric_rod", "length")],
    "hackworth_quarry": [
        *_SHARED,
        ("eccentric rod", "eccentric", "die pin", "eccentric_rod", "length"),
        ("eccentric rod", "eccentric", "valve-rod pin", "eccentric_rod", "valve_pin"),
        ("valve rod", "valve-rod pin", "driving pin", "valve_rod", "length"),
    ],
    "marshall_pumping": [
        *_SHARED,
        ("eccentric rod", "eccentric", "swinging pin", "eccentric_rod", "length"),
        ("reversing arm", "weighshaft", "arm pin", "reversing", "arm"),
        ("swinging link", "arm pin", "swinging pin", "swinging_link", "length"),
    ],
    "joy_mixed_traffic": [
        *_SHARED,
        ("connecting rod", "connecting-rod pin", "crosshead pin", "connecting_rod", "pin"),
        ("correcting link", "connecting-rod pin", "lever pin", "correcting_link", "lever_pin"),
        ("anchor link", "anchor pin", "foot", "anchor", "length"),
        ("valve lever", "lever pin", "die pin", "valve_lever", "lower_arm"),
        ("valve lever", "die pin", "valve-rod pin", "valve_lever", "upper_arm"),
    ],
    "baker_express": [
        *_SHARED,
        ("eccentric rod", "return-crank pin", "foot", "eccentric_rod", "length"),
        ("gear connecting rod", "foot", "bell-crank pin", "gear_connecting_rod", "length"),
        ("gear connecting rod", "foot", "radius-bar pin", "gear_connecting_rod", "bar_pin"),
        ("radius bars", "arm pin", "radius-bar pin", "radius_bars", "length"),
        ("bell crank", "bell-crank shaft", "bell-crank pin", "bell_crank", "driven_arm"),
        ("valve rod", "valve-rod pin", "lever pin", "valve_rod", "length"),
    ],
    "southern_mineral": [
        *_SHARED,
        ("eccentric rod", "return-crank pin", "hanger pin", "eccentric_rod", "length"),
        ("radius hanger", "die pin", "hanger pin", "radius_hanger", "length"),
        ("yoke", "yoke pin", "bell-crank pin", "yoke", "length"),
        ("bell crank", "bell-crank shaft", "bell-crank pin", "bell_crank", "driven_arm"),
        ("valve rod", "valve-rod pin", "driving pin", "valve_rod", "length"),
    ],
    "crosshead_branch": [
        *_SHARED,
        ("drive rod", "other crosshead-arm pin", "foot", "drive_rod", "length"),
        ("radius rod", "die pin", "lever pin", "radius_rod", "length"),
        ("other connecting rod", "other crank pin", "other crosshead pin", "other_side", "connecting_rod"),
    ],
}
# What crosses in the engine too, on planes farther apart than card; the command says so at the foot of its sheets.
FOULS: dict[str, tuple[tuple[str, str], ...]] = {
    "baker_express": (("bell-crank shaft", "reversing yoke"), ("arm pin", "bell crank")),
    "southern_mineral": (("die pin", "bell crank"),),
    "crosshead_branch": (("other crosshead pin", "crosshead and piston"), ("other crosshead pin", "connecting rod")),
}


@dataclass(frozen=True)
class Circle:
    page: int
    at: complex  # mm from the lower left corner of the sheet
    radius: float


@cache
def circles(stem: str) -> list[Circle]:
    """Every round hole drawn in the PDF."""
    return [circle for page, sheet in enumerate(pages(stem)) for circle in _circles(page, sheet)]


@cache
def pages(stem: str) -> list[Any]:
    paper: Any = pymupdf.open(stream=pdf_of(stem), filetype="pdf")
    return list(paper)


def _circles(page: int, sheet: Any) -> Iterator[Circle]:
    for path in sheet.get_drawings():
        box = path["rect"]
        if all(item[0] == "c" for item in path["items"]) and abs(box.width - box.height) < 1e-3 and path["fill"]:
            middle = complex((box.x0 + box.x1) / 2, sheet.rect.height - (box.y0 + box.y1) / 2) * POINT
            yield Circle(page, middle, box.width / 2 * POINT)


def placed(stem: str) -> Iterator[tuple[int, Laid]]:
    """Pieces and the page on which they are."""
    own = layout_of(stem)
    for number, sheet in enumerate(own.pieces, 2 + len(own.tiles)):
        for one in sheet:
            yield number, one


def measured(stem: str, piece: str, pin: str) -> complex:
    """Where a pin's hole is in the PDF: the circle drawn nearest to where the layout has it."""
    page, one = next((page, one) for page, one in placed(stem) if one.piece.name == piece)
    hole = next(hole for hole in one.piece.holes if hole.pin == pin)
    goal = complex(one.at(hole.at))
    circle = min((c for c in circles(stem) if c.page == page), key=lambda c: abs(c.at - goal))
    assert circle.radius == pytest.approx(hole.radius, abs=0.01)
    return circle.at


def test_a_gear_of_more_pieces_than_can_be_put_in_order_is_refused_with_their_number() -> None:
    with pytest.raises(ValueError, match=r"a card model of 3\d moving pieces is more than can be put in order"):
        model_of(TOO_MANY)


@pytest.mark.parametrize("stem", STEMS)
def test_pins_measured_on_the_printed_sheets_are_the_engines_in_scale(stem: str) -> None:
    tables, scale = example(stem).tables(), model_of(stem).scale
    for piece, a, b, table, key in RULED[stem]:
        wanted = abs(float(tables[table][key])) / scale
        assert abs(measured(stem, piece, a) - measured(stem, piece, b)) == pytest.approx(wanted, abs=BAR), piece
        assert abs(measured(stem, piece, a) - measured(stem, piece, b)) != pytest.approx(wanted + 2 * BAR, abs=BAR)


@pytest.mark.parametrize("stem", STEMS)
def test_sheets_are_a4_and_every_bar_is_a_hundred_millimetres(stem: str) -> None:
    for sheet in pages(stem):
        assert sorted([sheet.rect.width * POINT, sheet.rect.height * POINT]) == pytest.approx([210, 297], abs=0.01)
        level = [path["rect"] for path in sheet.get_drawings() if path["items"][0][0] == "l"]
        low = [box for box in level if box.height < 1e-3 and (sheet.rect.height - box.y0) * POINT < 12]
        assert max(box.width for box in low) * POINT == pytest.approx(100.0, abs=0.01)


@pytest.mark.parametrize("stem", STEMS)
def test_every_hole_is_printed_within_the_margin(stem: str) -> None:
    holes = sum(len(one.piece.holes) for _page, one in placed(stem))
    drawn = [circle for circle in circles(stem) if circle.page >= 2 + len(layout_of(stem).tiles)]
    assert len(drawn) == holes
    for circle in (c for c in circles(stem) if c.page >= 2):
        width, height = (size * POINT for size in pages(stem)[circle.page].rect[2:])
        assert circle.at.real - circle.radius >= MARGIN - 1e-3, circle
        assert circle.at.imag - circle.radius >= MARGIN - 1e-3, circle
        assert circle.at.real + circle.radius <= width - MARGIN + 1e-3, circle
        assert circle.at.imag + circle.radius <= height - MARGIN + 1e-3, circle


@pytest.mark.parametrize("stem", STEMS)
def test_no_two_pieces_overlap_on_a_sheet(stem: str) -> None:
    for sheet in layout_of(stem).pieces:
        for one, other in itertools.combinations([laid.outline for laid in sheet], 2):
            assert one.distance(other) > 2.0
    wanted = sum(piece.copies for piece in model_of(stem).loose) + len(model_of(stem).moving)
    assert sum(1 for _page, one in placed(stem) if ", part " not in one.piece.name) == wanted


@pytest.mark.parametrize("stem", STEMS)
def test_the_boards_sheets_show_every_pin_in_its_place(stem: str) -> None:
    model, tables = model_of(stem), example(stem).tables()
    for tile in layout_of(stem).tiles:
        page = 2 + layout_of(stem).tiles.index(tile)
        for hole in (h for h in model.board.holes if tile.shows(h)):
            own = min((c for c in circles(stem) if c.page == page), key=lambda c: abs(c.at - tile.on_sheet(hole.at)))
            assert abs(own.at - tile.on_sheet(hole.at)) < 0.02
    for hole in model.board.holes:
        assert any(tile.shows(hole) for tile in layout_of(stem).tiles), hole
    places = {hole.pin: hole.at - model.board.holes[0].at for hole in model.board.holes}
    if "weighshaft" in places:
        shaft = complex(float(tables["reversing"]["shaft_x"]), float(tables["reversing"]["shaft_y"])) / model.scale
        assert abs(places["weighshaft"] - places["axle"] - shaft) < 1e-6


@pytest.mark.parametrize("stem", STEMS)
def test_the_pieces_fit_the_moving_gear(stem: str) -> None:
    """Holes of a piece are as far apart as the gear's own pins at odd angles in every notch; dies keep in slits."""
    model, side = model_of(stem), side_of(stem)
    wheel = Wheel.at(-np.radians([11.3, 87.9, 163.1, 241.7, 318.2]))
    for notch in range(len(side.notches)):
        now = solve(side.gear.declare(side.settings[notch]), wheel)
        for one in model.moving:
            own = [hole for hole in one.piece.holes if hole.pin in now.linkage.names]
            own = [hole for hole in own if not hole.note or side.notches[notch] in hole.note.split(", ")]
            for a, b in itertools.combinations(own, 2):
                apart = np.abs(now[a.pin] - now[b.pin]) / model.scale
                assert np.max(np.abs(apart - abs(a.at - b.at))) < 1e-6, (one.name, a.pin, b.pin)
            for slit in one.piece.slits:
                frame = _frame(model, one.name, now, notch)
                shape = slit.shape.buffer(-(SLIT / 2 - 0.05))  # the slit's middle line, as it were
                path = (now[slit.pin] / model.scale - frame[0]) * np.conj(frame[1])
                assert all(shape.contains(shapely.Point(p.real, p.imag)) for p in path), (one.name, slit.pin)


def _frame(model: CardModel, name: str, now: Any, notch: int) -> tuple[Any, Any]:
    """Where a piece with a slit stands, from two pins of the moved gear (a plate's partner's, if need be)."""
    piece = model.moving_piece(name).piece
    held = [hole for hole in piece.holes if hole.pin in now.linkage.names]
    if len(held) < 2 and name == "slot plate":  # it is glued to the plate that has the pins
        held = [hole for hole in model.moving_piece("pin plate").piece.holes if hole.pin in now.linkage.names]
        if len(held) < 2:  # a slide: on the weighshaft alone, tilted as the reversing arm
            arm = model.motion.side.settings[notch].angle  # type: ignore[union-attr]
            turn = np.full(now.shape[-1:], np.exp(1j * np.radians(float(arm))))
            return now["weighshaft"] / model.scale - turn * held[0].at, turn
    if len(held) < 2:  # the strip of a valve: along its guide
        turn = np.full(now.shape[-1:], np.exp(1j * now.guide("valve guide").direction))
        return now["valve pin"] / model.scale, turn
    a, b = held[:2]
    turn = (now[b.pin] - now[a.pin]) / (b.at - a.at)
    turn = turn / np.abs(turn)
    return now[a.pin] / model.scale - turn * a.at, turn


@pytest.mark.parametrize("stem", [stem for stem in SLOTTED if stem != "southern_mineral"])
def test_the_slot_is_cut_along_the_dies_own_path_from_end_to_end(stem: str) -> None:
    """Its line lies at the engine's radius from the engine's centre of curvature (or straight)."""
    tables = example(stem).tables()
    slide = {f"slot_{key}": value for key, value in tables.get("slide", {}).items()}
    model, link = model_of(stem), tables.get("expansion_link") or slide
    slit = next(slit for one in model.moving for slit in one.piece.slits if one.name == "slot plate")
    radius = float(link.get("slot_radius", np.inf)) / model.scale
    if np.isfinite(radius):
        default = "valve" if example(stem).gear_type.name in ("walschaerts", "joy") else "axle"
        centre = radius if link.get("slot_concave_to", default) == "valve" else -radius
        assert np.max(np.abs(np.abs(slit.line - centre) - radius)) < 1e-9
    else:
        assert np.max(np.abs(slit.line.real)) < 1e-9
    for end, way in (("slot_top", 1), ("slot_bottom", -1)):
        assert np.max(way * slit.line.imag) > 0.98 * float(link[end]) / model.scale
    assert slit.width == pytest.approx(2 * HOLE + 0.4, abs=1e-9)


def test_the_block_of_a_stationary_link_is_fastened_in_a_hole_for_each_notch() -> None:
    model, side = model_of("southern_mineral"), side_of("southern_mineral")
    piece = next(one.piece for one in model.moving if one.name == "stationary link")
    named = [hole.note for hole in piece.holes if hole.note]
    assert sorted([*named, *model.left_out]) == sorted(side.notches)
    assert len(named) >= 4


@pytest.mark.parametrize("stem", [stem for stem in STEMS if stem not in ("donkey_eccentric", "southern_mineral")])
def test_a_peg_holds_the_arm_in_its_notch(stem: str) -> None:
    model, side = model_of(stem), side_of(stem)
    arm = next(one for one in model.moving if any(h.pin.startswith(PEG) for h in one.piece.holes))
    pegs = [hole for hole in model.board.holes if hole.pin.startswith(PEG)]
    assert not model.left_out
    for i in range(len(side.notches)):
        over = [complex(arm.on_board(h.at)[i, 0]) for h in arm.piece.holes if h.pin.startswith(PEG)]
        near = [min(abs(hole.at - place) for hole in pegs) for place in over]
        assert min(near) < 1e-6
    for one, other in itertools.combinations(pegs, 2):
        assert abs(one.at - other.at) > 2 * one.radius + 1.0  # card is left between the holes


def fouled(model: CardModel, order: list[str]) -> list[tuple[str, str]]:
    """Joints and pieces that run into them in an order, by drawing every piece on the board."""
    found = []
    at = [(s, n) for s in range(0, model.motion.shape[0], 2) for n in range(0, model.motion.shape[1], 4)]
    for joint in (j for j in model.joints if not j.name.startswith(PEG)):
        ranks = [order.index(name) for name in joint.members]
        low = -1 if joint.on_board else min(ranks)
        sheaved = any(piece.name.startswith(f"{joint.name} sheave") for piece in model.loose)
        for name in order[low + 1 : max(ranks)]:
            one = model.moving_piece(name)
            if name in joint.members or (sheaved and "eccentric rod" in name):
                continue
            places = [(one.outline_at(s, n), complex(joint.path[s, n])) for s, n in at]
            if any(shape.distance(shapely.Point(p.real, p.imag)) < HOLE for shape, p in places):
                found.append((joint.name, name))
    return found


@pytest.mark.parametrize("stem", STEMS)
def test_no_piece_runs_into_a_fastener_that_joins_others(stem: str) -> None:
    model = model_of(stem)
    order = [one.name for one in model.moving]
    assert model.fouls == FOULS.get(stem, ())
    assert set(fouled(model, order)) <= set(model.fouls)
    assert fouled(model, order[::-1])  # upside down it would not go


@pytest.mark.parametrize("stem", STEMS)
def test_pieces_lie_clear_over_one_another(stem: str) -> None:
    model = model_of(stem)
    at = (0, model.motion.shape[1] // 8)
    for low, high in itertools.combinations(model.moving, 2):
        if low.outline_at(*at).intersects(high.outline_at(*at)):
            assert model.height[high.name] - model.height[low.name] > CARD - 1e-9, (low.name, high.name)
    assert 0.0 < max(model.height.values()) < 12.0  # what a fastener's legs reach


@pytest.mark.parametrize("stem", STEMS)
def test_words_keep_to_their_piece_and_off_its_holes(stem: str) -> None:
    see_to_the_words(model_of(stem), layout_of(stem))


def see_to_the_words(model: CardModel, own: Layout) -> None:
    named = Named.of(model)
    for one in (laid for sheet in own.pieces for laid in sheet):
        written = labels(one, named.letters, named.numbers.get(one.piece.name, "9"))
        assert any(note.text.split()[0].isdigit() for note in written), one.piece.name
        for hole in one.piece.holes:
            letter = named.letters.get(hole.pin)
            assert letter is None or any(note.text.split("\n")[0] == letter for note in written), one.piece.name
            place = shapely.Point(complex(one.at(hole.at)).real, complex(one.at(hole.at)).imag).buffer(hole.radius)
            assert all(room_of(note).intersection(place).area < 0.01 for note in written), (one.piece.name, hole)
        for note in written:
            assert one.outline.buffer(0.3).contains(room_of(note)), (one.piece.name, note.text)


def test_a_rod_longer_than_a_sheet_comes_in_parts_whose_laps_meet() -> None:
    side = side_of("dock_shunter")
    rod = next(one.piece for one in card_model(side, 4).moving if one.name == "connecting rod")
    assert upright(rod) is None
    parts = parted(rod)
    first, second = parts
    one, other = ([hole.at for hole in part.holes if hole.note == "lap"] for part in parts)
    assert one == other
    assert abs(one[0] - one[1]) == pytest.approx(LAP / 2, abs=1e-9)
    assert all(upright(part) is not None for part in parts)
    both = first.outline.intersection(second.outline)
    x0, y0, x1, y1 = both.bounds
    across = shapely.LineString([((x0 + x1) / 2, y0 - 1), ((x0 + x1) / 2, y1 + 1)]).intersection(rod.outline).length
    assert x1 - x0 == pytest.approx(LAP, abs=1e-9)
    assert both.area == pytest.approx(LAP * across, rel=1e-3)  # the rod's sides are straight there
    assert {hole.pin for part in parts for hole in part.holes} == {"crank pin", "crosshead pin", ""}


def test_holes_too_near_to_cut_are_told_and_a_larger_model_chosen() -> None:
    side = side_of("dock_shunter")
    pieces = [one.piece for one in card_model(side, 25).moving]
    assert {"combination lever", "lever pin", "valve pin"} in [set(row[:3]) for row in too_near(pieces)]
    assert too_near([one.piece for one in model_of("dock_shunter").moving]) == []


def test_the_order_tells_a_foul_that_it_cannot_avoid() -> None:
    model = model_of("donkey_eccentric")
    rod = model.moving_piece("connecting rod")
    through = Joint("nail", ("wheel", "eccentric rod"), True, rod.on_board(120.0 + 0j))
    below = {"connecting rod": {"wheel"}, "eccentric rod": {"connecting rod"}}
    found = layers(model.moving, [through], below)
    assert ("nail", "connecting rod") in found.fouls
    assert sweeps(rod, through)
    assert not sweeps(rod, replace(through, path=rod.on_board(120.0 + 12.0j)))


def made(name: str) -> SideEvents:
    """A trial gear's side, its valve set midway."""
    own = every_gear()[name]
    turned = revolve(own.gear, own.together())
    central = float(np.mean(turned.extremes))
    return SideEvents("left", "drawing", tuple(own.settings), tuple(own.settings.values()), turned, central)


@pytest.mark.parametrize(
    "name",
    ["ideal suspension", "inside, lifting link on a tail", "hanger drive (stephenson)", "hung from below (stephenson)"],
)
def test_other_kinds_of_suspension_and_drive_have_their_model(name: str) -> None:
    side = made(name)
    model = card_model(side, fitting_scale(side))
    assert model.fouls == ()
    held = {member for joint in model.joints for member in joint.members}
    assert held == {one.name for one in model.moving}  # nothing is left loose
    if name == "ideal suspension":
        link = next(one.piece for one in model.moving if "link" in one.name and one.piece.takes("die pin"))
        assert [hole.note for hole in link.holes if hole.pin == "die pin"] == [n for n in side.notches if n != "mid"]
        assert model.left_out == ("mid",)  # where the trunnion is
        see_to_the_words(model, layout(model))


def test_a_newly_added_gear_has_its_model_without_more_ado(toy_gear: Any) -> None:  # noqa: F811
    side = assess(parse_engine(block("toml")), sides=("left",)).sides[0]
    model = card_model(side, fitting_scale(side))
    assert {"wheel", "lever", "drop link", "valve rod", "valve and spindle"} <= {one.name for one in model.moving}
    assert model.fouls == ()
    joint = next(joint for joint in model.joints if joint.name == "crosshead pin")
    assert set(joint.members) == {"connecting rod", "drop link", "crosshead and piston"}
    assert as_pdf(model, "feed pump", "drawing").startswith(b"%PDF")


def test_the_command_writes_the_model_and_tells_what_is_wrong(tmp_path: Any) -> None:
    engine = next(path for path in EXAMPLES if path.stem == "donkey_eccentric")
    into = tmp_path / "model.pdf"
    ran = CliRunner().invoke(app, ["card", str(engine), "--into", str(into), "--json"])
    assert ran.exit_code == 0, ran.output
    told = json.loads(ran.output)
    assert told["scale"] == "1:2.5"
    assert len(pymupdf.open(into)) == sum(told["sheets"].values())
    rod = next(piece for piece in told["pieces_from_the_board_up"] if piece["piece"] == "connecting rod")
    assert rod["holes"][1]["at"][0] == pytest.approx(25 / 2.5, abs=1e-6)  # in, as its file
    for scale, words in (("1:x", "no scale"), ("1:0", "no model"), ("1:900", "no model"), ("2:1", "wheel does not go")):
        with pytest.raises(ValueError, match=words):
            CliRunner().invoke(app, ["card", str(engine), "--scale", scale], catch_exceptions=False)


def test_the_same_engine_gives_the_same_file() -> None:
    stem = "donkey_eccentric"
    assert as_pdf(model_of(stem), example(stem).name, "drawing") == pdf_of(stem)


@pytest.mark.parametrize("weight", ["normal", "bold"])
def test_words_are_as_wide_as_their_words_and_the_spaces(weight: str) -> None:
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    letters = FontProperties(weight=weight, size=100)

    def whole(line: str) -> float:
        return float(text_to_path.get_text_width_height_descent(line, letters, ismath=False)[0])

    lines = ["Cut out P1 and W12 (A to V), then prick Ty and AV.", "an eccentric rod  and its strap", "Ł 1:8 – ½ in."]
    for line in lines:
        assert width_of(line, 3.0, weight) / width_of("n", 3.0, weight) == pytest.approx(
            whole(line) / whole("n"), rel=1e-12
        )


@pytest.mark.parametrize("stem", STEMS)
def test_a_slide_is_not_called_a_link(stem: str) -> None:
    told = " ".join(steps(model_of(stem), Named.of(model_of(stem))))
    gear = example(stem).gear_type.name
    assert ("Slide: first" in told) == (gear in ("hackworth", "joy"))
    assert ("Link: first" in told) == (
        gear not in ("hackworth", "joy", "marshall", "baker", "southern", "plain eccentric")
    )
    assert ("the wheel or the slide" in told, "the wheel or the link" in told) == (
        "Slide: first" in told,
        "Link: first" in told,
    )


@pytest.mark.parametrize("stem", STEMS)
def test_pieces_have_the_outlines_of_the_drawing(stem: str) -> None:
    """A part's piece covers the part as drawn, to scale, and is but little wider: what card and fasteners need."""
    model = model_of(stem)
    drawing = elevation_of(side_of(stem))
    looked_at = 0
    for body in drawing.bodies:
        one = next((each for each in model.moving if each.name == body.name and body.kind in ("rod", "lever")), None)
        if one is None or not isinstance(body.follows, Pinned):
            continue
        holes = {hole.pin: hole.at for hole in one.piece.holes}
        a, b = body.follows.at_a, body.follows.at_b
        turn = (holes[body.follows.b] - holes[body.follows.a]) / (b - a)
        assert abs(turn) == pytest.approx(1 / model.scale, rel=1e-6)
        xy = [turn.real, -turn.imag, turn.imag, turn.real]
        shift = holes[body.follows.a] - turn * a
        areas = [shape.area for shape in body.shapes if isinstance(shape, Outline)]
        drawn = shapely.affinity.affine_transform(shapely.union_all(areas), [*xy, shift.real, shift.imag])
        eyes = [shapely.Point(h.at.real, h.at.imag).buffer(max(h.radius + 6.0, 6.1)) for h in one.piece.holes]
        slits = [slit.shape.buffer(4.1) for slit in one.piece.slits]
        whole = shapely.union_all([shapely.Polygon(each.exterior) for each in getattr(drawn, "geoms", (drawn,))])
        room = shapely.union_all([whole.buffer(4.0), *eyes, *slits]).buffer(3.0).buffer(-3.0)
        assert room.buffer(0.1).contains(one.piece.outline), body.name
        assert one.piece.outline.buffer(0.1).contains(whole), body.name
        looked_at += 1
    assert looked_at >= 1
