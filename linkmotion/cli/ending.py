"""How a run ends before its time: interrupted, told to stop, or its reader gone. Nothing heavy is imported here."""

from __future__ import annotations

import logging
import os
import signal
import sys
import warnings
from typing import Any, NoReturn

READER_GONE = 128 + 13  # as the shell counts a broken pipe
_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")

_caught: list[int] = []
_before: dict[int, Any] = {}  # what was done about each signal before the run


def prepare() -> None:
    """Let signals end a run tidily, streams print whatever they are given, and libraries keep their warnings."""
    _caught.clear()
    for name in _SIGNALS:
        number = getattr(signal, name, None)  # not every system has them all
        if number is not None and signal.getsignal(number) not in (signal.SIG_IGN, _stop):  # nohup stays in force
            _before[number] = signal.signal(number, _stop)
    sys.unraisablehook = _unraised
    if not sys.warnoptions:  # -W and PYTHONWARNINGS
        warnings.simplefilter("ignore")
    logging.lastResort = logging.NullHandler()
    from linkmotion.views.signs import PLAIN

    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors=PLAIN)


def _stop(number: int, _frame: Any) -> NoReturn:
    _caught.append(number)
    raise KeyboardInterrupt


def _unraised(told: Any) -> None:
    if not _caught:
        sys.__unraisablehook__(told)


def stopped() -> int | None:
    """Exit status of a run that a signal has ended, whatever became of the exception on its way; else none."""
    return 128 + _caught[0] if _caught else None


def streams_closed() -> bool:
    """Whether standard output is closed; what is closed is replaced, lest a file of ours be opened in its place."""
    closed = sys.stdout is None
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115 - to the end of the run
    return closed


def leave(code: int) -> NoReturn:
    """End the run without a further word, whatever waits in the streams."""
    for number, usual in _before.items():
        signal.signal(number, signal.SIG_IGN if _caught else usual)  # whoever interrupts does it more than once
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except (OSError, ValueError):
            _drop(stream)
    if _caught:
        os._exit(code)  # whatever else would be waited for, such as a pool of processes of which one was killed
    sys.exit(code)


def _drop(stream: Any) -> None:
    """Send what a stream still holds nowhere, so that the interpreter's own last flush is silent."""
    try:
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, stream.fileno())
        os.close(null)
    except (OSError, ValueError):
        pass
