"""How is this slot cleaned up? Readings typed along the slot; what ``cleanup`` says of them, and its drawings."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from linkmotion.bench.answering import entered
from linkmotion.bench.cleanup_typed import WANTED, cleanup_figures
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.screen import Answered, Asked, Choice, Link, Plot, Screen
from linkmotion.bench.slot_entry import COLUMNS, place_of
from linkmotion.bench.table_figures import enter
from linkmotion.commands.cleanup import CleanupRequest, blocks, worked_out
from linkmotion.commands.input import telling
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.engine_folder import EngineFolder
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import figure_at, typed
from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.gears.slots import CurvedSlot
from linkmotion.sides import side_words
from linkmotion.studies.slot.cleanup_rows import least_cut
from linkmotion.studies.slot.in_gear import SlotInGear
from linkmotion.studies.slot.parts import Proposal
from linkmotion.views.printout import Answer

_SPARE, _LEAST = 3, 8  # rows left open after the last, and in all
_BEST = "least metal"


def request_of(asked: Asked) -> CleanupRequest:
    """The same as the command is asked it; a table of readings of the folder serves where the state has none."""
    setup = asked.engine.side_state(asked.state, asked.side)
    readings = None if setup.condition.slot else _table(asked)
    return CleanupRequest(asked.path, asked.state, asked.side, readings=readings)


def _table(asked: Asked) -> Path | None:
    """The folder's own table of this side's slot, where the folder is this engine's alone."""
    folder = asked.work.kept.folder
    found = EngineFolder(folder.path)
    if len(found.engines) != 1:
        return None
    path = found.slot_of(asked.side)
    return path if path is not None and folder.holds(path) else None


def work_of(asked: Asked) -> SlotInGear:
    """The proposals, as the command finds them."""
    with telling(asked.engine, asked.path):
        return worked_out(request_of(asked), asked.engine, asked.engine.side_state(asked.state, asked.side),
                          asked.stage(0, 2))  # fmt: skip


def proposal_of(asked: Asked, work: SlotInGear) -> Proposal:
    """The one that is looked at: as chosen, as far as there is such a one; else the one of least metal."""
    best, _agree = least_cut(work, asked.engine.targets)
    known = {own.name: own for own in work.done.proposals}
    return known.get(asked.options["cleanup"]) or best or work.done.proposals[0]


def answer(asked: Asked) -> Answered:
    """Which clean-up takes least metal, how each comes out, and the one that is looked at, drawn."""
    if wanting := _wanting(asked):
        return Answered(wanting)
    from linkmotion.views.machining_sheet import machining_drawing, slot_picture  # loads matplotlib

    work = work_of(asked)
    asked.progress(1, 2)
    side, own, unit = f"{asked.state}, {side_words(asked.side)}", proposal_of(asked, work), asked.engine.unit
    made = [*blocks(side, asked.engine, work)]
    title, name = f"{asked.engine.name}: {side}", own.name.capitalize()
    plots: list[Plot | Link] = [
        Plot(f"{name}: both faces, the cut enlarged, and the slot to scale", slot_picture(work, own, unit)),
        Link("Machining sheet to print", f"sheet/machining?{asked.query}"),
        Link("The same drawing as DXF, to take away", f"sheet/dxf?{asked.query}"),
        Plot(f"{name}: machining drawing", machining_drawing(work, own, title, unit)),
    ]
    return Answered((*made[:1], *plots, *made[1:]))


def _wanting(asked: Asked) -> tuple[Answer, ...]:
    """What is wanted before anything can be told, in the words of this page."""
    if asked.engine.gear().slot is None:
        kind = asked.engine.gear_type.name
        return (Answer(f"There is no slot in a gear of this kind ({kind}): a clean-up is for gears with a link."),)
    if asked.state == DRAWING:
        return (Answer("The drawing's slot is not worn: choose a state."),)
    if not asked.engine.side_state(asked.state, asked.side).condition.slot and _table(asked) is None:
        return (
            Answer(f"The {asked.side} slot has not been read yet ({asked.state}): type its readings, place by place."),
        )
    missing = [own.words.lower() for own in cleanup_figures(asked.work)[: len(WANTED)] if not own.value]
    return (Answer(f"Wanted besides the readings: {' and '.join(missing)}."),) if missing else ()


def beside(asked: Asked) -> Mapping[str, Any]:
    """The readings as the state has them, with rows left open, and what a clean-up needs besides."""
    own = figure_at(asked.work.document, place_of(asked.state, asked.side)) if asked.state != DRAWING else None
    rows = [{key: typed(row.get(key, 0)) for key in COLUMNS} for row in own or ()]
    open_rows = max(_SPARE, _LEAST - len(rows))
    held = len(asked.engine.side_state(asked.state, asked.side).condition.slot)
    return {
        "rows": rows, "all_rows": [*rows, *({key: "" for key in COLUMNS} for _ in range(open_rows))],
        "inherited": 0 if rows else held, "has_slot": asked.engine.gear().slot is not None,
        "is_drawing": asked.state == DRAWING, "figures": cleanup_figures(asked.work), "wanted": len(WANTED),
        "unit": asked.engine.unit, "unit_name": UNIT_NAMES[asked.engine.unit],
    }  # fmt: skip


def takes(work: EngineAtWork, wish: Mapping[str, Any]) -> Mapping[str, Any]:
    """A figure that a clean-up needs besides the readings; what is proposed then follows."""
    match wish:
        case {"do": "figure", "name": str(name), "value": str(value), "seen": int(seen)}:
            change = enter(work, cleanup_figures(work), name, value, seen, "clean-up")
            return entered(work, change, answer_anew=True)
    raise FileError("clean-up", "this cannot be understood", "load the page anew")


def _ways(engine: Engine) -> dict[str, str]:
    course = "centre" if isinstance(engine.gear().slot, CurvedSlot) else "line"
    names = [f"{whose} {course}{limited}" for limited in ("", ", limited") for whose in ("drawn", "worn")]
    return {_BEST: "the one of least metal"} | {name: name for name in names}


SCREEN = Screen(
    "slot",
    "Slot",
    "How is this slot cleaned up?",
    answer,
    place=35,
    chooses=("state", "side"),
    choices=(Choice("cleanup", "Clean-up", _ways),),
    template="slot.html",
    long=True,
    beside=beside,
    takes=takes,
)
