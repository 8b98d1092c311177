"""Work done in a process of its own: as an ordinary user, or killed on the way."""

from __future__ import annotations

import os
import pickle
import shutil
import tempfile
import traceback
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

NOBODY = 65534  # the user and group of that name, who own nothing


@dataclass(frozen=True)
class Ended:
    """How a process ended: what its work gave, or the signal that killed it."""

    signal: int
    result: Any = None


def apart(work: Callable[[], Any], ordinary: bool = False) -> Ended:
    """Do work in a fork of this process, if asked as a user who is not root; what it raises is raised here."""
    back, there = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of forking beside the threads of a numeric library
        child = os.fork()
    if child == 0:
        os.close(back)
        try:
            if ordinary and os.geteuid() == 0:
                os.setgroups([])
                os.setgid(NOBODY)
                os.setuid(NOBODY)
            told = pickle.dumps((True, work()))
        except BaseException as error:
            told = pickle.dumps((False, (str(error), traceback.format_exc())))
        with os.fdopen(there, "wb") as out:
            out.write(told)
        os._exit(0)
    os.close(there)
    with os.fdopen(back, "rb") as end:
        told = end.read()
    status = os.waitpid(child, 0)[1]
    if os.WIFSIGNALED(status):
        return Ended(os.WTERMSIG(status))
    fine, result = pickle.loads(told)
    assert fine, result[1]
    return Ended(0, result)


@contextmanager
def open_folder() -> Iterator[Path]:
    """A folder that every user may look into, gone afterwards."""
    folder = Path(tempfile.mkdtemp(prefix="linkmotion-test-"))
    folder.chmod(0o755)
    try:
        yield folder
    finally:
        shutil.rmtree(folder)
