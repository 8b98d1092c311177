"""From measuring sheets to the dossier as a new user goes it, on an engine of which no figure was worked by hand.

What each step says is held against sums done here, from the same readings, with nothing of the product.
"""

from __future__ import annotations

import json
import re
from math import hypot, pi
from pathlib import Path
from statistics import mean

import numpy as np
import pytest
from scipy.optimize import least_squares

import linkmotion as lm
from linkmotion.files.engine_file import read_engine
from linkmotion.files.readings_file import read_readings
from linkmotion.gears import GEARS
from linkmotion.gears.letters import letters
from tests.bad_engines.changed import EXAMPLES
from tests.bad_engines.command import Command, assert_refused

PIPIT = EXAMPLES / "pipit"
TEXT = (PIPIT / "pipit.toml").read_text(encoding="utf-8")
WHEEL = 3349.1 / 3.14159
T_OF_2 = 4.302653  # Student's t, two degrees of freedom, 19 in 20: any table (from memory)
NEAR = 5e-4
FACE = np.array([[0, 0], [40, 3.43], [80, 5.49], [120, 6.18], [160, 5.49], [200, 3.43], [240, 0]])

SUMS: dict[str, tuple[float, float | None]] = {  # what each figure comes to, and its doubt, 19 in 20
    "wheels.diameter": (WHEEL, None),
    "cylinder.stroke": (490.1, hypot(0.3, 0.3)),
    "cylinder.line_height": (553 - WHEEL / 2, 0.5),
    "connecting_rod.length": (1645.2 + (140.1 + 69.9) / 2, 0.3),
    "valve.steam_lap": (18.0, hypot(0.1, 0.1) / 2),
    "valve.exhaust_lap": (0.0, None),
    "valve.port_width": (26.0, T_OF_2 * 0.02 / 3**0.5),
    "valve.guide_height": (980 - WHEEL / 2, 0.5),
    "valve.rocker.pivot_x": (2300.0 - 1177.0, hypot(0.5, 0.5)),
    "valve.rocker.pivot_y": (766.5 - WHEEL / 2, 0.5),
    "valve.rocker.lower_arm": (262.9 - (65 + 35) / 2, 0.1),
    "valve.rocker.upper_arm": (263.1 - (65 + 35) / 2, 0.1),
    "eccentrics.forward_throw": (112.1 / 2, hypot(0.1, 0.1) / 2),
    "eccentrics.forward_angle": (17.2 - 90, 0.2),
    "eccentrics.backward_throw": (111.9 / 2, hypot(0.1, 0.1) / 2),
    "eccentrics.backward_angle": (69.8, T_OF_2 * 0.1 / 3**0.5),
    "eccentric_rods.forward": (929.4 + (260.1 + 35.0) / 2, 0.15),
    "eccentric_rods.backward": (929.5 + (260.0 + 35.0) / 2, 0.15),
    "expansion_link.forward_pin_x": (-55.9, 0.1),
    "expansion_link.forward_pin_y": ((279.1 - 35) / 2, 0.1 / 2),
    "expansion_link.backward_pin_x": (-56.0, 0.1),
    "expansion_link.backward_pin_y": ((35 - 279.1) / 2, 0.1 / 2),
    "expansion_link.saddle_x": (-6.5, 0.1),
    "expansion_link.saddle_y": (0.0, hypot(0.1, 0.1)),
    "expansion_link.slot_top": (164.5 - 37.5, None),
    "expansion_link.slot_bottom": (164.5 - 37.5, None),
    "reversing.shaft_x": (701.0, hypot(0.5, 0.5)),
    "reversing.shaft_y": (731 - WHEEL / 2, 0.5),
    "reversing.arm": (583.5 - (70 + 30) / 2, 0.2),
    "reversing.lifting_link": (480.5 + 30, 0.2),
    "reversing.notches.full forward": (26.5, T_OF_2 * 0.1 / 3**0.5),
    "reversing.notches.forward 50": (33.5, 0.2),
    "reversing.notches.mid": (0.0, None),
    "reversing.notches.full backward": (53.0, 0.2),
    "cleanup.slot_width": (50.0, None), "cleanup.die_length": (75.0, None), "cleanup.gauge": (0.01, None),
    "cleanup.clearance": (0.1, None), "cleanup.allowance": (0.02, None), "cleanup.cut_front": (0.75, None),
    "cleanup.cut_back": (0.75, None), "cleanup.wall_front": (24.1, None), "cleanup.wall_back": (23.9, None),
    "cleanup.least_wall": (22.5, None),
}  # fmt: skip


