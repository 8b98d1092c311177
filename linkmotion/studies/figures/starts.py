"""Where Newton's method starts on gears whose dimensions depart a little: from the loops of the gear as given.

The cut coordinate of each loop is taken as a linear function of the departures, with slopes by differences: good
enough to start from, and it saves most of the steps.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage import Harmonics, Linkage, Solution
from linkmotion.linkage.many import Orders, Rows, Variants
from linkmotion.linkage.solve import NODES
from linkmotion.studies.figures.dimensions import Varied

Array = NDArray[Any]
_STEP = 0.01  # mm or degrees


@dataclass(frozen=True, eq=False)
class Starts:
    """Cut coordinates of L loops in N notches over the revolution, and their slopes to D dimensions.

    Attributes
    ----------
    cuts : array, shape (L, N, NODES)
    slopes : array, shape (L, N, D, NODES)
    """

    cuts: Array
    slopes: Array

    @classmethod
    def of(cls, varied: Varied, orders: Orders) -> Starts | None:
        """From a gear and its like with each dimension altered by a little; none where one of them cannot be had.

        Parameters
        ----------
        varied : Varied
            The gear, and which dimensions depart.
        orders : Orders
            In which it is solved; starts are of the best.
        """
        departures = np.vstack([np.zeros(len(varied.keys)), _STEP * np.eye(len(varied.keys))])
        best = orders.get(0)

        def declare(which: Rows) -> tuple[Linkage, Callable[[Solution], Array]]:
            def look(solution: Solution) -> Array:
                cuts = [np.broadcast_to(q, (which.size, solution.wheel.turn.size)) for q in solution.cuts]
                if solution.order != best or not cuts:
                    return np.full((1, which.size, solution.wheel.turn.size), np.nan)
                return np.stack(cuts)

            return varied.linkage(departures, which), look

        if not best or not any(hasattr(recipe, "cut") for recipe in best):
            return None
        series, told = Variants(declare, orders).turned(len(varied.settings) * len(departures))
        if np.any(told != "") or np.any(np.isnan(series.c)):
            return None
        q = Harmonics(series.c[..., : NODES // 2]).on_grid(NODES)
        q = q.reshape(len(q), len(varied.settings), len(departures), NODES)
        return cls(q[:, :, 0], (q[:, :, 1:] - q[:, :, :1]) / _STEP)

    def near(self, departures: Array, which: Rows) -> Sequence[Array]:
        """Cut coordinates to start from, for each of L loops, shape (V, NODES): radians or mm.

        Parameters
        ----------
        departures : array, shape (S, D)
            Of S gears, mm and degrees.
        which : int array, shape (V,)
            Numbers of the variants, of N S, notch by notch.
        """
        notch, gear = np.divmod(which, len(departures))
        found = np.empty((len(self.cuts), which.size, NODES))
        for n in np.unique(notch):
            own = notch == n
            found[:, own] = self.cuts[:, n, None] + departures[gear[own]] @ self.slopes[:, n]
        return list(found)
