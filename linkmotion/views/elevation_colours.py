"""How the side elevation looks: fills, line weights and hatchings by what a body is and what a shape of it is.

Near things have heavier lines and more colour than what lies behind. What is cut is hatched, neighbours opposite ways.
Steam is dark and dotted, exhaust light and barred: told apart by lightness, by pattern and by words, never by colour
alone; the whole of the palette is in house with the plots.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from linkmotion.elevation.outlines import BODY, CENTRE, EDGE, HIDDEN, MARK, PIN, SECTION, TIE
from linkmotion.elevation.valve_shape import EXPANDING, LIVE, OUT, SQUEEZED, UNTOLD
from linkmotion.views.style import EXHAUST, FLAG, INK, PAPER, STEAM

CUT, HATCH = "#8b9090", 0.35  # hatching of cut metal; thickness of every hatching, points
FAR, SOFT = "#a3a79f", "#6d7880"  # lines of what lies behind, and of what is less looked at
FILLS = {
    "frame": "#f6f2e8",
    "bracket": "#eee8da",
    "wheel": "#ece7da",
    "tyre": "#dcd6c7",
    "flange": "#f2eee3",
    "slide bar": "#dde0dd",
    "main rod": "#dfe4e4",
    "crosshead": "#d3dadb",
    "piston rod": "#e6eaea",
    "eccentric": "#d8d3c4",
    "rod": "#c9d6dc",
    "lever": "#b9cad2",
    "arm": "#b9cad2",
    "yoke": "#b9cad2",
    "block": "#cfae72",
    "die": "#cfae72",
    "link": "#e7cf97",
    "bearing": PAPER,
    "valve": "#d3dadb",
    "cylinder": "#e3ded1",
    "piston": "#c5cbcd",
}
_BEHIND = ("frame", "bracket", "wheel", "rail", "sector", "bearing")
_CUT = {"cylinder": ("#e3ded1", "/////"), "valve": ("#b4bcbf", "\\\\\\\\\\\\\\"), "piston": ("#c5cbcd", "\\\\\\\\\\")}


class Contents(NamedTuple):
    """How what is in a space is shown: fill, colour of the pattern, the pattern."""

    fill: str
    ink: str
    hatch: str


CONTENTS = {
    LIVE: Contents("#df8f69", STEAM, "..."),
    OUT: Contents("#e4edf1", EXHAUST, "---"),
    EXPANDING: Contents("#f5e0d2", STEAM, "."),
    SQUEEZED: Contents("#f3f3ea", EXHAUST, "xx"),
    UNTOLD: Contents(PAPER, INK, ""),
}
LINES: dict[str, dict[str, Any]] = {
    EDGE: {"lw": 0.45, "ls": "-"},
    HIDDEN: {"lw": 0.45, "ls": (0, (3.5, 2.0))},
    CENTRE: {"lw": 0.4, "ls": (0, (8, 2, 1.5, 2))},
    TIE: {"lw": 0.6, "ls": (0, (8, 2, 1.5, 2))},
    MARK: {"lw": 0.7, "ls": "-"},
}
GHOST: dict[str, Any] = {"color": FLAG, "lw": 0.9, "ls": (0, (4, 2))}


def ink_of(kind: str) -> str:
    """Colour of a body's lines."""
    return FAR if kind == "frame" else SOFT if kind in _BEHIND else INK


def weight_of(kind: str) -> float:
    """Weight of a body's outline, points."""
    return 0.5 if kind in _BEHIND else 0.8


def fill_of(kind: str, role: str) -> tuple[str, str]:
    """Fill and hatching of a shape of a body."""
    if role == SECTION:
        return _CUT.get(kind, (FILLS.get(kind, PAPER), "////"))
    if role == PIN:
        return PAPER, ""
    return FILLS.get(kind if role == BODY else role, FILLS.get(kind, PAPER)), ""
