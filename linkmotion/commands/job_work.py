"""What a card says of pins, bushes and slots: the same figures as ``linkmotion pins`` and ``linkmotion cleanup``."""

from __future__ import annotations

from pathlib import Path

from linkmotion.commands.cleanup import CleanupRequest, worked_out
from linkmotion.commands.pins import pressed_joint
from linkmotion.engine import Engine
from linkmotion.files.engine_folder import EngineFolder
from linkmotion.files.faults import FileError
from linkmotion.files.pins_table import found_diameters, read_pins
from linkmotion.files.source import Source
from linkmotion.studies.repairs.job import Job
from linkmotion.studies.slot.cleanup_rows import least_cut
from linkmotion.views.job_details import CLEARANCE, JobDetails, SlotWork


def job_details(engine: Engine, file: Path, state: str, work: list[Job]) -> dict[int, JobDetails]:
    """Pins and slots of some jobs, by their numbers.

    Parameters
    ----------
    engine, file, state : Engine, Path, str
        As read; its file; before the work.
    work : list of Job
        Those that are to be done.

    Raises
    ------
    FileError
        The file's [pins] cannot be.
    """
    source = Source(engine.text, str(file))
    pins = read_pins(engine, source)
    found = {}
    for job in work:
        names = dict.fromkeys(own.key[1].removeprefix(CLEARANCE) for own in job.figures if _is_clearance(own.key))
        by_side = {side: found_diameters(engine, state, side) for side in job.sides}
        joints = {
            name: pressed_joint(pins[name], {side: own[name] for side, own in by_side.items() if name in own}, source)
            for name in names if name in pins
        }  # fmt: skip
        slots = tuple(_slot(engine, file, state, side) for side in job.slots)
        found[job.number] = JobDetails(joints, tuple(name for name in names if name not in pins), slots)
    return found


def _is_clearance(key: tuple[str, str]) -> bool:
    return key[0] == "wear" and key[1].startswith(CLEARANCE)


def _slot(engine: Engine, file: Path, state: str, side: str) -> SlotWork:
    """The clean-up of least metal by the readings that there are; what is missing, where it cannot be told."""
    setup = engine.side_state(state, side)
    try:
        readings = None if setup.condition.slot else _beside(file, side)
        work = worked_out(CleanupRequest(file, state, side, readings), engine, setup)
    except FileError as error:
        return SlotWork(side, lacking=f"{f'{error.key}: ' if error.key else ''}{error.problem}; {error.remedy}")
    best, agree = least_cut(work, engine.targets)
    if best is None:
        return SlotWork(side, lacking="no proposal cleans both faces up within the limits")
    return SlotWork(side, work, best, agree)


def _beside(file: Path, side: str) -> Path | None:
    """The table of slot readings beside an engine that has a folder of its own."""
    folder = EngineFolder(file.parent)
    return folder.slot_of(side) if len(folder.engines) == 1 else None
