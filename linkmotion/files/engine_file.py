"""Engine files: TOML in, checked; an :class:`~linkmotion.engine.Engine` out, or one clear error."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

from linkmotion.engine import DRAWING, Engine, State, Targets
from linkmotion.files.angles_by_readings import work_out_angles
from linkmotion.files.complete import see_complete
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.figures_by_rule import work_out_rules
from linkmotion.files.gathered import Gathered
from linkmotion.files.lengths import UNITS, exact_length
from linkmotion.files.record_keys import RECORD_KEYS, taken_out
from linkmotion.files.repairs_table import of_gear, repairs_of
from linkmotion.files.schema import cleanup_model, table_model, targets_model, wear_model
from linkmotion.files.side_named import see_sides, see_targets
from linkmotion.files.source import STARTER, Source, Where, shown
from linkmotion.files.validated import needed, validated, wanted
from linkmotion.gears import GEARS
from linkmotion.gears.layering import table_types
from linkmotion.gears.letters import letters
from linkmotion.gears.steam import Steam, Wheels
from linkmotion.measuring.taken import Taken
from linkmotion.repair import Repair
from linkmotion.sides import BOTH
from linkmotion.wear.condition import FaceLoss

_BESIDE = (
    "engine", "targets", "state", "wear", "tolerances", "adjustments", "cleanup", "wheels", "steam", "repair", "pins",
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


def edit_engine(engine: Engine, key: str, value: Any, state: str = DRAWING, side: str = "both") -> Engine:
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
        The drawing, or a state (made if need be) and "both", "left" or "right".
    """
    import tomlkit

    document: Any = tomlkit.parse(engine.text)
    *tables, name = key.split(".")
    where = document
    for step in tables if state == DRAWING else ["state", state, side, *tables]:
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
        engine = Engine(
            name=head["name"],
            unit=unit,
            gear_type=gear_type,
            note=head.get("note", ""),
            text=self.source.text,
            records=records,
            drawing=self._tables(document, (), gear_type, unit, whole=True),
            states=self._states(document, gear_type, unit),
            targets=self._targets(document, unit, gear_type.sides),
            wear=self._wear(document, (), unit),
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

    def _tables(self, read: Mapping[str, Any], where: Where, gear: Any, unit: str, whole: bool) -> dict[str, Any]:
        found = {}
        for name, kind in table_types(gear).items():
            if name in read:
                own = (*where, name)
                model = table_model(kind, unit, whole)
                found[name] = validated(self.source, model, self.source.table(read[name], own), own, self.gathered)
            elif whole and (needs := needed(kind)):
                remedy = f"give [{name}] with {', '.join(needs)}"
                raise FileError(self.source.name, f"the table [{name}] is missing", remedy)
        for name in found.get("reversing", {}).get("notches", {}):
            self.source.printable(name, (*where, "reversing", "notches", name))
        return found

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

    def _wear(self, read: Mapping[str, Any], where: Where, unit: str) -> dict[str, Any]:
        """What the gauge found, in one layer."""
        if "wear" not in read:
            return {}
        where = (*where, "wear")
        found = validated(self.source, wear_model(unit), self.source.table(read["wear"], where), where, self.gathered)
        if "bent" in found:
            found["bent"] = {pin: (moved.ahead, moved.up) for pin, moved in found["bent"].items()}
        if "slot" in found:
            rows = (FaceLoss(**each.model_dump(), row=row) for row, each in enumerate(found["slot"]))
            found["slot"] = tuple(sorted(rows, key=lambda loss: loss.at))
            places = [loss.at for loss in found["slot"]]
            if len(set(places)) < len(places):
                raise self.source.fault((*where, "slot"), "two readings at one place", "give one reading for a place")
        return found

    def _states(self, document: dict[str, Any], gear: Any, unit: str) -> dict[str, State]:
        source, states = self.source, {}
        for name, value in source.table(document.get("state", {}), ("state",)).items():
            where = ("state", name)
            table = source.table(value, where)
            source.printable(name, where)
            see_sides(source, table, where, gear.sides, (BOTH,))
            source.known(table, where, ["based_on", "set_afresh", BOTH, *gear.sides, *RECORD_KEYS])
            if not isinstance(table.get("based_on", ""), str):
                source.words(table["based_on"], (*where, "based_on"))
            afresh = self._set_afresh(table, where, document, gear)
            if name == DRAWING:
                raise source.fault(where, "this name stands for the drawing itself", "give the state another name")
            layers, wear = self._layers(table, where, gear, unit)
            states[name] = State(name, table.get("based_on"), table.get("note", ""), layers, wear, afresh)
        for state in list(states.values()):
            self._grounded(state, states)
        return states

    def _layers(
        self, table: Mapping[str, Any], where: Where, gear: Any, unit: str
    ) -> tuple[dict[str, Any], dict[str, Any]]:
        """What stands under both and under each side: figures and wear of each."""
        layers, wear = {}, {}
        for side in (BOTH, *gear.sides):
            if side in table:
                own = self.source.table(table[side], (*where, side))
                self.source.known(own, (*where, side), of_gear(gear))
                layers[side] = self._tables(own, (*where, side), gear, unit, whole=False)
                wear[side] = self._wear(own, (*where, side), unit)
        return layers, wear

    def _repairs(self, document: dict[str, Any], engine: Engine) -> dict[str, Repair]:
        """Options for the shop; their figures are none of the engine's, so that no doubt of theirs is kept."""
        kept, self.gathered = self.gathered, Gathered(self.gathered.wheel)

        def layers(table: Mapping[str, Any], where: Where) -> tuple[dict[str, Any], dict[str, Any]]:
            return self._layers(table, where, engine.gear_type, engine.unit)

        found = repairs_of(document, self.source, engine.unit, engine.states, engine.sides, layers)
        for where in self.gathered.waiting:
            raise self.source.fault(where, "an angle by readings in a repair", "give the angle itself, in degrees")
        self.gathered = kept
        return found

    def _set_afresh(self, table: dict[str, Any], where: Where, document: dict[str, Any], gear: Any) -> bool:
        """Whether a state says that its valves were set again by the drawing's rule."""
        value, path = table.get("set_afresh", False), (*where, "set_afresh")
        if not isinstance(value, bool):
            raise self.source.fault(path, f"read {shown(value)}", "write true, or leave it out")
        if value and {"central_at", "set_by"} & set(document.get("valve", {})) == {"central_at"}:
            remedy = "give the place that was found instead: valve.central_at"
            raise self.source.fault(path, "the drawing gives no rule (valve.set_by) to set the valve by", remedy)
        given = [side for side in (BOTH, *gear.sides) if "central_at" in table.get(side, {}).get("valve", {})]
        if value and given:
            problem = f"valves set afresh, and one where it was found ({given[0]}.valve.central_at)"
            raise self.source.fault(path, problem, "keep one of the two")
        return value

    def _grounded(self, state: State, states: dict[str, State]) -> None:
        """See that a state rests on the drawing in the end."""
        seen = {state.name}
        while state.based_on not in (None, DRAWING):
            where, base = ("state", state.name, "based_on"), str(state.based_on)
            if base not in states:
                raise self.source.fault(where, f"there is no state {base!r}", nearest(base, list(states)))
            if base in seen:
                remedy = "let one start from the drawing"
                raise self.source.fault(where, "the states are based on one another in a ring", remedy)
            seen.add(base)
            state = states[base]
        if state.based_on == DRAWING:
            states[state.name] = replace(state, based_on=None)
