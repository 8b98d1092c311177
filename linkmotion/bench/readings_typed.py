"""Readings as they are typed on the bench: what can be read, what stands in the file, and one entry made."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.entering import LONGEST
from linkmotion.bench.kept_file import KeptFile, SinceChanged
from linkmotion.commands.input import telling
from linkmotion.engine import Engine
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import GONE, as_typed, read_tables, typed
from linkmotion.files.journal import Change
from linkmotion.files.lines_edit import with_figure
from linkmotion.files.readings_edit import BLANK, BOXES, RowPlace, placed_rows, reading_at, with_reading
from linkmotion.files.readings_form import asked
from linkmotion.files.readings_method import method_of, turned_of
from linkmotion.files.readings_rows import row_of
from linkmotion.files.readings_units import UNREAD, read_figure, read_within
from linkmotion.files.source import BOM, Source
from linkmotion.sides import SIDE_NAMES, side_words
from linkmotion.studies.figures.figure import DEGREES, KINDS, MM, PERCENT

_WITHIN = {"within": MM, "within_percent": PERCENT, "within_degrees": DEGREES}
HEADS = {
    "within": "Lengths were read within",
    "within_percent": "Events were read within, % of the stroke",
    "dead_centres": "How the dead centres were found",
    "turned": "How the wheel was turned",
    "note": "Note",
}
"""What is said of the readings as a whole, in words."""


@dataclass(frozen=True)
class Cell:
    """A figure that can be read: its place, its words, and what stands there as typed."""

    place: RowPlace
    box: str
    words: str
    value: str

    @property
    def name(self) -> str:
        """By which its field is known."""
        own = (self.place.notch, self.place.kind, self.place.direction, self.box)
        at = () if self.place.at is None else (f"{self.place.at:g}",)
        more = (str(self.place.number),) if self.place.number else ()
        return " ".join(each for each in (*own, *at, *more) if each)

    @property
    def where(self) -> dict[str, Any]:
        """As the page sends it."""
        return {"do": "reading", "box": self.box, **asdict(self.place)}


def cells(work: EngineAtWork, tables: Mapping[str, Any], state: str, side: str) -> dict[str, list[Cell]]:
    """What can be read in each notch of a side, and whatever more stands in the file.

    Parameters
    ----------
    work, tables : EngineAtWork, mapping
        Whose; the file's tables.
    state, side : str
        In which the gear is believed to be; of which.
    """
    own = next(each for each in work.stand(state).assessment.sides if each.side == side)
    found: dict[str, list[Cell]] = {notch: [] for notch in own.notches}
    rows = dict(placed_rows(tables, side))
    for each in asked(own):
        place = RowPlace(side, each.notch, each.kind, each.direction)
        given = [place] if each.direction or each.kind == "die height" else _directed(rows, place)
        for at in given:
            row = rows.pop(at, {})
            boxes = ("front", "back") if each.ended else ("reads",)
            found[each.notch] += [Cell(at, box, _words(at, box), _typed(row.get(box))) for box in boxes]
    for place, row in rows.items():  # what else the file has: events, the valve's place, lost motion
        found.setdefault(place.notch, [])
        found[place.notch] += [Cell(place, box, _words(place, box), _typed(row[box])) for box in BOXES if box in row]
    return found


def _directed(rows: Mapping[RowPlace, Any], place: RowPlace) -> list[RowPlace]:
    """The row of a reading for which the direction need not be said: as the file has it, with one or without."""
    alike = [own for own in rows if (own.notch, own.kind, own.at, own.number) == (place.notch, place.kind, None, 0)]
    return alike[:1] if alike and place not in alike else [place]


def _words(place: RowPlace, box: str) -> str:
    end = f", {box}" if box != "reads" else ""
    way = f", running {place.direction}" if place.direction else ""
    at = f" at {place.at:g}°" if place.at is not None else ""
    return f"{place.kind[:1].upper()}{place.kind[1:]}{at}{end}{way}"


def _typed(value: Any) -> str:
    return "" if value == BLANK else typed(value)


def enter_reading(work: EngineAtWork, kept: KeptFile, wish: Mapping[str, Any]) -> tuple[Change | None, str]:
    """Write one reading: the change, and the reading in words.

    Parameters
    ----------
    work, kept : EngineAtWork, KeptFile
        The engine; the readings file.
    wish : mapping
        As the page sends it: the place, ``box``, ``value`` as typed, and ``was``, what had been seen there.

    Raises
    ------
    FileError
        It cannot be such a reading; or another has been entered there meanwhile. Nothing is written.
    """
    place, box, written, was = _understood(wish)
    value = as_typed(written) if written else GONE

    def made(text: str) -> str:
        tables = read_tables(text)
        now = _typed(reading_at(tables, place, box))
        if as_typed(now) != as_typed(was):
            told = f"entered elsewhere since: {now or 'taken out'} (you had seen {was or 'nothing'})"
            raise SinceChanged(kept.name, told, "look at it as it is now, and enter yours again if it is right")
        if value is not GONE:
            _see_figure(value, place.kind, _unit(tables, work.must()), kept.path.name)
        try:
            new = with_reading(text, place, box, value)
        except ValueError as error:
            raise FileError(kept.path.name, str(error), "nothing was changed") from None
        if value is not GONE:
            _see(work.must(), new, kept.path.name, place, box)
        return new

    words = f"{side_words(place.side)}, {place.notch}: {_words(place, box)[:1].lower()}{_words(place, box)[1:]}"
    told = f"{words} {written or 'taken out'}"
    return kept.change(made, told, kept.version), told


def _understood(wish: Mapping[str, Any]) -> tuple[RowPlace, str, str, str]:
    match wish:
        case {"side": str(side), "notch": str(notch), "kind": str(kind), "direction": str(direction),
              "box": "front" | "back" | "reads" as box, "value": str(value), "was": str(was),
              "number": int(number)} if kind in KINDS and len(value) <= LONGEST and 0 <= number < 100:  # fmt: skip
            at = wish.get("at")
            if side in SIDE_NAMES and (at is None or (isinstance(at, int | float) and 0 <= at <= 360)):
                return RowPlace(side, notch, kind, direction, at, number), box, value.strip(), was.strip()
    raise FileError("reading", "this cannot be understood", "load the page anew")


def _see(engine: Engine, text: str, name: str, place: RowPlace, box: str) -> None:
    """Refuse what no readings file may hold in this place."""
    source = Source(text.lstrip(BOM), name)
    tables = source.document()
    rows = list(placed_rows(tables, place.side))
    number = next(i for i, (own, _row) in enumerate(rows) if own == place)
    where = (place.side, "readings", str(number))
    row = row_of(source, rows[number][1], where)
    notches = (
        list(engine.side_state(_state(tables), place.side).notches) if _state(tables) in engine.state_names else []
    )
    if notches and place.notch not in notches:
        raise FileError(name, f"there is no notch {place.notch!r}", f"known here: {', '.join(notches)}")
    _see_figure(getattr(row, box), place.kind, _unit(tables, engine), name)


def _see_figure(written: Any, kind: str, unit: str, name: str) -> None:
    for own in written if isinstance(written, list) else [written]:
        try:
            read_figure(own, kind, unit)
        except ValueError as error:
            raise FileError(name, str(error), UNREAD[kind]) from None


def _state(tables: Mapping[str, Any]) -> str:
    head = tables.get("readings")
    return str(head.get("state", "")) if isinstance(head, Mapping) else ""


def _unit(tables: Mapping[str, Any], engine: Engine) -> str:
    head = tables.get("readings")
    return str(head.get("unit", engine.unit)) if isinstance(head, Mapping) else engine.unit


def enter_head(work: EngineAtWork, kept: KeptFile, name: str, written: str, seen: int) -> Change | None:
    """Write what is said of all readings: how near, how the dead centres were found, how the wheel was turned.

    Parameters
    ----------
    work, kept : EngineAtWork, KeptFile
        The engine; the readings file.
    name, written, seen : str, str, int
        One of :data:`HEADS` or "state"; as typed; the change that was seen last.

    Raises
    ------
    FileError
        It cannot be so; nothing is written.
    """
    if name not in (*HEADS, "state"):
        raise FileError(name, "there is no such figure", "load the page anew")
    value = GONE if not written.strip() else written.strip() if name in ("note", "state") else as_typed(written)
    engine, where = work.must(), ("readings", name)
    if not written.isprintable():
        raise FileError(name, "this holds signs that cannot be printed", "write plain words")
    if name == "state" and value not in engine.state_names:
        raise FileError(name, "there is no such state in the engine's file", "choose one of the list")

    def made(text: str) -> str:
        try:
            new = with_figure(text, where, value)
        except ValueError as error:
            raise FileError(kept.path.name, str(error), "nothing was changed") from None
        tables = read_tables(new)
        source = Source(new.lstrip(BOM), kept.path.name)
        if value is not GONE and name in _WITHIN:
            try:
                read_within(value, _WITHIN[name], _unit(tables, engine))
            except ValueError as error:
                raise FileError(kept.path.name, str(error), "give how far a reading may be out either way") from None
        elif value is not GONE and name == "dead_centres":
            method_of(source, tables["readings"], {}, engine.sides[0])
        elif value is not GONE and name == "turned":
            turned_of(source, value, where)
        return new

    return kept.change(made, f"{HEADS.get(name, name)}: {written.strip() or 'taken out'}", seen, (where,))


def standing(work: EngineAtWork, kept_name: str) -> tuple[str, bool, dict[str, int]]:
    """Whether the readings can be used, in a sentence; whether they can; how many there are of each side.

    Parameters
    ----------
    work, kept_name : EngineAtWork, str
        The engine; the readings file, by its name from the folder on.
    """
    from linkmotion.files.file_kinds import READINGS
    from linkmotion.files.readings_file import read_readings

    engine, path = work.must(), work.beside.path(READINGS, kept_name)
    try:
        with telling(engine, work.path):
            found = read_readings(path, engine)
    except FileError as error:
        return error.plain, False, {}
    counts = {side: len(found.of(side)) for side in engine.sides}
    return "", True, counts


def entered(tables: Mapping[str, Any]) -> Iterator[str]:
    """The side of every figure that was entered."""
    for side in SIDE_NAMES:
        for _place, row in placed_rows(tables, side):
            yield from (side for box in BOXES if _typed(row.get(box)))
