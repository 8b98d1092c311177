"""Figures scaled off an image: its plane, the doubts, what does not fit, what a picks file may say, the command."""

from __future__ import annotations

import json
import shutil
import tomllib
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.files.engine_file import read_engine
from linkmotion.files.photographs import picture_kind
from linkmotion.measuring.picks import KnownLength, KnownWay, Picks
from linkmotion.measuring.plane_of_image import PlaneOfImage, through
from linkmotion.measuring.taken import NORMAL
from linkmotion.studies.scaled_off import PictureError, ScaledOff, scaled_off
from tests.bad_engines.changed import EXAMPLES
from tests.bad_engines.command import Command
from tests.benchmarks.picked import held
from tests.pictured_engines import (
    CAMERA,
    PAPER,
    by_hand,
    drawn_on_paper,
    photographed,
    pictured,
    relation,
    through_matrix,
)
from tests.pictured_image import flat_drawing, framed, seen_through

PICTURES = EXAMPLES / "pictures"
PICKS = PICTURES / "dock_arrangement-picks.toml"
SISTER, SHUNTER = EXAMPLES / "dock_sister.toml", EXAMPLES / "dock_shunter.toml"


# ---- the plane -------------------------------------------------------------------------------------------------------


def test_a_plane_found_through_four_points_is_the_pinhole_cameras() -> None:
    """Against a 3 × 3 matrix of a camera, multiplied out: every other place is seen where it sees it, and back."""
    matrix = photographed(np.random.default_rng(5), 0.6, 800 + 200j)
    places = [-500 - 600j, 2200 - 600j, 2200 + 900j, -500 + 900j]
    view = through(places, [through_matrix(matrix, place) for place in places], leaning=True)
    assert view is not None
    for place in (0j, 1234 + 56j, -700 - 300j):
        assert complex(view.seen(place)) == pytest.approx(through_matrix(matrix, place), abs=1e-7)
        assert complex(view.place(through_matrix(matrix, place))) == pytest.approx(place, abs=1e-6)
    assert abs(view.leaning) > 1e-3  # or nothing of the perspective was tried


def test_points_in_line_tell_no_plane() -> None:
    line = [0j, 100 + 0j, 200 + 0j]
    assert through([*line, 300 + 0j], [*line, 300 + 0j], leaning=False) is None
    assert through([*line, 50 + 80j], [*line, 50 + 80j], leaning=True) is None
    assert through([*line, 50 + 80j], [*line, 50 + 80j], leaning=False) is not None


def test_a_view_comes_back_from_its_numbers() -> None:
    view = PlaneOfImage(3 + 4j, 1000.0, 600 + 5j, 2 - 1j, 300 - 800j, 0.01 + 0.02j)
    assert view.with_numbers(view.numbers) == view


# ---- figures and their doubts ----------------------------------------------------------------------------------------


def scaled(kind: str, seed: int, sigma: float = 1.5) -> ScaledOff:
    rng = np.random.default_rng(seed)
    matrix = photographed(rng, 0.6, 800 + 200j)
    if kind == PAPER:
        matrix = drawn_on_paper(rng, 0.6)
    own = pictured("stephenson_goods.toml", 1, "back")
    return scaled_off(relation("stephenson_goods.toml", 2), by_hand(own, matrix, rng, kind, sigma))


@pytest.mark.parametrize("kind", [PAPER, CAMERA])
def test_stated_doubts_hold_the_truth(kind: str) -> None:
    """Errors of one image hang together, so that a few images scatter: the bar itself is the benchmark's."""
    off = [each for own in held("dock_shunter.toml", kind, 4, seed=11).values() for each in own]
    assert len(off) >= 100
    assert 0.85 <= np.mean(np.abs(off) <= 1) <= 1.0
    assert 0.6 <= NORMAL * np.sqrt(np.mean(np.square(off))) <= 1.4  # not by doubts that are far too wide either


def test_a_surer_hand_makes_less_doubt() -> None:
    fine, rough = scaled(PAPER, 3, 0.5), scaled(PAPER, 3, 5.0)
    wide = {own.key: own.doubt for own in rough.figures}
    shared = [own for own in fine.figures if own.key in wide]
    assert len(shared) > 15
    assert all(own.doubt < wide[own.key] for own in shared)


