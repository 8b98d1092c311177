"""``linkmotion bench``: the bench served on a folder, and opened in the browser."""

from __future__ import annotations

import sys
import threading
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.files.faults import FileError
from linkmotion.views.printout import Answer, print_json, show


def ready(folder: FolderOfEngines) -> None:
    """Load what the first page needs: the screens' studies, and how files are read and turned."""
    from linkmotion.bench.engine_at_work import EngineAtWork
    from linkmotion.bench.engine_pages import EnginePages
    from linkmotion.bench.screen import screens

    side = screens()["side"]
    for own in folder.listed()[:1]:
        with suppress(FileError):
            pages = EnginePages(EngineAtWork(*folder.of(own.name)), "/")
            pages.screen(side, {})
            pages.picture({})


@dataclass(frozen=True)
class BenchRequest:
    """What the user asked for."""

    folder: Path = Path()
    port: int = 0
    open: bool = True
    json: bool = False


def run_bench(request: BenchRequest) -> int:
    """Serve until interrupted; 0.

    Raises
    ------
    FileError
        There is no such folder, or the port is taken.
    """
    folder = FolderOfEngines(request.folder)

    threading.Thread(target=ready, args=(folder,), daemon=True).start()  # while the browser opens

    def tell(address: str) -> None:
        import webbrowser

        if request.json:
            print_json("bench", "mm", {"folder": str(request.folder), "address": address}, indent=None)
        else:
            show([Answer(f"{address} on this computer only; end with Ctrl-C.", address)])
        sys.stdout.flush()
        if request.open:
            webbrowser.open(address)

    from linkmotion.bench.serving import serve

    try:
        serve(folder, request.port, tell)
    except OSError as error:
        raise FileError("--port", f"{request.port}: {error.strerror}", "choose another, or none for any free") from None
    return 0
