"""What a job card says beside the dimensions: pins and bushes to make, and the slot to machine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from linkmotion.files.lengths import format_length
from linkmotion.sides import side_words
from linkmotion.studies.repairs.job import Job
from linkmotion.studies.slot.in_gear import SlotInGear
from linkmotion.studies.slot.parts import Proposal
from linkmotion.views.bush_table import load
from linkmotion.views.machining_table import machined
from linkmotion.views.pins_view import limits, remark_words
from linkmotion.wear.fits import Span
from linkmotion.wear.pin_schedule import Joint

CLEARANCE = "clearance."  # before a joint's name, in a figure's key
_PLACES = {"mm": 3, "in": 4, "ft": 6, "thou": 1}
_HAIR = 1e-6  # mm


@dataclass(frozen=True)
class SlotWork:
    """A slot that a job cleans up: the proposal of least metal, or why there is none.

    Attributes
    ----------
    side : str
        Whose.
    work, proposal : SlotInGear and Proposal, or None
        The clean-up, and what is to be made.
    agree : bool
        Whether the ends agree within the targets with it.
    lacking : str
        What is missing, or why nothing is proposed; "" else.
    """

    side: str
    work: SlotInGear | None = None
    proposal: Proposal | None = None
    agree: bool = False
    lacking: str = ""


@dataclass(frozen=True)
class JobDetails:
    """Of one job.

    Attributes
    ----------
    joints : dict of Joint
        By the name of the joint, as found on the sides that the job touches.
    unsized : tuple of str
        Joints that it makes anew of which the file gives no sizes.
    slots : tuple of SlotWork
        Those that it cleans up.
    """

    joints: Mapping[str, Joint] = field(default_factory=dict)
    unsized: tuple[str, ...] = ()
    slots: tuple[SlotWork, ...] = ()


def details_shown(details: JobDetails, job: Job, unit: str) -> dict[str, Any]:
    """The same as the card shows it.

    Parameters
    ----------
    details, job, unit : JobDetails, Job, str
        What is to be made; of which job; of lengths.
    """
    joints = list(details.joints.values())
    return {
        "pins": [_pin(own, job, unit) for own in joints],
        "bushes": [_bush(own, unit) for own in joints if own.pin.outer is not None],
        "pin_words": [words for own in joints for words in _words(own, job, unit)],
        "unsized": ", ".join(details.unsized),
        "slots": [_slot(own, unit) for own in details.slots],
    }


def _pin(own: Joint, job: Job, unit: str) -> dict[str, str]:
    pin = own.pin
    found = "; ".join(
        f"{side}: bush {limits(each.bush, unit)}, pin {limits(each.pin, unit)}" for side, each in own.found.items()
    )
    loose = [each.before for each in job.figures if each.key == ("wear", CLEARANCE + pin.name) and each.before]
    return {
        "joint": pin.name, "was": limits(Span(min(loose), max(loose)), unit) if loose else "–", "found": found or "–",
        "turn": limits(pin.inner.shaft, unit),
        "bore": limits(pin.inner.hole, unit), "fit": pin.inner.name, "loose": limits(pin.inner.clearance, unit),
    }  # fmt: skip


def _bush(own: Joint, unit: str) -> dict[str, str]:
    outer, plan = own.pin.outer, own.pressing
    assert outer is not None
    return {
        "joint": own.pin.name, "material": own.pin.material, "housing": limits(outer.hole, unit),
        "outside": limits(outer.shaft, unit), "fit": outer.name,
        "before": "–" if plan is None or plan.bore_before is None else limits(plan.bore_before, unit),
        "force": "–" if plan is None else load(plan.force.most, unit),
    }  # fmt: skip


def _words(own: Joint, job: Job, unit: str) -> list[str]:
    """What was found beyond its size, and where the fit can leave another clearance than the repair reckons with."""
    told = list(remark_words(own, unit))
    for figure in job.figures:
        wanted = figure.after if figure.key == ("wear", CLEARANCE + own.pin.name) else None
        if wanted is not None and (apart := _fit_apart(own, wanted, unit)):
            told.append(f"{own.pin.name}, {figure.side}: {apart}")
    return told


def _fit_apart(own: Joint, wanted: float, unit: str) -> str:
    """What is to be done where a fit leaves a pin looser, or always tighter, than a repair reckons with; "" else."""
    fit, name, reckoned = own.pin.inner.clearance, own.pin.inner.name, _told(wanted, unit)
    most = _told(fit.most, unit)
    head = f"the repair reckons with {reckoned} of clearance, but {name} leaves {limits(Span(*fit), unit)}: "
    give = f"give the repair {most}, the fit's own figure"
    if fit.least > wanted + _HAIR:
        return f"{head}always looser. Choose a closer fit in [pins], or {give}."
    if fit.most > wanted + _HAIR:
        return f"{head}it can be looser. Turn the pin to no less than its bore as measured less {reckoned}, or {give}."
    return f"{head}always tighter. Bore for the greater clearance, or {give}." if fit.most < wanted - _HAIR else ""


def _told(mm: float, unit: str) -> str:
    return format_length(mm, unit, digits=_PLACES[unit])


def _slot(own: SlotWork, unit: str) -> dict[str, Any]:
    if own.work is None or own.proposal is None:
        return {"whose": side_words(own.side), "lacking": own.lacking, "rows": []}
    return {
        "whose": side_words(own.side), "lacking": "", "proposal": own.proposal.name, "datum": own.work.datum,
        "agree": own.agree, "rows": machined(own.work, own.proposal, unit),
    }  # fmt: skip
