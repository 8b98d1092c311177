"""An engine: one drawing, its sides, and named states layered over the drawing.

A state holds only what differs. Its figures are laid over the drawing in the order of :meth:`Engine.layers`. The
result is a gear, complete, for that side.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from linkmotion.engine_layers import DRAWING as DRAWING
from linkmotion.engine_layers import Layer, Tables, Where, layer_at
from linkmotion.engine_layers import State as State
from linkmotion.gears import Gear
from linkmotion.gears.layering import layered, made, table_types
from linkmotion.gears.steam import Steam, Wheels
from linkmotion.measuring.taken import Taken
from linkmotion.record import Record
from linkmotion.repair import Repair
from linkmotion.side_state import AS_IT_STANDS as AS_IT_STANDS
from linkmotion.side_state import IN_SERVICE as IN_SERVICE
from linkmotion.side_state import SET_AFRESH as SET_AFRESH
from linkmotion.side_state import STANDINGS as STANDINGS
from linkmotion.side_state import SideState as SideState
from linkmotion.sides import BOTH, one_of
from linkmotion.targets import Targets as Targets
from linkmotion.wear.condition import Condition


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
    sides_drawn : dict of tables
        What the drawing has of its own for one side, by the side's name.
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
    sides_drawn: Mapping[str, Tables] = field(default_factory=dict)
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

    @property
    def sides_apart(self) -> tuple[str, ...]:
        """Sides whose drawings are told one by one: the first alone, where it stands for every one."""
        return self.sides if self.sides_drawn else self.sides[:1]

    def layers(self, state: str = DRAWING, side: str | None = None) -> list[Layer]:
        """What is laid over what for one side in one state, the drawing first.

        Parameters
        ----------
        state, side : str
            The drawing or a state by its name; one of ``sides``, the first of them unless given.

        Raises
        ------
        KeyError
            No such state or side.
        """
        side = one_of(side, self.sides)
        found = [Layer((), self.drawing, self.wear), Layer(layer_at(DRAWING, side), self.sides_drawn.get(side, {}))]
        for name in self.lineage(state):
            own = self.states[name]
            if own.set_afresh:
                drawn = self.tables(DRAWING, side)["valve"]
                found.append(Layer(("state", name), {"valve": {key: drawn[key] for key in ("set_by", "set_in")}}))
            found += [
                Layer(layer_at(name, each), own.layers.get(each, {}), own.wear.get(each, {})) for each in (BOTH, side)
            ]
        return found

    def tables(self, state: str = DRAWING, side: str | None = None) -> dict[str, dict[str, Any]]:
        """The figures of one side in one state, table by table.

        Parameters
        ----------
        state, side : str
            As for :meth:`layers`.

        Returns
        -------
        dict of dicts
            Table and key to the figure: lengths mm, angles degrees. Keys that no layer gives are not there.

        Raises
        ------
        KeyError
            No such state or side.
        """
        merged: dict[str, dict[str, Any]] = {}
        for layer in self.layers(state, side):
            for table, keys in layer.tables.items():
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

    def layer_of(self, path: Where, state: str, side: str) -> Where:
        """Path in the file of the latest layer that says something of a table or key.

        Parameters
        ----------
        path, state, side : tuple of str, str, str
            Such as ``("eccentric_rod", "length")``; the state; the side.

        Returns
        -------
        tuple of str
            As :attr:`.engine_layers.Layer.where`; () where the drawing's own tables hold.
        """
        return next((own.where for own in reversed(self.layers(state, side)) if own.gives(path)), ())

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
        found: dict[str, Any] = {}
        for layer in self.layers(state, side):
            for key, value in layer.wear.items():
                found[key] = {**found[key], **value} if isinstance(value, dict) and key in found else value
        if (found.get("slot") or found.get("twist")) and "die_length" in self.cleanup:
            found.setdefault("die_length", self.cleanup["die_length"])
        return Condition(**found)

    def side_state(self, state: str = DRAWING, side: str | None = None) -> SideState:
        """One side in one state, ready to be turned.

        A notch given by a die height is a notch of the rack: its arm angle is found on the side as
        drawn and holds in every state, unless the state gives that notch itself.

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
        layers = self.layers(state, side)
        own = {
            notch
            for layer in layers
            if layer.state != DRAWING
            for notch in layer.tables.get("reversing", {}).get("notches", {})
        }
        placed = next(
            (each.state for each in reversed(layers) if {"central_at", "set_by"} & set(each.tables.get("valve", {}))),
            DRAWING,
        )
        last_set = None if placed == state else self.side_state(placed, side)
        rack = self.gear(DRAWING, side)
        return SideState(side, state, gear, rack, frozenset(own), self.condition(state, side), last_set)
