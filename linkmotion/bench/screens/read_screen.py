"""What was read at the engine? A field for everything that can be read, kept in a readings file of the folder."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.pages import page
from linkmotion.bench.readings_typed import HEADS, cells, enter_head, enter_reading, entered, standing
from linkmotion.bench.screen import Answered, Asked, Screen
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import read_tables, typed
from linkmotion.files.file_kinds import READINGS
from linkmotion.files.readings_edit import BLANK, without_blanks
from linkmotion.files.readings_method import NOT_NOTED
from linkmotion.files.readings_source import ReadingsSource
from linkmotion.sides import side_words
from linkmotion.studies.figures.figure import KINDS, TURNED
from linkmotion.views.printout import Answer

_DEAD_CENTRES = ("by eye", "by trammel")


def answer(asked: Asked) -> Answered:
    """What is entered and whether it can be used; then the fields, notch by notch."""
    name = asked.options[READINGS]
    if not name:
        return Answered((Answer("Nothing has been read of this engine yet: begin its readings."),), {"groups": None})
    told = {"name": name, "writes": asked.work.beside.can_write(name), **_standing(asked.work, name)}
    if not told["writes"]:
        return Answered((), told | {"groups": None})
    kept = asked.work.beside.kept(name)
    kept.look()
    done, undone = kept.journal.standing()
    tables = read_tables(kept.text)
    head = tables.get("readings", {})
    state = head.get("state", DRAWING)
    state = state if state in asked.engine.state_names else DRAWING
    side = asked.sides[0]
    told |= {
        "groups": cells(asked.work, tables, state, side),
        "heads": {key: (words, _typed(head.get(key))) for key, words in HEADS.items()},
        "offered": {"dead_centres": _DEAD_CENTRES, "turned": (*TURNED, NOT_NOTED)},
        "read_state": state, "unit": head.get("unit", asked.engine.unit), "kinds": KINDS,
        "blanks": f'"{BLANK}"' in kept.text.partition("[readings]")[2],
        "changes": list(reversed(kept.journal.changes))[:12],
        "worked_on": name, "version": kept.version, "can_undo": bool(done), "can_redo": bool(undone),
    }  # fmt: skip
    return Answered((), told)


def _typed(value: Any) -> str:
    return "" if value == BLANK else typed(value)


def _standing(work: EngineAtWork, name: str) -> dict[str, Any]:
    """The answer: how many are entered, and whether they can be used as they are."""
    source = ReadingsSource.of(work.beside.path(READINGS, name))
    try:
        sides = list(entered(source.document()))
    except FileError:
        sides = []
    words, usable, _counts = standing(work, name)
    count = ", ".join(f"{sides.count(side)} of the {side_words(side)}" for side in work.must().sides)
    begun = f"{len(sides)} figure{'s are' if len(sides) != 1 else ' is'} entered: {count}."
    return {"begun": begun, "usable": usable, "wanting": words, "none": not sides}


def takes(work: EngineAtWork, wish: Mapping[str, Any]) -> Mapping[str, Any]:
    """A reading, what is said of all of them, a new file, the blanks taken out."""
    match wish:
        case {"do": "begin", "state": str(state)}:
            return _begun(work, state)
        case {"do": "reading", "file": str(name)}:
            change, words = enter_reading(work, work.beside.kept(name), wish)
        case {"do": "head", "file": str(name), "name": str(key), "value": str(value), "seen": int(seen)}:
            change, words = enter_head(work, work.beside.kept(name), key, value[:400], seen), HEADS.get(key, key)
        case {"do": "another", "file": str(name)}:
            change, words = enter_reading(work, work.beside.kept(name), _another(wish))
        case {"do": "blanks", "file": str(name), "seen": int(seen)}:
            kept, words = work.beside.kept(name), "what was not read is taken out"
            change = kept.change(without_blanks, words, seen)
        case _:
            raise FileError("entry", "this cannot be understood", "load the page anew")
    kept = work.beside.kept(name)
    done, undone = kept.journal.standing()
    status = page("reading_status.html", **_standing(work, name))
    return {"words": change.words if change else words, "version": kept.version, "undo": bool(done),
            "redo": bool(undone), "status": status}  # fmt: skip


def _another(wish: Mapping[str, Any]) -> Mapping[str, Any]:
    """One more reading, as its form sends it."""
    at = str(wish.get("at", "")).strip().rstrip("°").strip()
    try:
        angle = float(at) if at else None
    except ValueError:
        raise FileError(
            "angle", f"read {at[:40]!r}", "give a crank angle from 0 to 360 degrees, or leave it empty"
        ) from None
    if not str(wish.get("value", "")).strip():
        raise FileError("reading", "no figure was read", "write what was read")
    return {**wish, "at": angle, "number": 0, "was": ""}


def _begun(work: EngineAtWork, state: str) -> Mapping[str, Any]:
    from urllib.parse import urlencode

    engine = work.must()
    if state not in engine.state_names:
        raise FileError(state, "there is no such state in the file", "choose one of the list")
    name = work.beside.begin("readings", _head(engine, state))
    return {"to": f"read?{urlencode({READINGS: name})}"}


def _head(engine: Engine, state: str) -> str:
    """The head of a readings file as ``linkmotion form`` writes it, before anything is read."""
    said = {"engine": engine.name, "state": state, "unit": engine.unit, "dead_centres": "by eye", "turned": NOT_NOTED}
    lines = (f"{key} = {typed([value])[2:-2]}" for key, value in said.items())
    return "\n".join(("# Readings, entered on the bench; to be completed in any editor too.", "[readings]", *lines, ""))


SCREEN = Screen(
    "read",
    "Read at the engine",
    "What was read at the engine?",
    answer,
    place=42,
    chooses=("side",),
    template="read.html",
    file=READINGS,
    takes=takes,
)
