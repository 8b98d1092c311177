"""The figures of a gear scaled off an image: each with its doubt, what does not fit, and how the gear stands in it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from linkmotion.elevation.outlines import number
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.gears import Gear
from linkmotion.gears.frame import CRANK
from linkmotion.gears.letters import letters
from linkmotion.gears.reverser import Arm, ReverserPosition
from linkmotion.gears.sensitivity import Key, declared
from linkmotion.linkage import Wheel, solve
from linkmotion.linkage.parts import Crank
from linkmotion.measuring.picked import Adjusted, adjusted
from linkmotion.measuring.picks import KnownFigure, KnownLength, KnownPlace, KnownWay, Picks
from linkmotion.measuring.plane_of_image import PlaneOfImage, through
from linkmotion.measuring.taken import DEGREES, MM
from linkmotion.studies.picked_parts import PickedParts, seen

SURE_SCALE, SURE_WAY = 0.05, 0.1  # of the scale, radians: standard deviations that are no scale and no level any more
STRAINED = 3.3  # standard deviations: one in a thousand by chance (common practice of surveying)
_AS_DRAWN = {MM: 1e-3, DEGREES: 1e-4}  # how near a figure is held that is taken from the drawing


class PictureError(ValueError):
    """What was put on the image does not tell enough: in words, and what to do."""

    def __init__(self, problem: str, remedy: str) -> None:
        super().__init__(problem)
        self.problem, self.remedy = problem, remedy


@dataclass(frozen=True)
class ScaledFigure:
    """A figure scaled off.

    Attributes
    ----------
    key, letter : (table, key), str
        Of the engine file; as on sheets.
    unit : str
        "mm" or "degrees".
    value, doubt : float
        What the image says, and its doubt, 19 in 20.
    drawn : float
        What the drawing has.
    """

    key: Key
    letter: str
    unit: str
    value: float
    doubt: float
    drawn: float

    @property
    def differs(self) -> bool:
        """Whether the drawing's figure lies outside the doubt."""
        return abs(self.value - self.drawn) > self.doubt


@dataclass(frozen=True, eq=False)
class ScaledOff:
    """What an image says of a gear.

    Attributes
    ----------
    parts, picks : PickedParts, Picks
        Of what it was worked out.
    found : Adjusted
        The whole estimate.
    as_drawn : tuple of (table, key)
        Figures that were taken from the drawing, since one position of the gear cannot tell them.
    """

    parts: PickedParts
    picks: Picks
    found: Adjusted
    as_drawn: tuple[Key, ...]

    @cached_property
    def figures(self) -> tuple[ScaledFigure, ...]:
        """The figures that the image tells, in the order of their letters."""
        own = {figure.key: figure for figure in self._all() if self._told[figure.key]}
        return tuple(own[key] for key in letters(type(self.parts.gear)) if key in own)

    @cached_property
    def untold(self) -> tuple[ScaledFigure, ...]:
        """Figures that this image does not tell."""
        known = {self.parts.keys[each.number] for each in self.picks.known if isinstance(each, KnownFigure)}
        return tuple(f for f in self._all() if not self._told[f.key] and f.key not in {*self.as_drawn, *known})

    @cached_property
    def _told(self) -> dict[Key, bool]:
        every = list(self._all())
        crank = self.parts.elevation.paths.r
        told = seen([f.value for f in every], [f.doubt for f in every], [f.unit == DEGREES for f in every], crank)
        given = {each.number for each in self.picks.known if isinstance(each, KnownFigure)}
        return {f.key: own and f.key not in self.as_drawn and at not in given
                for at, (f, own) in enumerate(zip(every, told, strict=True))}  # fmt: skip

    def _all(self) -> Iterator[ScaledFigure]:
        gear = self.parts.gear
        named = letters(type(gear))
        for at, key in enumerate(self.parts.keys):
            unit = DEGREES if declared(gear, key)["kind"] == "angle" else MM
            value, doubt = float(self.found.figures[at]), self.found.doubt(at)
            yield ScaledFigure(key, named.get(key, ""), unit, value, doubt, float(self.parts.drawn[at]))

    @property
    def strained(self) -> list[tuple[str, float]]:
        """Points and things known that do not fit the rest, the worst first: name, standard deviations."""
        found = [(name, by) for name, by in self.found.strain.items() if by > STRAINED]
        return sorted(found, key=lambda each: -each[1])

    @property
    def unchecked(self) -> list[str]:
        """Points of which nothing else would show that they were put wrong."""
        return [name for name in self.picks.points if name not in self.found.strain]

    def stands(self, gear: Gear, setting: ReverserPosition, by: float = 0.0) -> dict[str, complex]:
        """Where a gear's pins stand with crank and reversing arm as in the image, mm.

        Parameters
        ----------
        gear, setting
            The gear, with the figures scaled off; the reverser where the image does not show its arm.
        by : float
            By how much the wheel is turned on from there, degrees, as when running forward: clockwise.

        Raises
        ------
        LinkageError
            The parts do not meet there.
        """
        arm = self.parts.elevation.paths.reversing_arm
        if arm is not None and arm[0] in self.found.poses and isinstance(setting, Arm):
            setting = Arm(float(np.degrees(np.angle(self.found.poses[arm[0]][1]))))
        linkage = gear.declare(setting)
        crank = next(p for p in linkage.parts if isinstance(p, Crank) and list(linkage.names)[p.pin] == CRANK[2])
        _origin, turn = self.found.poses["wheel"]
        solution = solve(linkage, Wheel.at(float(np.angle(turn)) - number(crank.phase) - np.radians(by)))
        return {name: complex(np.ravel(solution[name])[0]) for name in solution.linkage.names}

    def missed(self, places: Mapping[str, complex]) -> list[tuple[str, float]]:
        """By how much each point that was put stands off where the gear would have it, mm, the worst first."""
        off = [(pin, abs(at - places[pin])) for pin, at in self.found.places.items() if pin in places]
        return sorted(off, key=lambda each: -each[1])


