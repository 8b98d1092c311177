"""The kinds of part that a linkage is made of, each with all its behaviour in a file of its own.

A pin is a point of the plane, written as the complex number ``x + iy`` in millimetres; parts name
pins by number. Every dimension may be a number or an array that broadcasts against the wheel angles
(shape ``(samples, 1)`` for many variants at once). ``part`` says what a new kind must tell.
"""

from linkmotion.linkage.parts.abreast import Abreast
from linkmotion.linkage.parts.carried import Carried
from linkmotion.linkage.parts.driven import Crank, Fixed
from linkmotion.linkage.parts.guide import Guide
from linkmotion.linkage.parts.part import Driven, Holder, Part, Tie
from linkmotion.linkage.parts.plate import Plate
from linkmotion.linkage.parts.rod import Rod
from linkmotion.linkage.parts.slide import Slide
from linkmotion.linkage.plane import XY, real_point

__all__ = [
    "XY", "Abreast", "Carried", "Crank", "Driven", "Fixed", "Guide", "Holder", "Part", "Plate", "Rod", "Slide",
    "Tie", "real_point",
]  # fmt: skip