def test_a_wrong_scale_is_wrong_in_all_lengths_alike() -> None:
    """A scale known to one part in a hundred: two long rods share nearly all of their doubt."""
    picks = scaled(PAPER, 4, 0.3).picks
    known = (KnownLength("cab side, foot", "cab side, top", 1300.0, 26.0), picks.known[0])
    found = scaled_off(
        relation("stephenson_goods.toml", 2),
        Picks(picks.points, picks.sigma, 0.0, known, 1e-4),
    )
    at = [found.parts.keys.index(key) for key in (("connecting_rod", "length"), ("eccentric_rods", "forward"))]
    own = found.found.covariance[np.ix_(at, at)]
    assert own[0, 1] / np.sqrt(own[0, 0] * own[1, 1]) > 0.9
    assert found.found.doubt(at[0]) == pytest.approx(2184.4 * 0.02, rel=0.1)


def test_a_point_put_beside_its_pin_is_named() -> None:
    """Found where something checks it: a mark of known place, seen 40 pixels off."""
    rng = np.random.default_rng(8)
    own, matrix = pictured("stephenson_goods.toml", 0, "front"), photographed(rng, 0.6, 800 + 200j)
    picks = by_hand(own, matrix, rng, CAMERA)
    points = dict(picks.points) | {"slot 1": (picks.points["slot 1"][0] + 60,)}
    elevation = relation("stephenson_goods.toml", 1)
    sound = scaled_off(elevation, picks)
    wrong = scaled_off(elevation, Picks(points, picks.sigma, picks.line, picks.known, picks.paper, True))
    assert sound.strained == []
    assert wrong.strained[0][0].startswith("slot")


def test_takings_of_a_point_that_lie_apart_are_named() -> None:
    """A pin that nothing else checks, put twice: near one another, then 30 pixels apart."""
    sound = scaled(PAPER, 3)
    assert "arm pin" in sound.unchecked
    (at,) = sound.picks.points["arm pin"]
    twice = {apart: dict(sound.picks.points) | {"arm pin": (at, at + apart)} for apart in (2.0, 30.0)}
    told = {
        apart: scaled_off(relation("stephenson_goods.toml", 2), Picks(points, 1.5, 0.9, sound.picks.known))
        for apart, points in twice.items()
    }
    assert "arm pin" not in [name for name, _by in told[2.0].strained]
    assert told[30.0].strained[0] == ("arm pin", pytest.approx(15 / (1.5 * np.sqrt(0.5)), rel=1e-9))


@pytest.mark.parametrize(
    ("keep", "words"),
    [
        ((), "what is known gives 2 of the 4"),
        ((KnownWay("axle", "weighshaft", 10.0), KnownWay("axle", "rocker shaft", 12.0)), "tells the scale"),
        ((KnownLength("axle", "weighshaft", 900.0), KnownLength("axle", "rocker shaft", 1400.0)), "which way is level"),
    ],
)
def test_what_does_not_tell_the_view_is_refused(keep: tuple[KnownWay | KnownLength, ...], words: str) -> None:
    picks = scaled(PAPER, 3).picks
    with pytest.raises(PictureError, match=words):
        scaled_off(relation("stephenson_goods.toml", 2), Picks(picks.points, 1.0, 0.0, keep))


# ---- the picture -----------------------------------------------------------------------------------------------------


def test_the_example_picture_shows_its_pins_where_they_were_put() -> None:
    """By the image alone: each pin's hole is a pale disc within a darker ring, about where the hand put it."""
    from matplotlib.image import imread

    grey = imread(PICTURES / "dock_arrangement.png")[:, :, 0]
    assert picture_kind((PICTURES / "dock_arrangement.png").read_bytes()[:64]) == "image/png"
    points = tomllib.loads(PICKS.read_text(encoding="utf-8"))["points"]
    for pin in ("arm pin", "foot", "union pin", "lever pin"):
        u, v = points[pin]
        rows, columns = np.mgrid[: grey.shape[0], : grey.shape[1]]
        far = np.hypot(columns - u, rows - v)
        assert grey[far < 4].mean() > grey[(far > 11) & (far < 15)].mean() + 0.05


