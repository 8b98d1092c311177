"""A reading as it is written: a length, a percentage of the stroke, or a crank angle."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from linkmotion.files.length_forms import PLAIN
from linkmotion.files.lengths import parse_length
from linkmotion.files.source import shown
from linkmotion.files.taken_forms import Taking
from linkmotion.measuring.taken import NORMAL
from linkmotion.studies.figures.figure import DEGREES, MM, PERCENT, UNITS_OF

_SHARE = re.compile(r"\s*([-+]?(?:\d+(?:\.\d*)?|\.\d+))\s*(%|percent|per cent|°|deg|degrees?)\s*", re.IGNORECASE)
_EVENT = 'write "76 %" of the stroke, "12.5°" of crank angle past the dead centre, or a length such as "15 1/4 in"'
_LENGTH = 'write a length, such as "3.2 mm" or "1/8 in"'
UNREAD = {kind: _EVENT if PERCENT in units else _LENGTH for kind, units in UNITS_OF.items()}
NEAREST = {MM: 1e-3, PERCENT: 1e-3, DEGREES: 1e-3}  # nobody reads nearer than a micrometre
_FARTHEST = {MM: 1e3, PERCENT: 50.0, DEGREES: 180.0}


@dataclass(frozen=True)
class Read:
    """A figure and its unit ("mm", "percent" or "degrees"); its own standard deviation, where it was taken with ±."""

    value: float
    unit: str
    sigma: float | None = None


def read_figure(written: Any, kind: str, unit: str) -> Read:
    """Read a figure of a kind.

    Parameters
    ----------
    written : object
        As it stands in the file; a length as any that is taken.
    kind, unit : str
        One of ``KINDS``; the unit of bare lengths.

    Raises
    ------
    ValueError
        Saying what was read; :class:`~linkmotion.files.figure_fault.FigureFault` of a length as it was taken.

    Examples
    --------
    >>> read_figure("1/8 in", "lead", "mm").value, read_figure("12.4 - 9.2", "lead", "mm").value
    (3.175, 3.2)
    >>> [(own.value, own.unit) for own in (read_figure("76 %", "cutoff", "mm"), read_figure("-3.5°", "release", "mm"))]
    [(76.0, 'percent'), (-3.5, 'degrees')]
    """
    if isinstance(written, list | bool):
        raise ValueError(f"read {shown(written)}")
    event = PERCENT in UNITS_OF[kind]
    if isinstance(written, str) and (share := _SHARE.fullmatch(written)):
        if not event:
            raise ValueError(f"read {shown(written)}, but a {kind} is a length")
        return Read(float(share[1]), PERCENT if share[2].lower() in ("%", "percent", "per cent") else DEGREES)
    if event and (isinstance(written, int | float) or _bare(written)):
        raise ValueError(f"{shown(written)} of what? a bare figure may be percent, degrees or a length")
    taken = Taking(unit, PLAIN).taken(written)
    if taken is None:
        return Read(parse_length(written, unit), MM)
    return Read(taken.value, MM, taken.doubt / NORMAL if taken.parts else None)


def _bare(written: Any) -> bool:
    try:
        float(written)
    except (TypeError, ValueError):
        return False
    return True


def read_within(written: Any, of: str, unit: str) -> float:
    """Read how far a reading may be out either way, in the reading's unit (mm, percent or degrees).

    Parameters
    ----------
    written : object
        As it stands in the file.
    of, unit : str
        The reading's unit; that of bare lengths.

    Raises
    ------
    ValueError
        Saying what was read.
    """
    if isinstance(written, dict | list | bool):
        raise ValueError(f"read {shown(written)}")
    share = _SHARE.fullmatch(written) if isinstance(written, str) else None
    if of == MM:
        if share:
            raise ValueError(f"read {shown(written)}, but this reading is a length")
        found = parse_length(written, unit)
    elif share:
        if (PERCENT if share[2].lower() in ("%", "percent", "per cent") else DEGREES) != of:
            raise ValueError(f"read {shown(written)}, but this reading is in {of}")
        found = float(share[1])
    elif _bare(written):
        found = float(written)
    else:
        raise ValueError(f"read {shown(written)}, but this reading is in {of}")
    if not math.isfinite(found) or not NEAREST[of] <= found <= _FARTHEST[of]:
        raise ValueError(f"read {shown(written)}: no reading is as near, or as far out, as that")
    return found
