"""The command line's app, and choices that commands share."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from linkmotion.cli.in_folder import engine_in
from linkmotion.files.outputs import PICTURE

ABOUT = "Valve events of steam-locomotive valve gear, from dimensions you can measure."
BEGIN = "linkmotion bench opens the browser on the engine files of this folder, and begins new ones."
app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help=ABOUT,
    epilog=BEGIN,
)


class Paper(StrEnum):
    """Papers that sheets are made for."""

    A4 = "A4"
    LETTER = "letter"


class Direction(StrEnum):
    """Directions of running to be listed."""

    DRIVEN = "driven"
    FORWARD = "forward"
    BACKWARD = "backward"
    BOTH = "both"


INPUT, FOLDER = "input", "folder"
"""What a path of the command line is, said in its annotation: a file that is read, a folder that is written into, or
the Kind of the file that is written. tests/test_kept_files.py goes through all of them."""

InputFile = Annotated[Path, INPUT]
OptionalInput = Annotated[Path | None, INPUT]
OutputFolder = Annotated[Path | None, FOLDER]
# readable=False: whether a file can be read is found, and told like every other refusal, where it is read
EngineFile = Annotated[
    InputFile, typer.Argument(help="engine file (TOML), or its folder", readable=False, callback=engine_in)
]
Notches = Annotated[list[str] | None, typer.Option("--notch", help="only this notch (more than once for several)")]
Picture = Annotated[Path | None, typer.Option(help="draw the plots into this SVG file"), PICTURE]
OnPaper = Annotated[Paper | None, typer.Option("--paper", help="write every page as PDF too, for this paper")]
Replace = Annotated[bool, typer.Option("--replace", help="write over what is there, even files of your own")]
_DRAG = typer.Option(
    min=0,
    help="friction of valve and spindle, N; takes up the play found (measured under steam: slide valve 4400 to "
    "8800, balanced 1300)",
)
Drag = Annotated[float, _DRAG]
DragIfKnown = Annotated[float | None, _DRAG]
Mass = Annotated[float, typer.Option(min=0, help="moving mass of valve and spindle, kg")]
Side = Annotated[str, typer.Option("--side", help="side by its name (left, right; middle); both: every one there is")]
OneSide = Annotated[str, typer.Option("--side", help="side by its name (left, right; middle); both: the first")]
Json = Annotated[bool, typer.Option("--json", help="print everything as JSON")]


@app.callback(help=ABOUT)
def _commands() -> None:
    """Let the app have commands, however few."""
