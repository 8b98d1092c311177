"""Every change that was made to a file, on the disk before it is answered: a list that is only ever added to.

Each line is one change in JSON: when, what in words, and what was cut out of the text and put in instead. So every
text that the file ever had can be made again, a change can be undone, and what was entered is not lost when the
program is killed before the file itself is written: whoever opens the journal next finishes that. A line that was cut
off half written is no change.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

BEGUN, ENTRY, UNDO, REDO, OUTSIDE, BACK, WRITTEN = KINDS = (
    "begun", "entry", "undo", "redo", "outside", "back", "written",
)  # fmt: skip
KEPT = 1000  # changes kept at hand; older ones stay in the journal


@dataclass(frozen=True)
class Splice:
    """What turns one text into another: at a place, one piece cut out and another put in."""

    at: int
    cut: str
    put: str

    @classmethod
    def between(cls, old: str, new: str) -> Splice:
        """The shortest single splice from one text to another.

        >>> Splice.between("length = 31", "length = 32")
        Splice(at=10, cut='1', put='2')
        """
        most = min(len(old), len(new))
        at = next((i for i in range(most) if old[i] != new[i]), most)
        rest = next((i for i in range(most - at) if old[-1 - i] != new[-1 - i]), most - at)
        return cls(at, old[at : len(old) - rest], new[at : len(new) - rest])

    def done(self, text: str) -> str:
        """The text with it; ValueError where it does not belong to the text."""
        return _spliced(text, self.at, self.cut, self.put)

    def undone(self, text: str) -> str:
        """The text without it; ValueError where it does not belong to the text."""
        return _spliced(text, self.at, self.put, self.cut)


def _spliced(text: str, at: int, cut: str, put: str) -> str:
    if text[at : at + len(cut)] != cut:
        raise ValueError("this change does not belong to this text")
    return text[:at] + put + text[at + len(cut) :]


@dataclass(frozen=True)
class Change:
    """One change.

    Attributes
    ----------
    number : int
        From 0, which is the text with which the journal begins.
    at : str
        When: date, time and zone.
    kind : str
        One of :data:`KINDS`.
    words : str
        What was changed, as it is told.
    splice : Splice
        What it does to the text.
    before, after : str
        Digests of the text.
    """

    number: int
    at: str
    kind: str
    words: str
    splice: Splice
    before: str
    after: str


def digest(text: str) -> str:
    """What a text is known again by."""
    return hashlib.sha256(text.encode()).hexdigest()[:24]


class Journal:
    """The changes of one file.

    Attributes
    ----------
    path : Path
        Of the journal.
    text : str
        The text after the last change.
    changes : list of Change
        At most :data:`KEPT` and as many again, the oldest first.
    unwritten : bool
        Whether the last change may not have reached the file.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.text, self._base, self._read = "", "", 0
        self.changes: list[Change] = []
        self.unwritten = False
        if path.exists():
            self.look()

    @property
    def size(self) -> int:
        """Bytes of it that have been read."""
        return self._read

    @property
    def number(self) -> int:
        """Of the last change; -1 before the first."""
        return self.changes[-1].number if self.changes else -1

    def look(self) -> None:
        """Read what has been added since, here or by another run."""
        with self.path.open("rb") as file:
            file.seek(self._read)
            data = file.read()
        whole = data[: data.rfind(b"\n") + 1]  # a last line without its end is no change
        self._read += len(whole)
        for line in whole.split(b"\n"):
            self._take(line)

    def text_at(self, number: int) -> str:
        """The text after a change that is still at hand; KeyError where it is not."""
        if not self.changes or not self.changes[0].number <= number <= self.number:
            raise KeyError(number)
        text = self._base
        for change in self.changes:
            text = change.splice.done(text)
            if change.number == number:
                break
        return text

    def add(self, kind: str, words: str, text: str) -> Change:
        """Note a change, on the disk when this returns.

        Parameters
        ----------
        kind, words : str
            As of :class:`Change`.
        text : str
            The whole text after it.

        Raises
        ------
        OSError
            There is no room, or no permission; nothing is noted.
        """
        now = datetime.now().astimezone().isoformat(timespec="milliseconds")
        splice = Splice.between(self.text, text)
        change = Change(self.number + 1, now, kind, words, splice, digest(self.text), digest(text))
        self._append(asdict(change), sure=True)
        self._keep(change, text)
        return change

    def written(self) -> None:
        """Note that the last change has reached the file."""
        self._append({"kind": WRITTEN, "number": self.number}, sure=False)
        self.unwritten = False

    def _append(self, line: dict[str, Any], sure: bool) -> None:
        new = not self.path.exists()
        handle = os.open(self.path, os.O_WRONLY | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0), 0o666)
        try:
            size = os.fstat(handle).st_size
            torn = size > self._read  # a line that was never finished is made none
            data = b"#\n" * torn + json.dumps(line, ensure_ascii=False).encode() + b"\n"
            os.write(handle, data)
            if sure:
                os.fsync(handle)
        finally:
            os.close(handle)
        self._read = size + len(data)
        if new:
            _see_onto_disk(self.path.parent)

    def _take(self, line: bytes) -> None:
        """Take up one line that was read; what belongs to no text at hand is passed over."""
        try:
            read = json.loads(line)
            if read["kind"] == WRITTEN:
                self.unwritten &= read["number"] != self.number
                return
            change = Change(**read | {"splice": Splice(**read["splice"])})
            text = change.splice.done(self.text if change.before == digest(self.text) else "")
        except (ValueError, TypeError, KeyError, RecursionError):
            return
        if digest(text) == change.after:
            self._keep(change, text)

    def _keep(self, change: Change, text: str) -> None:
        if change.kind == BEGUN:
            self.changes, self._base = [], ""
        self.changes.append(change)
        self.text, self.unwritten = text, change.kind not in (BEGUN, OUTSIDE)
        if len(self.changes) > 2 * KEPT:
            for old in self.changes[:KEPT]:
                self._base = old.splice.done(self._base)
            del self.changes[:KEPT]

    def standing(self) -> tuple[list[Change], list[Change]]:
        """Changes that can be undone, and those that can be done again, the next of each last."""
        done: list[Change] = []
        undone: list[Change] = []
        for change in self.changes:
            if change.kind == UNDO and done:
                undone.append(done.pop())
            elif change.kind == REDO and undone:
                done.append(undone.pop())
            elif change.kind not in (BEGUN, UNDO, REDO):
                done.append(change)
                undone.clear()
        return done, undone

    def days(self) -> Iterator[tuple[str, list[Change]]]:
        """Changes by the day, the latest day and the latest change first."""
        by_day: dict[str, list[Change]] = {}
        for change in reversed(self.changes):
            by_day.setdefault(change.at[:10], []).append(change)
        yield from by_day.items()


def _see_onto_disk(folder: Path) -> None:
    """A new name in a folder is safe once the folder is (Windows has no such step)."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
