"""Names looked up: a wrong one is told with the nearest that there is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from linkmotion.files.faults import nearest
from linkmotion.files.side_named import no_such_side
from linkmotion.sides import SIDE_NAMES


class UnknownName(KeyError, ValueError):
    """A state, side, notch, dimension, figure or unit that there is not; the message names the nearest."""

    def __str__(self) -> str:
        """The message as it is (a KeyError would show it quoted)."""
        return str(self.args[0])


def known(what: str, name: object, names: Iterable[str]) -> str:
    """A name, seen to be one of those there are.

    Parameters
    ----------
    what : str
        It is the name of, for the message.
    name : object
        As given by the user.
    names : iterable of str
        Those that there are.

    Raises
    ------
    UnknownName
        It is not; the nearest is told.
    TypeError
        It is no text.

    Examples
    --------
    >>> known("end", "fornt", ["front", "back"])
    Traceback (most recent call last):
    linkmotion.face.names.UnknownName: there is no end 'fornt': did you mean 'front'?
    """
    there = tuple(names)
    if not isinstance(name, str):
        raise TypeError(f"{what} is named by a text, not by {name!r}; known here: {', '.join(there)}")
    if name not in there:
        raise UnknownName(f"there is no {what} {name!r}: {nearest(name, there)}")
    return name


def known_side(name: object, sides: Sequence[str], *more: str) -> str:
    """The same of a side: where the engine has one cylinder alone, that is said.

    Parameters
    ----------
    name : object
        As given by the user.
    sides : sequence of str
        The engine's.
    *more : str
        Other names that would do, such as "both".

    Raises
    ------
    UnknownName, TypeError
        As :func:`known`.

    Examples
    --------
    >>> known_side("left", ("middle",))
    Traceback (most recent call last):
    linkmotion.face.names.UnknownName: there is no side 'left': the engine file is of one cylinder alone; write middle
    """
    if name in SIDE_NAMES and name not in sides:
        raise UnknownName("; ".join(no_such_side(str(name), sides, more)))
    return known("side", name, (*more, *sides))
