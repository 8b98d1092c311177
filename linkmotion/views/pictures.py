"""Which pictures the report shows, and drawing them."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

import numpy as np

from linkmotion.elevation.side_elevation import Elevation
from linkmotion.engine import DRAWING
from linkmotion.events import BACKWARD, FORWARD
from linkmotion.sides import BOTH, side_words
from linkmotion.studies.assess import Assessment, SideEvents
from linkmotion.studies.side_drawing import elevation_of, standing_at
from linkmotion.views import notch_plots, notch_rows, plots, style
from linkmotion.views.die_plot import plot_die
from linkmotion.views.drawing import height_for, plot_gear
from linkmotion.views.elevation_axes import Ghost
from linkmotion.views.lettering import Head, width
from linkmotion.views.notch_rows import Series
from linkmotion.views.parts_off import parts_off
from linkmotion.views.polar import plot_polar
from linkmotion.views.request import Request, in_file_name
from linkmotion.views.style import FULL, HALF, Margins

_GEAR: Margins = (0.02, 0.02, 0.02, 0.04)
_SEEN = 0.12  # of the crank radius: how far from a state its drawing is shown at most
_LEAST = 1e-6  # mm
CURVES: Margins = (0.62, 0.22, 0.42, 0.04)
_POLAR: Margins = (0.42, 0.42, 0.46, 0.16)


@dataclass(frozen=True)
class Plan:
    """A picture to be drawn.

    Attributes
    ----------
    title : str
        What it shows.
    words : str
        How it is read.
    height, width : float
        Inches, without its head.
    to_scale : bool
        Whether the height follows from what is drawn.
    of : tuple of str
        Of which engine, state, side, notch and direction, line by line.
    margins : Margins or None
        Round its one plot; measured where they are not given.
    """

    name: str
    title: str
    words: str
    height: float
    draw: Callable[[Any], Any]
    grid: tuple[int, int] = (1, 1)
    axes: dict[str, Any] = field(default_factory=dict)
    of: tuple[str, ...] = ()
    margins: Margins | None = None
    width: float = FULL


@dataclass(frozen=True)
class Picture:
    """A plot as it stands in the report and in its own file."""

    name: str
    title: str
    words: str
    svg: bytes
    wide: bool

    @property
    def data(self) -> str:
        """As the address of an image within the page."""
        return in_page(self.svg)


def in_page(svg: bytes) -> str:
    """A picture as the address of an image within a page."""
    return "data:image/svg+xml;base64," + base64.b64encode(svg).decode()


def drawn(plan: Plan) -> Picture:
    """Draw a picture as SVG."""
    head = Head(plan.title, plan.of)
    svg = style.as_svg(plan.draw, (plan.width, plan.height), plan.grid, plan.axes, head=head, margins=plan.margins)
    title = ", ".join((plan.title, *plan.of))
    return Picture(plan.name, title, plan.words, svg, plan.width > HALF)


def featured(side: SideEvents) -> list[int]:
    """Notches shown at length: the longest cutoff and the middle one of those that drive forward (or backward)."""
    for direction in (FORWARD, BACKWARD):
        own = [i for i, drives in enumerate(side.drives) if drives == direction]
        if own:
            cutoff = np.nan_to_num(side.events[direction]["front"].percent["cutoff"])
            ranked = sorted(own, key=lambda i: -cutoff[i])
            return list(dict.fromkeys([ranked[0], ranked[len(ranked) // 2]]))
    return [0]


def plans(request: Request, a: Assessment, unit: str, drawing: Assessment | None = None) -> Iterator[Plan]:
    """The pictures of a state, numbered, their titles saying of what.

    Parameters
    ----------
    drawing : Assessment, optional
        What the state is held against; nothing where it is the drawing itself.
    """
    looked = _Looked(a, unit, drawing)
    listed = [looked.gear(side, request.crank_angle) for side in looked.sides]
    for number, i in enumerate(featured(looked.sides[0])):
        listed += looked.one_notch(i)
        listed += looked.polar(i) if number == 0 else []
    listed += looked.all_notches()
    words, count = in_file_name(a.state), a.engine.state_names.index(a.state)
    for number, plan in enumerate(listed, 1):
        yield replace(plan, name=f"{count}-{words}-{number:02d}-{plan.name}")


@dataclass(frozen=True)
class _Looked:
    """A state and what it is held against."""

    a: Assessment
    unit: str
    drawing: Assessment | None

    @property
    def sides(self) -> tuple[SideEvents, ...]:
        return self.a.distinct_sides

    @property
    def alike(self) -> bool:
        return self.a.alike

    def against(self, side: SideEvents) -> SideEvents | None:
        """The same side as drawn, if it has the same notches."""
        if self.drawing is None or self.a.state == DRAWING:
            return None
        other = next(each for each in self.drawing.sides if each.side == side.side)
        return other if other.notches == side.notches else None

    def of(self, side: SideEvents | None, *more: str) -> tuple[str, ...]:
        """What stands under a title: of one side, or of both."""
        which = side_words(side.side if side else BOTH, [own.side for own in self.sides], self.alike)
        return (self.a.engine.name, "; ".join((f"{self.a.state}, {which}", *more)))

    def series(self) -> list[Series]:
        lone = self.alike or len(self.a.engine.sides) == 1
        return [Series("" if lone else side.side, side, self.against(side), alike=lone)
                for side in self.sides]  # fmt: skip

    def gear(self, side: SideEvents, angle: float) -> Plan:
        notch, elevation = featured(side)[0], elevation_of(side, self.a.engine)
        words = "To scale, front to the right. What the file gives no size for is drawn in proportion to the crank."
        off = parts_off(self.a.engine, self.a.state, side.side, elevation)
        behind = self._drawn_behind(side, elevation, notch, angle)

        def draw(ax: Any) -> None:
            plot_gear(
                side, notch, angle, ax, not off, unit=self.unit, elevation=elevation, ghost=behind, marked=off
            )  # fmt: skip

        high = height_for(elevation, FULL)
        return Plan(_name("gear", side, self.alike), "The gear", words, high, draw, of=self.of(side), margins=_GEAR)

    def _drawn_behind(self, side: SideEvents, elevation: Elevation, notch: int, angle: float) -> Ghost | None:
        """The drawing as outlines over the state, their difference enlarged so that it can be seen."""
        drawn = self.against(side)
        if drawn is None:
            return None
        other = elevation_of(drawn, self.a.engine, elevation)
        places, mine = (
            standing_at(own, each, notch, angle).places for own, each in ((other, drawn), (elevation, side))
        )
        apart = max(abs(places[pin] - mine[pin]) for pin in mine if pin in places)
        factor = _SEEN * elevation.paths.r / apart if apart > _LEAST else 1.0
        step = 10.0 ** np.floor(np.log10(factor))
        return Ghost(other, places, DRAWING, max(float(step * np.floor(factor / step)), 1.0))

    def one_notch(self, i: int) -> Iterator[Plan]:
        """Kind by kind, the sides beside one another."""
        way = self.sides[0].driven(i)[0]
        reach = self._reach(i)
        kinds: tuple[tuple[str, str, str, Any], ...] = (
            ("valve", "The valve round the wheel", "Shaded: a port is open to steam.", plots.plot_displacement),
            ("ports", "Ports round the wheel", "Filled marks: front end; open: back end.", plots.plot_openings),
            ("stroke", "Ports along the stroke", "Run out and home; 0 % is each end's own dead centre.", _along),
        )
        for name, title, words, plot in kinds:
            for side in self.sides:
                draw = partial(plot, side, i, way, self.unit, against=self.against(side))
                if name == "valve":
                    draw = partial(draw, reach=reach)
                yield self._narrow(name, title, words, 2.35, draw, CURVES, side, f"{side.notches[i]}, running {way}")

    def polar(self, i: int) -> Iterator[Plan]:
        """The valve over the crank's turn."""
        way, reach = self.sides[0].driven(i)[0], self._reach(i)
        words = "Set off along the crank; outside its lap's arc the valve opens the port."
        for side in self.sides:
            draw, where = partial(plot_polar, side, i, way, self.unit, reach=reach), f"{side.notches[i]}, running {way}"
            plan = self._narrow("polar", "Polar valve diagram", words, 3.1, draw, _POLAR, side, where)
            yield replace(plan, axes={"projection": "polar"})

    def _reach(self, i: int) -> float:
        """How far the valve goes from central in a notch, mm, on any side, and on what it is held against."""
        held = [each for each in map(self.against, self.sides) if each is not None]
        way = self.sides[0].driven(i)[0]
        return max(float(abs(side.valve(way)[i]).max()) for side in (*self.sides, *held))

    def all_notches(self) -> Iterator[Plan]:
        """What is looked at in every notch, the sides on one axis."""
        first, targets, series, unit = self.sides[0], self.a.engine.targets, self.series(), self.unit
        rows = notch_rows.Rows(first)
        tall, names = (0.17, 0.3)[len(series) - 1] * len(rows.names) + 0.5, _row_margins(rows.names)
        words, draw = "Filled: front end; open: back end.", partial(notch_rows.plot_leads, series, unit, targets)
        yield self._narrow("leads", "Leads, notch by notch", words, tall, draw, names)
        words, draw = (
            "Right of the line the front end cuts off later.",
            partial(notch_rows.plot_cutoffs_apart, series, targets),
        )
        yield self._narrow("cutoffs", "Cutoffs, front against back", words, tall, draw, names)
        words = "Filled: front end; open: back end."
        for side in self.sides:
            draw, room = (
                partial(notch_plots.plot_events_by_notch, side, against=self.against(side)),
                0.17 * len(rows.names),
            )
            yield self._narrow("events", "Events, notch by notch", words, room + 0.5, draw, names, side)
        if first.gear.slot is not None:
            words, draw = "A bar is as long as the die slips.", partial(plot_die, series, unit)
            yield self._narrow("die", "The die in the slot", words, tall, draw, _row_margins(rows.names, 0.45))
        words = "Valve against piston. Beyond a lap's line the port is open to steam."
        draw = partial(notch_plots.plot_ellipses, self.sides, unit, against=self.against(first))
        high = notch_plots.ellipse_height(len(first.notches)) + 0.45
        yield self._narrow("ellipses", "Valve ellipses", words, high, draw, (0.55, 0.12, 0.42, 0.02))

    def _narrow(
        self,
        name: str,
        title: str,
        words: str,
        height: float,
        draw: Callable[..., Any],
        margins: Margins,
        side: SideEvents | None = None,
        where: str = "every notch as it drives",
    ) -> Plan:
        """One of two pictures abreast."""
        own = name if side is None else _name(name, side, self.alike)
        return Plan(own, title, words, height, lambda ax: draw(ax=ax), of=self.of(side, where), margins=margins,
                    width=HALF)  # fmt: skip


def _along(side: SideEvents, notch: int, direction: str, unit: str, **how: Any) -> Any:
    return plots.plot_openings_by_piston(side, notch, "", direction, unit, **how)


def _name(name: str, side: SideEvents, alike: bool) -> str:
    return name if alike else f"{name}-{side.side}"


def _row_margins(names: list[str], right: float = 0.1, above: float = 0.16) -> Margins:
    """Room for the names before the rows."""
    return max(map(width, names)) / 72 + 0.12, right, 0.42, above
