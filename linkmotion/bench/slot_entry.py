"""What is entered for a slot: its readings along both faces."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.figures_of_parts import layer_words
from linkmotion.engine import DRAWING
from linkmotion.engine_layers import layer_at
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import Place, as_typed
from linkmotion.files.journal import Change
from linkmotion.files.rows_edit import with_rows
from linkmotion.files.side_named import no_such_side
from linkmotion.sides import SIDE_NAMES

COLUMNS = ("at", "front", "back")
MOST = 200
"""Readings along a slot, at most."""
_LONGEST = 60  # characters of a figure
_AT_A_ROW = re.compile(r"wear\.slot\.(?P<row>\d+)\.(?P<column>at|front|back)$")


@dataclass(frozen=True)
class SlotRows:
    """Readings of a slot as they were typed: each its place along the slot, and what either face has lost there."""

    state: str
    side: str
    rows: tuple[Mapping[str, str], ...]


def understood_rows(state: str, side: str, read: Sequence[Any]) -> SlotRows:
    """Readings from what was sent.

    Raises
    ------
    FileError
        They are none.
    """
    good = side in SIDE_NAMES and len(read) <= MOST and all(
        isinstance(row, dict) and sorted(row) == sorted(COLUMNS)
        and all(isinstance(own, str) and own.strip() and len(own) <= _LONGEST for own in row.values())
        for row in read
    )  # fmt: skip
    if not good:
        words = f"each of up to {MOST} readings is a place and what is lost on either face"
        raise FileError("entry", "these are no readings of a slot", words)
    return SlotRows(state, side, tuple(read))


def place_of(state: str, side: str) -> Place:
    """Where a side's readings stand in the file."""
    return (*layer_at(state, side), "wear", "slot")


def enter_rows(work: EngineAtWork, wish: SlotRows, seen: int) -> Change | None:
    """Write a side's readings.

    Raises
    ------
    FileError
        One cannot be; where it is one figure alone, the key is "slot", its number from 0, and its column.
    """
    engine = work.must()
    if wish.state not in engine.state_names or wish.state == DRAWING:
        raise FileError(wish.state, "readings of a slot are entered into a state", "choose or begin a state")
    if wish.side not in engine.sides:
        raise FileError(wish.side, *no_such_side(wish.side, engine.sides))
    place = place_of(wish.state, wish.side)
    rows = [{key: as_typed(row[key]) for key in COLUMNS} for row in wish.rows]

    def made(text: str) -> str:
        try:
            new = with_rows(text, place, rows)
        except ValueError as error:
            raise FileError(work.path.name, str(error), "nothing was changed") from None
        if new != text:
            _read(work, new)
        return new

    words = f"{layer_words(layer_at(wish.state, wish.side), engine)}: slot read at {len(rows)} places"
    return work.kept.change(made, words, seen, (place,))


def _read(work: EngineAtWork, text: str) -> None:
    """Read the text; a figure that is none is named by its row."""
    try:
        work.read(text)
    except FileError as error:
        if found := _AT_A_ROW.search(error.key):
            key = f"slot.{found['row']}.{found['column']}"
            raise FileError(work.path.name, error.problem, error.remedy, key=key, plain=error.plain) from None
        raise
