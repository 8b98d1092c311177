"""The machining sheet of a slot clean-up: one page to print for each proposal, and the same as DXF beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from jinja2 import Environment, PackageLoader, select_autoescape

from linkmotion.engine import Setup
from linkmotion.files.dxf import as_dxf
from linkmotion.files.lengths import format_length
from linkmotion.files.results import write_whole
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.cleanup_fit import FittedArcs
from linkmotion.studies.cleanup_gear import MID_SLOT, SlotInGear, clean_up_in_gear
from linkmotion.studies.cleanup_parts import Limits, Proposal
from linkmotion.studies.cleanup_remarks import remarks
from linkmotion.valve import ENDS
from linkmotion.views.machining_plots import plot_cleanup, plot_face_cut
from linkmotion.views.pictures import Plan, drawn
from linkmotion.views.tables import CAUTION, UNIT_NAMES
from linkmotion.wear.slot_faces import BACK, FACES, FRONT, SlotReadings

_DIGITS = {"mm": 3, "in": 4, "ft": 5, "thou": 1}
_POINTS = 13  # places in the table of coordinates


class Figures:
    """Lengths as a machinist reads them, finer than in the table of events."""

    def __init__(self, unit: str) -> None:
        self.unit = unit

    def __call__(self, mm: float) -> str:
        """A length without its unit, which the page's head says, or a dash where there is none."""
        if not np.isfinite(mm):
            return "–"
        return format_length(float(mm), self.unit, digits=_DIGITS[self.unit]).removesuffix(f" {self.unit}")

    def with_unit(self, mm: float) -> str:
        """A length with its unit."""
        return f"{self(mm)} {self.unit}"


def run_cleanup(
    setup: Setup,
    readings: SlotReadings,
    width: float,
    into: Path,
    title: str,
    unit: str = "mm",
    *,
    die_length: float = 0.0,
    limits: Limits | None = None,
    clearance: float = 0.1,
    allowance: float = 0.0,
    datum: str = MID_SLOT,
) -> tuple[SlotInGear, list[Path]]:
    """Find the proposals for one side's slot and write their sheets and DXF drawings; lengths mm.

    Raises
    ------
    SlotError
        Figures that cannot be used (a ValueError that says problem and remedy).
    """
    work = clean_up_in_gear(setup, readings, width, die_length, limits, clearance, allowance, datum)
    return work, write_sheets(work, into, title, unit)


def write_sheets(work: SlotInGear, into: Path, title: str, unit: str = "mm") -> list[Path]:
    """Write a sheet and a DXF drawing for each proposal; gives their paths."""
    paths = []
    for proposal in work.done.proposals:
        name = "slot-" + re.sub(r"\W+", "-", proposal.name)
        paths += [into / f"{name}.html", into / f"{name}.dxf"]
        write_whole(paths[-2], sheet(work, proposal, title, unit, paths[-1].name))
        write_whole(paths[-1], as_dxf(work.done, proposal, work.origin))
    return paths


def sheet(work: SlotInGear, proposal: Proposal, title: str, unit: str = "mm", dxf: str = "") -> str:
    """The page of one proposal."""
    show = Figures(unit)
    pages = Environment(loader=PackageLoader("linkmotion.views"), autoescape=select_autoescape())
    told = [
        (r.words.format(*(show.with_unit(size) for size in r.sizes)), r.warns)
        for r in remarks(work.done)
        if not r.words.startswith(tuple(f"{p.name}: " for p in work.done.proposals if p is not proposal))
    ]
    limits = work.done.limits
    return pages.get_template("machining_sheet.html").render(
        title=title,
        p=proposal,
        unit_name=UNIT_NAMES[unit],
        datum=work.datum,
        caution=CAUTION,
        arcs=list(_arcs(work, proposal, show)),
        block=list(_block(work, proposal, show)),
        picture=_picture(work, proposal, unit),
        columns=3 if all(cut.clean for cut in proposal.faces) else 4,
        points=list(_points(work, proposal, show)),
        dxf=dxf,
        side_by_side=[
            _beside(p, show, walls=bool(np.isfinite(limits.wall_front + limits.wall_back))) for p in work.done.proposals
        ],
        walls=bool(np.isfinite(limits.wall_front + limits.wall_back)),
        events=list(_events(work.before, work.after.get(proposal.name), show)),
        stuck=work.stuck.get(proposal.name, ""),
        told=told,
    )


