"""Readings to be taken on a telephone: one HTML file that needs no network and keeps what is typed.

The file that it gives to carry back is the text of :func:`linkmotion.files.readings_form.form`, filled in.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from importlib.resources import files
from typing import Any

import jinja2

from linkmotion.engine import Engine
from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.files.readings_form import form
from linkmotion.files.readings_method import NOT_NOTED
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.figure import MM, TURNED, UNITS_OF
from linkmotion.views.moving.drawn import look
from linkmotion.views.moving.page import colours, policy
from linkmotion.views.moving.payload import as_script
from linkmotion.views.phone.asked_for import Screen, screens
from linkmotion.views.phone.marks_asked_for import mark_data, mark_screens
from linkmotion.views.phone.where_read import pictures
from linkmotion.views.tables import CAUTION

SHARED = ("bodies", "drawing")
"""Scripts of the moving page that draw here too."""
SCRIPTS = ("kept", "figures", "marks_made", "carried_back", "keys", "asking", "listing", "opening")
_LENGTHS = ("mm", "in", "thou")
_LONGEST = 60  # letters of the engine's name in that of the file


def phone_page(engine: Engine, sides: Sequence[SideEvents], unit: str, notches: tuple[str, ...] = ()) -> str:
    """The page, as one HTML text.

    Parameters
    ----------
    sides : sequence of SideEvents
        Those that are read, each as its own gear has it.
    engine, unit, notches
        As for :func:`linkmotion.files.readings_form.form`.
    """
    text = form(engine, sides[0], tuple(side.side for side in sides), unit, notches)
    asked_for = screens(sides, notches, text)
    script = _script()
    page = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined)
    return page.from_string(_asset("readings.html")).render(
        engine=engine.name,
        state=sides[0].state,
        unit_name=UNIT_NAMES[unit],
        turned=[*TURNED, NOT_NOTED],
        not_noted=NOT_NOTED,
        caution=CAUTION,
        colours=colours(),
        css="\n".join((look(), _moving("gear.css"), _asset("readings.css"))),
        policy=policy(script),
        script=script,
        data=as_script(_data(engine, {side.side: side for side in sides}, asked_for, unit, text)),
    )


def _data(
    engine: Engine, sides: Mapping[str, SideEvents], asked_for: list[Screen], unit: str, text: str
) -> dict[str, Any]:
    made = datetime.now().astimezone().isoformat(timespec="seconds")
    lengths, marks = list(dict.fromkeys((unit, *_LENGTHS))), mark_screens(next(iter(sides.values())))
    return {
        "engine": engine.name,
        "made": made,
        "file": re.sub(r"\W+", "-", engine.name.lower())[:_LONGEST].strip("-"),
        "form": text.split("\n"),
        "lengths": lengths,
        "screens": [
            {
                "line": screen.line,
                "cell": screen.cell,
                "side": screen.side,
                "whose": side_words(screen.side),
                "notch": screen.own.notch,
                "title": screen.title,
                "stands": screen.stands(sides[screen.side]),
                "how": screen.how(sides[screen.side]),
                "sign": screen.sign,
                "units": lengths if UNITS_OF[screen.own.kind] == (MM,) else ["%", "°", *lengths],
            }
            for screen in asked_for
        ],
        "marks": mark_data(marks, lengths, len(asked_for)),
        "unit": unit,
        "drawn": pictures(engine, sides, [*asked_for, *marks]),
    }


def _script() -> str:
    text = "\n".join([*(_moving(f"{name}.js") for name in SHARED), *(_asset(f"{name}.js") for name in SCRIPTS)])
    return f'(() => {{\n"use strict";\n{text}\n}})();'


def _asset(name: str) -> str:
    return (files(__package__) / "assets" / name).read_text("utf-8")


def _moving(name: str) -> str:
    return (files("linkmotion.views.moving") / "assets" / name).read_text("utf-8")
