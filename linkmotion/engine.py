"""An engine: one drawing, its sides, and named states layered over the drawing.

A state holds only what differs. Its figures are laid over the drawing in this order: the state it is
based on, then its ``both``, then the side's own. The result is a gear, complete, for that side.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from linkmotion.gears import Gear
from linkmotion.gears.book import Valve
from linkmotion.gears.layering import layered, made, table_types
from linkmotion.gears.reverser import Notch
from linkmotion.gears.steam import Steam, Wheels
from linkmotion.measuring.taken import Taken
from linkmotion.record import Record
from linkmotion.repair import Repair
from linkmotion.sides import BOTH, one_of
from linkmotion.targets import Targets as Targets
from linkmotion.wear.condition import SOUND, Condition

DRAWING = "drawing"
AS_IT_STANDS, SET_AFRESH, IN_SERVICE = STANDINGS = ("as it stands", "set afresh", "in service")
"""How a state is looked at: cold, its valve where it is on its spindle; its valve put again where the drawing's rule
has it; and warm."""
Tables = Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True)
class State:
    """A named state: what differs from the drawing (or from the state it is based on)."""

    name: str
    based_on: str | None = None
    note: str = ""
    layers: Mapping[str, Tables] = field(default_factory=dict)  # "both", or a side → tables
    wear: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)  # the same → what the gauge found
    set_afresh: bool = False  # whether its valves were set again by the drawing's rule


@dataclass(frozen=True)
class SideState:
    """A gear ready to be turned: one side in one state, its notches as reverser positions."""

    side: str
    state: str
    gear: Gear
    rack: Gear  # the drawing's gear, on which a die height is turned into an arm angle
    own_notches: frozenset[str]  # notches that the state gives itself
    condition: Condition = SOUND
    last_set: SideState | None = None  # the side as its valve was last set by its rule, where that was in another state

    @property
    def placed(self) -> SideState:
        """The side as it was when its valve got its place on the spindle: itself, where it gives that place."""
        return self if self.last_set is None or self.gear.valve.central_at is not None else self.last_set

    @property
    def rule(self) -> Valve | None:
        """Its valve set by the rule that it is set afresh by; None where neither it nor the drawing has one."""
        ruled = next((gear.valve for gear in (self.gear, self.rack) if gear.valve.set_by is not None), None)
        if ruled is None:
            return None
        return replace(self.gear.valve, central_at=None, set_by=ruled.set_by, set_in=ruled.set_in)

    @property
    def on_reassembly(self) -> str:
        """How it will be looked at once it is put together again: set afresh, where there is a rule for that."""
        return AS_IT_STANDS if self.rule is None else SET_AFRESH

    def alike(self, other: SideState) -> bool:
        """Whether another side has the same gear in the same condition, its valve at the same place.

        Parameters
        ----------
        other : SideState
            Of any state; its notches and its name are not looked at.
        """
        mine, its = ((own.gear, own.condition, own.placed.gear, own.placed.condition) for own in (self, other))
        return mine == its

    def altered(self, gear: Gear | None = None, condition: Condition | None = None) -> SideState:
        """The side with another gear or condition, its valve left where it is on its spindle.

        Parameters
        ----------
        gear, condition : Gear, Condition, optional
            What takes the place of its own; kept where not given.
        """
        return replace(
            self,
            gear=self.gear if gear is None else gear,
            condition=self.condition if condition is None else condition,
            last_set=self.placed,
        )

    @property
    def notches(self) -> dict[str, Notch]:
        """Named positions of the reverser."""
        return self.gear.notches


@dataclass(frozen=True)
class Engine:
    """An engine as written in its file; lengths mm, angles degrees.

    Attributes
    ----------
    name, note : str
        As written by the user.
    unit : str
        Unit of bare numbers in the file, and of what is shown.
    gear_type : type
        The gear's dataclass.
    drawing : tables
        The drawing's figures, alike for every side.
    states : dict of State
        By name, in file order.
    targets : Targets
        What is to be held.
    wear : dict
        Clearances and the like of the drawing itself, every side.
    tolerances, adjustments : dict
        The tables as written.
    cleanup : dict
        What a slot clean-up needs beside drawing and readings (slot width, gauge, limits).
    wheels, steam : Wheels, Steam
        Driving wheels and the cranks' angle; steam and cylinders.
    text : str
        The file's own text, with its comments.
    taken : dict of Taken
        Figures as they were taken, by their path in the file; the tables hold their plain values.
    records, repairs : dict
        Who, when, with what, by the path of the table in the file; options for the shop, by name.
    """

    name: str
    unit: str
    gear_type: type[Any]
    drawing: Tables
    states: Mapping[str, State] = field(default_factory=dict)
    targets: Targets = Targets()  # noqa: RUF009 - frozen
    wear: Mapping[str, Any] = field(default_factory=dict)
    tolerances: Mapping[str, Any] = field(default_factory=dict)
    adjustments: Mapping[str, Any] = field(default_factory=dict)
    cleanup: Mapping[str, Any] = field(default_factory=dict)
    wheels: Wheels = Wheels()  # noqa: RUF009 - frozen
    steam: Steam = Steam()  # noqa: RUF009 - frozen
    note: str = ""
    text: str = ""
    taken: Mapping[tuple[str, ...], Taken] = field(default_factory=dict)
    records: Mapping[tuple[str, ...], Record] = field(default_factory=dict)
    repairs: Mapping[str, Repair] = field(default_factory=dict)

    @property
    def state_names(self) -> tuple[str, ...]:
        """The drawing and every named state."""
        return (DRAWING, *self.states)

    @property
    def sides(self) -> tuple[str, ...]:
        """Its sides by name, as the gear's class has them: left and right, or the one cylinder that there is."""
        return self.gear_type.sides  # type: ignore[no-any-return]

    def tables(self, state: str = DRAWING, side: str | None = None) -> dict[str, dict[str, Any]]:
        """The figures of one side in one state, table by table.

        Parameters
        ----------
        state, side : str
            The drawing or a state by its name; one of ``sides``, the first of them unless given.

        Returns
        -------
        dict of dicts
            Table and key to the figure: lengths mm, angles degrees. Keys that no layer gives are not there.

        Raises
        ------
        KeyError
            No such state or side.
        """
        side, merged = one_of(side, self.sides), {table: dict(keys) for table, keys in self.drawing.items()}
        for name in self.lineage(state):
            if self.states[name].set_afresh:
                ruled = {key: self.drawing["valve"][key] for key in ("set_by", "set_in")}
                merged["valve"] = layered(merged["valve"], ruled, table_types(self.gear_type)["valve"])
            for layer in (BOTH, side):
                for table, keys in self.states[name].layers.get(layer, {}).items():
                    merged[table] = layered(merged.get(table, {}), keys, table_types(self.gear_type)[table])
        return merged

    def lineage(self, state: str) -> list[str]:
        """States from the first based on the drawing to the one asked for.

        Parameters
        ----------
        state : str
            By its name (KeyError where there is none such); of the drawing there are none.
        """
        chain: list[str] = []
        name: str | None = None if state == DRAWING else state
        while name is not None:
            chain.append(name)
            name = self.states[name].based_on
        return chain[::-1]

    def layer_of(self, table: str, state: str, side: str) -> tuple[str, ...]:
        """Path in the file of the latest layer that says something of a table.

        Parameters
        ----------
        table, state, side : str
            As in an engine file, such as ``"eccentric_rod"``; the state; the side.

        Returns
        -------
        tuple of str
            ``("state", name, "both" or the side)``; () where the drawing's holds.
        """
        for name in reversed(self.lineage(state)):
            for layer in (side, BOTH):
                if table in self.states[name].layers.get(layer, {}):
                    return ("state", name, layer)
        return ()

    def gear(self, state: str = DRAWING, side: str | None = None) -> Gear:
        """The gear of one side in one state.

        Parameters
        ----------
        state, side : str
            As for :meth:`tables`.

        Raises
        ------
        MissingFigure
            A small table lacks a figure.
        """
        tables = self.tables(state, side)
        parts = {name: made(kind, tables.get(name, {})) for name, kind in table_types(self.gear_type).items()}
        return self.gear_type(**parts)  # type: ignore[no-any-return]

    def condition(self, state: str = DRAWING, side: str | None = None) -> Condition:
        """What the gauge found on one side in one state, laid over what it is based on.

        The die's length, where it matters and no state gives it, is that of the [cleanup] table.

        Parameters
        ----------
        state, side : str
            As for :meth:`tables`.
        """
        side, found = one_of(side, self.sides), dict(self.wear)
        for name in self.lineage(state):
            for layer in (BOTH, side):
                for key, value in self.states[name].wear.get(layer, {}).items():
                    found[key] = {**found[key], **value} if isinstance(value, dict) and key in found else value
        if (found.get("slot") or found.get("twist")) and "die_length" in self.cleanup:
            found.setdefault("die_length", self.cleanup["die_length"])
        return Condition(**found)

    def side_state(self, state: str = DRAWING, side: str | None = None) -> SideState:
        """One side in one state, ready to be turned.

        A notch given by a die height is a notch of the rack: its arm angle is found on the drawing
        and holds in every state, unless the state gives that notch itself.

        Parameters
        ----------
        state, side : str
            As for :meth:`tables`.

        Raises
        ------
        MissingFigure
            As :meth:`gear`.
        """
        side, gear = one_of(side, self.sides), self.gear(state, side)
        own = {
            notch
            for name in self.lineage(state)
            for layer in (BOTH, side)
            for notch in self.states[name].layers.get(layer, {}).get("reversing", {}).get("notches", {})
        }
        placed = self._placed_in(state, side)
        last_set = None if placed == state else self.side_state(placed, side)
        return SideState(side, state, gear, self.gear(), frozenset(own), self.condition(state, side), last_set)

    def _placed_in(self, state: str, side: str) -> str:
        """The latest state that says where the valve of a side is on its spindle, or the drawing."""
        for name in reversed(self.lineage(state)):
            own = self.states[name]
            said = (own.layers.get(layer, {}).get("valve", {}) for layer in (BOTH, side))
            if own.set_afresh or any({"central_at", "set_by"} & set(keys) for keys in said):
                return name
        return DRAWING
