"""The machining sheet of a slot clean-up: one page to print for each proposal, and the same as DXF beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from typing import Any

import numpy as np

from linkmotion.files.dxf import Lettering, as_dxf
from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.slot.face_fit import FittedFaces
from linkmotion.studies.slot.in_gear import SlotInGear
from linkmotion.studies.slot.parts import Proposal
from linkmotion.studies.slot.remarks import remarks
from linkmotion.studies.slot.stations import stations
from linkmotion.studies.slot.workpiece import workpiece
from linkmotion.valve import ENDS
from linkmotion.views.machining_drawing import HIGH, WIDE, plot_machining
from linkmotion.views.machining_plots import plot_cleanup, plot_face_cut
from linkmotion.views.machining_words import DIGITS, Figures, note_lines, station_rows, title_lines
from linkmotion.views.paper import sheet_of
from linkmotion.views.pictures import Plan, drawn, in_page
from linkmotion.views.style import as_svg
from linkmotion.views.tables import CAUTION
from linkmotion.wear.slot_drawing import BACK, FACES, FRONT, Arc, Course


def sheets(work: SlotInGear, title: str, unit: str = "mm") -> dict[str, bytes]:
    """A sheet (HTML) and a DXF drawing for each proposal, by the names of their files.

    Parameters
    ----------
    work, title, unit : SlotInGear, str, str
        A clean-up in its gear; what stands over the sheets; of lengths on them, and of the DXF.
    """
    files: dict[str, bytes] = {}
    for proposal in work.done.proposals:
        name = "slot-" + re.sub(r"\W+", "-", proposal.name)
        files[f"{name}.html"] = sheet(work, proposal, title, unit, f"{name}.dxf").encode()
        files[f"{name}.dxf"] = dxf_drawing(work, proposal, title, unit).encode()
    return files


def sheet(work: SlotInGear, proposal: Proposal, title: str, unit: str = "mm", dxf: str = "") -> str:
    """The page of one proposal."""
    show, piece = Figures(unit), workpiece(work, proposal, unit)
    station_heads, placed = station_rows(stations(piece, unit), show, not _clean(proposal))
    told = [
        (r.words.format(*(show.with_unit(size) for size in r.sizes)), r.warns)
        for r in remarks(work.done)
        if not r.words.startswith(tuple(f"{p.name}: " for p in work.done.proposals if p is not proposal))
    ]
    limits = work.done.limits
    return sheet_of(
        "machining_sheet.html",
        of=f"{title}: slot, {proposal.name}",
        title=title,
        p=proposal,
        unit_name=UNIT_NAMES[unit],
        datum=work.datum,
        caution=CAUTION,
        course=work.done.drawing.course,
        heads=_ARC if work.done.drawing.course == "arc" else _LINE,
        courses=list(_courses(work, proposal, show)),
        worn=list(_worn(work, show)),
        block=list(_block(work, proposal, show)),
        picture=in_page(slot_picture(work, proposal, unit)),
        drawing=in_page(machining_drawing(work, proposal, title, unit)),
        station_heads=station_heads,
        stations=placed,
        dxf=dxf,
        side_by_side=[
            _beside(p, show, walls=bool(np.isfinite(limits.wall_front + limits.wall_back))) for p in work.done.proposals
        ],
        walls=bool(np.isfinite(limits.wall_front + limits.wall_back)),
        events=list(_events(work.before, work.after.get(proposal.name), show)),
        stuck=work.stuck.get(proposal.name, ""),
        told=told,
    )


_ARC = ("radius", "centre x", "centre y")
_LINE = ("x at mid slot", "x at the top", "x at the bottom", "lean, °")


def _courses(work: SlotInGear, proposal: Proposal, show: Figures) -> Iterator[tuple[str, bool, list[str]]]:
    """What is to be cut, then the pin's path and the centre line as drawn, from the datum."""
    for cut in proposal.faces:
        yield f"{cut.face} face", True, _from_datum(work, show, cut.course)
    yield "pin path, with the die", False, _from_datum(work, show, proposal.path)
    yield "centre line, drawn", False, _from_datum(work, show, work.done.drawing.line)


def _from_datum(work: SlotInGear, show: Figures, course: Course) -> list[str]:
    x, y = work.origin
    if isinstance(course, Arc):
        return [show(float(figure)) for figure in (course.radius, course.centre[0] - x, course.centre[1] - y)]
    places = (0.0, work.done.drawing.top, -work.done.drawing.bottom)
    return [*(show(float(course.ahead + course.lean * place - x)) for place in places), f"{course.degrees:.4f}"]


