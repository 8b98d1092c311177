"""Names looked up: a wrong one is told with the nearest that there is."""

from __future__ import annotations

from collections.abc import Iterable

from linkmotion.files.faults import nearest


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
