"""What was carried back from the engine? A telephone's file beside the readings that are there, and taken in on yes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from linkmotion.bench.as_html import as_html
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.screen import Answered, Asked, Screen
from linkmotion.commands.carried import carried_blocks
from linkmotion.commands.input import telling
from linkmotion.files.carried_file import LARGEST, Carried, held_against, read_carried
from linkmotion.files.faults import FileError, sentence
from linkmotion.files.file_kinds import MARKS, READINGS
from linkmotion.views.printout import Answer, Said

NAME = "the file carried back"
_REMEDY = "choose the file that the telephone gave"


def answer(_asked: Asked) -> Answered:
    """What to do; what a file says the page asks for once it has one."""
    return Answered((Answer("Choose the file that the telephone gave: it is looked at first, and kept on your word."),),
                    {"largest": LARGEST})  # fmt: skip


def takes(work: EngineAtWork, wish: Mapping[str, Any]) -> Mapping[str, Any]:
    """A file looked at beside what is there; or kept under a name of its own."""
    match wish:
        case {"do": "look", "text": str(text), "beside": str(beside)}:
            return _looked_at(work, text, beside)
        case {"do": "keep", "text": str(text)}:
            return _kept(work, text)
    raise FileError("file", "this cannot be understood", "load the page anew")


def _looked_at(work: EngineAtWork, text: str, beside: str) -> Mapping[str, Any]:
    found, engine = _read(work, text), work.must()
    new = _new(work, found)
    if not new:
        names = " and ".join(_there_already(work, part) for part in (found.readings_text, found.marks_text) if part)
        return {"met": as_html([Answer(f"This very file is there already, as {names}.")]), "good": False}
    path = work.beside.path(READINGS, beside) if beside else None
    with telling(engine, work.path):
        every = [] if found.readings is None else held_against(found.readings, engine, path)
    told = list(carried_blocks(found, every, work.shown, bool(beside)))
    if MARKS in new:
        told.append(Said("Kept, the marks are found under Dead centres, which tells what they say."))
    return {"met": as_html(told), "good": True}


def _kept(work: EngineAtWork, text: str) -> Mapping[str, Any]:
    """Each part under a name of its own; the page goes on to the readings, or else to the marks."""
    new = _new(work, _read(work, text))
    if not new:
        raise FileError("file", "this very file is there already", "nothing was written")
    names = {kind: work.beside.begin(kind, part) for kind, part in new.items()}
    return {"to": f"{'read' if READINGS in names else 'dead_centres'}?{urlencode(names)}"}


def _new(work: EngineAtWork, found: Carried) -> dict[str, str]:
    """Readings and marks of which the folder has not this very text yet, by their kind."""
    parts = {READINGS: found.readings_text, MARKS: found.marks_text}
    return {kind: part for kind, part in parts.items() if part and not _there_already(work, part)}


def _read(work: EngineAtWork, text: str) -> Carried:
    """What the text holds.

    Raises
    ------
    FileError
        It is neither readings nor marks of this engine.
    """
    engine = work.must()
    try:
        with telling(engine, work.path):
            return read_carried(text, NAME, engine)
    except FileError as error:
        line = f"line {error.line} of {NAME}: " if error.line else ""
        remedy = "take the file from the telephone once more, or mend that line in an editor"
        plain = f"{line}{error.plain} {sentence(remedy) if error.line else sentence(_REMEDY)}"
        raise FileError(NAME, f"{line}{error.problem}", error.remedy, error.line, error.key, plain=plain) from None


def _there_already(work: EngineAtWork, text: str) -> str:
    """The name of the file that has this very text; "" where none has."""
    own = text.replace("\r\n", "\n").encode("utf-8", "replace")
    for kind in (READINGS, MARKS):
        for name, path in work.beside.listed(kind).items():
            if path.read_bytes().replace(b"\r\n", b"\n") == own:
                return name
    return ""


SCREEN = Screen(
    "carried",
    "Carried back",
    "What was carried back from the engine?",
    answer,
    place=43,
    chooses=(),
    template="carried.html",
    file=READINGS,
    takes=takes,
)
