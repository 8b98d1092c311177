"""The report: one self-contained page to print, and the plots it shows as files beside it."""

from __future__ import annotations

import gc
import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from linkmotion.engine import DRAWING, Targets
from linkmotion.events import EVENTS
from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.files.outputs import OutputFolder
from linkmotion.studies.assess import Assessment, assess
from linkmotion.studies.doubts.event_doubts import EventDoubts
from linkmotion.studies.doubts.judged import DoubtfulState
from linkmotion.studies.figures.figure import end_figure
from linkmotion.studies.standing import Stand, StateStands
from linkmotion.studies.table import COLUMNS
from linkmotion.targets import targets_for
from linkmotion.views.doubt_words import doubt_words, surely
from linkmotion.views.doubt_words import untold as untold_lines
from linkmotion.views.finding_words import finding_lines
from linkmotion.views.paper import on_paper, sheet_of
from linkmotion.views.pictures import Picture, Plan, drawn, plans
from linkmotion.views.printout import OUT
from linkmotion.views.progress import Told, untold
from linkmotion.views.report_matrix import Matrix, matrix_of
from linkmotion.views.request import REPORT, Request
from linkmotion.views.standing_words import mended, placed, told_of
from linkmotion.views.style import FLAG, GRID, INK, PAPER
from linkmotion.views.tables import CAUTION, Shown, derived_lines, tables_of


def write_report(
    request: Request,
    found: list[StateStands],
    folder: OutputFolder,
    doubts: Mapping[str, DoubtfulState],
    told: Told = untold,
) -> None:
    """Draw the plots and write them with the report, which is put into its place last; ``told`` hears of every plot."""
    folder.write(on_paper(report_files(request, found, doubts, told), request.paper))


def report_files(
    request: Request, found: list[StateStands], doubts: Mapping[str, DoubtfulState], told: Told = untold
) -> dict[str, bytes]:
    """The report and its plots by the names of their files, the report last.

    Parameters
    ----------
    request, found, told : Request, list of StateStands, callable
        What was asked for; how each state stands; it hears of every plot.
    doubts : dict of DoubtfulState
        By state, of those of which the doubts of figures are known.
    """
    engine = found[0].stands.assessment.engine
    shown = Shown(engine.unit, request.fraction_of)
    drawing = _drawing(request, found)
    planned = [list(plans(request, state.stands.assessment, shown.unit, drawing)) for state in found]
    pictures = _drawn(planned, told)
    sections = [
        _section(request, state, stand, shown, own if stand is state.stands else [], doubts.get(state.state))
        for state, own in zip(found, pictures, strict=True)
        for stand in state
    ]
    text = sheet_of(
        "report.html",
        engine=engine,
        gear=engine.gear_type.name,
        file=request.engine.name,
        sections=sections,
        targets=_targets(engine.targets, engine.sides, shown),
        caution=CAUTION,
        unit=engine.unit,
        unit_name=UNIT_NAMES[engine.unit],
        wanted=engine.targets.lead is not None,
        several=len(engine.sides) > 1,
        ink=INK,
        paper=PAPER,
        rule=GRID,
        flag=FLAG,
    )
    plots = {f"report-plots/{p.name}.svg": p.svg for s in sections for p in s["pictures"]}
    return plots | {REPORT: text.encode()}


def _drawn(planned: list[list[Plan]], told: Told) -> list[list[Picture]]:
    number, total = itertools.count(1), sum(len(own) for own in planned)
    pictures: list[list[Picture]] = [[] for _ in planned]
    told(0, total)
    with _uncollected():
        for own, wanted in zip(pictures, planned, strict=True):
            for plan in wanted:
                own.append(drawn(plan))
                told(next(number), total)
    return pictures


@contextmanager
def _uncollected() -> Iterator[None]:
    """Plots are many small things that know one another: looking through them for rubbish takes a sixth of the time."""
    collected = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collected:
            gc.enable()


def _drawing(request: Request, found: list[StateStands]) -> Assessment | None:
    """What the states are held against; nothing where none of them but the drawing is looked at."""
    others = [state.stands.assessment for state in found if state.state != DRAWING]
    if not others:
        return None
    sides, notches = [side.side for side in others[0].sides], request.notches or None
    own = next((state.stands.assessment for state in found if state.state == DRAWING), None)
    return own or assess(others[0].engine, DRAWING, sides, notches)


