"""The setting sheet: one page to take to the engine, with blanks for the new readings."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from linkmotion.engine import Engine
from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.sides import BOTH, side_words
from linkmotion.studies.setting.foreseen import STATE, Foreseen
from linkmotion.views.notch_rows import short
from linkmotion.views.paper import sheet_of
from linkmotion.views.pictures import drawn
from linkmotion.views.setting_plots import plans
from linkmotion.views.setting_reasons import DEAD_CENTRES
from linkmotion.views.setting_table import stages_of
from linkmotion.views.setting_words import Words
from linkmotion.views.tables import CAUTION

_AGREES = 2.0 * 2**0.5  # standard deviations between two takings of one reading, 95 %
_MOST_ROWS = 26  # readings that one page holds with room to write in; of more, each side has a page of its own


def setting_sheet(engine: Engine, state: str, words: Words, foreseen: list[Foreseen], assumed: bool) -> str:
    """The page, as HTML."""
    return sheet_of(
        "setting_sheet.html",
        of=f"{engine.name}, {state}: setting sheet",
        engine=engine,
        state=state,
        unit_name=UNIT_NAMES[words.unit],
        caution=CAUTION,
        assumed=assumed,
        hours_assumed=bool(words.hours_assumed),
        choice=" and ".join(words.advice.names),
        others=words.other_choices,
        dead_centres=DEAD_CENTRES,
        whole=side_words(BOTH),
        pages=[_page(words, own) for own in _parted(foreseen)],
        pictures=[
            {"title": plan.title, "words": plan.words, "data": drawn(plan).data}
            for plan in plans(words, foreseen, (engine.name, state))
        ],
    )


def _parted(foreseen: list[Foreseen]) -> list[list[Foreseen]]:
    """The sides of each page."""
    apart = len(foreseen) > 1 and sum(len(own.readings) for own in foreseen) > _MOST_ROWS
    return [[own] for own in foreseen] if apart else [foreseen]


def _page(words: Words, sides: list[Foreseen]) -> dict[str, Any]:
    numbered = enumerate(words.advice.works, 1)
    return {
        "title": f", {side_words(sides[0].side)}" if len(sides) == 1 else "",
        "sentences": list(words.sentences(sides, most=1)),
        "works": [
            {
                "number": number,
                "where": words.where(work),
                "kind": words.kind(work),
                "off": words.more_than_drawn(work.undoes) if work.undoes else "",
                "words": words.work(work),
                "hours": words.hours(work.adjustment.hours),
                "effect": words.effect(work),
            }
            for number, work in numbered
            if any(work.adjustment.on(own.side) for own in sides)
        ],
        "hours": words.hours(words.advice.hours),
        "sides": [_side(words, own) for own in sides],
        "dense": sum(len(own.readings) for own in sides) > _MOST_ROWS,
    }


def _side(words: Words, own: Foreseen) -> dict[str, Any]:
    stages = stages_of(words, own)
    return {
        "name": side_words(own.side),
        "read": own.given,
        "stages": stages,
        "agrees": own.basis != STATE,
        "warm": own.in_service is not None,
        "rows": list(_rows(words, own, stages)),
    }


def _rows(words: Words, own: Foreseen, stages: list[int]) -> Iterator[dict[str, Any]]:
    for i, reading in enumerate(own.readings):
        yield {
            "name": short(reading),
            "unit": words.unit_of(reading),
            "read": words.reading(reading, reading.value),
            "expected": [words.reading(reading, float(own.expected[stage, i])) for stage in stages],
            "warm": "" if own.in_service is None else words.reading(reading, float(own.in_service[-1, i])),
            "agrees": words.reading(reading, _AGREES * reading.sigma),
        }
