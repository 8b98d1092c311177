"""``linkmotion repairs``: which repairs to do with the hours there are, and cards for the jobs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.commands.job_work import job_details
from linkmotion.commands.pins import joint_row
from linkmotion.engine import Engine
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.outputs import Outputs
from linkmotion.files.tolerances_read import read_tolerances
from linkmotion.studies.assess import assess
from linkmotion.studies.repairs.choice import Choices, Gain, Weighed, choose
from linkmotion.studies.repairs.job import Job, expected, jobs
from linkmotion.studies.repairs.weigher import Result, Weigher, in_order
from linkmotion.studies.row_figures import Length, measured
from linkmotion.studies.slot.machining_rows import machining_rows
from linkmotion.studies.tolerances.tolerance import Tolerances
from linkmotion.views.job_details import JobDetails, SlotWork
from linkmotion.views.paper import PaperPage
from linkmotion.views.printout import Said, print_json, show
from linkmotion.views.progress import Told, progress


@dataclass(frozen=True)
class RepairsRequest:
    """What the user asked for.

    Attributes
    ----------
    engine, state : Path, str
        Engine file; the state before any repair.
    hours : float or None
        That there are; without it the best set at whatever hours.
    choose : tuple of str
        Repairs that are to be done, by name.
    notches : tuple of str
        Those looked at; all, if empty.
    cards : Path or None
        HTML page with a card for each job that is chosen.
    paper : str
        Paper for which the page is written as PDF too; "" for none.
    replace, json : bool
        Whether the user's own files may be written over; everything as JSON.
    """

    engine: Path
    state: str
    hours: float | None = None
    choose: tuple[str, ...] = ()
    notches: tuple[str, ...] = ()
    cards: Path | None = None
    paper: str = ""
    replace: bool = False
    json: bool = False


def run_repairs(request: RepairsRequest) -> int:
    """Weigh them; 1 when the best set leaves anything out of target, else 0.

    Raises
    ------
    FileError
        Wrong input.
    """
    if request.hours is not None and not (math.isfinite(request.hours) and request.hours >= 0):
        raise FileError("--hours", f"read {request.hours}", "give the hours that there are")
    page = (
        PaperPage.into(request.cards, Outputs((request.engine,), request.replace), request.paper)
        if request.cards
        else None
    )
    if request.paper and page is None:
        raise FileError("--paper", "a paper for no page", "give --cards too: the page that is to be printed")
    engine = engine_with(request.engine, [request.state], request.notches)
    with telling(engine, request.engine), progress() as begin:
        weigher, found, work = weighed(request, engine, begin("sets of repairs"))
    details: dict[int, JobDetails] = {}
    if page is not None or request.json:
        details = job_details(engine, request.engine, request.state, work)
    if page is not None:
        from linkmotion.views.job_cards import job_cards

        page.write(job_cards(engine, request.state, weigher.standing, found, work, request.engine, details))
    if request.json:
        print_json("repairs", engine.unit, _data(request, engine, weigher, found, work, details))
    else:
        from linkmotion.views.repairs_view import repairs_blocks

        show(repairs_blocks(engine, request.state, weigher.standing, found, request.hours))
        if request.cards is not None:
            show([Said(f"Job cards: {request.cards}", str(request.cards))])
    return int(found.best.result is None or found.best.result.out > 0)


def weighed(request: RepairsRequest, engine: Engine, told: Told) -> tuple[Weigher, Choices, list[Job]]:
    """What was weighed, the choices, and the jobs of the best set.

    Parameters
    ----------
    request, engine : RepairsRequest, Engine
        What was asked for, and of what.
    told : callable
        Told how many sets have been weighed, and of how many.

    Raises
    ------
    FileError
        There are no repairs in the file, or not those that are to be done.
    """
    _see(request, engine)
    weigher = Weigher(engine, request.state, request.notches or None)
    found = choose(weigher, request.hours, request.choose, told)
    return weigher, found, jobs(engine, request.state, found.best, _tolerances(engine, request))


def _see(request: RepairsRequest, engine: Engine) -> None:
    if not engine.repairs:
        remedy = 'write [repair."NAME"] with what, hours, and what it sets, or state = the state that follows'
        raise FileError(str(request.engine), "there are no repairs in this file", remedy)
    for name in request.choose:
        if name not in engine.repairs:
            raise FileError("--choose", f"there is no repair {name!r}", nearest(name, list(engine.repairs)))
        others = [other for other in request.choose if other in engine.repairs[name].excludes]
        if others:
            raise FileError("--choose", f"{name!r} excludes {others[0]!r}", "choose one of the two")


def _tolerances(engine: Engine, request: RepairsRequest) -> Mapping[str, Tolerances]:
    sides = assess(engine).sides
    return {side.side: read_tolerances(engine, side, request.engine) for side in sides}


def _data(
    request: RepairsRequest, engine: Engine, weigher: Weigher, found: Choices, work: list[Job],
    details: Mapping[int, JobDetails],
) -> dict[str, Any]:  # fmt: skip
    return {
        "engine": engine.name, "state": request.state, "standing": weigher.standing, "hours": request.hours,
        "before": _result(found.before.result), "best": _set(engine, found.best),
        "sets": [_set(engine, own) for own in found.cheapest], "weighed": found.weighed,
        "exact_up_to": found.exact_up_to, "least_out": found.least_out,
        "repairs": [_gain(engine, own, found) for own in found.gains],
        "jobs": [_job(own, details[own.number], engine.unit) for own in work],
        "expected": [
            {"side": row.side, "notch": row.notch, "direction": row.direction, "end": row.end,
             "lead": measured(row.lead, "mm"), "lead_before": measured(row.lead_before, "mm"),
             "cutoff_percent": row.cutoff, "cutoff_percent_before": row.cutoff_before}
            for row in expected(found.before, found.best)
        ],
    }  # fmt: skip


def _result(own: Result | None) -> dict[str, Any] | None:
    return None if own is None else {"out": own.out, "worst": own.worst, "lost_motion": Length(own.lost)}


def _set(engine: Engine, own: Weighed) -> dict[str, Any]:
    return {
        "repairs": list(in_order(engine.repairs, own.chosen)), "hours": own.hours, "cost": own.cost,
        "metal": Length(own.metal), "result": _result(own.result),
    }  # fmt: skip


def _gain(engine: Engine, own: Gain, found: Choices) -> dict[str, Any]:
    repair = engine.repairs[own.name]
    return {
        "name": own.name, "what": repair.what, "hours": repair.hours, "cost": repair.cost,
        "metal": Length(repair.metal), "needs": list(repair.needs), "excludes": list(repair.excludes),
        "with_needs": list(own.whole), "hours_with_needs": own.hours, "alone": _result(own.alone),
        "in_best": own.name in found.best.chosen, "best_less_it": _result(own.without),
    }  # fmt: skip


def _job(own: Job, details: JobDetails, unit: str) -> dict[str, Any]:
    return {
        "number": own.number, "repair": own.repair.name, "sides": list(own.sides), "after": list(own.after),
        "slots": list(own.slots),
        "pins": [joint_row(each) for each in details.joints.values()], "without_sizes": list(details.unsized),
        "clean_up": [_clean_up(each, unit) for each in details.slots],
        "figures": [
            {"side": each.side, "name": each.name, "unit": each.unit, "limits_assumed": each.assumed}
            | {key: None if (value := getattr(each, key)) is None else measured(value, each.unit)
               for key in ("before", "after", "least", "most")}
            for each in own.figures
        ],
    }  # fmt: skip


def _clean_up(own: SlotWork, unit: str) -> dict[str, Any]:
    """What to machine of a slot, or what is missing for it."""
    made = None if own.work is None or own.proposal is None else (own.work, own.proposal)
    return {
        "side": own.side, "lacking": own.lacking or None, "datum": None if made is None else made[0].datum,
        "proposal": None if made is None else made[1].name, "ends_agree": None if made is None else own.agree,
        "measures": [] if made is None else machining_rows(*made, unit)["measures"],
    }  # fmt: skip
