"""Who found it, when, with what, and which photograph shows it: said of the drawing or a state, kept in the file."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.photographs_shown import photographs_in
from linkmotion.bench.table_figures import TableFigure, value_at
from linkmotion.engine import DRAWING
from linkmotion.files.figure_edit import Place

_WORDS = {"on": "On which day", "by": "By whom", "with": "With what", "note": "What is to be noted",
          "photo": "Photograph"}  # fmt: skip


def said_of(work: EngineAtWork) -> Iterator[tuple[str, list[TableFigure]]]:
    """What can be said of each state, the drawing first."""
    photos = tuple(photographs_in(work.kept.folder))
    hints = {"on": f"such as {date.today().isoformat()}", "with": "such as vernier and trammel",
             "photo": "a picture that lies in the folder"}  # fmt: skip
    for state in work.must().state_names:
        yield state, [
            TableFigure(_place(state, key), words, "", value_at(work, _place(state, key)), hints.get(key, ""),
                        offered=photos if key == "photo" else (), plain=True)
            for key, words in _WORDS.items()
        ]  # fmt: skip


def _place(state: str, key: str) -> Place:
    return ("engine", key) if state == DRAWING else ("state", state, key)
