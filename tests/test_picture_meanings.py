"""What lines, colours and words of a picture mean: one thing each, told without colour, and true of the gear."""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path

import matplotlib.colors
import numpy as np
import pytest
from matplotlib.figure import Figure

from linkmotion.engine import DRAWING
from linkmotion.events import EVENTS
from linkmotion.files.engine_file import read_engine
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.diagnosis.worn_place import WORN_SLOT
from linkmotion.studies.findings import findings
from linkmotion.studies.steam.beats import beats
from linkmotion.valve import ENDS
from linkmotion.views import style
from linkmotion.views.beats_plot import plot_strip
from linkmotion.views.beats_words import heard
from linkmotion.views.diagnosis_plots import row_name
from linkmotion.views.notch_rows import Series, plot_leads
from linkmotion.views.plots import plot_openings
from linkmotion.views.report_matrix import matrix_of
from linkmotion.views.tables import Shown
from tests.bad_engines.changed import EXAMPLES
from tests.bad_engines.command import Command
from tests.sight import lightness
from tests.svg_texts import read_svg

DOCK = EXAMPLES / "dock_shunter.toml"
STATES = [
    (path.stem, state)
    for path in sorted(EXAMPLES.glob("*.toml"))
    for state in (DRAWING, *read_engine(path).states)
]  # fmt: skip


def test_lightness_of_white_grey_and_black() -> None:
    """Mid grey #777777 has L* 50.03 (worked by hand: 0.1845 of white's luminance)."""
    assert lightness("#ffffff") == pytest.approx(100.0, abs=1e-9)
    assert lightness("#777777") == pytest.approx(50.03, abs=0.01)
    assert lightness("#000000") == pytest.approx(0.0, abs=1e-9)


def test_what_stands_beside_one_another_is_told_on_grey_paper() -> None:
    for one, two in ((style.STEAM, style.EXHAUST), (style.LEFT, style.RIGHT), (style.INK, style.BEHIND)):
        assert abs(lightness(one) - lightness(two)) >= 20.0, (one, two)
    lines = [str(style.flow_line(flow, end)["ls"]) for flow in style.FLOWS for end in ENDS]
    assert len(set(lines)) == 4
    looks = [style.mark(side, end) for side in ("left", "right") for end in ENDS]
    marks = {(look["marker"], look["mfc"] == style.PAPER) for look in looks}
    assert len(marks) == 4


def test_no_colour_means_two_things() -> None:
    """Meanings: steam, exhaust, left, right, held against, within the target, out of it, what is looked at."""
    named = (style.STEAM, style.EXHAUST, style.LEFT, style.RIGHT, style.BEHIND, style.BAND, style.FLAG, style.INK)
    for one, two in combinations(named, 2):
        apart = np.subtract(matplotlib.colors.to_rgb(one), matplotlib.colors.to_rgb(two))
        assert np.linalg.norm(apart) > 0.15, (one, two)


def test_every_event_is_named_at_its_place_and_on_its_ends_side() -> None:
    """Each word points to its own end's event; front ends above the line, back ends below it."""
    side = assess(read_engine(DOCK), "as found").sides[0]
    ax = plot_openings(side, 0, "forward", "in", Figure().subplots())
    told = [note for note in ax.texts if note.get_text() in EVENTS]
    assert sorted(note.get_text() for note in told) == sorted([*EVENTS, *EVENTS])
    for note in told:
        end = "front" if note.xyann[1] > 0 else "back"
        own = side.events["forward"][end].angle[note.get_text()][0] + (180.0 if end == "back" else 0.0)
        assert note.xy == pytest.approx((own % 360, 0.0), abs=0.02)  # back dead centre: 180.00
        assert abs(note.xyann[0]) <= 20.0, "no word strays from its mark"
    words = {note.get_text() for note in ax.texts}
    assert {"front end", "back end", "port full open"} <= words


@pytest.mark.parametrize(("name", "state"), STATES)
def test_the_words_of_events_stand_in_the_order_of_their_marks(name: str, state: str) -> None:
    """However near two events lie: measured where the words come to stand on the narrowest picture, in every notch."""
    found = assess(read_engine(EXAMPLES / f"{name}.toml"), state)
    for side in found.distinct_sides:
        for notch in range(len(side.notches)):
            figure = Figure(figsize=(style.HALF, 3.0), dpi=72)
            ax = plot_openings(side, notch, side.driven(notch)[0], "mm", figure.add_axes((0.18, 0.2, 0.76, 0.7)))
            for sign in (1, -1):
                told = [note for note in ax.texts if note.get_text() in EVENTS and note.xyann[1] * sign > 0]
                marks = [float(ax.transData.transform(note.xy)[0]) for note in told]
                words = [mark + note.xyann[0] for mark, note in zip(marks, told, strict=True)]
                assert np.argsort(words).tolist() == np.argsort(marks).tolist(), (side.side, side.notches[notch])
                assert np.all(np.diff(np.sort(words)) > 9.0), "each has its own line"


