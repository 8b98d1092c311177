"""What is to be said of a slot's readings and proposals, in plain words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from linkmotion.studies.slot.cleanup import DRAWN, LIMITED, WORN, CleanUp
from linkmotion.studies.slot.parts import FaceCut, Proposal
from linkmotion.wear.slot_drawing import FACES, REACH, Arc, Floats

_COARSE = 0.25  # of the slot's length: a gap between readings worth telling
_BEYOND = 0.5  # mm: the foot of a depth gauge is not set nearer to a place
_LIKE = 5e-4  # mm: depths nearer than this are told as one
CASE = (0.5, 1.5)
"""Depth of the case of hardened motion parts, mm: common practice, no source."""
_PATH_OFF = (
    0.1  # mm: a pin path further than this from the drawn line is worth telling (no source: of the size of a fit)
)


@dataclass(frozen=True)
class Remark:
    """Something to be told.

    Attributes
    ----------
    words : str
        The sentence, with ``{0}``, ``{1}`` … where a view puts ``sizes`` in the reader's units.
    sizes : tuple of float
        mm.
    warns : bool
        True when something does not come out as wanted.
    """

    words: str
    sizes: tuple[float, ...] = ()
    warns: bool = False


def remarks(done: CleanUp) -> list[Remark]:
    """Everything worth telling, warnings first.

    Parameters
    ----------
    done : CleanUp
        The proposals and the readings.
    """
    found = [*_readings(done), *_fits(done), *_alike(done), *_case(done)]
    for proposal in done.proposals:
        found += _proposal(done, proposal)
    return sorted(found, key=lambda remark: not remark.warns)


def height(place: float) -> str:
    """Whether a place stands above or below mid slot."""
    return "above" if place >= 0 else "below"


def low_stretches(cut: FaceCut) -> list[tuple[float, float, float]]:
    """Stretches of a face left low: from, to, and the deepest hollow, mm, from the bottom up.

    Parameters
    ----------
    cut : FaceCut
        What is done to the face.
    """
    low = np.concatenate([[False], cut.hollow > 0, [False]])
    starts, ends = np.flatnonzero(low[1:] & ~low[:-1]), np.flatnonzero(~low[1:] & low[:-1])
    return [
        (float(cut.places[a]), float(cut.places[b - 1]), float(cut.hollow[a:b].max()))
        for a, b in zip(starts, ends, strict=True)
    ]


def _readings(done: CleanUp) -> Iterator[Remark]:
    drawing = done.drawing
    for face in FACES:
        own = done.readings.on(face)
        burrs = own.losses[own.losses < 0]
        if burrs.size:
            words = (
                f"{burrs.size} of the {face} face's readings stand proud, by up to {{0}}: taken as burr, dressed off"
            )
            yield Remark(words, (-float(burrs.min()),), bool(-burrs.min() > 3 * done.readings.uncertainty))
        yield from _unread(face, own.averaged[0], drawing.top, drawing.bottom)
    yield _between_readings(drawing.die_length)
    if done.allowance == 0:
        words = "cuts are to the readings as they stand; each may be out by {0} (two sigma): allow for it in cutting"
        yield Remark(words, (2 * done.readings.uncertainty,))


def _between_readings(die_length: float) -> Remark:
    """What is assumed of the faces between their readings, and of the die that runs between them."""
    between = (
        "between two readings a face is taken as straight for the cuts, and as a smooth curve that overshoots neither "
        "for the events with the slot as it is"
    )
    if die_length:
        return Remark(f"{between}; there the die is a rigid block {{0}} long, which lies across hollows", (die_length,))
    return Remark(f"{between}; there the die is taken as a point, which goes down into every hollow: give die_length")


def _unread(face: str, places: Floats, top: float, bottom: float) -> Iterator[Remark]:
    """Stretches of a face that were not read."""
    most = _COARSE * (top + bottom)
    for end, gap in (("top", top - places[-1]), ("bottom", places[0] + bottom)):
        if gap > _BEYOND:
            words = f"the {face} face is not read for {{0}} at the {end}: taken as worn there like its last reading"
            yield Remark(words, (float(gap),), bool(gap > most / 2))
    gaps = np.diff(places)
    if gaps.size and gaps.max() > most:
        words = f"the {face} face has no reading for {{0}} between two places: what lies between is guessed"
        yield Remark(words, (float(gaps.max()),), True)


def _fits(done: CleanUp) -> Iterator[Remark]:
    what, sure = done.drawing.course, "centre and radius" if done.drawing.course == "arc" else "place and lean"
    for face in FACES:
        fit = done.worn[face]
        if fit is None:
            words = f"the {face} face is read at too few places, or they lie on no {what} near the drawn one"
            yield Remark(f"{words}: no worn {what}", (), True)
        elif fit.not_so_worn:
            words = (
                f"the {face} face has not worn to {'an' if what == 'arc' else 'a'} {what}: the best misses the "
                f"readings by {{0}} (root mean square), the gauge by {{1}}; its {sure} are then less sure than stated"
            )
            yield Remark(words, (float(fit.misfit), float(fit.explained)))


def _alike(done: CleanUp) -> Iterator[Remark]:
    """Where the worn centre or line is left out: nothing is gained by it."""
    about = done.drawing.about
    names = [proposal.name for proposal in done.proposals]
    for how in ("", f", {LIMITED}"):
        if f"{DRAWN} {about}{how}" in names and f"{WORN} {about}{how}" not in names:
            words = f"{DRAWN} {about}{how}: nothing is gained by another {about}, so that this one alone is given"
            yield Remark(words)


def _case(done: CleanUp) -> Iterator[Remark]:
    """What a cut may do to faces that were case-hardened."""
    deepest = [
        max(float(done.drawing.depth(cut.face, cut.places, cut.course).max()) for cut in proposal.faces)
        for proposal in done.proposals
    ]
    least, most = max(min(deepest), 0.0), max(*deepest, 0.0)
    go, by = ("{0} to {1}", ", by the proposal") if most - least > _LIKE else ("{0}", "")
    words = (
        f"if the faces are case-hardened: the finished faces go {go} below the drawn ones at the deepest{by}; "
        "a case is {2} to {3} deep (common practice, no source), and a face cut through it wears fast: try "
        "its hardness, and harden anew what is soft"
    )
    yield Remark(words, (least, most, *CASE))


def _proposal(done: CleanUp, proposal: Proposal) -> Iterator[Remark]:
    for cut in proposal.faces:
        for start, end, deep in low_stretches(cut):
            words = (
                f"{proposal.name}: the {cut.face} face stays low by up to {{0}} from {{1}} {height(start)} to {{2}} "
                f"{height(end)} mid slot"
            )
            yield Remark(words, (deep, abs(start), abs(end)), True)
        if cut.wall_left < done.limits.least_wall - 1e-9:
            words = (
                f"{proposal.name}: only {{0}} is left behind the {cut.face} face at {{1}} {height(cut.wall_place)} "
                "mid slot, {2} is wanted"
            )
            yield Remark(words, (cut.wall_left, abs(cut.wall_place), done.limits.least_wall), True)
    if proposal.residual > _PATH_OFF:
        words = f"{proposal.name}: no offset of the die brings the pin nearer than {{0}} to the drawn line"
        yield Remark(words, (proposal.residual,), True)
    course = proposal.front.course
    off = float(np.max(np.abs(np.array(course.centre) - done.drawing.still))) if isinstance(course, Arc) else 0.0
    if off > 0.999 * REACH * done.drawing.span:
        words = (
            f"{proposal.name}: the centre stands as far off as it is let, {{0}}: take more readings, or do not use this"
        )
        yield Remark(words, (off,), True)
