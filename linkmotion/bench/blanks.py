"""A file that is no engine yet, or no longer: its drawing's figures, so that what is wanted or wrong can be entered."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from typing import Any, get_type_hints

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import Place, as_typed, read_tables, typed, with_figure
from linkmotion.files.gathered import Gathered
from linkmotion.files.journal import Change
from linkmotion.files.schema import table_model
from linkmotion.files.source import BLANK, Source, dotted
from linkmotion.files.validated import validated
from linkmotion.gears import GEARS


@dataclass(frozen=True)
class Blank:
    """A figure of the drawing: its place, what it is, its unit, and what stands there ("" while it is wanted)."""

    place: Place
    words: str
    unit: str
    value: str

    @property
    def name(self) -> str:
        """By which a page knows it."""
        return ".".join(self.place)


def blanks(work: EngineAtWork) -> dict[str, list[Blank]]:
    """The figures of a file's drawing by part, as far as they can be read; none where it is no engine file at all."""
    try:
        document = read_tables(work.kept.text)
        gear, unit = GEARS[document["engine"]["gear"]], str(document["engine"]["unit"])
    except (ValueError, RecursionError, KeyError, TypeError):
        return {}
    found = {}
    for name, table in get_type_hints(gear).items():
        given = document.get(name)
        own = list(_of_table(name, table, given, unit)) if isinstance(given, Mapping) else []
        if own:
            found[name.replace("_", " ")] = own
    return found


def _of_table(name: str, table: type[Any], given: Mapping[str, Any], unit: str) -> Iterator[Blank]:
    for key in fields(table):
        value, kind = given.get(key.name), key.metadata["kind"]
        if value is None:
            continue
        if kind in ("length", "angle"):
            own = "°" if kind == "angle" else unit
            yield Blank((name, key.name), key.metadata["meaning"], own, "" if value == BLANK else typed(value))
        if kind == "notches" and isinstance(value, Mapping):
            for notch, each in value.items():
                words = f"arm in {notch}, 0 pointing forward, + up"
                yield Blank((name, key.name, notch), words, "°", "" if each == BLANK else typed(each))


def fill(work: EngineAtWork, name: str, value: str, seen: int) -> Change | None:
    """Write one figure of a file that is being filled in.

    Raises
    ------
    FileError
        There is no such figure, or it cannot be what was typed; the file is as it was.
    """
    known = {own.name: own for part in blanks(work).values() for own in part}
    blank = known.get(name)
    if blank is None:
        raise FileError(name, "there is no such figure to fill in", "load the page anew")
    wanted = as_typed(value) if value.strip() else BLANK

    def made(text: str) -> str:
        try:
            new = with_figure(text, blank.place, wanted)
        except ValueError as error:
            raise FileError(work.path.name, str(error), "nothing was changed", key=name) from None
        if wanted != BLANK:
            _see(work, new, blank.place, wanted)
        return new

    return work.kept.change(made, f"{blank.words}: {value.strip() or 'left open'}", seen, (blank.place,))


def _see(work: EngineAtWork, text: str, place: Place, wanted: Any) -> None:
    """Refuse a figure that cannot be one, whatever the others are."""
    head = read_tables(text)["engine"]
    table: Any = wanted
    for step in reversed(place[1:]):
        table = {step: table}
    model = table_model(get_type_hints(GEARS[head["gear"]])[place[0]], str(head["unit"]), False)
    try:
        validated(Source(text.lstrip("\ufeff"), work.path.name), model, table, place[:1], Gathered())
    except FileError as error:
        if error.key == dotted(place):
            raise