def test_the_line_of_the_full_port_lies_under_the_curves() -> None:
    side = assess(read_engine(DOCK)).sides[0]
    ax = plot_openings(side, 0, "forward", "mm", Figure().subplots())
    full = side.ports.port_width
    level = [line for line in ax.lines if np.allclose(np.abs(line.get_ydata()), full, rtol=0, atol=1e-9)]
    curves = [line for line in ax.lines if len(np.atleast_1d(line.get_ydata())) > 100]
    assert len(level) == 2
    assert len(curves) == 4
    assert max(line.get_zorder() for line in level) < min(line.get_zorder() for line in curves)


def test_the_band_of_leads_is_as_wide_as_the_target_about_the_mean_of_the_ends() -> None:
    engine = read_engine(DOCK)
    found = assess(engine, "as found")
    series = [Series(side.side, side) for side in found.sides]
    ax = plot_leads(series, "mm", engine.targets, Figure().subplots())
    bars = [(bar.get_x(), bar.get_x() + bar.get_width()) for bar in ax.patches]
    leads = [(side.events["forward"]["front"].lead, side.events["forward"]["back"].lead) for side in found.sides]
    pairs = [pair for front, back in leads for pair in zip(front, back, strict=True)]
    assert len(bars) == len(pairs) == 16
    for (low, high), (front, back) in zip(bars, pairs, strict=True):
        assert high - low == pytest.approx(engine.targets.lead_difference, abs=1e-9)
        within = max(front, back) <= high + 1e-9 and min(front, back) >= low - 1e-9
        assert within == (abs(front - back) <= engine.targets.lead_difference)


@pytest.mark.parametrize(("name", "state"), STATES)
def test_the_matrix_shades_what_is_out_of_target_and_nothing_else(name: str, state: str) -> None:
    """Held against the findings: notch, direction, side and end of every one that has a cell."""
    engine = read_engine(EXAMPLES / f"{name}.toml")
    found = assess(engine, state)
    matrix = matrix_of(found, Shown(engine.unit))
    sides = [side.side for side in found.distinct_sides]
    places = [(what, side, end) for what in ("lead", "cutoff") for side in sides for end in ENDS]
    places += [("lost motion", side, "") for side in sides]
    shaded = {
        (*place, row.notch, row.direction)
        for row in matrix.rows for place, cell in zip(places, row.cells, strict=True)
        if cell.shade and place[0] != "lost motion"
    }  # fmt: skip
    assert shaded == {cell for finding in findings(found) if finding.out for cell in _cells(finding, sides)}
    most = {side.side: side.lost.max(axis=1) for side in found.distinct_sides}
    for row in matrix.rows:
        i = found.sides[0].notches.index(row.notch)
        lost = [cell for place, cell in zip(places, row.cells, strict=True) if place[0] == "lost motion"]
        assert [bool(cell.shade) for cell in lost] == [
            bool(most[side][i] > engine.targets.lost_motion) for side in sides
        ]


def _cells(finding: object, sides: list[str]) -> list[tuple[str, ...]]:
    """The cells in which a finding shows: of a difference between the ends both ends', of one between sides both."""
    what, unit, side, notch, way, end = finding.place  # type: ignore[attr-defined]
    if what not in ("lead", "cutoff", "sides"):
        return []
    figure = "lead" if unit == "mm" else "cutoff"
    which = sides if side in ("", "both") else [side]
    return [(figure, own, each, notch, way) for own in which for each in ([end] if end else ENDS)]


