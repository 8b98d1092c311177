"""The drawing on the telephone's page: drawn once, placed for each reading, with rings where the reading is taken."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from linkmotion.elevation.side_elevation import Elevation
from linkmotion.elevation.steam_side import VALVE
from linkmotion.engine import Engine
from linkmotion.gears.frame import CROSSHEAD_PIN
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.side_drawing import Standing, elevation_of, standing_at
from linkmotion.valve import ENDS
from linkmotion.views.elevation_svg import CLASSES, groups, view_box
from linkmotion.views.moving.drawn import valve_box
from linkmotion.views.phone.asked_for import Screen
from linkmotion.views.phone.marks_asked_for import MARK

_ABOUT_DIE = 1.1  # crank radii each way from the die: what is seen of it, or of a crosshead, nearer by


def pictures(engine: Engine, sides: Mapping[str, SideEvents], asked_for: Iterable[Screen]) -> dict[str, Any]:
    """The drawing of the first side, and how each side's own gear stands for each screen.

    Parameters
    ----------
    engine, sides, asked_for
        As read; each side's events, by its name; the screens.

    Returns
    -------
    dict
        ``svg`` groups as :mod:`~linkmotion.views.elevation_svg` has them; ``box`` and ``near`` SVG view boxes, of the
        whole and of the chest; ``pins`` names; ``stands`` by number: ``at`` x and y of each pin, mm, ``lag`` of the
        valve, ``holds`` what is in each end; ``seen`` a list for each screen: number of its stand, places of its rings
        ([x, y] mm, y up), and view box of what is seen nearer by.
    """
    like = {name: next(n for n, other in sides.items() if other.motion is own.motion) for name, own in sides.items()}
    elevations = {name: elevation_of(sides[name], engine) for name in dict.fromkeys(like.values())}
    elevation = next(iter(elevations.values()))
    stands: dict[tuple[str, int, str, float], tuple[int, Standing]] = {}
    seen = []
    for screen in asked_for:
        wheel, side = screen.wheel, like[screen.side]
        key = (side, wheel.notch, wheel.direction, round(wheel.angle, 2))
        if key not in stands:
            stands[key] = (
                len(stands),
                standing_at(elevations[side], sides[side], wheel.notch, wheel.angle, wheel.direction),
            )
        number, standing = stands[key]
        rings = [_xy(place) for place in _rings(elevations[side], standing, screen)]
        seen.append([number, rings, _near(elevation, rings[0], screen)])
    kept = [standing for _number, standing in stands.values()]
    riders = {rider.name for rider in elevation.riders}
    pins = [name for name in kept[0].places if name not in riders and name != VALVE]
    return {
        "svg": groups(elevation, kept[0].places, kept[0].spaces),
        "box": view_box(elevation),
        "pins": pins,
        "stands": [_stand(elevation, standing, pins) for standing in kept],
        "seen": seen,
    }


def _stand(elevation: Elevation, standing: Standing, pins: list[str]) -> dict[str, Any]:
    section = elevation.section
    spindle = elevation.paths.names[elevation.paths.valve_guide.pin]
    lag = (standing.places[VALVE] - standing.places[spindle]) / section.along
    return {
        "at": [figure for pin in pins for figure in _xy(standing.places[pin])],
        "lag": round(lag.real, 2),
        "holds": {end: CLASSES[standing.spaces[end]] for end in ENDS},
    }


def _rings(elevation: Elevation, standing: Standing, screen: Screen) -> list[complex]:
    """Where a reading is taken: first where it is looked at nearer by."""
    slot = elevation.paths.gear.slot
    if screen.own.kind == "die height" and slot is not None:
        return [standing.places[slot.die]]
    if screen.own.kind == MARK:
        return [standing.places[CROSSHEAD_PIN]]
    section = elevation.section
    chest = section.chest
    port, _valve = chest.valve.steam_edges(screen.end)
    edge = section.ports_at + section.along * chest.own(port, -chest.face)
    return [edge, standing.places[CROSSHEAD_PIN]] if screen.own.kind == "cutoff" else [edge]


def _near(elevation: Elevation, ring: list[float], screen: Screen) -> str:
    if screen.own.kind not in ("die height", MARK):
        return valve_box(elevation)
    reach = _ABOUT_DIE * elevation.paths.r
    return f"{ring[0] - 1.6 * reach:.1f} {-ring[1] - reach:.1f} {3.2 * reach:.1f} {2 * reach:.1f}"


def _xy(place: complex) -> list[float]:
    return [round(place.real, 1), round(place.imag, 1)]
