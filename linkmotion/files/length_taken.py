"""A length outside of the gear's tables (a pin, a mark, a reading), as it was taken: a sum, takings, over pins."""

from __future__ import annotations

from typing import Any

from linkmotion.files.figure_fault import FigureFault
from linkmotion.files.length_forms import PLAIN
from linkmotion.files.source import Source, Where
from linkmotion.files.taken_forms import Taking
from linkmotion.measuring.taken import Taken


def length_taken(source: Source, value: Any, where: Where, unit: str) -> Taken:
    """What a key of a file says as a length, with its doubt.

    Parameters
    ----------
    source, value, where : Source, object, tuple of str
        The file; what stands there, and where.
    unit : str
        Of bare figures.

    Raises
    ------
    FileError
        With line, key and remedy.
    """
    try:
        return Taking(unit, PLAIN).figure(value, where[-1])
    except FigureFault as fault:
        inner = fault.inner if fault.inner[:1] == (where[-1],) else (where[-1], *fault.inner)
        raise source.fault((*where[:-1], *inner), fault.problem, fault.remedy) from None


def sure_length(source: Source, value: Any, where: Where, unit: str, near: str) -> float:
    """The same of a length whose doubt is given elsewhere, mm.

    Parameters
    ----------
    source, value, where, unit
        As for :func:`length_taken`.
    near : str
        What to do with a doubt that stands here.

    Raises
    ------
    FileError
        As :func:`length_taken`, or it has a doubt of its own.
    """
    taken = length_taken(source, value, where, unit)
    if taken.parts:
        raise source.fault(where, "has a doubt of its own, which would be lost", near)
    return taken.value
