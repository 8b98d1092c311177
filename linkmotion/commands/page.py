"""``linkmotion page``: the page that moves, as one file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import PAGE, Outputs
from linkmotion.studies.assess import assess
from linkmotion.studies.doubts.judged import DoubtfulState, doubtful
from linkmotion.studies.page_data import PageData, page_data
from linkmotion.views.moving.page_words import why
from linkmotion.views.printout import Answer, Point, print_json, show
from linkmotion.views.progress import progress


@dataclass(frozen=True)
class PageRequest:
    """What the user asked for."""

    engine: Path
    states: tuple[str, ...] = ()  # all, if none
    into: Path | None = None
    json: bool = False
    replace: bool = False

    @property
    def file(self) -> Path:
        """Where the page goes."""
        return self.into or self.engine.parent / f"{self.engine.stem}-moving.html"


def run_page(request: PageRequest) -> int:
    """Write the page; 0.

    Raises
    ------
    FileError
        The drawing, or a state asked for by name, cannot be turned; or the file may not be written.
    """
    output = Outputs((request.engine,), request.replace).file(request.file, PAGE)
    found = moved(request.engine, request.states)
    from linkmotion.views.moving.page import page

    shown = list(dict.fromkeys(case.state for case in found.cases))
    size = output.write(page(found, _doubts(found.engine, shown)))
    left_out = {state: why(reason, found.engine.unit) for state, reason in found.left_out.items()}
    if request.json:
        made = {"file": str(request.file), "bytes": size, "states": shown, "left_out": left_out}
        print_json("page", found.engine.unit, {"engine": found.engine.name} | made)
        return 0
    told = f"{request.file}: open it in any browser, or carry it on a memory stick; it needs no network."
    missing = (Point(f"The state {state!r} is not shown: {reason}") for state, reason in left_out.items())
    show([Answer(told, str(request.file)), *missing])
    return 0


def _doubts(engine: Engine, states: list[str]) -> dict[str, DoubtfulState]:
    """What doubts of figures make of some states; nothing of those that have none."""
    if not any(taken.parts for taken in engine.taken.values()):
        return {}
    known = {state: doubtful(assess(engine, state)) for state in states}
    return {state: own for state, own in known.items() if own is not None}


def moved(file: Path, states: tuple[str, ...]) -> PageData:
    """An engine's motion, tabulated."""
    engine = engine_with(file, states)
    with telling(engine, file), progress() as begin:
        found = page_data(engine, states or None, progress=begin("positions of the reverser, state by state"))
    for state in states:
        if state in found.left_out and state != DRAWING:
            remedy = "run linkmotion check with this state, which names the part"
            reason = why(found.left_out[state], engine.unit)
            raise FileError(str(file), f"the state {state!r} cannot be shown: {reason}", remedy)
    return found
