"""Bodies of cylinder, piston, chest and valve, in section."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from linkmotion.elevation.body import Along, Body, Fast, Places
from linkmotion.elevation.cylinder_section import COVER, GLAND, PISTON, WALL, Section
from linkmotion.elevation.outlines import (
    EDGE,
    SECTION,
    SPACE,
    TIE,
    Area,
    Circle,
    Outline,
    Shape,
    block,
    disc,
    filleted,
    line,
    placed,
    rounded,
    united,
)
from linkmotion.elevation.rods import BUSH, EYE
from linkmotion.gears.frame import CROSSHEAD_PIN
from linkmotion.valve import ENDS

BORE_REGION = "bore"
VALVE = "valve"  # where the valve stands: at its spindle pin, but for what play keeps it back


def regions(section: Section) -> dict[str, Area]:
    """Parts of the frame's plane in which a body is seen, by name."""
    return {BORE_REGION: section.on_cylinder(_bore(section))}


def _bore(section: Section) -> Area:
    return block(-section.half, -section.bore / 2, section.half, section.bore / 2)


def cylinder(section: Section) -> Body:
    """Castings cut through, ports, passages and chest, fast on the frame."""
    steam, used = ("steam", "exhaust") if section.valve.outside else ("exhaust", "steam")
    passages = {end: section.passage_area(end) for end in ENDS}
    chest, pit = section.on_frame(_chest(section)), section.on_frame(_pit(section))
    casting = united([section.on_cylinder(_barrel(section)), _saddle(section), section.on_frame(_chest_walls(section))])
    hollow = united([section.on_cylinder(_bore(section)), chest, pit, *passages.values(), *_rod_holes(section)])
    shapes: list[Shape] = [Outline(filleted(casting, 0.04 * section.paths.r).difference(hollow), SECTION)]
    shapes += [Outline(chest, SPACE, steam), Outline(pit, SPACE, used)]
    shapes += [Outline(passages[end], SPACE, end) for end in ENDS]
    shapes += [Outline(area, SPACE, end) for end, area in _belts(section).items()]
    shapes.append(Outline(section.on_cylinder(_bore(section)), SPACE, "back"))
    low = section.centre - 1j * section.side * section.way * (section.bore / 2 + WALL * section.paths.r)
    return Body("cylinder", "cylinder", tuple(shapes), Fast(), (low, low + section.way * 0.5 * section.half))


def _barrel(section: Section) -> Area:
    """Barrel, covers with their flanges, and the gland of the piston rod."""
    r, half, radius = section.paths.r, section.half, section.bore / 2
    outer = radius + WALL * r
    rod = rod_radius(section)
    flanges = [
        block(way * (half - 0.1 * r), -outer - 0.08 * r, way * (half + COVER * r), outer + 0.08 * r) for way in (-1, 1)
    ]
    gland = block(-half - (COVER + GLAND) * r, -rod - 0.11 * r, -half, rod + 0.11 * r)
    collar = block(-half - (COVER + GLAND) * r, -rod - 0.17 * r, -half - (COVER + GLAND - 0.08) * r, rod + 0.17 * r)
    nose = rounded(block(half, -0.5 * radius, half + (COVER + 0.06) * r, 0.5 * radius), 0.05 * r)
    return united([block(-half, -outer, half, outer), *flanges, gland, collar, nose])


def rod_radius(section: Section) -> float:
    """Half the piston rod's diameter, mm."""
    given = section.paths.given.piston_rod
    return given / 2 if given else 0.1 * section.paths.r


def spindle_radius(section: Section) -> float:
    """Half the valve spindle's diameter, mm."""
    return min(0.05 * section.paths.r, 0.3 * section.valve.port)