def test_an_image_drawn_through_a_view_has_its_pins_where_the_view_says() -> None:
    """The centre of a hole's pale disc, found on the blurred image, against the matrix: to an eighth of a pixel."""
    name = "dock_shunter.toml"
    grey, flat = flat_drawing(name, 0, 0.0, 1.0)
    matrix, shape = framed(photographed(np.random.default_rng(2), 0.8, 800 + 200j), (-680.0, -620.0, 2750.0, 860.0))
    image = seen_through(grey, flat, matrix, shape)
    at = through_matrix(matrix, pictured(name, 0, "front").pins["union pin"])
    u, v = round(at.real), round(-at.imag)
    near = image[v - 14 : v + 15, u - 14 : u + 15]
    weight = np.clip(near - 0.85, 0.0, None)  # darker is the ring about it
    rows, columns = np.mgrid[-14:15, -14:15]
    assert u + float((weight * columns).sum() / weight.sum()) == pytest.approx(at.real, abs=0.15)
    assert v + float((weight * rows).sum() / weight.sum()) == pytest.approx(-at.imag, abs=0.15)


# ---- the file and the command ----------------------------------------------------------------------------------------


@pytest.fixture
def linkmotion(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Command:
    for source in (PICKS, PICTURES / "dock_arrangement.png", SISTER, SHUNTER):
        shutil.copy(source, tmp_path / source.name)
    monkeypatch.chdir(tmp_path)
    return Command(monkeypatch, capsys)


def test_the_state_written_holds_the_engine_that_was_drawn(linkmotion: Command, tmp_path: Path) -> None:
    """Scaled off the shunter's own picture, begun from her sister's file: the shunter's figures lie in the doubts."""
    run = linkmotion("trace", SISTER.name, PICKS.name, "--write", "traced.toml", "--picture", "over.svg")
    assert run.code == 0, run.out + run.err
    assert run.out.startswith("27 figures scaled off dock_arrangement.png;")
    assert "The gear turns in every notch" in run.out
    engine, truth = read_engine(tmp_path / "traced.toml"), read_engine(SHUNTER)
    assert engine.text.startswith(SISTER.read_text(encoding="utf-8"))
    taken = {where[3:]: own for where, own in engine.taken.items() if where[:2] == ("state", "from the picture")}
    gear = truth.gear()
    for table, key in (("eccentric_rod", "length"), ("radius_rod", "length"), ("combination_lever", "lower_arm"),
                       ("expansion_link", "foot_drop"), ("reversing", "lifting_link")):  # fmt: skip
        own = taken[table, key]
        assert own.doubt < 15.0
        assert abs(own.value - getattr(getattr(gear, table), key)) <= 1.6 * own.doubt
    assert b"<image" in (tmp_path / "over.svg").read_bytes()
    assert linkmotion("check", "traced.toml", "--state", "from the picture", "--tables").code in (0, 1)


def test_nothing_is_written_over_and_a_state_is_not_written_twice(linkmotion: Command, tmp_path: Path) -> None:
    assert linkmotion("trace", SISTER.name, PICKS.name, "--write", SISTER.name).code == 2
    assert linkmotion("trace", SISTER.name, PICKS.name, "--name", "as found").code == 2
    assert (tmp_path / SISTER.name).read_bytes() == SISTER.read_bytes()


def changed(text: str, old: str, new: str) -> str:
    assert old in text
    return text.replace(old, new)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"foot" =', '"fot" =', "did you mean 'foot'"),
        ('file = "dock_arrangement.png"', 'file = "../dock_arrangement.png"', "outside the folder"),
        ('file = "dock_arrangement.png"', 'file = "/etc/passwd"', "outside the folder"),
        ('file = "dock_arrangement.png"', 'file = "other.png"', "is not there"),
        ('file = "dock_arrangement.png"', f'file = "{PICKS.name}"', "is no picture"),
        ('file = "dock_arrangement.png"', "", "missing"),
        ('kind = "drawing"', 'kind = "photo"', "photograph"),
        ('kind = "drawing"', 'kind = "photograph"', "of the 8 figures of the view"),
        ("within = 3 ", "within = 0 ", "a plain number"),
        ("within = 3 ", "within = true ", "a plain number"),
        ('["rail, back", "rail, front"]', '["rail, back", "rail, frond"]', "was not put"),
        ('["rail, back", "rail, front"]', '["rail, back", "rail, back"]', "a list of 2 points"),
        ('level = ["rail, back", "rail, front"]', 'levle = ["rail, back", "rail, front"]', "what is known?"),
        ('length = "42 in"', 'length = "42 inn"', "inn"),
        ('length = "42 in"', 'length = "-42 in"', "more than nothing"),
        ('"axle" = [', '"axle" = [1.0, ', "two numbers"),
        ("paper = 1 ", 'as_drawn = ["crosshead.arm_z"]\npaper = 1 ', "crosshead.arm_y"),
    ],
)
def test_a_picks_file_that_is_wrong_is_refused(
    linkmotion: Command, tmp_path: Path, old: str, new: str, words: str
) -> None:
    path = tmp_path / PICKS.name
    path.write_text(changed(path.read_text(encoding="utf-8"), old, new), encoding="utf-8")
    run = linkmotion("trace", SISTER.name, PICKS.name)
    assert run.code == 2, run.out
    assert words in " ".join(run.err.split())
    assert PICKS.name in run.err


