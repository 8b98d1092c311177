"""How far a long job is, on the error stream of a terminal; nothing elsewhere."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Told = Callable[[int, int | None], None]
"""Takes how many are done, and how many there are in all (None while that is not known)."""


def untold(_done: int, _total: int | None) -> None:
    """Say nothing of how far a job is."""


@contextmanager
def progress() -> Iterator[Callable[[str], Told]]:
    """Bars for the stages of a job, with the time that is left; gone when the job ends, is stopped or fails.

    Yields a function that begins a stage: it takes the stage's name and gives what is to be called as the stage goes
    on. Studies take that as a plain callable, so that they know nothing of terminals.

    Examples
    --------
    >>> with progress() as begin:  # standard error is no terminal here
    ...     told = begin("turning")
    ...     told(1, 2)
    """
    if not sys.stderr.isatty():
        yield lambda _words: untold
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn()
    with Progress(*columns, console=Console(stderr=True), transient=True) as bars:

        def begin(words: str) -> Told:
            task = bars.add_task(words, total=None)
            return lambda done, total: bars.update(task, completed=done, total=total)

        yield begin
