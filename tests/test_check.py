"""``linkmotion check``: exit status, tables, JSON, CSV and report."""

from __future__ import annotations

import base64
import csv
import io
import json
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from fractions import Fraction
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from linkmotion import revolution
from linkmotion.files.engine_file import read_engine
from linkmotion.files.lengths import UNITS, parse_length
from linkmotion.linkage import Harmonics
from linkmotion.linkage.turning_points import extremes
from linkmotion.studies.assess import assess
from linkmotion.studies.findings import findings
from linkmotion.studies.standing import how_it_stands
from linkmotion.studies.table import COLUMNS, event_rows
from tests.apart import apart, open_folder
from tests.bad_engines.changed import DOCK, EXAMPLES, METRE, changed, replaced
from tests.bad_engines.command import Command, Run

SHUNTER, GAUGE = EXAMPLES / "dock_shunter.toml", EXAMPLES / "metre_gauge.toml"


def written(folder: Path, text: str, name: str = "engine.toml") -> Path:
    (folder / name).write_text(text, encoding="utf-8")
    return folder / name


# --- exit status ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("engine", "output"),
    [(SHUNTER, "--tables"), (GAUGE, "--tables"), (GAUGE, "--json"), (GAUGE, "--csv")],
    ids=lambda given: given if isinstance(given, str) else given.stem,
)
@pytest.mark.parametrize(("state", "code"), [("drawing", 0), ("as found", 1)])
def test_the_status_says_whether_something_is_out(
    engine: Path, state: str, code: int, output: str, linkmotion: Command
) -> None:
    run = linkmotion("check", engine, "--state", state, output)
    assert (run.code, run.err) == (code, "")


def test_one_state_out_of_several_is_enough(linkmotion: Command) -> None:
    assert linkmotion("check", GAUGE, "--state", "drawing", "--state", "as found", "--tables").code == 1


def test_remarks_alone_leave_the_status_at_0(linkmotion: Command, tmp_path: Path) -> None:
    file = written(tmp_path, changed("valve", "steam_lap", "30"))
    run = linkmotion("check", file, "--json", "--notch", "full forward")
    told = json.loads(run.out)["findings"]
    assert told
    assert not any(finding["out_of_target"] for finding in told)
    assert all("still blind" in finding["words"] for finding in told)
    assert run.code == 0


def test_a_target_made_tighter_turns_the_status_to_1(linkmotion: Command, tmp_path: Path) -> None:
    assert linkmotion("check", written(tmp_path, changed("targets", "lead_difference", "0.02")), "--tables").code == 1
    assert linkmotion("check", written(tmp_path, changed("targets", "lead", "4.5")), "--tables").code == 0
    assert linkmotion("check", written(tmp_path, changed("targets", "lead", "5.5")), "--tables").code == 1


def test_a_die_off_the_slot_is_a_finding_with_its_overrun(linkmotion: Command, tmp_path: Path) -> None:
    """With the slot 55 mm shorter at the top, the die runs past it by 55 mm less the room it had."""
    before = json.loads(linkmotion("check", GAUGE, "--json", "--side", "left").out)
    room = {row["notch"]: row["room_top"] for row in before["events"]}
    run = linkmotion(
        "check", written(tmp_path, changed("expansion_link", "slot_top", "100")), "--json", "--side", "left"
    )
    assert run.code == 1
    off = {f["notch"]: f["size"] for f in json.loads(run.out)["findings"] if f["what"] == "die"}
    assert set(off) == {notch for notch, left in room.items() if left < 55} != set()
    assert off == pytest.approx({notch: 55 - room[notch] for notch in off}, abs=2e-6, rel=0)
    words = linkmotion("check", tmp_path / "engine.toml", "--tables").out
    assert f"full forward: the die runs {off['full forward']:.2f} mm past the top end of the slot" in words


# --- JSON and CSV -----------------------------------------------------------------------------------------------------


def api_rows(engine: Path, states: tuple[str, ...] = ("drawing",)) -> list[dict[str, Any]]:
    return [row for state in states for stand in how_it_stands(read_engine(engine), state)
            for row in event_rows(stand.assessment)]  # fmt: skip


