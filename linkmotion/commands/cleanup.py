"""``linkmotion cleanup``: how to clean up a slot."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING, Engine, SideState
from linkmotion.files.engine_folder import EngineFolder
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.lengths import format_length
from linkmotion.files.lines import key_lines, line_of
from linkmotion.files.outputs import OutputFolder, Outputs
from linkmotion.files.schema import cleanup_model
from linkmotion.files.side_named import sides_asked
from linkmotion.files.slot_readings import read_slot_readings
from linkmotion.files.source import dotted
from linkmotion.sides import side_words
from linkmotion.studies.row_figures import Length
from linkmotion.studies.slot.cleanup_rows import (
    AS_DRAWN,
    clean_within,
    event_rows,
    least_cut,
    proposal_row,
    within_targets,
    worn_course_row,
)
from linkmotion.studies.slot.in_gear import MID_SLOT, SlotInGear, clean_up_in_gear, gauge_of, slot_of
from linkmotion.studies.slot.machining_rows import machining_rows
from linkmotion.studies.slot.parts import Limits, Tools
from linkmotion.studies.slot.remarks import remarks
from linkmotion.views.paper import on_paper, see_paper
from linkmotion.views.printout import OUT, Answer, Aside, Block, Heading, Point, Said, print_json, show
from linkmotion.views.progress import Told
from linkmotion.wear.slot_drawing import FACES, SlotError
from linkmotion.wear.slot_faces import FaceReadings, ReadingError, SlotReadings

_LIMITS = ("cut_front", "cut_back", "wall_front", "wall_back", "least_wall")
_TOOLS = ("cutter", "station_step", "die_hole")


@dataclass(frozen=True)
class CleanupRequest:
    """What the user asked for.

    Attributes
    ----------
    engine : Path
        Engine file.
    state, side : str
        Whose slot; the first side's, if "".
    readings : Path or None
        File of depth readings instead of the state's own.
    given : tuple of str
        "KEY=VALUE": figures instead of those of the [cleanup] table.
    into : Path or None
        Folder for sheets and drawings (ENGINE-SIDE-slot-report beside the file if not given).
    output : str
        "sheets", "tables" (print only) or "json".
    paper : str
        Paper for which the sheets are written as PDF too; "" for none.
    replace : bool
        Whether the user's own files may be written over.
    home : Path or None
        The engine's folder, in which readings are looked for where the state has none of its own.
    """

    engine: Path
    state: str
    side: str = ""
    readings: Path | None = None
    given: tuple[str, ...] = ()
    into: Path | None = None
    output: str = "sheets"
    paper: str = ""
    replace: bool = False
    home: Path | None = None

    @property
    def folder(self) -> Path:
        """Where the sheets go."""
        return self.into or self.engine.parent / f"{self.engine.stem}-{self.side}-slot-report"


def run_cleanup(request: CleanupRequest) -> int:
    """Find the proposals and write their sheets; 1 when none cleans both faces up within the limits, else 0.

    Raises
    ------
    FileError
        Wrong input.
    """
    if request.output == "sheets":
        see_paper(request.paper)
    folder = _folder(request) if request.into else None  # before the engine is read, where it needs no side's name
    engine = engine_with(request.engine, [request.state])
    sides = sides_asked(engine, request.engine, request.side or engine.sides[0])
    if len(sides) > 1:
        raise FileError("--side", "a sheet is for one slot", f"give {' or '.join(f'--side {own}' for own in sides)}")
    request = replace(request, side=sides[0])
    folder = folder or _folder(request)
    setup = engine.side_state(request.state, request.side)
    if request.home is not None and request.readings is None and not setup.condition.slot:
        request = replace(request, readings=EngineFolder(request.home).slot_of(request.side))
    with telling(engine, request.engine):
        work = worked_out(request, engine, setup)
    if request.output == "json":
        print_json("cleanup", engine.unit, _data(request, engine, work))
    else:
        _print(request, engine, work, folder)
    return int(not any(clean_within(work, proposal) for proposal in work.done.proposals))


def _folder(request: CleanupRequest) -> OutputFolder | None:
    """Where the sheets go, free to be written; None where none are wanted."""
    if request.output != "sheets":
        return None
    return Outputs((request.engine, request.readings), request.replace).folder(request.folder, "slot")


def worked_out(request: CleanupRequest, engine: Engine, setup: SideState, progress: Told | None = None) -> SlotInGear:
    """The proposals in their gear.

    Parameters
    ----------
    request, engine, setup : CleanupRequest, Engine, SideState
        What was asked for, of what; the side in its state.
    progress : callable, optional
        As for :func:`~linkmotion.studies.slot.in_gear.clean_up_in_gear`.

    Raises
    ------
    FileError
        Readings or figures are missing, or cannot be used.
    """
    figures = {**engine.cleanup, **_given(request, engine)}
    try:
        slot_of(setup.gear)
        front, back = _faces(request, engine, setup)
        _needed(request, engine, figures)
        limits = Limits(**{key: figures[key] for key in _LIMITS if key in figures})
        return clean_up_in_gear(
            setup, SlotReadings(front, back, *gauge_of(figures)), figures["slot_width"],
            figures.get("die_length", setup.condition.die_length), limits,
            figures.get("clearance", 0.1), figures.get("allowance", 0.0), figures.get("datum", MID_SLOT),
            Tools(**{key: figures[key] for key in _TOOLS if key in figures}), progress,
        )  # fmt: skip
    except SlotError as error:
        raise _faulty(request, engine, error) from None


def _faulty(request: CleanupRequest, engine: Engine, error: SlotError) -> FileError:
    """What cannot be used, with the file in which it stands."""
    problem = "slot: " + error.words.format(*(format_length(size, engine.unit) for size in error.sizes))
    if isinstance(error, ReadingError) and request.readings is not None:
        return FileError(str(request.readings), problem, error.remedy)
    readings = ("state", request.state, request.side, "wear", "slot")
    lines, where = key_lines(engine.text), readings if isinstance(error, ReadingError) else ("cleanup",)
    return FileError(str(request.engine), problem, error.remedy, lines.get(where))


def _given(request: CleanupRequest, engine: Engine) -> dict[str, Any]:
    """Figures given on the command line, read as the file's own."""
    from pydantic import ValidationError

    model, found = cleanup_model(engine.unit), {}
    for wish in request.given:
        key, mark, value = (part.strip() for part in wish.partition("="))
        key = key.replace("-", "_").replace(" ", "_")
        if not mark or key not in model.model_fields:
            raise FileError("--given", f"read {wish!r}", f"write KEY=VALUE; {nearest(key, list(model.model_fields))}")
        try:
            found[key] = getattr(model.model_validate({key: value}), key)
        except ValidationError as error:
            problem = str(error.errors()[0]["ctx"]["error"])
            raise FileError("--given", f"{key}: {problem}", str(model.model_fields[key].description)) from None
    return found


