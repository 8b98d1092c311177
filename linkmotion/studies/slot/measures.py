"""What a machining drawing writes of its lengths: one list, read by the sheet, the DXF and JSON.

A measure's figure is the clean-up's own; ``start`` and ``end`` are the points of the workpiece between which it lies,
so that a drawing which measures between them finds the figure again.

Limits: the slot may be wider than its figure by the standard tolerance IT8 of its width, as far as the limits of metal
let, since a narrower one may leave a face unclean. Where they let less, it may be narrower by what was allowed for the
gauge. The die block, made last, goes to the slot as finished: IT7 below its figure; its pin hole is H7.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from linkmotion.linkage.plane import dot
from linkmotion.studies.slot.parts import Proposal
from linkmotion.studies.slot.workpiece import Stroke, Workpiece
from linkmotion.wear.fits import FitError, Span, deviations, tolerance
from linkmotion.wear.slot_drawing import FACES, FRONT

RADIUS, X, Y, ACROSS, ALONG, DIAMETER, LEAN = "radius", "x", "y", "across", "along", "diameter", "lean"
SLOT, TOOL, BLOCK, LINK = "slot", "cutter", "die block", "link"
SLOT_GRADE, DIE_GRADE, HOLE_CLASS = 8, 7, "H7"


@dataclass(frozen=True)
class Measure:
    """One length, or angle, written on the drawing.

    Attributes
    ----------
    key, words : str
        Its name; what it is.
    of : str
        "slot", "cutter", "die block" or "link".
    kind : str
        "radius" (from centre to arc), "x" and "y" (of ``end`` from ``start``), "across" (straight), "along" (an arc),
        "diameter", "lean" (from upright, + ahead at the top).
    value : float
        mm; a lean degrees.
    start, end : complex
        mm from the datum.
    limits : Span or None
        Least and most, mm.
    stroke : Stroke or None
        The arc on which it is taken.
    """

    key: str
    words: str
    of: str
    kind: str
    value: float
    start: complex
    end: complex
    limits: Span | None = None
    stroke: Stroke | None = None


def measures(piece: Workpiece) -> tuple[Measure, ...]:
    """Everything that a machinist needs of a workpiece.

    Parameters
    ----------
    piece : Workpiece
        Of a proposal.
    """
    return tuple((*_slot(piece), *_ends(piece), *_link(piece), *_cutter(piece), *_die(piece)))


def bent(stroke: Stroke, face: str, piece: Workpiece) -> str:
    """Whether a face of the slot is hollow to whoever looks at it from within: "concave", "convex" or "flat"."""
    if stroke.centre is None:
        return "flat"
    ahead = stroke.centre.real > piece.middle.middle.real
    return "convex" if (face == FRONT) == ahead else "concave"


def _slot(piece: Workpiece) -> Iterator[Measure]:
    """Where the faces lie."""
    proposal, middle = piece.proposal, piece.middle
    if middle.centre is not None:
        yield _radius("radius_middle", "centre line of the finished slot", SLOT, middle)
        for face, stroke in piece.faces.items():
            yield _radius(f"radius_{face}", f"{face} face, {bent(stroke, face, piece)}", SLOT, stroke)
        for key, kind, value in (("centre_x", X, middle.centre.real), ("centre_y", Y, middle.centre.imag)):
            yield Measure(key, "centre of all these arcs", SLOT, kind, value, 0j, middle.centre)
    else:
        x, y = piece.work.origin
        for cut in proposal.faces:
            at = complex(float(cut.course.ahead) - x, -y)
            yield Measure(f"ahead_{cut.face}", f"{cut.face} face abreast of mid slot", SLOT, X, at.real, 0j, at)
        if abs(lean := float(proposal.front.course.degrees)) > 1e-9:
            front = piece.faces[FRONT]
            yield Measure("lean", "both faces, from upright", SLOT, LEAN, lean, front.start, front.end)
    across = [_square_to(piece, stroke) for stroke in piece.faces.values()]
    yield Measure("slot_width", "width of the slot", SLOT, ACROSS, proposal.width, across[1], across[0],
                  slot_limits(piece))  # fmt: skip


def _square_to(piece: Workpiece, stroke: Stroke) -> complex:
    """The point of a face square across from a place of the centre line, near its upper end."""
    middle = complex(piece.middle.at(0.85))
    if stroke.centre is not None:
        out = middle - stroke.centre
        return stroke.centre + stroke.radius * out / abs(out)
    along = (stroke.end - stroke.start) / abs(stroke.end - stroke.start)
    return complex(stroke.start + along * dot(along, middle - stroke.start))


def _ends(piece: Workpiece) -> Iterator[Measure]:
    """Where the slot begins and ends, on its finished centre line."""
    middle = piece.middle
    for name, at in (("upper", middle.end), ("lower", middle.start)):
        for kind, value in ((X, at.real), (Y, at.imag)):
            yield Measure(f"{name}_end_{kind}", f"{name} end, on the centre line", SLOT, kind, value, 0j, at)
    yield Measure("chord", "end to end, straight", SLOT, ACROSS, abs(middle.end - middle.start), middle.start,
                  middle.end)  # fmt: skip
    if middle.centre is not None:
        yield Measure("arc", "end to end, along the centre line", SLOT, ALONG, middle.length, middle.start, middle.end,
                      stroke=middle)  # fmt: skip


def _link(piece: Workpiece) -> Iterator[Measure]:
    """The link's pins, by which it is set up; of that which is the datum there is nothing to be said."""
    for name, at in piece.pins.items():
        if name != piece.work.datum:
            for kind, value in ((X, at.real), (Y, at.imag)):
                yield Measure(f"{name.replace(' ', '_')}_{kind}", name, LINK, kind, value, 0j, at)


