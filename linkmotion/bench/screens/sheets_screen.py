"""Sheets to print: every one that this engine can have, made when it is opened."""

from __future__ import annotations

from urllib.parse import urlencode

from linkmotion.bench.screen import Answered, Asked, Choice, Screen
from linkmotion.bench.sheets_to_print import SHEETS, readings_files
from linkmotion.views.printout import Answer


def answer(asked: Asked) -> Answered:
    """The sheets, each with what it is for and where it opens."""
    listed = [(own.title, own.words, f"sheet/{own.name}?{asked.query}") for own in SHEETS.values()
              if own.listed and own.there(asked)]  # fmt: skip
    setting = SHEETS["setting"]
    listed += [
        (f"{setting.title}, by {name}", setting.words, f"sheet/setting?{urlencode({'readings': name})}")
        for name in readings_files(asked)
    ]
    listed.append(
        ("The engine moving", "A page with the gear in motion, to carry away; it needs no network.", "moving")
    )
    first = Answer(f"{len(listed)} sheets can be made; each opens beside this page, and is printed from there.")
    return Answered((first,), {"sheets": listed})


SCREEN = Screen(
    "sheets",
    "Sheets",
    "What is to be printed?",
    answer,
    place=70,
    chooses=("state", "side", "both"),
    choices=(Choice("readings", "Readings", lambda _engine: {"": ""}, typed=True),),
    template="sheets.html",
)
