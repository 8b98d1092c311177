"""Planar linkages in general: declared, solved at all wheel positions at once, differentiated.

This room knows no steam. Pins are complex numbers ``x + iy`` in millimetres, angles are radians.
"""

from linkmotion.linkage.parts import Linkage, LinkageError, UnreachableError
from linkmotion.linkage.periodic import Harmonics
from linkmotion.linkage.solve import Solution, Wheel, solve

__all__ = ["Harmonics", "Linkage", "LinkageError", "Solution", "UnreachableError", "Wheel", "solve"]
