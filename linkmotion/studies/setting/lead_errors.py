"""How far leads are read wrong when the wheel does not stand on the true dead centre."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.piston import dead_centre
from linkmotion.studies.assess import SideEvents
from linkmotion.valve import ENDS


@dataclass(frozen=True, eq=False)
class LeadErrors:
    """What leads read with the wheel off dead centre are wrong by, S notches.

    Attributes
    ----------
    notches : tuple of str, length S
        Which.
    out_by : float
        How far the wheel stands from the true dead centre, degrees, taken both ways.
    lead : dict of float arrays, shape (S,)
        True lead by end, mm.
    after, before : dict of float arrays, shape (S,)
        Lead read less true lead by end, with the wheel past dead centre running forward, and short of it, mm.
    """

    notches: tuple[str, ...]
    out_by: float
    lead: dict[str, NDArray[np.float64]]
    after: dict[str, NDArray[np.float64]]
    before: dict[str, NDArray[np.float64]]

    @property
    def worst(self) -> float:
        """Greatest error, mm."""
        return float(max(np.max(np.abs(each[end])) for each in (self.after, self.before) for end in self.lead))


def lead_errors(side: SideEvents, out_by: float) -> LeadErrors:
    """Leads read at dead centres that are out, against the true ones: exact, for each notch.

    Parameters
    ----------
    side : SideEvents
        As assessed; play is left out.
    out_by : float
        How far the wheel stands off, degrees, taken both ways.
    """
    lead, after, before = {}, {}, {}
    for end in ENDS:
        edge = side.ports.edge("steam", end)
        dead = float(dead_centre(side.gear.crank, end))
        shift = np.radians(out_by)
        true, past, short = (
            np.asarray(edge.opening(side.displacement(np.full(len(side.notches), dead + by))))
            for by in (0.0, shift, -shift)
        )
        lead[end], after[end], before[end] = true, past - true, short - true
    return LeadErrors(side.notches, out_by, lead, after, before)