@pytest.mark.parametrize("engine", [SHUNTER, GAUGE], ids=lambda file: file.stem)
def test_json_holds_the_figures_of_the_library(engine: Path, linkmotion: Command) -> None:
    run = linkmotion("check", engine, "--json", "--state", "as found", "--state", "drawing")
    told = json.loads(run.out)
    read = read_engine(engine)
    assert (told["engine"], told["gear"], told["unit"], told["file"]) == (
        read.name,
        "walschaerts",
        read.unit,
        str(engine),
    )
    rows = api_rows(engine, ("as found", "drawing"))
    assert len(told["events"]) == len(rows) == 3 * 2 * 2 * 2 * len(read.side_state().notches)
    ways = [("as found", "as it stands"), ("as found", "set afresh"), ("drawing", "as it stands")]
    assert list(dict.fromkeys((row["state"], row["standing"]) for row in told["events"])) == ways
    scale = {c.key: float(UNITS[read.unit]) if c.kind == "length" else 1.0 for c in COLUMNS}
    for shown, row in zip(told["events"], rows, strict=True):
        for key, value in row.items():
            if isinstance(value, float):
                assert shown[key] == pytest.approx(value / scale[key], abs=0.6e-6, rel=0), key
            else:
                assert shown[key] == value
    found = [f for state, standing in ways for f in findings(assess(read, state, standing=standing))]
    assert [f["out_of_target"] for f in told["findings"]] == [f.out for f in found]
    for shown, finding in zip(told["findings"], found, strict=True):
        unit = float(UNITS[read.unit]) if finding.unit == "mm" else 1.0
        assert shown["size"] == pytest.approx(finding.size / unit, abs=0.6e-6, rel=0)
        assert shown["unit"] == (read.unit if finding.unit == "mm" else "percent")


@pytest.mark.parametrize("engine", [SHUNTER, GAUGE], ids=lambda file: file.stem)
def test_csv_holds_the_same_rows_with_units_in_its_headings(engine: Path, linkmotion: Command) -> None:
    unit = read_engine(engine).unit
    rows = list(csv.DictReader(io.StringIO(linkmotion("check", engine, "--csv").out)))
    told = json.loads(linkmotion("check", engine, "--json").out)["events"]
    headings = [f"{c.key} ({unit})" if c.kind == "length" else c.key for c in COLUMNS]
    assert list(rows[0]) == headings
    for row, event in zip(rows, told, strict=True):
        assert {key: "" if value is None else str(value) for key, value in event.items()} == dict(
            zip([c.key for c in COLUMNS], row.values(), strict=True)
        )


def test_an_event_that_does_not_happen_is_null_and_an_empty_cell(linkmotion: Command, tmp_path: Path) -> None:
    file = written(tmp_path, changed("valve", "steam_lap", "45"))
    event = next(e for e in json.loads(linkmotion("check", file, "--json").out)["events"] if e["notch"] == "mid")
    assert (event["cutoff_percent"], event["remarks"]) == (None, "steam port never opens")
    row = next(r for r in csv.DictReader(io.StringIO(linkmotion("check", file, "--csv").out)) if r["notch"] == "mid")
    assert (row["cutoff_percent"], row["remarks"]) == ("", "steam port never opens")
    assert "NaN" not in linkmotion("check", file, "--json").out
    assert event["opening"] < 0  # as figures: by how much it does not open


def test_an_opening_that_never_comes_is_told_in_a_word(linkmotion: Command, tmp_path: Path) -> None:
    file = written(tmp_path, changed("valve", "steam_lap", "45"))
    out = linkmotion("check", file, "--tables", "--notch", "mid").out
    lines = [line.split() for line in out.splitlines() if {"front", "back"} & set(line.split()[:3])]
    assert [line.count("never") for line in lines] == [1] * len(lines) != []
    report = linkmotion("check", file, "--notch", "mid", "--into", tmp_path / "out")
    assert report.code == 1
    assert re.search(r"<td[^>]*>\s*never\s*</td>", (tmp_path / "out/report.html").read_text("utf-8"))


