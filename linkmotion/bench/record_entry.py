"""Who found it, when, with what, and which photograph shows it: said of the drawing or a state, kept in the file."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.photographs_shown import photographs_in
from linkmotion.engine import DRAWING
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import GONE, Place, figure_at, typed
from linkmotion.files.journal import Change

_WORDS = {"on": "On which day", "by": "By whom", "with": "With what", "note": "What is to be noted",
          "photo": "Photograph"}  # fmt: skip


@dataclass(frozen=True)
class Said:
    """One thing that is said: its key, its words, what stands there, a hint, and what can be chosen for it."""

    key: str
    words: str
    value: str
    hint: str = ""
    offered: tuple[str, ...] = ()


def said_of(work: EngineAtWork) -> Iterator[tuple[str, list[Said]]]:
    """What can be said of each state, the drawing first."""
    photos = tuple(photographs_in(work.kept.folder))
    hints = {"on": f"such as {date.today().isoformat()}", "with": "such as vernier and trammel",
             "photo": "a picture that lies in the folder"}  # fmt: skip
    for state in work.must().state_names:
        yield state, [
            Said(key, words, typed(figure_at(work.document, _place(state, key))), hints.get(key, ""),
                 photos if key == "photo" else ())
            for key, words in _WORDS.items()
        ]  # fmt: skip


def enter_said(work: EngineAtWork, state: str, key: str, value: str, seen: int) -> Change | None:
    """Write one thing that is said; what is empty is taken out.

    Raises
    ------
    FileError
        There is no such state, or it cannot be said so; the file is as it was.
    """
    if key not in _WORDS or state not in work.must().state_names:
        raise FileError("record", "this cannot be understood", "load the page anew")
    place, told = _place(state, key), " ".join(value.split())
    words = f"{state}, {_WORDS[key].lower()}: {told or 'taken out'}"
    return work.change_figure(place, told or GONE, words, seen, key, "write it into the file by hand")


def _place(state: str, key: str) -> Place:
    return ("engine", key) if state == DRAWING else ("state", state, key)
