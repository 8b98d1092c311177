"""The schedule of pins and bushes on paper."""

from __future__ import annotations

from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.files.pins_table import Schedule
from linkmotion.views.paper import sheet_of
from linkmotion.views.pins_view import answer, as_found, made, pressed, remark_words, sources
from linkmotion.views.tables import CAUTION


def pins_sheet(found: Schedule) -> str:
    """The page, as HTML."""
    unit = found.engine.unit
    tables = [
        ("To make", ["joint", "no.", "size", "bore to", "turn pin to", "fit", "bush", "off the pin"], made),
        ("Bushes", ["joint", "no.", "housing bored to", "bush turned to", "fit", "bush bored first to"], pressed),
        ("As found", ["joint", "no.", "side", "bush", "pin", "loose by"], as_found),
    ]
    return sheet_of(
        "pins_sheet.html",
        of=f"{found.engine.name}, {found.state}: pins and bushes",
        engine=found.engine,
        state=found.state,
        unit_name=UNIT_NAMES[unit],
        answer=answer(found),
        remarks=[words for own in found.joints for words in remark_words(own, unit)],
        tables=[
            (title, heads, [(own.pin.name, *row) for own in found.joints for row in rows(own, unit)])
            for title, heads, rows in tables
        ],
        unsized=found.unsized,
        source=sources(found),
        caution=CAUTION,
    )
