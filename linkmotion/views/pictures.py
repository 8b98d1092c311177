"""Which pictures the report shows, and drawing them."""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from linkmotion.engine import Engine
from linkmotion.events import BACKWARD, FORWARD
from linkmotion.studies.assess import Assessment, SideEvents
from linkmotion.studies.side_drawing import elevation_of
from linkmotion.valve import ENDS
from linkmotion.views import notch_plots, plots, style
from linkmotion.views.drawing import height_for, plot_gear
from linkmotion.views.polar import plot_polar
from linkmotion.views.request import Request


@dataclass(frozen=True)
class Plan:
    """A picture to be drawn."""

    name: str
    title: str
    words: str
    height: float
    draw: Callable[[Any], Any]
    grid: tuple[int, int] = (1, 1)
    axes: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Picture:
    """A plot as it stands in the report and in its own file."""

    name: str
    title: str
    words: str
    svg: bytes

    @property
    def data(self) -> str:
        """As the address of an image within the page."""
        return "data:image/svg+xml;base64," + base64.b64encode(self.svg).decode()


def drawn(plan: Plan) -> Picture:
    """Draw a picture as SVG."""
    return Picture(plan.name, plan.title, plan.words, style.as_svg(plan.draw, (10, plan.height), plan.grid, plan.axes))


def featured(side: SideEvents) -> list[int]:
    """Notches shown at length: the longest cutoff and the middle one of those that drive forward (or backward)."""
    for direction in (FORWARD, BACKWARD):
        own = [i for i, drives in enumerate(side.drives) if drives == direction]
        if own:
            cutoff = np.nan_to_num(side.events[direction]["front"].percent["cutoff"])
            ranked = sorted(own, key=lambda i: -cutoff[i])
            return list(dict.fromkeys([ranked[0], ranked[len(ranked) // 2]]))
    return [0]


def plans(request: Request, side: SideEvents, a: Assessment, unit: str) -> Iterator[Plan]:
    """The pictures of one side, numbered, their titles saying which."""
    here = f"{a.state}, {'both sides alike' if len(a.distinct_sides) < len(a.sides) else f'{side.side} side'}"
    chosen = featured(side)
    listed = [_gear(side, chosen[0], request.crank_angle, a.engine, unit)]
    listed += [plan for i in chosen for plan in _one_notch(side, i, unit)]
    listed += _all_notches(side, unit, a.engine.targets.lead_difference)
    for number, plan in enumerate(listed, 1):
        words = re.sub(r"[^\w]+", "-", a.state).strip("-").lower()[:40]
        count = a.engine.state_names.index(a.state)
        name = f"{count}-{words}-{side.side}-{number:02d}-{plan.name}"
        yield replace(plan, name=name, title=f"{plan.title} – {here}")


def _gear(side: SideEvents, notch: int, angle: float, engine: Engine, unit: str) -> Plan:
    elevation = elevation_of(side, engine)
    words = "To scale, front to the right, cylinder and valve in section. What the file does not size is in proportion."
    title = f"The gear at crank angle {angle:g}°, notch {side.notches[notch]}"

    def draw(ax: Any) -> None:
        plot_gear(side, notch, angle, ax, unit=unit, elevation=elevation)

    return Plan("gear", title, words, height_for(elevation, 10), draw)


def _one_notch(side: SideEvents, i: int, unit: str) -> Iterator[Plan]:
    direction = side.driven(i)[0]
    here = f"notch {side.notches[i]}, running {direction}"

    def crank(axes: Any) -> None:
        plots.plot_displacement(side, i, direction, unit, axes[0]).set_xlabel("")
        plots.plot_openings(side, i, direction, unit, axes[1])

    def piston(axes: Any) -> None:
        for ax, end in zip(axes, ENDS, strict=True):
            plots.plot_openings_by_piston(side, i, end, direction, unit, ax)

    words = "Above: the valve; shaded where a port is open to steam. Below: how far each port is open."
    yield Plan("crank-angle", f"Valve and ports round the wheel, {here}", words, 6.2, crank, (2, 1))
    words = "Each curve is run out and home; 0 % is that end's dead centre."
    yield Plan("piston", f"Ports along the stroke, {here}", words, 3.4, piston, (1, 2))
    words = "Set off along the crank. Thin: the equivalent eccentric; heavy: the exact motion; arcs: steam lap."
    yield Plan(
        "polar",
        f"Polar valve diagram, {here}",
        words,
        4.6,
        lambda ax: plot_polar(side, i, direction, unit, ax),
        axes={"projection": "polar"},
    )


def _all_notches(side: SideEvents, unit: str, allowed: float) -> Iterator[Plan]:
    words = "Valve against piston, each notch in the direction it drives."
    yield Plan("ellipses", "Valve ellipses", words, 4.2, lambda ax: notch_plots.plot_ellipses(side, unit, ax))
    words = "Filled marks: front end; open marks: back end."
    yield Plan("events", "Events, notch by notch", words, 4.2, lambda ax: notch_plots.plot_events_by_notch(side, ax))
    words = "The band is the difference allowed between the ends."
    yield Plan("leads", "Lead, notch by notch", words, 3.2, lambda ax: notch_plots.plot_leads(side, unit, allowed, ax))
    if side.gear.slot is not None:
        words = "Where the die stands along the slot through the revolution."
        yield Plan("die", "The die in the slot", words, 4.0, lambda ax: notch_plots.plot_die(side, unit, ax))
