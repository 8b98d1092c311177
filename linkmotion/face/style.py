"""Colours and lines of every plot, for plots of one's own in a lesson."""

from linkmotion.views.style import DASHES, EXHAUST, FLAG, GRID, INK, MARKS, PAPER, STEAM, STYLE, notch_colour

__all__ = ["DASHES", "EXHAUST", "FLAG", "GRID", "INK", "MARKS", "PAPER", "STEAM", "STYLE", "notch_colour"]
