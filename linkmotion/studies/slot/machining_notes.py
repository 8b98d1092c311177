"""What is written beside a machining drawing; sizes in words are put in the reader's unit by whoever shows them."""

from __future__ import annotations

from collections.abc import Iterator

from linkmotion.studies.slot.measures import DIE_GRADE, HOLE_CLASS, SLOT_GRADE, slot_limits
from linkmotion.studies.slot.remarks import CASE, Remark
from linkmotion.studies.slot.workpiece import Workpiece

GENERAL = "figures without limits: ISO 2768-1 fine (± {0} to 30, ± {1} to 120, ± {2} to 400, ± {3} beyond; from memory)"
_FINE = (0.1, 0.15, 0.2, 0.3)  # mm


def notes(piece: Workpiece) -> Iterator[Remark]:
    """How the drawing is to be read, and what is to be minded.

    Parameters
    ----------
    piece : Workpiece
        Of a proposal.
    """
    work, others = piece.work, [name for name in piece.pins if name != piece.work.datum]
    words = f"set up by the link's pins: {' and '.join(others[:3])}, {work.datum} at 0, 0; x forward, y up, link upright"
    yield Remark(words)
    yield from _faces(piece)
    yield from _cutting(piece)
    made = f"make the die block last, {{0}} narrower than the slot as finished; its limits (IT{DIE_GRADE}) lie below that"
    yield Remark(made, (work.done.clearance,))
    if piece.hole is None:
        yield Remark("pin hole of the die block: bore it to its pin (die_hole is not given)")
    else:
        yield Remark(f"pin hole of the die block: {HOLE_CLASS}")
    yield Remark(GENERAL, _FINE)
    words = "case-hardened faces: a case is {0} to {1} deep (common practice, no source); try the hardness after cutting"
    yield Remark(words, CASE)
    yield Remark("fitness of parts is for the competent person, the owner's rules and the local law; this certifies nothing")


def _faces(piece: Workpiece) -> Iterator[Remark]:
    """What the limits of the width rest on, and what will not clean up."""
    limits, width = slot_limits(piece), piece.proposal.width
    if limits is None:
        yield Remark("width: no limits, ISO 286 being held here for 1 to 250 mm only")
    elif limits.width < 1e-9:
        yield Remark("width: the limits of metal leave nothing either way; hold it as near as the machine can", (), True)
    else:
        how = "the limits of metal are reached, so it may only be narrower" if limits.most - width < 1e-9 else "half on each face"
        yield Remark(f"width: limits of ISO 286 IT{SLOT_GRADE}, {how}")
    if low := [cut.face for cut in piece.proposal.faces if not cut.clean]:
        yield Remark(f"the {' and '.join(low)} face will not clean up everywhere: see the table", (), True)


def _cutting(piece: Workpiece) -> Iterator[Remark]:
    """How the cutter goes."""
    how = "one pass" if piece.one_pass else "along each face"
    words = (
        f"cutter {{0}}, {how}: its centre goes from end to end of the faces and so cuts {{1}} beyond them; where the "
        "slot is closed nearer than that, finish the corners by hand: the die works to the ends"
    )
    yield Remark(words, (piece.cutter, piece.cutter / 2))
