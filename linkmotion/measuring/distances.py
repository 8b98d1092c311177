"""Figures worked from distances: centres over and between pins, heights from the rail, clearances, bows.

Every law is written in plain arithmetic, so that fractions stay exact and a complex step gives its slopes.
"""

from __future__ import annotations

from typing import Any

Number = Any  # Fraction, float or complex


def centres_over(reading: Number, first: Number, second: Number) -> Number:
    """Centre distance of two pins from a reading over both, or of two bores from one over their far edges.

    >>> centres_over(852.0, 40.0, 38.0)
    813.0
    """
    return reading - (first + second) / 2


def centres_between(reading: Number, first: Number, second: Number) -> Number:
    """Centre distance of two pins from a reading between them, or of two bores from the metal between them.

    >>> centres_between(774.0, 40.0, 38.0)
    813.0
    """
    return reading + (first + second) / 2


def above_axle(from_rail: Number, diameter: Number) -> Number:
    """Height above the axle from a height above the rail, on wheels of a diameter on the tread as they are worn."""
    return from_rail - diameter / 2


def bow(middle: Number, first: Number, second: Number) -> Number:
    """Bow of a rod from gaps between it and a straight-edge along the whole of it: at its middle and at its ends."""
    return middle - (first + second) / 2


def bow_of_length(gauged: Number, straight_edge: Number, rod: Number) -> Number:
    """Bow over a whole rod from the bow under a shorter straight-edge: a flat curve's goes by the length squared."""
    return gauged * (rod / straight_edge) * (rod / straight_edge)


def clearance(bush: Number, pin: Number) -> Number:
    """Diametral clearance of a pin in its bush.

    Where they are oval it is the greatest of the bush and the least of the pin: both wear along the pull, and along
    the pull the clearance is lost.
    """
    return bush - pin
