from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linkmotion.events import EVENTS, both_ends
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError
from linkmotion.files.readings_file import read_readings
from linkmotion.files.readings_form import csv_form, form
from linkmotion.gears.sensitivity import numbers, with_numbers
from linkmotion.revolution import revolve
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.figures.disturbances import EYE, TRAMMEL
from linkmotion.studies.figures.figure import Reading, figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.valve import ENDS, Ports

EXAMPLES = sorted(Path("examples").glob("*.toml"))
DOCK, GOODS = Path("examples/dock_shunter.toml"), Path("examples/stephenson_goods.toml")
ROD = ("eccentric_rod", "length")
_AS_LENGTH = [(event, "mm") for event in EVENTS]


def side_of(path: Path, state: str = "drawing") -> SideEvents:
    return assess(read_engine(path), state).sides[0]


def everything(side: SideEvents, notches: tuple[str, ...] = ()) -> list[Reading]:
    """A reading of every kind and unit in some notches."""
    found = []
    for notch in notches or side.notches:
        direction = side.driven(side.notches.index(notch))[0]
        at = Reading(side=side.side, kind="valve", notch=notch, direction=direction, at=77.0, value=0.0, sigma=0.1)
        found += [at, replace(at, kind="lost motion")]
        if side.gear.slot is not None:
            found.append(replace(at, kind="die height", at=None))
        for end in ENDS:
            own = replace(at, end=end, at=None)
            found += [replace(own, kind=kind, direction="") for kind in ("lead", "valve", "opening")]
            found += [replace(own, kind=event, unit=unit) for event in EVENTS for unit in ("percent", "degrees", "mm")]
    return found


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_readings_at_the_figures_are_the_events_of_the_side(path: Path) -> None:
    side = side_of(path)
    for reading, value in zip(readings := everything(side), GearModel.of(side, readings).at_figures, strict=True):
        i = side.notches.index(reading.notch)
        if reading.kind in ("lead", "opening"):
            assert value == pytest.approx(getattr(side.events["forward"][reading.end], reading.kind)[i], abs=1e-7)
        elif reading.kind in EVENTS and reading.unit == "percent":
            assert value == pytest.approx(
                side.events[reading.direction][reading.end].percent[reading.kind][i], abs=1e-7
            )
        elif reading.kind in EVENTS and reading.unit == "degrees":
            off = value - side.events[reading.direction][reading.end].angle[reading.kind][i]
            assert abs(off - 360 * round(off / 360)) < 1e-6


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_slopes_are_those_of_small_differences(path: Path) -> None:
    side = side_of(path)
    model = GearModel.of(side, everything(side, (side.notches[0], side.notches[-1])))
    small = 5e-4 * np.eye(len(model.keys))
    differences = ((model.predict(small) - model.predict(-small)) / 1e-3).T
    # the differences err by the third derivative: up to 1e-5 where a slope is a hundred units per degree
    assert np.max(np.abs(model.slopes - differences) / (1.0 + np.abs(differences))) < 1e-6
    assert np.max(np.abs(model.slopes)) > 1.0


def test_other_gears_are_read_as_if_each_were_turned_by_itself() -> None:
    side = side_of(DOCK)
    readings = [
        r for r in everything(side, ("forward 50",)) if r.kind in ("lead", "opening", *EVENTS) and r.unit != "mm"
    ]
    readings += [r for r in everything(side, ("forward 50",)) if r.kind in ("lead", "opening")]
    model = GearModel.of(side, readings)
    rng = np.random.default_rng(2)
    departures = 0.4 * rng.standard_normal((5, len(model.keys))) / np.sqrt(len(model.keys))
    predicted = model.predict(departures)
    setting: Any = side.settings[side.notches.index("forward 50")]
    for row, own in enumerate(departures):
        by = dict(zip(model.keys, own.tolist(), strict=True))
        given = numbers(model.gear)
        gear = with_numbers(model.gear, {key: given[key] + by[key] for key in given})
        arm = type(setting)(float(np.ravel(setting.angle)[0]) + by["reversing", "arm angle"])
        valve = revolve(gear, arm).displacement(gear.valve.central_at)
        for i, reading in enumerate(readings):
            ends = both_ends(valve, Ports.of(gear.valve), gear.crank, reading.direction or "forward")[reading.end]
            wanted = (
                getattr(ends, reading.kind)[0] if reading.kind in ("lead", "opening")
                else (ends.percent if reading.unit == "percent" else ends.angle)[reading.kind][0]
            )  # fmt: skip
            off = predicted[row, i] - wanted
            assert abs(off - (360 * round(off / 360) if reading.unit == "degrees" else 0)) < 1e-6


