"""``linkmotion form``: a readings file to be filled in at the engine."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.lengths import UNITS
from linkmotion.files.outputs import FORM, PAGE, Outputs
from linkmotion.files.readings_form import csv_form, form
from linkmotion.files.side_named import sides_asked
from linkmotion.sides import BOTH
from linkmotion.studies.assess import assess
from linkmotion.views.paper import PaperPage
from linkmotion.views.printout import Answer, Command, show


@dataclass(frozen=True)
class FormRequest:
    """What the user asked for: a file, a page for the clipboard, a page for the telephone, or several of them.

    Attributes
    ----------
    engine : Path
        Engine file.
    file, sheet : Path or None
        Readings file (.toml, .csv), and HTML page to write on.
    state : str
        State in which the gear is believed to be.
    side : str
        Which is read: by its name, or "both" for every one there is.
    notches : tuple of str
        Those that will be read; all, if empty.
    unit : str
        Of bare lengths; the engine file's, if "".
    paper : str
        Paper for which the page is written as PDF too; "" for none.
    phone : Path or None
        HTML page to write, on which readings are taken on a telephone.
    replace : bool
        Whether the user's own pages may be written over; a readings file that is there stays always.
    """

    engine: Path
    file: Path | None = None
    state: str = DRAWING
    side: str = BOTH
    notches: tuple[str, ...] = ()
    unit: str = ""
    sheet: Path | None = None
    paper: str = ""
    phone: Path | None = None
    replace: bool = False


def run_form(request: FormRequest) -> int:
    """Write what was asked for, each as its name ends.

    Raises
    ------
    FileError
        Wrong input.
    """
    if request.file is None and request.sheet is None and request.phone is None:
        problem = "neither a file nor --sheet nor --phone"
        raise FileError("linkmotion form", problem, "name a readings file, such as readings.toml")
    outputs = Outputs((request.engine,), request.replace)
    output = outputs.file(request.file, FORM)
    sheet = PaperPage.into(request.sheet, outputs, request.paper) if request.sheet else None
    phone = outputs.file(request.phone, PAGE)
    engine = engine_with(request.engine, [request.state], request.notches)
    sides, unit = sides_asked(engine, request.engine, request.side), request.unit or engine.unit
    if unit not in UNITS:
        raise FileError("linkmotion form", f"no unit {unit!r}", nearest(unit, list(UNITS)))
    with telling(engine, request.engine):
        found = assess(engine, request.state, sides).sides
    side = found[0]
    if sheet is not None:
        from linkmotion.views.readings_sheet import readings_sheet

        sheet.write(readings_sheet(engine, found, unit, request.notches))
        show([Answer(f"{request.sheet}: to write on at the engine.", str(request.sheet))])
    if phone is not None:
        from linkmotion.views.phone.phone_page import phone_page

        phone.write(phone_page(engine, found, unit, request.notches))
        show([Answer(f"{request.phone}: open it on the telephone, and carry back the file that it makes, then:",
                     str(request.phone)),
              Command(f"linkmotion diagnose {request.engine} READINGS")])  # fmt: skip
    if output is not None:
        write = csv_form if output.path.suffix.lower() == ".csv" else form
        output.write(write(engine, side, sides, unit, request.notches))
        show([Answer(f"{request.file}: fill in what was read, then:", str(request.file)),
              Command(f"linkmotion diagnose {request.engine} {request.file}")])  # fmt: skip
    return 0
