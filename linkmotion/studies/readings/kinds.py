"""What can be read on the engine: the kinds of reading, their units, and one reading."""

from __future__ import annotations

from dataclasses import dataclass

from linkmotion.events import BACKWARD, EVENTS

MM, DEGREES, PERCENT = "mm", "degrees", "percent"
UNITS_OF: dict[str, tuple[str, ...]] = {
    "lead": (MM,),
    "valve": (MM,),
    "opening": (MM,),
    **{event: (PERCENT, DEGREES, MM) for event in EVENTS},
    "lost motion": (MM,),
    "die height": (MM,),
}
KINDS = tuple(UNITS_OF)


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One reading taken on the engine.

    Attributes
    ----------
    side : str
        "left" or "right".
    kind : str
        "lead": steam opening at that end's dead centre, mm, negative when the edge still overlaps.
        "valve": place of the valve ahead of the middle between its two line-and-line marks, mm, at a dead
        centre (``end``) or at a crank angle (``at``).
        "opening": greatest steam opening, mm.
        "admission", "cutoff", "release", "compression": where the port opens or closes, as ``unit`` says:
        the piston's distance from that end's dead centre in percent of the stroke or in mm, or the crank
        angle past that dead centre in the direction of running, degrees (negative: before it).
        "lost motion": free movement of the spindle, wheel held at ``at``, mm.
        "die height": height of the die above the trunnion (with eccentrics: its place along the slot from mid
        link, + up), mm, on front dead centre or at ``at``.
    notch : str
        Position of the reverser.
    running : str
        "forward" or "backward", where the kind asks for it (events, crank angles); else "".
    end : str
        "front", "back", or "".
    value, sigma : float
        The reading and its uncertainty (one standard deviation), in ``unit``.
    unit : str
        "mm", "degrees" or "percent" (of the stroke).
    at : float or None
        Crank angle from front dead centre in the direction of running, degrees.
    line : int
        Line of the readings file; 0 if none.
    """

    side: str
    kind: str
    notch: str
    value: float
    sigma: float
    running: str = ""
    end: str = ""
    unit: str = MM
    at: float | None = None
    line: int = 0

    @property
    def forward(self) -> int:
        """+1 when the crank angle counts in forward running, −1 in backward."""
        return -1 if self.running == BACKWARD else 1

    def __str__(self) -> str:
        """In words: end, kind, notch, direction, crank angle."""
        words = f"{self.end} {self.kind}, {self.notch}".strip()
        words += f", running {self.running}" if self.running else ""
        return words if self.at is None else f"{words}, crank at {self.at:g}°"
