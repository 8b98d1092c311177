"""The command that works in the browser, and what ``linkmotion`` alone does."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from linkmotion.cli.app import InputFile, app


@app.command()
def bench(
    folder: Annotated[
        InputFile, typer.Argument(help="folder of engine files (this one if none)", readable=False)
    ] = Path(),
    port: Annotated[int, typer.Option(min=0, max=65535, help="port on this computer (any free one if not given)")] = 0,
    browser: Annotated[bool, typer.Option(help="open the bench in the browser")] = True,
    json: Annotated[bool, typer.Option("--json", help="print the address as JSON")] = False,
) -> None:
    """Work on the engines of a folder in the browser: the side with its figures, what follows, and every sheet.

    What is entered there is written into the engine files at once; what they were before is kept beside them.
    """
    from linkmotion.bench.opening import BenchRequest, run_bench

    raise typer.Exit(run_bench(BenchRequest(folder, port, browser and has_display(), json)))


def has_display() -> bool:
    """Whether a browser can show itself here."""
    return sys.platform in ("win32", "darwin") or any(os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY"))


def words_alone() -> list[str]:
    """What ``linkmotion`` means by itself: the bench where somebody sits before a screen, else the help."""
    seated = all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stdout)) and has_display()
    return ["bench"] if seated else ["--help"]
