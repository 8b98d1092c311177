"""What one visitor of the live page works on: the engine as opened, as changed so far, and each change tried.

Nothing a browser sends is taken for more than it is: a key of this engine's own sheet, a text to stand as its
figure, a state and a side. A figure with which the gear cannot be turned leaves the last good engine as it was.
"""

from __future__ import annotations

import json
from collections.abc import Generator, Iterator, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from linkmotion.engine import DRAWING, SIDES, Engine, State
from linkmotion.files.engine_file import edit_engine
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import UNITS
from linkmotion.gears.book import Valve
from linkmotion.gears.layering import layered
from linkmotion.gears.reverser import Arm
from linkmotion.gears.sensitivity import declared, numbers
from linkmotion.linkage import LinkageError
from linkmotion.studies.assess import place_of
from linkmotion.studies.page_case import Memory
from linkmotion.studies.page_data import PageData, in_steps, page_data
from linkmotion.views.moving.page_words import why
from linkmotion.views.moving.payload import payload
from linkmotion.wear.effects import angles_of, pins_of, rods_of

BEFORE = "before the changes"
LONGEST = 100  # characters of a figure
WEAR = "what the gauge found"
_COUNTED = 2**53  # what a browser can count to
_SPAN = {"angle": 6.0, "play": 1.0, "rise": 10.0}  # reach of a slider, degrees and mm


@dataclass(frozen=True)
class Row:
    """One figure that can be changed.

    Attributes
    ----------
    key : str
        As :func:`~linkmotion.files.engine_file.edit_engine` takes it.
    table, words : str
        Under which heading, and what it is.
    value : float or None
        In the engine's unit, or degrees; None when it is not given.
    least, most : float
        Reach of its slider.
    unit : str
        The engine's unit, or "°".
    """

    key: str
    table: str
    words: str
    value: float | None
    least: float
    most: float
    unit: str


class Session:
    """The engine of one visitor, and what is asked of it.

    Attributes
    ----------
    opened, engine : Engine
        As opened; as it stands now.
    state, side : str
        Where changes are written: the drawing or a state; "both", "left" or "right".
    name : str
        Of the file that the browser saves.
    message : str
        Why the last change was not taken, or "".
    """

    def __init__(self, engine: Engine, state: str = DRAWING, name: str = "engine") -> None:
        self.name = f"{name}-changed.toml"
        self.opened = self.engine = engine
        self._memory = Memory()
        self.state, self.side, self.message = state, "both", ""
        self.shown = self._moved(engine)

    def ask(self, text: str) -> int:
        """Do what a browser asks in JSON; the number of its wish, 0 where it cannot be read, and that is told."""
        try:
            asked = json.loads(text)
            number = asked.get("number", 0)
        except (TypeError, ValueError, AttributeError, RecursionError):
            self.message = "what this page asked cannot be read; load it anew"
            return 0
        self.carry_out(asked)
        return number if isinstance(number, int) and abs(number) < _COUNTED else 0

    def carry_out(self, asked: dict[str, Any]) -> None:
        """Do what a browser asks: ``{"do": "choose" | "change" | "back", ...}``; what it may not ask is let be."""
        self.message = ""
        match asked:
            case {"do": "choose", "state": str(state), "side": str(side)} if self._known(state, side):
                self.state, self.side = state, side
                self.shown = self._moved(self.engine)
            case {"do": "change", "key": str(key), "value": str(value)}:
                self._change(key, value)
            case {"do": "back"}:
                self.engine = self.opened
                self.shown = self._moved(self.engine)

    def _known(self, state: str, side: str) -> bool:
        return state in self.engine.state_names and side in ("both", *SIDES)

    def _change(self, key: str, value: str) -> None:
        if len(value) > LONGEST or key not in {row.key for row in self.rows()}:
            return
        side = "both" if self.state == DRAWING else self.side
        try:
            engine = edit_engine(self.engine, key, _written(value), self.state, side)
            self.shown = self._moved(engine)
        except FileError as error:
            self.message = f"{error.key}: {error.problem}; {error.remedy}"
        except LinkageError as error:
            self.message = f"{why(error, self.engine.unit)}; the last good gear is shown"
        except (ValueError, ArithmeticError) as error:
            self.message = f"{key}: this figure cannot be used ({error}); the last good gear is shown"
        else:
            self.engine = engine
            self.message = self._hidden(key)

    def _hidden(self, key: str) -> str:
        """What is to be said when a figure for both sides is overruled by a side's own."""
        if self.state == DRAWING or self.side != "both":
            return ""
        table, *inner = key.split(".")
        state = self.engine.states[self.state]
        for side in SIDES:
            layer: Any = (state.wear if table == "wear" else state.layers).get(side, {})
            for step in inner if table == "wear" else [table, *inner]:
                layer = layer.get(step) if isinstance(layer, Mapping) else None
            if layer is not None:
                return f"{key}: the {side} side has a figure of its own in this state; choose that side to change it"
        return ""

    def _moved(self, engine: Engine) -> PageData:
        """The state worked on, and the same as it was opened; a state that cannot be turned is an error here."""
        found = page_data(*self._beside(engine), itemised=False, memory=self._memory)
        if self.state in found.left_out:
            reason = why(found.left_out[self.state], engine.unit)
            raise FileError(engine.name, reason, "the last good gear is shown", key=self.state)
        return found

    def _beside(self, engine: Engine) -> tuple[Engine, list[str]]:
        """The engine with the state as it was opened beside it, if it was changed; and the states to show."""
        if engine is self.opened:
            return engine, [self.state]
        return _beside(engine, self.opened, self.state), [self.state, BEFORE]

    def itemise(self) -> Generator[None, None, None]:
        """Find what each difference does alone, for the gear shown; in steps, between which it can be let be."""
        self.shown = yield from in_steps(*self._beside(self.engine))

    def reply(self) -> dict[str, Any]:
        """Everything the browser is to show."""
        rows = [vars(row) for row in self.rows()]
        bench = {
            "state": self.state,
            "side": self.side,
            "states": list(self.engine.state_names),
            "rows": rows,
            "message": self.message,
            "changed": self.engine is not self.opened,
            "file": self.engine.text,
            "name": self.name,
        }
        return payload(self.shown) | {"bench": bench}

    def rows(self) -> Iterator[Row]:
        """Figures that can be changed: the gear's dimensions, the arm's angle in each notch, and the wear."""
        side = "left" if self.side == "both" else self.side
        gear = self.engine.gear(self.state, side)
        scale = float(UNITS[self.engine.unit])
        reach = float(gear.crank.radius) / 15
        for (table, key), value in numbers(gear).items():
            words, kind = _meaning(gear, table, key)
            yield _row(
                f"{table}.{key}",
                _plain(table),
                words,
                value,
                kind,
                scale,
                max(reach, 0.03 * abs(value)),
                self.engine.unit,
            )
        if hasattr(gear, "reversing"):
            for name, notch in gear.notches.items():
                if isinstance(notch, Arm) and "." not in name:
                    words = f"arm angle, {name}"
                    yield _row(f"reversing.notches.{name}", "notches", words, float(notch.angle), "angle", 1.0, 0, "")
        yield from self._worn(side, gear, scale)

    def _worn(self, side: str, gear: Any, scale: float) -> Iterator[Row]:
        condition = self.engine.condition(self.state, side)
        unit = self.engine.unit
        for pin in pins_of(gear):
            found = condition.clearance.get(pin)
            yield _row(f"wear.clearance.{pin}", WEAR, f"clearance at the {pin}", found, "play", scale, 1.0, unit)
        for rod in rods_of(gear):
            yield _row(f"wear.bow.{rod}", WEAR, f"{rod} bowed by", condition.bow.get(rod), "rise", scale, 10.0, unit)
        for name in angles_of(gear):
            found = condition.angle_slip.get(name)
            yield _row(f"wear.angle_slip.{name}", WEAR, f"{name} slipped ahead by", found, "angle", 1.0, 0, "")
        if gear.slot is not None:
            found = condition.die_clearance or None
            yield _row("wear.die_clearance", WEAR, "die slack in the slot", found, "play", scale, 1.0, unit)
        found = condition.axle_height or None
        yield _row("wear.axle_height", WEAR, "axle above its running height", found, "height", scale, 15.0, unit)


