"""Which repairs? What ``repairs`` says, by the hours there are."""

from __future__ import annotations

import math

from linkmotion.bench.screen import Answered, Asked, Choice, Link, Screen
from linkmotion.commands.input import telling
from linkmotion.commands.repairs import RepairsRequest, weighed
from linkmotion.files.faults import FileError
from linkmotion.views.printout import Answer, Said
from linkmotion.views.repairs_view import repairs_blocks


def request_of(asked: Asked) -> RepairsRequest:
    """The same as the command is asked it; FileError where the hours are none."""
    return RepairsRequest(asked.path, asked.state, hours=_hours(asked.options["hours"]))


def answer(asked: Asked) -> Answered:
    """The best set for the hours, what each repair gains, and the sets in order of their hours."""
    if not asked.engine.repairs:
        words = "A repair is written into the file as [repair.'NAME']: what is done, its hours, and what it sets."
        return Answered((Answer("No repairs are written in this file yet."), Said(words)))
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
)
