"""Running a command on a file made wrong at random, and judging how it ended."""

from __future__ import annotations

import contextlib
import io
import os
import signal
import sys
import traceback
import warnings
from collections.abc import Iterator
from pathlib import Path
from types import FrameType
from unittest.mock import patch

from linkmotion import cli
from tests.bad_engines.command import Run, assert_refused
from tests.mutated_files import EXAMPLES, Mutant

LONGEST = 10.0  # processor seconds of one command; a machine with much else to do is no hang
USUAL = {  # FILE stands for the file, ENGINE for the example to which it belongs
    "engine": ("check FILE --tables",),
    "readings": ("diagnose ENGINE FILE",),
    "table": ("diagnose ENGINE FILE",),
    "marks": ("tram ENGINE FILE",),
    "slot": ("cleanup ENGINE --tables --side right --readings FILE --state", "as found"),
}


class Hang(BaseException):
    """A command has not ended in its time; no ``except Exception`` catches it."""


@contextlib.contextmanager
def in_time(seconds: float = LONGEST) -> Iterator[None]:
    """Raise :class:`Hang` in what takes more processor time."""

    def over(_signal: int, _frame: FrameType | None) -> None:
        raise Hang

    before = signal.signal(signal.SIGPROF, over)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


def judged(mutant: Mutant, folder: Path, command: tuple[str, ...]) -> tuple[str, str]:
    """How a command ended on a file.

    Returns
    -------
    how : str
        "within", "out" (exit codes 0 and 1), "refused" (2, in two lines with file and remedy), or what is wrong:
        "traceback", "hang", "warning", "bad refusal".
    told : str
        What was said, where something is wrong.
    """
    file, engine = folder / f"file{mutant.suffix}", EXAMPLES / f"{mutant.engine}.toml"
    file.write_bytes(mutant.data)
    words = [*command[0].split(), *command[1:]]
    try:
        run, warned = _run([{"FILE": str(file), "ENGINE": str(engine)}.get(word, word) for word in words])
    except Hang:
        return "hang", ""
    except Exception:
        return "traceback", traceback.format_exc()
    if warned:
        return "warning", warned
    if run.code in (0, 1):
        return ("within", "out")[run.code], ""
    try:
        assert_refused(run, file if run.err.startswith(str(file)) else engine)
    except AssertionError as error:
        return "bad refusal", str(error)
    return "refused", ""


def _run(words: list[str]) -> tuple[Run, str]:
    """Run the command line in this process; how it ended, and the warnings of Python's that were given."""
    out, err, code = io.StringIO(), io.StringIO(), -1
    before, sys.argv = sys.argv, ["linkmotion", *words]
    try:
        with (
            contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), in_time(),
            warnings.catch_warnings(record=True) as warned, patch.dict(os.environ, COLUMNS="1000"),
            patch.object(sys, "warnoptions", ["always"]),
        ):  # fmt: skip  # so wide that a refusal's two lines stand unbroken; and -W is given, so that none is kept back
            warnings.simplefilter("always")
            try:
                cli.main()
            except SystemExit as ended:
                code = ended.code if isinstance(ended.code, int) else -1
    finally:
        sys.argv = before
    return Run(code, out.getvalue(), err.getvalue()), "\n".join(f"{w.filename}:{w.lineno}: {w.message}" for w in warned)
