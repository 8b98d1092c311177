"""DEVELOPERS.md, 'How to add a reading', followed to the letter in a copy of the house."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.printed_changes import followed, in_copy

READINGS = """
[readings]
engine = "{engine}"
state = "drawing"
unit = "mm"
within = 0.05
within_percent = 0.5

[left]
readings = [
    {{ notch = "full forward", kind = "exhaust lead", front = {front}, back = {back} }},
    {{ notch = "full forward", kind = "lead", front = {lead}, back = 3.0 }},
]
"""

ENGINE = 'Harrowquay Dock Company, class H, No. 4 \\"Limpet\\" (invented)'

# The printed kind beside the independent solution (joint angles, one position after another), and its slopes beside
# differences of that solution; run in the copy, whose figures know the kind.
BESIDE = """
from pathlib import Path

import numpy as np

from linkmotion.studies.assess import assess
from linkmotion.studies.figures.figure import Figure
from linkmotion.studies.figures.model import GearModel
from tests.gears_at_hand import example, number_of, plain_tables
from tests.independent.joint_angles import VALVE
from tests.independent.port_events import Revolution, opening

side = assess(example("dock_shunter"), sides=["left"]).sides[0]
notch = "full forward"
arm = number_of(side.settings[side.notches.index(notch)])
figures = [Figure(kind="exhaust lead", notch=notch, end=end) for end in ("front", "back")]
model = GearModel.of(side, figures)


def alone(more=0.0):
    dims = plain_tables(example("dock_shunter"))
    dims["eccentric_rod"] = dims["eccentric_rod"] | {"length": dims["eccentric_rod"]["length"] + more}
    turn = Revolution(dims, arm, "forward")
    found = []
    for end, dead in (("front", 0.0), ("back", turn.back_angle())):
        found.append(opening(dims, "exhaust", end, float(turn.at(dead)[VALVE]) - side.central_at))
    return np.array(found)


print(float(np.max(np.abs(model.predict(np.zeros(len(model.keys))) - alone()))))
slope = (alone(1e-3) - alone(-1e-3)) / 2e-3
print(float(np.max(np.abs(model.slopes[:, model.keys.index(("eccentric_rod", "length"))] - slope))))
print(float(np.min(np.abs(slope))))
print(*alone())
"""


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return followed("How to add a reading", tmp_path_factory.mktemp("house"))


def test_the_printed_reading_is_that_of_the_independent_solution_with_its_slopes_and_is_read(copy: Path) -> None:
    (copy / "beside.py").write_text(BESIDE, encoding="utf-8")
    ran = in_copy(copy, "beside.py")
    assert ran.returncode == 0, ran.stderr
    off, slope_off, slope, front, back = map(float, ran.stdout.split())
    assert off < 1e-7
    assert slope_off < 1e-6
    assert slope > 0.1, "the rod does move it"
    text = READINGS.format(engine=ENGINE, front=round(front, 2), back=round(back, 2), lead=3.0)
    (copy / "read.toml").write_text(text, encoding="utf-8")
    ran = in_copy(copy, "-m", "linkmotion", "diagnose", "examples/dock_shunter.toml", "read.toml", "--json")
    assert ran.returncode in (0, 1), ran.stderr
    assert '"exhaust lead"' in ran.stdout


def test_a_wrong_row_of_it_is_told(copy: Path) -> None:
    text = READINGS.format(engine=ENGINE, front=1.0, back=1.0, lead=3.0).replace(
        "front = 1.0, back = 1.0", "reads = 1.0"
    )
    (copy / "wrong.toml").write_text(text, encoding="utf-8")
    ran = in_copy(copy, "-m", "linkmotion", "diagnose", "examples/dock_shunter.toml", "wrong.toml")
    assert ran.returncode == 2
    assert "at which end is this exhaust lead?" in ran.stderr
