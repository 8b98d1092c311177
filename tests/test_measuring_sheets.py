"""Measuring sheets: every letter at its dimension's ends, and letters and keys as the starter file has them."""

from __future__ import annotations

import re
from html import unescape
from itertools import pairwise
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
import pymupdf
import pytest
import shapely
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from linkmotion.elevation.dimension_marks import ANGLE, RADIUS, DimensionMark
from linkmotion.files.engine_file import parse_engine, read_engine
from linkmotion.files.marks_form import marks_form
from linkmotion.files.pattern import pattern
from linkmotion.files.starter import starter
from linkmotion.files.tram_file import parse_tram_marks
from linkmotion.gears import GEARS
from linkmotion.gears.letters import letters, said_of
from linkmotion.views.dimension_plot import height_of, plot_dimensions, view_of
from linkmotion.views.labels import Names
from linkmotion.views.measuring_parts import Drawing, Measured, Part
from linkmotion.views.measuring_sheets import measuring_sheets
from linkmotion.views.paper import as_pdf
from linkmotion.views.style import STYLE
from tests.bad_engines.command import Command, assert_refused
from tests.gears_at_hand import EXAMPLES
from tests.test_how_to_add_a_gear import block, toy_gear  # noqa: F401 - a fixture
from tests.test_paper import MM, SIZES, spans

NAMES = [path.stem for path in EXAMPLES]
FOLDER = EXAMPLES[0].parent


def engine(name: str) -> Any:
    return read_engine(FOLDER / f"{name}.toml")


# ---- letters and keys ------------------------------------------------------------------------------------------------


def on_sheets(measured: Measured) -> dict[str, tuple[str, str]]:
    """Letter to (table, key) as the sheets have them; notches by their table."""
    return {
        row.letter: (part.table.split(".")[0], ".".join((*part.table.split(".")[1:], row.key)))
        for part in measured.parts(None)
        for row in part.rows
    }


def in_starter(gear: str) -> dict[str, tuple[str, str]]:
    """Letter to (table, key) as the starter file has them."""
    found, table = {}, ""
    for line in starter(gear, "mm").split("\n"):
        if heading := re.fullmatch(r"(?:# )?\[([\w.]+)\]", line):
            table = heading[1]
        elif table.endswith(".notches") and (letter := re.match(r"# ([A-Z]+\d+): ", line)):
            found[letter[1]] = (table.removesuffix(".notches"), "notches")
        elif told := re.match(r"(?:# )?(\w+) = .*?  # ([A-Z]+\d+): ", line):
            found[told[2]] = (table, told[1])
        elif inner := re.match(r"# (\w+) = \{.*\}  # .* \(([^()]*)\)$", line):
            pairs = re.findall(r"(\w+) ([A-Z]+\d+)", inner[2])
            found |= {letter: (table, f"{inner[1]}.{key}") for key, letter in pairs}
    return found


@pytest.mark.parametrize("gear", GEARS)
def test_keys_and_letters_agree_between_sheets_and_starter_file(gear: str) -> None:
    own = {letter: key for key, letter in letters(GEARS[gear]).items()}
    assert in_starter(gear) == own
    assert on_sheets(Measured(GEARS[gear], pattern(gear), False, "drawing", "mm")) == own


def test_keys_and_letters_of_the_printed_gear_agree(toy_gear: Any) -> None:  # noqa: F811
    own = {letter: key for key, letter in letters(toy_gear).items()}
    assert in_starter("crosshead lever") == own
    assert on_sheets(Measured(toy_gear, None, False, "drawing", "mm")) == own
    pump = parse_engine(block("toml"))
    assert on_sheets(Measured(toy_gear, pump, True, "drawing", "mm")) == own


def test_the_printed_gear_has_sheets_with_nothing_else_written(toy_gear: Any) -> None:  # noqa: F811
    bare = measuring_sheets(Measured(toy_gear, None, False, "drawing", "in"))
    assert "<img" not in bare
    pump = parse_engine(block("toml"))
    page = measuring_sheets(Measured(toy_gear, pump, True, "drawing", "mm"))
    assert all(f"<b>{letter}</b>" in own for own in (bare, page) for letter in letters(toy_gear).values())
    assert page.count("<img") >= len({table for table, _key in letters(toy_gear)})