def _row(
    key: str, table: str, words: str, value: float | None, kind: str, scale: float, reach: float, unit: str
) -> Row:
    """A row in the engine's unit."""
    span = _SPAN["angle"] if kind == "angle" else reach / scale
    now = None if value is None else round(float(value) / (1.0 if kind == "angle" else scale), 9)
    middle = now or 0.0
    if kind in ("play", "rise"):
        return Row(key, table, words, now, 0.0, max(span, 2 * middle), unit)
    return Row(key, table, words, now, middle - span, middle + span, "°" if kind == "angle" else unit)


def _meaning(gear: Any, table: str, key: str) -> tuple[str, str]:
    """What a key of the dimension book means, and its kind."""
    own = declared(gear, (table, key))
    return own["meaning"], own["kind"]


def _plain(table: str) -> str:
    return table.replace("_", " ")


def _written(value: str) -> float | str:
    """A figure as it is to stand in the file: a plain number, or the text as typed."""
    try:
        number = float(value)
    except ValueError:
        return value.strip()
    return int(number) if number.is_integer() and abs(number) < 1e9 else number


def _beside(engine: Engine, opened: Engine, state: str) -> Engine:
    """The engine with a further state: as the opened one stood."""
    layers = {side: opened.tables(state, side) for side in SIDES}
    wear: dict[str, Any] = {}
    for side in SIDES:
        setup = opened.side_state(state, side)
        if setup.placed is not setup:  # its valve stands where it was set in another state
            placed = {"central_at": place_of(setup)}
            layers[side]["valve"] = layered(layers[side]["valve"], placed, Valve)
        if "reversing" in layers[side]:
            layers[side]["reversing"].pop("notches", None)  # the rack is the same
        condition, added = opened.condition(state, side), engine.condition(DRAWING, side)
        wear[side] = {}
        for key in (f.name for f in fields(condition)):
            found, now = getattr(condition, key), getattr(added, key)
            sound = {name: (0.0, 0.0) if key == "bent" else 0.0 for name in now} if isinstance(now, dict) else None
            wear[side][key] = found if sound is None else {**sound, **found}
    return replace(engine, states={**engine.states, BEFORE: State(BEFORE, None, "", layers, wear)})
