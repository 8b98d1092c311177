"""``linkmotion form``: a readings file to be filled in at the engine."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.lengths import UNITS
from linkmotion.files.readings_form import csv_form, form
from linkmotion.files.results import write_whole
from linkmotion.studies.assess import assess


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
    """Write the form; CSV by the file's suffix, else TOML."""
    engine = engine_with(request.engine, [request.state], request.notches)
    unit = request.unit or engine.unit
    if unit not in UNITS:
        raise FileError("linkmotion form", f"no unit {unit!r}", nearest(unit, list(UNITS)))
    if request.file.exists() or request.file.is_symlink():
        raise FileError(str(request.file), "this file is there already", "choose another name; nothing was written")
    with telling(engine, request.engine):
        side = assess(engine, request.state, request.sides[:1]).sides[0]
    write = csv_form if request.file.suffix.lower() == ".csv" else form
    write_whole(request.file, write(engine, side, request.sides, unit, request.notches))
    print(f"{request.file}: fill in what was read, then: linkmotion diagnose {request.engine} {request.file}")
    return 0
