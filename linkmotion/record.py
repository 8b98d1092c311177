"""What goes with figures in a workshop's book: who took them, when, with what, and what else there is to say."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Record:
    """The record of a state, a part or a table of an engine file.

    Attributes
    ----------
    by : str
        Who measured it, found it or did it.
    on : date or None
        The day; None where the file gives none.
    instrument : str
        With what (``with`` in the file).
    note : str
        Whatever else is to be said.
    photos : tuple of str
        Photographs, by their names from the engine file's folder.
    from_engine : str
        The engine from which the part came.
    """

    by: str = ""
    on: date | None = None
    instrument: str = ""
    note: str = ""
    photos: tuple[str, ...] = ()
    from_engine: str = ""
