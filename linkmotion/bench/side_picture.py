"""The engine's side as the page draws it: a state at a notch and crank angle, the drawing behind it."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup, escape

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.side_marks import marks_svg
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.engine import DRAWING, SIDES
from linkmotion.events import BACKWARD
from linkmotion.files.faults import FileError
from linkmotion.linkage import LinkageError
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.side_drawing import Standing, elevation_of, standing_at
from linkmotion.views.elevation_svg import groups, view_box
from linkmotion.views.moving.page_words import why

_KEPT = 8  # drawings at hand
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
        size = drawing.paths.r / 22
        patterns = _PATTERNS.format(p=f"{size:.2f}", q=f"{size / 2:.2f}", d=f"{size / 5:.2f}")
        words = escape(f"{moment.side} side, {moment.state}, {moment.notch}, crank at {moment.angle:g}°")
        return Markup(
            f'<svg id="gear" viewBox="{view_box(drawing)}" role="img" aria-label="{words}" '
            f'data-r="{drawing.paths.r:.2f}">{patterns}'
            f"{ghost}{groups(drawing, placed.places, placed.spaces)}{marks}</svg>"
        )

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

    def _side(self, state: str, side: str) -> SideEvents:
        sides = self.work.stand(state).assessment.sides
        return sides[SIDES.index(side) if side in SIDES else 0]

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