def said(text: str) -> str:
    """What was printed, wherever its lines end."""
    return " ".join(text.split())


def radius_of_face() -> float:
    """Of the circle that lies nearest to the points measured on the slot's back face."""
    fit = least_squares(lambda c: np.hypot(*(FACE - c[:2]).T) - c[2], (120.0, -1160.0, 1170.0), x_scale=(1, 100, 100))
    return float(fit.x[2])


def test_letters_noted_in_the_file_are_those_of_the_sheets() -> None:
    """That the sheets show them, each at its dimension, is held over all gears in `test_measuring_sheets.py`."""
    own = letters(GEARS["stephenson"])
    table, noted = "", {}
    for line in TEXT.splitlines():
        table = head[1] if (head := re.match(r"\[([\w.]+)\]$", line)) else table
        if given := re.match(r"(\w+) = .*?# ([A-Z]+\d+)\b", line):
            top, _, inner = table.partition(".")
            noted[top, f"{inner}.{given[1]}".lstrip(".")] = given[2]
    assert len(noted) == 25
    for key, letter in noted.items():
        assert own[key] == letter, key


def test_check_works_every_figure_out_and_says_what_to_measure_better(linkmotion: Command) -> None:
    found = json.loads(linkmotion("check", PIPIT, "--json").out)
    taken = {row["dimension"]: row for row in found["taken"]}
    radius = taken.pop("expansion_link.slot_radius")
    assert radius["figure"] == pytest.approx(radius_of_face() + 25, abs=0.05)  # the depths are read to 0.01 mm
    assert set(taken) == set(SUMS)
    for key, (value, doubt) in SUMS.items():
        assert taken[key]["figure"] == pytest.approx(value, abs=NEAR), key
        if doubt is None:
            assert taken[key]["doubt"] is None, key
        else:
            assert taken[key]["doubt"] == pytest.approx(doubt, rel=2e-3), key
    text = said(linkmotion("check", PIPIT, "--tables").out)
    assert "as surely as 19 in 20: 9 of 10 targets of leads and cutoffs within, 0 out; 1 cannot be told." in text
    untold = "measure eccentric rods: forward to ± 0.070 mm and eccentric rods: backward to ± 0.070 mm"
    assert f"both sides, full backward, running backward: leads 0.13 ± 0.39 mm apart, 0.40 mm allowed: {untold}" in text
    better = [row["measure"] for row in lm.read_engine(PIPIT)["as found"].held() if row["side"] == "between"]
    assert "eccentric rods: forward to ± 0.078 mm, eccentric rods: forward (left) to ± 0.078 mm" in better


def test_the_report_carries_doubts_as_the_text_does(tmp_path: Path, linkmotion: Command) -> None:
    text = linkmotion("check", PIPIT, "--notch", "full backward", "--into", tmp_path, "--taken")
    assert text.code == 0, text.err
    report = said(re.sub(r"<[^>]+>", " ", (tmp_path / "report.html").read_text(encoding="utf-8")))
    sentence = re.search(r"as surely as 19 in 20: [^.]*\.", said(text.out))
    assert sentence is not None
    assert f"A{sentence[0][1:]}" in report
    doubts = text.out.split("doubts, 19 in 20")[1]
    row = re.search(r"full backward +(?:backward +)?front +([\d.]+) +([\d.]+) +([\d.]+)", doubts)
    assert row is not None
    assert report.count(f"± {row[1]}") >= 2  # of a lead: on the first sheet and in the table of events
    assert report.count(f"± {row[3]}") >= 2  # of a cutoff
    assert "± &lt; 0.1" in report  # of an admission, of which the text has 0.0
    assert "measure eccentric rods: forward to ± 0.070 mm" in report