def _section(
    request: Request, state: StateStands, stand: Stand, shown: Shown, pictures: list[Picture],
    known: DoubtfulState | None,
) -> dict[str, Any]:  # fmt: skip
    first, a = stand is state.stands, stand.assessment
    doubt = known if first else None  # they are known of a state as it stands
    by_side = {} if doubt is None else doubt.doubts
    besides = mended(state, shown) if first else None
    tables = [(title, list(_by_notch(_cells(rows, shown, by_side)))) for title, rows in tables_of(a, request)]
    matrix = matrix_of(a, shown, by_side)
    return {
        "state": f"{a.state}, {a.standing}",
        "note": getattr(a.engine.states.get(a.state), "note", "") if first else "",
        "placed": placed(state, shown).words if first else "",
        "verdict": told_of(stand, shown),
        "surely": "" if doubt is None else surely(doubt),
        "untold": [] if doubt is None else [line.words for line in untold_lines(doubt, shown)],
        "matrix": matrix,
        "edges": list(_edges(matrix)),
        "findings": [(line.mark == OUT, line.words) for line in finding_lines(stand.findings, shown, besides)],
        "derived": derived_lines(a, shown) if first else [],
        "tables": tables,
        "events": EVENTS,
        "pictures": pictures,
    }


def _edges(matrix: Matrix) -> Iterator[str]:
    """A rule before each group of columns, and a thin one before each side."""
    for _what, _unit, count in matrix.groups:
        each = count // len(matrix.sides)
        yield from (" start" if k == 0 else " side" if k % each == 0 else "" for k in range(count))


def _by_notch(cells: Iterator[dict[str, Any]]) -> Iterator[list[dict[str, Any]]]:
    """Rows that are kept on one sheet: those of a notch and direction."""
    held: list[dict[str, Any]] = []
    for row in cells:
        if row["first"] and held:
            yield held
            held = []
        held.append(row)
    if held:
        yield held


def _cells(rows: Any, shown: Shown, doubts: Mapping[str, EventDoubts]) -> Iterator[dict[str, Any]]:
    """Figures as they are printed, with the first line of each notch and direction marked."""
    kinds = {column.key: column.kind for column in COLUMNS}
    form: dict[str, Callable[[Any], str]] = {
        "length": shown.length,
        "percent": shown.percent,
        "angle": shown.angle,
        "words": str,
    }
    last = None
    for row in rows:
        cells: dict[str, Any] = {key: form[kinds[key]](value) for key, value in row.items()}
        for event in EVENTS:
            cells[f"{event}_angle"] = shown.angle(row[f"{event}_angle"], event)
        cells["opening"] = shown.opening(row["opening"])
        for kind in ("lead", *EVENTS, "opening"):
            figure = end_figure(kind, row["notch"], row["direction"], row["end"])
            cells[f"{kind}_doubt"] = doubt_words(doubts.get(row["side"]), figure, shown)
        cells["first"] = (row["notch"], row["direction"]) != last
        last = (row["notch"], row["direction"])
        yield cells


def _targets(targets: Targets, sides: Sequence[str], shown: Shown) -> list[tuple[str, str, str]]:
    names = {
        "lead_difference": "lead, between the ends",
        "cutoff_difference": "cutoff, between the ends",
        "side_lead_difference": "lead, between the sides",
        "side_cutoff_difference": "cutoff, between the sides",
        "mid_cutoff_difference": "cutoff, where a notch drives neither way",
        "lost_motion": "lost motion at the spindle",
        "lead": "lead wanted",
        "lead_within": "lead, from that wanted",
    }
    meant = [name for name in names if name in targets_for(sides)]
    listed = [name for name in meant if targets.lead is not None or (not name.startswith("lead_w") and name != "lead")]
    return [
        (
            names[name],
            f"{getattr(targets, name):g} % of stroke"
            if "cutoff" in name
            else f"{shown.length(getattr(targets, name))} {shown.unit}",
            "chosen" if name in targets.chosen else "common practice, no source",
        )
        for name in listed
    ]
