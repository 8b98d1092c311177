"""The figures of an engine file, layer by layer: the drawing's, what it has of one side, and the states'."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from linkmotion.engine_layers import DRAWING, State
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.gathered import Gathered
from linkmotion.files.record_keys import RECORD_KEYS
from linkmotion.files.repairs_table import of_gear
from linkmotion.files.schema import table_model, wear_model
from linkmotion.files.side_named import see_sides
from linkmotion.files.source import Source, Where, shown
from linkmotion.files.validated import needed, validated
from linkmotion.gears.layering import table_types
from linkmotion.sides import BOTH, side_words
from linkmotion.wear.condition import FaceLoss

_SETTING = {"central_at", "set_by"}  # the two ways of saying where a valve is


class LayerReader:
    """Reads the layers of one source.

    Parameters
    ----------
    source, gathered : Source, Gathered
        The text, for faults; what takes the figures as they were taken.
    gear, unit : type, str
        The gear's dataclass; of bare lengths.
    """

    def __init__(self, source: Source, gathered: Gathered, gear: Any, unit: str) -> None:
        self.source, self.gathered, self.gear, self.unit = source, gathered, gear, unit

    def tables(self, read: Mapping[str, Any], where: Where, whole: bool) -> dict[str, Any]:
        """The gear's tables in one layer; those of a whole drawing must be complete."""
        found = {}
        for name, kind in table_types(self.gear).items():
            if name in read:
                own = (*where, name)
                model = table_model(kind, self.unit, whole)
                found[name] = validated(self.source, model, self.source.table(read[name], own), own, self.gathered)
            elif whole and (needs := needed(kind)):
                remedy = f"give [{name}] with {', '.join(needs)}"
                raise FileError(self.source.name, f"the table [{name}] is missing", remedy)
        for name in found.get("reversing", {}).get("notches", {}):
            self.source.printable(name, (*where, "reversing", "notches", name))
        return found

    def wear(self, read: Mapping[str, Any], where: Where) -> dict[str, Any]:
        """What the gauge found, in one layer."""
        if "wear" not in read:
            return {}
        where = (*where, "wear")
        found = validated(
            self.source, wear_model(self.unit), self.source.table(read["wear"], where), where, self.gathered
        )
        if "bent" in found:
            found["bent"] = {pin: (moved.ahead, moved.up) for pin, moved in found["bent"].items()}
        if "slot" in found:
            rows = (FaceLoss(**each.model_dump(), row=row) for row, each in enumerate(found["slot"]))
            found["slot"] = tuple(sorted(rows, key=lambda loss: loss.at))
            places = [loss.at for loss in found["slot"]]
            if len(set(places)) < len(places):
                raise self.source.fault((*where, "slot"), "two readings at one place", "give one reading for a place")
        return found

    def sides_drawn(self, document: Mapping[str, Any]) -> dict[str, Any]:
        """What the drawing has of its own for one side, by the side's name."""
        source, where = self.source, (DRAWING,)
        table = source.table(document.get(DRAWING, {}), where)
        if BOTH in table:
            problem = "what is alike for every side stands in the drawing's own tables"
            raise source.fault((*where, BOTH), problem, "write [TABLE] for it, without drawing.both")
        see_sides(source, table, where, self.gear.sides)
        source.known(table, where, list(self.gear.sides))
        found = {}
        for side, value in table.items():
            own = source.table(value, (*where, side))
            if "wear" in own:
                remedy = f'give it in a state, [state."as found".{side}.wear], or of every side in [wear]'
                raise source.fault((*where, side, "wear"), "a side is not drawn worn", remedy)
            source.known(own, (*where, side), list(table_types(self.gear)))
            found[side] = self.tables(own, (*where, side), whole=False)
        return found

    def states(self, document: Mapping[str, Any]) -> dict[str, State]:
        """Every named state, each resting on the drawing in the end."""
        source, gear, states = self.source, self.gear, dict[str, State]()
        for name, value in source.table(document.get("state", {}), ("state",)).items():
            where = ("state", name)
            table = source.table(value, where)
            source.printable(name, where)
            see_sides(source, table, where, gear.sides, (BOTH,))
            source.known(table, where, ["based_on", "set_afresh", BOTH, *gear.sides, *RECORD_KEYS])
            if not isinstance(table.get("based_on", ""), str):
                source.words(table["based_on"], (*where, "based_on"))
            afresh = self._set_afresh(table, where, document)
            if name == DRAWING:
                raise source.fault(where, "this name stands for the drawing itself", "give the state another name")
            layers, wear = self.layers(table, where)
            states[name] = State(name, table.get("based_on"), table.get("note", ""), layers, wear, afresh)
        for state in list(states.values()):
            self._grounded(state, states)
        return states

    def layers(self, table: Mapping[str, Any], where: Where) -> tuple[dict[str, Any], dict[str, Any]]:
        """What stands under both and under each side: figures and wear of each."""
        layers, wear = {}, {}
        for side in (BOTH, *self.gear.sides):
            if side in table:
                own = self.source.table(table[side], (*where, side))
                self.source.known(own, (*where, side), of_gear(self.gear))
                layers[side] = self.tables(own, (*where, side), whole=False)
                wear[side] = self.wear(own, (*where, side))
        return layers, wear

    def _set_afresh(self, table: Mapping[str, Any], where: Where, document: Mapping[str, Any]) -> bool:
        """Whether a state says that its valves were set again by the drawing's rule."""
        value, path = table.get("set_afresh", False), (*where, "set_afresh")
        if not isinstance(value, bool):
            raise self.source.fault(path, f"read {shown(value)}", "write true, or leave it out")
        for side in self.gear.sides if value else ():
            own = document.get(DRAWING, {}).get(side, {}).get("valve", {})
            if (_SETTING & set(own) or _SETTING & set(document.get("valve", {}))) == {"central_at"}:
                whose = f" of the {side_words(side)}" if "central_at" in own else ""
                problem = f"the drawing{whose} gives no rule (valve.set_by) to set the valve by"
                raise self.source.fault(path, problem, "give the place that was found instead: valve.central_at")
        given = [side for side in (BOTH, *self.gear.sides) if "central_at" in table.get(side, {}).get("valve", {})]
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
