"""Limits and fits: ISO 286-1 in millimetres, and the ANSI B4.1 running fits in inches.

A nominal size falls into a step (over 18 up to and including 30, say). The step and the grade give the width of
the tolerance zone; the step and the letter say where it stands. Holes A to H stand as the shafts of the same
letter, mirrored; holes K to S are moved by Δ = IT n − IT (n − 1), so that hole basis and shaft basis fits of
one name have one clearance.

Where the figures are from: see :data:`SOURCES`.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import dataclass
from typing import NamedTuple

SOURCES = {
    "ISO 286": "ISO 286-1 limits, from memory, held against the published H7 row (3 to 180 mm), 50 H7/g6, 25 H8/f7, "
    "25 H7/g6 and the standard's own formulas",
    "ANSI B4.1": "ANSI B4.1 tolerances, from memory, held against the clearances printed in Machinery's Handbook, 31st "
    "ed., tables 8a and 8b, for 0.71 to 3.15 in",
}
SMALLEST, LARGEST = 1.0, 250.0  # mm: what the tables below hold

_STEPS = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250)  # mm, upper ends
_FINE_STEPS = (*_STEPS[:6], 65, 80, 100, 120, 140, 160, 180, 200, 225, 250)  # for r and s
_GRADES = {  # µm; IT4 serves only for the Δ of IT5 holes
    4: (3, 4, 4, 5, 6, 7, 8, 10, 12, 14),
    5: (4, 5, 6, 8, 9, 11, 13, 15, 18, 20),
    6: (6, 8, 9, 11, 13, 16, 19, 22, 25, 29),
    7: (10, 12, 15, 18, 21, 25, 30, 35, 40, 46),
    8: (14, 18, 22, 27, 33, 39, 46, 54, 63, 72),
    9: (25, 30, 36, 43, 52, 62, 74, 87, 100, 115),
    10: (40, 48, 58, 70, 84, 100, 120, 140, 160, 185),
    11: (60, 75, 90, 110, 130, 160, 190, 220, 250, 290),
}
_BELOW = {  # µm from the nominal size down to the shaft's upper limit
    "d": (20, 30, 40, 50, 65, 80, 100, 120, 145, 170),
    "e": (14, 20, 25, 32, 40, 50, 60, 72, 85, 100),
    "f": (6, 10, 13, 16, 20, 25, 30, 36, 43, 50),
    "g": (2, 4, 5, 6, 7, 9, 10, 12, 14, 15),
    "h": (0,) * 10,
}
_ABOVE = {  # µm from the nominal size up to the shaft's lower limit; k: grades 4 to 7, else 0
    "k": (0, 1, 1, 1, 2, 2, 2, 3, 3, 4),
    "m": (2, 4, 6, 7, 8, 9, 11, 13, 15, 17),
    "n": (4, 8, 10, 12, 15, 17, 20, 23, 27, 31),
    "p": (6, 12, 15, 18, 22, 26, 32, 37, 43, 50),
    "r": (10, 15, 19, 23, 28, 34, 41, 43, 51, 54, 63, 65, 68, 77, 80, 84),
    "s": (14, 19, 23, 28, 35, 43, 53, 59, 71, 79, 92, 100, 108, 122, 130, 140),
}
LETTERS = (*_BELOW, "js", *_ABOVE)
GRADES = tuple(grade for grade in _GRADES if grade >= 5)
_CLASS = re.compile(r"([A-Za-z]{1,2})([0-9]{1,2})")

_INCH_STEPS = (0.71, 1.19, 1.97, 3.15)  # in
_INCH_GRADES = {  # thousandths of an inch
    6: (0.5, 0.6, 0.7), 7: (0.8, 1.0, 1.2), 8: (1.2, 1.6, 1.8),
    9: (2.0, 2.5, 3.0), 10: (3.5, 4.0, 4.5), 11: (5.0, 6.0, 7.0),
}  # fmt: skip
_RUNNING = {  # hole grade, shaft grade, thousandths of an inch of least clearance
    "RC3": (7, 6, (0.8, 1.0, 1.2)),
    "RC4": (8, 7, (0.8, 1.0, 1.2)),
    "RC5": (8, 7, (1.6, 2.0, 2.5)),
    "RC6": (9, 8, (1.6, 2.0, 2.5)),
    "RC7": (9, 8, (2.5, 3.0, 4.0)),
    "RC9": (11, 10, (7.0, 8.0, 9.0)),
}
RUNNING_FITS = tuple(_RUNNING)
THOU = 0.0254  # mm


class FitError(ValueError):
    """A class of fit, or a size, that the tables do not hold."""


class Span(NamedTuple):
    """Least and greatest of something, in its own unit."""

    least: float
    most: float

    @property
    def width(self) -> float:
        """From the least to the greatest."""
        return self.most - self.least

    @property
    def middle(self) -> float:
        """Halfway."""
        return (self.least + self.most) / 2

    def plus(self, amount: float) -> Span:
        """The same span further up.

        Parameters
        ----------
        amount : float
            In the span's unit.
        """
        return Span(self.least + amount, self.most + amount)


@dataclass(frozen=True)
class Fit:
    """A hole and the shaft that goes into it.

    Attributes
    ----------
    name : str
        Such as "H7/g6", "RC6", or "by figures".
    hole, shaft : Span
        Least and greatest size, mm.
    """

    name: str
    hole: Span
    shaft: Span

    @property
    def clearance(self) -> Span:
        """Diametral clearance, mm; negative where the shaft is the larger."""
        return Span(self.hole.least - self.shaft.most, self.hole.most - self.shaft.least)

    @property
    def interference(self) -> Span:
        """How much larger the shaft is than the hole, mm on the diameter."""
        return Span(-self.clearance.most, -self.clearance.least)


def tolerance(nominal: float, grade: int) -> float:
    """Standard tolerance of a grade, mm.

    Parameters
    ----------
    nominal : float
        mm, 1 to 250.
    grade : int
        5 to 11.

    Raises
    ------
    FitError
        A grade or a size that is not held here.

    Examples
    --------
    >>> tolerance(50, 7)
    0.025
    """
    if grade not in GRADES:
        raise FitError(f"no grade IT{grade} here: wanted IT{GRADES[0]} to IT{GRADES[-1]}")
    return _microns(_GRADES[grade][_step(nominal, _STEPS)])


def deviations(nominal: float, name: str) -> Span:
    """Lower and upper limit of a tolerance class, mm from the nominal size.

    Parameters
    ----------
    nominal
        mm, 1 to 250.
    name
        Letters and grade: capitals for a hole ("H7"), small letters for a shaft ("js6").

    Raises
    ------
    FitError
        Saying what is held here.

    Examples
    --------
    >>> deviations(50, "H7"), deviations(50, "g6")
    (Span(least=0.0, most=0.025), Span(least=-0.025, most=-0.009))
    """
    letter, grade = _read_class(name)
    width, hole = _GRADES[grade][_step(nominal, _STEPS)], name[0].isupper()
    if letter == "js":
        low, high = -width / 2, width / 2
    elif letter in _BELOW:
        gap = _BELOW[letter][_step(nominal, _STEPS)]
        low, high = (gap, gap + width) if hole else (-gap - width, -gap)
    elif hole:
        high = _upper_of_hole(nominal, letter, grade)
        low = high - width
    else:
        low = _above(nominal, letter) if letter != "k" or grade <= 7 else 0
        high = low + width
    return Span(_microns(low), _microns(high))


def iso_fit(nominal: float, name: str) -> Fit:
    """Fit of two ISO 286 classes.

    Parameters
    ----------
    nominal : float
        mm, 1 to 250.
    name : str
        Hole first, then shaft.

    Raises
    ------
    FitError
        A class or a size that is not held here.

    Examples
    --------
    >>> fit = iso_fit(25, "H8/f7")
    >>> round(fit.clearance.least, 6), round(fit.clearance.most, 6)
    (0.02, 0.074)
    """
    hole, _, shaft = (part.strip() for part in name.partition("/"))
    if not hole[:1].isupper() or not shaft[:1].islower():
        raise FitError(f"{name!r} is not a fit: wanted hole/shaft, such as H7/r6")
    return Fit(f"{hole}/{shaft}", deviations(nominal, hole).plus(nominal), deviations(nominal, shaft).plus(nominal))


def running_fit(nominal: float, name: str) -> Fit:
    """ANSI B4.1 running fit (basic hole).

    Parameters
    ----------
    nominal : float
        mm, over 0.71 to 3.15 in.
    name : str
        One of :data:`RUNNING_FITS`.

    Raises
    ------
    FitError
        A fit or a size that is not held here.

    Examples
    --------
    >>> fit = running_fit(1.5 * 25.4, "RC6")
    >>> round(fit.clearance.least / THOU, 6), round(fit.clearance.most / THOU, 6)
    (2.0, 6.1)
    """
    if name not in _RUNNING:
        raise FitError(f"no running fit {name!r}: known here are {', '.join(_RUNNING)}")
    inches = nominal / 25.4
    if not _INCH_STEPS[0] < inches <= _INCH_STEPS[-1]:  # a nan is refused too
        raise FitError(f"{name} is held here for sizes over 0.71 to 3.15 in, not {inches:.4g} in")
    step = bisect_left(_INCH_STEPS, inches) - 1
    hole_grade, shaft_grade, gaps = _RUNNING[name]
    hole, shaft = (_INCH_GRADES[grade][step] * THOU for grade in (hole_grade, shaft_grade))
    top = nominal - gaps[step] * THOU
    return Fit(name, Span(nominal, nominal + hole), Span(top - shaft, top))


def _read_class(name: str) -> tuple[str, int]:
    read = _CLASS.fullmatch(name)
    letter, grade = (read[1].lower(), int(read[2])) if read else ("", 0)
    if letter not in LETTERS or grade not in GRADES or not (name[: len(letter)].isupper() or name.islower()):
        known = ", ".join(LETTERS)
        raise FitError(
            f"{name!r} is no class held here: wanted {known} (or capitals), grade {GRADES[0]} to {GRADES[-1]}"
        )
    return letter, grade


def _step(nominal: float, steps: tuple[int, ...]) -> int:
    if not SMALLEST <= nominal <= LARGEST:
        raise FitError(f"ISO 286 is held here for {SMALLEST:g} to {LARGEST:g} mm, not {nominal:g} mm")
    return bisect_left(steps, nominal)


def _above(nominal: float, letter: str) -> int:
    values = _ABOVE[letter]
    return values[_step(nominal, _STEPS if len(values) == len(_STEPS) else _FINE_STEPS)]


def _upper_of_hole(nominal: float, letter: str, grade: int) -> int:
    """Upper limit of holes K to S, µm: the shaft's lower limit mirrored, raised by Δ in the finer grades."""
    step, last_raised = _step(nominal, _STEPS), 8 if letter in ("k", "m", "n") else 7
    if step == 0:  # up to 3 mm no hole is raised
        return -_above(nominal, letter)
    if grade <= last_raised:
        return _GRADES[grade][step] - _GRADES[grade - 1][step] - _above(nominal, letter)
    if letter == "k":
        raise FitError(f"K{grade} has no limits over 3 mm: ISO 286 gives K up to grade 8")
    return 0 if letter == "n" else -_above(nominal, letter)


def _microns(amount: float) -> float:
    """µm to mm, rounded once, so that the figures are those of the tables."""
    return round(amount * 1e-3, 7)
