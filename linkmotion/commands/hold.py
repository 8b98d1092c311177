"""``linkmotion hold``: which tolerances must be held, and what they make of the events."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.commands.workers import cores, workers
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.adjustments_table import adjustments_of_file
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import Outputs
from linkmotion.files.results import as_csv
from linkmotion.files.side_named import sides_asked
from linkmotion.files.tolerances_read import read_tolerances
from linkmotion.sides import BOTH, side_words
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.tolerances.held import Held, hold
from linkmotion.studies.tolerances.loosest import YIELD
from linkmotion.studies.tolerances.rows import hold_rows, setting_rows, share_rows, spread_rows, tolerance_rows
from linkmotion.studies.tolerances.spread import SAMPLES, SEED, toleranced_side
from linkmotion.views.printout import print_data, print_json, show
from linkmotion.views.progress import Told, progress

NAMES = ("01-front-*.svg", "01-back-*.svg", "02-front-*.svg", "02-back-*.svg")  # of the plots
MOST_SAMPLES = 1_000_000
"""Held in memory at once."""


@dataclass(frozen=True)
class HoldRequest:
    """What the user asked for.

    Attributes
    ----------
    engine : Path
        Engine file.
    state, side, notches
        Which gear, and where it is looked at (all notches unless given).
    tables : mapping
        Tolerances instead of the file's own [tolerances]; lengths as the shop writes them, bare ones in its unit.
    wanted : float
        Share of engines that must keep every target.
    samples, seed : int
        Monte Carlo: variants, seed.
    processes : int or None
        How many share the work (the result is the same); one for each core if not given.
    search : bool
        Whether to look for the loosest set.
    pictures : Path or None
        Folder for the plots.
    shares : bool
        Whether to print the share of each tolerance in every event.
    replace : bool
        Whether the user's own files may be written over.
    output : str
        "tables", "json" or "csv".
    setting : bool
        Whether the engine is set, by the file's own [adjustments].
    """

    engine: Path
    state: str = DRAWING
    side: str = BOTH
    notches: tuple[str, ...] = ()
    tables: Mapping[str, Any] = field(default_factory=dict)
    wanted: float = YIELD
    samples: int = SAMPLES
    seed: int = SEED
    processes: int | None = None
    search: bool = True
    pictures: Path | None = None
    shares: bool = False
    output: str = "tables"
    replace: bool = False
    setting: bool = True


def run_hold(request: HoldRequest) -> int:
    """Do the job; 0 when the wanted share of engines keeps every target at the present tolerances (once set), else 1.

    Raises
    ------
    FileError
        Wrong input.
    """
    if not 0 < request.wanted < 1:
        raise FileError(
            "--wanted", f"read {request.wanted:g}", "give a share of engines above 0 and below 1, such as 0.95"
        )
    if request.samples < 200:
        raise FileError("--samples", f"read {request.samples}", "give 200 or more: fewer say nothing of 95 %")
    if request.samples > MOST_SAMPLES:
        raise FileError("--samples", f"read {request.samples}", f"give {MOST_SAMPLES} or less: memory has an end")
    folder = Outputs((request.engine,), request.replace).folder(request.pictures, "tolerances", *NAMES)
    engine = engine_with(request.engine, [request.state], request.notches)
    request = replace(request, side=sides_asked(engine, request.engine, request.side)[0])
    with (
        telling(engine, request.engine),
        workers(request.processes or cores()) as executor,
        progress() as told_of,
    ):
        found = held(request, engine, executor, told_of)
    if folder is not None:
        from linkmotion.views.tolerance_plots import pictures

        own, of = found.after or found, (engine.name, f"{request.state}, {side_words(request.side)}")
        folder.write(pictures(own.sampled, own.linear, own.kept, engine.unit, of))
    if request.output == "json":
        print_json("hold", engine.unit, _data(engine, found, request))
    elif request.output == "csv":
        print_data(as_csv(spread_rows(found.sampled, found.linear, found.after), engine.unit))
    else:
        from linkmotion.views.tolerance_words import hold_blocks

        title = f"{engine.name}, {request.state}"
        show(hold_blocks(title, found, engine.unit, request.wanted, request.shares, request.setting))
    return int(found.share < request.wanted)


def held(request: HoldRequest, engine: Engine, executor: Executor | None, told_of: Callable[[str], Told]) -> Held:
    """What the tolerances make of the events.

    Parameters
    ----------
    request, engine : HoldRequest, Engine
        What was asked for, and of what.
    executor : Executor or None
        Which shares the work.
    told_of : callable
        From the name of a stage to what is told how far it is.

    Raises
    ------
    FileError
        The file's tolerances or adjustments cannot be used.
    """
    setup = engine.side_state(request.state, request.side)
    side = toleranced_side(setup, request.notches or None)
    own = read_tolerances(engine, side, request.engine, request.tables or None)
    adjustments: tuple[Adjustment, ...] = ()
    if request.setting:
        adjustments = adjustments_of_file(engine, str(request.engine), side.gear, side.settings[0])
    drawn = request.wanted, request.samples, request.seed
    return hold(
        setup, side, own, engine.targets, adjustments, request.notches, *drawn, executor, told_of, request.search
    )


def _data(engine: Engine, found: Held, request: HoldRequest) -> dict[str, Any]:
    best, after = found.loosest, found.after
    then = after.loosest if after else None
    listed = {
        "events": list(spread_rows(found.sampled, found.linear, after)),
        "shares": list(share_rows(found.sampled)),
        "targets": list(hold_rows(found.kept, found.sampled, after)),
        "tolerances": list(tolerance_rows(found.side.gear, found.tolerances, best, after)),
        "setting": list(setting_rows(found.side.gear, after)) if after else [],
    }
    return {
        "engine": engine.name,
        "state": request.state,
        "side": request.side,
        "samples": request.samples,
        "seed": request.seed,
        "cannot_be_assembled": dict(found.sampled.causes),
        "wanted": request.wanted,
        "kept": found.kept.share,
        "kept_by_loosest": best.kept.share if best else None,
        "loosest_found": best.met if best else None,
        "kept_after_setting": after.kept.share if after else None,
        "kept_by_loosest_after_setting": then.kept.share if then else None,
        "loosest_after_setting_found": then.met if then else None,
    } | listed
