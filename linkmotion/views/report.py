"""The report: one self-contained page to print, and the plots it shows as files beside it."""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
from jinja2 import Environment, PackageLoader, select_autoescape
from matplotlib.figure import Figure

from linkmotion.engine import Targets
from linkmotion.events import BACKWARD, EVENTS, FORWARD
from linkmotion.files.results import sentence, write_whole
from linkmotion.studies.assess import Assessment, SideEvents
from linkmotion.studies.findings import Finding
from linkmotion.studies.table import COLUMNS
from linkmotion.views import notch_plots, plots, style
from linkmotion.views.drawing import plot_gear
from linkmotion.views.request import Request
from linkmotion.views.tables import CAUTION, UNIT_NAMES, Shown, tables_of, where


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


def write_report(request: Request, results: list[Assessment], found: dict[str, list[Finding]]) -> Path:
    """Draw the plots and write them with the report; gives the report's path."""
    folder = request.into or request.engine.with_name(f"{request.engine.stem}-report")
    engine = results[0].engine
    shown = Shown(engine.unit, request.fraction_of)
    sections = [_section(request, a, found[a.state], shown) for a in results]
    pages = Environment(loader=PackageLoader("linkmotion.views"), autoescape=select_autoescape())
    text = pages.get_template("report.html").render(
        engine=engine,
        gear=engine.gear_type.name,
        file=request.engine.name,
        day=date.today().isoformat(),
        sections=sections,
        targets=_targets(engine.targets, shown),
        caution=CAUTION,
        unit=engine.unit,
        unit_name=UNIT_NAMES[engine.unit],
    )
    for section in sections:
        for picture in section["pictures"]:
            write_whole(folder / f"{picture.name}.svg", picture.svg)
    write_whole(folder / "report.html", text)
    return folder / "report.html"


def _section(request: Request, a: Assessment, found: list[Finding], shown: Shown) -> dict[str, Any]:
    told = [(f.out, where(f), sentence(f, shown.unit, shown.fraction_of)) for f in found]
    tables = [(title, list(_cells(rows, shown))) for title, rows in tables_of(a, request)]
    pictures = [picture for side in a.distinct_sides for picture in _pictures(request, side, a, shown.unit)]
    return {
        "state": a.state,
        "note": getattr(a.engine.states.get(a.state), "note", ""),
        "findings": told,
        "out": sum(f.out for f in found),
        "tables": tables,
        "events": EVENTS,
        "pictures": pictures,
    }


def _cells(rows: Any, shown: Shown) -> Iterator[dict[str, Any]]:
    """Figures as they are printed, with the first line of each notch and direction marked."""
    kinds = {column.key: column.kind for column in COLUMNS}
    form: dict[str, Callable[[Any], str]] = {
        "length": shown.length,
        "percent": shown.percent,
        "angle": shown.angle,
        "words": str,
    }
    last = None
    for row in rows:
        cells: dict[str, Any] = {key: form[kinds[key]](value) for key, value in row.items()}
        for event in EVENTS:
            cells[f"{event}_angle"] = shown.angle(row[f"{event}_angle"], event)
        cells["first"] = (row["notch"], row["running"]) != last
        last = (row["notch"], row["running"])
        yield cells


def _targets(targets: Targets, shown: Shown) -> list[tuple[str, str, str]]:
    names = {
        "lead_difference": "lead, between the ends",
        "cutoff_difference": "cutoff, between the ends",
        "side_lead_difference": "lead, between the sides",
        "side_cutoff_difference": "cutoff, between the sides",
        "lead": "lead wanted",
        "lead_within": "lead, from that wanted",
    }
    listed = [name for name in names if targets.lead is not None or (not name.startswith("lead_w") and name != "lead")]
    return [
        (
            names[name],
            f"{getattr(targets, name):g} % of stroke"
            if "cutoff" in name
            else f"{shown.length(getattr(targets, name))} {shown.unit}",
            "chosen" if name in targets.chosen else "common practice, no source",
        )
        for name in listed
    ]


