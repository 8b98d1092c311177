"""The side elevation of an engine as assessed: where all stands at a notch and crank angle, and where the steam is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from linkmotion.elevation.outlines import number
from linkmotion.elevation.paths import Given, Paths
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.elevation.slotted_link import reach_of
from linkmotion.elevation.valve_shape import space_of
from linkmotion.engine import Engine
from linkmotion.events import FORWARD
from linkmotion.studies.assess import SideEvents
from linkmotion.valve import ENDS

_SOON = 1e-4  # radians: by where the piston is so much later it is seen which way it goes


@dataclass(frozen=True, eq=False)
class Standing:
    """How a side stands at one moment.

    Attributes
    ----------
    places : dict
        Where every pin stands, and whatever else bodies are placed by, complex mm.
    spaces : dict
        What is in each end of the cylinder, by end.
    displacement : float
        Of the valve from central, its play in motion, mm, + forward.
    overrun : float
        By how much the die stands beyond the end of its slot, mm; 0 where it does not.
    """

    places: dict[str, complex]
    spaces: dict[str, str]
    displacement: float
    overrun: float


def elevation_of(side: SideEvents, engine: Engine | None = None, like: Elevation | None = None) -> Elevation:
    """The drawing of a side; wheel, bore and the like as the engine's file gives them, else in proportion.

    With ``like`` cylinder and ports stand where another drawing of the engine has them, to be laid over it.
    """
    low, high = side.motion.extremes
    reach = float(max(np.max(high) - side.central_at, side.central_at - np.min(low)))
    reach += float(np.max(side.lost)) / 2 if side.has_play else 0.0
    given = Given() if engine is None else given_by(engine)
    turned = side.motion.solution
    paths = Paths.of(side.gear, turned, side.notches, side.settings, float(side.central_at), reach, given)
    return Elevation.of(paths, like)


def given_by(engine: Engine) -> Given:
    """Sizes that an engine's file gives beside its gear."""
    figures = [
        engine.wheels.diameter,
        engine.steam.bore,
        engine.steam.piston_rod,
        engine.cleanup.get("slot_width"),
        engine.cleanup.get("die_length"),
    ]
    return Given(*(None if figure is None else float(figure) for figure in figures))


def standing_at(
    elevation: Elevation, side: SideEvents, notch: int, crank_angle: float, direction: str = FORWARD
) -> Standing:
    """How a side stands in a notch at a crank angle, degrees in the direction of running.

    Raises
    ------
    LinkageError
        The parts do not meet there.
    """
    way, turn = 1 if direction == FORWARD else -1, np.radians(crank_angle)
    valve = float(side.valve_at(notch, turn, direction))
    alone = float(side.displacement[notch](way * turn))
    gone, soon = (float(side.gear.crank.fraction(way * (turn + by))) for by in (0.0, _SOON))
    spaces = {end: space_of(side.ports, end, valve, toward=(end == "back") == (soon > gone)) for end in ENDS}
    places = elevation.places(notch, way * crank_angle, valve - alone)
    return Standing(places, spaces, valve, overrun(elevation, places))


def overrun(elevation: Elevation, places: Mapping[str, complex]) -> float:
    """By how much the die stands beyond the end of its slot, mm; 0 where it does not, or there is none."""
    link = next((body for body in elevation.bodies if body.kind == "link"), None)
    slot = elevation.paths.gear.slot
    if link is None or slot is None:
        return 0.0
    origin, turn = link.follows.place(places)
    place = number(slot.place_of((places[slot.die] - origin) / turn))
    low, high = reach_of(slot)
    return max(place - high, low - place, 0.0)
