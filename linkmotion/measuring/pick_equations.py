"""Points put on an image by eye, and what is known beside: every figure of the parts by least squares, with its doubt.

The unknowns are how the plane is seen, where every point lies in it, how each rigid part lies, and the figures by
which its pins stand on it. All that is known of them is one sum of squares, each term in its own standard deviation:

    picks       where each point was put, less where it would be seen            pixels
    parts       each pin on its part, each pin of a guide or slot on its course   0.001 mm: they are so
    known       lengths, level lines and places that the user gives              as given
    paper       how unevenly a drawing's paper shrank                            as given
    figures     about the drawing's, so loosely that it says nothing             ten cranks, 60 degrees

so that the covariance of the figures is that of the whole: a scale that is wrong is wrong in all lengths at once.

Source: JCGM 102:2011, Extension of the GUM to any number of output quantities, 6.2 (propagation through the slopes);
the least squares of observations with unknown places is common practice of surveying.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from linkmotion.measuring.picks import (
    FAST,
    LOOSE,
    Course,
    Known,
    KnownFigure,
    KnownLength,
    KnownPlace,
    KnownWay,
    Picks,
    Solid,
)  # fmt: skip
from linkmotion.measuring.plane_of_image import PlaneOfImage
from linkmotion.measuring.taken import NORMAL

Real = NDArray[np.float64]
EXACT = 1e-3  # mm: how near parts are held to what they are
PAPER = "paper"
_TURN = 3.0  # radians: how loosely a part's turning is held
_FAR = 10.0  # of the plane's size: how loosely the view is held


@dataclass(frozen=True, eq=False)
class Equations:
    """The sum of squares, its parts taken as straight in the figures about where they were worked out.

    Attributes
    ----------
    picks, solids : Picks, sequence of Solid
        What was put and what is rigid.
    figures : array, shape (K,)
        About which the solids were worked out.
    drawn, loose : array, shape (K,)
        The drawing's, and how loosely each is held to it.
    start : PlaneOfImage
        About how the plane is seen.
    stiff : float
        How near pins are held to their parts, mm: a standard deviation.
    """

    picks: Picks
    solids: Sequence[Solid]
    figures: Real
    drawn: Real
    loose: Real
    start: PlaneOfImage
    stiff: float = EXACT

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Points by number."""
        return tuple(self.picks.points)

    # ---- what stands where among the unknowns: view, figures, places, poses, courses ---------------------------------

    @cached_property
    def courses(self) -> list[tuple[int, Course]]:
        """Every course, with the number of its part."""
        return [(at, course) for at, solid in enumerate(self.solids) for course in solid.courses]

    def split(self, x: Real) -> tuple[PlaneOfImage, Real, NDArray[np.complex128], Real, Real]:
        """View, figures, places, poses (one row for each solid: x, y, turning) and places along courses."""
        k, n, s = len(self.figures), len(self.names), len(self.solids)
        ends = np.cumsum([8, k, 2 * n, 3 * s])
        numbers, figures, places, poses, along = np.split(x, ends)
        flat = places.reshape(n, 2)
        return self.start.with_numbers(numbers), figures, flat[:, 0] + 1j * flat[:, 1], poses.reshape(s, 3), along

    def first(self) -> Real:
        """Where the search starts: points by the first view, parts laid on them as they are drawn."""
        put = [self.picks.put(name)[0] for name in self.names]
        places = self.start.place(np.array(put))
        where = dict(zip(self.names, places, strict=True))
        poses = [_laid(solid, where) for solid in self.solids]
        along = []
        for at, course in self.courses:
            origin, turn = complex(*poses[at][:2]), np.exp(1j * poses[at][2])
            tried = np.linspace(course.low, course.high, 81)
            along.append(min(tried, key=lambda s: abs(origin + turn * course.at(s)[0] - where[course.pin])))
        flat = np.stack([places.real, places.imag], axis=1).ravel()
        return np.concatenate([self.start.numbers, self.figures, flat, np.ravel(poses), along])

    # ---- the sum of squares ------------------------------------------------------------------------------------------

    def observed(self, x: Real) -> Real:
        """Picks, what is known and the paper: how far each is missed, in standard deviations."""
        view, figures, places, _poses, _along = self.split(x)
        put, sigma = self._put
        left = (view.seen(places) - put) / sigma
        where = dict(zip(self.names, places, strict=True))
        known = [off for each in self.picks.known for off in _missed(each, where, figures)]
        uneven = view.stretched / view.turned / self.picks.paper
        return np.concatenate([left.real, left.imag, known, [uneven.real, uneven.imag]])

    def observed_names(self, x: Real) -> list[str]:
        """What each of these is of: the point, or the number of what is known."""
        _view, figures, places, _poses, _along = self.split(x)
        where = dict(zip(self.names, places, strict=True))
        counts = [len(_missed(known, where, figures)) for known in self.picks.known]
        known = [known_name(number) for number, count in enumerate(counts) for _ in range(count)]
        return [*self.names, *self.names, *known, PAPER, PAPER]

    @cached_property
    def _put(self) -> tuple[NDArray[np.complex128], Real]:
        puts = [self.picks.put(name) for name in self.names]
        return np.array([put for put, _sigma in puts]), np.array([sigma for _put, sigma in puts])

    @cached_property
    def _seats(self) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.complex128], NDArray[np.complex128]]:
        """Pins on parts: number of the point and of the part, place in the part's axes, slopes."""
        seats = [(self.names.index(m.pin), at, m) for at, solid in enumerate(self.solids) for m in solid.members]
        points, parts = (np.array([each[i] for each in seats], np.int64) for i in (0, 1))
        slopes = np.array([m.slopes for *_at, m in seats]).reshape(len(seats), len(self.figures))
        return points, parts, np.array([m.at for *_at, m in seats], np.complex128), slopes

    def residuals(self, x: Real) -> Real:
        """All terms, each in its standard deviation."""
        view, figures, places, poses, along = self.split(x)
        moved = figures - self.figures
        origins, turns = poses[:, 0] + 1j * poses[:, 1], np.exp(1j * poses[:, 2])
        point, part, at, slopes = self._seats
        on_parts = places[point] - origins[part] - turns[part] * (at + slopes @ moved)
        on_courses = []
        for (solid, course), place in zip(self.courses, along, strict=True):
            on, own = course.at(place)
            on_courses.append(places[self.names.index(course.pin)] - origins[solid] - turns[solid] * (on + own @ moved))
        rigid = np.concatenate([on_parts, on_courses]) / self.stiff
        drawn = (figures - self.drawn) / self.loose
        held = [self._held(poses), drawn, self._view_held(view)]
        return np.concatenate([self.observed(x), rigid.real, rigid.imag, *held])

    def _held(self, poses: Real) -> Real:
        """Parts that do not turn, or do not move; the others loosely."""
        turns = [EXACT / self.start.size if solid.held != LOOSE else _TURN for solid in self.solids]
        shifts = [EXACT if solid.held == FAST else 100 * self.start.size for solid in self.solids]
        return np.ravel(poses / np.stack([shifts, shifts, turns], axis=1))

    def _view_held(self, view: PlaneOfImage) -> Real:
        loose = np.repeat([1.0, 1.0, 1.0], 2) * _FAR * abs(self.start.turned)
        leaning = np.repeat(_FAR if self.picks.leaning else 1e-9, 2)
        wanted = self.start.numbers if self.picks.leaning else np.append(self.start.numbers[:6], [0.0, 0.0])
        return np.asarray((view.numbers - wanted) / np.concatenate([loose, leaning]))