def _arcs(work: SlotInGear, proposal: Proposal, show: Figures) -> Iterator[dict[str, Any]]:
    """The arcs to be cut, from the datum; then as drawn, and as worn with their uncertainty."""
    drawing, origin = work.done.drawing, work.origin

    def row(name: str, radius: float, centre: Any, chosen: bool = False, spread: Any = None) -> dict[str, Any]:
        figures = (radius, centre[0] - origin[0], centre[1] - origin[1])
        shown = [show(figure) for figure in figures]
        if spread is not None:
            shown = [f"{one} ± {show(half)}" for one, half in zip(shown, spread, strict=True)]
        return {"name": name, "chosen": chosen} | dict(zip(("radius", "x", "y"), shown, strict=True))

    for cut in proposal.faces:
        yield row(f"{cut.face} face, to cut", cut.arc.radius, cut.arc.centre, True)
    yield row("pin path, with the die", proposal.path.radius, proposal.centre)
    yield row("centre line, drawn", drawing.radius, drawing.centre)
    for face in FACES:
        fit = work.done.worn[face]
        if fit is not None:
            x, y, radius = fit.expanded
            yield row(f"{face} face, worn (95 %)", float(fit.radii[0]), fit.centre, spread=(radius, x, y))


def _block(work: SlotInGear, proposal: Proposal, show: Figures) -> Iterator[tuple[str, str]]:
    """Slot and die block, line by line."""
    done, die = work.done, proposal.die
    yield "slot as drawn, width", show(done.drawing.width)
    yield "slot finished, width", show(proposal.width)
    yield f"die block, width (clearance {show(done.clearance)} in all)", show(die.width)
    yield "die block, front face radius", show(die.front_radius)
    yield "die block, back face radius", show(die.back_radius)
    side = "ahead of" if die.pin_offset >= 0 else "behind"
    yield f"pin hole {side} the block's middle", show(abs(die.pin_offset))
    yield "pin path off the drawn line, most", show(proposal.residual)
    yield "  with the hole in the middle", show(proposal.plain_residual)
    for cut in proposal.faces:
        if np.isfinite(cut.wall_left):
            yield f"metal left behind the {cut.face} face, least", show(cut.wall_left)
    for face in FACES:
        fit: FittedArcs | None = done.worn[face]
        if fit is not None:
            yield f"worn {face} face, place square to it (95 %)", f"± {show(fit.place[0])}"
            yield "  correlation of its centre x with its radius", f"{_cut_down(fit.correlation[0]):+.4f}"


def _cut_down(correlation: float) -> float:
    """Cut to four places: what is not wholly correlated must not be printed as if it were."""
    return float(np.trunc(correlation * 1e4) / 1e4)


def _points(work: SlotInGear, proposal: Proposal, show: Figures) -> Iterator[list[str]]:
    """Points along the finished faces: place, and for each face x, y from the datum and the cut there."""
    drawing = work.done.drawing
    low = not all(cut.clean for cut in proposal.faces)
    for place in np.linspace(drawing.top, -drawing.bottom, _POINTS):
        row = [show(place)]
        for cut in proposal.faces:
            x, y = drawing.point(cut.face, place, drawing.depth(cut.face, place, cut.arc)) - np.array(work.origin)
            row += [show(x), show(y), show(np.interp(place, cut.places, cut.cut))]
            row += [show(np.interp(place, cut.places, cut.hollow))] if low else []
        yield row


def _beside(proposal: Proposal, show: Figures, walls: bool) -> list[str]:
    """One proposal's line in the comparison."""
    faces = proposal.faces
    row = [proposal.name, show(proposal.mean_cut), *(show(cut.cut.max()) for cut in faces)]
    low = max(float(cut.hollow.max()) for cut in faces)
    row += [show(low) if low else "clean", show(proposal.width), show(proposal.die.pin_offset), show(proposal.residual)]
    return row + [show(cut.wall_left) for cut in faces] if walls else row


def _events(before: SideEvents | None, after: SideEvents | None, show: Figures) -> Iterator[list[str]]:
    """Lead and cutoff with the pin on its new path, and the change from the drawn slot."""
    if before is None or after is None:
        return
    for i, notch in enumerate(after.notches):
        for way in before.driven(i):
            old, new = before.events[way], after.events[way]
            row = [f"{notch}, {way}"]
            for end in ENDS:
                row.append(f"{show(new[end].lead[i])} ({_signed(show, new[end].lead[i] - old[end].lead[i])})")
            for end in ENDS:
                cutoff, was = new[end].percent["cutoff"][i], old[end].percent["cutoff"][i]
                row.append("–" if np.isnan(cutoff) else f"{cutoff:.2f} ({round(cutoff - was, 2) + 0.0:+.2f})")
            yield row


def _signed(show: Figures, mm: float) -> str:
    text = show(mm)
    return text if text.startswith("-") else f"+{text}"


def _picture(work: SlotInGear, proposal: Proposal, unit: str) -> str:
    """Back face, slot to scale, front face, as they lie in the link."""

    def draw(axes: Any) -> None:
        plot_face_cut(work.done, proposal, BACK, unit, axes[0])
        plot_cleanup(work.done, proposal, work.origin, unit, axes[1])
        plot_face_cut(work.done, proposal, FRONT, unit, axes[2])

    return drawn(Plan("slot", "The slot", "", 3.7, draw, (1, 3))).data
