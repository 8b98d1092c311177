"""``linkmotion form``: a readings file to be filled in at the engine."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.lengths import UNITS
from linkmotion.files.outputs import FORM, Outputs
from linkmotion.files.readings_form import csv_form, form
from linkmotion.studies.assess import assess
from linkmotion.views.printout import Answer, Command, show


@dataclass(frozen=True)
class FormRequest:
    """What the user asked for."""

    engine: Path
    file: Path
    state: str = DRAWING
    sides: tuple[str, ...] = ("left", "right")
    notches: tuple[str, ...] = ()
    unit: str = ""


def run_form(request: FormRequest) -> int:
    """Write the form; CSV or TOML by the file's name; what is there already stays."""
    output = Outputs((request.engine,)).file(request.file, FORM)
    engine = engine_with(request.engine, [request.state], request.notches)
    unit = request.unit or engine.unit
    if unit not in UNITS:
        raise FileError("linkmotion form", f"no unit {unit!r}", nearest(unit, list(UNITS)))
    with telling(engine, request.engine):
        side = assess(engine, request.state, request.sides[:1]).sides[0]
    write = csv_form if request.file.suffix.lower() == ".csv" else form
    output.write(write(engine, side, request.sides, unit, request.notches))
    show([Answer(f"{request.file}: fill in what was read, then:", str(request.file)),
          Command(f"linkmotion diagnose {request.engine} {request.file}")])  # fmt: skip
    return 0