def _worn(work: SlotInGear, show: Figures) -> Iterator[list[str]]:
    """The course to which each face has worn, with the uncertainty (95 %) that the readings leave."""
    for face in FACES:
        fit: FittedFaces | None = work.done.worn[face]
        if fit is None:
            continue
        course = fit.course()
        if isinstance(course, Arc):
            x, y, radius = fit.expanded
            figures = _from_datum(work, show, course)
            own = [f"{figure} ± {show(half)}" for figure, half in zip(figures, (radius, x, y), strict=True)]
        else:
            lean, ahead = fit.expanded
            turned = np.degrees(lean * course.square**2)
            own = [f"{show(course.ahead - work.origin[0])} ± {show(ahead)}", f"{course.degrees:.4f} ± {turned:.4f}"]
        yield [f"{face} face", *own, f"± {show(fit.place[0])}", f"{_cut_down(fit.correlation[0]):+.4f}"]


def _block(work: SlotInGear, proposal: Proposal, show: Figures) -> Iterator[tuple[str, str]]:
    """Slot and die block, line by line."""
    done, die = work.done, proposal.die
    yield "slot as drawn, width", show(done.drawing.width)
    yield "slot finished, width", show(proposal.width)
    yield f"die block, width (clearance {show(done.clearance)} in all)", show(die.width)
    for face, course in ((FRONT, die.front), (BACK, die.back)):
        flat = not isinstance(course, Arc)
        yield f"die block, {face} face{'' if flat else ' radius'}", "flat" if flat else show(course.radius)
    side = "ahead of" if die.pin_offset >= 0 else "behind"
    yield f"pin hole {side} the block's middle", show(abs(die.pin_offset))
    yield "pin path off the drawn line, most", show(proposal.residual)
    yield "the same with the hole in the middle", show(proposal.plain_residual)
    for cut in proposal.faces:
        if np.isfinite(cut.wall_left):
            wanted = f" ({show(done.limits.least_wall)} wanted)" if done.limits.least_wall else ""
            yield f"metal left behind the {cut.face} face{wanted}", show(cut.wall_left)


def _cut_down(correlation: float) -> float:
    """Cut to four places: what is not wholly correlated must not be printed as if it were."""
    return float(np.trunc(correlation * 1e4) / 1e4)


def _clean(proposal: Proposal) -> bool:
    return all(cut.clean for cut in proposal.faces)


def machining_drawing(work: SlotInGear, proposal: Proposal, title: str, unit: str) -> bytes:
    """The machining drawing of one proposal, on a page of its own, as SVG."""
    piece, size = workpiece(work, proposal, unit), (WIDE / 72, HIGH / 72)
    return as_svg(lambda ax: plot_machining(piece, title, unit, ax), size, margins=(0.0, 0.0, 0.0, 0.0))


def dxf_drawing(work: SlotInGear, proposal: Proposal, title: str, unit: str) -> str:
    """The same as DXF."""
    piece, show = workpiece(work, proposal, unit), Figures(unit)
    placed = stations(piece, unit)
    heads, rows = station_rows(placed, show, not _clean(proposal))
    table = [["station", "y", *(f"{face} {head}" for face in FACES for head in heads)], *rows]
    title_block = [*title_lines(piece, title, unit), date.today().isoformat()]
    return as_dxf(piece, placed, unit, Lettering(title_block, note_lines(piece, show), table, DIGITS[unit]))


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
        for direction in before.driven(i):
            old, new = before.events[direction], after.events[direction]
            row = [f"{notch}, {direction}"]
            for end in ENDS:
                row.append(f"{show(new[end].lead[i])} ({_signed(show, new[end].lead[i] - old[end].lead[i])})")
            for end in ENDS:
                cutoff, was = new[end].percent["cutoff"][i], old[end].percent["cutoff"][i]
                row.append("–" if np.isnan(cutoff) else f"{cutoff:.2f} ({round(cutoff - was, 2) + 0.0:+.2f})")
            yield row


def _signed(show: Figures, mm: float) -> str:
    text = show(mm)
    return text if text.startswith("-") else f"+{text}"


def slot_picture(work: SlotInGear, proposal: Proposal, unit: str) -> bytes:
    """Back face, slot to scale, front face, as they lie in the link, as SVG."""

    def draw(axes: Any) -> None:
        plot_face_cut(work.done, proposal, BACK, unit, axes[0])
        plot_cleanup(work.done, proposal, work.origin, unit, axes[1])
        plot_face_cut(work.done, proposal, FRONT, unit, axes[2])

    return drawn(Plan("slot", "The slot", "", 3.9, draw, (1, 3))).svg