def test_three_known_points_in_line_are_refused(linkmotion: Command, tmp_path: Path) -> None:
    text = (tmp_path / PICKS.name).read_text(encoding="utf-8").split("[[known]]", 1)[0]
    text = changed(text, 'kind = "drawing"', 'kind = "photograph"')
    marks = {"m 1": (0, -500), "m 2": (800, -500), "m 3": (1600, -500), "m 4": (800, 700)}
    text += "".join(f'[[known]]\npoint = "{name}"\nx = "{x} mm"\ny = "{y} mm"\n' for name, (x, y) in marks.items())
    text += "[points]\n" + "".join(f'"{name}" = [{x + 700}, {800 - y}]\n' for name, (x, y) in marks.items())
    (tmp_path / PICKS.name).write_text(text + "axle = [700, 800]\nfoot = [1000, 500]\n", encoding="utf-8")
    run = linkmotion("trace", SISTER.name, PICKS.name)
    assert run.code == 2
    assert "lie in line" in run.err


@pytest.mark.parametrize("far", [0.0, 1e-9, 90_000.0])
def test_points_that_lie_on_one_another_are_refused_or_told(linkmotion: Command, tmp_path: Path, far: float) -> None:
    """No traceback, and no figure told as if it were known."""
    head, points = (tmp_path / PICKS.name).read_text(encoding="utf-8").split("[points]\n")
    lines = [line.split(" = ")[0] for line in points.splitlines()]
    put = [f"{name} = [{500 + far * (i % 2)}, {500 - far * (i % 3)}]" for i, name in enumerate(lines)]
    (tmp_path / PICKS.name).write_text("\n".join([head, "[points]", *put]), encoding="utf-8")
    run = linkmotion("trace", SISTER.name, PICKS.name)
    assert run.code == 2 or (run.code == 1 and "DOES NOT FIT" in run.out)
    assert "Traceback" not in run.err


def test_a_gear_that_cannot_turn_with_the_figures_is_told(linkmotion: Command, tmp_path: Path) -> None:
    """The foot put so near the trunnion that the return crank cannot rock it."""
    path = tmp_path / PICKS.name
    text = path.read_text(encoding="utf-8")
    u, v = tomllib.loads(text)["points"]["trunnion"]
    lines = [f'"foot" = [{u}, {v + 55}]' if line.startswith('"foot"') else line for line in text.splitlines()]
    path.write_text("\n".join(lines), encoding="utf-8")
    ran = CliRunner().invoke(app, ["trace", str(tmp_path / SISTER.name), str(path), "--json"], catch_exceptions=False)
    told = json.loads(ran.output)
    assert ran.exit_code == 1
    assert told["turns"] is False
    assert told["refused"]
