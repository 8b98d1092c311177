"""``linkmotion wear``: which wear matters."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING, Engine
from linkmotion.events import EVENTS
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import UNITS
from linkmotion.files.outputs import PICTURE, OutputFile, Outputs
from linkmotion.files.results import sentence as finding_sentence
from linkmotion.files.side_named import sides_asked
from linkmotion.sides import BOTH
from linkmotion.studies.figures.figure import MM, PERCENT
from linkmotion.studies.findings import binding, slot_remarks
from linkmotion.studies.row_figures import Length, measured
from linkmotion.studies.which_wear import WhichWear, WornItem, which_wear
from linkmotion.studies.worn_rows import changed_by_drag, loosest_notch, lost_round_the_wheel, moving_rows
from linkmotion.views.printout import OUT, Aside, Block, Point, print_json, show
from linkmotion.wear.running import SLIDE_VALVE_DRAG, Load

if TYPE_CHECKING:
    from linkmotion.views.tables import Shown

_LEGEND = (
    "Weight: greatest change alone, as a multiple of the target it offends. Gain: what renewing it takes off the "
    "weight of everything together. Ends: front less back{sides}. As it stands: the valve where it is on its "
    "spindle, cold."
)
_BETWEEN_SIDES = "; sides: this side less the other"


@dataclass(frozen=True)
class WearRequest:
    """What the user asked for.

    Attributes
    ----------
    engine : Path
        Engine file.
    state, side, notches, direction
        What is looked at (all notches unless given; in the directions in which they drive unless said otherwise).
    load : Load
        What takes up the play.
    drag_known : bool
        Whether the user gave its drag; if not, what other drags would change is told where it matters.
    moving, lost, gains : bool
        Whether to print the events in motion, the lost motion at every crank angle joint by joint, and what renewing
        each item does to every figure.
    picture : Path or None
        SVG file for the plots.
    json : bool
        Everything as JSON.
    replace : bool
        Whether the user's own files may be written over.
    """

    engine: Path
    state: str
    side: str = BOTH
    notches: tuple[str, ...] = ()
    load: Load = Load()  # noqa: RUF009 - frozen
    picture: Path | None = None
    json: bool = False
    direction: str = "driven"
    moving: bool = False
    lost: bool = False
    replace: bool = False
    gains: bool = False
    drag_known: bool = True


_SUM_RULE = (
    "Each joint alone, times its clearance, and their sum: what the square of the clearances adds is left out. With "
    "0.5 mm (0.020 in) in every joint of the example engines the sum was 3 to 4.5 mm and within 0.0012 mm of the exact "
    "movement; pushed to one side only, within 0.5 % of its half. A quarter of that error at half the clearances. "
    "Rods that hang on their pins lie on one side of their play by their own weight: a gauge on the spindle reads the "
    "sum only where it is pushed and pulled hard enough to lift them."
)


def run_wear(request: WearRequest) -> int:
    """Weigh what differs from the drawing; 1 when everything together passes a target, else 0."""
    if request.state == DRAWING:
        raise FileError("--state", "the drawing is what the wear is compared with", "give a state of the file")
    for key, value in asdict(request.load).items():
        if not math.isfinite(value):
            raise FileError(f"--{key}", f"read {value}", "give a number")
    drawn = Outputs((request.engine,), request.replace).file(request.picture, PICTURE)
    engine = engine_with(request.engine, [request.state], request.notches)
    with telling(engine, request.engine):
        results = [
            which_wear(engine, request.state, side, request.notches or None, request.load, request.direction)
            for side in sides_asked(engine, request.engine, request.side)
        ]
    if drawn is not None:
        _draw(results, drawn, engine)
    if request.json:
        found = [_data(result, request, engine.unit) for result in results]
        print_json("wear", engine.unit, {"engine": engine.name, "state": request.state, "sides": found})
    else:
        show(blocks(results, request, engine.unit))
        show(_last(request))
    return int(any(result.together.weight > 1 for result in results))


def _data(result: WhichWear, request: WearRequest, unit: str) -> dict[str, Any]:
    """Everything found on one side; lost motion at 96 crank angles in each notch."""
    found, other = result.found, _other_drags(result, request)
    lost = {}
    for i, notch in enumerate(found.notches):
        own = lost_round_the_wheel(found, i)
        joints = {joint: [Length(mm) for mm in free] for joint, free in own.joints.items()}
        lost[notch] = {
            "crank_angle": own.crank_angle.tolist(),
            "total": [Length(mm) for mm in own.total],
            "joints": joints,
        }
    return {
        "side": result.side,
        "items": [_item(item) for item in result.items],
        "together": _item(result.together),
        "load": asdict(result.load),
        "in_motion": list(moving_rows(found, result.ways)),
        "lost_motion": lost,
        "binding": [finding_sentence(one, unit) for one in binding(found)],
        "slot": [finding_sentence(one, unit) for one in slot_remarks(found)],
        "other_drags": None
        if not other
        else {
            "drag_N": list(SLIDE_VALVE_DRAG),
            "lead": [Length(mm) for mm in other["lead"]],
            "cutoff_percent": list(other["cutoff"]),
            "travel": [Length(mm) for mm in other["travel"]],
        },
    }


def _item(item: WornItem) -> dict[str, Any]:
    """What one item does; each figure with its own unit."""
    units = {figure: PERCENT if figure.split()[0] in EVENTS else MM for figure in (*item.changes, *item.gains)}
    changes = {
        figure: {"change": measured(change, units[figure]), "unit": units[figure], "notch": notch}
        for figure, (change, notch) in item.changes.items()
    }
    gains = {
        figure: {"gain": measured(size, units[figure]), "unit": units[figure]} for figure, size in item.gains.items()
    }
    return {"name": item.name, "changes": changes, "lost": Length(item.lost), "weight": item.weight,
            "gain": item.gain, "gains": gains, "worst": item.worst}  # fmt: skip


def blocks(results: list[WhichWear], request: WearRequest, unit: str) -> Iterator[Block]:
    """What is told of wear that was weighed: the verdict of each side first.

    Parameters
    ----------
    results, request, unit : list of WhichWear, WearRequest, str
        Side by side; what was asked for; the unit that lengths are shown in.
    """
    from linkmotion.views.tables import Shown
    from linkmotion.views.wear_view import gains_table, item_lines, verdict, wear_table

    assert unit in UNITS
    shown = Shown(unit)
    yield from (verdict(result, any(binding(result.found))) for result in results)
    for result in results:
        if result.items:
            yield wear_table(result, shown)
            if request.gains:
                yield gains_table(result, shown)
        yield from item_lines(result, shown)
        told = (*binding(result.found), *slot_remarks(result.found))
        yield from (Point(finding_sentence(one, unit), OUT if one.out else "·") for one in told)
        yield from _in_motion(result, request, shown)
        yield from _drag_unknown(result, request, shown)
    if request.lost and any(result.found.lost.any() for result in results):
        yield Aside(_SUM_RULE)
    several = any(len(result.found.gear.sides) > 1 for result in results)
    yield Aside(_LEGEND.format(sides=_BETWEEN_SIDES * several))


def _last(request: WearRequest) -> Iterator[Block]:
    """What more can be asked for, and the caution."""
    from linkmotion.views.tables import CAUTION

    if not (request.moving and request.lost and request.gains):
        yield Aside(
            "More: --gains, what renewing each does to every event; --moving, the events in motion; --lost, the lost "
            "motion round the wheel joint by joint."
        )
    yield Aside(CAUTION)


def _in_motion(result: WhichWear, request: WearRequest, shown: Shown) -> Iterator[Block]:
    """The tables that are given on request."""
    from linkmotion.views.wear_motion import lost_table, moving_table

    found, place = result.found, f"{result.state}, {result.whose}"
    if request.moving:
        rows = moving_rows(found, result.ways)
        yield moving_table(rows, f"{place}: events in motion, {_load(result.load, request.drag_known)}", shown)
    for i in _lost_in(result, request):
        title = f"{place}, {found.notches[i]}: lost motion at the spindle, wheel held, {shown.unit}"
        yield lost_table(lost_round_the_wheel(found, i), title, shown)


def _other_drags(result: WhichWear, request: WearRequest) -> dict[str, tuple[float, float]]:
    """What a plain slide valve's drag would change; nothing where the drag was given, or does not matter."""
    load = result.load
    if request.drag_known or not load.mass * load.revolutions or not result.found.lost.any():
        return {}
    return changed_by_drag(result.found, result.ways, SLIDE_VALVE_DRAG)


