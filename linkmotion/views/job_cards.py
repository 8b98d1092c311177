"""Job cards: one for each repair that was chosen, with the part's drawing, what to work to, and what to check after."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from linkmotion.engine import Engine
from linkmotion.files.lengths import UNIT_NAMES, format_length
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.doubts.judged import doubtful
from linkmotion.studies.figures.figure import MM
from linkmotion.studies.repairs.choice import Choices
from linkmotion.studies.repairs.job import Expected, Job, JobFigure, expected
from linkmotion.studies.side_drawing import elevation_of
from linkmotion.views.doubt_words import before_cutting
from linkmotion.views.job_details import JobDetails, details_shown
from linkmotion.views.job_pictures import bodies_worked_on, letter_of, part_pictures, side_picture
from linkmotion.views.paper import sheet_of
from linkmotion.views.pictures import Picture
from linkmotion.views.tables import CAUTION, Shown

_HEAT = (
    "Setting a rod in the fire, welding and building up alter the metal: whether this part may be so treated, and what "
    "must be tested after, is for the competent person to say before the work."
)
_CHECK = (
    "Measure the part again as it was measured before, and write the figure, the day and the name into a new state.",
    "With the gear up and the wheel blocked, read the lost motion at the spindle and compare it with the last sheet.",
    "True dead centres first; then read the leads and cutoffs of the last sheet, in the direction given.",
)


def job_cards(
    engine: Engine, state: str, standing: str, found: Choices, work: list[Job], file: Path,
    details: Mapping[int, JobDetails],
) -> str:  # fmt: skip
    """The page, as HTML: a card for each job, and a last sheet with what is to be read once all is done.

    Parameters
    ----------
    engine, state, standing : Engine, str, str
        As read; before the work; how it is looked at.
    found, work, file : Choices, list of Job, Path
        What was chosen; its jobs in order; the engine file, for the commands that are named.
    details : dict of JobDetails
        By the job's number: pins, bushes and slots to make.
    """
    sides = {} if found.before.result is None else {own.side: own for own in found.before.result.assessment.sides}
    shown = Shown(engine.unit)
    rows = expected(found.before, found.best)
    return sheet_of(
        "job_cards.html",
        of=f"{engine.name}, {state}: job cards",
        engine=engine,
        state=state,
        unit_name=UNIT_NAMES[engine.unit],
        standing=standing,
        cards=[
            _card(engine, state, own, len(work), sides, file, details[own.number])
            | details_shown(details[own.number], own, engine.unit)
            for own in work
        ],
        first=before_cutting(None if found.before.result is None else doubtful(found.before.result.assessment), shown),
        expected=[_expected(row, shown) for row in rows],
        lost=None if found.best.result is None else format_length(found.best.result.lost, engine.unit),
        hours=f"{found.best.hours:g}",
        cost=f"{found.best.cost:g}",
        caution=CAUTION,
        heat=_HEAT,
    )


def _card(
    engine: Engine, state: str, job: Job, count: int, sides: dict[str, SideEvents], file: Path, details: JobDetails
) -> dict[str, Any]:
    own = job.repair
    slot = [
        f"linkmotion cleanup {shlex.quote(str(file))} --state {shlex.quote(state)} --side {side} --paper A4"
        for side in job.slots
    ]
    return {
        "number": job.number,
        "count": count,
        "name": own.name,
        "what": own.what,
        "hours": f"{own.hours:g}",
        "cost": f"{own.cost:g}" if own.cost else "",
        "metal": format_length(own.metal, engine.unit) if own.metal else "",
        "after": job.after,
        "figures": [_figure(each, engine.unit) | {"letter": letter_of(engine, each)} for each in job.figures],
        "checks": _CHECK[0 if job.figures or job.slots else 1 :],
        "assumed": any(each.assumed for each in job.figures),
        "slot": slot,
        "pictures": [each.data for each in _pictures(engine, job, sides, bool(details.joints or job.slots))],
    }


def _figure(own: JobFigure, unit: str) -> dict[str, str]:
    def told(value: float | None) -> str:
        if value is None:
            return "–"
        return worked_length(value, unit) if own.unit == MM else f"{value:.4g}°"

    limits = "" if own.most is None else f"not over {told(own.most)}"
    if own.least is not None:
        limits = f"{told(own.least)} to {told(own.most)}"
    names = {"side": own.side, "name": own.name, "before": told(own.before), "after": told(own.after)}
    return names | {"limits": limits + " *" * own.assumed}


def worked_length(mm: float, unit: str) -> str:
    """A length to work to: an inch fraction where it is one to the nearest 64th, as on a rule; else decimals.

    Examples
    --------
    >>> worked_length(31.53125 * 25.4, "in"), worked_length(0.0762, "in"), worked_length(800.1, "mm")
    ('31 17/32 in', '0.003 in', '800.10 mm')
    """
    exact = abs(mm / 25.4 * 64 - round(mm / 25.4 * 64)) < 1e-6
    return format_length(mm, unit, fraction_of=64) if unit in ("in", "ft") and exact else format_length(mm, unit)


def _pictures(engine: Engine, job: Job, sides: dict[str, SideEvents], crowded: bool) -> Iterator[Picture]:
    """The sides with what is worked on, then the parts with their letters."""
    parts = list(part_pictures(engine, job))
    own = [sides[side] for side in job.sides if side in sides]
    for events in own:
        worked = bodies_worked_on(engine, job, events.side, elevation_of(events, engine))
        words = {name: [_words(each, engine.unit) for each in figures] for name, figures in worked.items()}
        told = {name: "; ".join(own) or "slot" for name, own in words.items()}  # a slot has its figures in a table
        yield side_picture(engine, job, events, told, len(own) == 1 and not crowded)
    yield from parts


def _words(own: JobFigure, unit: str) -> str:
    figure = _figure(own, unit)
    return f"{own.name.rpartition(': ')[2]} to {figure['after']}"


def _expected(row: Expected, shown: Shown) -> tuple[str, ...]:
    lengths = (shown.length(row.lead_before), shown.length(row.lead))
    cutoffs = (shown.percent(row.cutoff_before), shown.percent(row.cutoff))
    return row.side, row.notch, row.direction, row.end, *lengths, *cutoffs
