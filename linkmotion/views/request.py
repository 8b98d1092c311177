"""What the reader asked to see."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from linkmotion.events import DIRECTIONS
from linkmotion.studies.assess import SideEvents

REPORT = "report.html"
"""The page, within its folder."""


@dataclass(frozen=True)
class Request:
    """What the user asked for."""

    engine: Path
    states: tuple[str, ...] = ()
    side: str = "both"
    notches: tuple[str, ...] = ()
    direction: str = "driven"
    angles: bool = False
    all_tables: bool = False  # the events set afresh and in service too, not as it stands alone
    fraction_of: int | None = None
    crank_angle: float = 45.0
    into: Path | None = None
    output: str = "report"  # or "tables", "json", "csv"
    replace: bool = False  # the user's own files may be written over

    def wanted(self, side: SideEvents, notch: int) -> tuple[str, ...]:
        """Directions of running to list for a notch."""
        match self.direction:
            case "driven":
                return side.driven(notch)
            case "both":
                return DIRECTIONS
        return (self.direction,)


def in_file_name(state: str) -> str:
    """A state's name as it stands in the names of its plots' files.

    >>> in_file_name("as found")
    'as-found'
    """
    return re.sub(r"[^\w]+", "-", state).strip("-").lower()[:40]