def scaled_off(elevation: Elevation, picks: Picks, as_drawn: Collection[Key] = ()) -> ScaledOff:
    """Scale a gear's figures off an image.

    Parameters
    ----------
    elevation : Elevation
        Of the drawing from which the search starts: of the same gear, its figures about as large.
    picks : Picks
        Points by the names of pins, and what is known.
    as_drawn : collection of (table, key)
        Figures to be taken from the drawing, besides those that no single position can tell.

    Raises
    ------
    PictureError
        What was put does not tell the scale, the level or the perspective.
    """
    parts = PickedParts(elevation, tuple(picks.points))
    _see_enough(picks)
    held = tuple(dict.fromkeys([*as_drawn, *_blind(parts)]))
    held = tuple(key for key in held if parts.keys.index(key) not in _given(picks))
    loose = parts.loose
    for key in held:
        unit = DEGREES if declared(parts.gear, key)["kind"] == "angle" else MM
        loose[parts.keys.index(key)] = _AS_DRAWN[unit]
    try:
        with np.errstate(all="ignore"):
            found = adjusted(picks, parts.solids, parts.drawn, loose, first_view(parts, picks))
        fits = bool(np.all(np.isfinite(found.covariance)) and np.all(np.isfinite(found.figures)))
    except (np.linalg.LinAlgError, ArithmeticError, ValueError):  # a search that led nowhere
        fits = False
    if not fits:
        raise PictureError(
            "no such gear can be laid on these points", "look for points that were put under a wrong name"
        )
    _see_told(found, picks)
    return ScaledOff(parts, picks, found, held)


def _given(picks: Picks) -> set[int]:
    return {known.number for known in picks.known if isinstance(known, KnownFigure)}


def _blind(parts: PickedParts) -> Iterator[Key]:
    """Figures that one position cannot tell: the slope of a line on which one pin was put, and where axes are laid."""
    slot = parts.gear.slot
    at_origin = slot is not None and any(place == (0.0, 0.0) for place in slot.pins.values())
    for key in parts.keys:
        said = declared(parts.gear, key)
        of_slot = said.get("slot") == "lean" or (said.get("slot") == "offset" and not at_origin)
        if of_slot or (said["kind"] == "angle" and key[1].split(".")[-1].endswith("inclination")):
            yield key