def _rod_holes(section: Section) -> Iterator[Area]:
    r, rod, spindle = section.paths.r, rod_radius(section), spindle_radius(section)
    back = section.half + (COVER + GLAND + 0.1) * r
    yield section.on_cylinder(block(-back, -rod, 0.0, rod))
    back = section.valve.far + section.wall + (GLAND + 0.1) * r
    yield section.on_frame(block(-back, -spindle, 0.0, spindle))


def _chest(section: Section) -> Area:
    """The inside of the chest."""
    return section.oblong(-section.valve.far, -section.face, section.valve.far, section.top)


def _chest_walls(section: Section) -> Area:
    r, far, wall, spindle = section.paths.r, section.valve.far, section.wall, spindle_radius(section)
    gland = GLAND * r
    top = section.top + wall
    shell = section.oblong(-far - wall, -section.face - wall, far + wall, top)
    cover = section.oblong(-far - 1.6 * wall, top - 0.2 * wall, far + 1.6 * wall, top + 0.7 * wall)
    box = block(-far - wall - gland, -spindle - 0.08 * r, -far, spindle + 0.08 * r)
    collar = block(-far - wall - gland, -spindle - 0.13 * r, -far - wall - gland + 0.06 * r, spindle + 0.13 * r)
    inlet = section.valve.middle + 0.25 * section.valve.port
    stalk = [] if section.valve.outside else [section.oblong(-inlet, 0, inlet, top + 0.9 * section.valve.port)]
    return united([shell, box, collar, *([cover] if section.valve.outside else stalk)])


def _pit(section: Section) -> Area:
    """The exhaust port of a slide valve, under its middle; the steam inlet of a piston valve, over it."""
    half, one = section.valve.middle, section.valve.port
    if section.valve.outside:
        return rounded(section.oblong(-half, -section.face - 1.05 * one, half, -section.face), 0.2 * one).union(
            section.oblong(-half, -section.face - 0.5 * one, half, -section.face)
        )
    return section.oblong(-half, section.top, half, section.top + section.wall + 0.9 * one)


def _belts(section: Section) -> dict[str, Area]:
    """Ports run all round a piston valve: what is cut of them on the far side of its spindle."""
    if section.valve.outside:
        return {}
    return {
        end: section.on_frame(section.oblong(low, section.top, high, section.top + 0.55 * section.wall))
        for end, (low, high) in section.valve.ports.items()
    }


def _saddle(section: Section) -> Area:
    """The casting between chest and barrel."""
    r, wide = section.paths.r, section.valve.far + section.wall
    corners = [(x, -section.face - y) for x in (-wide, wide) for y in (0.0, section.wall)]
    chest = [section.ports_at + section.along * section.own(*corner) for corner in corners]
    reach, height = section.half - 0.1 * r, section.side * section.bore * 0.3
    foot = [section.centre + section.way * complex(way * reach, height) for way in (-1, 1)]
    return shapely.MultiPoint([(p.real, p.imag) for p in (*chest, *foot)]).convex_hull


def piston(section: Section) -> Iterator[Body]:
    """The piston in its bore, with what is ahead of it, and its rod."""
    r, radius = section.paths.r, section.bore / 2
    follows = Along(CROSSHEAD_PIN, section.way)
    rod = rod_radius(section)
    head = rounded(block(section.rod - PISTON * r, -radius, section.rod + PISTON * r, radius), 0.02 * r)
    rings = [
        line(complex(section.rod + x * r, side * radius), complex(section.rod + x * r, side * (radius - 0.07 * r)))
        for x in (-0.06, 0.06)
        for side in (-1, 1)
    ]
    ahead = block(section.rod, -radius, section.rod + 2 * section.half + r, radius)
    shapes: tuple[Shape, ...] = (Outline(ahead, SPACE, "front"), Outline(head, SECTION), *rings)
    yield Body("piston", "piston", shapes, follows, (complex(section.rod, 0.5 * radius),), BORE_REGION)
    bar = block(0.5 * r, -rod, section.rod - PISTON * r, rod)
    yield Body("piston rod", "piston rod", (Outline(bar),), follows, (complex(section.rod * 0.5),))


