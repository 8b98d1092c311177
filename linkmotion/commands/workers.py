"""Processes that share a job."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager

import numpy as np

_KEPT = 31 << 20
"""Bytes: glibc keeps twice its largest freed mapping, which counts up to 32 MB (mallopt(3), M_MMAP_THRESHOLD)."""


def cores() -> int:
    """Processors that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@contextmanager
def workers(processes: int) -> Iterator[ProcessPoolExecutor | None]:
    """An executor of processes; none for one. A job that is stopped leaves none behind and waits for none.

    Parameters
    ----------
    processes : int
        How many.
    """
    _keep_memory()
    if processes < 2:
        yield None
        return
    executor = ProcessPoolExecutor(processes, initializer=_begin)
    try:
        yield executor
    finally:
        executor.shutdown(cancel_futures=True)


def _begin() -> None:
    """Ctrl-C ends a worker at once and without a word: the command itself says what is to be said."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    _keep_memory()


def _keep_memory() -> None:
    """Let what one array gives back serve the next: page by page from the system it costs a third of the whole job."""
    np.empty(_KEPT, np.uint8)