def _faces(request: CleanupRequest, engine: Engine, setup: SideState) -> tuple[FaceReadings, FaceReadings]:
    """Readings of both faces: from a file of their own, or as the state has them."""
    if request.readings is not None:
        return read_slot_readings(request.readings, engine.unit)
    slot = setup.condition.slot
    if not slot:
        place = "wear" if request.state == DRAWING else dotted(("state", request.state, request.side, "wear"))
        problem = f"no depth readings of the slot ({request.state}, {side_words(request.side)})"
        raise FileError(str(request.engine), problem, f"give slot = [ … ] in [{place}], or --readings FILE")
    at = [reading.at for reading in slot]
    front, back = (FaceReadings(at, [getattr(reading, face) for reading in slot]) for face in FACES)
    return front, back


def _needed(request: CleanupRequest, engine: Engine, figures: dict[str, Any]) -> None:
    """See that what has no default is given."""
    for key in ("slot_width", "gauge"):
        if key not in figures:
            where = ("cleanup", key)
            meaning = cleanup_model(engine.unit).model_fields[key].description
            line = line_of(key_lines(engine.text), where)
            remedy = f'give it in [cleanup], or --given "{key}=…": {meaning}'
            raise FileError(str(request.engine), "missing", remedy, line, dotted(where))


def _print(request: CleanupRequest, engine: Engine, work: SlotInGear, folder: OutputFolder | None) -> None:
    from linkmotion.views.machining_sheet import sheets

    side = f"{request.state}, {side_words(request.side)}"
    if folder is not None:
        folder.write(on_paper(sheets(work, f"{engine.name}: {side}", engine.unit), request.paper))
    show(blocks(side, engine, work, folder.path if folder is not None else None))