def _see_enough(picks: Picks) -> None:
    """See that enough is known for the view: of a drawing four numbers, in perspective eight."""
    sizes = {KnownPlace: 2, KnownLength: 1, KnownWay: 1, KnownFigure: 1}
    count = sum(sizes[type(known)] for known in picks.known)
    axle = "axle" in picks.points and not any(isinstance(k, KnownPlace) and k.point == "axle" for k in picks.known)
    needed = 8 if picks.leaning else 4
    if count + 2 * axle < needed:
        remedy = (
            "give four points of known places in the plane of the gear, no three in line"
            if picks.leaning else "give two known lengths in different directions, and a line that is level"
        )  # fmt: skip
        raise PictureError(f"what is known gives {count + 2 * axle} of the {needed} figures of the view", remedy)
    places = [complex(known.x, known.y) for known in picks.known if isinstance(known, KnownPlace)]
    if picks.leaning and len(places) >= 3 and not any(isinstance(k, KnownLength | KnownWay) for k in picks.known):
        most = max((_out_of_line(places, leave) for leave in range(len(places))), default=0.0)
        least = min((_out_of_line(places, leave) for leave in range(len(places))), default=0.0)
        if most == 0.0 or (len(places) == 4 and least < _IN_LINE):
            raise PictureError(
                "three of the four known points lie in line: they do not tell the perspective",
                "give one that lies beside that line, or a fifth",
            )


_IN_LINE = 0.02  # of the longest distance: points that lie no further beside a line are in line


def _out_of_line(places: list[complex], leave: int) -> float:
    """How far points but one lie beside one line, as a part of their distance."""
    own = np.array([place for at, place in enumerate(places) if at != leave])
    own = own - np.mean(own)
    sizes = np.linalg.svd(np.stack([own.real, own.imag]), compute_uv=False)
    return float(sizes[-1] / sizes[0]) if sizes[0] else 0.0


def _see_told(found: Adjusted, picks: Picks) -> None:
    if found.scale_doubt > SURE_SCALE:
        raise PictureError(
            "nothing known tells the scale" if not picks.leaning else "what is known does not tell the perspective",
            "give a known length between two points that were put, or places of more points",
        )
    if found.turn_doubt > SURE_WAY:
        raise PictureError(
            "nothing known tells which way is level",
            'give two points on a level line: level = ["axle", "far end"], such as the rail or the cylinder line',
        )


def first_view(parts: PickedParts, picks: Picks) -> PlaneOfImage:
    """About how the plane is seen: by places known, else by lengths and a way known, else as large as drawn."""
    put = {name: picks.put(name)[0] for name in picks.points}
    places = {k.point: complex(k.x, k.y) for k in picks.known if isinstance(k, KnownPlace)}
    by_places = through(list(places.values()), [put[name] for name in places], picks.leaning)
    if by_places is not None:
        return by_places
    turned = _turned(parts, picks, put, places)
    size = float(np.ptp(np.array([[z.real, z.imag] for z in put.values()]), axis=0).max()) / abs(turned)
    anchor = next(iter(places), "axle" if "axle" in put else "")
    if anchor:
        at = places.get(anchor, 0j)
    else:
        anchor, at = _on_frame(parts)
    return PlaneOfImage(0j, size, turned * size, 0j, put[anchor] - turned * at)


def _turned(parts: PickedParts, picks: Picks, put: Mapping[str, complex], places: Mapping[str, complex]) -> complex:
    """Pixels for a millimetre, and the turning with it."""
    if len(places) > 1:
        (a, at_a), (b, at_b) = list(places.items())[:2]
        return (put[b] - put[a]) / (at_b - at_a)
    lengths = [abs(put[k.b] - put[k.a]) / k.length for k in picks.known if isinstance(k, KnownLength)]
    ways = [(put[k.b] - put[k.a]) * np.exp(-1j * np.radians(k.degrees)) for k in picks.known if isinstance(k, KnownWay)]
    way = complex(ways[0] / abs(ways[0])) if ways else 1 + 0j
    return (float(np.median(lengths)) if lengths else float(np.median(list(_as_drawn(parts, put))))) * way


def _as_drawn(parts: PickedParts, put: Mapping[str, complex]) -> Iterator[float]:
    """Pixels for a millimetre if parts were as large as drawn."""
    yield from ()
    for solid in parts.solids(parts.drawn):
        for one, other in zip(solid.members, solid.members[1:], strict=False):
            if abs(other.at - one.at) > 0:
                yield abs(put[other.pin] - put[one.pin]) / abs(other.at - one.at)


def _on_frame(parts: PickedParts) -> tuple[str, complex]:
    for solid in parts.solids(parts.drawn):
        for member in solid.members if solid.held == "fast" else ():
            return member.pin, member.at
    raise PictureError("no point of the frame was put", "put the axle, or another pin that stands on the frame")
