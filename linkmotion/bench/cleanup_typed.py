"""What a slot's clean-up needs besides the readings, typed on the bench: the file's [cleanup]."""

from __future__ import annotations

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.table_figures import TableFigure, value_at
from linkmotion.files.faults import sentence
from linkmotion.files.schema import cleanup_model

WANTED = ("slot_width", "gauge")
"""Without these nothing can be told."""


def cleanup_figures(work: EngineAtWork) -> list[TableFigure]:
    """Every figure of a clean-up, as the file has it; what cannot be left out first."""
    unit = work.must().unit
    fields, made = cleanup_model(unit).model_fields, []
    for key in (*WANTED, *(name for name in fields if name not in WANTED)):
        words, place = str(fields[key].description), ("cleanup", key)
        own = "" if key == "datum" else unit
        made.append(TableFigure(place, sentence(words), own, value_at(work, place), plain=key == "datum"))
    return made