def test_reconciling_names_the_distance_that_was_written_down_wrong(tmp_path: Path, linkmotion: Command) -> None:
    run = linkmotion("reconcile", PIPIT, "--side", "right")
    assert run.code == 1, run.err
    line = (PIPIT / "trammel.toml").read_text(encoding="utf-8").split("1170.1")[0].count("\n") + 1
    assert f"Retake: backward pin to axle, full backward, back dead centre [line {line}] (out by +4." in said(run.out)
    mended = (PIPIT / "trammel.toml").read_text(encoding="utf-8").replace("1170.1", "1165.1")
    (tmp_path / "trammel.toml").write_text(mended, encoding="utf-8")
    run = linkmotion("reconcile", PIPIT, tmp_path / "trammel.toml", "--side", "right")
    assert (run.code, "Retake" in run.out) == (0, False), run.err


def test_marks_and_readings_are_read_as_they_were_taken(linkmotion: Command) -> None:
    run = linkmotion("tram", PIPIT)
    assert run.code == 0, run.err
    front = [(82.4 + 302.6) / 2, (116.0 + 268.8) / 2]  # halved: they lie on one crosshead line each
    assert re.search(rf"\bfront +2 +[\d.]+ +[\d.]+ +{mean(front):.2f}\b", run.out)
    apart = 360 * (mean([(1755.7 + 1975.2) / 2, (1789.2 + 1941.8) / 2]) - mean(front)) / (pi * WHEEL)
    told = re.search(r"front to back dead centre ([\d.]+)°", said(run.out))
    assert told is not None
    assert float(told[1]) == pytest.approx(apart, abs=0.02)  # pairs weigh unlike; the line is off the axle
    found = read_readings(PIPIT / "readings.toml", read_engine(PIPIT / "pipit.toml"))
    read = {(row.notch, row.kind, row.end): row for row in found.readings}
    for place, value, sigma in (
        (("full forward", "lead", "front"), 61.35 - 56.80, 0.1 / 2),
        (("mid", "opening", "back"), 53.05 - 48.40, 0.2 / 2),
        (("full forward", "cutoff", "front"), 1512.1 - 1097.9, 1.2 / 2),
        (("full backward", "die height", ""), 164.5 - 270.2, 0.4 / 2),
    ):  # fmt: skip
        assert (read[place].value, read[place].sigma) == pytest.approx((value, sigma), abs=1e-9), place
    thrice = read["mid", "opening", "front"]  # scatter by Student's t, and the gauge's own 0.1 mm common to none
    assert thrice.value == pytest.approx(mean([7.50, 7.55, 7.50]), abs=1e-9)
    assert 0.1 / 2 / 3**0.5 < thrice.sigma < 0.1
    assert found.records["left", "readings", "8"].note == "Three times at the front."


def test_diagnosis_blames_the_eccentric_that_was_planted(linkmotion: Command) -> None:
    found = json.loads(linkmotion("diagnose", PIPIT, "--json").out)["sides"][0]
    first = found["suspects"][0]
    assert first["dimension"] == "eccentrics.forward_angle"
    assert first["low"] < 1.25 < first["high"]  # degrees: planted by the independent solver


def test_cards_pins_and_slot_have_what_is_worked_to(tmp_path: Path, linkmotion: Command) -> None:
    chosen = ["--choose", "clean up the left slot", "--choose", "bush the left pins", "--notch", "full forward"]
    run = linkmotion(
        "repairs", PIPIT, "--state", "as diagnosed", "--hours", "45", *chosen, "--cards", tmp_path / "cards.html"
    )
    assert run.code in (0, 1), run.err
    assert "Before metal is cut, measure better: " in said(run.out)
    cards = (tmp_path / "cards.html").read_text(encoding="utf-8")
    bush, slot = (re.sub(r"<[^>]+>", " ", cards.split(f": {name}</h1>")[1].split("</section>")[0])
                  for name in ("bush the left pins", "clean up the left slot"))  # fmt: skip
    # ISO 286-2, 30 to 50 mm (from memory): H8 0/+39, f7 −50/−25 µm on 35 − 2 · 0.25 mm; H7 0/+25, r6 +34/+50 on 45 mm
    for figures in ("34.450–34.475", "34.500–34.539", "45.000–45.025", "45.034–45.050", f"{35.31 - 34.81:.3f}"):
        assert figures in bush, figures
    front, back = (
        0.34 - 0.05 + 0.02,
        0.26 - 0.05 + 0.02,
    )  # the deepest reading and the allowance
    least_back = 0.06 - 0.05
    for words, size in (
        ("cut, front face, most", front), ("cut, back face, most", back - least_back),
        ("slot finished, width", 50 + front + back), ("die block, width", 50 + front + back - 0.1),
        ("metal left, front face", 24.1 - front), ("metal left, back face", 23.9 - back),
    ):  # fmt: skip
        assert re.search(rf"{words}\s+{size:.3f}\b", slot), (words, size)
    run = linkmotion("pins", PIPIT, "--state", "as found")
    assert re.search(rf"die pin +1 +left +35\.180–35\.310 +34\.810–34\.920 +{35.31 - 34.81:.3f}", run.out)
    run = linkmotion("cleanup", PIPIT, "--state", "as found", "--side", "right", "--tables")  # slot-right.csv
    assert run.code == 0, run.err
    assert re.search(rf"cut, front face, most +≤ 0\.750 +{0.15 - 0.05 + 0.02:.3f}\b", run.out)