def known_name(number: int) -> str:
    """How something known is called among what is strained, by its number from 0."""
    return f"known {number + 1}"


def _laid(solid: Solid, where: Mapping[str, complex]) -> tuple[float, float, float]:
    """A part laid on its points as they lie, by the best turning."""
    if solid.held == FAST:
        return 0.0, 0.0, 0.0
    own = [m.at for m in solid.members] + [c.at((c.low + c.high) / 2)[0] for c in solid.courses]
    there = [where[m.pin] for m in solid.members] + [where[c.pin] for c in solid.courses]
    own_middle, middle = complex(np.mean(own)), complex(np.mean(there))
    turn = 0.0
    if solid.held == LOOSE:
        pairs = zip(own, there, strict=True)
        turn = float(np.angle(sum((z - middle) * np.conj(at - own_middle) for at, z in pairs) or 1.0))
    origin = middle - np.exp(1j * turn) * own_middle
    return float(origin.real), float(origin.imag), turn


def _missed(known: Known, where: Mapping[str, complex], figures: Real) -> Sequence[float]:
    """By how many of its standard deviations something known is missed."""
    sigma = max(known.doubt / NORMAL, EXACT)
    match known:
        case KnownLength():
            return [(abs(where[known.b] - where[known.a]) - known.length) / sigma]
        case KnownWay():
            off = np.angle((where[known.b] - where[known.a]) * np.exp(-1j * np.radians(known.degrees)))
            return [float(off) / max(np.radians(known.doubt) / NORMAL, EXACT / abs(where[known.b] - where[known.a]))]
        case KnownPlace():
            off = where[known.point] - complex(known.x, known.y)
            return [off.real / sigma, off.imag / sigma]
        case KnownFigure():
            return [float(figures[known.number] - known.value) / sigma]