def test_the_valve_is_not_set_anew_when_a_rod_is_found_long() -> None:
    side = side_of(DOCK)
    leads = [Reading(side="left", kind="lead", notch="full forward", end=end, value=0, sigma=0.1) for end in ENDS]
    model = GearModel.of(side, leads, [ROD])
    front, back = model.slopes[:, 0]
    by_rule = GearModel.of(side, figures_of(side, ["full forward"]), afresh=True)
    ruled = by_rule.slopes[
        [0, 6], by_rule.keys.index(ROD)
    ]  # leads of front and back, the valve set anew for equal leads
    assert abs(front - back) > 0.4
    assert ruled[0] == pytest.approx(ruled[1], abs=1e-9)
    assert np.mean([front, back]) == pytest.approx(ruled[0], abs=1e-9)


def test_a_model_about_other_figures_reads_what_was_predicted_there() -> None:
    side = side_of(GOODS)
    model = GearModel.of(side, everything(side, ("forward 25", "full backward")))
    by = 0.3 * np.random.default_rng(4).standard_normal(len(model.keys)) / 5
    np.testing.assert_allclose(model.about(by).at_figures, model.predict(by)[0], rtol=0, atol=1e-7)


def test_a_worn_slot_is_read_as_worn() -> None:
    side = side_of(DOCK, "as found")
    assert side.condition.slot
    readings = [Reading(side="left", kind="lead", notch=n, end="front", value=0, sigma=0.1) for n in side.notches]
    model = GearModel.of(side, readings)
    np.testing.assert_allclose(model.at_figures, side.without_play["forward"]["front"].lead, rtol=0, atol=1e-7)
    sound = GearModel.of(replace(side, condition=replace(side.condition, slot=())), readings)
    assert np.max(np.abs(sound.at_figures - model.at_figures)) > 0.01


def test_the_die_stands_where_the_notch_brings_it_and_lost_motion_is_that_of_the_clearances() -> None:
    side = side_of(DOCK, "as found")
    at = Reading(side="left", kind="lost motion", notch="mid", direction="forward", at=30.0, value=0, sigma=0.1)
    drawn = side_of(DOCK)
    die = Reading(side="left", kind="die height", notch="forward 25", value=0, sigma=0.1)
    assert GearModel.of(drawn, [die]).at_figures[0] == pytest.approx(-7 / 8 * 25.4, abs=1e-6)
    mid = side.notches.index("mid")
    backward = replace(at, direction="backward", at=330.0)
    found = GearModel.of(side, [at, backward]).at_figures
    np.testing.assert_allclose(found, side.lost[mid, 8], rtol=0, atol=1e-12)


def test_what_cannot_be_assembled_reads_nothing_and_leaves_the_others_alone() -> None:
    side = side_of(DOCK)
    model = GearModel.of(side, everything(side, ("mid",)), [ROD])
    found = model.predict([[0.0], [400.0], [1.0]])
    known = [i for i, reading in enumerate(model.figures) if reading.kind != "lost motion"]
    assert np.all(np.isnan(found[1, known]))
    np.testing.assert_allclose(found[0, known], model.at_figures[known], rtol=0, atol=1e-7)
    assert np.all(np.isfinite(found[2]))


