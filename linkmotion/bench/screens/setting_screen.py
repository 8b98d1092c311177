"""How is it set? What ``adjust`` says: the choices side by side, and the setting sheet to tick off."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from linkmotion.bench.adjustments_typed import adjustments_of, takes_of
from linkmotion.bench.answering import entered
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.pages import page
from linkmotion.bench.screen import Answered, Asked, Choice, Screen
from linkmotion.bench.screens.diagnosis_screen import mark, nothing_read, read
from linkmotion.bench.setting_done import Done, done_of, known_again, tick
from linkmotion.commands.adjust import AdjustRequest, advice_of
from linkmotion.commands.input import telling
from linkmotion.face.engine_advice import EngineAdvice
from linkmotion.files.faults import FileError
from linkmotion.files.file_kinds import READINGS
from linkmotion.studies.setting.choices import CHOICES
from linkmotion.views.grid import Grid
from linkmotion.views.printout import Block, Point
from linkmotion.views.setting_sheet import setting_sheet
from linkmotion.views.setting_table import advice_blocks

_LONGEST = 400  # characters of a piece of work


def answer(asked: Asked) -> Answered:
    """What to do first and what comes of it; the work to be ticked off; the choices; what should then be read."""
    name = asked.options[READINGS]
    if not name:
        return Answered(nothing_read().blocks, {"works": None})
    found = advised(asked)
    assert found.readings_taken is not None
    as_read = known_again(found.readings_taken.readings)
    made = list(advice_blocks(f"{found.engine.name}, {found.state}", found.words(), found.foreseen, found.assumed))
    every = done_of(asked.work)
    works = list(_works(found, every, name, as_read))
    told = {
        "works": works, "done": sum(bool(own["on"]) for own in works), "hours": found.words().hours(found.advice.hours),
        "before": [own for own in every if own.as_read != as_read], "as_advised": asked.options["choice"] == "",
    }  # fmt: skip
    return Answered((made[0], *_without_works(made[1:])), told)


def advised(asked: Asked) -> EngineAdvice:
    """The advice as the command gives it, of the readings that were chosen."""
    name = asked.options[READINGS]
    asked.progress(0, 3)
    read(asked.work, asked.engine, name)  # tells what is wrong with it
    asked.progress(1, 3)
    sound, mended = asked.options["parts"] == "move", asked.options["mended"] == "yes"
    request = AdjustRequest(
        asked.path, asked.work.beside.path(READINGS, name), move_sound_parts=sound, once_mended=mended
    )
    with telling(asked.engine, asked.path):
        found = asked.work.study(
            ("setting", *mark(asked.work, name), str(sound), str(mended)), lambda: advice_of(request, asked.engine)
        )
    asked.progress(2, 3)
    choice = asked.options["choice"]
    return found.choose(choice) if choice else found


def _works(found: EngineAdvice, every: list[Done], name: str, as_read: str) -> Iterator[dict[str, Any]]:
    """The work in order, each with the day it was done."""
    words = found.words()
    done = {own.work: own.on for own in every if own.as_read == as_read}
    for number, work in enumerate(found.advice.works, 1):
        told = f"{words.where(work)}: {words.work(work)}"
        yield {
            "number": number, "where": words.where(work), "kind": words.kind(work), "words": words.work(work),
            "off": words.more_than_drawn(work.undoes) if work.undoes else "", "effect": words.effect(work),
            "hours": words.hours(work.adjustment.hours), "on": done.get(told, ""),
            "tick": {"do": "tick", "work": told, "readings": name, "as_read": as_read},
        }  # fmt: skip


def _without_works(blocks: list[Block]) -> Iterator[Block]:
    """What is told besides the work itself, which is to be ticked off; the choices first."""
    tables = [i for i, block in enumerate(blocks) if isinstance(block, Grid)]
    if tables and blocks[tables[0]].title.startswith("Choices"):  # type: ignore[union-attr]
        to = tables[1] if len(tables) > 1 else len(blocks)
        blocks = [*blocks[tables[0] : to], *blocks[: tables[0]], *blocks[to:]]
    for block in blocks:
        if not (isinstance(block, Point) and block.mark.rstrip(".").isdigit() and block.mark != "0."):
            yield block


def beside(asked: Asked) -> Mapping[str, Any]:
    """What there is to set this engine by, as it is written or assumed."""
    every = adjustments_of(asked.work, asked.engine)
    return {
        "given": [own for own in every if own.figures], "usual": [own for own in every if own.usual],
        "others": [own for own in every if not own.figures],
    }  # fmt: skip


def takes(work: EngineAtWork, wish: Mapping[str, Any]) -> Mapping[str, Any]:
    """A tick, or one taken away; something of what there is to set by, by which the advice is then found anew."""
    match wish:
        case {"do": "figure" | "usual" | "begin" | "gone"}:
            return entered(work, takes_of(work, wish), answer_anew=True)
        case {"do": "tick", "work": str(words), "readings": str(name), "as_read": str(as_read), "on": bool(on)} if (
            words.isprintable() and len(words) <= _LONGEST and len(as_read) <= 24 and as_read.isalnum()
        ):
            work.beside.path(READINGS, name)  # refuses another
            tick(work, Done(words, "", name, as_read), on)
            count = sum(own.as_read == as_read for own in done_of(work))
            status = page("setting_status.html", count=count)
            return {"words": f"{'Done' if on else 'Not done after all'}: {words}", "status": status}
    raise FileError("setting", "this cannot be understood", "load the page anew")


def sheet(asked: Asked) -> str:
    """The setting sheet, as the command writes it."""
    if not asked.options[READINGS]:
        raise FileError("readings", "nothing has been read of this engine yet", "enter what was read first")
    found = advised(asked)
    return setting_sheet(found.engine, found.state, found.words(), found.foreseen, found.assumed)


SCREEN = Screen(
    "setting",
    "How is it set?",
    "How is it set?",
    answer,
    place=46,
    chooses=(),
    choices=(
        Choice("choice", "Choice", lambda _engine: {"": "as advised", **{own: own for own in CHOICES}}),
        Choice("parts", "Sound parts", lambda _engine: {"": "stay as they are", "move": "may be moved"}),
        Choice("mended", "What no adjustment mends", lambda _engine: {"": "stays as it is", "yes": "is mended first"}),
    ),
    answer_template="setting_answer.html",
    file=READINGS,
    takes=takes,
    sheet=sheet,
    template="setting.html",
    long=True,
    beside=beside,
)
