"""All that is told of an engine's history: its records, what changed, what differs from what was recorded."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from linkmotion.engine import Engine
from linkmotion.files.photographs import Photograph
from linkmotion.files.seals import Seal
from linkmotion.files.since_recorded import Altered
from linkmotion.studies.record_history import Entry, WrittenFigure


@dataclass(frozen=True)
class History:
    """All that is told.

    Attributes
    ----------
    engine : Engine
        As read.
    part : str
        The table asked for, or "".
    entries : list of Entry
        Within the days asked for; the undated ones always.
    outside : int
        Entries of other days.
    days : tuple of date or None
        The bounds asked for.
    between : (str, str) or None
        States of which the changes are told.
    changed : list of WrittenFigure
        What differs between them.
    altered : list of Altered
        What differs from what was recorded.
    unsound : list of str
        What was altered in the record itself.
    recorded : list of Seal
        What has been recorded now.
    record : Path
        The record.
    photos : list of Photograph
        Of the entries.
    """

    engine: Engine
    part: str
    entries: list[Entry]
    outside: int
    days: tuple[date | None, date | None]
    between: tuple[str, str] | None
    changed: list[WrittenFigure]
    altered: list[Altered]
    unsound: list[str]
    recorded: list[Seal]
    record: Path
    photos: list[Photograph] = field(default_factory=list)

    @property
    def wrong(self) -> bool:
        """Whether anything was altered since it was recorded, or a photograph cannot be shown."""
        silent = any(own.again is None for own in self.altered)
        return silent or bool(self.unsound) or any(own.problem for own in self.photos)
