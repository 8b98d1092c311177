"""Planar linkages in general."""

from linkmotion.linkage.constraints import jacobian, misfit
from linkmotion.linkage.derivatives import Gradient, dimensions, gradient, gradient_along
from linkmotion.linkage.errors import LinkageError, UnreachableError
from linkmotion.linkage.linkage import Linkage
from linkmotion.linkage.periodic import Harmonics
from linkmotion.linkage.solve import Solution, Wheel, solve

__all__ = [
    "Gradient", "Harmonics", "Linkage", "LinkageError", "Solution", "UnreachableError", "Wheel", "dimensions",
    "gradient", "gradient_along", "jacobian", "misfit", "solve",
]  # fmt: skip
