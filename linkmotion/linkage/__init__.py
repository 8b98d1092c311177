"""Planar linkages in general: declared, solved at all wheel positions at once, differentiated.

This room knows no steam. A linkage is pins and the parts that hold them: rods, rigid plates, guides, slides, arms;
pins of the frame stand still, and those of the wheel turn. Pins are complex numbers ``x + iy`` in millimetres (any one
unit of length does), angles radians anticlockwise, and the wheel runs clockwise. Where pins follow from others they are
placed in closed form, a closed loop by Newton's method, at all positions together; the assembly is that of the sketch.

=================  ======================================  ================================================
quantity           name                                    unit, sign
=================  ======================================  ================================================
place of a pin     ``solution["pin"]``                     complex, mm: x ahead, y up
along a guide      ``solution.along("guide")``             mm from the guide's origin, + in its direction
velocity           ``solution.rates()["pin"]``             complex, mm per radian of the wheel, clockwise
derivative         ``gradient(...).dimension(part, what)``  mm per mm, or per radian
shift of a joint   ``gradient(...).joint(part, pin)``      complex, mm per mm
what is left over  ``misfit(solution)``                    mm
=================  ======================================  ================================================

Examples
--------
A four-bar linkage: a crank of 60 about the origin, a rocker of 260 on a shaft at (330, -20), and a coupler of 310.

>>> import numpy as np
>>> from linkmotion.linkage import Harmonics, Linkage, Wheel, gradient, solve
>>> bar = Linkage()
>>> bar.fixed("crank shaft", 0.0, 0.0)
>>> bar.fixed("rocker shaft", 330.0, -20.0)
>>> bar.crank("crank pin", about="crank shaft", radius=60.0)
>>> bar.pin("rocker pin", near=(290.0, 235.0))  # the sketch: of the two assemblies the one with the rocker up
>>> bar.rod("coupler", "crank pin", "rocker pin", 310.0)
>>> bar.rod("rocker", "rocker shaft", "rocker pin", 260.0)

Solved round the wheel, the rocker swings through

>>> turned = solve(bar, Wheel.revolution(360))
>>> rocker = np.degrees(np.angle(turned["rocker pin"] - turned["rocker shaft"]))
>>> print(f"{np.ptp(rocker):.2f} degrees")
28.26 degrees

How far the rocker pin moves ahead, at each position, for each millimetre of the coupler (exact, no difference taken):

>>> slope = gradient(turned, {"rocker pin": 1.0}).dimension("coupler", "length")
>>> print(f"{slope.min():.3f} to {slope.max():.3f}")
0.794 to 1.174

Between the positions the motion is a Fourier series; plotted:

>>> import matplotlib.pyplot as plt
>>> figure, axes = plt.subplots()
>>> angles = np.linspace(0.0, 2 * np.pi, 1000)
>>> lines = axes.plot(np.degrees(angles), Harmonics.through(rocker)(angles))
>>> label = axes.set(xlabel="wheel turned clockwise, degrees", ylabel="rocker, degrees")
>>> plt.close(figure)

A kind of part that is not there is one class more: see ``linkmotion.linkage.parts.part``.
"""

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
