"""Figures of the engine file's smaller tables as screens let them be typed: what stands there, and one written anew."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.entering import LONGEST
from linkmotion.bench.kept_file import SinceChanged
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import GONE, Place, as_typed, figure_at, read_tables, typed
from linkmotion.files.journal import Change
from linkmotion.files.source import dotted


@dataclass(frozen=True)
class TableFigure:
    """One figure, or word, of a table.

    Attributes
    ----------
    place : tuple of str
        Where it stands in the file.
    words, unit : str
        What it is; of a bare number.
    value : str
        What is written, as it would be typed; "" where nothing is.
    more : str
        What holds where nothing is written, or how it is written.
    choices, nothing : tuple of str, str
        The words of which one stands there, where it is no figure; what it is called that none does.
    offered : tuple of str
        What can be chosen for it besides being typed.
    instead : tuple of places
        What it stands instead of: taken out where this is written.
    in_table : bool
        Whether its table goes with the last figure of it.
    wide : bool
        Whether it is long, as a sentence is.
    plain : bool
        Whether it is words, and no figure.
    """

    place: Place
    words: str
    unit: str = ""
    value: str = ""
    more: str = ""
    choices: tuple[str, ...] = ()
    nothing: str = ""
    offered: tuple[str, ...] = ()
    instead: tuple[Place, ...] = ()
    in_table: bool = False
    wide: bool = False
    plain: bool = False

    @property
    def name(self) -> str:
        """By which a page and a fault know it."""
        return dotted(self.place)


def value_at(work: EngineAtWork, place: Place) -> str:
    """What is written at a place, as it would be typed."""
    return typed(figure_at(work.document, place))


def enter(
    work: EngineAtWork, figures: Iterable[TableFigure], name: str, value: str, seen: int, of: str
) -> Change | None:
    """Write one figure of a table; what is empty is taken out.

    Parameters
    ----------
    work, figures : EngineAtWork, iterable of TableFigure
        The engine's file; what can be typed there.
    name, value, seen : str, str, int
        Which, as typed; the change that was seen last.
    of : str
        What they are figures of, as the history tells it.

    Raises
    ------
    FileError
        There is no such figure, or it cannot be what was typed; the file is as it was.
    """
    known = {own.name: own for own in figures}
    if name not in known or len(value) > LONGEST:
        raise FileError(name, "this cannot be understood", "load the page anew")
    own, place, told = known[name], known[name].place, " ".join(value.split())
    written: Any = GONE if not told else told if own.plain or own.choices else as_typed(value)
    if written is GONE and own.in_table and set(figure_at(work.document, place[:-1]) or {}) == {place[-1]}:
        place = place[:-1]
    values = {place: written}
    if written is not GONE:
        values |= {each: GONE for each in own.instead if figure_at(work.document, each) is not None}

    def words(old: str, new: str) -> str:
        was, now = (typed(figure_at(read_tables(text), own.place)) for text in (old, new))
        return f"{of}: {own.words.lower()} {now or 'taken out'} (was {was or 'not given'})"

    try:
        return work.change_figures(values, words, seen, name, "write it into the file by hand")
    except SinceChanged:
        raise
    except FileError as error:
        other = known.get(error.key)
        at = f"{other.words}: " if other and other is not own else ""
        plain = f"{at}{error.plain}"
        raise FileError(error.file, f"{at}{error.problem}", error.remedy, key=name, plain=plain) from None


def more_of(figures: Iterable[TableFigure]) -> Mapping[str, str]:
    """What the page says anew beside each figure once one was entered."""
    return {own.name: own.more for own in figures}
