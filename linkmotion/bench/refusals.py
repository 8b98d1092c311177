"""How a refusal is said on a page: in the words of the screen, with what to do; keys stay with the file."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.figures_of_parts import places
from linkmotion.bench.kept_file import SinceChanged
from linkmotion.engine_layers import parted, whose
from linkmotion.files.faults import FileError, spoken
from linkmotion.files.figure_edit import as_typed

_NO_FIGURES = ("text", "name", "was", "what", "state", "repair", "file")  # of what is sent, what is never a figure
_BRACKETED = (
    "What stands in brackets says nothing here. Write one plain figure, such as 33.3 mm or 1 5/16 in, or choose the "
    "words that are offered."
)
_OF_THE_DIE = "Where the die stands is said of a notch alone, and is a length, such as die -7/8 in or die 20 mm."
_TAKINGS = (
    "Several takings stand apart by semicolons where one figure is measured several times, each of them a figure such "
    "as 33.3 mm or 1 5/16 in. Write each so, or one plain figure."
)


def said_of(work: EngineAtWork, error: FileError, asked: Any) -> str:
    """Why nothing was changed, and what to do.

    Parameters
    ----------
    work : EngineAtWork
        Whose page it is.
    error : FileError
        The refusal.
    asked : object
        What the page sent.
    """
    wish = asked if isinstance(asked, Mapping) else {}
    if isinstance(error, SinceChanged):
        return error.plain
    rows = [own for own in wish.get("rows", []) if isinstance(own, Mapping)]
    typed = [own for key, own in wish.items() if isinstance(own, str) and key not in _NO_FIGURES]
    typed += [own for row in rows for own in row.values() if isinstance(own, str)]
    for own in typed:
        read = as_typed(own)
        if isinstance(read, Mapping | list) and own.lstrip()[:1] in ("[", "{"):
            return _BRACKETED
        if isinstance(read, Mapping):
            return _OF_THE_DIE
        if isinstance(read, list):
            return _TAKINGS
    other = _other_field(work, error.key, str(wish.get("name", "")))
    return f"{other}: {error.plain}" if other else error.plain


def _other_field(work: EngineAtWork, key: str, name: str) -> str:
    """The label of the field that a fault is about, where it is another dimension than the one entered; else ""."""
    (layer, path), engine = parted(_steps(key)), work.engine
    state, side = whose(layer)
    if engine is None or len(path) < 2 or state not in engine.state_names or _steps(name)[-2:] == path[-2:]:
        return ""
    figure = next((own for own in places(work, state, side).values() if own.place == path), None)
    return f"{spoken(path[0])}, {figure.words}" if figure else ""


def _steps(key: str) -> tuple[str, ...]:
    """A key's path; of a name that is none, nothing."""
    try:
        found: Any = tomllib.loads(f"{key} = 0")
    except tomllib.TOMLDecodeError:
        return tuple(key.split("."))
    steps = []
    while isinstance(found, dict):
        [(step, found)] = found.items()
        steps.append(step)
    return tuple(steps)
