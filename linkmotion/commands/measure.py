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
    engine : Path
        Engine file, or the name of a bare gear where no such file is.
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

    engine: Path
    into: Path | None = None
    state: str = DRAWING
    unit: str = ""
    marks: Path | None = None
    paper: str = ""
    replace: bool = False

    @property
    def gear(self) -> str:
        """The bare gear that is meant, or ""."""
        named = str(self.engine)
        return named if named in GEARS and not self.engine.exists() else ""


def run_measure(request: MeasureRequest) -> int:
    """Write the sheets.

    Raises
    ------
    FileError
        Wrong input.
    """
    _see(request)
    stem = request.gear.replace(" ", "_") or request.engine.stem
    into = request.into or request.engine.parent / f"{stem}-measuring.html"
    outputs = Outputs((None if request.gear else request.engine,), request.replace)
    marks = outputs.file(request.marks, MARKS)
    page = PaperPage.into(into, outputs, request.paper)
    _write(request, page, marks)
    show([Answer(f"{into}: to measure by, and to write on.", str(into))])
    if marks is not None:
        engine = "ENGINE" if request.gear else request.engine
        show([Answer(f"{request.marks}: fill in the marks, then:", str(request.marks)),
              Command(f"linkmotion tram {engine} {request.marks}")])  # fmt: skip
    return 0


def _see(request: MeasureRequest) -> None:
    """See that there is such an engine file or gear, and such a unit."""
    named = str(request.engine)
    if not request.gear and not request.engine.suffix and not request.engine.exists():
        raise FileError(named, "neither an engine file nor a gear", nearest(named, list(GEARS)))
    if request.gear and request.state != DRAWING:
        raise FileError("--state", "a bare gear has no states", "give an engine file, or leave out --state")
    if request.unit and request.unit not in UNITS:
        raise FileError("--unit", f"no unit {request.unit!r}", nearest(request.unit, list(UNITS)))


def _write(request: MeasureRequest, page: PaperPage, marks: OutputFile | None) -> None:
    from linkmotion.files.marks_form import marks_file
    from linkmotion.files.pattern import pattern
    from linkmotion.views.measuring_parts import Measured
    from linkmotion.views.measuring_sheets import measuring_sheets

    if request.gear:
        measured = Measured(GEARS[request.gear], pattern(request.gear), False, DRAWING, request.unit or "mm")
        html = measuring_sheets(measured)
    else:
        engine = engine_with(request.engine, [request.state])
        measured = Measured(engine.gear_type, engine, True, request.state, request.unit or engine.unit)
        with telling(engine, request.engine):
            html = measuring_sheets(measured)
    page.write(html)
    if marks is not None:
        marks.write(marks_file(measured.unit))
