"""Long studies: how far each is, and stopping it."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

_MOST = 50


class Stopped(Exception):
    """The study was stopped by whoever asked for it."""


class WorkInHand:
    """Studies that run, by the word under which a page asked for them."""

    def __init__(self) -> None:
        self._far: dict[str, tuple[int, int | None]] = {}
        self._stopped: set[str] = set()
        self._lock = threading.Lock()

    @contextmanager
    def running(self, word: str) -> Iterator[Task]:
        """A study while it runs."""
        with self._lock:
            self._far[word] = (0, None)
            while len(self._far) > _MOST:
                self._far.pop(next(iter(self._far)))
        try:
            yield Task(self, word)
        finally:
            with self._lock:
                self._far.pop(word, None)
                self._stopped.discard(word)

    def far(self, word: str) -> tuple[int, int | None] | None:
        """How much is done, and of how much; None where nothing of this word runs."""
        return self._far.get(word)

    def stop(self, word: str) -> None:
        """Stop a study at its next step."""
        with self._lock:
            if word in self._far:
                self._stopped.add(word)

    def step(self, word: str, done: int, total: int | None) -> None:
        """Note how far a study is; Stopped where it is to end."""
        with self._lock:
            if word in self._stopped:
                raise Stopped(word)
            self._far[word] = (done, total)


class Task:
    """One study that runs: to be called with how far it is."""

    def __init__(self, work: WorkInHand, word: str) -> None:
        self._work, self._word = work, word

    def __call__(self, done: int, total: int | None) -> None:
        """Note how far it is."""
        self._work.step(self._word, done, total)
