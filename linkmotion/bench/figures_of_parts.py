"""The figures of an engine that can be entered: grouped by part, each as written, and where that is written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from typing import Any

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.engine import DRAWING, Engine
from linkmotion.engine_layers import layer_at, whose
from linkmotion.files.figure_edit import Place, figure_at, typed
from linkmotion.gears import Gear
from linkmotion.gears.layering import table_types
from linkmotion.gears.letters import letters
from linkmotion.gears.sensitivity import declared, numbers
from linkmotion.sides import BOTH, side_words, sides_meant
from linkmotion.views.tables import Shown
from linkmotion.views.taken_words import with_doubt
from linkmotion.wear.effects import angles_of, pins_of, rods_of

WEAR = "what the gauge found"


@dataclass(frozen=True)
class Figure:
    """One figure.

    Attributes
    ----------
    place : tuple of str
        Table and key within a layer.
    words : str
        What it is.
    unit : str
        Of a bare number: the engine's, or "°".
    layer : tuple of str
        Path in the file of the layer that is worked on.
    own, drawn : str
        As written in that layer, and on the side's drawing; "" where it is not.
    stands, whence : str
        As written where it holds; the layer, such as "as found, both sides".
    rod : str
        The rod whose length it is, or "".
    letter : str
        As on the measuring sheets, or "".
    worked : str
        What it comes to, with its doubt, where it was taken and not written as a plain figure; or "".
    """

    place: Place
    layer: Place
    words: str
    unit: str
    own: str
    drawn: str
    stands: str
    whence: str
    rod: str = ""
    letter: str = ""
    worked: str = ""

    @property
    def name(self) -> str:
        """By which a page and the history know it."""
        return ".".join(self.place)


@dataclass(frozen=True)
class Part:
    """A part of the gear with its figures; ``more`` are those that it can have and has not."""

    name: str
    table: str
    figures: tuple[Figure, ...]
    more: tuple[Figure, ...] = ()

    @property
    def changed(self) -> int:
        """How many of its figures are given in the layer that is worked on."""
        return sum(bool(own.own) for own in (*self.figures, *self.more))


def layer_words(layer: Place, engine: Engine) -> str:
    """A layer in words; of a drawing alike for every side without a side."""
    state, side = whose(layer)
    if not layer and not engine.sides_drawn:
        return DRAWING
    return f"{state}, {side_words(side, engine.sides)}"


@dataclass(frozen=True)
class _Sheet:
    """What figures are looked up in."""

    engine: Engine
    document: Mapping[str, Any]
    state: str
    side: str

    @property
    def layers(self) -> list[tuple[Place, str]]:
        """Every layer that bears on the side, the latest last, with its words."""
        own = sides_meant(self.side, self.engine.sides)[0]
        found = [layer.where for layer in self.engine.layers(self.state, own) if layer.side or not layer.where]
        if self.side == BOTH:  # what the first side has of its own here bears on that one alone
            found = [where for where in found if where != layer_at(self.state, own)]
        return [(where, layer_words(where, self.engine)) for where in found]

    def drawn(self, place: Place) -> Place:
        """The layer in which a figure is drawn: the side's own where that gives it, else every side's."""
        own = layer_at(DRAWING, self.side)
        return () if figure_at(self.document, (*own, *place)) is None else own

    def figure(self, place: Place, words: str, unit: str, rod: str = "") -> Figure:
        """A figure as the layers have it."""
        given = [
            (typed(value), told, self.engine.taken.get((*own, *place)))
            for own, told in self.layers
            if (value := figure_at(self.document, (*own, *place))) is not None
        ]
        stands, whence, taken = given[-1] if given else ("", "", None)
        worked = "" if taken is None else with_doubt(taken.value, taken.doubt, taken.unit, Shown(self.engine.unit))
        drawn = self.drawn(place)
        layer = drawn if self.state == DRAWING else layer_at(self.state, self.side)
        own = typed(figure_at(self.document, (*layer, *place)))
        key = "notches" if place[1:2] == ("notches",) else ".".join(place[1:])  # one letter for all of them
        letter = letters(self.engine.gear_type).get((place[0], key), "")
        as_drawn = typed(figure_at(self.document, (*drawn, *place)))
        return Figure(place, layer, words, unit, own, as_drawn, stands, whence, rod, letter, worked)


def parts(work: EngineAtWork, state: str, side: str) -> list[Part]:
    """Every part with its figures.

    Parameters
    ----------
    work, state, side
        The engine; the drawing or a state; a side, or "both".
    """
    engine = work.must()
    return work.once(("parts", state, side), lambda: _parts(engine, work.document, state, side))


def _parts(engine: Engine, document: Mapping[str, Any], state: str, side: str) -> list[Part]:
    sheet = _Sheet(engine, document, state, side)
    gear = engine.gear(state, sides_meant(side, engine.sides)[0])
    found = [_part(sheet, gear, table.name) for table in fields(gear)]
    return [*(part for part in found if part.figures), *_worn(sheet, gear)]


def places(work: EngineAtWork, state: str, side: str) -> dict[str, Figure]:
    """The same by name."""
    return {own.name: own for part in parts(work, state, side) for own in (*part.figures, *part.more)}


def _part(sheet: _Sheet, gear: Gear, table: str) -> Part:
    given = [key for own, key in numbers(gear) if own == table]
    made = [_of_key(sheet, gear, table, key) for key in given]
    others = [key for key in _possible(gear, table) if key not in given]
    if table == "reversing":
        made += list(_notches(sheet, gear))
    more = tuple(_of_key(sheet, gear, table, key) for key in others)
    return Part(table.replace("_", " "), table, tuple(made), more)


def _possible(gear: Gear, table: str) -> Iterator[str]:
    kind = table_types(type(gear))[table]
    for key in fields(kind):
        if key.metadata.get("kind") in ("length", "angle"):
            yield key.name


def _of_key(sheet: _Sheet, gear: Gear, table: str, key: str) -> Figure:
    own = declared(gear, (table, key))
    unit = "°" if own["kind"] == "angle" else sheet.engine.unit
    return sheet.figure((table, *key.split(".")), own["meaning"], unit, own.get("rod", ""))


def _notches(sheet: _Sheet, gear: Gear) -> Iterator[Figure]:
    for name in gear.notches:
        yield sheet.figure(("reversing", "notches", name), f"arm in {name}", "°")


def _worn(sheet: _Sheet, gear: Gear) -> Iterator[Part]:
    """What the gauge found, joint by joint."""
    unit = sheet.engine.unit
    made = [sheet.figure(("wear", "clearance", pin), f"clearance at the {pin}", unit) for pin in pins_of(gear)]
    if gear.slot is not None:
        made.append(sheet.figure(("wear", "die_clearance"), "die slack in the slot", unit))
    made += [sheet.figure(("wear", "bow", rod), f"{rod} bowed by", unit) for rod in rods_of(gear)]
    made += [sheet.figure(("wear", "angle_slip", name), f"{name} slipped ahead by", "°") for name in angles_of(gear)]
    made.append(sheet.figure(("wear", "axle_height"), "axle above its running height", unit))
    yield Part(WEAR, "wear", tuple(made))
