"""A side as a user names it: seen to be one of the engine's, else told what there is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from linkmotion.engine import DRAWING, Engine
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.source import Source, Where
from linkmotion.sides import BOTH, PAIR, SIDE_NAMES, side_words, sides_meant
from linkmotion.targets import targets_for

if TYPE_CHECKING:
    from linkmotion.files.readings_file import Readings


def no_such_side(side: str, sides: Sequence[str], more: Sequence[str] = ()) -> tuple[str, str]:
    """What is said of a name that is none of an engine's sides: the problem, and the remedy.

    Parameters
    ----------
    side, sides : str, sequence of str
        As named; the engine's.
    more : sequence of str
        Other names that would do here, such as "both".

    Examples
    --------
    >>> no_such_side("lefft", ("left", "right"))
    ("there is no side 'lefft'", "did you mean 'left'?")
    >>> no_such_side("left", ("middle",), ("both",))
    ("there is no side 'left': the engine file is of one cylinder alone", 'write middle, or both')
    """
    if side in PAIR and len(sides) == 1:
        problem = f"there is no side {side!r}: the engine file is of one cylinder alone"
        return problem, f"write {', or '.join((*sides, *more))}"
    return f"there is no side {side!r}", nearest(side, (*sides, *more))


def see_sides(
    source: Source, table: Iterable[str], where: Where, sides: Sequence[str], more: Sequence[str] = ()
) -> None:
    """See that a table of sides names none that another engine has, and this one not.

    Parameters
    ----------
    source, table, where : Source, iterable of str, tuple of str
        The file, for messages; its keys; its path.
    sides, more : sequences of str
        As for :func:`no_such_side`.

    Raises
    ------
    FileError
        At the first that is none of the engine's.
    """
    for name in table:
        see_side(source, name, (*where, name), sides, more)


def see_side(source: Source, side: object, where: Where, sides: Sequence[str], more: Sequence[str] = ()) -> None:
    """The same of one name: what is no side of any engine is passed over.

    Parameters
    ----------
    source, side, where, sides, more
        As for :func:`see_sides`; the name as read.
    """
    if side in SIDE_NAMES and side not in sides:
        raise source.fault(where, *no_such_side(str(side), sides, more))


def whose(engine: Engine, state: str, side: str) -> str:
    """In brackets, of which side in which state a fault is told; "" where the drawing is alike for every side.

    Parameters
    ----------
    engine, state, side : Engine, str, str
        As read; the drawing or a state; one of its sides.
    """
    if state == DRAWING:
        return f" ({DRAWING}, {side_words(side)})" if engine.sides_drawn else ""
    return f" (state {state!r}, {side_words(side)})"


def see_targets(source: Source, targets: Iterable[str], sides: Sequence[str]) -> None:
    """See that no target is held between the sides of an engine that has but one.

    Parameters
    ----------
    source, targets, sides : Source, iterable of str, sequence of str
        The file, for messages; keys of its table of targets; the engine's sides.

    Raises
    ------
    FileError
        At the first that is.
    """
    for key in targets:
        if key in set(targets_for(PAIR)) - set(targets_for(sides)):
            problem = "a target between sides, and the engine file is of one cylinder alone"
            raise source.fault(("targets", key), problem, "take it out")


def sides_asked(engine: Engine, file: object, side: str) -> tuple[str, ...]:
    """The sides that a command is to look at.

    Parameters
    ----------
    engine, file : Engine, path
        As read; its file, for messages.
    side : str
        As on the command line: a side's name, or "both" for every one there is.

    Raises
    ------
    FileError
        The engine has no such side.
    """
    if side not in (BOTH, *engine.sides):
        problem, remedy = no_such_side(side, engine.sides, (BOTH,))
        raise FileError(str(file), problem, remedy, key="--side")
    return sides_meant(side, engine.sides)


def sides_read(engine: Engine, file: object, readings: Readings | None, side: str) -> list[str]:
    """Of the sides that a command is to look at, those that were read; all of them where nothing was.

    Parameters
    ----------
    engine, file, side : Engine, path, str
        As for :func:`sides_asked`.
    readings : Readings or None
        What was read.

    Raises
    ------
    FileError
        The engine has no such side, or it was not read.
    """
    asked = sides_asked(engine, file, side)
    found = [name for name in (engine.sides if readings is None else readings.sides) if name in asked]
    if readings is not None and not found:
        problem = f"there are no readings of the {side_words(asked[0])}"
        raise FileError(readings.name, problem, "choose the other")
    return found
