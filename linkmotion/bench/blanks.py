"""A file that is no engine yet, or no longer: its drawing's figures, so that what is wanted or wrong can be entered."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import MISSING, dataclass, fields
from typing import Any, get_type_hints

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import GONE, Place, as_typed, read_tables, typed, with_figure
from linkmotion.files.gathered import Gathered
from linkmotion.files.journal import Change
from linkmotion.files.schema import table_model
from linkmotion.files.source import BLANK, BOM, Source, dotted
from linkmotion.files.validated import validated
from linkmotion.gears import GEARS


@dataclass(frozen=True)
class Blank:
    """A figure of the drawing.

    Attributes
    ----------
    place : tuple of str
        Table and key.
    words, unit : str
        What it is; of a bare number.
    value : str
        What stands there, "" while nothing does.
    needed : bool
        Whether it cannot be left out.
    choices : tuple of str
        The words of which one stands there, where it is no figure.
    """

    place: Place
    words: str
    unit: str
    value: str
    needed: bool = True
    choices: tuple[str, ...] = ()

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
    hints = get_type_hints(gear)
    for name in (table.name for table in fields(gear)):
        given = document.get(name, {})
        own = list(_of_table(name, hints[name], given, unit)) if isinstance(given, Mapping) else []
        if own:
            found[name.replace("_", " ")] = own
    return found


def _of_table(name: str, table: type[Any], given: Mapping[str, Any], unit: str) -> Iterator[Blank]:
    for key in fields(table):
        kind, words = key.metadata["kind"], key.metadata["meaning"]
        value, place = given.get(key.name), (name, key.name)
        stands = "" if value == BLANK else typed(value)
        needed = key.default is MISSING or value == BLANK
        if kind in ("length", "angle"):
            yield Blank(place, words, "°" if kind == "angle" else unit, stands, needed)
        elif kind == "words":
            yield Blank(place, words, "", stands, needed, tuple(key.metadata["choices"]))
        elif kind == "notches":
            for notch, each in (value if isinstance(value, Mapping) else {}).items():
                told = f"arm in {notch}, 0 pointing forward, + up"
                yield Blank((*place, notch), told, "°", "" if each == BLANK else typed(each))
        elif kind == "setting":
            yield Blank(
                place, f'{words}, such as {{ notch = "full forward", direction = "forward" }}', "", stands, False
            )


def wanted(work: EngineAtWork) -> int:
    """How many figures that cannot be left out are still wanted."""
    return sum(own.needed and not own.value for part in blanks(work).values() for own in part)


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
    entered = as_typed(value) if value.strip() else BLANK if blank.needed else GONE

    def made(text: str) -> str:
        try:
            new = with_figure(text, blank.place, entered)
        except ValueError as error:
            raise FileError(work.path.name, str(error), "nothing was changed", key=name) from None
        if value.strip():
            _see(work, new, blank.place, entered)
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
        validated(Source(text.lstrip(BOM), work.path.name), model, table, place[:1], Gathered())
    except FileError as error:
        if error.key == dotted(place):
            raise