def valve(section: Section) -> Body:
    """The valve on its spindle, its own x axis along the spindle from its pin."""
    at = section.own(section.spindle, section.lift)
    shapes = [*_spindle(section, at), *(_slide(section, at) if section.valve.outside else _heads(section, at))]
    shapes += [Outline(disc(0j, EYE * section.paths.r)), Circle(0j, BUSH * section.paths.r)]
    spine = (at + section.own(0, 0.6 * section.valve.port), at)
    return Body(VALVE, "valve", tuple(shapes), Along(VALVE, section.along), spine)


def _spindle(section: Section, at: complex) -> Iterator[Shape]:
    r, thick = section.paths.r, spindle_radius(section)
    back = section.valve.heads["back"]
    stop = at + (back[0] if not section.valve.outside else back[1] - 0.4 * section.valve.port)
    if not section.lift:
        yield Outline(block(0.0, -thick, stop.real, thick))
        return
    start = at.real - section.valve.far - section.wall - GLAND * r - section.paths.reach - 0.25 * r
    stub = max(min(start, 1.2 * r), 0.45 * r)
    yield Outline(block(0.0, -thick, stub, thick))
    broken = ((0.0, 2.0), (0.4, 0.7), (-0.4, -0.7), (0.0, -2.0))
    yield line(*(complex(stub + x * thick, y * thick) for x, y in broken))
    yield Outline(block(stub, at.imag - thick, stop.real, at.imag + thick))
    yield line(complex(stub, section.side * 2 * thick), complex(stub, at.imag), role=TIE)


def _slide(section: Section, at: complex) -> Iterator[Shape]:
    """A slide valve: its soles over the ports, and the cavity that leads from one port to the exhaust."""
    one, face = section.valve.port, -section.face
    (bo, bi), (fi, fo) = section.valve.heads["back"], section.valve.heads["front"]
    hump = (max(bo, bi - 0.4 * one), min(fo, fi + 0.4 * one))
    sole = section.oblong(bo, face, fo, face + 0.45 * one)
    crown = rounded(section.oblong(hump[0], face + 0.5 * one, hump[1], face + 1.85 * one), 0.3 * one)
    body = united([sole, crown, section.oblong(hump[0], face, hump[1], face + 1.2 * one)])
    arch = rounded(section.oblong(bi, face + 0.2 * one, fi, face + 1.4 * one), 0.3 * one)
    cavity = united([arch, section.oblong(bi, face, fi, face + 0.6 * one)])
    yield Outline(placed(body.difference(cavity), at, 1 + 0j), SECTION)
    yield Outline(placed(cavity, at, 1 + 0j), SPACE, "exhaust")


def _heads(section: Section, at: complex) -> Iterator[Shape]:
    """A piston valve: two heads, live steam between them."""
    radius, thick = section.face, spindle_radius(section)
    (bo, bi), (fi, fo) = section.valve.heads["back"], section.valve.heads["front"]
    yield Outline(placed(block(bi, -radius, fi, radius), at, 1 + 0j), SPACE, "steam")
    yield Outline(placed(block(bi, -1.6 * thick, fi, 1.6 * thick), at, 1 + 0j))
    for low, high in ((bo, bi), (fi, fo)):
        yield Outline(placed(block(low, -radius, high, radius), at, 1 + 0j), SECTION)
        for x in (low + 0.12 * section.valve.port, high - 0.12 * section.valve.port):
            for side in (-1, 1):
                yield line(at + complex(x, side * radius), at + complex(x, side * 0.8 * radius), role=EDGE)


def valve_point(section: Section, places: Places, lag: float = 0.0) -> complex:
    """Where the valve stands: its spindle pin, moved along by what play keeps it back, mm."""
    return places[section.paths.names[section.paths.valve_guide.pin]] + lag * section.along
