"""Long work, one piece at a time: the page that waits for it, how far it is, stopping it, and what was made at hand.

A page asks for it under a word of its own, and under that word it asks how far it is and can have it stopped. What is
opened by itself, such as a sheet, is asked for with ``wait=yes`` first: a page that waits is the answer, and gives way
to what was made.
"""

from __future__ import annotations

import secrets
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response

from linkmotion.bench.answering import sent
from linkmotion.bench.pages import POLICY, page

_MOST, _AT_HAND = 50, 4  # words known; things made that are at hand
_LONGEST = 40  # characters of a word
_LOOK = 0.2  # seconds between two looks whether it is to be stopped, while another piece is in work


class Stopped(Exception):
    """The work was stopped by whoever asked for it."""


class WorkInHand:
    """The bench's long work, by the words under which pages asked for it."""

    def __init__(self, root: str) -> None:
        self.root = root
        self._far: dict[str, tuple[int, int | None]] = {}
        self._stopped: set[str] = set()
        self._made: dict[str, Response] = {}
        self._lock, self._one = threading.Lock(), threading.Lock()

    def answer(self, request: Request, made: Callable[[Task], Response]) -> Response:
        """What is made of what is asked, or that it was stopped.

        Parameters
        ----------
        request : Request
            Its ``word`` is that under which it is known.
        made : callable
            Does the work; to be told how far it is.
        """
        word = request.query_params.get("word", "")[:_LONGEST]
        try:
            with self._running(word) as task, self._alone(task):
                return made(task)
        except Stopped:
            return PlainTextResponse("Stopped. Load the page anew to ask again.", 409)

    def opened(self, request: Request, what: str, made: Callable[[Task], Response]) -> Response:
        """The same for what is opened by itself: with ``wait=yes`` the page that waits for it.

        Parameters
        ----------
        request, made
            As for :meth:`answer`.
        what : str
            Is made, as the page that waits has it.
        """
        asked = dict(request.query_params)
        if asked.pop("wait", "") == "yes":
            asked["word"] = secrets.token_urlsafe(9)
            waits = page("being_made.html", root=self.root, what=what, later=f"?{urlencode(asked)}")
            return HTMLResponse(waits, headers={"Content-Security-Policy": POLICY})
        word = asked.get("word", "")[:_LONGEST]
        with self._lock:
            at_hand = self._made.pop(word, None)  # asked for once more, it is made anew
        if at_hand is not None:
            return at_hand
        answer = self.answer(request, made)
        if word and answer.status_code == 200:
            with self._lock:
                self._made = dict([*self._made.items(), (word, answer)][-_AT_HAND:])
        return answer

    def far(self, request: Request) -> Response:
        """How far a piece of work is; nothing where it is none in hand."""
        done, total = self._far.get(request.query_params.get("word", ""), (None, None))
        return JSONResponse({"done": done, "total": total})

    async def stop(self, request: Request) -> Response:
        """Stop a piece of work at its next step."""
        asked = await sent(request)
        if isinstance(asked, dict) and isinstance(asked.get("word"), str):
            with self._lock:
                if asked["word"] in self._far:
                    self._stopped.add(asked["word"])
        return JSONResponse({"ok": True})

    def step(self, word: str, done: int, total: int | None) -> None:
        """Note how far a piece of work is; Stopped where it is to end."""
        with self._lock:
            if word in self._stopped:
                raise Stopped(word)
            self._far[word] = (done, total)

    @contextmanager
    def _running(self, word: str) -> Iterator[Task]:
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

    @contextmanager
    def _alone(self, task: Task) -> Iterator[None]:
        """Wait for other work to be done; it can be stopped in that time too."""
        while not self._one.acquire(timeout=_LOOK):
            task(0, None)
        try:
            yield
        finally:
            self._one.release()


class Task:
    """One piece of work in hand: to be called with how far it is."""

    def __init__(self, work: WorkInHand, word: str) -> None:
        self._work, self._word = work, word

    def __call__(self, done: int, total: int | None) -> None:
        """Note how far it is."""
        self._work.step(self._word, done, total)
