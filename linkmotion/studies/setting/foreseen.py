"""What will be read on each side as the work goes on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linkmotion.piston import dead_centre
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.figure import Reading, as_assessed, figures_of
from linkmotion.studies.setting.advice import Advice
from linkmotion.studies.setting.basis import readings_with
from linkmotion.studies.setting.side import Array, SideEstimate
from linkmotion.valve import ENDS

DIAGNOSIS, DRAWING, STATE = "diagnosis", "drawing", "state"


@dataclass(frozen=True, eq=False)
class Foreseen:
    """The readings of one side, before and after the work.

    Attributes
    ----------
    side, basis : str
        Which side; by what it is believed to stand: "diagnosis" (the gear estimated from the readings), "drawing" (the
        gear as its file has it, with what was read laid over it), or "state" (the file alone; nothing was read).
    note : str
        What is to be said of that basis.
    readings : tuple of Reading
        R of them; where nothing was read, leads and cutoffs by the file, with no uncertainty.
    expected : float array, shape (W + 1, R)
        As the side is believed to stand, and after each piece of work, read cold; each in its reading's unit.
    in_service : float array, shape (W + 1, R), or None
        The same warm, where it gets warm.
    grows : float
        By how much heat carries its valve ahead of where it stands cold, mm, mean of all notches at their dead centres.
    effect : float array, shape (A, R)
        What one step of each adjustment does.
    lost : float
        Greatest lost motion at the spindle, mm.
    slot_worn : bool
        Whether its slot is worn.
    mended : bool
        Whether it stands as it will once what no adjustment puts back is mended.
    """

    side: str
    basis: str
    note: str
    readings: tuple[Reading, ...]
    expected: Array
    in_service: Array | None
    grows: float
    effect: Array
    lost: float
    slot_worn: bool
    mended: bool = False

    @property
    def given(self) -> str:
        """What the figures of its readings are."""
        if self.basis != STATE:
            return "read"
        return "once mended" if self.mended else "by the file"

    @property
    def estimated(self) -> str:
        """How the gear of a diagnosis is called."""
        return "gear once mended" if self.mended else "gear as estimated"


def foresee(
    advice: Advice,
    estimate: SideEstimate,
    basis: str,
    readings: tuple[Reading, ...],
    note: str = "",
    mended: bool = False,
) -> Foreseen:
    """What will be read on a side; unless anything was read, leads and cutoffs are foreseen.

    Parameters
    ----------
    advice : Advice
        The work.
    estimate : SideEstimate
        How the side is believed to stand.
    basis : str
        Whether by "diagnosis", "drawing" or "state".
    readings : tuple of Reading
        What was read on it.
    note : str
        What is to be said of that basis.
    mended : bool
        Whether the estimate is of the side once what no adjustment puts back is mended.
    """
    side = estimate.as_read
    taken = readings if readings else _usual(side)
    adjustments = advice.problem.adjustments
    unit = np.eye(len(adjustments), dtype=int)
    steps = np.concatenate([advice.stages, unit, 0 * unit[:1]])
    found = readings_with(side, taken, adjustments, steps, as_read=basis != DIAGNOSIS)
    count = len(advice.stages)
    effect, expected, in_service = found[count : count + len(adjustments)] - found[-1], found[:count], None
    if estimate.read_cold is not None:
        warm, cold = (readings_with(own, taken, adjustments, advice.stages, False) for own in (estimate.side, side))
        in_service = expected + warm - cold
    return Foreseen(
        side.side, basis, note, taken, expected, in_service, _carried(side, estimate.side), effect,
        lost=float(np.max(side.lost)), slot_worn=bool(side.condition.slot), mended=mended,
    )  # fmt: skip


def _carried(cold: SideEvents, warm: SideEvents) -> float:
    """By how much the valve stands further ahead warm than cold, mm: mean of all notches and both dead centres."""
    places = [
        [own.displacement(np.full(len(own.notches), dead_centre(own.gear.crank, end))) for end in ENDS]
        for own in (cold, warm)
    ]
    return float(np.mean(np.subtract(places[1], places[0])))


def _usual(side: SideEvents) -> tuple[Reading, ...]:
    """Leads and cutoffs of every notch, as the file has them."""
    found: dict[tuple[str, str, str, str], Reading] = {}
    for figure in figures_of(side):
        value = as_assessed(side, figure)
        if figure.kind not in ("lead", "cutoff") or not np.isfinite(value):
            continue
        lead = figure.kind == "lead"  # the same in both directions
        own = Reading(
            side=side.side, kind=figure.kind, notch=figure.notch, end=figure.end,
            direction="" if lead else figure.direction, value=value, sigma=0.0, unit=figure.unit,
        )  # fmt: skip
        found.setdefault((own.kind, own.notch, own.direction, own.end), own)
    return tuple(found.values())
