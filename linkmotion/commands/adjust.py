"""``linkmotion adjust``: how to set the valves, from readings taken on the engine."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING, Engine
from linkmotion.face.advice import EngineAdvice, advised
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import OutputFolder, Outputs
from linkmotion.files.readings_file import read_readings
from linkmotion.files.side_named import sides_read
from linkmotion.sides import BOTH, SIDE_NAMES
from linkmotion.studies.figures.figure import DEGREES, MM, Reading
from linkmotion.studies.row_figures import measured
from linkmotion.studies.setting.advice import Advice
from linkmotion.studies.setting.foreseen import DIAGNOSIS, Foreseen
from linkmotion.views.paper import PaperPage
from linkmotion.views.printout import print_json, show

NAMES = tuple(f"{side}-{name}.svg" for side in SIDE_NAMES for name in ("readings", "effects"))  # of the plots


@dataclass(frozen=True)
class AdjustRequest:
    """What the user asked for.

    Attributes
    ----------
    engine, readings : Path
        The files; without readings the gear is taken as its file has it.
    state : str
        State of the engine file, where there are no readings (these name their own).
    side : str
        Which is to be set: by its name, or "both" for every one there is.
    basis : str
        "diagnosis" or "drawing": see Foreseen.
    choice : str
        Which choice is told; "" the default.
    move_sound_parts, once_mended : bool
        See :func:`linkmotion.face.advice.advise`.
    sheet, pictures : Path or None
        HTML page to take to the engine; folder for the plots.
    paper : str
        Paper for which the page is written as PDF too; "" for none.
    json : bool
        Whether to print everything as JSON.
    replace : bool
        Whether the user's own files may be written over.
    """

    engine: Path
    readings: Path | None = None
    state: str = DRAWING
    side: str = BOTH
    basis: str = DIAGNOSIS
    choice: str = ""
    move_sound_parts: bool = False
    once_mended: bool = False
    sheet: Path | None = None
    paper: str = ""
    pictures: Path | None = None
    json: bool = False
    replace: bool = False


def run_adjust(request: AdjustRequest) -> int:
    """Find what to alter; 1 when a target is out as it stands, else 0.

    Raises
    ------
    FileError
        Wrong input.
    """
    outputs = Outputs((request.engine, request.readings), request.replace)
    sheet = PaperPage.into(request.sheet, outputs, request.paper) if request.sheet else None
    folder = outputs.folder(request.pictures, "setting", *NAMES)
    engine = engine_with(request.engine, [request.state])
    with telling(engine, request.engine):
        found = advice_of(request, engine)
    _write(found, sheet, folder)
    if request.json:
        print_json("adjust", found.unit, _data(found))
    else:
        from linkmotion.views.setting_table import advice_blocks

        title = f"{found.engine.name}, state {found.state!r}"
        show(advice_blocks(title, found.words(), found.foreseen, found.assumed))
    allowed = found.engine.targets.lost_motion
    return int(bool(found.out_now) or any(own.lost > allowed for own in found.foreseen))


def advice_of(request: AdjustRequest, engine: Engine) -> EngineAdvice:
    """The advice that is asked for.

    Parameters
    ----------
    request, engine : AdjustRequest, Engine
        What was asked for; as read.

    Raises
    ------
    FileError
        Wrong input.
    """
    readings = read_readings(request.readings, engine) if request.readings else None
    if readings is not None and request.state not in (DRAWING, readings.state):
        problem = f"the readings are against the state {readings.state!r}"
        remedy = "leave --state out; for advice by the engine file alone give the file itself, without readings"
        raise FileError("--state", problem, remedy)
    state = readings.state if readings else request.state
    names = sides_read(engine, request.engine, readings, request.side)
    found = advised(
        engine, state, names, readings, request.basis, str(request.engine),
        move_sound_parts=request.move_sound_parts, once_mended=request.once_mended,
    )  # fmt: skip
    return found.choose(request.choice) if request.choice else found


def _write(found: EngineAdvice, sheet: PaperPage | None, folder: OutputFolder | None) -> None:
    if sheet is not None:
        from linkmotion.views.setting_sheet import setting_sheet

        sheet.write(setting_sheet(found.engine, found.state, found.words(), found.foreseen, found.assumed))
    if folder is not None:
        from linkmotion.views.setting_plots import setting_pictures

        folder.write(setting_pictures(found.words(), found.foreseen, (found.engine.name, found.state)))


def _data(found: EngineAdvice) -> dict[str, Any]:
    """Everything as plain data."""
    advice = found.advice

    def read(own: Foreseen, i: int, reading: Reading) -> dict[str, Any]:
        where = {"kind": reading.kind, "notch": reading.notch, "direction": reading.direction, "end": reading.end}
        expected = [measured(value, reading.unit) for value in own.expected[:, i]]
        warm = None if own.in_service is None else [measured(value, reading.unit) for value in own.in_service[:, i]]
        read = {"unit": reading.unit, "read": measured(reading.value, reading.unit)}
        return where | read | {"expected": expected, "in_service": warm}

    def target(k: int) -> dict[str, Any]:
        goal, unit = advice.goals[k], advice.goals[k].hold.unit
        figures = {
            "target_limit": goal.hold.limit, "limit": goal.limit, "before": advice.held_before[k],
            "after": advice.held_after[k], "doubt": 2 * advice.problem.doubt[k],
        }  # fmt: skip
        named = {"target": str(goal.hold), "side": goal.side, "unit": unit}
        return named | {name: measured(value, unit) for name, value in figures.items()}

    return {
        "engine": found.engine.name,
        "state": found.state,
        "adjustments_assumed": found.assumed,
        "moving_sound_parts": found.found.moving_sound_parts,
        "once_mended": found.once_mended,
        "choice": found.choice,
        "choices": [_choice(found, own) for own in found.found.every],
        "repairs": _repairs(found),
        "work": _work(found),
        "targets": [target(k) for k in range(len(advice.goals))],
        "all_met": advice.met,
        "barrier": advice.barrier,
        "sides": [
            {"side": own.side, "basis": own.basis, "note": own.note, "grows": measured(own.grows, MM),
             "readings": [read(own, i, reading) for i, reading in enumerate(own.readings)]}
            for own in found.foreseen
        ],
    }  # fmt: skip


def _choice(found: EngineAdvice, own: Advice) -> dict[str, Any]:
    words = found.words(own)
    works = [f"{words.where(work)}: {words.work(work)}" for work in own.works]
    figures = {"out": len(own.out(own.held_after)), "newly_out": len(own.newly_out), "hours": own.hours}
    return {"names": list(own.names), "default": found.found.default in own.names, **figures, "work": works}


def _repairs(found: EngineAdvice) -> list[dict[str, Any]]:
    words = found.words()
    return [
        {
            "side": own.side, "dimension": ".".join(own.off.key), "probability": own.off.sure,
            "off": measured(own.off.by, unit := DEGREES if own.off.key in words.angles else MM), "unit": unit,
        }
        for own in found.found.repairs
    ]  # fmt: skip


def _work(found: EngineAdvice) -> list[dict[str, Any]]:
    """The work in order, as plain data."""
    words = found.words()
    rows = []
    for work in found.advice.works:
        own = work.adjustment
        unit = DEGREES if own.key in words.angles else MM
        head = {"side": own.side, "dimension": ".".join(own.key), "kind": words.kind(work), "steps": work.steps}
        cost = {"hours": own.hours, "hours_assumed": own.hours_assumed}
        told = {"words": words.work(work), "effect": words.effect(work), "if_need_be": work.if_need_be}
        rows.append(head | {"amount": measured(work.amount, unit), "unit": unit} | cost | told)
    return rows
