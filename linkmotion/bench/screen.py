"""A screen of the bench: one question about an engine, answered by the study that the command of that name runs.

One screen is one file in ``screens/`` that has a ``SCREEN``; it is found there by itself. Most need no template of
their own: what a command prints (:mod:`linkmotion.views.printout`) stands on the page too, the answer first.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from threading import Lock
from typing import Any
from urllib.parse import urlencode

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.engine import Engine
from linkmotion.sides import sides_meant
from linkmotion.views.printout import Block
from linkmotion.views.tables import Shown

Progress = Callable[[int, int | None], None]
"""Told how much of the work is done, and of how much; it raises where the work is to be stopped."""


def untold(_done: int, _total: int | None) -> None:
    """Tell nobody."""


@dataclass(frozen=True)
class Asked:
    """What a screen is asked about.

    Attributes
    ----------
    work : EngineAtWork
        The engine's file.
    engine : Engine
        As read from it.
    state, side, notch : str
        What is looked at: by name; a side, or "both" for every one; one notch.
    options : dict of str
        What else was chosen, by the names of the screen's own choices; nothing that it does not offer.
    progress : callable
        To be told how far a long study is.
    """

    work: EngineAtWork
    engine: Engine
    state: str
    side: str
    notch: str
    options: Mapping[str, str] = field(default_factory=dict)
    progress: Progress = untold

    @property
    def path(self) -> Path:
        """The file."""
        return self.work.path

    @property
    def query(self) -> str:
        """The same as the end of an address."""
        return urlencode({"state": self.state, "side": self.side, "notch": self.notch, **self.options})

    @property
    def shown(self) -> Shown:
        """How lengths are shown."""
        return Shown(self.engine.unit)

    def stage(self, number: int, of: int) -> Progress:
        """What one of several stages of about the same length is to tell how far it is."""
        return lambda done, total: self.progress(1000 * number + (1000 * done // total if total else 0), 1000 * of)

    @property
    def sides(self) -> tuple[str, ...]:
        """The sides that are meant."""
        return sides_meant(self.side, self.engine.sides)


@dataclass(frozen=True)
class Plot:
    """A picture on a screen."""

    title: str
    svg: bytes
    words: str = ""


@dataclass(frozen=True)
class Link:
    """A sheet that opens beside the bench, ready to be printed, or a file to take away; its address from the screen."""

    words: str
    address: str


@dataclass(frozen=True)
class Answered:
    """What a screen shows.

    Attributes
    ----------
    blocks : iterable of Block, Plot or Link
        As a command prints them, the answer first.
    told : dict
        What the screen's own template shows besides.
    """

    blocks: Iterable[Block | Plot | Link] = ()
    told: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Choice:
    """Something that a screen lets choose.

    Attributes
    ----------
    name, words : str
        In the address; on the page.
    values : callable
        From the engine to the values with their words, the usual one first. Of what is typed: the usual value, with a
        hint on how it is written.
    typed : bool
        Whether it is typed; the screen's own template then shows it where it belongs.
    """

    name: str
    words: str
    values: Callable[[Engine], Mapping[str, str]]
    typed: bool = False


@dataclass(frozen=True)
class Screen:
    """A screen.

    Attributes
    ----------
    name : str
        In the address.
    title : str
        In the row of screens.
    question : str
        That it answers.
    answer : callable
        The study and what it is shown as.
    place : int
        In the row of screens, from the left.
    chooses : tuple of str
        Which of "state", "side", "both" (sides together) and "notch" it lets choose.
    choices : tuple of Choice
        What else.
    template : str
        Its own, where what a command prints is not all.
    long : bool
        Whether it takes so long that the page stands before the answer does.
    answer_template : str
        Of a long study's answer, where what a command prints is not all.
    file : str
        Kind of a file beside the engine's that it is about: one of them is chosen, and is ``options[file]``.
    takes : callable or None
        What is done with what its page sends: it changes files and gives what the page is told.
    sheet : callable or None
        Its page to print, as HTML that stands by itself.
    beside : callable
        What its template shows beside the answer, at once.
    """

    name: str
    title: str
    question: str
    answer: Callable[[Asked], Answered]
    place: int
    chooses: tuple[str, ...] = ("state",)
    choices: tuple[Choice, ...] = ()
    template: str = "screen.html"
    long: bool = False
    answer_template: str = "answer.html"
    file: str = ""
    takes: Callable[[EngineAtWork, Mapping[str, Any]], Mapping[str, Any]] | None = None
    sheet: Callable[[Asked], str] | None = None
    beside: Callable[[Asked], Mapping[str, Any]] = lambda _asked: {}


_WHERE = ((0, "On the bench"), (40, "At the engine"), (60, "On paper"))
"""Where a screen is at work, by the least of the places there."""


def grouped(every: Iterable[Screen]) -> list[tuple[str, list[Screen]]]:
    """Screens by where they are at work, in their order."""
    found: dict[str, list[Screen]] = {words: [] for _least, words in _WHERE}
    for own in every:
        found[next(words for least, words in reversed(_WHERE) if own.place >= least)].append(own)
    return [(words, own) for words, own in found.items() if own]


_loading = Lock()  # the bench loads them as it begins, and a page may be asked for meanwhile


def screens() -> dict[str, Screen]:
    """Every screen by its name, in the order of their places."""
    with _loading:
        return _screens()


@cache
def _screens() -> dict[str, Screen]:
    from linkmotion.bench import screens as room

    found = (
        importlib.import_module(f"{room.__name__}.{module.name}").SCREEN
        for module in pkgutil.iter_modules(room.__path__)
    )
    return {own.name: own for own in sorted(found, key=lambda own: (own.place, own.name))}