def featured(side: SideEvents) -> list[int]:
    """Notches shown at length: the longest cutoff and the middle one of those that drive forward (or backward)."""
    for way in (FORWARD, BACKWARD):
        own = [i for i, drives in enumerate(side.drives) if drives == way]
        if own:
            cutoff = np.nan_to_num(side.events[way]["front"].percent["cutoff"])
            ranked = sorted(own, key=lambda i: -cutoff[i])
            return list(dict.fromkeys([ranked[0], ranked[len(ranked) // 2]]))
    return [0]


def _pictures(request: Request, side: SideEvents, a: Assessment, unit: str) -> Iterator[Picture]:
    here = f"{a.state}, {'both sides alike' if len(a.distinct_sides) < len(a.sides) else f'{side.side} side'}"

    def picture(
        name: str, title: str, words: str, size: tuple[float, float], rows: int, cols: int, draw: Callable[[Any], None]
    ) -> Picture:
        svg = _drawn(size, rows, cols, draw)
        return Picture(_file_name(f"{a.state} {side.side} {name}"), f"{title} – {here}", words, svg)

    chosen = featured(side)
    yield picture(
        "gear",
        f"The gear at crank angle {request.crank_angle:g}°, notch {side.notches[chosen[0]]}",
        "To scale, front to the right. Squares are the die and blocks, open rings are fixed on the frame.",
        (10, 4.6),
        1,
        1,
        lambda ax: plot_gear(side, chosen[0], request.crank_angle, ax),
    )
    for i in chosen:
        running = side.driven(i)[0]
        name = side.notches[i]

        def crank(axes: Any, i: int = i, running: str = running) -> None:
            plots.plot_displacement(side, i, running, unit, axes[0])
            axes[0].set_xlabel("")
            plots.plot_openings(side, i, running, unit, axes[1])

        def piston(axes: Any, i: int = i, running: str = running) -> None:
            for ax, end in zip(axes, ("front", "back"), strict=True):
                plots.plot_openings_by_piston(side, i, end, running, unit, ax)

        yield picture(
            f"crank angle {name}",
            f"Valve and ports round the wheel, notch {name}, running {running}",
            "Above: the valve; shaded where a port is open to steam. Below: how far each port is open.",
            (10, 6.2),
            2,
            1,
            crank,
        )
        yield picture(
            f"piston {name}",
            f"Ports along the stroke, notch {name}, running {running}",
            "Each curve is run out and home; 0 % is that end's dead centre.",
            (10, 3.4),
            1,
            2,
            piston,
        )
    yield picture(
        "ellipses",
        "Valve ellipses",
        "Valve against piston, each notch in the direction it drives.",
        (10, 4.2),
        1,
        1,
        lambda ax: notch_plots.plot_ellipses(side, unit, ax),
    )
    yield picture(
        "events by notch",
        "Events, notch by notch",
        "Filled marks: front end; open marks: back end.",
        (10, 4.2),
        1,
        1,
        lambda ax: notch_plots.plot_events_by_notch(side, ax),
    )
    yield picture(
        "leads",
        "Lead, notch by notch",
        "The band is the difference allowed between the ends.",
        (10, 3.2),
        1,
        1,
        lambda ax: notch_plots.plot_leads(side, unit, a.engine.targets.lead_difference, ax),
    )
    if side.gear.slot is not None:
        yield picture(
            "die",
            "The die in the slot",
            "Where the die stands along the slot through the revolution.",
            (10, 4.0),
            1,
            1,
            lambda ax: notch_plots.plot_die(side, unit, ax),
        )


def _drawn(size: tuple[float, float], rows: int, cols: int, draw: Callable[[Any], None]) -> bytes:
    with matplotlib.rc_context(style.STYLE | {"svg.hashsalt": "linkmotion"}):  # type: ignore[arg-type]
        figure = Figure(figsize=size, layout="constrained")
        draw(figure.subplots(rows, cols))
        out = io.BytesIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": "linkmotion"})
    return out.getvalue()


def _file_name(words: str) -> str:
    return re.sub(r"[^\w]+", "-", words).strip("-").lower()[:80]
