"""How do I clean up this slot? Proposals with cut, die block, metal left and the pin's path.

Each proposal gives both faces as true arcs about one centre; of a straight slot as true lines, parallel:

    "drawn centre"   about the drawn centre of curvature; each face by itself as deep as cleans it;
    "worn centre"    about the centre, free in the link's plane, for which least metal goes;
    "drawn line"     true to the drawn line; "worn line" with the lean for which least metal goes;
    "…, limited"     the same, no deeper than the limits let; what stays hollow is told.

Where no other takes less metal, or leaves less hollow, than the drawn centre or line, that alone is given.

A die block fits the finished slot with its running clearance. Its pin hole stands off the middle of the block so
that the pin's path, an arc about the finished centre or a parallel to the faces, lies as near as can be to the drawn
centre line: about the drawn centre they are one; about another the greatest distance left, alike at both extremes, is
told.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linkmotion.studies.slot.face_fit import FittedFaces, worn_faces
from linkmotion.studies.slot.least_metal import Faces, Finished, finished_about, least_metal
from linkmotion.studies.slot.parts import Limits, Proposal, proposal_from
from linkmotion.wear.slot_drawing import FACES, SlotDrawing, SlotError
from linkmotion.wear.slot_faces import ReadingError, SlotReadings, WornFace

DRAWN, WORN, LIMITED = "drawn", "worn", "limited"
_GAIN = 1e-3  # mm of mean depth, or of hollow: what no machine cuts to is no gain


@dataclass(frozen=True, eq=False)
class CleanUp:
    """The proposals for a slot, and what the readings tell of it (what is to be said of it: ``remarks.py``).

    Attributes
    ----------
    drawing, readings, limits
        As given.
    clearance, allowance : float
        Of the die, in all; depth added for the gauge's uncertainty, mm.
    worn : dict of FittedFaces or None
        Course to which each face has worn ("front", "back"), and both of one shift ("both").
    proposals : tuple of Proposal
        Those about the drawn and, where less metal goes, the worn centre or line; with limits, those that keep to them
        too.
    """

    drawing: SlotDrawing
    readings: SlotReadings
    limits: Limits
    clearance: float
    allowance: float
    worn: dict[str, FittedFaces | None]
    proposals: tuple[Proposal, ...]

    def proposal(self, name: str) -> Proposal:
        """A proposal by its name."""
        return next(p for p in self.proposals if p.name == name)


def clean_up(
    drawing: SlotDrawing,
    readings: SlotReadings,
    limits: Limits | None = None,
    clearance: float = 0.1,
    allowance: float = 0.0,
) -> CleanUp:
    """Find the arcs, or lines, that clean up a slot.

    Parameters
    ----------
    clearance : float
        Running clearance of the die square to the slot, both sides together, mm.
    allowance : float
        Added to every loss, so that the faces clean up in spite of the gauge's uncertainty, mm (twice the
        uncertainty covers a reading in 97.7 % of cases, when its error is normal).

    Raises
    ------
    SlotError
        Readings beyond the slot, or a clearance or allowance that is none.

    Examples
    --------
    >>> from linkmotion.wear.slot_faces import FaceReadings
    >>> from linkmotion.wear.curved_slot import CurvedDrawing
    >>> slot = CurvedDrawing(radius=900.0, width=50.0, concave_forward=True, top=120.0, bottom=120.0)
    >>> front, back = FaceReadings([-100, 0, 100], [0.2, 0.5, 0.1]), FaceReadings([-100, 0, 100], [0.3, 0.0, 0.4])
    >>> done = clean_up(slot, SlotReadings(front, back, 0.02))
    >>> for p in done.proposals:
    ...     print(f"{p.name}: cut {p.mean_cut:.3f}, die {p.die.width:.2f} wide, path within {p.residual:.3f} mm")
    drawn centre: cut 0.200, die 50.80 wide, path within 0.000 mm
    worn centre: cut 0.065, die 50.53 wide, path within 0.202 mm
    """
    _refuse(drawing, readings, clearance, allowance)
    limits = limits or Limits()
    front, back = (limits.on(WornFace(drawing, face, readings.on(face)), allowance) for face in FACES)
    held: Faces = (front, back)
    free: Faces = (front.without_limits, back.without_limits)
    best = least_metal(free)
    pairs = [("", free, finished_about(free, 0j), best)]
    if any(face.limited for face in held):
        pairs.append((f", {LIMITED}", held, finished_about(held, 0j), least_metal(held, best)))
    found = tuple(
        proposal_from(f"{whose} {drawing.about}{how}", faces, made, limits, clearance)
        for how, faces, drawn, worn in pairs
        for whose, made in ((DRAWN, drawn), (WORN, worn))
        if made is drawn or _gains(drawn, worn)
    )
    return CleanUp(drawing, readings, limits, clearance, allowance, worn_faces(drawing, readings), found)


def _gains(drawn: Finished, worn: Finished) -> bool:
    """Whether the worn centre or line is better than the drawn one by what can be told."""
    return drawn.hollow - worn.hollow > _GAIN or drawn.depth - worn.depth > _GAIN


def _refuse(drawing: SlotDrawing, readings: SlotReadings, clearance: float, allowance: float) -> None:
    """Refuse what cannot be a slot's readings."""
    for face in FACES:
        own = readings.on(face)
        beyond = np.maximum(own.places - drawing.top, -drawing.bottom - own.places)
        if np.max(beyond) > 1e-6:
            words = f"a reading on the {face} face at {{0}} is beyond the slot, which reaches {{1}} up and {{2}} down"
            place = float(own.places[np.argmax(beyond)])
            raise ReadingError(words, "look at its unit, and at the slot's reach", place, drawing.top, drawing.bottom)
        if (loss := float(np.max(np.abs(own.losses)))) > drawing.width / 4:
            words = f"a loss of {{0}} on the {face} face is over a quarter of the slot's width, {{1}}"
            raise ReadingError(words, "look at its unit", loss, drawing.width)
    most = drawing.width / 4
    if not readings.uncertainty < most:
        remedy = "give the uncertainty of one reading, such as 0.02 mm"
        raise SlotError("a gauge uncertain by {0} cannot measure a slot", remedy, readings.uncertainty)
    if not (np.isfinite(clearance) and 0 <= clearance < most):
        remedy = "give what the die is to have in all, such as 0.1 mm"
        raise SlotError("{0} is no clearance for this die", remedy, clearance)
    if not (np.isfinite(allowance) and 0 <= allowance < most):
        raise SlotError("{0} is no allowance", "give a depth to be added to every reading, or 0", allowance)
