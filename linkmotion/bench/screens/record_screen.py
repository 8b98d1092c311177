"""What was found and done? What ``history`` says of the engine's file, with the photographs of the folder."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from linkmotion.bench.answering import entered
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.photographs_shown import photographs_in
from linkmotion.bench.record_entry import said_of
from linkmotion.bench.screen import Answered, Asked, Choice, Screen
from linkmotion.bench.setting_done import done_of
from linkmotion.bench.table_figures import enter
from linkmotion.commands.history import HistoryRequest, history_of
from linkmotion.engine import Engine
from linkmotion.files.engine_history import History
from linkmotion.files.faults import FileError
from linkmotion.files.seals import seal_file, seals_now
from linkmotion.studies.record_history import Entry
from linkmotion.views.dossier import dossier
from linkmotion.views.history_words import cells, day_words, history_blocks, place, record_words
from linkmotion.views.printout import Heading


def answer(asked: Asked) -> Answered:
    """What was altered since it was recorded; then entry by entry with its photographs; then work ticked off."""
    found = _found(asked)
    blocks = list(history_blocks(found))
    first = next(i for i, own in enumerate(blocks) if isinstance(own, Heading))
    there = {path: name for name, path in photographs_in(asked.work.kept.folder).items()}
    shown = {own.path: there.get(own.path.resolve(), there.get(own.path, "")) for own in found.photos}
    return Answered(
        blocks[:first],
        {
            "entries": [_entry(own, found, shown, asked.engine.unit) for own in found.entries],
            "others": [name for path, name in there.items() if name not in shown.values()],
            "last": blocks[-1:], "setting": done_of(asked.work), "unrecorded": _unrecorded(asked),
            "to_say": list(said_of(asked.work)),
        },
    )  # fmt: skip


def _found(asked: Asked) -> History:
    request = HistoryRequest(asked.path, part=asked.options["part"], look=True)
    return history_of(request, asked.engine, seal_file(asked.path), date.today())


def _unrecorded(asked: Asked) -> list[str]:
    """What has not been recorded yet."""
    from linkmotion.files.seals import read_seals

    known = {own.what for own in read_seals(seal_file(asked.path))}
    return [own.what for own in seals_now(asked.engine, date.today()) if own.what not in known]


def _entry(own: Entry, found: History, shown: Mapping[Any, str], unit: str) -> dict[str, Any]:
    return {
        "day": day_words(own), "place": place(own),
        "words": [words for words in record_words(own) if not words.startswith("Photographs:")],
        "figures": [cells(figure, unit) for figure in own.figures],
        "photos": [
            {"name": each.name, "shown": shown.get(each.path, ""), "problem": each.problem}
            for each in found.photos if each.where == own.where
        ],
    }  # fmt: skip


def takes(work: EngineAtWork, wish: Mapping[str, Any]) -> Mapping[str, Any]:
    """What is said of a state; or record what has not been recorded yet, as ``history`` does."""
    match wish:
        case {"do": "figure", "name": str(name), "value": str(value), "seen": int(seen)}:
            state, figures = next(
                (own for own in said_of(work) if name in {each.name for each in own[1]}), ("record", [])
            )
            change = enter(work, figures, name, value, seen, state)
            return entered(work, change, anew=["unrecorded", "entries"])
        case {"do": "record"}:
            engine = work.must()
        case _:
            raise FileError("record", "this cannot be understood", "load the page anew")
    found = history_of(HistoryRequest(work.path), engine, seal_file(work.path), date.today())
    return {"words": f"Recorded: {', '.join(own.what for own in found.recorded) or 'nothing new'}"}


def sheet(asked: Asked) -> str:
    """The dossier, as the command writes it."""
    return dossier(_found(asked))


def _parts(engine: Engine) -> dict[str, str]:
    from dataclasses import fields

    return {"": "the whole gear", **{own.name: own.name.replace("_", " ") for own in fields(engine.gear_type)}}


SCREEN = Screen(
    "record",
    "Record",
    "What was found and done?",
    answer,
    place=80,
    chooses=(),
    choices=(Choice("part", "Of", _parts),),
    template="record.html",
    takes=takes,
    sheet=sheet,
)
