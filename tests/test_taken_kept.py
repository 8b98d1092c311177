"""A file in the awkward forms is kept to the letter: what is changed in it is one figure, and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

import linkmotion as lm
from linkmotion.files.engine_file import edit_engine, parse_engine, read_engine
from tests.bad_engines.changed import EXAMPLES

SISTER = EXAMPLES / "dock_sister.toml"
TEXT = SISTER.read_text(encoding="utf-8")
CHANGES = {  # key: what is written, the line that is to stand then
    "radius_rod.lift_pin": (7.5, "lift_pin = 7.5"),
    "union_link.length": ("14 ± 1/64 in", 'length = "14 ± 1/64 in"'),
    "expansion_link.slot_radius.rise": ("0.2180 in", None),
    "valve.port_width": ("1 1/8 in", 'port_width = "1 1/8 in"'),
    "reversing.arm": (["10.0 in", "10.02 in"], 'arm = ["10.0 in", "10.02 in"]'),
}


def test_a_file_of_every_form_is_read_and_written_to_the_letter(tmp_path: Path) -> None:
    engine = read_engine(SISTER)
    assert engine.text == TEXT
    forms = (
        "takings",
        "over",
        "between",
        "from_rail",
        "chord",
        "foot_movement",
        "greatest",
        "middle",
        "±",
        "turned_to",
    )
    assert [form for form in forms if form not in TEXT] == []
    again = parse_engine(engine.text)
    assert again.taken == engine.taken
    assert again.drawing == engine.drawing


@pytest.mark.parametrize("key", CHANGES)
def test_a_change_of_one_figure_differs_in_that_figure_only(key: str) -> None:
    value, line = CHANGES[key]
    engine = read_engine(SISTER)
    changed = edit_engine(engine, key, value)
    before, after = TEXT.split("\n"), changed.text.split("\n")
    other = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert len(other) == 1
    old, new = other[0]
    comment = old.partition("#")[2]
    assert new.endswith(comment)
    if line is not None:
        assert new.startswith(line)
    path = tuple(key.split(".")[:2])
    assert {p for p in engine.taken if engine.taken[p] != changed.taken.get(p)} <= {path, ("return_crank", "angle")}
    moved = {(t, k) for t, keys in engine.drawing.items() for k in keys if changed.drawing[t][k] != keys[k]}
    assert moved == ({path} if key not in ("union_link.length", "valve.port_width") else set())


def test_a_change_within_a_state_leaves_the_rest() -> None:
    changed = edit_engine(read_engine(SISTER), "wear.clearance.foot", "0.010 in", "as found", "left")
    gone = [line for line in TEXT.split("\n") if line not in changed.text.split("\n")]
    assert gone == ['foot = { bush = "1.765 in", pin = ["1.751 in", "1.752 in"] }']


def test_a_states_plain_figure_stands_instead_of_one_that_was_taken() -> None:
    engine = lm.parse_engine(
        f"{TEXT}\n[state.x.left.radius_rod]\nlength = 38\n[state.x.both.return_crank]\nangle = 83\n"
    )
    rows = {(row["side"], row["dimension"]): row for row in engine["x"].taken.rows()}
    assert ("right", "radius_rod.length") in rows
    assert not {("left", "radius_rod.length"), ("both", "return_crank.angle")} & set(rows)
    assert rows["both", "return_crank.length"]["doubt"] == pytest.approx(0.005, abs=1e-9)