def blocks(side: str, engine: Engine, work: SlotInGear, folder: Path | None = None) -> Iterator[Block]:
    """What is told of a clean-up: which proposal first.

    Parameters
    ----------
    side, engine, work : str, Engine, SlotInGear
        State and side in words; as read; the proposals.
    folder : Path, optional
        Where sheets were written.
    """
    from linkmotion.views.machining_table import events_table, proposals_table
    from linkmotion.views.machining_words import Figures
    from linkmotion.views.tables import CAUTION

    figures = Figures(engine.unit)
    yield Answer(_advice(work, engine, figures))
    yield Heading(f"{engine.name}: {side}")
    for remark in remarks(work.done):
        words = remark.words.format(*(figures.with_unit(size) for size in remark.sizes))
        yield Point(words, OUT if remark.warns else "·")
    for name, why in work.stuck.items():
        yield Point(f"{name}: no events, {why}", OUT)
    yield proposals_table(work, "Slot clean-up", engine.targets, engine.unit)
    own = work.done.readings
    gauge, zero, tilt, allowance, clearance = map(
        figures.with_unit, (2 * own.uncertainty, 2 * own.zero, 2 * own.tilt, work.done.allowance, work.done.clearance)
    )
    yield Said(f"A reading is within ± {gauge} by itself (two sigma), all of a face together within ± {zero} by the "
               f"gauge's zero and ± {tilt} at the slot's ends by its tilt; cuts go {allowance} deeper than read; "
               f"the new die block has {clearance} of clearance.")  # fmt: skip
    yield events_table(work, engine.unit)
    if folder is not None:
        yield Said(f"Machining sheets (to print) and DXF drawings: {folder}/", f"{folder}/")
    yield Aside(CAUTION)


def _advice(work: SlotInGear, engine: Engine, show: Any) -> str:
    """Which proposal takes least metal within the limits and the targets."""
    best, agree = least_cut(work, engine.targets)
    if best is None:
        return "No proposal cleans both faces up within the limits: see what stays low, or what is left of the metal."
    told = f"{best.name}, mean cut {show.with_unit(best.mean_cut)}"
    if agree:
        return f"Least metal that cleans up within the limits, the ends within the targets: {told}."
    why = " brings the ends within the targets"
    if work.before is not None and not within_targets(work, AS_DRAWN, engine.targets):
        why = ", nor the slot as drawn, brings the ends within the targets: something else than the slot holds them off"
    return f"Least metal that cleans up within the limits: {told}; but no proposal{why}."


def _data(request: CleanupRequest, engine: Engine, work: SlotInGear) -> dict[str, Any]:
    """Everything found."""
    from linkmotion.views.machining_words import Figures

    figures = Figures(engine.unit)
    best, agree = least_cut(work, engine.targets)
    proposals = []
    for proposal in work.done.proposals:
        own = proposal_row(work, proposal) | {"cleans_within_limits": clean_within(work, proposal)}
        faces = {cut.face: [dict(zip(("place", "cut", "left_low"), map(Length, each), strict=True))
                            for each in zip(cut.places, cut.cut, cut.hollow, strict=True)]
                 for cut in proposal.faces}  # fmt: skip
        own |= machining_rows(work, proposal, engine.unit)
        proposals.append(own | {"faces": faces, "no_events": work.stuck.get(proposal.name)})
    worn = {face: worn_course_row(work, face) for face in FACES if work.done.worn[face] is not None}
    return {
        "engine": engine.name, "state": request.state, "side": request.side, "datum": work.datum,
        "gauge": Length(work.done.readings.uncertainty), "gauge_zero": Length(work.done.readings.zero),
        "gauge_tilt": Length(work.done.readings.tilt), "allowance": Length(work.done.allowance),
        "clearance": Length(work.done.clearance),
        "limits": {key: Length(value) for key, value in asdict(work.done.limits).items()},
        "least_cut": best.name if best else None, "least_cut_keeps_targets": agree,
        "proposals": proposals, "worn_faces_95_percent": worn, "events": list(event_rows(work)),
        "remarks": [{"warns": remark.warns,
                     "words": remark.words.format(*(figures.with_unit(size) for size in remark.sizes))}
                    for remark in remarks(work.done)],
    }  # fmt: skip
