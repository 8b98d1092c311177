"""One notch of one side in one direction, and its two ends."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from linkmotion.events import EVENTS, EndEvents
from linkmotion.face.tables import one_line
from linkmotion.files.lengths import UNITS
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.row_figures import plain

if TYPE_CHECKING:
    from linkmotion.face.in_motion import InMotion

END_FIGURES = ("lead", *EVENTS, "opening", "over_travel")
OWN_FIGURES = ("travel", "die_slip", "die_stroke", "link_swing", "lost_motion")
FIGURES = (*(f"{end}.{figure}" for end in ("front", "back") for figure in END_FIGURES), *OWN_FIGURES)
"""What can be asked of a notch, by name."""


def kind_of_figure(name: str) -> str:
    """Whether a figure of a notch is a "length", an "angle" (degrees) or "percent" of the stroke.

    Parameters
    ----------
    name : str
        One of :data:`FIGURES`.
    """
    last = name.rpartition(".")[2]
    return "percent" if last in EVENTS else "angle" if last == "link_swing" else "length"


@dataclass(frozen=True, repr=False)
class End:
    """One end of the cylinder: lengths in the engine file's unit, events in percent of that end's stroke.

    Attributes
    ----------
    name : str
        "front" or "back".
    lead, opening, over_travel : float
        Steam opening at the dead centre (negative: blind); greatest, not more than the port; edge past that.
    admission, cutoff, release, compression : float or None
        Percent of the stroke from the end's own dead centre; None where the event does not happen.
    angles : dict
        Event → crank angle from the end's own dead centre in the direction of running, degrees, or None.
    remarks : tuple of str
        Ports that never open, open twice, or just touch.
    """

    name: str
    unit: str
    lead: float
    admission: float | None
    cutoff: float | None
    release: float | None
    compression: float | None
    opening: float
    over_travel: float
    angles: dict[str, float | None]
    remarks: tuple[str, ...]

    @classmethod
    def of(cls, name: str, events: EndEvents, notch: int, unit: str) -> End:
        """One notch of an end's events.

        Parameters
        ----------
        name : str
            "front" or "back".
        events : EndEvents
            Of that end in all notches, mm.
        notch : int
            Its number.
        unit : str
            Of the lengths in the result.
        """
        scale = float(UNITS[unit])
        told = tuple(f"{flow} port {said[notch]}" for flow, said in events.missing.items() if said[notch])
        at = {event: plain(events.percent[event][notch]) for event in EVENTS}
        return cls(
            name=name,
            unit=unit,
            lead=float(events.lead[notch]) / scale,
            admission=at["admission"],
            cutoff=at["cutoff"],
            release=at["release"],
            compression=at["compression"],
            opening=float(events.opening[notch]) / scale,
            over_travel=float(events.over_travel[notch]) / scale,
            angles={event: plain(events.angle[event][notch]) for event in EVENTS},
            remarks=told,
        )

    def __repr__(self) -> str:
        """In one line."""
        events = [f"{event} {'never' if at is None else f'{at:.1f} %'}" for event, at in self._events]
        return one_line("End", self.name, [f"lead {self.lead:.4g} {self.unit}", *events])

    @property
    def _events(self) -> list[tuple[str, float | None]]:
        return [(event, getattr(self, event)) for event in EVENTS]


@dataclass(frozen=True, repr=False)
class Notch:
    """A notch of a side as it runs in one direction; lengths in the engine file's unit.

    Attributes
    ----------
    side : SideEvents
        As assessed.
    number : int
        Of the notch among the side's.
    direction : str
        "forward" or "backward".
    unit : str
        Of its lengths.
    """

    side: SideEvents
    number: int
    direction: str
    unit: str

    @property
    def name(self) -> str:
        """Of the notch."""
        return self.side.notches[self.number]

    @property
    def drives(self) -> str:
        """Direction in which the notch drives the engine: "forward", "backward", or "both" near mid gear."""
        return self.side.drives[self.number]

    @property
    def front(self) -> End:
        """The front end of the cylinder."""
        return End.of("front", self.side.events[self.direction]["front"], self.number, self.unit)

    @property
    def back(self) -> End:
        """The back end of the cylinder."""
        return End.of("back", self.side.events[self.direction]["back"], self.number, self.unit)

    @property
    def travel(self) -> float:
        """Travel of the valve."""
        return float(self.side.travel[self.direction][self.number]) / self.scale

    @property
    def die_reach(self) -> tuple[float, float] | None:
        """Lowest and highest place of the die along the slot from its middle; None where there is no link."""
        if self.side.gear.slot is None:
            return None
        low, high = (float(reach[self.number]) / self.scale for reach in self.side.motion.die_reach)
        return low, high

    @property
    def die_slip(self) -> float | None:
        """Movement of the die along the link's slot in one revolution; None where there is no link."""
        return self._along_slot(works=False)

    @property
    def die_stroke(self) -> float | None:
        """Movement of the die along the slide that the reverser tilts, by which the gear works; None where none is."""
        return self._along_slot(works=True)

    def _along_slot(self, works: bool) -> float | None:
        slot, reach = self.side.gear.slot, self.die_reach
        return None if slot is None or reach is None or slot.works != works else reach[1] - reach[0]

    @property
    def link_swing(self) -> float | None:
        """Swing of the link, degrees; None where there is no link."""
        slot = self.side.gear.slot
        return None if slot is None or slot.works else float(self.side.motion.link_swing[self.number])

    @property
    def lost_motion(self) -> float:
        """Greatest free movement of the spindle round the wheel."""
        return float(self.side.lost[self.number].max()) / self.scale

    def in_motion(self, *, drag: float = 1.0, mass: float = 0.0, revolutions: float = 0.0) -> InMotion:
        """The notch in motion with the play of a worn gear: dragged after it, or thrown ahead of it.

        Parameters
        ----------
        drag : float
            Friction of valve and spindle against motion, N.
        mass : float
            Moving mass of valve and spindle, kg.
        revolutions : float
            Of the wheel per minute.

        Raises
        ------
        ValueError
            One of them is negative or no number.
        """
        from linkmotion.face.in_motion import in_motion_of

        return in_motion_of(self, drag, mass, revolutions)

    def figure(self, name: str) -> float | None:
        """A figure by its name.

        Parameters
        ----------
        name : str
            Such as ``"front.lead"`` or ``"travel"``.

        Returns
        -------
        float or None
            In the unit of the notch, degrees or percent of the stroke; None where it does not occur.

        Raises
        ------
        UnknownName
            No such figure; the nearest is told.
        """
        from linkmotion.face.names import known

        found: Any = self
        for step in known("figure", name, FIGURES).split("."):
            found = getattr(found, step)
        return found  # type: ignore[no-any-return]

    @property
    def scale(self) -> float:
        """Millimetres in its unit."""
        return float(UNITS[self.unit])

    def __repr__(self) -> str:
        """In one line."""
        ends = [f"{end.name} lead {end.lead:.4g} {self.unit}" for end in (self.front, self.back)]
        cuts = [f"cutoff {'never' if end.cutoff is None else f'{end.cutoff:.1f} %'}" for end in (self.front, self.back)]
        told = [f"{lead}, {cut}" for lead, cut in zip(ends, cuts, strict=True)]
        return one_line("Notch", self.name, [f"running {self.direction}", *told])
