"""``linkmotion hold``: which tolerances must be held, and what they make of the events."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.commands.workers import cores, workers
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import Outputs
from linkmotion.files.results import as_csv
from linkmotion.files.tolerances_read import read_tolerances
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.tolerances.limits import Kept, holds, kept
from linkmotion.studies.tolerances.loosest import YIELD, Loosest, loosest, reachable
from linkmotion.studies.tolerances.rows import hold_rows, share_rows, spread_rows, tolerance_rows
from linkmotion.studies.tolerances.spread import (
    SAMPLES,
    SEED,
    Sampled,
    Spread,
    linear_spread,
    model_of,
    monte_carlo,
    toleranced_side,
)
from linkmotion.studies.tolerances.tolerance import Tolerance
from linkmotion.views.printout import Answer, Aside, Block, Point, print_data, print_json, show
from linkmotion.views.progress import progress

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
    """

    engine: Path
    state: str = DRAWING
    side: str = "left"
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


@dataclass(frozen=True, eq=False)
class Held:
    """Everything found for one request."""

    engine: Engine
    side: SideEvents
    tolerances: dict[Key, Tolerance]
    linear: Spread
    sampled: Sampled
    kept: Kept
    loosest: Loosest | None


def run_hold(request: HoldRequest) -> int:
    """Do the job; 0 when the wanted share of engines keeps every target at the present tolerances, else 1.

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
    with telling(engine, request.engine):
        found = _found(request, engine)
    if folder is not None:
        from linkmotion.views.tolerance_plots import pictures

        of = (engine.name, f"{request.state}, {request.side} side")
        folder.write(pictures(found.sampled, found.linear, found.kept, engine.unit, of))
    if request.output == "json":
        print_json("hold", engine.unit, _data(found, request))
    elif request.output == "csv":
        print_data(as_csv(spread_rows(found.sampled, found.linear), engine.unit))
    else:
        show(_blocks(found, request))
    return int(found.kept.share < request.wanted)


def _found(request: HoldRequest, engine: Engine) -> Held:
    side = toleranced_side(engine.side_state(request.state, request.side), request.notches or None)
    names = request.notches or side.notches
    own = _tolerances(request, engine, side)
    with workers(request.processes or cores()) as executor, progress() as told_of:
        linear, model = linear_spread(side, own, names), model_of(side, own, names)
        drawn = request.samples, request.seed, executor
        sampled = monte_carlo(side, own, names, *drawn, told_of("present tolerances"), model)
        limits, _missed = reachable(holds(engine.targets, sampled.figures), sampled.nominal)
        best = None
        if request.search and limits:
            stage = told_of("loosest set")
            best = loosest(side, own, engine.targets, names, request.wanted, *drawn, stage, model)
    return Held(engine, side, own, linear, sampled, kept(holds(engine.targets, sampled.figures), sampled.values), best)


def _tolerances(request: HoldRequest, engine: Engine, side: SideEvents) -> dict[Key, Tolerance]:
    return read_tolerances(engine, side, request.engine, request.tables or None)


def _blocks(found: Held, request: HoldRequest) -> Iterator[Block]:
    from linkmotion.views.tables import CAUTION
    from linkmotion.views.tolerance_table import (
        alike_lines,
        hold_table,
        overlap_line,
        shares_table,
        spread_table,
        tolerance_table,
    )

    unit, (answer, *words) = found.engine.unit, _words(found, request)
    yield Answer(answer)
    yield from map(Point, words)
    rows = list(spread_rows(found.sampled, found.linear))
    title = f"{found.engine.name}, {request.state}: events in the mean, ± what holds 95 % of gears"
    yield spread_table(rows, title, unit)
    yield from overlap_line(rows)
    if request.shares:
        own = list(share_rows(found.sampled))
        for place in dict.fromkeys((row["notch"], row["direction"]) for row in own if row["direction"]):
            yield shares_table(own, place)
    yield hold_table(hold_rows(found.kept, found.sampled), unit)
    tolerances = list(tolerance_rows(found.side.gear, found.tolerances, found.loosest))
    yield tolerance_table(tolerances, unit)
    yield from alike_lines(tolerances, unit)
    yield Aside(CAUTION)


def _words(found: Held, request: HoldRequest) -> Iterator[str]:
    """What the tables say, in plain words."""
    now, best = found.kept, found.loosest
    share, error = f"{100 * now.share:.1f} %", f"± {200 * now.error:.1f}"
    wanted = f"{100 * request.wanted:g} % wanted"
    yield f"At the present tolerances {share} ({error}) of engines keep every target; {wanted}."
    for cause, count in found.sampled.causes.most_common():
        yield f"{count} of {len(found.sampled.values)} gears cannot be assembled: {cause}."
    if best is not None:
        share = f"{100 * best.kept.share:.1f} %"
        rule = "Cost rule: halving any tolerance costs as much as halving any other."
        yield (
            f"With the loosest set {share} do. {rule}"
            if best.met
            else f"No set was found that does: the tightest looked at keeps {share}."
        )
    missed = reachable(holds(found.engine.targets, found.sampled.figures), found.sampled.nominal)[1]
    for hold, size in missed:
        yield f"The drawing itself does not keep: {hold} ({size:.3g} {hold.unit} against {hold.limit:.3g})."
    if any(own.from_nothing for own in found.tolerances.values()):
        yield (
            "Clearances are made anywhere from nothing to the figure; the valve is dragged after the gear through "
            "them (slow running), so that leads and travel fall in the mean."
        )
    if any(own.assumed for own in found.tolerances.values()):
        yield "'assumed': no tolerance is given for it, and a general workshop tolerance stands in."


def _data(found: Held, request: HoldRequest) -> dict[str, Any]:
    best = found.loosest
    listed = {
        "events": list(spread_rows(found.sampled, found.linear)),
        "shares": list(share_rows(found.sampled)),
        "targets": list(hold_rows(found.kept, found.sampled)),
        "tolerances": list(tolerance_rows(found.side.gear, found.tolerances, best)),
    }
    return {
        "engine": found.engine.name,
        "state": request.state,
        "side": request.side,
        "samples": request.samples,
        "seed": request.seed,
        "cannot_be_assembled": dict(found.sampled.causes),
        "wanted": request.wanted,
        "kept": found.kept.share,
        "kept_by_loosest": best.kept.share if best else None,
        "loosest_found": best.met if best else None,
    } | listed
