"""How readings were taken, as a readings file says it: how dead centres were found, and how the wheel was turned.

::

    [readings]
    dead_centres = "by trammel"   # from both sides, 0.1° either way; or "by eye", 0.5°, which is taken where nothing is
                                  # said; or how near, such as "0.07°"; or each end's own: { front = "0.05°", back = … }
    turned = "forward"            # or "backward"; or "both ways", the mean being read; or "not noted"; or, the wheel
                                  # held and the spindle pushed as far as the play lets it: "pushed forward",
                                  # "pushed back"

``[left]`` and ``[right]`` may have their own of both, and a row its own ``turned``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from linkmotion.files.faults import nearest
from linkmotion.files.source import Source, Where, shown
from linkmotion.studies.figures.disturbances import EYE, TRAMMEL, Method
from linkmotion.studies.figures.figure import TURNED
from linkmotion.valve import ENDS

KEYS = ("dead_centres", "turned")
NOT_NOTED = "not noted"
_FOUND = {"by eye": EYE, "by trammel": TRAMMEL}
_DEGREES = re.compile(r"\s*(?:±|\+-|\+/-)?\s*(\d+(?:\.\d*)?|\.\d+)\s*(?:°|deg|degrees?)?\s*", re.IGNORECASE)
_NEAREST, _FARTHEST = 1e-3, 10.0  # degrees
_REMEDY = 'write "by trammel", "by eye", or how near in degrees, such as "0.07°"'


def method_of(source: Source, head: Mapping[str, Any], side: Mapping[str, Any], name: str) -> Method:
    """How the readings of a side were taken: as its own table says, or the head for both.

    Parameters
    ----------
    source : Source
        The file, for messages.
    head, side : dict
        Tables [readings], and of the side.
    name : str
        Of the side.

    Raises
    ------
    FileError
        With file, line, key, what was read and the remedy.
    """
    table, where = (side, (name,)) if "dead_centres" in side else (head, ("readings",))
    if "dead_centres" not in table:
        return Method()
    written, own = table["dead_centres"], (*where, "dead_centres")
    if not isinstance(written, dict):
        return Method(dict.fromkeys(ENDS, _doubt(source, written, own)))
    source.known(written, own, list(ENDS))
    return Method({end: _doubt(source, written[end], (*own, end)) for end in ENDS if end in written})


def _doubt(source: Source, written: Any, where: Where) -> float:
    """How near a dead centre was found, degrees either way."""
    if isinstance(written, str) and written.strip().lower() in _FOUND:
        return _FOUND[written.strip().lower()]
    number = _DEGREES.fullmatch(str(written)) if isinstance(written, str | int | float) else None
    if isinstance(written, bool) or number is None:
        raise source.fault(where, f"read {shown(written)}", _REMEDY)
    if not _NEAREST <= float(number[1]) <= _FARTHEST:
        raise source.fault(where, f"read {shown(written)}: no dead centre is found as near, or as far out", _REMEDY)
    return float(number[1])


def turned_of(source: Source, written: Any, where: Where, ways: tuple[str, ...] = TURNED) -> str:
    """How the wheel was turned, or the spindle pushed: one of ``ways``, or "" where it was not noted.

    Parameters
    ----------
    source, written, where
        The file; what it says, and at which key.
    ways : tuple of str
        In which it can be: those of readings unless given.

    Raises
    ------
    FileError
        It is none of them.
    """
    if written is None or written == NOT_NOTED:
        return ""
    if written not in ways:
        raise source.fault(where, f"read {shown(written)}", nearest(str(written), [*ways, NOT_NOTED]))
    return str(written)