def test_a_name_with_commas_and_quotes_stays_one_cell(linkmotion: Command, tmp_path: Path) -> None:
    file = written(tmp_path, re.sub(r'^"mid"', r'"mid, or \\"half\\" way"', METRE, flags=re.MULTILINE))
    rows = list(csv.DictReader(io.StringIO(linkmotion("check", file, "--csv").out)))
    assert 'mid, or "half" way' in {row["notch"] for row in rows}
    assert {len(row) for row in rows} == {len(COLUMNS)}


# --- printed tables ---------------------------------------------------------------------------------------------------

HEADS = ("lead", "admission", "cutoff", "release", "compression", "opening", "valve_travel", "die_slip")


def printed_rows(text: str) -> list[tuple[str, list[str]]]:
    """End and figures of each printed line; whole inches and fractions stay together."""
    found = [re.search(r"\b(front|back)  +(\S.*)$", line.rstrip()) for line in text.split("\n")]
    return [(hit[1], re.split(r"  +", hit[2])) for hit in found if hit]


def assert_printed(run: Run, rows: list[dict[str, Any]], what: str, unit: str, step: float) -> None:
    """Every printed figure agrees with its row within half of its last place."""
    lines = printed_rows(run.out)
    assert [end for end, _ in lines] == [row["end"] for row in rows]
    for (end, cells), row in zip(lines, rows, strict=True):
        assert len(cells) == (8 if end == "front" else 6)
        for head, cell in zip(HEADS, cells, strict=False):
            value = row[head if head in row else f"{head}_{what}"]
            if head in row:  # a length
                assert abs(parse_length(cell, unit) / float(UNITS[unit]) - value) <= step / 2 + 1e-6, (
                    head,
                    cell,
                    value,
                )
            else:
                value -= 360 if what == "angle" and head in ("admission", "compression") and value > 180 else 0
                assert abs(float(cell) - value) <= 0.05 + 1e-6, (head, cell, value)


@pytest.mark.parametrize(("engine", "step"), [(SHUNTER, 0.001), (GAUGE, 0.01)], ids=["dock", "metre"])
@pytest.mark.parametrize(("options", "what"), [((), "percent"), (("--angles",), "angle")])
def test_printed_figures_are_those_of_the_json_rounded(
    engine: Path, step: float, options: tuple[str, ...], what: str, linkmotion: Command
) -> None:
    """The drawing's sides are alike: one table, the left side's rows."""
    told = json.loads(linkmotion("check", engine, "--json", "--side", "left").out)
    run = linkmotion("check", engine, "--tables", "--direction", "both", *options)
    assert_printed(run, told["events"], what, told["unit"], step)


def test_a_long_notch_name_is_folded_and_no_figure_cut(linkmotion: Command, tmp_path: Path) -> None:
    name = "the third notch from the back, as marked by the old driver"
    text = METRE.replace('"forward 50" =', f'"{name}" =')
    file = written(tmp_path, text)
    lines = linkmotion("check", file, "--tables").out.split("\n")
    short = linkmotion("check", written(tmp_path, METRE), "--tables").out.split("\n")
    row = next(line for line in short if line.startswith("forward 50"))
    figures = row.removeprefix("forward 50").split()
    assert any(line.split()[-len(figures) :] == figures for line in lines)
    assert not any("…" in line for line in lines)


def test_fractions_are_to_the_nearest_64th_of_an_inch(linkmotion: Command) -> None:
    told = json.loads(linkmotion("check", SHUNTER, "--json", "--side", "left").out)["events"]
    run = linkmotion("check", SHUNTER, "--tables", "--direction", "both", "--fractions")
    assert_printed(run, told, "percent", "in", 1 / 64)
    lengths = [cells[0] for _, cells in printed_rows(run.out)]
    assert all(Fraction(cell.split()[-1]).denominator in (1, 2, 4, 8, 16, 32, 64) for cell in lengths)
    assert any("/" in cell for cell in lengths)


def test_fractions_in_a_file_of_millimetres_are_refused_or_told(linkmotion: Command) -> None:
    run = linkmotion("check", GAUGE, "--tables", "--fractions")
    assert "fractions" in run.out + run.err


