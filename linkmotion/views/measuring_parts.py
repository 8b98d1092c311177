"""The parts of a gear as measuring sheets have them: what is measured on each, its figures, and its pictures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from linkmotion.elevation.dimension_marks import DimensionMark, dimension_marks
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.elevation.steam_side import VALVE
from linkmotion.engine import DRAWING, Engine
from linkmotion.gears import Gear
from linkmotion.gears.letters import letters, said_of
from linkmotion.gears.reverser import DieHeight, figure
from linkmotion.gears.sensitivity import Key, numbers
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.side_drawing import elevation_of
from linkmotion.views.measuring_words import how_taken
from linkmotion.views.tables import Shown

TURNED = 50.0  # degrees from front dead centre: parts stand clear of one another
BLANK_NOTCHES = 5  # lines for notches, where none are known


@dataclass(frozen=True)
class Row:
    """A dimension on a sheet: its letter and key, what it is, how it is taken, and its figures ("" where unknown).

    These are as drawn, and as found on each side.
    """

    letter: str
    key: str
    meaning: str
    how: str
    unit: str
    figures: tuple[str, ...]


@dataclass(frozen=True)
class Part:
    """A part: its letter, its name, its table in the file, what is measured on it, and where that lies."""

    letter: str
    name: str
    table: str
    rows: tuple[Row, ...]
    marks: tuple[DimensionMark, ...]

    @property
    def ways(self) -> list[tuple[str, list[str]]]:
        """How its dimensions are taken: each way with the letters of those that are."""
        found: dict[str, list[str]] = {}
        for row in self.rows:
            letters_of = found.setdefault(row.how, [])
            if row.letter not in letters_of:
                letters_of.append(row.letter)
        return list(found.items())


@dataclass(frozen=True, eq=False)
class Measured:
    """What is to be measured of an engine, or of a bare gear.

    Attributes
    ----------
    gear : type
        The class of the gear.
    engine : Engine or None
        Whose parts are drawn: of a bare gear its pattern's, or None where there is none.
    filled : bool
        Whether its figures are written in.
    state, unit : str
        State whose figures are written beside the drawing's; unit of all.
    """

    gear: type[Any]
    engine: Engine | None
    filled: bool
    state: str
    unit: str

    def drawing(self) -> Drawing | None:
        """The drawing, and where each dimension lies on it."""
        return None if self.engine is None else Drawing.of(self.engine)

    def parts(self, drawing: Drawing | None) -> Iterator[Part]:
        """Part by part; a small table is a part of its own. Of an engine those that it has."""
        marks = {} if drawing is None else drawing.marks
        given = {key for gear in self._drawn.values() for key in numbers(gear)}
        tables: dict[str, list[Key]] = {}
        for table, key in letters(self.gear):
            tables.setdefault(".".join((table, *key.split(".")[:-1])), []).append((table, key))
        for name, keys in tables.items():
            if self.filled and not given & set(keys):
                continue
            letter = letters(self.gear)[keys[0]].rstrip("0123456789")
            rows = tuple(row for key in keys for row in self._rows(key, marks.get(key)))
            own = tuple(marks[key] for key in keys if key in marks)
            yield Part(letter, name.split(".")[-1].replace("_", " "), name, rows, own)

    def _rows(self, key: Key, mark: DimensionMark | None) -> Iterator[Row]:
        said = said_of(self.gear)[key]
        own, how = letters(self.gear)[key], how_taken(said, mark)
        unit = "°" if said["kind"] == "angle" else self.unit
        if said["kind"] == "notches":
            yield from self._notches(own, key, how)
        else:
            yield Row(own, key[1].split(".")[-1], said["meaning"], how, unit, tuple(self._figures(key, unit)))

    def _notches(self, letter: str, key: Key, how: str) -> Iterator[Row]:
        columns: list[Mapping[str, Any]] = [{} for _ in self.gear.sides]
        if self.filled and self.engine is not None:
            table, name = key
            columns = [self._given(side).get(table, {}).get(name, {}) for side in self.engine.sides]
        drawn = {side: gear.notches for side, gear in self._drawn.items()} if self.filled else {}
        every = (*drawn.values(), *columns)
        names = list(dict.fromkeys(name for column in every for name in column)) or [""] * BLANK_NOTCHES
        for name in names:
            own = {side: self._notch(column.get(name)) for side, column in drawn.items()}
            shown = (_side_by_side(own), *(self._notch(column.get(name)) for column in columns))
            yield Row(letter, "notches", f"notch: {name}" if name else "notch:", how, "°", shown)

    def _notch(self, notch: Any) -> str:
        if notch is None:
            return ""
        value = figure(notch)
        return f"die {Shown(self.unit).length(value)} {self.unit}" if isinstance(notch, DieHeight) else f"{value:g}"

    def _figures(self, key: Key, unit: str) -> list[str]:
        """The drawing's figure, of each side where they are drawn unlike, and what the state says of each side."""
        if not self.filled or self.engine is None:
            return ["", *("" for _ in self.gear.sides)]
        drawn = {side: self._shown(numbers(gear).get(key), unit) for side, gear in self._drawn.items()}
        found = [_side_by_side(drawn)]
        for side in self.engine.sides:
            table: Any = self._given(side).get(key[0], {})
            for step in key[1].split("."):
                table = table.get(step) if isinstance(table, dict) else None
            found.append(self._shown(table, unit))
        return found

    @cached_property
    def _drawn(self) -> dict[str, Gear]:
        """The gear as drawn, by side: of the first alone where it stands for every one."""
        return {} if self.engine is None else {side: self.engine.gear(side=side) for side in self.engine.sides_apart}

    def _given(self, side: str) -> dict[str, dict[str, Any]]:
        """What the state, and those that it is based on, say of a side."""
        assert self.engine is not None
        found: dict[str, dict[str, Any]] = {}
        for layer in self.engine.layers(self.state, side):
            for table, keys in layer.tables.items() if layer.state != DRAWING else ():
                found.setdefault(table, {}).update(keys)
        return found

    def _shown(self, value: Any, unit: str) -> str:
        if value is None:
            return ""
        return f"{float(value):g}" if unit == "°" else Shown(self.unit).length(float(value))


