"""A slot clean-up as plain rows: they feed the printed table and JSON. Lengths mm, events percent of stroke."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from linkmotion.engine import Targets
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.row_figures import Length, length, plain
from linkmotion.studies.slot.in_gear import SlotInGear
from linkmotion.studies.slot.parts import Proposal
from linkmotion.valve import ENDS
from linkmotion.wear.slot_drawing import FACES, FRONT, Arc, Course, Line

AS_DRAWN, AS_READ = "slot as drawn", "slot as it is"


def proposal_row(work: SlotInGear, proposal: Proposal) -> dict[str, Any]:
    """Everything to be machined for a proposal; places from the datum, x forward and y up, angles degrees."""
    row: dict[str, Any] = {"proposal": proposal.name, "cut_mean": Length(proposal.mean_cut)}
    for cut in proposal.faces:
        row |= {f"cut_{cut.face}_most": Length(cut.cut.max()), f"left_low_{cut.face}": Length(cut.hollow.max())}
    row |= {"slot_width": Length(proposal.width)}
    own = {cut.face: course_row(work, cut.course) for cut in proposal.faces}
    row |= {f"{key}_{face}": own[face][key] for key in ("radius", "ahead") for face in FACES}
    row |= {key: own[FRONT][key] for key in ("centre_x", "centre_y", "lean")}
    die, path = proposal.die, course_row(work, proposal.path)
    row |= {"die_width": Length(die.width), "die_pin_ahead": Length(die.pin_offset)}
    row |= {f"die_radius_{face}": course_row(work, getattr(die, face))["radius"] for face in FACES}
    row |= {"path_radius": path["radius"], "path_ahead": path["ahead"], "path_off_drawn": Length(proposal.residual)}
    row |= {"path_off_drawn_hole_in_middle": Length(proposal.plain_residual)}
    row |= {
        f"wall_left_{cut.face}": Length(cut.wall_left) if np.isfinite(cut.wall_left) else None for cut in proposal.faces
    }
    return row


def course_row(work: SlotInGear, course: Course) -> dict[str, Any]:
    """A course from the datum: of an arc its radius and centre; of a line how far ahead at mid slot, and its lean."""
    x, y = work.origin
    if isinstance(course, Arc):
        own = {"radius": course.radius, "centre_x": course.centre[0] - x, "centre_y": course.centre[1] - y}
        return {key: Length(value) for key, value in own.items()} | {"ahead": None, "lean": None}
    return {"radius": None, "centre_x": None, "centre_y": None, "ahead": Length(course.ahead - x),
            "lean": float(course.degrees)}  # fmt: skip


def worn_course_row(work: SlotInGear, face: str) -> dict[str, Any]:
    """The arc or line to which a face has worn, from the datum, with how well the readings fix it (95 %)."""
    fit = work.done.worn[face]
    assert fit is not None
    course, within = fit.course(), [float(each) for each in fit.expanded]
    names = ("centre_x", "centre_y", "radius") if isinstance(course, Arc) else ("lean", "ahead")
    doubts: dict[str, Any] = {f"{name}_within": None for name in ("centre_x", "centre_y", "radius", "lean", "ahead")}
    doubts |= {f"{name}_within": Length(own) for name, own in zip(names, within, strict=True)}
    if isinstance(course, Line):
        doubts["lean_within"] = float(np.degrees(within[0] * course.square**2))
    return course_row(work, course) | {"place_within": Length(fit.place[0])} | doubts


def slots_of(work: SlotInGear) -> dict[str, SideEvents]:
    """Events by slot: as drawn, as it is, and as each proposal makes it (where the gear can pass so)."""
    found = {AS_DRAWN: work.before, AS_READ: work.worn, **work.after}
    return {name: side for name, side in found.items() if side is not None}


def event_rows(work: SlotInGear) -> Iterator[dict[str, Any]]:
    """One row for a notch, a direction and an end: lead (mm) and cutoff (percent of stroke) with each slot.

    Parameters
    ----------
    work : SlotInGear
        A clean-up in its gear.
    """
    drawn, slots = work.before, slots_of(work)
    if drawn is None:
        return
    for i, notch in enumerate(drawn.notches):
        for direction in drawn.driven(i):
            for end in ENDS:
                own = {name: side.events[direction][end] for name, side in slots.items()}
                yield {
                    "notch": notch,
                    "direction": direction,
                    "end": end,
                    "lead": {name: length(each.lead[i]) for name, each in own.items()},
                    "cutoff_percent": {name: plain(each.percent["cutoff"][i]) for name, each in own.items()},
                }


def changes(work: SlotInGear, name: str) -> dict[str, float]:
    """Greatest changes over the notches: of lead and cutoff from the drawn slot's, and front against back.

    Parameters
    ----------
    work : SlotInGear
        With events as drawn.
    name : str
        Of a slot among :func:`slots_of`.

    Returns
    -------
    dict
        Signed: leads mm, cutoffs percent of stroke; NaN where none is known.
    """
    rows = list(event_rows(work))
    found: dict[str, float] = {}
    for figure in ("lead", "cutoff_percent"):
        own = np.array([[row[figure][name], row[figure][AS_DRAWN]] for row in rows], float)
        found[f"{figure}_changed"] = _most(own[:, 0] - own[:, 1])
        found[f"{figure}_front_against_back"] = _most(own[::2, 0] - own[1::2, 0])
    return found


def clean_within(work: SlotInGear, proposal: Proposal) -> bool:
    """Whether a proposal cleans both faces up and keeps every limit.

    Parameters
    ----------
    work, proposal : SlotInGear, Proposal
        One of the clean-up's own.
    """
    limits = work.done.limits
    deepest = dict(zip(FACES, (limits.cut_front, limits.cut_back), strict=True))
    return all(
        cut.clean and cut.cut.max() <= deepest[cut.face] + 1e-6 and cut.wall_left >= limits.least_wall - 1e-9
        for cut in proposal.faces
    )


def within_targets(work: SlotInGear, name: str, targets: Targets) -> bool:
    """Whether the ends' leads and cutoffs agree within the targets with a slot.

    Parameters
    ----------
    work, name
        As for :func:`changes`.
    targets : Targets
        Of which the differences between the ends are looked at.
    """
    found = changes(work, name)
    return bool(
        abs(found["lead_front_against_back"]) <= targets.lead_difference
        and abs(found["cutoff_percent_front_against_back"]) <= targets.cutoff_difference
    )


def least_cut(work: SlotInGear, targets: Targets) -> tuple[Proposal | None, bool]:
    """The proposal of least metal that cleans up within the limits, and whether its ends agree within the targets.

    One whose ends agree comes before one whose do not.

    Parameters
    ----------
    work, targets
        As for :func:`within_targets`.

    Returns
    -------
    proposal : Proposal or None
        None where none is clean within the limits.
    good : bool
        Whether its ends agree.
    """
    clean = [proposal for proposal in work.done.proposals if clean_within(work, proposal)]
    good = [p for p in clean if p.name in work.after and within_targets(work, p.name, targets)]
    return min(good or clean, key=lambda p: p.mean_cut, default=None), bool(good)


def _most(values: Any) -> float:
    known = values[~np.isnan(values)]
    return float(known[np.argmax(np.abs(known))]) if known.size else np.nan
