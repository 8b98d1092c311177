"""Engine files: TOML in, checked; an :class:`~linkmotion.engine.Engine` out, or one clear error."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import fields, replace
from functools import cached_property
from pathlib import Path
from typing import Any, get_args, get_type_hints

from pydantic import BaseModel, ValidationError

from linkmotion.engine import DRAWING, SIDES, Engine, MissingFigure, State, Targets
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.lengths import UNITS
from linkmotion.files.lines import key_lines, line_of
from linkmotion.files.schema import table_model, targets_model
from linkmotion.gears import GEARS
from linkmotion.gears.book import Fault

LARGEST = 1_000_000  # bytes: an engine file is a few thousand
_STARTER = "linkmotion begin writes a starter file"
Where = tuple[str, ...]


def read_engine(path: str | Path) -> Engine:
    """Read an engine file.

    Raises
    ------
    FileError
        With file, line, key, what was read and the remedy.
    """
    name = str(path)
    try:
        if Path(path).stat().st_size > LARGEST:
            raise FileError(name, "larger than a megabyte, which no engine file is", "is this the right file?")
        data = Path(path).read_bytes()
    except OSError as error:
        raise FileError(name, (error.strerror or "cannot be read").lower(), f"check the name; {_STARTER}") from None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileError(name, f"not a text file (byte {error.start})", "save it as plain text, UTF-8") from None
    return parse_engine(text, name)


def parse_engine(text: str, name: str = "<text>") -> Engine:
    """Read an engine from the text of its file; ``name`` is used in messages."""
    return _Reader(text, name).engine()


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
    table, _, name = key.partition(".")
    where = document
    for step in [table] if state == DRAWING else ["state", state, side, table]:
        if step not in where:
            where[step] = tomlkit.table()
        where = where[step]
    where[name] = value
    return parse_engine(tomlkit.dumps(document), engine.name)


class _Reader:
    """One reading of one text."""

    def __init__(self, text: str, name: str) -> None:
        self.text, self.name = text, name

    @cached_property
    def lines(self) -> Mapping[Where, int]:
        return key_lines(self.text)

    def fault(self, where: Where, problem: str, remedy: str) -> FileError:
        return FileError(self.name, problem, remedy, line_of(self.lines, where), ".".join(where))

    def engine(self) -> Engine:
        document = self._document()
        head = self._head(document)
        gear_type = GEARS[head["gear"]]
        tables = {table.name for table in fields(gear_type)}
        self._known(document, (), [*sorted(tables), "engine", "targets", "state"])
        unit = head["unit"]
        engine = Engine(
            name=head["name"],
            unit=unit,
            gear_type=gear_type,
            note=head.get("note", ""),
            text=self.text,
            drawing=self._tables(document, (), gear_type, unit, whole=True),
            states=self._states(document, gear_type, unit),
            targets=self._targets(document, unit),
        )
        self._complete(engine)
        return engine

    def _document(self) -> dict[str, Any]:
        if not self.text.strip():
            raise FileError(self.name, "the file is empty", _STARTER)
        try:
            return tomllib.loads(self.text)
        except (tomllib.TOMLDecodeError, RecursionError) as error:
            found = re.match(r"(.*?)\s*\(at (?:line (\d+), column \d+|end of document)\)", str(error))
            said = found[1] if found else str(error)
            line = int(found[2]) if found and found[2] else self.text.rstrip().count("\n") + 1
            remedy = 'a length with a unit or fraction stands in quotes: "1 5/16 in"'
            if "overwrite" in said or "twice" in said:
                remedy = "the key or table is given twice; keep one"
            raise FileError(self.name, f"not valid TOML: {said.lower()}", remedy, line) from None

    def _head(self, document: dict[str, Any]) -> dict[str, Any]:
        head = document.get("engine")
        if not isinstance(head, dict):
            raise FileError(
                self.name, "there is no [engine] table", f"begin with [engine], name, gear and unit; {_STARTER}"
            )
        self._known(head, ("engine",), ["name", "gear", "unit", "note"])
        for key, choices in (("name", None), ("gear", list(GEARS)), ("unit", list(UNITS))):
            if key not in head:
                raise self.fault(
                    ("engine", key), "missing", f'give {key} = "…"' + (f": {', '.join(choices)}" if choices else "")
                )
            if not isinstance(head[key], str):
                raise self.fault(("engine", key), f"read {head[key]!r}, wanted words in quotes", f'write {key} = "…"')
            if choices and head[key] not in choices:
                raise self.fault(("engine", key), f"read {head[key]!r}", nearest(head[key], choices))
        if not isinstance(head.get("note", ""), str):
            raise self.fault(("engine", "note"), "wanted words in quotes", 'write note = "…"')
        return head

    def _known(self, table: Mapping[str, Any], where: Where, known: list[str]) -> None:
        for key in table:
            if key not in known:
                raise self.fault((*where, key), "unknown", nearest(key, known))

    def _table(self, value: Any, where: Where) -> dict[str, Any]:
        if not isinstance(value, dict):
            raise self.fault(
                where, f"read {value!r}, wanted a table", f"write [{'.'.join(where)}] on a line of its own"
            )
        return value

    def _tables(self, source: Mapping[str, Any], where: Where, gear: Any, unit: str, whole: bool) -> dict[str, Any]:
        found = {}
        for name, made in get_type_hints(gear).items():
            if name not in {f.name for f in fields(gear)}:
                continue
            if name in source:
                model = table_model(made, unit, whole)
                found[name] = self._validated(model, self._table(source[name], (*where, name)), (*where, name))
            elif whole and (missing := self._needs(made)):
                raise FileError(self.name, f"the table [{name}] is missing", f"give [{name}] with {', '.join(missing)}")
        return found

    @staticmethod
    def _needs(table: Any) -> list[str]:
        return [name for name, key in table_model(table, "mm", True).model_fields.items() if key.is_required()]

    def _validated(self, model: type[BaseModel], value: dict[str, Any], where: Where) -> dict[str, Any]:
        try:
            read = model.model_validate(value)
        except ValidationError as error:
            first = min(error.errors(), key=lambda each: each["type"] == "missing")  # a misspelt key is missing too
            raise self._told(first, model, where) from None
        found = {key: getattr(read, key) for key in model.model_fields if key in read.model_fields_set}
        return {
            k: each.model_dump(exclude_unset=True) if isinstance(each, BaseModel) else each for k, each in found.items()
        }

    def _told(self, error: Any, model: type[BaseModel], where: Where) -> FileError:
        path = (*where, *(str(part) for part in error["loc"]))
        match error["type"]:
            case "extra_forbidden":
                known = _known_at(model, error["loc"])
                return self.fault(path, "unknown", nearest(path[-1], known))
            case "missing":
                return self.fault(path, "missing", f"give {path[-1]} in [{'.'.join(path[:-1])}]")
            case "literal_error":
                return self.fault(path, f"read {error['input']!r}", f"choose {error['ctx']['expected']}")
            case "value_error":
                return self.fault(path, str(error["ctx"]["error"]), "correct this figure")
        return self.fault(path, f"read {error['input']!r}", error["msg"])

    def _targets(self, document: dict[str, Any], unit: str) -> Targets:
        if "targets" not in document:
            return Targets()
        given = self._validated(targets_model(unit), self._table(document["targets"], ("targets",)), ("targets",))
        return replace(Targets(), **given, chosen=frozenset(given))

    def _states(self, document: dict[str, Any], gear: Any, unit: str) -> dict[str, State]:
        states = {}
        for name, value in self._table(document.get("state", {}), ("state",)).items():
            where = ("state", name)
            table = self._table(value, where)
            self._known(table, where, ["based_on", "note", "both", *SIDES])
            for key in ("based_on", "note"):
                if not isinstance(table.get(key, ""), str):
                    raise self.fault(
                        (*where, key), f"read {table[key]!r}, wanted words in quotes", f'write {key} = "…"'
                    )
            if name == DRAWING:
                raise self.fault(where, "this name stands for the drawing itself", "give the state another name")
            layers = {}
            for side in ("both", *SIDES):
                if side in table:
                    own = self._table(table[side], (*where, side))
                    self._known(own, (*where, side), [f.name for f in fields(gear)])
                    layers[side] = self._tables(own, (*where, side), gear, unit, whole=False)
            states[name] = State(name, table.get("based_on"), table.get("note", ""), layers)
        for name, state in states.items():
            self._grounded(name, state, states)
        return states

    def _grounded(self, name: str, state: State, states: dict[str, State]) -> None:
        seen = {name}
        while state.based_on not in (None, DRAWING):
            where = ("state", state.name, "based_on")
            if state.based_on not in states:
                raise self.fault(
                    where, f"there is no state {state.based_on!r}", nearest(str(state.based_on), list(states))
                )
            if state.based_on in seen:
                raise self.fault(
                    where, "the states are based on one another in a ring", "let one start from the drawing"
                )
            seen.add(state.based_on)
            state = states[state.based_on]
        if state.based_on == DRAWING:
            states[state.name] = replace(state, based_on=None)

    def _complete(self, engine: Engine) -> None:
        """See that every side in every state has the figures it needs."""
        for state in engine.state_names:
            for side in SIDES:
                for fault in _faults(engine, state, side):
                    where: Where = (fault.table, fault.key)
                    if state != DRAWING and (layer := self._layer(engine, state, side, where)):
                        where = (*layer, *where)
                    told = fault.problem if state == DRAWING else f"{fault.problem} (state {state!r}, {side} side)"
                    raise self.fault(where, told, fault.remedy)

    def _layer(self, engine: Engine, state: str, side: str, where: Where) -> Where | None:
        """The layer that says something of the faulty table, latest first."""
        for name in reversed(engine.lineage(state)):
            for layer in (side, "both"):
                if where[0] in engine.states[name].layers.get(layer, {}):
                    return ("state", name, layer)
        return None


def _faults(engine: Engine, state: str, side: str) -> Iterator[Fault]:
    try:
        yield from engine.gear(state, side).faults()
    except MissingFigure as error:
        yield Fault("valve", str(error), "missing", f"give {error} too")


def _known_at(model: type[BaseModel], loc: tuple[Any, ...]) -> list[str]:
    """Keys known where an unknown one was read."""
    for step in loc[:-1]:
        kinds = [
            kind for kind in get_args(model.model_fields[step].annotation) or [model.model_fields[step].annotation]
        ]
        model = next(kind for kind in kinds if isinstance(kind, type) and issubclass(kind, BaseModel))
    return list(model.model_fields)