def test_an_error_at_a_key_tells_its_letter(linkmotion: Command, tmp_path: Path) -> None:
    text = (FOLDER / "dock_shunter.toml").read_text(encoding="utf-8")
    file = tmp_path / "ours.toml"
    file.write_text(text.replace('foot_drop = "11 15/16"', 'foot_drop = "11 5/16 feets"', 1), encoding="utf-8")
    run = linkmotion("check", file)
    assert_refused(run, file)
    assert "expansion_link.foot_drop (H3): " in run.err
    file.write_text(text + '\n[state.odd.left.valve]\nport_width = "?"\n', encoding="utf-8")
    assert "port_width (C1): '?'" in linkmotion("check", file).err


# ---- pictures --------------------------------------------------------------------------------------------------------


def pictures(drawing: Drawing) -> list[tuple[list[DimensionMark], set[str] | None]]:
    tables: dict[str, list[DimensionMark]] = {}
    for (table, key), mark in drawing.marks.items():
        tables.setdefault(".".join((table, *key.split(".")[:-1])), []).append(mark)
    groups = [group for marks in tables.values() for group in drawing.groups(marks)]
    return [(group, {mark.body for mark in group}) for group in groups]


def measured_on_its_picture(drawing: Drawing, marks: list[DimensionMark], bodies: set[str] | None) -> None:
    """Each letter points to its own line; that is as long as the dimension, and abreast of its ends."""
    with matplotlib.rc_context(STYLE):  # type: ignore[arg-type]
        view = view_of(drawing.elevation, drawing.places, marks, bodies)
        figure = Figure(figsize=(7.2, height_of(view, 7.2, 1.3, 3.0)))
        ax = figure.add_axes((0, 0, 1, 1))
        plot_dimensions(drawing.elevation, drawing.places, marks, ax, bodies=bodies, view=view)
        FigureCanvasAgg(figure).draw()
    names = next(artist for artist in ax.get_children() if isinstance(artist, Names))
    assert sorted(text.get_text() for text in names.texts) == sorted(mark.letter for mark in marks)
    back = ax.transData.inverted()
    per_point = float(np.ptp(ax.get_xlim())) / 7.2 / 72
    tips = {}
    for text, leader in zip(names.texts, names._leaders, strict=True):
        tip = np.array(leader.get_xydata())[1]
        tips[text.get_text()] = complex(*back.transform(tip))
    renderer: Any = figure.canvas.get_renderer()  # type: ignore[attr-defined]
    boxes = [text.get_window_extent(renderer) for text in names.texts]
    assert not any(one.overlaps(two) for i, one in enumerate(boxes) for two in boxes[:i])
    inside = ax.get_window_extent()
    assert all(
        inside.x0 <= box.x0 and box.x1 <= inside.x1 and inside.y0 <= box.y0 <= box.y1 <= inside.y1 for box in boxes
    )
    for mark in marks:
        lines = [artist for artist in ax.get_children() if artist.get_gid() == f"mark-{mark.letter}"]
        assert lines, mark
        ends = [end for line in lines for end in ends_of(line)]
        if mark.kind == RADIUS:
            assert mark.centre is not None
            assert min(abs(abs(end - mark.centre) - mark.size) for end in ends) < 1e-6
        elif mark.kind == ANGLE:
            assert mark.centre is not None
            for side in (mark.start, mark.end):
                turned = [abs(np.angle((end - mark.centre) / (side - mark.centre))) for end in ends]
                assert min(turned) < 1e-6 or abs(mark.turned) < 0.2, mark
        elif mark.centre is None:
            way = (mark.end - mark.start) / abs(mark.end - mark.start) if mark.size else 1.0
            for end in (mark.start, mark.end):
                assert min(abs(((own - end) * np.conj(way)).real) for own in ends) < 1e-6, mark
        if len(ends) == 2 and mark.kind != RADIUS:
            own = shapely.LineString([(end.real, end.imag) for end in ends])
            assert own.distance(shapely.Point(tips[mark.letter].real, tips[mark.letter].imag)) < per_point, mark


def ends_of(artist: Any) -> list[complex]:
    if hasattr(artist, "_posA_posB"):
        return [complex(*place) for place in artist._posA_posB]
    return [complex(x, y) for x, y in zip(*artist.get_data(), strict=True)]


@pytest.mark.parametrize("name", NAMES)
def test_every_letter_stands_at_its_dimension(name: str) -> None:
    drawing = Drawing.of(engine(name))
    for marks, bodies in pictures(drawing):
        measured_on_its_picture(drawing, marks, bodies)