def _side_by_side(figures: Mapping[str, str]) -> str:
    """A figure as drawn of each side: once, where it is the same."""
    told = list(dict.fromkeys(figures.values()))
    return told[0] if len(told) == 1 else ", ".join(f"{side} {own or 'none'}" for side, own in figures.items())


@dataclass(frozen=True, eq=False)
class Drawing:
    """The drawing of a side, and where each dimension lies on it; the valve stands central."""

    elevation: Elevation
    places: Mapping[str, complex]
    marks: Mapping[Key, DimensionMark]

    @classmethod
    def of(cls, engine: Engine, side: str | None = None) -> Drawing:
        """Of an engine's side as drawn; the first unless given."""
        return cls.of_side(assess_side(engine.side_state(DRAWING, side)), engine)

    @classmethod
    def of_side(cls, side: SideEvents, engine: Engine | None = None) -> Drawing:
        """Of a side, in its middle notch; sizes beside the gear as the engine's file gives them."""
        elevation, notch = elevation_of(side, engine), len(side.notches) // 2
        places = elevation.places(notch, TURNED)
        section = elevation.section
        central = section.ports_at - section.along * section.chest.own(section.spindle, section.lift)
        marks = dimension_marks(elevation, {**places, VALVE: central}, notch)
        return cls(elevation, {**places, VALVE: central}, {mark.key: mark for mark in marks})

    def groups(self, marks: Sequence[DimensionMark]) -> list[list[DimensionMark]]:
        """Dimensions that go on one picture: where a part stands on the frame, and what is on the part itself."""
        on_frame = [mark for mark in marks if mark.body == "frame"]
        others = [mark for mark in marks if mark.body != "frame"]
        section = [mark for mark in others if mark.body in ("cylinder", VALVE)]
        loose = [mark for mark in others if mark not in section]
        if loose and on_frame and all(mark.body == "wheel" for mark in loose):
            on_frame, loose = [*loose, *on_frame], []
        return [group for group in (on_frame, loose, section) if group]
