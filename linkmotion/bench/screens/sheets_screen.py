"""Sheets to print: every one that this engine can have, made when it is opened."""

from __future__ import annotations

from linkmotion.bench.screen import Answered, Asked, Screen
from linkmotion.bench.sheets_to_print import SHEETS
from linkmotion.views.printout import Answer


def answer(asked: Asked) -> Answered:
    """The sheets, each with what it is for and where it opens."""
    listed = [(own.title, own.words, f"sheet/{own.name}?{asked.query}") for own in SHEETS.values()
              if own.listed and own.there(asked)]  # fmt: skip
    listed.append(
        ("The engine moving", "A page with the gear in motion, to carry away; it needs no network.", "moving?")
    )
    first = Answer(f"{len(listed)} sheets can be made; each opens beside this page, and is printed from there.")
    return Answered((first,), {"sheets": listed, "has_slot": asked.engine.gear().slot is not None})


SCREEN = Screen(
    "sheets",
    "Sheets",
    "What is to be printed?",
    answer,
    place=70,
    chooses=("state", "side", "both"),
    template="sheets.html",
)
