"""Rows of a list written anew in an engine file: what stays keeps its line and its comment."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from linkmotion.files.figure_edit import figure_at
from linkmotion.files.rows_edit import with_rows

PLACE = ("state", "as found", "left", "wear", "slot")
TEXT = (Path(__file__).parents[1] / "examples" / "dock_shunter.toml").read_text("utf-8")
REMARK = '    { at = "-3 in", front = "0.0010 in", back = "0.0110 in" },'
TOLD = TEXT.replace(REMARK, f"{REMARK}  # read twice")


def rows() -> list[dict[str, object]]:
    return [dict(row) for row in figure_at(tomllib.loads(TOLD), PLACE)]


def same_but(new: str, gone: int, come: int) -> None:
    """All lines but some are there as they were, in their order."""
    before, after = TOLD.split("\n"), new.split("\n")
    kept = [line for line in after if line in before]
    assert len(before) - len(kept) == gone
    assert len(after) - len(kept) == come
    assert "# read twice" in new


def test_one_row_changed_leaves_every_other_line() -> None:
    wanted = rows()
    wanted[5] = wanted[5] | {"back": "0.0056 in"}
    new = with_rows(TOLD, PLACE, wanted)
    assert figure_at(tomllib.loads(new), PLACE) == wanted
    same_but(new, 1, 1)


def test_a_row_put_in_and_one_taken_out() -> None:
    wanted = rows()
    wanted.insert(4, {"at": "-2 1/2 in", "front": 0, "back": "0.010 in"})
    del wanted[-1]
    new = with_rows(TOLD, PLACE, wanted)
    assert figure_at(tomllib.loads(new), PLACE) == wanted
    same_but(new, 1, 1)


def test_all_of_them_taken_out_and_none_changed() -> None:
    assert with_rows(TOLD, PLACE, rows()) == TOLD
    gone = tomllib.loads(with_rows(TOLD, PLACE, []))
    assert "slot" not in gone["state"]["as found"]["left"]["wear"]
    assert gone["state"]["as found"]["left"]["wear"]["bow"] == {"eccentric rod": "3/32 in"}
    other = (*PLACE[:2], "right", *PLACE[3:])
    assert with_rows(TOLD, other, []) == TOLD


def test_the_first_rows_stand_one_on_a_line() -> None:
    place = (*PLACE[:2], "right", *PLACE[3:])
    wanted = [{"at": -2, "front": "2 thou", "back": 0}, {"at": 2, "front": "1 thou", "back": "0.001 in"}]
    new = with_rows(TOLD, place, wanted)
    assert figure_at(tomllib.loads(new), place) == wanted
    lines = [line for line in new.split("\n") if 'front = "' in line and "thou" in line]
    assert len(lines) == 2
    assert figure_at(tomllib.loads(new), PLACE) == rows()


def test_what_cannot_be_written_alone_is_refused() -> None:
    with pytest.raises(ValueError, match="laid out"):
        with_rows("wear = 3\n", ("wear", "slot"), [{"at": 1, "front": 0, "back": 0}])
