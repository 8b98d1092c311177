"""The side elevation as the page takes it: its groups, what is to be seen of them, and what each body does."""

from __future__ import annotations

from typing import Any

from linkmotion.elevation.body import Body
from linkmotion.elevation.outlines import SECTION
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.elevation.valve_shape import LIVE, OUT
from linkmotion.engine import Engine
from linkmotion.studies.page_case import PageCase
from linkmotion.studies.side_drawing import elevation_of
from linkmotion.views.elevation_colours import CONTENTS, CUT, FILLS, fill_of, ink_of
from linkmotion.views.elevation_svg import CLASSES, groups, view_box
from linkmotion.views.moving.page_words import does

_ROLES = ("tyre", "flange")  # shapes whose fill does not go by the body
UNNAMED = ("rail", "bracket", "frame")  # kinds of bodies that are there to be stood on


def drawn(case: PageCase, engine: Engine) -> dict[str, Any]:
    """A case's drawing.

    Returns
    -------
    dict
        ``svg`` groups as :mod:`~linkmotion.views.elevation_svg` has them, placed anyhow; ``box`` and ``valve_box`` SVG
        view boxes of the whole and of the chest with its valve; ``central`` place of the spindle pin with the valve as
        drawn central, mm; ``r`` the crank's radius, mm; ``named`` body → what it does.
    """
    side = elevation_of(case.side, engine)
    somewhere = side.completed({pin: complex(path[0, 0]) for pin, path in side.paths.pins.items()})
    bodies = {body.name: body for body in side.bodies if body.kind not in UNNAMED}
    return {
        "svg": groups(side, somewhere, {"front": LIVE, "back": OUT}),
        "box": view_box(side),
        "valve_box": valve_box(side),
        "central": side.paths.central_at,
        "r": side.paths.r,
        "named": {name: does(case.gear.name, name, _ends(body)) for name, body in bodies.items()},
    }


def _ends(body: Body) -> tuple[str, ...]:
    return tuple(pin for pin in (getattr(body.follows, "a", ""), getattr(body.follows, "b", "")) if pin)


def valve_box(side: Elevation) -> str:
    """The SVG view box that shows chest, valve and ports, and where the passages go from there."""
    chest = side.section.chest
    wide, deep = chest.valve.far + chest.wall, chest.face + 2.4 * chest.port
    left, low, right, high = side.section.on_frame(chest.oblong(-wide, -deep, wide, chest.top + 2 * chest.wall)).bounds
    return f"{left:.1f} {-high:.1f} {right - left:.1f} {high - low:.1f}"


def look() -> str:
    """The drawing's colours as style rules: the same as in every other picture of it.

    Fills are given as variables, so that a screen set to dark can mix its own from them.
    """
    rules = [
        f".part.{kind.replace(' ', '-')} {{ --fill: {fill}; --line: {ink_of(kind)}; }}" for kind, fill in FILLS.items()
    ]
    rules += [f".part.{kind.replace(' ', '-')} {{ --line: {ink_of(kind)}; }}" for kind in ("rail", "sector")]
    for kind in ("cylinder", "valve", "piston"):
        rules.append(f".part.{kind} .section {{ --fill: {fill_of(kind, SECTION)[0]}; }}")
    for space, name in CLASSES.items():
        rules.append(f".{name} {{ --fill: {CONTENTS[space].fill}; --mark: {CONTENTS[space].ink}; }}")
    return "\n".join(
        [*rules, f".cut {{ --mark: {CUT}; }}", *(f".{role} {{ --fill: {FILLS[role]}; }}" for role in _ROLES)]
    )