def test_a_finding_shows_a_figure_beyond_its_limit_in_print_too(linkmotion: Command) -> None:
    """'1/64 in more lead than the other; 1/64 in is allowed' helps nobody."""
    run = linkmotion("check", SHUNTER, "--state", "as found", "--tables", "--fractions")
    told = re.findall(r" ✗ .* ([\d /]+) in more lead than the other; ([\d /]+) in is allowed", run.out)
    assert len(told) > 2
    assert [pair for pair in told if pair[0] == pair[1]] == []


def test_only_the_notches_sides_and_directions_asked_for_are_shown(linkmotion: Command) -> None:
    def rows(*options: str) -> list[dict[str, Any]]:
        run = linkmotion("check", GAUGE, "--json", *options)
        events: list[dict[str, Any]] = json.loads(run.out)["events"]
        return events

    whole = rows()
    assert rows("--notch", "mid") == [row for row in whole if row["notch"] == "mid"]
    assert rows("--notch", "mid", "--notch", "forward 25", "--side", "right") == [
        row for notch in ("mid", "forward 25") for row in whole if (row["notch"], row["side"]) == (notch, "right")
    ]
    assert {row["side"] for row in rows("--side", "right")} == {"right"}
    for direction in ("forward", "backward"):
        out = linkmotion("check", GAUGE, "--tables", "--direction", direction).out
        assert {line.split()[-9 - 1] for line in out.split("\n") if re.search(r" front +[\d.-]", line)} == {direction}
    driven = linkmotion("check", GAUGE, "--tables").out
    assert re.search(r"^full backward +backward +front", driven, re.MULTILINE)
    assert not re.search(r"^full backward +forward ", driven, re.MULTILINE)
    assert len(re.findall(r"^mid +(?:forward|backward) +front", driven, re.MULTILINE)) == 2, (
        "mid gear drives neither way: both are shown"
    )


def test_a_notch_asked_for_twice_is_shown_once(linkmotion: Command) -> None:
    once, twice = (linkmotion("check", GAUGE, "--csv", *["--notch", "mid"] * times) for times in (1, 2))
    assert once == twice


def test_a_state_asked_for_twice_is_shown_once(linkmotion: Command) -> None:
    once, twice = (linkmotion("check", GAUGE, "--csv", *["--state", "as found"] * times) for times in (1, 2))
    assert once == twice


def test_sides_that_differ_have_a_table_each_and_those_alike_share_one(linkmotion: Command) -> None:
    out = linkmotion("check", GAUGE, "--state", "drawing", "--state", "as found", "--tables").out
    assert re.findall(r"^(.*(?:side|alike))\s*$", out, re.MULTILINE)[:3] == [
        "drawing, as it stands, both sides alike",
        "as found, as it stands, left side",
        "as found, as it stands, right side",
    ]


def test_the_other_states_are_named(linkmotion: Command) -> None:
    assert "Other states in this file: as found, as repaired (--state)." in linkmotion("check", GAUGE, "--tables").out
    assert "certify nothing" in linkmotion("check", GAUGE, "--tables").out


def test_the_setting_notch_need_not_be_among_those_asked_for(linkmotion: Command) -> None:
    one = json.loads(linkmotion("check", GAUGE, "--json", "--notch", "mid").out)["events"][0]
    assert one["lead"] == pytest.approx(
        next(r for r in api_rows(GAUGE) if r["notch"] == "mid")["lead"], abs=0.6e-6, rel=0
    )


