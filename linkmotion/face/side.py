"""One side of an engine in one state, with what can be asked of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from linkmotion.engine import AS_IT_STANDS, IN_SERVICE, SET_AFRESH, SideState
from linkmotion.engine import Engine as EngineAsRead
from linkmotion.events import DIRECTIONS
from linkmotion.face.dimensions import Change, changed, clearances, dimension_rows, figure_of
from linkmotion.face.names import known_side
from linkmotion.face.notched import NotchedSide
from linkmotion.face.tables import Table, one_line, table
from linkmotion.gears.sensitivity import with_numbers
from linkmotion.sides import side_words
from linkmotion.studies.assess import Assessment, SideEvents, afresh_at, assess_side, place_of

if TYPE_CHECKING:
    from linkmotion.face.slot import SlotCleanUp
    from linkmotion.face.tolerances import Held
    from linkmotion.face.wear import Wear


@dataclass(frozen=True, eq=False, repr=False)
class Side(NotchedSide):
    """One side of an engine in one state; lengths in the engine file's unit.

    Attributes
    ----------
    engine : linkmotion.engine.Engine
        As read from its file.
    setup : SideState
        The gear, the reverser's positions, and what the gauge found.
    changes : dict
        What was changed of it (:meth:`change`), as written.
    standing : str
        "as it stands": cold, its play in motion, the valve where it is on its spindle; "set afresh"
        (:meth:`set_afresh`) or "in service" (:meth:`in_service`).

    Examples
    --------
    >>> import linkmotion as lm
    >>> left = lm.read_engine("examples/dock_shunter.toml")["as found"].left
    >>> left["full forward"]
    <Notch 'full forward': running forward, front lead 0.02598 in, cutoff 76.4 %, back lead 0.1531 in, cutoff 79.1 %>
    >>> f"{left.set_afresh()['full forward'].front.cutoff:.1f} percent of the stroke"
    '78.0 percent of the stroke'
    """

    engine: EngineAsRead
    setup: SideState
    changes: Mapping[str, Change]
    standing: str = AS_IT_STANDS

    @property
    def name(self) -> str:
        """Which side: "left", "right", or the one cylinder's name."""
        return self.setup.side

    @property
    def state(self) -> str:
        """Name of its state."""
        return self.setup.state

    @property
    def unit(self) -> str:
        """Of every length: the engine file's."""
        return self.engine.unit

    @property
    def moved_by_setting(self) -> float:
        """By how much the valve moves on its spindle, + ahead, when it is set afresh by its rule."""
        return (place_of(self.setup) - afresh_at(self.setup)) / self._scale

    @property
    def notches(self) -> tuple[str, ...]:
        """Names of the reverser's positions, in file order."""
        return tuple(self.setup.notches)

    @cached_property
    def assessed(self) -> SideEvents:
        """The side turned in every notch: series, events, lost motion (mm and degrees).

        Raises
        ------
        NotchError
            A notch in which the gear cannot pass some crank angle.
        """
        return assess_side(self.setup, standing=self.standing)

    def events(self, *, both_directions: bool = False) -> Table:
        """Every notch and end as a table.

        Parameters
        ----------
        both_directions : bool
            Whether every notch is looked at in both; else in those in which it drives.
        """
        from linkmotion.files.results import in_unit
        from linkmotion.studies.table import COLUMNS, event_rows

        wanted = (lambda _side, _notch: DIRECTIONS) if both_directions else SideEvents.driven
        rows = in_unit(event_rows(Assessment(self.engine, self.state, (self.assessed,)), wanted), self.unit)
        units = {"length": self.unit, "percent": "% of stroke", "angle": "degrees", "words": ""}
        return table(f"{self._title}: events", {column.key: units[column.kind] for column in COLUMNS}, rows)

    def dimensions(self) -> Table:
        """Every length and angle given, by the key that :meth:`change` takes, with its meaning."""
        rows = dimension_rows(self.setup.gear, self.unit)
        return table(f"{self._title}: dimensions", {"dimension": "", "figure": "", "unit": "", "meaning": ""}, rows)

    def dimension(self, name: str) -> float:
        """A length (in the file's unit) or an angle (degrees).

        Parameters
        ----------
        name : str
            Its key, such as ``"eccentric_rod.length"``.

        Raises
        ------
        UnknownName
            No such dimension; the nearest is told.
        """
        return figure_of(self.setup.gear, name, self.unit)

    def change(self, changes: Mapping[str, Change]) -> Side:
        """The side with some dimensions changed; its valve stays where it is on its spindle.

        Parameters
        ----------
        changes : dict
            Dimension → figure: a text with a sign before it is that much more or less (``"+1/16 in"``); a number (in
            the file's unit, or degrees), or a text without a sign, is the new figure.

        Raises
        ------
        UnknownName
            No such dimension; the nearest is told.
        ValueError
            A figure that cannot be read, or that the gear cannot have.
        """
        if not isinstance(changes, Mapping):
            raise TypeError(f"read {changes!r}; a dict of dimensions is wanted: {{'eccentric_rod.length': '+1/16 in'}}")
        gear = with_numbers(self.setup.gear, changed(self.setup.gear, changes, self.unit))
        for fault in gear.faults():
            raise ValueError(f"{fault.table}.{fault.key}: {fault.problem}; {fault.remedy}")
        return replace(self, setup=self.setup.altered(gear), changes={**self.changes, **changes})

    def with_clearance(self, clearance: Change | Mapping[str, Change]) -> Side:
        """The side with clearances at its pins; what else is worn stays.

        Parameters
        ----------
        clearance : number, text or dict
            Diametral, the same at every pin (``"0.010 in"``, or a number in the file's unit); or pin → clearance.

        Raises
        ------
        UnknownName
            No such pin; the nearest is told.
        ValueError
            A clearance that cannot be read.

        Examples
        --------
        >>> import linkmotion as lm
        >>> left = lm.read_engine("examples/dock_shunter.toml")["drawing"].left
        >>> f"{left.with_clearance('0.010 in')['mid'].lost_motion:.3f} in"
        '0.061 in'
        """
        found = clearances(self.setup.gear, clearance, self.unit)
        condition = self.setup.condition
        worn = self.setup.altered(condition=replace(condition, clearance={**condition.clearance, **found}))
        told = {f"clearance at the {pin}": f"{size:g} mm" for pin, size in found.items()}
        return replace(self, setup=worn, changes={**self.changes, **told})

    @property
    def clearances(self) -> dict[str, float]:
        """Pin → diametral clearance as the gauge found it."""
        return {pin: float(size) / self._scale for pin, size in self.setup.condition.clearance.items()}

    def set_afresh(self) -> Side:
        """The side with its valve set by the drawing's rule (``set_by``) as the gear now stands.

        Raises
        ------
        ValueError
            The drawing gives the valve's place and no rule.
        """
        if self.setup.rule is None:
            raise ValueError("the drawing gives no rule to set the valve by: give set_by and set_in in [valve]")
        return replace(self, standing=SET_AFRESH)

    def in_service(self) -> Side:
        """The side warm, its valve where it stands.

        Raises
        ------
        ValueError
            The state gives no heat.
        """
        if not any(self.setup.condition.heat.values()):
            raise ValueError(f"{self.state}: no heat is given: rods, spindle or frame in [wear] heat, kelvin")
        return replace(self, standing=IN_SERVICE)

    def wear(self) -> Wear:
        """What is not as drawn on this side, ranked by what it does to the valve events.

        Raises
        ------
        ValueError
            Of a side that was changed here: it is the state's own wear that is weighed.
        """
        from linkmotion.face.wear import wear_of

        return wear_of(self)

    def hold(
        self, *notches: str, samples: int = 10_000, seed: int = 1, tolerances: Any = None, setting: bool = True
    ) -> Held:
        """Spread of the events over gears made to tolerances, and how many keep every target.

        Parameters
        ----------
        notches : str
            Those looked at; all unless given.
        samples, seed : int
            Gears made at random.
        tolerances : dict, optional
            Instead of the file's [tolerances], laid out alike; general workshop tolerances where neither says.
        setting : bool
            Whether the gears are set too, by the file's [adjustments]: what is left stands beside what they are as
            made.

        Raises
        ------
        UnknownName
            No such notch.
        FileError
            A tolerance that cannot be used: with its key and remedy.
        """
        from linkmotion.face.tolerances import held

        return held(self, notches, samples, seed, tolerances, setting)

    def clean_up(self, readings: Mapping[str, Any] | None = None, **figures: Any) -> SlotCleanUp:
        """How to clean up the link's worn slot, from depth readings along its faces.

        Parameters
        ----------
        readings : dict, optional
            ``"at"`` (places along the slot from its middle, + up), ``"front"`` and ``"back"`` (metal lost there), as
            sequences of numbers in the file's unit or of texts; the state's own readings unless given.
        **figures
            Stand instead of those of the file's [cleanup] table: ``slot_width="1 3/4 in"`` and so on.

        Raises
        ------
        ValueError
            No readings, no slot_width or gauge, or readings that cannot be used.
        """
        from linkmotion.face.slot import clean_up

        return clean_up(self, readings, figures)

    @property
    def _title(self) -> str:
        place = f"{self.engine.name}, {self.state}, {self.standing}, {side_words(self.name)}"
        return place + ", changed" * bool(self.changes)

    def __repr__(self) -> str:
        """In one line."""
        notches = self.notches if len(self.notches) < 3 else (self.notches[0], "…", self.notches[-1])
        told = [repr(self.engine.name), f"{self.state}, {self.standing}"]
        told.append(f"{len(self.notches)} notches: {' '.join(notches)}")
        if self.changes:
            told.append(f"changed: {', '.join(f'{name} {by}' for name, by in self.changes.items())}")
        return one_line("Side", self.name, told)

    def _repr_html_(self) -> str:
        return self.events()._repr_html_()


def side_of(engine: EngineAsRead, state: str, side: str) -> Side:
    """A side of an engine in a state.

    Parameters
    ----------
    engine : linkmotion.engine.Engine
        As read.
    state, side : str
        By name; one of the engine's (else UnknownName).
    """
    return Side(engine, engine.side_state(state, known_side(side, engine.sides)), {})