def _cutter(piece: Workpiece) -> Iterator[Measure]:
    """The cutter, where it is drawn, and the arcs on which its centre goes."""
    at, half = cutter_at(piece), piece.cutter / 2
    yield Measure("cutter", "cutter", TOOL, DIAMETER, piece.cutter, at - half, at + half)
    for face, stroke in list(piece.cutters.items())[: 1 if piece.one_pass else 2]:
        words = "the cutter's centre, one pass" if piece.one_pass else f"the cutter's centre along the {face} face"
        if stroke.centre is not None:
            yield _radius(f"cutter_radius_{face}", words, TOOL, stroke)


def cutter_at(piece: Workpiece) -> complex:
    """Where the cutter is drawn: on its path along the front face, at a quarter of it from the bottom."""
    return complex(piece.cutters[FRONT].at(0.25))


def _die(piece: Workpiece) -> Iterator[Measure]:
    """The die block, in axes of its own middle."""
    die, at, (front, back, foot, head) = piece.proposal.die, piece.die_at, piece.die
    half = die.width / 2
    limits = _limits(die.width, DIE_GRADE, below=True)
    yield Measure("die_width", "width of the block", BLOCK, ACROSS, die.width, at - half, at + half, limits)
    if length := piece.work.done.drawing.die_length:
        yield Measure("die_length", "length of the block", BLOCK, ACROSS, length, foot.start, head.start)
    for face, stroke in zip(FACES, (front, back), strict=True):
        if stroke.centre is not None:
            other = {"concave": "convex", "convex": "concave"}[bent(piece.faces[face], face, piece)]
            yield _radius(f"die_radius_{face}", f"{face} face of the block, {other}", BLOCK, stroke)
    yield Measure("die_pin_ahead", "pin hole, from the block's middle", BLOCK, X, die.pin_offset, at, piece.hole_at)
    if piece.hole is not None:
        half, limits = piece.hole / 2, _hole(piece.hole)
        yield Measure("die_hole", "pin hole", BLOCK, DIAMETER, piece.hole, piece.hole_at - half, piece.hole_at + half,
                      limits)  # fmt: skip


def _radius(key: str, words: str, of: str, stroke: Stroke) -> Measure:
    assert stroke.centre is not None
    return Measure(key, words, of, RADIUS, stroke.radius, stroke.centre, stroke.middle, stroke=stroke)


def slot_limits(piece: Workpiece) -> Span | None:
    """Least and greatest width of the finished slot, mm; None beyond the tables of ISO 286.

    Parameters
    ----------
    piece : Workpiece
        Of a proposal.
    """
    proposal, width = piece.proposal, piece.proposal.width
    try:
        zone = tolerance(width, SLOT_GRADE)
    except FitError:
        return None
    above = min(zone, 2 * _spare(piece, proposal))  # what is too wide may all be on one face; half of it is on each
    below = min(zone - above, 2 * piece.work.done.allowance) if all(cut.clean for cut in proposal.faces) else 0.0
    return Span(width - below, width + above)


def _spare(piece: Workpiece, proposal: Proposal) -> float:
    """By how much either face may go deeper than proposed within the limits of metal, mm."""
    limits = piece.work.done.limits
    most = dict(zip(FACES, (limits.cut_front, limits.cut_back), strict=True))
    room = [min(most[cut.face] - cut.cut.max(), cut.wall_left - limits.least_wall) for cut in proposal.faces]
    return max(float(np.min(room)), 0.0)


def _limits(value: float, grade: int, below: bool) -> Span | None:
    try:
        zone = tolerance(value, grade)
    except FitError:
        return None
    return Span(value - zone, value) if below else Span(value, value + zone)


def _hole(size: float) -> Span | None:
    try:
        return deviations(size, HOLE_CLASS).plus(size)
    except FitError:
        return None
