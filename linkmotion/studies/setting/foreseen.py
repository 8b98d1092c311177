"""What will be read on each side as the work goes on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.setting.advice import Advice
from linkmotion.studies.setting.basis import readings_with
from linkmotion.studies.setting.side import Array, SideEstimate

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
        As the side is believed to stand, and after each piece of work; each in its reading's unit.
    effect : float array, shape (A, R)
        What one step of each adjustment does.
    """

    side: str
    basis: str
    note: str
    readings: tuple[Reading, ...]
    expected: Array
    effect: Array


def foresee(
    advice: Advice, estimate: SideEstimate, basis: str, readings: tuple[Reading, ...], note: str = ""
) -> Foreseen:
    """What will be read on a side; unless anything was read, leads and cutoffs are foreseen."""
    side = estimate.side
    taken = readings if readings else _usual(advice, side.side)
    adjustments = advice.problem.adjustments
    unit = np.eye(len(adjustments), dtype=int)
    steps = np.concatenate([advice.stages, unit, 0 * unit[:1]])
    found = readings_with(side, taken, adjustments, steps, as_read=basis == DRAWING)
    count = len(advice.stages)
    effect = found[count : count + len(adjustments)] - found[-1]
    return Foreseen(side.side, basis, note, taken, found[:count], effect)


def _usual(advice: Advice, side: str) -> tuple[Reading, ...]:
    """Leads and cutoffs of every notch, as the file has them."""
    found: dict[tuple[str, str, str, str], Reading] = {}
    for figure, value in zip(advice.figures[side], advice.before[side], strict=True):
        if figure.kind not in ("lead", "cutoff") or not np.isfinite(value):
            continue
        lead = figure.kind == "lead"  # the same in both directions
        own = Reading(
            side=side, kind=figure.kind, notch=figure.notch, end=figure.end, direction="" if lead else figure.direction,
            value=float(value), sigma=0.0, unit="mm" if lead else "percent",
        )  # fmt: skip
        found.setdefault((own.kind, own.notch, own.direction, own.end), own)
    return tuple(found.values())