def test_the_dossier_tells_every_file_of_the_folder(tmp_path: Path, linkmotion: Command) -> None:
    run = linkmotion("history", PIPIT, "--look", "--dossier", tmp_path / "dossier.html")
    assert run.code == 0, run.err
    heads = re.findall(r"^\d{4}-\d{2}-\d{2}\*?: .*", run.out, re.MULTILINE)
    assert [head for head in heads if ".toml" in head or ".csv" in head] == [
        "2026-04-25: trammel.toml, drawing",
        "2026-04-25*: trammel.toml, drawing, right side, backward pin to axle, full backward, back dead centre",
        "2026-05-09: slot-right.csv",
        "2026-06-05: marks.toml",
        "2026-06-05*: marks.toml, pair 3, back dead centre",
        "2026-06-06: readings.toml, as found",
        "2026-06-06*: readings.toml, as found, left side",
        "2026-06-06*: readings.toml, as found, left side, opening, mid",
    ]
    assert "Taken in a hurry, lying under the link." in run.out
    dossier = (tmp_path / "dossier.html").read_text(encoding="utf-8")
    assert dossier.count('<img src="data:image/png') == 4
    assert "61.35 - 56.80" in dossier


@pytest.mark.parametrize(
    ("file", "old", "new", "key"),
    [
        ("readings.toml", "on = 2026-06-06", "on = 2026-06-31x", ""),
        ("readings.toml", "on = 2026-06-06", 'on = "2026-06-31"', "readings.on"),
        ("readings.toml", '"photos/depth-gauge.png"', '"../depth-gauge.png"', "left.photo"),
        ("readings.toml", 'note = "Three times', 'remark = "Three times', "left.readings.8.remark"),
        ("readings.toml", "61.35 - 56.80", "61.35 - ", "left.readings.0.front"),
        ("readings.toml", '"69.25 - 56.80", back = "57.20 - 48.40"', '"12 ± 0.1", back = "9 ± 0.1"', "left.readings.4"),
        ("trammel.toml", 'note = "Taken', 'from_engine = "Taken', "right.distance.4.from_engine"),
        ("marks.toml", 'with = "trammel from', "with = 3 # ", "tram.with"),
        ("marks.toml", "182.4 - 100", "182.4 ± 0.1 - 100", "pair.0.marks"),
        ("slot-right.csv", "2026-05-09", "9 May", "on"),
        ("slot-right.csv", "0.15 - 0.05", "0.15 ± 0.01 - 0.05", "front"),
    ],
)  # fmt: skip
def test_a_record_or_figure_that_cannot_be_is_told_with_its_place(
    file: str, old: str, new: str, key: str, tmp_path: Path, linkmotion: Command
) -> None:
    text = (PIPIT / file).read_text(encoding="utf-8")
    assert old in text
    bad = tmp_path / file
    bad.write_text(text.replace(old, new, 1), encoding="utf-8")
    words: dict[str, list[str | Path]] = {
        "readings.toml": ["diagnose", PIPIT, bad], "trammel.toml": ["reconcile", PIPIT, bad],
        "marks.toml": ["tram", PIPIT, bad],
        "slot-right.csv": ["cleanup", PIPIT, "--state", "as found", "--side", "right", "--readings", bad, "--tables"],
    }  # fmt: skip
    run = linkmotion(*words[file])
    assert_refused(run, bad)
    assert f"{key}" in said(run.err)
    assert re.search(r"line \d+", said(run.err))