def test_every_letter_of_the_printed_gear_stands_at_its_dimension(toy_gear: Any) -> None:  # noqa: F811
    drawing = Drawing.of(parse_engine(block("toml")))
    for marks, bodies in pictures(drawing):
        measured_on_its_picture(drawing, marks, bodies)


def test_the_valve_is_drawn_central_so_that_a_lap_is_between_two_edges_that_are_seen() -> None:
    drawing = Drawing.of(engine("dock_shunter"))
    section, lap = drawing.elevation.section, drawing.marks["valve", "steam_lap"]
    x0, x1 = section.chest.valve.ports["front"]
    edge = section.ports_at + section.along * section.chest.own(x1, -section.chest.face)
    assert lap.start == pytest.approx(edge, abs=1e-9)
    assert lap.size == pytest.approx(13 / 16 * 25.4, abs=1e-6)
    assert x1 - x0 == pytest.approx(1.125 * 25.4, abs=1e-6)


# ---- sheets ----------------------------------------------------------------------------------------------------------


def cells(page: str, letter: str) -> list[str]:
    """The boxes of a letter's first row: drawn, left, right."""
    row = re.search(rf"<tr><td><b>{letter}</b></td>.*?</tr>", page, re.DOTALL)
    assert row, letter
    return [unescape(cell) for cell in re.findall(r'<td class="line">(.*?)</td>', row[0])]


def test_what_a_state_says_is_filled_in_and_nothing_else() -> None:
    dock = engine("dock_shunter")
    page = measuring_sheets(Measured(dock.gear_type, dock, True, "as found", "in"))
    assert cells(page, "B1") == ["57.500", "", ""]
    assert cells(page, "D5") == ["13.875", "13.938", "13.938"]
    assert cells(page, "J1") == ["37.875", "37.938", ""]
    assert cells(page, "F2")[0] == "83.5°"
    assert cells(measuring_sheets(Measured(dock.gear_type, dock, True, "drawing", "in")), "D5") == ["13.875", "", ""]


@pytest.mark.parametrize("gear", GEARS)
def test_a_bare_gear_is_drawn_and_its_boxes_are_empty(gear: str) -> None:
    made = Measured(GEARS[gear], pattern(gear), False, "drawing", "mm")
    own = [row for part in made.parts(None) for row in part.rows]
    assert {figure for row in own for figure in row.figures} == {""}
    assert made.drawing() is not None


@pytest.mark.parametrize("gear", GEARS)
def test_every_dimension_is_told_how_to_take(gear: str) -> None:
    made = Measured(GEARS[gear], pattern(gear), False, "drawing", "mm")
    rows = [row for part in made.parts(made.drawing()) for row in part.rows]
    assert len(rows) >= len(said_of(GEARS[gear]))
    assert all(len(row.how) > 40 and row.how.endswith(".") for row in rows)


@pytest.mark.parametrize(
    ("name", "key", "words"),
    [
        ("dock_shunter", "G1", "over the pins"),
        ("dock_shunter", "H1", "plumb line"),
        ("dock_shunter", "H2", "from the rail"),
        ("dock_shunter", "H5", "chord and rise"),
        ("dock_shunter", "H3", "marking-off table"),
        ("dock_shunter", "F1", "nearest to one fixed point"),
        ("dock_shunter", "C2", "valve central"),
        ("dock_shunter", "E1", "slide bars"),
        ("stephenson_goods", "E2", "crank pin brought to one line"),
        ("allan_saddle_tank", "D7", "Protractor"),
        ("dock_shunter", "A4", "Clinometer"),
        ("dock_shunter", "D1", "in each notch"),
    ],
)
def test_how_a_dimension_is_taken_goes_by_what_it_is(name: str, key: str, words: str) -> None:
    own = engine(name)
    made = Measured(own.gear_type, own, True, "drawing", own.unit)
    rows = {row.letter: row for part in made.parts(made.drawing()) for row in part.rows}
    assert words in rows[key].how, rows[key]


