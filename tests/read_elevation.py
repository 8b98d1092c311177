"""A small reader of the side elevation's SVG, which shares nothing with what wrote it: where every shape stands."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

Points = NDArray[np.complex128]


@dataclass
class Drawn:
    """A shape as it stands in the frame's axes, y up: its rings, or a circle's middle and radius."""

    classes: list[str]
    attributes: dict[str, str]
    rings: list[Points]
    middle: complex = 0j
    radius: float = 0.0

    @property
    def area(self) -> shapely.Geometry:
        """The filled area; a ring inside another is a hole."""
        found = shapely.Polygon()
        for ring in self.rings:
            found = found.symmetric_difference(shapely.Polygon(np.column_stack([ring.real, ring.imag])).buffer(0))
        return found


@dataclass
class Group:
    """A body: its attributes, its shapes, and the transform that it was given (origin, turn)."""

    attributes: dict[str, str]
    origin: complex
    turn: complex
    shapes: list[Drawn] = field(default_factory=list)

    def of_class(self, name: str) -> list[Drawn]:
        """Its shapes of a role."""
        return [shape for shape in self.shapes if name in shape.classes]


@dataclass
class Picture:
    """All bodies by name, riders, and the root's attributes."""

    bodies: dict[str, Group]
    riders: dict[str, dict[str, str]]
    root: dict[str, str]

    def pins(self) -> Iterator[tuple[str, str, complex]]:
        """(pin, body, place) of every pin that is drawn."""
        for name, body in self.bodies.items():
            for shape in body.shapes:
                if "data-pin" in shape.attributes:
                    yield shape.attributes["data-pin"], name, shape.middle

    def standing(self, places: dict[str, complex]) -> dict[str, tuple[complex, complex]]:
        """Origin and turn of every body by its data attributes alone, as a script would place it."""
        known = dict(places)
        for name, rider in self.riders.items():
            origin, turn = _on_two(rider, known)
            known[name] = origin + turn * pair(rider["data-own"])
        return {name: _pose(body.attributes, known) for name, body in self.bodies.items()}


def read(text: str) -> Picture:
    """Read the group that holds the drawing."""
    root = ET.fromstring(text)
    assert root.attrib["transform"] == "scale(1,-1)"
    riders = {g.attrib["data-rider"]: dict(g.attrib) for g in root.iter("g") if "data-rider" in g.attrib}
    bodies = {g.attrib["data-part"]: _group(g) for g in root.iter("g") if "data-part" in g.attrib}
    return Picture(bodies, riders, dict(root.attrib))


def _group(g: ET.Element) -> Group:
    found = re.fullmatch(r"matrix\((.*)\)", g.attrib["transform"])
    assert found is not None
    a, b, c, d, e, f = map(float, found[1].split())
    assert (c, d) == (-b, a)
    group = Group(dict(g.attrib), complex(e, f), complex(a, b))
    for shape in g:
        drawn = Drawn(shape.attrib["class"].split(), dict(shape.attrib), [])
        if shape.tag == "circle":
            at = complex(float(shape.attrib["cx"]), float(shape.attrib["cy"]))
            drawn.middle = group.origin + group.turn * at
            drawn.radius = float(shape.attrib["r"]) * abs(group.turn)
        else:
            runs = [run for run in re.split("[MZ]", shape.attrib["d"]) if run]
            drawn.rings = [group.origin + group.turn * _points(run) for run in runs]
        group.shapes.append(drawn)
    return group


def _points(run: str) -> Points:
    return np.array([complex(*map(float, point.split())) for point in run.split("L")])


def pair(text: str) -> complex:
    """A place written as x,y."""
    x, y = text.split(",")
    return complex(float(x), float(y))


def _on_two(attributes: dict[str, str], places: dict[str, complex]) -> tuple[complex, complex]:
    one, two = (places[pin] for pin in attributes["data-pins"].split("|"))
    a, b = map(pair, attributes["data-at"].split(" "))
    turn = (two - one) / (b - a)
    return one - turn * a, turn


def _pose(attributes: dict[str, str], places: dict[str, complex]) -> tuple[complex, complex]:
    match attributes["data-follows"]:
        case "frame":
            return 0j, 1 + 0j
        case "pins":
            return _on_two(attributes, places)
        case "pin":
            return places[attributes["data-pins"]], pair(attributes["data-turn"])
        case "turning":
            pin, a, b = (places[name] for name in attributes["data-pins"].split("|"))
            way = (b - a) * pair(attributes["data-turn"])
            return pin, way / abs(way)
    raise AssertionError(attributes["data-follows"])
