"""Engine files: TOML in, checked; an :class:`~linkmotion.engine.Engine` out, or one clear error."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path
from typing import Any

from linkmotion.engine import DRAWING, Engine, Targets
from linkmotion.engine_layers import layer_at
from linkmotion.files.angles_by_readings import work_out_angles
from linkmotion.files.complete import see_complete
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.figures_by_rule import work_out_rules
from linkmotion.files.gathered import Gathered
from linkmotion.files.layers_read import LayerReader
from linkmotion.files.lengths import UNITS, exact_length
from linkmotion.files.record_keys import RECORD_KEYS, taken_out
from linkmotion.files.repairs_table import repairs_of
from linkmotion.files.schema import cleanup_model, table_model, targets_model
from linkmotion.files.side_named import see_targets
from linkmotion.files.source import STARTER, Source, shown
from linkmotion.files.validated import validated, wanted
from linkmotion.gears import GEARS
from linkmotion.gears.letters import letters
from linkmotion.gears.steam import Steam, Wheels
from linkmotion.measuring.taken import Taken
from linkmotion.repair import Repair
from linkmotion.sides import BOTH

_BESIDE = (
    "engine", "drawing", "targets", "state", "wear", "tolerances", "adjustments", "cleanup", "wheels", "steam",
    "repair", "pins",
)  # fmt: skip


def read_engine(path: str | Path) -> Engine:
    """Read an engine file.

    Parameters
    ----------
    path : path
        TOML, UTF-8, a megabyte at most.

    Raises
    ------
    FileError
        With file, line, key, what was read and the remedy.
    """
    return _Reader(Source.read(path)).engine()


def parse_engine(text: str, name: str = "<text>") -> Engine:
    """Read an engine from the text of its file.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        Stands for the file's name in messages.

    Raises
    ------
    FileError
        As :func:`read_engine`.
    """
    return _Reader(Source(text, name)).engine()


def edit_engine(engine: Engine, key: str, value: Any, state: str = DRAWING, side: str = BOTH) -> Engine:
    """The engine with one key written anew in its file's text; comments stay.

    Parameters
    ----------
    engine : Engine
        Read from a file.
    key : str
        Table and key, such as ``"eccentric_rod.length"``.
    value
        As a user would write it: a number in the file's unit, or ``"1 5/16 in"``.
    state, side : str
        The drawing, or a state (made if need be), and "both" or a side by its name: of the drawing too, what it is to
        have of its own for that side.
    """
    import tomlkit

    document: Any = tomlkit.parse(engine.text)
    *tables, name = key.split(".")
    if state == DRAWING and engine.sides == (side,) and side not in engine.sides_drawn:
        side = BOTH  # of one cylinder there is no other drawing
    where = document
    for step in (*layer_at(state, side), *tables):
        if step not in where:
            where[step] = tomlkit.table()
        where = where[step]
    where[name] = value
    return parse_engine(tomlkit.dumps(document), engine.name)


class _Reader:
    """One reading of one source."""

    def __init__(self, source: Source) -> None:
        self.source, self.gathered = source, Gathered()

    def engine(self) -> Engine:
        document = self.source.document()
        head = self._head(document)
        gear_type, unit = GEARS[head["gear"]], head["unit"]
        self.source.letters = letters(gear_type)
        tables = [table.name for table in fields(gear_type)]
        self.source.known(document, (), [*tables, *_BESIDE])
        told = {key: value for key, value in document.items() if key != "engine"}
        self.source.filled(told, lambda where: f"fill in: {wanted(gear_type, unit, where)}")
        document, records = taken_out(document, gear_type, self.source)
        wheels = self._beside(document, "wheels", Wheels, unit)
        for where in self.gathered.by_rule:  # no table of the gear is read yet
            raise self.source.fault(where, "no rule is known for it", "give its figure")
        if wheels.diameter is not None:  # heights from the rail are worked from it
            where = ("wheels", "diameter")
            plain = where not in self.gathered.taken
            self.gathered.wheel = (
                Taken(exact_length(document[where[0]][where[1]], unit)) if plain else self.gathered.taken[where]
            )
        layers = LayerReader(self.source, self.gathered, gear_type, unit)
        engine = Engine(
            name=head["name"],
            unit=unit,
            gear_type=gear_type,
            note=head.get("note", ""),
            text=self.source.text,
            records=records,
            drawing=layers.tables(document, (), whole=True),
            sides_drawn=layers.sides_drawn(document),
            states=layers.states(document),
            targets=self._targets(document, unit, gear_type.sides),
            wear=layers.wear(document, ()),
            tolerances=self.source.table(document.get("tolerances", {}), ("tolerances",)),
            adjustments=self.source.table(document.get("adjustments", {}), ("adjustments",)),
            cleanup=self._cleanup(document, unit),
            wheels=wheels,
            steam=self._beside(document, "steam", Steam, unit),
        )
        engine = replace(engine, repairs=self._repairs(document, engine))
        engine = work_out_rules(replace(engine, taken=self.gathered.taken), self.gathered, self.source)
        engine = work_out_angles(engine, self.gathered, self.source)
        see_complete(engine, self.source)
        if "pins" in document:
            from linkmotion.files.pins_table import read_pins  # loads the fits

            read_pins(engine, self.source)
        if engine.tolerances or engine.adjustments:
            from linkmotion.files.workshop_tables import see_workshop_tables  # loads the studies

            see_workshop_tables(engine, self.source.name)
        return engine

    def _head(self, document: dict[str, Any]) -> dict[str, Any]:
        source, head = self.source, document.get("engine")
        if not isinstance(head, dict):
            remedy = f"begin with [engine], name, gear and unit; {STARTER}"
            raise FileError(source.name, "there is no [engine] table", remedy)
        source.known(head, ("engine",), ["name", "gear", "unit", *RECORD_KEYS])
        for key, choices in (("name", []), ("gear", list(GEARS)), ("unit", list(UNITS))):
            where = ("engine", key)
            if key not in head:
                raise source.fault(where, "missing", f'give {key} = "…"' + f" ({', '.join(choices)})" * bool(choices))
            source.words(head[key], where)
            if choices and head[key] not in choices:
                raise source.fault(where, f"read {shown(head[key])}", nearest(head[key], choices))
        return head

    def _targets(self, document: dict[str, Any], unit: str, sides: tuple[str, ...]) -> Targets:
        if "targets" not in document:
            return Targets()
        where = ("targets",)
        read = self.source.table(document["targets"], where)
        see_targets(self.source, read, sides)
        given = validated(self.source, targets_model(unit), read, where, gathered := Gathered())
        for path in gathered.by_rule:
            raise self.source.fault(path, "no rule is known for it", "give what is to be held")
        for path in (path for path, taken in gathered.taken.items() if taken.parts):
            raise self.source.fault(path, "a target has no doubt", "give what is to be held")
        if "lead_within" in given and "lead" not in given:
            raise self.source.fault((*where, "lead_within"), "there is no lead to be near to", "give lead too")
        return replace(Targets(), **given, chosen=frozenset(given))

    def _beside(self, document: dict[str, Any], name: str, table: Any, unit: str) -> Any:
        """A table that goes with the gear without being part of it."""
        read = self.source.table(document.get(name, {}), (name,))
        made = table(**validated(self.source, table_model(table, unit, False), read, (name,), self.gathered))
        for fault in made.faults():
            raise self.source.fault((fault.table, fault.key), fault.problem, fault.remedy)
        return made

    def _cleanup(self, document: dict[str, Any], unit: str) -> dict[str, Any]:
        where = ("cleanup",)
        read = self.source.table(document.get("cleanup", {}), where)
        return validated(self.source, cleanup_model(unit), read, where, self.gathered)

    def _repairs(self, document: dict[str, Any], engine: Engine) -> dict[str, Repair]:
        """Options for the shop; their figures are none of the engine's, so that no doubt of theirs is kept."""
        gathered = Gathered(self.gathered.wheel)
        layers = LayerReader(self.source, gathered, engine.gear_type, engine.unit).layers
        found = repairs_of(document, self.source, engine.unit, engine.states, engine.sides, layers)
        for where in gathered.waiting:
            raise self.source.fault(where, "an angle by readings in a repair", "give the angle itself, in degrees")
        return found
