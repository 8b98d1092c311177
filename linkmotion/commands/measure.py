"""``linkmotion measure``: sheets on which an engine's dimensions are written as they are measured."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.lengths import UNITS
from linkmotion.files.outputs import MARKS, OutputFile, Outputs
from linkmotion.gears import GEARS
from linkmotion.views.paper import PaperPage
from linkmotion.views.printout import Answer, Command, show


@dataclass(frozen=True)
class MeasureRequest:
    """What the user asked for.

    Attributes
    ----------
    engine : Path or None
        Engine file; None for a bare gear.
    gear : str
        The gear, where no engine file is given.
    into, marks : Path or None
        The page; a file of wheel marks to be filled in.
    state : str
        State whose figures are written in.
    unit : str
        Of lengths; the engine file's, if "" (of a bare gear millimetres).
    paper : str
        Paper for which the page is written as PDF too; "" for none.
    replace : bool
        Whether the user's own pages may be written over.
    """

    engine: Path | None = None
    gear: str = ""
    into: Path | None = None
    state: str = DRAWING
    unit: str = ""
    marks: Path | None = None
    paper: str = ""
    replace: bool = False


def run_measure(request: MeasureRequest) -> int:
    """Write the sheets.

    Raises
    ------
    FileError
        Wrong input.
    """
    _see(request)
    into = request.into or _usual(request)
    outputs = Outputs((request.engine,), request.replace)
    page = PaperPage.into(into, outputs, request.paper)
    marks = outputs.file(request.marks, MARKS)
    _write(request, page, marks)
    show([Answer(f"{into}: to measure by, and to write on.", str(into))])
    if marks is not None:
        engine = request.engine or "ENGINE"
        show([Answer(f"{request.marks}: fill in the marks, then:", str(request.marks)),
              Command(f"linkmotion tram {engine} {request.marks}")])  # fmt: skip
    return 0


def _see(request: MeasureRequest) -> None:
    """See that an engine or a gear is named, and a unit that there is."""
    place = "linkmotion measure"
    if (request.engine is None) == (not request.gear):
        raise FileError(place, "an engine file or --gear", "name one of the two, such as --gear walschaerts")
    if request.gear and request.gear not in GEARS:
        raise FileError("--gear", f"no gear {request.gear!r}", nearest(request.gear, list(GEARS)))
    if request.gear and request.state != DRAWING:
        raise FileError("--state", "a bare gear has no states", "give an engine file, or leave out --state")
    if request.unit and request.unit not in UNITS:
        raise FileError("--unit", f"no unit {request.unit!r}", nearest(request.unit, list(UNITS)))


def _usual(request: MeasureRequest) -> Path:
    if request.engine is None:
        return Path(f"{request.gear.replace(' ', '_')}-measuring.html")
    return request.engine.parent / f"{request.engine.stem}-measuring.html"


def _write(request: MeasureRequest, page: PaperPage, marks: OutputFile | None) -> None:
    from linkmotion.files.marks_form import marks_form
    from linkmotion.files.pattern import pattern
    from linkmotion.views.measuring_parts import Measured
    from linkmotion.views.measuring_sheets import measuring_sheets

    if request.engine is None:
        measured = Measured(GEARS[request.gear], pattern(request.gear), False, DRAWING, request.unit or "mm")
        html = measuring_sheets(measured)
    else:
        engine = engine_with(request.engine, [request.state])
        measured = Measured(engine.gear_type, engine, True, request.state, request.unit or engine.unit)
        with telling(engine, request.engine):
            html = measuring_sheets(measured)
    page.write(html)
    if marks is not None:
        marks.write(marks_form(measured.unit))
