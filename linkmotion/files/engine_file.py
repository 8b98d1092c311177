"""Engine files: TOML in, checked; an :class:`~linkmotion.engine.Engine` out, or one clear error."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, replace
from pathlib import Path
from typing import Any, get_args, get_origin, get_type_hints

from pydantic import BaseModel, ValidationError

from linkmotion.engine import DRAWING, SIDES, Engine, MissingFigure, State, Targets
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.lengths import UNITS, format_length
from linkmotion.files.schema import cleanup_model, table_model, targets_model, wear_model
from linkmotion.files.source import STARTER, Source, Where, dotted, shown
from linkmotion.gears import GEARS
from linkmotion.gears.keys import Fault
from linkmotion.gears.steam import Steam, Wheels
from linkmotion.wear.condition import FaceLoss
from linkmotion.wear.effects import angles_of, link_pins_of, pins_of, rods_of


def read_engine(path: str | Path) -> Engine:
    """Read an engine file.

    Raises
    ------
    FileError
        With file, line, key, what was read and the remedy.
    """
    return _Reader(Source.read(path)).engine()


def parse_engine(text: str, name: str = "<text>") -> Engine:
    """Read an engine from the text of its file; ``name`` is used in messages."""
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
        self.source = source

    def engine(self) -> Engine:
        document = self.source.document()
        head = self._head(document)
        gear_type, unit = GEARS[head["gear"]], head["unit"]
        tables = [table.name for table in fields(gear_type)]
        beside = ["engine", "targets", "state", "wear", "tolerances", "adjustments", "cleanup", "wheels", "steam"]
        self.source.known(document, (), [*tables, *beside])
        told = {key: value for key, value in document.items() if key != "engine"}
        self.source.filled(told, lambda where: f"fill in: {_wanted(gear_type, unit, where)}")
        engine = Engine(
            name=head["name"],
            unit=unit,
            gear_type=gear_type,
            note=head.get("note", ""),
            text=self.source.text,
            drawing=self._tables(document, (), gear_type, unit, whole=True),
            states=self._states(document, gear_type, unit),
            targets=self._targets(document, unit),
            wear=self._wear(document, (), unit),
            tolerances=self.source.table(document.get("tolerances", {}), ("tolerances",)),
            adjustments=self.source.table(document.get("adjustments", {}), ("adjustments",)),
            cleanup=self._cleanup(document, unit),
            wheels=self._beside(document, "wheels", Wheels, unit),
            steam=self._beside(document, "steam", Steam, unit),
        )
        self._complete(engine)
        if engine.tolerances or engine.adjustments:
            from linkmotion.files.workshop_tables import see_workshop_tables  # loads the studies

            see_workshop_tables(engine, self.source.name)
        return engine

    def _head(self, document: dict[str, Any]) -> dict[str, Any]:
        source, head = self.source, document.get("engine")
        if not isinstance(head, dict):
            remedy = f"begin with [engine], name, gear and unit; {STARTER}"
            raise FileError(source.name, "there is no [engine] table", remedy)
        source.known(head, ("engine",), ["name", "gear", "unit", "note"])
        for key, choices in (("name", []), ("gear", list(GEARS)), ("unit", list(UNITS))):
            where = ("engine", key)
            if key not in head:
                raise source.fault(where, "missing", f'give {key} = "…"' + f" ({', '.join(choices)})" * bool(choices))
            source.words(head[key], where)
            if choices and head[key] not in choices:
                raise source.fault(where, f"read {shown(head[key])}", nearest(head[key], choices))
        if not isinstance(head.get("note", ""), str):
            source.words(head["note"], ("engine", "note"))
        return head

    def _tables(self, read: Mapping[str, Any], where: Where, gear: Any, unit: str, whole: bool) -> dict[str, Any]:
        found = {}
        hints = get_type_hints(gear)
        for name in (table.name for table in fields(gear)):
            if name in read:
                model = table_model(hints[name], unit, whole)
                found[name] = self._validated(model, self.source.table(read[name], (*where, name)), (*where, name))
            elif whole and (needs := _needs(hints[name])):
                remedy = f"give [{name}] with {', '.join(needs)}"
                raise FileError(self.source.name, f"the table [{name}] is missing", remedy)
        for name in found.get("reversing", {}).get("notches", {}):
            self.source.printable(name, (*where, "reversing", "notches", name))
        return found

    def _validated(self, model: type[BaseModel], value: dict[str, Any], where: Where) -> dict[str, Any]:
        try:
            read = model.model_validate(value)
        except ValidationError as error:
            raise self._told(error.errors(), model, where) from None
        found = {key: getattr(read, key) for key in model.model_fields if key in read.model_fields_set}
        return {
            k: each.model_dump(exclude_unset=True) if isinstance(each, BaseModel) else each for k, each in found.items()
        }

    def _told(self, errors: list[Any], model: type[BaseModel], where: Where) -> FileError:
        """The fault to be told first: the topmost; a missing key last, since a misspelt one is missing too."""

        def place(error: Any) -> tuple[bool, int]:
            return error["type"] == "missing", self.source.line(_path(where, error)) or 0

        error = min(errors, key=place)
        path = _path(where, error)
        match error["type"]:
            case "extra_forbidden":
                return self.source.fault(path, "unknown", nearest(path[-1], _known_at(model, error["loc"])))
            case "missing":
                return self.source.fault(path, "missing", f"give {path[-1]} in [{dotted(path[:-1])}]")
            case "literal_error":
                return self.source.fault(path, f"read {shown(error['input'])}", f"choose {error['ctx']['expected']}")
            case "list_type":
                entry = " = …, ".join(_known_at(model, (*error["loc"], 0, "")))
                return self.source.fault(path, f"read {shown(error['input'])}", f"write [ {{ {entry} = … }}, … ]")
            case "dict_type" if len(where) > 1:
                return self.source.fault(path, f"read {shown(error['input'])}, wanted a table", "write { NAME = …, … }")
        if error["type"] == "value_error":
            return self.source.fault(path, str(error["ctx"]["error"]), "correct this figure")
        keys = ", ".join(f"{key} = …" for key in _known_at(model, (*error["loc"], "")))
        return self.source.fault(path, f"read {shown(error['input'])}, wanted a table", f"write {{ {keys} }}")

    def _targets(self, document: dict[str, Any], unit: str) -> Targets:
        if "targets" not in document:
            return Targets()
        where = ("targets",)
        given = self._validated(targets_model(unit), self.source.table(document["targets"], where), where)
        if "lead_within" in given and "lead" not in given:
            raise self.source.fault((*where, "lead_within"), "there is no lead to be near to", "give lead too")
        return replace(Targets(), **given, chosen=frozenset(given))

    def _beside(self, document: dict[str, Any], name: str, table: Any, unit: str) -> Any:
        """A table that goes with the gear without being part of it."""
        read = self.source.table(document.get(name, {}), (name,))
        made = table(**self._validated(table_model(table, unit, False), read, (name,)))
        for fault in made.faults():
            raise self.source.fault((fault.table, fault.key), fault.problem, fault.remedy)
        return made

    def _cleanup(self, document: dict[str, Any], unit: str) -> dict[str, Any]:
        where = ("cleanup",)
        return self._validated(cleanup_model(unit), self.source.table(document.get("cleanup", {}), where), where)

    def _wear(self, read: Mapping[str, Any], where: Where, unit: str) -> dict[str, Any]:
        """What the gauge found, in one layer."""
        if "wear" not in read:
            return {}
        where = (*where, "wear")
        found = self._validated(wear_model(unit), self.source.table(read["wear"], where), where)
        if "bent" in found:
            found["bent"] = {pin: (moved.ahead, moved.up) for pin, moved in found["bent"].items()}
        if "slot" in found:
            found["slot"] = tuple(
                sorted((FaceLoss(**each.model_dump()) for each in found["slot"]), key=lambda loss: loss.at)
            )
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
            source.known(table, where, ["based_on", "note", "set_afresh", "both", *SIDES])
            for key in ("based_on", "note"):
                if not isinstance(table.get(key, ""), str):
                    source.words(table[key], (*where, key))
            afresh = self._set_afresh(table, where, document)
            if name == DRAWING:
                raise source.fault(where, "this name stands for the drawing itself", "give the state another name")
            layers, wear = {}, {}
            for side in ("both", *SIDES):
                if side in table:
                    own = source.table(table[side], (*where, side))
                    source.known(own, (*where, side), [*(f.name for f in fields(gear)), "wear"])
                    layers[side] = self._tables(own, (*where, side), gear, unit, whole=False)
                    wear[side] = self._wear(own, (*where, side), unit)
            states[name] = State(name, table.get("based_on"), table.get("note", ""), layers, wear, afresh)
        for state in list(states.values()):
            self._grounded(state, states)
        return states

    def _set_afresh(self, table: dict[str, Any], where: Where, document: dict[str, Any]) -> bool:
        """Whether a state says that its valves were set again by the drawing's rule."""
        value, path = table.get("set_afresh", False), (*where, "set_afresh")
        if not isinstance(value, bool):
            raise self.source.fault(path, f"read {shown(value)}", "write true, or leave it out")
        if value and "central_at" in document.get("valve", {}):
            remedy = "give the place that was found instead: valve.central_at"
            raise self.source.fault(path, "the drawing gives no rule (valve.set_by) to set the valve by", remedy)
        given = [side for side in ("both", *SIDES) if "central_at" in table.get(side, {}).get("valve", {})]
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

    def _complete(self, engine: Engine) -> None:
        """See that every side in every state has the figures it needs."""
        for state in engine.state_names:
            for side in SIDES:
                for fault in _faults(engine, state, side):
                    where = (*engine.layer_of(fault.table, state, side), fault.table, *fault.key.split("."))
                    told = fault.problem if state == DRAWING else f"{fault.problem} (state {state!r}, {side} side)"
                    raise self.source.fault(where, told, fault.remedy)
                self._named(engine, state, side)

    def _named(self, engine: Engine, state: str, side: str) -> None:
        """See that what is worn is a part of this gear."""
        condition, gear = engine.condition(state, side), engine.gear(state, side)
        if condition.sound:
            return
        known = {
            "clearance": pins_of(gear),
            "bow": list(rods_of(gear)),
            "bent": link_pins_of(gear),
            "angle_slip": angles_of(gear),
        }
        for key, names in known.items():
            for name in getattr(condition, key):
                if name not in names:
                    layers = [
                        ("state", s, layer) for s in engine.lineage(state) for layer in (side, "both")
                        if name in engine.states[s].wear.get(layer, {}).get(key, {})
                    ]  # fmt: skip
                    where = (*(layers[-1] if layers else ()), "wear", key, name)
                    raise self.source.fault(where, "unknown", nearest(name, names))
        if (slot := gear.slot) is not None:
            for loss in condition.slot:
                if not -2 * slot.bottom <= loss.at <= 2 * slot.top:
                    problem = f"a reading at {format_length(loss.at, engine.unit)} is far beyond the slot"
                    raise self.source.fault(_read_in(engine, state, "slot"), problem, "look at its unit")
        if condition.twist and not condition.die_length:
            raise self._lacking(engine, state, "twist", "die_length", "the die's length along the slot")
        if condition.heat.get("spindle") and not condition.spindle_length:
            raise self._lacking(engine, state, "heat", "spindle_length", "pin to valve")

    def _lacking(self, engine: Engine, state: str, key: str, lacking: str, meaning: str) -> FileError:
        """A figure of the gauge that needs another beside it."""
        where = _read_in(engine, state, key)
        return self.source.fault(where, f"{lacking} is missing", f"give it beside {key}: {meaning}")