def test_the_work_does_not_grow_with_the_square_of_the_notches(
    linkmotion: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Extremes of all notches are found in one go: not once for every notch, which would take 4 minutes for 3,000."""
    calls: list[int] = []

    def counted(signal: Harmonics) -> tuple[Any, Any]:
        calls.append(1)
        return extremes(signal)

    monkeypatch.setattr(revolution, "extremes", counted)
    counts = {}
    for more in (0, 40):
        notches = "\n".join(f"n{i} = {-30 + i / 2}" for i in range(more))
        file = written(tmp_path, replaced("[reversing.notches]\n", f"[reversing.notches]\n{notches}\n"))
        calls.clear()
        assert linkmotion("check", file, "--csv").code == 0
        counts[more] = len(calls)
    assert counts[40] == counts[0]


# --- names that mean something to somebody else -----------------------------------------------------------------------


def named(name: str = "Serravine", notch: str = "mid", state: str = "as repaired", note: str = "Weighshaft") -> str:
    """The metre-gauge engine with other names, TOML-quoted."""
    text = replaced("Serravine", json.dumps(name)[1:-1], METRE)
    text = re.sub(r'^"mid"', lambda _: json.dumps(notch), text, flags=re.MULTILINE)
    text = text.replace('state."as repaired"', f"state.{json.dumps(state)}")
    return text.replace('note = "Weighshaft', f'note = "{json.dumps(note)[1:-1]}')


NASTY = "<script>'x'</script>&amp;"


@pytest.mark.parametrize("sign", ["\x1b[31m", "\r", "\n", "\x9b31m", "\u202e"])
def test_signs_that_steer_a_terminal_are_not_printed(sign: str, linkmotion: Command, tmp_path: Path) -> None:
    file = written(tmp_path, named(name=f"a{sign}b", notch=f"c{sign}d", state=f"e{sign}f"))
    for run in (
        linkmotion("check", file, "--tables"),
        linkmotion("check", file, "--state", f"e{sign}f", "--tables"),
        linkmotion("check", file, "--state", f"{sign}?"),
        linkmotion("check", file, "--notch", f"{sign}?"),
    ):
        assert {c for c in run.out + run.err if not c.isprintable()} <= {"\n"}
    refused = linkmotion("check", file, "--tables")
    assert (refused.code, refused.out) == (2, "")
    assert "engine.name" in refused.err


def test_square_brackets_are_printed_as_they_stand(linkmotion: Command, tmp_path: Path) -> None:
    file = written(tmp_path, named(name="[red]x[/] [bold", notch="[3] [/red]", state="[b]u"))
    run = linkmotion("check", file, "--tables", "--state", "[b]u")
    assert "[red]x[/] [bold" in run.out
    assert "[3] [/red]" in run.out
    assert "[b]u" in run.out


# --- report -----------------------------------------------------------------------------------------------------------


class Page(HTMLParser):
    """Sees that every tag is closed in its turn, and notes what the page points to."""

    VOID = frozenset({"meta", "br", "img", "link", "hr", "input"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.points_to: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.points_to += [
            value or "" for key, value in attrs if key in ("src", "href", "srcset", "action", "data", "xlink:href")
        ]
        assert not [key for key, _ in attrs if key.startswith("on")], "no scripts"
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def without_mark(svg: bytes) -> bytes:
    """A plot's file without its last line, which says that linkmotion wrote it."""
    drawing, mark = svg[:-1].rsplit(b"\n", 1)
    assert mark.startswith(b"<!-- linkmotion wrote this")
    return drawing + b"\n"


def read_page(text: str) -> Page:
    page = Page()
    page.feed(text)
    page.close()
    assert page.open == [], "every tag is closed"
    return page


def assert_own_svg(data: bytes) -> ET.Element:
    """An SVG that is well formed and points only to itself."""
    root = ET.fromstring(data)
    for node in root.iter():
        assert not node.tag.endswith("}script")
        for key, value in node.attrib.items():
            assert not (key.endswith("href") and not value.startswith("#")), value
            assert not re.search(r"url\((?!#)", value), value
    return root


def report(folder: Path, text: str, *options: str) -> tuple[subprocess.CompletedProcess[str], Path]:
    file = written(folder, text)
    command = [sys.executable, "-c", "from linkmotion.cli import main; main()", "check", str(file), *options]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, check=False), folder / "engine-report"


