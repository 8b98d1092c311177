"""Which repairs? What ``repairs`` says, by the hours there are."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from linkmotion.bench.answering import entered
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.repairs_typed import TOGETHER, can_set, layers_of, repairs_of, takes_of
from linkmotion.bench.screen import Answered, Asked, Choice, Link, Screen
from linkmotion.commands.input import telling
from linkmotion.commands.repairs import RepairsRequest, weighed
from linkmotion.engine import DRAWING
from linkmotion.files.faults import FileError
from linkmotion.views.printout import Answer, Said
from linkmotion.views.repairs_view import repairs_blocks


def request_of(asked: Asked) -> RepairsRequest:
    """The same as the command is asked it; FileError where the hours are none."""
    return RepairsRequest(asked.path, asked.state, hours=_hours(asked.options["hours"]))


def answer(asked: Asked) -> Answered:
    """The best set for the hours, what each repair gains, and the sets in order of their hours."""
    if not asked.engine.repairs:
        words = "A repair is an option for the shop: what is done, its hours, and how the engine stands after it."
        return Answered((Answer("No repairs are written in this file yet: begin one below."), Said(words)))
    try:
        request = request_of(asked)
    except FileError as error:
        return Answered((Answer(f"{error.problem}: {error.remedy}."),))
    with telling(asked.engine, asked.path):
        weigher, found, _work = weighed(request, asked.engine, asked.progress)
    made = repairs_blocks(asked.engine, asked.state, weigher.standing, found, request.hours)
    cards = [Link("Job cards to print", f"sheet/job-cards?{asked.query}")] if found.best.chosen else []
    return Answered((*made, *cards))


def _hours(text: str) -> float | None:
    """Hours as typed; None where there is no end to them."""
    if not text.strip():
        return None
    try:
        hours = float(text.strip().lower().removesuffix("hours").removesuffix("h").replace(",", "."))
    except ValueError:
        hours = math.nan
    if not (math.isfinite(hours) and hours >= 0):
        raise FileError("hours", f"{text!r} is no number of hours", "write a number such as 12 or 7.5")
    return hours


def beside(asked: Asked) -> Mapping[str, Any]:
    """The repairs as they are written, and what one more can be."""
    states = [name for name in asked.engine.state_names if name != DRAWING]
    return {"repairs": repairs_of(asked.work, asked.engine), "follows": states, "layers": layers_of(asked.engine),
            "can_set": can_set(asked.work), "together": TOGETHER}  # fmt: skip


def takes(work: EngineAtWork, wish: Mapping[str, Any]) -> Mapping[str, Any]:
    """Something of a repair; they are then weighed anew."""
    return entered(work, takes_of(work, wish), answer_anew=True)


SCREEN = Screen(
    "repairs",
    "Repairs",
    "Which repairs, with the hours there are?",
    answer,
    place=37,
    chooses=("state",),
    choices=(Choice("hours", "Hours there are", lambda _engine: {"": "empty: whatever it takes"}, typed=True),),
    template="repairs.html",
    long=True,
    takes=takes,
    beside=beside,
)
