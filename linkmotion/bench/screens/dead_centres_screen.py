"""Where are the true dead centres? What ``tram`` makes of wheel marks, typed in or taken from the folder."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.marks_typed import HEADS, enter_head, enter_mark, heads, pairs, with_pair
from linkmotion.bench.pages import page
from linkmotion.bench.screen import Answered, Asked, Screen
from linkmotion.commands.tram import Trammed, TramRequest, blocks, trammed
from linkmotion.engine import Engine
from linkmotion.files.faults import FileError, spoken
from linkmotion.files.figure_edit import read_tables
from linkmotion.files.file_kinds import MARKS, READINGS
from linkmotion.files.marks_form import marks_form
from linkmotion.files.readings_edit import without_blanks
from linkmotion.valve import ENDS
from linkmotion.views.printout import Answer, Block, Said
from linkmotion.views.tram_view import TURNED_WORDS


def answer(asked: Asked) -> Answered:
    """Where the dead centres are and how near that is; then the marks."""
    name = asked.options[MARKS]
    if not name:
        first = Answer("No wheel marks of this engine are in the folder yet.")
        return Answered((first, Said("Bring the crosshead to one line before and after each dead centre, and mark the "
                                     "tyre by the trammel both times.")), {"writes": False})  # fmt: skip
    found, made = _told(asked.work, asked.engine, name, asked.state, asked.sides[0])
    told: dict[str, Any] = {"writes": asked.work.beside.can_write(name), "name": name, "first": made[:1]}
    if told["writes"]:
        told |= _fields(asked.work, name, found is not None)
    return Answered(made[1:], told)


def _told(work: EngineAtWork, engine: Engine, name: str, state: str, side: str) -> tuple[Trammed | None, list[Block]]:
    request = TramRequest(work.path, work.beside.path(MARKS, name), state=state, side=side)
    try:
        found = trammed(request, engine)
    except FileError as error:
        key = f"{spoken(error.key)}: " if error.key else ""
        return None, [Answer(f"Not to be told yet: {key}{error.plain}")]
    return found, list(blocks(found, request, engine, in_files=False))


def _fields(work: EngineAtWork, name: str, usable: bool) -> dict[str, Any]:
    """The marks as they stand, to be typed; and readings that can take over how near the dead centres are."""
    kept = work.beside.kept(name)
    kept.look()
    done, undone = kept.journal.standing()
    tables = read_tables(kept.text)
    own = [each for each in work.beside.listed(READINGS, work.must().name) if work.beside.can_write(each)]
    return {
        "heads": heads(tables), "pairs": pairs(tables), "ends": {end: end for end in ENDS}, "turns": TURNED_WORDS,
        "usable": usable, "readings_files": own if usable else [], "worked_on": name, "version": kept.version,
        "can_undo": bool(done), "can_redo": bool(undone),
    }  # fmt: skip


def takes(work: EngineAtWork, wish: Mapping[str, Any]) -> Mapping[str, Any]:
    """A mark, what is said of all, a new file or pair, blanks taken out; the dead centres taken into readings."""
    engine = work.must()
    match wish:
        case {"do": "begin"}:
            return {"to": f"dead_centres?{urlencode({MARKS: work.beside.begin('marks', marks_form(engine.unit))})}"}
        case {"do": "mark", "file": str(name)}:
            change, words = enter_mark(work.beside.kept(name), engine, wish)
        case {"do": "head", "file": str(name), "name": str(key), "value": str(value), "seen": int(seen)}:
            change, words = enter_head(work.beside.kept(name), engine, key, value[:400], seen), HEADS.get(key, key)
        case {"do": "pair" | "blanks" as what, "file": str(name), "seen": int(seen)}:
            made, words = {"pair": (with_pair, "one more pair"), "blanks": (without_blanks, "blanks taken out")}[what]
            change = work.beside.kept(name).change(made, words, seen)
        case {"do": "into readings", "file": str(name), "readings": str(into), "state": str(state),
              "side": str(side)} if side in engine.sides:  # fmt: skip
            return _into_readings(work, engine, name, into, state, side)
        case _:
            raise FileError("mark", "this cannot be understood", "load the page anew")
    kept = work.beside.kept(name)
    done, undone = kept.journal.standing()
    state = str(wish.get("state", ""))
    state = state if state in engine.state_names else engine.state_names[0]
    side = wish["side"] if wish.get("side") in engine.sides else engine.sides[0]
    _found, made_blocks = _told(work, engine, name, state, side)
    return {"words": change.words if change else words, "version": kept.version, "undo": bool(done),
            "redo": bool(undone), "status": page("answer.html", blocks=made_blocks[:2])}  # fmt: skip


def _into_readings(
    work: EngineAtWork, engine: Engine, name: str, into: str, state: str, side: str
) -> Mapping[str, Any]:
    """Write into a readings file how near the dead centres were found."""
    from linkmotion.bench.readings_typed import enter_head as enter_reading_head
    from linkmotion.views.tram_view import how_near

    if state not in engine.state_names:
        raise FileError(state, "there is no such state in the file", "choose one of the list")
    request = TramRequest(work.path, work.beside.path(MARKS, name), state=state, side=side)
    tram = trammed(request, engine).tram
    assert tram is not None
    kept = work.beside.kept(into)
    kept.look()
    change = enter_reading_head(work, kept, "dead_centres", how_near(tram), kept.version)
    return {
        "to": f"read?{urlencode({READINGS: into})}",
        "words": change.words if change else "they stand there already",
    }


SCREEN = Screen(
    "dead_centres",
    "Dead centres",
    "Where are the true dead centres?",
    answer,
    place=40,
    chooses=("state", "side"),
    template="dead_centres.html",
    file=MARKS,
    takes=takes,
)
