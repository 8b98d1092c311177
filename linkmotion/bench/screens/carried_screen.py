"""What was carried back from the engine? A telephone's file beside the readings that are there, and taken in on yes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from linkmotion.bench.as_html import as_html
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.screen import Answered, Asked, Screen
from linkmotion.commands.input import telling
from linkmotion.engine import SIDES
from linkmotion.files.faults import FileError
from linkmotion.files.file_kinds import MARKS, READINGS
from linkmotion.files.readings_file import Readings, read_readings, readings_of
from linkmotion.files.readings_source import ReadingsSource
from linkmotion.files.source import BOM
from linkmotion.files.tram_file import TramMarks, parse_tram_marks
from linkmotion.studies.carried_back import met
from linkmotion.views.carried_words import carried_words
from linkmotion.views.printout import Answer, Block, Said

LARGEST = 200_000  # signs: a whole engine in every notch is some twenty thousand
NAME = "the file carried back"


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
    there = _there_already(work, text)
    if there:
        return {"met": as_html([Answer(f"This very file is there already, as {there}.")]), "good": False}
    found = _read(work, text)
    if isinstance(found, TramMarks):
        words = f"{len(found.pairs)} pairs of wheel marks were carried back."
        told: list[Block] = [Answer(words), Said("Kept, they are found under Dead centres, which tells what they say.")]
    else:
        told = list(carried_words(met(*_both(work, found, beside)), work.shown))
        told += [Said(f"Note: {found.note}.")] if found.note else []
        told += [] if beside else [Said("There are no readings of this engine yet to hold it against.")]
    return {"met": as_html(told), "good": True}


def _kept(work: EngineAtWork, text: str) -> Mapping[str, Any]:
    there = _there_already(work, text)
    if there:
        raise FileError(there, "this very file is there already", "nothing was written")
    marks = isinstance(_read(work, text), TramMarks)
    kind, screen = (MARKS, "dead_centres") if marks else (READINGS, "read")
    return {"to": f"{screen}?{urlencode({kind: work.beside.begin(kind, text.lstrip(BOM))})}"}


def _read(work: EngineAtWork, text: str) -> Readings | TramMarks:
    """What the text holds.

    Raises
    ------
    FileError
        It is neither readings nor marks of this engine.
    """
    if len(text) > LARGEST:
        raise FileError("file", "this is larger than any readings file", "is it the right file?")
    if "\0" in text or not text.strip():
        raise FileError("file", "this is no readings file", "choose the file that the telephone gave")
    engine = work.must()
    source = ReadingsSource(text.lstrip(BOM), NAME)
    document = source.document()
    if "tram" in document or "pair" in document:
        return parse_tram_marks(text.lstrip(BOM), NAME, engine.unit)
    with telling(engine, work.path):
        return readings_of(source, engine)


def _both(work: EngineAtWork, found: Readings, beside: str) -> tuple[Any, Any, Any]:
    """Readings that are there, those carried back, and the crank of each side."""
    engine = work.must()
    sides = dict(zip(SIDES, work.stand(found.state).assessment.sides, strict=True))
    cranks = {name: side.gear.crank for name, side in sides.items()}
    if not beside:
        return (), found.readings, cranks
    with telling(engine, work.path):
        return read_readings(work.beside.path(READINGS, beside), engine).readings, found.readings, cranks


def _there_already(work: EngineAtWork, text: str) -> str:
    """The name of the file that has this very text; "" where none has."""
    own = text.lstrip(BOM).replace("\r\n", "\n").encode("utf-8", "replace")
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
