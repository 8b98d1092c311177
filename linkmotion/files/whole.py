"""Files put into their places whole or not at all, several together.

Everything is written beside its place first, in parts whose names begin with ``.linkmotion-``, and safe on the disk
before the first is moved. Each move is one step, so that whoever looks finds the old file or the new one. The folders
are held while this lasts: a second run waits, and a part that is found by whoever holds the folder belongs to a run
that was killed, and is cleared away.
"""

from __future__ import annotations

import errno
import os
import re
import signal
import stat
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from linkmotion.files.faults import FileError

try:
    import fcntl
except ImportError:  # Windows, where a file that is in use cannot be deleted: see _clear_parts
    fcntl = None  # type: ignore[assignment]

_PART = re.compile(r"\.linkmotion-[0-9a-f]{16}\.part")
_WAIT = 30.0  # seconds for another run to be done with a folder
_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


def leads_into(path: Path, folder: Path) -> bool:
    """Whether a path leads to a place in a folder, every link followed; a circle of links leads to none.

    Parameters
    ----------
    path, folder : Path
        As named by the user.
    """
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):
        return False


def followed(path: Path) -> Path:
    """Where a path leads when every link is followed, whether or not anything is there.

    Parameters
    ----------
    path : Path
        As named by the user.

    Raises
    ------
    FileError
        A link leads back to itself.
    """
    try:
        real = path.resolve()
    except (OSError, RuntimeError):
        real = path
    if real.is_symlink():
        raise FileError(str(path), "this link leads to itself", "choose another name")
    return real


def unwritten(path: Path, error: OSError) -> FileError:
    """What the system says, told of the file as the user named it: the error to raise.

    Parameters
    ----------
    path, error : Path, OSError
        The file; what was raised in writing it.
    """
    remedy = "make room or choose another place" if error.errno in _FULL else "choose a place that can be written"
    return FileError(str(path), (error.strerror or str(error)).lower(), f"{remedy}; nothing was lost")


def write_together(
    files: Mapping[Path, bytes], look: Callable[[Path], bool], stale: Callable[[], Iterable[Path]] = tuple
) -> None:
    """Write files, each whole or not at all; links are followed.

    Parameters
    ----------
    files : mapping
        Bytes by path. They are moved into place in this order.
    look : callable
        Raises if a path may not be written; else tells whether a file is there, which then is replaced. Asked while
        the folders are held.
    stale : callable
        Files to be cleared away at the end.

    Raises
    ------
    FileError
        No room, no permission, something in the way: with the file as the user named it.
    """
    places = {path: followed(path) for path in files}
    parts = {path: place.with_name(f".linkmotion-{os.urandom(8).hex()}.part") for path, place in places.items()}
    made: list[Path] = []
    now = next(iter(files))
    try:
        with ExitStack() as held:
            for folder in sorted({place.parent for place in places.values()}):
                _make(folder, made)
                if held.enter_context(_held(folder, now)):
                    _clear_parts(folder)
            there = {}
            for now in files:
                there[now] = look(now)
            for now, data in files.items():
                _write_part(parts[now], data, places[now] if there[now] else None)
            with _undisturbed():
                for now in files:
                    _move(now, parts[now], places[now], there[now])
                for now in stale():
                    now.unlink(missing_ok=True)
    except OSError as error:
        raise unwritten(now, error) from None
    finally:
        for part in parts.values():
            with suppress(OSError):
                part.unlink()
        for folder in reversed(made):
            with suppress(OSError):
                folder.rmdir()  # where nothing came to be in it


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Ctrl-C waits until all that belongs together is in its place."""
    if threading.current_thread() is not threading.main_thread():  # the others are never interrupted
        yield
        return
    came: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _frame: came.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before or signal.SIG_DFL)
    if came and callable(before):
        before(signal.SIGINT, None)


def _make(folder: Path, made: list[Path]) -> None:
    """Make a folder and those above it; ``made`` gets what was not there."""
    if not folder.exists():
        _make(folder.parent, made)
        with suppress(FileExistsError):  # another run was quicker
            folder.mkdir()
            made.append(folder)


@contextmanager
def _held(folder: Path, path: Path) -> Iterator[bool]:
    """Hold a folder against other runs; False where the file system cannot."""
    if fcntl is None:
        yield True
        return
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:  # it may be written into, but not listed
        yield False
        return
    try:
        yield _lock(handle, path)
    finally:
        os.close(handle)  # which lets it go


def _lock(handle: int, path: Path) -> bool:
    """Lock an open folder, waiting for others; the system unlocks it when the process ends, however it ends."""
    end = time.monotonic() + _WAIT
    while True:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            if time.monotonic() > end:
                raise FileError(str(path), "another run is writing here", "wait until it is done") from None
            time.sleep(0.02)
        except OSError:
            return False
        else:
            return True


def _clear_parts(folder: Path) -> None:
    """Clear away what runs have left that were killed."""
    for name in os.listdir(folder):
        if _PART.fullmatch(name):
            with suppress(OSError):
                os.unlink(folder / name)


def _write_part(part: Path, data: bytes, old: Path | None) -> None:
    """Write a part and see it onto the disk; its rights are those of the file it replaces, or of any new file."""
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    with os.fdopen(handle, "wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())
    if old is not None:
        os.chmod(part, stat.S_IMODE(old.stat().st_mode))


def _move(path: Path, part: Path, place: Path, there: bool) -> None:
    """Move a part into its place; where nothing was, what has come there meanwhile stays."""
    if not there:
        try:
            os.link(part, place)
        except FileExistsError:
            raise FileError(str(path), "this file has just been written by another", "choose another name") from None
        except OSError:  # a file system without hard links
            if os.path.lexists(place):
                raise
        else:
            return
    os.replace(part, place)
