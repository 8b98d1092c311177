"""The side elevation as SVG groups: drawn once, and then only moved, by a script or by whoever lays them out.

The contract
------------
All lengths are millimetres, in the frame's axes or a body's own; y points up, so the whole stands in a group with
``transform="scale(1,-1)"``. Groups come from the hindmost to the foremost.

``<g class="part KIND" data-part=NAME data-follows=HOW ... transform=...>`` is a body. Its own axes go to the frame's by
``p -> origin + turn * p`` (complex numbers), which the transform holds: ``matrix(re im -im re x y)``, turn = re + i im,
origin = x + i y. How it follows the pins:

=========== =========================================== ==================================================
data-follows attributes                                  origin and turn
=========== =========================================== ==================================================
``frame``                                                0 and 1, always
``pins``     data-pins="A|B" data-at="x,y x,y"           turn = (B - A) / (b - a), origin = A - turn a
``pin``      data-pins="P" data-turn="re,im"             turn as given, origin = P
``turning``  data-pins="P|A|B" data-turn="re,im"         turn = unit((B - A) times the one given), origin = P
=========== =========================================== ==================================================

A name in ``data-pins`` is a pin of the linkage, or

* a *rider*: ``<g class="rider" data-rider=NAME data-pins="A|B" data-at="x,y x,y" data-own="x,y"/>``, a point that goes
  with two pins like a body that ``pins`` carries: it stands at origin + turn times its own place. Riders come first and
  name pins only;
* ``valve``: where the valve stands, which is at the spindle pin (``data-spindle`` of the root) but for what play keeps
  it back, along ``data-along`` of the root.

``data-within="bore"``: the body moves inside a region of the frame, and its group is the only child of
``<g clip-path="url(#PREFIX-bore)">``.

Inside a body, shapes have the class of their role: ``body``, ``section`` (cut metal), ``edge``, ``hidden``,
``centre-line``, ``tie``, ``mark``, ``flange``, ``tyre``, ``pin`` (circles, with ``data-pin``) and
``space``, with ``data-space`` = ``front``, ``back`` (ends of the cylinder), ``steam`` or ``exhaust`` (chest and
cavity): what is in a space is a second class, one of ``live-steam``, ``exhaust``, ``expanding``, ``compressing``,
which alone has to be changed as the valve moves. ``data-name-at`` holds places of a body at which its name may point.

``view_box`` gives what the drawing takes in all notches all round the wheel.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from html import escape

from linkmotion.elevation.body import Along, Body, Fast, Follows, Pinned, Places, Rider, Turning
from linkmotion.elevation.outlines import Area, Circle, Line, Outline, Points, Shape, parts_of
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.elevation.valve_shape import EXPANDING, LIVE, OUT, SQUEEZED

CLASSES = {LIVE: "live-steam", OUT: "exhaust", EXPANDING: "expanding", SQUEEZED: "compressing"}
_NEAR = 0.05  # mm
ALWAYS = {"steam": LIVE, "exhaust": OUT}


def groups(elevation: Elevation, places: Places, contents: Mapping[str, str], prefix: str = "side") -> str:
    """The drawing as one group, its bodies placed.

    Parameters
    ----------
    elevation : Elevation
        The drawing.
    places : dict
        Where pins stand, as :meth:`Elevation.places` gives them.
    contents : dict
        What is in each end of the cylinder, "front" and "back": one of the words of ``valve_shape``.
    prefix : str
        Of the ids of clip paths.
    """
    section, paths = elevation.section, elevation.paths
    spindle = paths.names[paths.valve_guide.pin]
    along = f'data-spindle="{escape(spindle)}" data-along="{_xy(section.along, 9)}"'
    head = f'<g class="elevation" transform="scale(1,-1)" {along}>'
    return "\n".join(
        [
            head,
            "<defs>",
            *(_clip(name, area, prefix) for name, area in elevation.regions.items()),
            "</defs>",
            *map(_rider, elevation.riders),
            *(_group(body, places, ALWAYS | dict(contents), prefix) for body in elevation.bodies),
            "</g>",
        ]
    )


def view_box(elevation: Elevation, margin: float = 0.02) -> str:
    """The SVG view box that holds the drawing in every notch all round the wheel, with a margin of its width."""
    left, low, right, high = elevation.box
    rim = margin * (right - left)
    return f"{left - rim:.1f} {-high - rim:.1f} {right - left + 2 * rim:.1f} {high - low + 2 * rim:.1f}"


def _clip(name: str, area: Area, prefix: str) -> str:
    return f'<clipPath id="{prefix}-{name}"><path d="{_path(Outline(area))}"/></clipPath>'


def _rider(rider: Rider) -> str:
    return f'<g class="rider" data-rider="{escape(rider.name)}" {_on(rider.on)} data-own="{_xy(rider.at)}"/>'


def _group(body: Body, places: Places, contents: Mapping[str, str], prefix: str) -> str:
    origin, turn = body.follows.place(places)
    matrix = (
        f"matrix({turn.real:.9g} {turn.imag:.9g} {-turn.imag:.9g} {turn.real:.9g} {origin.real:.5f} {origin.imag:.5f})"
    )
    names = f' data-name-at="{" ".join(_xy(at) for at in body.spine)}"' if body.spine else ""
    within = f' data-within="{body.within}"' if body.within else ""
    head = (
        f'<g class="part {_class(body.kind)}" data-part="{escape(body.name)}" {_on(body.follows)}{within}{names} '
        f'transform="{matrix}">'
    )
    made = head + "".join(_shapes(body, contents)) + "</g>"
    return f'<g clip-path="url(#{prefix}-{body.within})">{made}</g>' if body.within else made


def _on(follows: Follows) -> str:
    match follows:
        case Fast():
            return 'data-follows="frame"'
        case Pinned(a=a, b=b, at_a=at_a, at_b=at_b):
            return f'data-follows="pins" data-pins="{escape(f"{a}|{b}")}" data-at="{_xy(at_a, 6)} {_xy(at_b, 6)}"'
        case Along(pin=pin, turn=turn):
            return f'data-follows="pin" data-pins="{escape(pin)}" data-turn="{_xy(turn, 9)}"'
        case Turning(pin=pin, a=a, b=b, turn=turn):
            pins = escape(f"{pin}|{a}|{b}")
            return f'data-follows="turning" data-pins="{pins}" data-turn="{_xy(turn, 9)}"'


def _shapes(body: Body, contents: Mapping[str, str]) -> Iterator[str]:
    for shape in body.shapes:
        look = f'class="{_look(shape, contents)}"'
        match shape:
            case Outline(space=space):
                held = f' data-space="{space}"' if space else ""
                yield f'<path {look}{held} d="{_path(shape)}"/>'
            case Line(points=points):
                yield f'<path {look} d="M{_run(points)}"/>'
            case Circle(at=at, radius=radius, pin=pin):
                named = f' data-pin="{escape(pin)}"' if pin else ""
                yield f'<circle {look}{named} cx="{at.real:.4f}" cy="{at.imag:.4f}" r="{radius:.3f}"/>'


def _look(shape: Shape, contents: Mapping[str, str]) -> str:
    own = _class(shape.role)
    return f"{own} {CLASSES[contents[shape.space]]}" if isinstance(shape, Outline) and shape.space else own


def _class(words: str) -> str:
    return words.replace(" ", "-")


def _path(outline: Outline) -> str:
    plainer = Outline(outline.area.simplify(_NEAR))  # fewer points on arcs; corners stay where they are
    return "".join(f"M{_run(ring[:-1])}Z" for ring in plainer.rings()) if parts_of(plainer.area) else "M0 0"


def _run(points: Points) -> str:
    return "L".join(f"{p.real:.2f} {p.imag:.2f}" for p in points)


def _xy(at: complex, digits: int = 6) -> str:
    return f"{at.real:.{digits}f},{at.imag:.{digits}f}"