@pytest.mark.parametrize(("name", "paper"), [("donkey_eccentric", "A4"), ("hackworth_quarry", "letter")])
def test_sheets_are_of_their_paper_in_type_of_8_points_with_boxes_of_8_mm(name: str, paper: str) -> None:
    own = engine(name)
    made = Measured(own.gear_type, own, True, "drawing", own.unit)
    with pymupdf.open(stream=as_pdf(measuring_sheets(made), paper)) as sheets:
        parts = list(made.parts(None))
        assert len(sheets) == 2 + len(parts), "a sheet for each part, one of the whole, one of the marks"
        for number, page in enumerate(sheets, 1):
            told = spans(page)
            assert tuple(page.rect.br) == pytest.approx(SIZES[paper], abs=0.5)
            assert min(span["size"] for span in told) >= 7.95
            assert all(span["bbox"][0] > 0 and span["bbox"][2] < page.rect.width - 10 * MM for span in told)
            foot = " ".join(span["text"] for span in told if span["bbox"][3] > page.rect.height - 13 * MM)
            assert own.name[:20] in foot
            assert f"{number} of {len(sheets)}" in foot
            assert not overlapping(told)
        for part, page in zip(parts, list(sheets)[1:-1], strict=True):
            assert {row.letter for row in part.rows} <= {span["text"].strip() for span in spans(page)}
            down = sorted(span["origin"][1] for span in spans(page) if of_row(span, part))
            assert all(below - above >= 8 * MM - 0.2 for above, below in pairwise(down))


def of_row(span: dict[str, Any], part: Part) -> bool:
    """Whether a text is the letter at the head of a row."""
    return span["size"] > 9 and span["text"].strip() in {row.letter for row in part.rows}


def overlapping(told: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """Texts that lie on one another, by more than the leading that a line's box has about its letters."""
    found = []
    for i, one in enumerate(told):
        for two in told[:i]:
            (x0, y0, x1, y1), (u0, v0, u1, v1) = one["bbox"], two["bbox"]
            if min(x1, u1) - max(x0, u0) > 1.0 and min(y1, v1) - max(y0, v0) > 0.45 * min(one["size"], two["size"]):
                found.append((one["text"], two["text"]))
    return found


# ---- marks on wheel and slide bar ------------------------------------------------------------------------------------


def test_a_form_for_marks_filled_in_is_read_as_marks() -> None:
    text = re.sub(r"^#.*\n", "", marks_form("in"), flags=re.MULTILINE)
    for figure in ("48", "1", "5", "2", "4", "70", "76", "71", "75"):
        text = text.replace('"?"', f'"{figure}"', 1)
    marks = parse_tram_marks(text, "marks.toml", "mm")
    assert [pair.end for pair in marks.pairs] == ["front", "front", "back", "back"]
    assert marks.diameter == pytest.approx(48 * 25.4, abs=1e-9)


def test_a_form_for_marks_that_is_not_filled_in_is_told(linkmotion: Command, tmp_path: Path) -> None:
    (tmp_path / "marks.toml").write_text(marks_form("in"), encoding="utf-8")
    run = linkmotion("tram", FOLDER / "dock_shunter.toml", tmp_path / "marks.toml")
    assert_refused(run, tmp_path / "marks.toml")
    assert "still to be filled in" in run.err


# ---- the command -----------------------------------------------------------------------------------------------------


def test_the_command_writes_a_page_and_a_form_for_marks(linkmotion: Command, tmp_path: Path) -> None:
    page, marks = tmp_path / "m.html", tmp_path / "marks.toml"
    run = linkmotion("measure", FOLDER / "donkey_eccentric.toml", "--into", page, "--marks", marks)
    assert (run.code, run.err) == (0, "")
    assert str(page) in run.out
    told, form, rest = marks.read_text(encoding="utf-8").partition(marks_form(engine("donkey_eccentric").unit))
    assert (bool(form), rest) == (True, "")
    assert all(line.startswith("#") for line in told.split("\n") if line), "words only stand before the form"
    for key in re.findall(r'^(?:# )?(\w+) = "\?"', form, re.MULTILINE):
        assert f"{key}: " in told, key
    again = linkmotion("measure", FOLDER / "donkey_eccentric.toml", "--into", page, "--marks", marks)
    assert_refused(again, marks)


@pytest.mark.parametrize(
    ("words", "remedy"),
    [
        (("walshaerts",), "did you mean 'walschaerts'"),
        (("joy", "--state", "as found"), "leave out --state"),
        (("joy", "--unit", "cm"), "mm, in, ft, thou"),
        (("no_engine.toml",), "check the name"),
    ],
)
def test_what_the_command_cannot_do_is_told(
    words: tuple[str, ...], remedy: str, linkmotion: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    run = linkmotion("measure", *words)
    assert (run.code, run.out) == (2, "")
    assert remedy in run.err
    assert list(tmp_path.iterdir()) == []
