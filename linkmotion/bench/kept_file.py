"""One file that is worked on: every change is in its journal before it is answered, and then in the file itself.

Whoever changes says which text they have seen. Where another window or another program changed the same figure since,
it is told and nothing is written; changes of different figures are both kept.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import date
from pathlib import Path

from filelock import FileLock

from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import Place, figure_at, read_tables, typed
from linkmotion.files.journal import BACK, BEGUN, ENTRY, OUTSIDE, REDO, UNDO, Change, Journal, digest
from linkmotion.files.source import Source
from linkmotion.files.whole import unwritten, write_together

_POLL = 0.005  # seconds between two looks whether another run is done


class SinceChanged(FileError):
    """The same figure was changed elsewhere since it was seen."""


class KeptFile:
    """A text file of a folder, its journal, and its changes.

    Parameters
    ----------
    folder : FolderOfEngines
        That holds it.
    name : str
        Without ending.
    """

    def __init__(self, folder: FolderOfEngines, name: str) -> None:
        self.folder, self.name, self.path = folder, name, folder.place(name)
        kept = folder.kept(name)
        self._journal_path = kept / f"{name}.changes"
        self.journal = Journal(self._journal_path)
        self._stat: tuple[int, ...] = ()
        self.text = ""
        self.lock = threading.RLock()
        self.look()

    @property
    def version(self) -> int:
        """Number of the last change; 0 before any."""
        return max(self.journal.number, 0)

    def look(self) -> bool:
        """Look whether the file is another than was seen last; what a killed run left undone is finished.

        Raises
        ------
        FileError
            It is gone, or is no text.
        """
        with self.lock:
            if self._unmoved():
                return False
            with self._held():
                return self._looked()

    def _looked(self) -> bool:
        """The same, while the journal is held."""
        stat, before = self._seen(), self.text
        self.text = self._read()
        if self.journal.number < 0 and before and before != self.text:
            self._begin(before)  # so that whoever saw the text before can be told
        if self.journal.number >= 0 and digest(self.text) != digest(self.journal.text):
            self._settle()
        self._stat = stat if self.text != before or not self._stat else self._seen()
        return self.text != before

    def _settle(self) -> None:
        """File and journal differ: a run was killed before it wrote the file, or another program changed it."""
        last = self.journal.changes[-1]
        if self.journal.unwritten and digest(self.text) == last.before:
            text = self.journal.text
            self._write(self.text, text)
            self.text = text
        else:
            self.journal.add(OUTSIDE, "changed by another program", self.text)

    def _unmoved(self) -> bool:
        try:
            journal = self._journal_path.stat().st_size if self._journal_path.exists() else 0
            return bool(self._stat) and self._seen() == self._stat and journal == self.journal.size
        except OSError:
            return False

    def _seen(self) -> tuple[int, ...]:
        try:
            own = self.path.stat()
        except OSError as error:
            words = (error.strerror or "cannot be read").lower()
            raise FileError(self.path.name, words, "look whether it was moved or renamed") from None
        return own.st_ino, own.st_size, own.st_mtime_ns

    def _read(self) -> str:
        if not self.folder.holds(self.path):
            raise FileError(self.path.name, "it does not lie in this folder", "only files of the folder are opened")
        Source.read(self.path)  # refuses what is no text, or too large
        return self.path.read_bytes().decode("utf-8")

    def change(
        self,
        made: Callable[[str], str],
        words: str | Callable[[str, str], str],
        seen: int,
        places: tuple[Place, ...] = (),
        kind: str = ENTRY,
    ) -> Change | None:
        """Change the text; None where it stays as it is.

        Parameters
        ----------
        made : callable
            From the text as it stands to the text wanted; may refuse by raising.
        words : str or callable
            What is changed, as the history tells it.
        seen : int
            Number of the change that whoever wishes this has seen last.
        places : tuple of places
            Figures that it is about; none: all of it.
        kind : str
            Of the change.

        Raises
        ------
        SinceChanged
            One of the places was changed since.
        FileError
            It cannot be written; nothing is changed.
        """
        with self.lock, self._held():
            self._looked()
            self._see_seen(seen, places)
            text = made(self.text)
            if text == self.text:
                return None
            self._begin(self.text)
            told = words if isinstance(words, str) else words(self.text, text)
            try:
                change = self.journal.add(kind, told, text)
            except OSError as error:
                raise unwritten(self._journal_path, error) from None
            self._write(self.text, text)
            self.text, self._stat = text, self._seen()
            return change

    def _begin(self, text: str) -> None:
        """The journal's first line holds the whole text; and each day's first text is kept as a file."""
        folder = self._journal_path.parent
        try:
            folder.mkdir(exist_ok=True)
            if self.journal.number < 0:
                self.journal.add(BEGUN, "as it was before the first change here", text)
        except OSError as error:
            raise unwritten(folder, error) from None
        daily = folder / f"{self.name} {date.today().isoformat()}.toml"
        if not daily.exists() and not daily.is_symlink():
            write_together({daily: text.encode()}, lambda _path: False)

    def _write(self, old: str, new: str) -> None:
        """Put the new text into the file's place, if the file is still as it was."""

        def look(path: Path) -> bool:
            if path.read_bytes() != old.encode():
                raise FileError(path.name, "another program has just changed it", "look at it as it is now")
            return True

        write_together({self.path: new.encode()}, look)
        self.journal.written()

    def _see_seen(self, seen: int, places: tuple[Place, ...]) -> None:
        if seen == self.version:
            return
        try:
            then, now = (read_tables(text) for text in (self.journal.text_at(seen), self.text))
        except (KeyError, ValueError):
            raise SinceChanged(self.name, "it was changed elsewhere since", "look at it as it is now") from None
        if not places:
            last = self.journal.changes[-1]
            raise SinceChanged(self.name, f"it was changed elsewhere since: {last.words}", "look at it as it is now")
        for place in places:
            was, found = figure_at(then, place), figure_at(now, place)
            if was != found:
                words = (
                    f"changed elsewhere since, to {typed(found) or 'nothing'} (you had seen {typed(was) or 'nothing'})"
                )
                raise SinceChanged(self.name, words, "look at it as it is now, and enter yours again if it is right")

    def undo(self, seen: int) -> Change | None:
        """Take back the last change that stands."""
        done, _undone = self.journal.standing()
        if not done:
            return None
        last = done[-1]
        return self.change(last.splice.undone, f"undone: {last.words}", seen, (), UNDO)

    def redo(self, seen: int) -> Change | None:
        """Make the last change again that was taken back."""
        _done, undone = self.journal.standing()
        if not undone:
            return None
        last = undone[-1]
        return self.change(last.splice.done, f"done again: {last.words}", seen, (), REDO)

    def back_to(self, number: int, seen: int) -> Change | None:
        """Let the file be as it was after a change.

        Raises
        ------
        FileError
            That is no longer at hand.
        """
        try:
            text = self.journal.text_at(number)
        except KeyError:
            raise FileError(self.name, "this is not among the changes at hand", "choose another") from None
        when = next(own.at for own in self.journal.changes if own.number == number)
        return self.change(lambda _now: text, f"back to {when[:10]} {when[11:19]}", seen, (), BACK)

    @contextmanager
    def _held(self) -> Iterator[None]:
        """Hold the journal against another run on the same folder, and read what that has added."""
        lock = FileLock(self._journal_path.with_suffix(".lock"), poll_interval=_POLL)
        if self._journal_path.exists():
            with suppress(OSError, NotImplementedError):  # where no lock can be made, nobody can write either
                lock.acquire()
            self.journal.look()
        try:
            yield
        finally:
            lock.release()