@pytest.fixture(scope="module")
def nasty_report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A report on an engine whose every name is HTML, in the state that names it."""
    text = named(NASTY, f"mid {NASTY}", f"st {NASTY}", f"note {NASTY}")
    chosen = ("--state", f"st {NASTY}", "--notch", f"mid {NASTY}", "--side", "left")
    done, folder = report(tmp_path_factory.mktemp("nasty"), text, *chosen)
    assert done.returncode in (0, 1), done.stderr
    assert done.stderr == ""
    return folder


@pytest.fixture(scope="module")
def plain_report(tmp_path_factory: pytest.TempPathFactory) -> tuple[subprocess.CompletedProcess[str], Path]:
    return report(tmp_path_factory.mktemp("plain"), DOCK)


def test_a_report_stands_alone_and_is_well_formed(plain_report: tuple[subprocess.CompletedProcess[str], Path]) -> None:
    done, folder = plain_report
    assert (done.returncode, done.stderr) == (0, "")
    assert str(folder / "report.html") in done.stdout
    text = (folder / "report.html").read_text(encoding="utf-8")
    page = read_page(text)
    assert not re.search(r"https?://|//[a-z]", re.sub(r"base64,[\w+/=]+", "", text))
    assert page.points_to
    assert all(address.startswith("data:") for address in page.points_to)
    assert not {"script", "link", "iframe", "object", "base"} & set(page.tags)
    assert "@import" not in text


def test_every_plot_of_the_report_is_a_file_beside_it_and_nothing_else_is(
    plain_report: tuple[subprocess.CompletedProcess[str], Path],
) -> None:
    _, folder = plain_report
    page = read_page((folder / "report.html").read_text(encoding="utf-8"))
    shown = {base64.b64decode(address.split("base64,")[1]) for address in page.points_to}
    files = {without_mark(file.read_bytes()) for file in folder.rglob("*.svg")}
    assert shown == files
    assert len(files) == len(list(folder.rglob("*.svg"))) >= 9
    assert {file.suffix for file in folder.rglob("*") if file.is_file()} == {".svg", ".html"}
    for data in files:
        assert_own_svg(data)


def test_a_report_prints_the_figures_of_the_table(plain_report: tuple[subprocess.CompletedProcess[str], Path]) -> None:
    done, folder = plain_report
    words = [
        word.strip() for word in read_page((folder / "report.html").read_text(encoding="utf-8")).words if word.strip()
    ]
    rows = printed_rows(done.stdout)
    assert len(rows) == 18
    leads = [words[i + 1] for i, word in enumerate(words) if word in ("front", "back")]
    assert leads == [cells[0] for _, cells in rows]
    cutoffs = [words[i + 4] for i, word in enumerate(words) if word in ("front", "back")]
    assert cutoffs == [cells[2] for _, cells in rows]
    assert "certify nothing" in " ".join(words)


def test_names_from_the_file_are_words_in_the_report_and_never_marks(nasty_report: Path) -> None:
    text = (nasty_report / "report.html").read_text(encoding="utf-8")
    page = read_page(text)
    assert "script" not in page.tags
    assert all(address.startswith("data:") for address in page.points_to)
    words = "".join(page.words)
    for name in (NASTY, f"mid {NASTY}", f"note {NASTY}"):
        assert name in words
    assert f"st {NASTY}".casefold() in words.casefold()
    assert "<script" not in text
    for file in nasty_report.rglob("*.svg"):
        drawn = " ".join(" ".join(assert_own_svg(file.read_bytes()).itertext()).split())
        assert NASTY in drawn
        assert f"mid {NASTY}" in drawn or "valve" not in file.name


def test_names_of_files_stay_in_the_folder(nasty_report: Path) -> None:
    around = {file.name for file in nasty_report.parent.iterdir()}
    assert around == {"engine.toml", "engine-report"}
    assert all(re.fullmatch(r"[\w.-]+", file.name) for file in nasty_report.rglob("*"))


def test_states_with_slashes_dots_or_great_length_each_have_their_own_plots(
    linkmotion: Command, tmp_path: Path
) -> None:
    """None lies over another, none is outside the folder."""
    names = ("../../up", "a b", "a-b", "!" * 120)
    states = "".join(f"[state.{json.dumps(name)}]\n" for name in names)
    file = written(tmp_path, f"{METRE}\n{states}")
    chosen = [each for name in names for each in ("--state", name)]
    run = linkmotion("check", file, "--notch", "mid", "--side", "left", *chosen)
    assert (run.code, run.err) == (0, "")
    assert {path.name for path in tmp_path.iterdir()} == {"engine.toml", "engine-report"}
    page = read_page((tmp_path / "engine-report" / "report.html").read_text(encoding="utf-8"))
    assert len(list((tmp_path / "engine-report").rglob("*.svg"))) == len(page.points_to) >= 7 * len(names)


def test_notches_may_have_any_names_in_the_plots(linkmotion: Command, tmp_path: Path) -> None:
    """Bad and good marks of mathtext, an underscore in front, signs of another script, great length."""
    names = ("$\\frac$", "$x$", "_mid", "中立", "m" * 500)
    notches = "\n".join(f"{json.dumps(name)} = {{ die = {5 * i} }}" for i, name in enumerate(names))
    file = written(tmp_path, replaced("[reversing.notches]\n", f"[reversing.notches]\n{notches}\n"))
    chosen = [word for name in names for word in ("--notch", name)]
    run = linkmotion("check", file, "--side", "left", *chosen)
    assert run.code in (0, 1)
    assert run.err == ""
    drawn = "".join(assert_own_svg(next((tmp_path / "engine-report").rglob("*ellipses.svg")).read_bytes()).itertext())
    for name in names:
        assert name[:9] in drawn


def test_an_old_report_is_replaced_whole(linkmotion: Command, tmp_path: Path) -> None:
    file = written(tmp_path, METRE)
    linkmotion("check", file, "--state", "as found", "--notch", "mid", "--side", "left")
    linkmotion("check", file, "--notch", "full forward", "--side", "left")
    page = read_page((tmp_path / "engine-report" / "report.html").read_text(encoding="utf-8"))
    shown = {base64.b64decode(address.split("base64,")[1]) for address in page.points_to}
    assert {without_mark(file.read_bytes()) for file in (tmp_path / "engine-report").rglob("*.svg")} == shown


def test_other_files_in_the_folder_are_left_alone(linkmotion: Command, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "notes.txt").write_text("keep", encoding="utf-8")
    assert linkmotion("check", written(tmp_path, METRE), "--notch", "mid", "--into", tmp_path / "mine").code == 0
    assert (tmp_path / "mine" / "notes.txt").read_text(encoding="utf-8") == "keep"
    assert (tmp_path / "mine" / "report.html").exists()
    assert not (tmp_path / "engine-report").exists()
    assert not [path for path in (tmp_path / "mine").rglob("*") if path.name.startswith(".")], (
        "no temporary files are left"
    )


@pytest.mark.parametrize("place", ["engine.toml", "/proc/no-such-place"])
def test_a_place_that_cannot_be_written_ends_with_2_and_its_name(
    place: str, linkmotion: Command, tmp_path: Path
) -> None:
    file = written(tmp_path, METRE)
    folder = place if place.startswith("/") else tmp_path / place
    run = linkmotion("check", file, "--notch", "mid", "--into", folder)
    assert run.code == 2
    assert run.err.startswith(str(folder))
    assert "the command reads this file" in run.err or "choose a place that can be written" in run.err
    assert len(run.err.rstrip("\n").split("\n")) == 2
    assert list(tmp_path.iterdir()) == [file]
    assert file.read_text(encoding="utf-8") == METRE


def test_a_folder_without_permission_ends_with_2(linkmotion: Command) -> None:
    with open_folder() as folder:
        file, shut = written(folder, METRE), folder / "shut"
        linkmotion("check", file, "--notch", "mid", "--into", folder / "first")  # loads all that root alone may load
        shut.mkdir(mode=0o555)
        run = apart(lambda: linkmotion("check", file, "--notch", "mid", "--into", shut), ordinary=True).result
        assert run.code == 2
        assert run.err.startswith(f"{shut}: the folder {shut} cannot be written into")
        assert list(shut.iterdir()) == []


@pytest.mark.parametrize("output", ["--tables", "--json", "--csv"])
def test_outputs_to_the_screen_write_nothing(output: str, linkmotion: Command, tmp_path: Path) -> None:
    file = written(tmp_path, METRE)
    assert linkmotion("check", file, output, "--notch", "mid").code == 0
    assert list(tmp_path.iterdir()) == [file]
