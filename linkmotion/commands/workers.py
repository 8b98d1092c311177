"""Processes that share a job."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
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

    Python's own shutdown waits for ever where a worker has died while a message to it was being written.

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
    except KeyboardInterrupt:
        for worker in multiprocessing.active_children():
            worker.kill()
        executor.shutdown(wait=False, cancel_futures=True)
        raise
    except BaseException:
        executor.shutdown(cancel_futures=True)
        raise
    executor.shutdown()


def _begin() -> None:
    """Ctrl-C ends a worker at once and without a word: the command itself says what is to be said."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    threading.Thread(target=_end_with_the_command, daemon=True).start()
    _keep_memory()


def _end_with_the_command() -> None:
    """A worker whose command has been killed would wait for its next job for ever."""
    command = multiprocessing.parent_process()
    assert command is not None
    command.join()
    os._exit(1)


def _keep_memory() -> None:
    """Let what one array gives back serve the next: page by page from the system it costs a third of the whole job."""
    np.empty(_KEPT, np.uint8)
