"""Valve chest and valve in section, printed to scale: ports on the board, valve on its strip.

The working edges and the ports are the engine's own; the width of bridges and exhaust port, and the bore, are no
dimensions of the gear and are drawn as it suits.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from linkmotion.elevation.outlines import block, disc
from linkmotion.studies.card.motion import Motion
from linkmotion.studies.card.shapes import HALF, Mark, Note, Points, Shape, oblong
from linkmotion.studies.card.track import BORE, EYE, FOOT, FREE, STRAP, Track
from linkmotion.valve import ENDS

VALVE_HALF = 7.0  # half the width of the valve's strip
PORT_DEPTH = 6.0
_GAP, _FARTHEST = 2.0, 185.0  # round the valve; from pin to valve, for the strip to go on a sheet
_CLEAR = BORE + 27.0


@dataclass(frozen=True, eq=False)
class Chest:
    """A valve chest.

    Attributes
    ----------
    track : Track
        Of the spindle pin.
    central : float
        Place of the spindle pin on it with the valve central.
    ahead, aside : float
        Middle of the valve from the spindle pin, along the track and to the left of it.
    bridge : float
        From the valve's middle to the nearer edge of either port.
    port : float
        Port width.
    outside : bool
        Outside admission.
    laps : dict
        (flow, end) to lap.
    """

    track: Track
    central: float
    ahead: float
    aside: float
    bridge: float
    port: float
    outside: bool
    laps: dict[tuple[str, str], float]
    up: int  # +1 when the cylinder lies to the right of the strip (below a level one)

    @classmethod
    def of(cls, motion: Motion, track: Track, cylinder: Track, middle: float) -> Chest:
        """Placed as nearly abreast of the cylinder's middle (on its own track) as straps and arms allow.

        Parameters
        ----------
        motion : Motion
            At the model's scale.
        track, cylinder : Track
            Of the spindle pin; of the crosshead.
        middle : float
            Of the cylinder, along its track, mm of card.
        """
        valve = motion.gear.valve
        laps = {(f, e): motion.short(valve.laps(f, e)) for f in ("steam", "exhaust") for e in ENDS}
        port = motion.short(valve.port_width)
        central = motion.side.central_at / motion.scale
        outside = valve.admission == "outside"
        bare = cls(track, central, 0.0, 0.0, 1.7 * port, port, outside, laps, 1)
        least = track.travel[1] - central + EYE + FREE + STRAP + _GAP + bare.half_length + central - track.travel[0]
        wanted = complex(track.seen(cylinder.board(middle))).real - central
        ahead = float(min(max(least, wanted), max(least, _FARTHEST)))
        off = complex(cylinder.seen(track.board(central + ahead))).imag
        up = 1 if off >= 0 else -1
        aside = up * max(0.0, _CLEAR - abs(off))
        return cls(track, central, ahead, aside, bare.bridge, port, outside, laps, up)

    def abreast(self, cylinder: Track) -> float:
        """Place on the cylinder's track that is abreast of the chest's middle, mm of card.

        Parameters
        ----------
        cylinder : Track
            Of the crosshead.
        """
        return complex(cylinder.seen(self.track.board(self.central + self.ahead))).real

    @property
    def half(self) -> float:
        """Half the strip's width."""
        return VALVE_HALF

    @property
    def half_length(self) -> float:
        """From the valve's middle to its farther end."""
        return max(hi for _lo, hi in self.heads.values())

    @property
    def heads(self) -> dict[str, tuple[float, float]]:
        """Inner and outer working edge of the valve at each end, from its middle outward."""
        inner, outer = ("exhaust", "steam") if self.outside else ("steam", "exhaust")
        return {
            end: (self.bridge - self.laps[inner, end], self.bridge + self.port + self.laps[outer, end]) for end in ENDS
        }

    @property
    def straps(self) -> tuple[tuple[float, float], ...]:
        """Before and behind the valve."""
        low, high = (s + self.ahead for s in self.track.travel)
        return (
            (low - self.half_length - _GAP - STRAP / 2, self.aside),
            (high + self.half_length + _GAP + STRAP / 2, self.aside),
        )

    def strip(self) -> Iterator[Shape]:
        """Shapes of the strip in the spindle pin's axes."""
        end = self.straps[1][0] + STRAP / 2 + FREE - self.track.travel[0]
        h = self.aside
        yield block(-HALF if h else 0.0, h - VALVE_HALF, end, h + VALVE_HALF)
        yield disc(0j, HALF + 0.5 if h else VALVE_HALF)
        if h:
            yield block(-HALF, 0.0, HALF, h)

    def valve_marks(self) -> Iterator[Mark]:
        """The valve in section on its strip, working edges to scale, on the edge that faces the cylinder."""
        face, back = (self.aside - self.up * VALVE_HALF, self.aside + self.up * (VALVE_HALF - 3.0))
        (fi, fo), (bi, bo) = self.heads["front"], self.heads["back"]
        x = self.ahead
        if self.outside:
            arch = self.aside + self.up * (VALVE_HALF - 6.5)
            edge = [(-bo, face), (-bi, face), (-bi, arch), (fi, arch), (fi, face), (fo, face), (fo, back), (-bo, back)]
            yield Mark(np.array([x + a + 1j * b for a, b in [*edge, edge[0]]]), "fill")
        else:
            for lo, hi in ((-bo, -bi), (fi, fo)):
                yield Mark(oblong(x + lo, face, x + hi, back), "fill")
            yield Mark(np.array([x - bi, x + fi]) + 1j * self.aside, "heavy")

    def printed(self, cylinder_ends: list[Points]) -> tuple[list[Mark], list[Note]]:
        """Ports and passages for the board, as marks and words.

        Parameters
        ----------
        cylinder_ends : list of complex
            Back and front end of the cylinder line on the board, mm.
        """
        x, face, way = self.central + self.ahead, self.aside - self.up * (VALVE_HALF + 0.4), -self.up
        e, p, board = self.bridge, self.port, self.track.board
        marks, notes = [], []
        for sign, goal in ((-1, cylinder_ends[0]), (1, cylinder_ends[1])):
            lo, hi = x + sign * e, x + sign * (e + p)
            marks.append(Mark(board(oblong(lo, face, hi, face + way * PORT_DEPTH)), "tint"))
            marks += self._passage(sign, complex(goal))
        mid = oblong(x - e / 2, face, x + e / 2, face + way * PORT_DEPTH)
        marks.append(Mark(board(mid), "line"))
        for lo, hi in self._walls(x):
            marks.append(Mark(board(np.array([lo, hi]) + 1j * face), "heavy"))
        marks.append(Mark(board(np.array(self._case())), "line"))
        turn = self.track.turn
        over = self.aside + self.up * (VALVE_HALF + FOOT + 4.5)
        words = "slide valve" if self.outside else "piston valve"
        kind = "steam outside the valve, exhaust within" if self.outside else "steam between the heads, exhaust outside"
        notes.append(Note(f"{words}: {kind}", complex(board(x + 1j * over)), 2.0, turn))
        label = "exhaust" if self.outside else "steam"
        notes.append(Note(label, complex(board(x + 1j * (face + way * (PORT_DEPTH + 2.2)))), 1.8, turn))
        return marks, notes

    @property
    def _inside(self) -> tuple[float, float]:
        """Back and front of the room in which the valve moves, along the track."""
        low, high = self.track.travel
        far = self.half_length + 1.0
        return low + self.ahead - far, high + self.ahead + far

    def _case(self) -> list[complex]:
        """The chest round the valve."""
        back, front = self._inside
        low, top = self.aside - self.up * (VALVE_HALF + 0.4), self.aside + self.up * (VALVE_HALF + 1.6)
        return [back + 1j * low, back + 1j * top, front + 1j * top, front + 1j * low]

    def _walls(self, x: float) -> list[tuple[float, float]]:
        """The port face between the ports."""
        (back, front), e, p = self._inside, self.bridge, self.port
        return [(back, x - e - p), (x - e, x - e / 2), (x + e / 2, x + e), (x + e + p, front)]

    def _passage(self, sign: int, goal: complex) -> Iterator[Mark]:
        """Two lines from a port to its end of the cylinder."""
        face = self.aside - self.up * (VALVE_HALF + 0.4 + PORT_DEPTH)
        for edge, inward in ((self.bridge, 1.15), (self.bridge + self.port, 0.15)):
            top = self.track.board(self.central + self.ahead + sign * edge + 1j * face)
            foot = goal + self.track.along * (1j * self.up * (BORE + 1) - sign * self.port * inward)
            yield Mark(np.array([complex(top), complex(foot)]), "line")
