"""How far a study of known steps is: each step's result handed on as it is told."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

T = TypeVar("T")


class StepsTold:
    """Tells of each step.

    Parameters
    ----------
    total : int
        How many there are.
    progress : callable or None
        Called with the number of steps done, and the total.

    Examples
    --------
    >>> told = StepsTold(2, print)
    >>> told("one side") + told(" and the other")
    1 2
    2 2
    'one side and the other'
    """

    def __init__(self, total: int, progress: Callable[[int, int | None], None] | None) -> None:
        self.total, self.progress, self.done = total, progress, 0

    def __call__(self, given: T) -> T:
        """Hand on what a step gave."""
        self.done += 1
        if self.progress is not None:
            self.progress(self.done, self.total)
        return given