def test_the_likeliest_suspect_has_the_longest_bar_and_its_limits_are_told(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    run, picture = Command(monkeypatch, capsys), tmp_path / "suspects.svg"
    readings = EXAMPLES / "readings" / "dock_shunter.toml"
    told = run("diagnose", DOCK, readings, "--picture", picture)
    assert told.code == 1
    plot = read_svg(picture.read_bytes())
    low, high = re.search(r"19 in 20, if it is: (\S+) in to (\S+) in", told.out).groups()  # type: ignore[union-attr]
    limits = [text.words for text in plot.texts if f"{low} in to {high} in" in text.words]
    assert [words.endswith("first") for words in limits] == [True]
    bars = _bars(picture.read_text("utf-8"))
    assert len(bars) > 5
    first = min(text.outline.centroid.y for text in plot.texts if text.words in limits)
    assert [y for y, length in bars if length == max(length for _y, length in bars)] == pytest.approx([first], abs=6.0)
    assert [length for _y, length in sorted(bars)] == sorted((length for _y, length in bars), reverse=True)


def test_the_diagnosis_picture_cuts_no_name_and_gives_lengths_alike_many_decimals(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    run, picture = Command(monkeypatch, capsys), tmp_path / "suspects.svg"
    told = run("diagnose", DOCK, EXAMPLES / "readings" / "dock_shunter.toml", "--picture", picture)
    plot = read_svg(picture.read_bytes())
    assert [text.words for text in plot.texts if "…" in text.words] == []
    assert "front cutoff, full backward" in [text.words for text in plot.texts]
    worn = row_name((WORN_SLOT, "full backward"))
    assert "full backward" in worn
    assert style.label(worn) == worn  # as rows cut what is too long
    for words in (plot.words, told.out.split("Suspects")[1].split("Readings")[0]):
        decimals = re.findall(r"\d\.(\d+) in\b", words)
        assert len(decimals) > 20
        assert {len(own) for own in decimals} == {3}


def _bars(svg: str) -> list[tuple[float, float]]:
    """Height and length of every bar of the first panel: closed paths with its clip."""
    panel = svg[svg.index('id="axes_1"') : svg.index('id="axes_2"')]
    found = []
    for path in re.findall(r'<path d="(M [^"]+z\s*)" clip-path', panel):
        points = np.array([[float(n) for n in pair] for pair in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path)])
        found.append((float(points[:, 1].mean()), float(np.ptp(points[:, 0]))))
    return found


def test_the_strip_of_beats_is_in_milliseconds() -> None:
    """At 60 revolutions a minute a turn takes a second: a degree is 2.7778 ms."""
    case = beats(assess(read_engine(DOCK), "as found"), 0, "forward")
    ax = plot_strip([case], 60.0, Figure(figsize=(7.2, 2)).subplots())
    assert ax.get_xlim() == pytest.approx((0.0, 1000.0), abs=1e-9)
    marks = sorted(float(line.get_xdata()[0]) for line in ax.lines if line.get_marker() in "<>")
    assert marks == pytest.approx(sorted(beat.angle / 0.36 for beat in case.sounding), abs=1e-6)
    assert "ms" in ax.get_xlabel()


def test_what_is_heard_is_told_in_words() -> None:
    """The gaps told are those of the beats, and they make up the turn; a limp is told where there is one."""
    engine = read_engine(DOCK)
    for state in (DRAWING, "as found"):
        case = beats(assess(engine, state), 0, "forward")
        for rate in (60.0, 150.0):
            (words,) = heard(case, rate)
            told = re.search(rf"from the {case.sounding[0].name} on ([\d, and]+) ms to the next", words)
            assert told is not None
            gaps = [float(gap) for gap in re.findall(r"\d+", told.group(1))]
            turn = 60_000 / rate
            angles = [beat.angle for beat in case.sounding]
            own = [
                (later - now) % 360 / 360 * turn for now, later in zip(angles, [*angles[1:], angles[0]], strict=True)
            ]
            assert gaps == pytest.approx(own, abs=0.51)  # whole milliseconds
            assert "limp" in words
            longest = case.sounding[(int(np.argmax(own)) + 1) % len(own)].name
            assert f"longest wait before the {longest}" in words
    even = beats(assess(read_engine(EXAMPLES / "donkey_eccentric.toml")), 0, "forward")
    assert "even to the ear" in "".join(heard(even, 60.0))


def found_side(state: str) -> SideEvents:
    return assess(read_engine(DOCK), state).sides[0]


def test_the_drawing_lies_grey_behind_what_was_found() -> None:
    ax = plot_openings(found_side("as found"), 0, "forward", "mm", Figure().subplots(), found_side(DRAWING))
    grey = [
        line for line in ax.lines if line.get_color() == style.BEHIND and len(np.atleast_1d(line.get_xdata())) > 100
    ]
    own = [line for line in ax.lines if line.get_color() in (style.STEAM, style.EXHAUST)
           and len(np.atleast_1d(line.get_xdata())) > 100]  # fmt: skip
    assert len(grey) == len(own) == 4
    assert max(line.get_zorder() for line in grey) < min(line.get_zorder() for line in own)
    assert "drawing" in {text.get_text() for text in ax.texts}