def test_readings_of_another_side_or_notch_are_refused() -> None:
    side = side_of(DOCK)
    good = Reading(side="left", kind="lead", notch="mid", end="front", value=0, sigma=0.1)
    for wrong in (replace(good, side="right"), replace(good, notch="nowhere")):
        with pytest.raises(ValueError, match="no reading of this side"):
            GearModel.of(side, [wrong])
    with pytest.raises(ValueError, match="no dimensions of this gear"):
        GearModel.of(side, [good], [("no", "such")])


# --- files ---

_FIGURES = {"lead": "0.5 mm", "opening": "8 mm", "cutoff": "50 %", "die height": "0 mm"}
HEAD = '[readings]\nstate = "drawing"\nunit = "in"\nwithin = "0.004 in"\nwithin_percent = 0.5\nwithin_degrees = 0.5\n'
ROW = '{ notch = "mid", kind = "lead", front = 0.125 }'


def written(folder: Path, text: str, name: str = "readings.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def rows(*lines: str, head: str = HEAD, side: str = "left") -> str:
    return f"{head}\n[{side}]\nreadings = [\n" + "".join(f"    {line},\n" for line in lines) + "]\n"


def test_a_file_is_read_in_the_fitters_own_units(tmp_path: Path) -> None:
    text = rows(
        '{ notch = "full forward", kind = "lead", front = "1/8", back = "3.2 mm", within = "0.1 mm" }',
        '{ notch = "full forward", kind = "cutoff", direction = "forward", front = "76 %", back = "15 1/4 in" }',
        '{ notch = "mid", kind = "admission", direction = "forward", front = "-12.5°" }',
        '{ notch = "mid", kind = "valve", direction = "backward", at = 90, reads = ["5 thou", "7 thou"] }',
    )
    found = read_readings(written(tmp_path, text), read_engine(DOCK))
    assert (found.state, found.unit, found.sides) == ("drawing", "in", ("left",))
    assert [r.value for r in found.readings] == pytest.approx(
        [3.175, 3.2, 76.0, 387.35, -12.5, 0.127, 0.1778], abs=1e-9
    )
    assert [r.unit for r in found.readings] == ["mm", "mm", "percent", "mm", "degrees", "mm", "mm"]
    assert [r.sigma for r in found.readings] == pytest.approx(
        [0.05, 0.05, 0.25, 0.0508, 0.25, 0.0508, 0.0508], abs=1e-9
    )
    assert [r.line for r in found.readings] == [10, 10, 11, 11, 12, 13, 13]


def test_csv_says_the_same_as_toml(tmp_path: Path) -> None:
    engine = read_engine(DOCK)
    toml = rows(
        '{ notch = "full forward", kind = "cutoff", direction = "forward", front = "76 %", back = "75 %" }', ROW
    )
    csv = (
        "# a remark, with a comma\nstate,drawing\nunit,in\nwithin,0.004 in\nwithin_percent,0.5\n"
        "side,notch,direction,kind,at,front,back,reads,within\n"
        "left,full forward,forward,cutoff,,76 %,75 %,,\nleft,mid,,lead,,0.125,,,\n"
    )
    one = read_readings(written(tmp_path, toml), engine).readings
    two = read_readings(written(tmp_path, csv, "readings.csv"), engine).readings
    assert [replace(r, line=0) for r in one] == [replace(r, line=0) for r in two]
    assert [r.line for r in two] == [7, 7, 8]


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("kind", ["toml", "csv"])
def test_the_form_filled_in_with_what_the_gear_gives_is_read_back(path: Path, kind: str, tmp_path: Path) -> None:
    engine, side = read_engine(path), side_of(path)
    write = form if kind == "toml" else csv_form
    text = write(engine, side, engine.sides[:1], "mm", ())
    assert "A bare length is in millimetres;" in text
    with pytest.raises(FileError, match="still to be filled in"):
        read_readings(written(tmp_path, text, f"form.{kind}"), engine)
    lines = []
    for line in text.splitlines():
        kinds = [k for k in _FIGURES if f'"{k}"' in line or f",{k}," in line]
        figure = (
            {"lead": "0.5 mm", "opening": "8 mm", "cutoff": "50 %", "die height": "0 mm"}[kinds[0]] if kinds else "1"
        )
        lines.append(line if line.startswith("#") else line.replace("?", figure))
    found = read_readings(written(tmp_path, "\n".join(lines), f"filled.{kind}"), engine)
    die = 0 if side.gear.slot is None else len(side.notches)
    cutoffs = sum(2 * len(side.driven(i)) for i in range(len(side.notches)))
    assert len(found.readings) == 4 * len(side.notches) + cutoffs + die


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_csv_is_read_as_spreadsheets_save_it(mark: str, encoding: str, ends: str, tmp_path: Path) -> None:
    engine = read_engine(DOCK)
    rows_of = [
        ["# r\u00e9glage, fait \u00e0 l'atelier"], ["state", "drawing"], ["unit", "in"], ["within", "0.004"],
        ["note", "lu par Andr\u00e9"], ["within_degrees", "0.5"],
        ["side", "notch", "direction", "kind", "at", "front", "back", "reads", "within"],
        ["left", "mid", "", "lead", "", "0.125", "3.2 mm", "", ""],
        ["left", "full forward", "forward", "cutoff", "", "120\u00b0", "119.5\u00b0", "", "0.5\u00b0"],
    ]  # fmt: skip
    if mark != ",":
        rows_of = [[cell.replace(".", ",") for cell in row] for row in rows_of]
    text = "".join(mark.join(row) + ends for row in rows_of)
    path = tmp_path / "readings.csv"
    path.write_bytes(text.encode(encoding))
    found = read_readings(path, engine)
    assert [r.value for r in found.readings] == pytest.approx([0.125 * 25.4, 3.2, 120.0, 119.5], abs=1e-12)
    assert found.note == "lu par Andr\u00e9"
    assert [r.sigma for r in found.readings[-2:]] == [0.25, 0.25]


BAD = {
    "empty": ("", "the file is empty", "linkmotion form"),
    "no head": ("[left]\nreadings = []\n", "no [readings] table", "begin with [readings]"),
    "no state": (rows(ROW, head='[readings]\nunit = "in"\n'), "readings.state: missing", "as found"),
    "no unit": (rows(ROW, head='[readings]\nstate = "drawing"\n'), "readings.unit: missing", "mm, in"),
    "unknown state": (rows(ROW, head=HEAD.replace("drawing", "as fond")), "read 'as fond'", "did you mean 'as found'"),
    "unknown unit": (rows(ROW, head=HEAD.replace('"in"', '"inch"')), "read 'inch'", "did you mean 'in'"),
    "unknown head": (rows(ROW, head=HEAD + "whithin = 3\n"), "readings.whithin: unknown", "did you mean 'within'"),
    "another engine": (rows(ROW, head=HEAD + 'engine = "No. 9"\n'), "readings of 'No. 9'", "that belongs to them"),
    "no rows": (HEAD, "no readings in it", "linkmotion form"),
    "rows no list": (HEAD + "[left]\nreadings = 3\n", "wanted a list of rows", "readings = ["),
    "row no table": (rows("3"), "wanted a row", "{ notch"),
    "unknown side": (rows(ROW, side="lefft"), "lefft: unknown", "did you mean 'left'"),
    "unknown notch": (rows(ROW.replace("mid", "midd")), "no notch 'midd'", "did you mean 'mid'"),
    "HTML notch": (rows(ROW.replace("mid", "<script>x</script>")), "no notch '<script>x</script>'", "known here"),
    "unknown kind": (rows(ROW.replace("lead", "lede")), "read 'lede'", "did you mean 'lead'"),
    "unknown direction": (rows(ROW.replace("front", 'direction = "back", front')), "read 'back'", "mean 'backward'"),
    "unknown key": (rows(ROW.replace("front", "frnt")), "frnt: unknown", "did you mean 'front'"),
    "no notch": (rows('{ kind = "lead", front = 1 }'), "notch: missing", "give notch"),
    "notch a number": (rows(ROW.replace('"mid"', "3")), "read 3, wanted words", "notch = "),
    "no figure": (rows('{ notch = "mid", kind = "lead" }'), "no figure was read", "give front"),
    "blank left": (rows(ROW.replace("0.125", '"?"')), "'?' is still to be filled in", "take the blank out"),
    "not a length": (rows(ROW.replace("0.125", '"wide"')), "'wide' is not a length", "write a length"),
    "comma": (rows(ROW.replace("0.125", '"0,125 in"')), "has a comma", "write a length"),
    "infinite": (rows(ROW.replace("0.125", "inf")), "not a finite length", "write a length"),
    "true": (rows(ROW.replace("0.125", "true")), "read true", "write a length"),
    "percent of a lead": (rows(ROW.replace("0.125", '"5 %"')), "a lead is a length", "write a length"),
    "cutoff of what": (
        rows('{ notch = "mid", kind = "cutoff", direction = "forward", front = 76 }'), "of what?", '"76 %"',
    ),
    "which end": (rows(ROW.replace("front", "reads")), "at which end", "front or back"),
    "no ends": (rows('{ notch = "mid", kind = "die height", front = 1 }'), "die height has no ends", "as reads"),
    "direction by its name of old": (
        rows(ROW.replace("front", 'running = "forward", front')),
        "left.readings.0.running: unknown",
        "it is called 'direction' now",
    ),
    "direction missing": (rows('{ notch = "mid", kind = "cutoff", front = "20 %" }'), "direction: missing",
        "direction of running"),
    "angle missing": (rows('{ notch = "mid", kind = "valve", reads = 0.1 }'), "at: missing", "crank angle"),
    "angle of a lead": (rows(ROW.replace("front", "at = 20, front")), "not taken at a crank angle", "leave out at"),
    "angle too large": (
        rows('{ notch = "mid", kind = "valve", direction = "forward", at = 400, reads = 0 }'), "read 400", "0 to 360",
    ),
    "no uncertainty": (rows(ROW, head=HEAD.replace("within =", "# ")), "how near was it read?", "give within"),
    "uncertainty nothing": (rows(ROW, head=HEAD.replace('"0.004 in"', "0")), "no reading is as near", "either way"),
    "uncertainty in percent": (rows(ROW.replace("}", ', within = "1 %" }')), "this reading is a length", "either way"),
    "over 100 percent": (
        rows('{ notch = "mid", kind = "cutoff", direction = "forward", front = "103 %" }'), "103 %", "0 and 100",
    ),
    "a turn too much": (
        rows('{ notch = "mid", kind = "cutoff", direction = "forward", front = "500°" }'),
        "more than a turn", "degrees",
    ),
    "beyond the stroke": (
        rows('{ notch = "full forward", kind = "cutoff", direction = "forward", front = "22 in" }'),
        "not more than 20", "unit",
    ),
    "cutoff at the dead centre in full gear": (
        rows('{ notch = "full forward", kind = "cutoff", direction = "forward", front = "0 mm" }'),
        "out of reach: 0.000 in, where about 15", "its direction of running",
    ),
    "percent out of reach": (
        rows('{ notch = "full forward", kind = "cutoff", direction = "forward", front = "3 %" }'),
        "out of reach: 3 %, where about 76", "its notch",
    ),
    "degrees out of reach": (
        rows('{ notch = "full forward", kind = "cutoff", direction = "forward", front = "-20°" }'),
        "out of reach: -20°, where about 1", "its notch",
    ),
    "wider than the port": (
        rows('{ notch = "mid", kind = "opening", front = "1.3 in" }'), "not more than 1.125 in", "look at the figure",
    ),
    "negative opening": (rows('{ notch = "mid", kind = "opening", front = -0.2 }'), "not less than", "look at"),
    "beyond the travel": (rows(ROW.replace("0.125", "-6")), "-6.000 in cannot be", "look at the figure"),
    "die beyond the slot": (
        rows('{ notch = "mid", kind = "die height", reads = "9 in" }'), "with a slot of that length", "look at",
    ),
    "millimetres as inches": (rows(ROW.replace("0.125", "3.2")), "in millimetres taken as inches", "write the unit"),
    "thou as inches": (rows(ROW.replace("0.125", "125")), "a figure in thou taken as inches", "write the unit"),
    "all inches as millimetres": (
        rows(
            '{ notch = "full forward", kind = "lead", front = 0.124, back = 0.124 }',
            '{ notch = "full forward", kind = "opening", front = 1.013, back = 1.048 }',
            head=HEAD.replace('unit = "in"', 'unit = "mm"'),
        ),
        "a figure in inches taken as millimetres", "mend unit",
    ),
    "contradictory": (rows(ROW, ROW.replace("0.125", "0.155")), "differs by 0.030 in", "take it again"),
    "contradictory by play": (
        rows(ROW, ROW.replace("0.125", "0.155").replace("front", 'direction = "backward", front')),
        "differs by", "play",
    ),
    "given twice": (HEAD + 'unit = "mm"\n', "not valid TOML", "given twice"),
    "nested": ("a = " + "[" * 5000, "nested too deep", "a readings file needs"),
    "not TOML": ("once upon a time", "not valid TOML", ""),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_is_told_in_two_lines(name: str, tmp_path: Path) -> None:
    text, problem, remedy = BAD[name]
    path = written(tmp_path, text)
    with pytest.raises(FileError) as told:
        read_readings(path, read_engine(DOCK))
    words = str(told.value)
    assert words.startswith(str(path))
    assert len(words.splitlines()) == 2
    assert problem in words.splitlines()[0]
    assert remedy in words.splitlines()[1]


def test_a_bad_row_is_told_with_its_line(tmp_path: Path) -> None:
    with pytest.raises(FileError) as told:
        read_readings(written(tmp_path, rows(ROW, ROW, ROW.replace("mid", "none"))), read_engine(DOCK))
    assert told.value.line == 12
    assert told.value.key == "left.readings.2.notch"


CSV = "state,drawing\nunit,in\nwithin,0.004\nside,notch,direction,kind,at,front,back,reads,within\n"
BAD_CSV = {
    "no headings": ("state,drawing\n", "no row of headings"),
    "unknown heading": (CSV.replace("kind", "knd"), "unknown heading 'knd'"),
    "heading of old": (CSV.replace("direction", "running"), "it is called 'direction' now"),
    "unknown side": (CSV + "port,mid,,lead,,1,,,\n", "read side 'port'"),
    "too many cells": (CSV + "left,mid,,lead,,1,,,,,7\n", "more cells than headings"),
    "unfinished": (CSV + 'left,"mid\n', "not a table"),
    "head of two": ("state,drawing,left\n" + CSV, "read 2 cells"),
    "unknown head": ("stat,drawing\n" + CSV + "left,mid,,lead,,1/8,,,\n", "readings.stat: unknown"),
    "angle in words": (CSV + "left,mid,forward,valve,ninety,,,0.1,\n", "read 'ninety'"),
    "empty": ("  \n", "the file is empty"),
}


@pytest.mark.parametrize("name", BAD_CSV)
def test_a_bad_table_is_told(name: str, tmp_path: Path) -> None:
    text, problem = BAD_CSV[name]
    with pytest.raises(FileError) as told:
        read_readings(written(tmp_path, text, "readings.csv"), read_engine(DOCK))
    assert problem in str(told.value)


def test_files_that_are_no_text_are_told(tmp_path: Path) -> None:
    engine = read_engine(DOCK)
    large, binary = tmp_path / "large.toml", tmp_path / "binary.toml"
    large.write_bytes(b"#" * 50_000_000)
    binary.write_bytes(bytes(range(256)))
    for path, problem in (
        (large, "no readings file is"),
        (binary, "not a text file"),
        (tmp_path, "is a directory"),
        (tmp_path / "missing.toml", "no such file"),
    ):
        with pytest.raises(FileError, match=problem) as told:
            read_readings(path, engine)
        assert "linkmotion begin" not in str(told.value)


# ---- how they were taken ---------------------------------------------------------------------------------------------


def test_a_file_says_how_dead_centres_were_found_and_how_the_wheel_was_turned(tmp_path: Path) -> None:
    head = HEAD + 'dead_centres = { front = "0.05°", back = "by trammel" }\nturned = "forward"\n'
    text = rows(
        '{ notch = "mid", kind = "lead", front = "1/8" }',
        '{ notch = "mid", kind = "lead", back = "1/8", turned = "both ways" }',
        '{ notch = "full forward", kind = "lead", front = "1/8", turned = "not noted" }',
        '{ notch = "mid", kind = "opening", front = "1/8" }',
        head=head,
    )
    found = read_readings(written(tmp_path, text), read_engine(DOCK))
    assert [own.turned for own in found.readings] == ["forward", "both ways", "", ""]
    method = found.method("left")
    assert (method.doubt("front"), method.doubt("back")) == (0.05, TRAMMEL)
    assert found.method("right").doubt("front") == EYE  # nothing is said


def test_a_spindle_pushed_both_ways_gives_two_readings_and_no_contradiction(tmp_path: Path) -> None:
    row = '{ notch = "mid", kind = "lead", front = "%s", turned = "%s" }'
    pushed = [row % ("3/16", "pushed forward"), row % ("1/8", "pushed back")]  # a play of 1/16 in
    found = read_readings(written(tmp_path, rows(*pushed)), read_engine(DOCK))
    assert [own.turned for own in found.readings] == ["pushed forward", "pushed back"]
    alike = [row % ("3/16", "pushed forward"), row % ("1/8", "pushed forward")]
    with pytest.raises(FileError, match="it was read before"):
        read_readings(written(tmp_path, rows(*alike)), read_engine(DOCK))


def test_each_side_may_have_been_taken_otherwise_and_csv_says_it_too(tmp_path: Path) -> None:
    text = HEAD + 'dead_centres = "by trammel"\n[left]\ndead_centres = "± 0.2 deg"\nturned = "backward"\nreadings = [\n'
    text += '{ notch = "mid", kind = "lead", front = "1/8" },\n]\n'
    text += '[right]\nreadings = [{ notch = "mid", kind = "lead", front = "1/8" }]\n'
    found = read_readings(written(tmp_path, text), read_engine(DOCK))
    assert [found.method(side).doubt("back") for side in ("left", "right")] == [0.2, TRAMMEL]
    assert [own.turned for own in found.readings] == ["backward", ""]
    table = "state,drawing\nunit,in\nwithin,0.004\ndead_centres,0.2\nside,notch,kind,front,turned\n"
    table += "left,mid,lead,1/8,backward\n"
    same = read_readings(written(tmp_path, table, "readings.csv"), read_engine(DOCK))
    assert same.method("left").doubt("back") == 0.2
    assert same.readings[0].turned == "backward"


@pytest.mark.parametrize(
    ("line", "problem", "remedy"),
    [
        ('dead_centres = "by guess"', "readings.dead_centres: read 'by guess'", "by trammel"),
        ("dead_centres = 45", "no dead centre is found as near", "by trammel"),
        ('dead_centres = { top = "0.1°" }', "readings.dead_centres.top: unknown", "front"),
        ('turned = "sideways"', "readings.turned: read 'sideways'", "forward"),
    ],
)
def test_what_is_said_amiss_of_how_they_were_taken_is_told(
    line: str, problem: str, remedy: str, tmp_path: Path
) -> None:
    text = rows('{ notch = "mid", kind = "lead", front = "1/8" }', head=HEAD + line + "\n")
    with pytest.raises(FileError) as told:
        read_readings(written(tmp_path, text), read_engine(DOCK))
    assert problem in str(told.value)
    assert remedy in str(told.value)


def test_readings_of_a_gear_without_a_die_are_refused(tmp_path: Path) -> None:
    text = rows('{ notch = "forward", kind = "die height", reads = 0 }', head=HEAD.replace("drawing", "drawing"))
    with pytest.raises(FileError, match="has no die"):
        read_readings(written(tmp_path, text), read_engine("examples/donkey_eccentric.toml"))
