"""The dossier: an engine's history on paper, with its photographs."""

from __future__ import annotations

from typing import Any

from linkmotion.files.engine_history import History
from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.files.photographs import Photograph, missing
from linkmotion.studies.record_history import Entry
from linkmotion.views.embedded import NotShown, embedded
from linkmotion.views.history_words import (
    alteration_words,
    answer,
    between_words,
    cells,
    day_words,
    place,
    record_words,
    recorded_again,
    title,
)
from linkmotion.views.paper import sheet_of
from linkmotion.views.tables import CAUTION


def dossier(found: History) -> str:
    """The page, as HTML; every photograph stands in it."""
    photos = {own.where: [each for each in found.photos if each.where == own.where] for own in found.entries}
    return sheet_of(
        "dossier.html",
        of=f"{found.engine.name}: dossier",
        title=title(found),
        engine=found.engine,
        unit_name=UNIT_NAMES[found.engine.unit],
        answer=answer(found),
        wrong=[*alteration_words(found), *(f"{problem}: {remedy}." for problem, remedy in missing(found.photos))],
        again=list(recorded_again(found)),
        entries=[_entry(own, photos[own.where], found.engine.unit) for own in found.entries],
        between=None if found.between is None else between_words(found),
        changed=[cells(own, found.engine.unit) for own in found.changed],
        outside=found.outside,
        caution=CAUTION,
    )


def _entry(own: Entry, photos: list[Photograph], unit: str) -> dict[str, Any]:
    return {
        "day": day_words(own),
        "place": place(own),
        "words": [words for words in record_words(own) if not words.startswith("Photographs:")],
        "figures": [cells(figure, unit) for figure in own.figures],
        "photos": [_photo(each) for each in photos],
    }


def _photo(own: Photograph) -> dict[str, str]:
    if own.problem:
        return {"name": own.name, "data": "", "problem": own.problem}
    try:
        return {"name": own.name, "data": embedded(own.path, own.kind), "problem": ""}
    except NotShown:
        return {"name": own.name, "data": "", "problem": "is damaged and cannot be shown"}
