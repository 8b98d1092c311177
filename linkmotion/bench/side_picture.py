"""The engine's side as the page draws it: a state at a notch and crank angle, the drawing behind it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from markupsafe import Markup, escape

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.side_marks import marks_svg
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.engine import DRAWING
from linkmotion.events import BACKWARD
from linkmotion.files.faults import FileError
from linkmotion.files.pattern import pattern
from linkmotion.linkage import LinkageError
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.side_drawing import Standing, elevation_of, standing_at
from linkmotion.views.elevation_svg import groups, view_box
from linkmotion.views.moving.page_words import why

_KEPT = 8  # drawings at hand
_BARE_AT = 40.0  # degrees: where a bare gear stands
_PATTERNS = """<defs>
<pattern id="dots" width="{p}" height="{p}" patternUnits="userSpaceOnUse">
<rect width="{p}" height="{p}" class="ground"/>
<circle cx="{q}" cy="{q}" r="{d}" class="spot"/></pattern>
<pattern id="bars" width="{p}" height="{p}" patternUnits="userSpaceOnUse">
<rect width="{p}" height="{p}" class="ground"/>
<path d="M0 {q}H{p}" class="bar"/></pattern>
</defs>"""


@dataclass(frozen=True)
class Moment:
    """What of a side is drawn: state, side, notch, crank angle in degrees."""

    state: str
    side: str
    notch: str
    angle: float


class Drawings:
    """The drawings of one engine, each made once."""

    def __init__(self, work: EngineAtWork) -> None:
        self.work = work
        self._made: list[tuple[SideEvents, Elevation | None, Elevation]] = []

    def svg(self, moment: Moment, tried: SideEvents | None = None) -> Markup:
        """A side as drawn; or as it would be with a figure that is only tried.

        Raises
        ------
        FileError
            The gear cannot be turned, or there is no such notch.
        """
        own = tried or self._side(moment.state, moment.side)
        drawing = self._elevation(own) if tried is None else elevation_of(own, self.work.must())
        placed = self._standing(drawing, own, moment)
        ghost = self._ghost(drawing, moment) if moment.state != DRAWING else ""
        marks = marks_svg(drawing, placed.places, own.notches.index(moment.notch))
        words = f"{side_words(moment.side)}, {moment.state}, {moment.notch}, crank at {moment.angle:g}°"
        return _svg(drawing, f"{ghost}{groups(drawing, placed.places, placed.spaces)}{marks}", words)

    def words(self, moment: Moment) -> str:
        """How the valve stands in what is drawn."""
        own = self._side(moment.state, moment.side)
        placed = self._standing(self._elevation(own), own, moment)
        shown = self.work.shown
        openings = []
        for end, told in placed.spaces.items():
            openings.append(f"{end} end: {told}")
        beyond = (
            f"; the die is {shown.length(placed.overrun)} {shown.unit} past its slot" if placed.overrun > 0.005 else ""
        )
        return f"Valve {shown.length(placed.displacement)} {shown.unit} from central; {', '.join(openings)}{beyond}."

    def part_svg(self, moment: Moment, part: str) -> Markup:
        """One part of a side as drawn, lit; "" where it has none of this name.

        Raises
        ------
        FileError
            The gear cannot be turned.
        """
        own = self._side(moment.state, moment.side)
        drawing = self._elevation(own)
        return _part_svg(drawing, self._standing(drawing, own, moment), part)

    def _side(self, state: str, side: str) -> SideEvents:
        sides = self.work.stand(state).assessment.sides
        return next((own for own in sides if own.side == side), sides[0])

    def _elevation(self, own: SideEvents, like: Elevation | None = None) -> Elevation:
        for side, other, made in self._made:
            if side.motion is own.motion and other is like:
                return made
        made = elevation_of(own, self.work.must(), like)
        self._made = [(own, like, made), *self._made][:_KEPT]
        return made

    def _standing(self, drawing: Elevation, own: SideEvents, moment: Moment) -> Standing:
        try:
            number = own.notches.index(moment.notch)
        except ValueError:
            raise FileError(moment.notch, "there is no such notch", "choose one of the list") from None
        drives = own.drives[number]
        try:
            return standing_at(drawing, own, number, moment.angle, BACKWARD if drives == BACKWARD else "forward")
        except LinkageError as error:
            raise FileError(self.work.path.name, why(error, self.work.must().unit), "look at its figures") from None

    def _ghost(self, drawing: Elevation, moment: Moment) -> str:
        """The drawing's own gear behind, where it can be drawn."""
        try:
            own = self._side(DRAWING, moment.side)
            behind = self._elevation(own, drawing)
            placed = self._standing(behind, own, moment)
        except FileError:
            return ""
        svg = groups(behind, placed.places, placed.spaces, "behind")
        return f'<g class="behind" aria-hidden="true">{svg}</g>'


def _svg(drawing: Elevation, inside: str, words: str, name: str = "gear", box: str = "") -> Markup:
    size = drawing.paths.r / 22
    patterns = _PATTERNS.format(p=f"{size:.2f}", q=f"{size / 2:.2f}", d=f"{size / 5:.2f}")
    return Markup(
        f'<svg id="{name}" class="gear-drawn" viewBox="{box or view_box(drawing)}" role="img" '
        f'aria-label="{escape(words)}" '
        f'data-r="{drawing.paths.r:.2f}">{patterns}{inside}</svg>'
    )


def _part_svg(drawing: Elevation, placed: Standing, part: str) -> Markup:
    """One part of a drawing, lit, with what is round it; "" where it has no such part."""
    bodies = [body for body in drawing.bodies if body.name == part]
    if not bodies:
        return Markup("")
    left, low, right, high = drawing.extent(bodies)
    r, across, up = drawing.paths.r, (left + right) / 2, (low + high) / 2
    wide, tall = max(right - left, 3 * r) / 2 + r, max(high - low, r) / 2 + r / 2
    box = f"{across - wide:.1f} {-up - tall:.1f} {2 * wide:.1f} {2 * tall:.1f}"
    named = f'data-part="{escape(part)}"'
    inside = re.sub(rf'class="(part [^"]*)" {re.escape(named)}', rf'class="\1 lit" {named}',
                    groups(drawing, placed.places, placed.spaces, "word"))  # fmt: skip
    return _svg(drawing, inside, f"where it is: the {part}", "word-drawn", box)


@cache
def _bare(gear: str) -> tuple[Elevation, Standing] | None:
    """A gear by itself, in proportions of no engine."""
    engine = pattern(gear)
    if engine is None:
        return None
    own = assess(engine, DRAWING, engine.sides[:1]).sides[0]
    drawing = elevation_of(own, engine)
    return drawing, standing_at(drawing, own, 0, _BARE_AT)


def bare_svg(gear: str) -> Markup:
    """A gear by itself, in proportions of no engine, with the marks of its dimensions; "" where it has no pattern."""
    found = _bare(gear)
    if found is None:
        return Markup("")
    drawing, placed = found
    marks = marks_svg(drawing, placed.places, 0)
    return _svg(drawing, f"{groups(drawing, placed.places, placed.spaces)}{marks}", f"a {gear} gear, parts lettered")


def bare_part_svg(gear: str, part: str) -> Markup:
    """One of its parts, lit; "" where it has none of this name."""
    found = _bare(gear)
    return Markup("") if found is None else _part_svg(*found, part)
