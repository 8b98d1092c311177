"""``linkmotion live``: the moving page served, and recomputed as figures are changed."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING
from linkmotion.files.faults import FileError
from linkmotion.studies.page_data import page_data
from linkmotion.views.moving.page_words import why
from linkmotion.views.printout import Answer, print_json, show


@dataclass(frozen=True)
class LiveRequest:
    """What the user asked for."""

    engine: Path
    state: str = DRAWING
    port: int = 0
    open: bool = True
    json: bool = False


def run_live(request: LiveRequest) -> int:
    """Serve until interrupted; 0.

    Raises
    ------
    FileError
        The engine cannot be turned as it is, or the port is taken.
    """
    engine = engine_with(request.engine, [request.state])
    with telling(engine, request.engine):
        found = page_data(engine, [request.state], itemised=False)
    if request.state in found.left_out:
        reason = why(found.left_out[request.state], engine.unit)
        raise FileError(str(request.engine), reason, "serve the drawing, and mend it there")
    from linkmotion.live.server import serve

    def tell(address: str) -> None:
        import webbrowser

        if request.json:
            print_json("live", engine.unit, {"engine": engine.name, "address": address}, indent=None)
        else:
            line = f"{address} on this computer only; end with Ctrl-C. Nothing is written here: save from the page."
            show([Answer(line, address)])
        sys.stdout.flush()
        if request.open:
            webbrowser.open(address)

    try:
        serve(engine, request.state, request.port, request.engine.stem, tell)
    except OSError as error:
        raise FileError("--port", f"{request.port}: {error.strerror}", "choose another, or none for any free") from None
    return 0
