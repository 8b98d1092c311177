"""Everything that can go wrong while files are written, tried at the very moment."""

from __future__ import annotations

import errno
import os
import resource
import signal
from collections.abc import Callable, Iterable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

from linkmotion.files.faults import FileError
from linkmotion.files.marks import mark_of, marked
from tests.apart import apart, open_folder

MINE = b"six months of measuring"
BARE = {
    ".svg": b"<svg/>",
    ".html": b"<p>old</p>",
    ".dxf": b"  0\nEOF\n",
    ".pdf": b"%PDF-1.4\nstartxref\n0\n%%EOF\n",
    ".wav": b"RIFF\x04\0\0\0WAVE",
}


def everything(root: Path) -> dict[str, bytes | None]:
    """Every path below a folder, with the bytes of each file."""
    return {
        str(path.relative_to(root)): path.read_bytes() if path.is_file() else None for path in sorted(root.rglob("*"))
    }


Write = Callable[..., None]
POINTS = ("open", "fsync", "chmod", "link", "replace", "unlink", "mkdir")


class Trial:
    """Stands where files are written: first everything goes wrong that can, in processes of their own; then it is done.

    Attributes
    ----------
    root : Path
        Folder in which everything happens.
    steps : int
        At how many steps of the writing it is killed, at most.
    theirs : dict of str, bytes
        What must be there at the end, whatever goes wrong.
    """

    def __init__(self, root: Path, write: Write, steps: int = 15) -> None:
        self.root, self.write, self.steps, self.tried = root, write, steps, 0

    def __call__(
        self, files: Mapping[Path, bytes], look: Callable[[Path], bool], stale: Callable[[], Iterable[Path]] = tuple
    ) -> None:
        def work() -> str:
            try:
                self.write(files, look, stale)
            except FileError as error:
                return str(error)
            return ""

        for old in (False, True):
            if old and not self.put_old(files):
                continue
            before = everything(self.root)
            for trouble in (no_room, at_most_a_page, stuck):
                told = apart(partial(_after, trouble, work), ordinary=trouble is stuck).result
                assert told.startswith(tuple(map(str, files))), told
                assert ".part" not in told
                assert everything(self.root) == before, f"{trouble.__name__}: {told}"
            self.killed(files, work, before)
            self.tried += 1
        self.write(files, look, stale)

    def put_old(self, files: Mapping[Path, bytes]) -> bool:
        """Put what an earlier run wrote into every place; False where that would be the user's."""
        for path, data in files.items():
            if not mark_in(data):
                return False
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(marked(BARE[path.suffix], path.suffix, mark_in(data)[1:]))
        return True

    def killed(self, files: Mapping[Path, bytes], work: Callable[[], str], before: dict[str, bytes | None]) -> None:
        """Kill it at every step (of many files: at some); the old or the new is there, and the next run tidies up."""
        steps = apart(lambda: counted(work)).result
        self.restore(before)
        for step in sorted({round(1 + i * (steps - 1) / (self.steps - 1)) for i in range(self.steps)}):
            assert apart(partial(_after, partial(kill_at, step), work)).signal == signal.SIGKILL
            found = everything(self.root)
            for name, data in before.items():
                new = next((own for path, own in files.items() if self.name(path) == name), data)
                assert found.pop(name, None) in (data, new), f"{name}, killed at step {step} of {steps}"
            for path, new in files.items():
                assert found.pop(self.name(path), new) == new, f"{path}, killed at step {step} of {steps}"
            assert all(data is None or Path(name).name.startswith(".linkmotion-") for name, data in found.items())
            done = not before.keys() >= set(map(self.name, files)) and all(map(Path.exists, files))
            told = apart(work).result  # what the user fills in stays, once it is there
            assert told == "" or (done and not any(map(mark_in, files.values())) and "there already" in told)
            whole = {self.name(path): data for path, data in files.items()}
            after = everything(self.root)
            assert {name: data for name, data in after.items() if data is not None} == {
                name: data for name, data in (before | whole).items() if data is not None
            }, "the next run has cleared up"
            self.restore(before)

    def name(self, path: Path) -> str:
        return str(path.resolve().relative_to(self.root.resolve()))

    def restore(self, before: dict[str, bytes | None]) -> None:
        for name in sorted(everything(self.root), reverse=True):
            path = self.root / name
            if before.get(name) is not None:
                path.write_bytes(before[name] or b"")
            elif name not in before:
                path.rmdir() if path.is_dir() else path.unlink()


def mark_in(data: bytes) -> str:
    """ "+" and the group that a file's mark names; "" where there is none."""
    with open_folder() as folder:
        (folder / "file").write_bytes(data)
        mark = mark_of(folder / "file")
    return f"+{mark.group}" if mark else ""


def _after(trouble: Callable[[], None], work: Callable[[], Any]) -> Any:
    trouble()
    return work()


def no_room() -> None:
    def full(fd: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    os.fsync = full


def at_most_a_page() -> None:
    """No file may be longer than a part of what is written: the system itself stops the writing."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (300, 300))


def stuck() -> None:
    """Nothing: the user of this process may write nowhere here."""


def counted(work: Callable[[], Any]) -> int:
    """How many steps the writing takes."""
    steps: list[str] = []
    at_each(steps.append)
    work()
    return len(steps)


def kill_at(step: int) -> None:
    steps: list[str] = []

    def one(name: str) -> None:
        steps.append(name)
        if len(steps) == step:
            os.kill(os.getpid(), signal.SIGKILL)

    at_each(one)


def at_each(tell: Callable[[str], Any]) -> None:
    """Have each step that touches the disk told before it is taken."""
    for name in POINTS:
        own = getattr(os, name)

        def told(*words: Any, own: Any = own, name: str = name, **more: Any) -> Any:
            tell(name)
            return own(*words, **more)

        setattr(os, name, told)
