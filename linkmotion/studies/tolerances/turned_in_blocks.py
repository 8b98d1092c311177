"""Gears with dimensions of their own turned block by block: here and now, or by an executor."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from concurrent.futures import Executor, as_completed

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.figures.model import GearModel

Array = NDArray[np.float64]
Job = tuple[GearModel, Array]
"""A model, and the departures of the gears of one block."""
Found = tuple[Array, Counter[str]]
"""Their figures, and how many cannot be had, by the reason."""


def turned_in_blocks(jobs: list[Job], executor: Executor | None, progress: Callable[[int, int], None]) -> list[Found]:
    """Turn the gears of some blocks; what is found in their order, whichever is done first.

    Parameters
    ----------
    jobs : list of Job
        The blocks.
    executor : Executor or None
        Runs the blocks; here and now, if there is none.
    progress : callable
        Called with (gears done, gears in all) after each block.
    """
    done, total = 0, sum(len(departures) for _model, departures in jobs)
    found: dict[int, Found] = {}
    if executor is None:
        for number, job in enumerate(jobs):
            found[number] = _block(*job)
            done += len(job[1])
            progress(done, total)
    else:
        waiting = {executor.submit(_block, *job): number for number, job in enumerate(jobs)}
        for future in as_completed(waiting):
            found[waiting[future]] = future.result()
            done += len(jobs[waiting[future]][1])
            progress(done, total)
    return [found[number] for number in range(len(jobs))]


def _block(model: GearModel, departures: Array) -> Found:
    return model.tried(departures)
