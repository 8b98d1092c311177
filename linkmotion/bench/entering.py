"""What a page may wish to change: a figure, a new state, a step back or forth; nothing else can be asked."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.figures_of_parts import layer_words, places
from linkmotion.bench.slot_entry import SlotRows, enter_rows, understood_rows
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import GONE, as_typed, figure_at, read_tables, typed
from linkmotion.files.journal import Change
from linkmotion.files.lines_edit import with_table
from linkmotion.files.side_named import no_such_side
from linkmotion.sides import BOTH, SIDE_NAMES

LONGEST = 400  # characters of a figure, takings and all
_NAME = re.compile(r"[^\x00-\x1f\x7f]{1,60}")


@dataclass(frozen=True)
class Wish:
    """A change that is wished.

    Attributes
    ----------
    what : str
        "figure", "state", "slot", "undo", "redo" or "back".
    seen : int
        Number of the change that was seen last.
    state, side, name, value : str
        Of a figure: where it goes, which, and what was typed. Of a state: its name as ``state``, what it is based on
        as ``value``.
    number : int
        The change to go back to.
    file : str
        Of a step back or forth: which file, of those beside the engine's; its own unless given.
    slot : SlotRows or None
        Readings along a slot.
    """

    what: str
    seen: int
    state: str = DRAWING
    side: str = BOTH
    name: str = ""
    value: str = ""
    number: int = -1
    file: str = ""
    slot: SlotRows | None = None


def understood(read: Any) -> Wish:
    """A wish from what was sent.

    Raises
    ------
    FileError
        It is none.
    """
    match read:
        case {"do": "figure", "seen": int(seen), "state": str(state), "side": str(side), "name": str(name),
              "value": str(value)} if side in (BOTH, *SIDE_NAMES) and len(value) <= LONGEST:  # fmt: skip
            return Wish("figure", seen, state, side, name, value)
        case {"do": "state", "seen": int(seen), "state": str(state), "based_on": str(based)}:
            return Wish("state", seen, state, value=based)
        case {"do": "slot", "seen": int(seen), "state": str(state), "side": str(side), "rows": list(rows)}:
            return Wish("slot", seen, slot=understood_rows(state, side, rows))
        case {"do": "undo" | "redo" as what, "seen": int(seen)}:
            return Wish(what, seen, file=_file(read))
        case {"do": "back", "seen": int(seen), "number": int(number)}:
            return Wish("back", seen, number=number, file=_file(read))
        case {"value": str(value)} if len(value) > LONGEST:
            raise FileError("entry", "this is longer than any figure", f"keep it under {LONGEST} characters")
    raise FileError("entry", "this cannot be understood", "load the page anew")


def _file(read: Mapping[str, Any]) -> str:
    name = read.get("file", "")
    return name if isinstance(name, str) and len(name) <= LONGEST else "?"


def carry_out(work: EngineAtWork, wish: Wish) -> Change | None:
    """Make a change; None where all stays as it is.

    Raises
    ------
    FileError
        It cannot be made; the file is as it was.
    """
    match wish.what:
        case "figure":
            return _figure(work, wish)
        case "state":
            return _state(work, wish)
        case "slot" if wish.slot is not None:
            return enter_rows(work, wish.slot, wish.seen)
        case "undo":
            return work.kept_of(wish.file).undo(wish.seen)
        case "redo":
            return work.kept_of(wish.file).redo(wish.seen)
    return work.kept_of(wish.file).back_to(wish.number, wish.seen)


def _figure(work: EngineAtWork, wish: Wish) -> Change | None:
    engine = work.must()
    if wish.state not in engine.state_names:
        raise FileError(wish.state, "there is no such state in the file", "go back to the list of states")
    if wish.side not in (BOTH, *engine.sides):
        raise FileError(wish.side, *no_such_side(wish.side, engine.sides, (BOTH,)))
    figure = places(work, wish.state, wish.side).get(wish.name)
    if figure is None:
        raise FileError(wish.name, "this gear has no such figure", "load the page anew")
    place = (*figure.layer, *figure.place)
    value = as_typed(wish.value) if wish.value.strip() else GONE

    def words(old: str, new: str) -> str:
        was, now = (typed(figure_at(read_tables(text), place)) for text in (old, new))
        told = f"{figure.words} {now or 'taken out'} (was {was or 'not given'})"
        return f"{layer_words(figure.layer, engine)}: {told}"

    return work.change_figure(place, value, words, wish.seen, figure.name)


def _state(work: EngineAtWork, wish: Wish) -> Change | None:
    engine = work.must()
    name = see_new_state(engine, wish.state)
    if wish.value not in engine.state_names:
        raise FileError(wish.value, "there is no such state to begin from", "choose one of the list")

    def made(text: str) -> str:
        based = {} if wish.value == DRAWING else {"based_on": wish.value}
        new = with_table(text, ("state", name), based)
        work.read(new)
        return new

    told = f"new state: {name}" + (f", begun from {wish.value}" if wish.value != DRAWING else "")
    return work.kept.change(made, told, wish.seen, (("state", name),))


def see_new_state(engine: Engine, name: str) -> str:
    """The name of a new state as it is to be written.

    Raises
    ------
    FileError
        It is no name, or the engine has a state of this name.
    """
    name = see_name(name, "a state", "as found")
    if name in engine.state_names:
        raise FileError(name, "there is a state of this name already", "choose another name")
    return name


def see_name(name: str, of: str, such: str) -> str:
    """A name as it is to be written; FileError where it is none.

    Parameters
    ----------
    name, of, such : str
        As typed; what is to have it; such a name.
    """
    name = " ".join(name.split())
    if not _NAME.fullmatch(name) or not name.isprintable():
        raise FileError("name", f"{of} needs a name", f"such as: {such}")
    return name