def _read_in(engine: Engine, state: str, key: str) -> Where:
    """Where a figure of the gauge stands: in the last layer that gives it."""
    layers = [(s, layer) for s in engine.lineage(state) for layer, own in engine.states[s].wear.items() if key in own]
    return (*(("state", *layers[-1]) if layers else ()), "wear", key)


def _faults(engine: Engine, state: str, side: str) -> Iterator[Fault]:
    try:
        yield from engine.gear(state, side).faults()
    except MissingFigure as error:
        yield Fault("valve", str(error), "missing", f"give {error} too")


def _needs(table: Any) -> list[str]:
    return [name for name, key in table_model(table, "mm", True).model_fields.items() if key.is_required()]


def _path(where: Where, error: Any) -> Where:
    return (*where, *(str(part) for part in error["loc"] if part != "[key]"))  # of a name that is none


def _inner(model: type[BaseModel], loc: tuple[Any, ...]) -> type[BaseModel]:
    """The model in which the last key of a path stands."""
    kind: Any = model
    for step in loc[:-1]:
        # of a model its field, of a list or a table of names what each entry is
        kind = kind.model_fields[step].annotation if kind is model else get_args(kind)[-1:]
        inside = [kind, *get_args(kind)] if not isinstance(kind, tuple) else list(kind)
        kind = next((k for k in inside if _is_model(k) or get_origin(k) in (dict, list)), None)
        if kind is None:
            break
        model = kind if _is_model(kind) else model
    return model


def _is_model(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, BaseModel)


def _known_at(model: type[BaseModel], loc: tuple[Any, ...]) -> list[str]:
    return list(_inner(model, loc).model_fields)


def _wanted(gear: Any, unit: str, where: Where) -> str:
    """What a key of a gear's tables, the drawing's or a state's, means in the dimension book."""
    hints = get_type_hints(gear)
    table, *keys = where[3:] if where[0] == "state" else where
    if table not in hints or not keys:
        return "give its figure"
    field = _inner(table_model(hints[table], unit, False), tuple(keys)).model_fields.get(keys[-1])
    return field.description if field is not None and field.description else "give its figure"
