"""What is written beside a machining drawing; sizes in words are put in the reader's unit by whoever shows them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from linkmotion.studies.slot.measures import DIE_GRADE, HOLE_CLASS, SLOT_GRADE, slot_limits
from linkmotion.studies.slot.remarks import CASE, Remark
from linkmotion.studies.slot.workpiece import Workpiece

GENERAL = (
    "figures without limits: ISO 2768-1 fine, from memory (± {0} to {1}, ± {2} to {3}, ± {4} to {5}, ± {6} to {7}, "
    "± {8} to {9}); stations of the faces: within half of the width's limits"
)
_FINE = (0.1, 30.0, 0.15, 120.0, 0.2, 400.0, 0.3, 1000.0, 0.5, 2000.0)  # mm: from memory

_APART = 0.1  # mm


def notes(piece: Workpiece) -> Iterator[Remark]:
    """How the drawing is to be read, and what is to be minded.

    Parameters
    ----------
    piece : Workpiece
        Of a proposal.
    """
    yield Remark(f"{_set_up(piece)}; x forward, y up with the link upright")
    yield from _faces(piece)
    yield from _cutting(piece)
    yield from _block(piece)
    yield Remark(GENERAL, _FINE)
    words = "case-hardened faces: a case is {0} to {1} deep (common practice, no source); try the hardness when cut"
    yield Remark(words, CASE)
    yield Remark("fitness of parts is for the competent person, the owner's rules and the law; this certifies nothing")


def _set_up(piece: Workpiece) -> str:
    """By what a machine is set up; one place fixes no direction."""
    datum, pins = piece.work.datum, piece.pins
    told = f"{datum} at 0, 0"
    if others := ", ".join(name for name in pins if name != datum):
        told = f"{others}; {told}"
    if not any(abs(one - other) > _APART for one, other in combinations(pins.values(), 2)):
        return f"set up by these places ({told}) and by the ends of the slot, since one pin fixes no direction"
    return f"set up by the link's pins ({told})"


def _faces(piece: Workpiece) -> Iterator[Remark]:
    """What the limits of the width rest on, and what will not clean up."""
    limits, width, grade = slot_limits(piece), piece.proposal.width, f"width: limits of ISO 286 IT{SLOT_GRADE}"
    if limits is None:
        yield Remark("width: no limits, ISO 286 being held here for 1 to 250 mm only")
    elif limits.width < 1e-9:
        yield Remark("width: the limits of metal leave nothing either way; hold it as near as can be", (), True)
    elif limits.most - width < 1e-9:
        yield Remark(f"{grade}, as far as metal lets: it may only be narrower, by what was allowed for the gauge")
    else:
        yield Remark(f"{grade}, as far as metal lets; half of them on each face")
    if low := [cut.face for cut in piece.proposal.faces if not cut.clean]:
        yield Remark(f"the {' and '.join(low)} face will not clean up everywhere: see the table", (), True)


def _block(piece: Workpiece) -> Iterator[Remark]:
    """How the die block is made."""
    words = (
        f"make the die block last, {{0}} narrower than the slot as finished; its limits (IT{DIE_GRADE}) lie below that"
    )
    yield Remark(words, (piece.work.done.clearance,))
    if not piece.work.done.drawing.die_length:
        yield Remark("the die block's length is not given; it is drawn as long as wide", (), True)
    yield Remark("pin hole of the die block: bore it to its pin" if piece.hole is None
                 else f"pin hole of the die block: {HOLE_CLASS}")  # fmt: skip


def _cutting(piece: Workpiece) -> Iterator[Remark]:
    """How the cutter goes."""
    how = "one pass" if piece.one_pass else "along each face"
    words = (
        f"cutter {{0}}, {how}: its centre goes from end to end of the faces and so cuts {{1}} beyond them; where the "
        "slot is closed nearer than that, finish the corners by hand: the die works to the ends"
    )
    yield Remark(words, (piece.cutter, piece.cutter / 2))