def _drag_unknown(result: WhichWear, request: WearRequest, shown: Shown) -> Iterator[Block]:
    """How much hangs on a drag that was not given."""
    if changed := _other_drags(result, request):
        lead, travel = (" to ".join(dict.fromkeys(map(shown.length, changed[key]))) for key in ("lead", "travel"))
        cutoff = " to ".join(dict.fromkeys(f"{percent + 0.0:.1f}" for percent in changed["cutoff"]))
        low, high = SLIDE_VALVE_DRAG
        yield Point(
            f"{result.state}, {result.whose}: the drag is not known, and {result.load.drag:g} N is taken. With the "
            f"{low:g} to {high:g} N measured of plain slide valves under steam, leads change by {lead} {shown.unit}, "
            f"cutoffs by {cutoff} % of stroke, travel by {travel} {shown.unit}: give --drag."
        )


def _lost_in(result: WhichWear, request: WearRequest) -> Iterator[int]:
    """Notches whose lost motion is told: those asked for, or the loosest."""
    if request.lost and result.found.lost.any():
        yield from range(len(result.found.notches)) if request.notches else (loosest_notch(result.found),)


def _load(load: Load, known: bool) -> str:
    """What takes up the play, in words."""
    inertia = f", {load.mass:g} kg at {load.revolutions:g} revolutions a minute" if load.mass * load.revolutions else ""
    return f"drag {load.drag:g} N{', assumed' * (not known)}{inertia} (in brackets: what the play changes)"


def _draw(results: list[WhichWear], into: OutputFile, engine: Engine) -> None:
    """Every side's ranking, and its lost motion where there is any, in one SVG."""
    from linkmotion.views.wear_plots import wear_svg

    into.write(wear_svg(results, engine.unit, (engine.name, f"{results[0].state}, against the drawing")))
