"""A cleaned-up slot in its gear: the slot's places in the link, and the gear with the pin on its new path.

The pin's path in the link is an arc about a centre that may stand anywhere in the link's plane, or a line that leans.
The keys of the dimension book draw that centre on the link's own x axis, and the line square to it; axes of a rigid
link may be chosen, so the link is drawn anew in axes turned (for an eccentric link also shifted) so that the centre
lies on them, or the line square to them. The motion of the pin is then the same to rounding; only the die's place along
the slot is counted from a middle that has moved by a second-order amount.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from linkmotion.engine import SideState
from linkmotion.gears import Gear
from linkmotion.gears.keys import TOWARD
from linkmotion.gears.sensitivity import marked, numbers, with_numbers
from linkmotion.gears.slots import CurvedSlot, Slot
from linkmotion.linkage import LinkageError
from linkmotion.linkage.parts import XY
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.slot.cleanup import CleanUp, clean_up
from linkmotion.studies.slot.parts import Limits, Tools
from linkmotion.wear.condition import FaceLoss
from linkmotion.wear.curved_slot import CurvedDrawing
from linkmotion.wear.slot_drawing import FACES, Arc, Course, SlotDrawing, SlotError
from linkmotion.wear.slot_faces import SlotReadings
from linkmotion.wear.straight_slot import StraightDrawing

MID_SLOT = "mid slot"


@dataclass(frozen=True, eq=False)
class SlotInGear:
    """A clean-up with its place in the gear.

    Attributes
    ----------
    done : CleanUp
        The proposals.
    datum : str
        "mid slot" or a pin of the link.
    origin : (x, y)
        The datum, mm from mid slot.
    before : SideEvents or None
        Events with the pin on the drawn centre line, everything else as it stands; None when there is no gear.
    worn : SideEvents or None
        Events with the faces as read and the die that runs between them now; None where the gear cannot pass so.
    after : dict
        By proposal: events with the die as proposed.
    plain : dict
        By proposal: events with a die that has its pin hole in the middle.
    stuck : dict
        By proposal: why there are no events.
    pins : dict
        The link's pins and their places, complex, mm from mid slot.
    tools : Tools
        With what is cut.
    """

    done: CleanUp
    datum: str = MID_SLOT
    origin: XY = (0.0, 0.0)
    before: SideEvents | None = None
    worn: SideEvents | None = None
    after: Mapping[str, SideEvents] = field(default_factory=dict)
    plain: Mapping[str, SideEvents] = field(default_factory=dict)
    stuck: Mapping[str, str] = field(default_factory=dict)
    pins: Mapping[str, complex] = field(default_factory=dict)
    tools: Tools = Tools()  # noqa: RUF009 - frozen


def slot_of(gear: Gear) -> Slot:
    """The slot of a gear.

    Parameters
    ----------
    gear : Gear
        Of any kind.

    Raises
    ------
    SlotError
        The gear has none.
    """
    slot = gear.slot
    if slot is None:
        raise SlotError(f"no slot in a gear of this kind ({gear.name})", "clean-up is for gears with a link")
    return slot


def drawn_slot(gear: Gear, width: float, die_length: float = 0.0) -> SlotDrawing:
    """The slot as drawn: the faces reach past the pin's reach by half the die block's length.

    Parameters
    ----------
    gear : Gear
        With a curved slot (else SlotError).
    width, die_length : float
        Between the faces; of the die block along the slot, mm.
    """
    slot = slot_of(gear)
    reach = slot.top + die_length / 2, slot.bottom + die_length / 2
    if isinstance(slot, CurvedSlot):
        return CurvedDrawing(slot.radius, width, slot.concave_forward, *reach, die_length)
    return StraightDrawing(width, *reach, die_length)


def datum_of(gear: Gear, name: str) -> XY:
    """Place of a datum on the link, (x, y) mm from mid slot, forward and up.

    Parameters
    ----------
    gear : Gear
        With a curved slot.
    name : str
        "mid slot", or a pin of the link, such as "trunnion".

    Raises
    ------
    SlotError
        There is none such; those that there are are told.
    """
    pins = pins_of(gear)
    if name == MID_SLOT:
        return 0.0, 0.0
    if name not in pins:
        told = repr(name).replace("{", "{{").replace("}", "}}")
        raise SlotError(f"no datum {told} on this link", f"choose one of: {', '.join((MID_SLOT, *pins))}")
    return pins[name].real, pins[name].imag


def pins_of(gear: Gear) -> dict[str, complex]:
    """The pins of a link by name, mm from mid slot, forward and up.

    Parameters
    ----------
    gear : Gear
        With a slot (else SlotError).
    """
    slot = slot_of(gear)
    middle = complex(*slot.at(0.0))
    return {name: complex(*at) - middle for name, at in slot.pins.items() if not name.startswith("slot ")}


def with_path(gear: Gear, path: Course) -> Gear:
    """The gear with the die pin's path in the link an arc about any centre, or any line.

    Parameters
    ----------
    path : Arc or Line
        From mid slot as the gear's own figures have it, forward and up, mm.
    """
    slot: Any = slot_of(gear)
    middle, figures = complex(*slot.at(0.0)), {}
    if isinstance(path, Arc):
        forth = 1 if slot.concave_forward else -1
        centre = path.place + middle
        turn = forth * centre / abs(centre)  # of the new x axis, through the link's origin and the centre
        new_middle = centre - forth * path.radius * turn
        figures["radius"] = path.radius
    else:
        turn = (1 - 1j * path.lean) * path.square  # of the new x axis, square to the line
        new_middle = turn * ((middle + path.ahead) * np.conj(turn)).real  # the line's foot abreast of the link's origin
    aside = slot.place_of(new_middle)
    figures |= {"top": slot.top - aside, "bottom": slot.bottom + aside, "offset": 0.0}
    pins = marked(gear, "pin")
    origin = new_middle
    if set(slot.pins) - {pin for pin, _side in pins.values()}:  # a pin that has no keys is the origin: it stays
        origin, figures["offset"] = 0.0, (new_middle / turn).real
    given, keys = numbers(gear), marked(gear, "slot")
    changes = {key: given[key] + np.degrees(np.angle(turn)) for key, what in keys.items() if what == "lean"}
    changes |= {key: figures[what] for key, what in keys.items() if what != "lean"}
    for name in dict(pins.values()):
        own = {key: TOWARD[side] for key, (pin, side) in pins.items() if pin == name}
        place = (sum(given[key] * toward for key, toward in own.items()) - origin) / turn
        changes |= {key: (place / toward).real for key, toward in own.items()}
    return with_numbers(gear, changes)


def events_after(setup: SideState, path: Course, notches: tuple[str, ...] | None = None) -> SideEvents:
    """Events of one side with the die pin on a path in the link; the reverser's notches stay as they are."""
    return assess_side(setup.altered(with_path(setup.gear, path)), notches, setup.on_reassembly)


def clean_up_in_gear(
    setup: SideState,
    readings: SlotReadings,
    width: float,
    die_length: float = 0.0,
    limits: Limits | None = None,
    clearance: float = 0.1,
    allowance: float = 0.0,
    datum: str = MID_SLOT,
    tools: Tools = Tools(),  # noqa: B008 - frozen
    progress: Callable[[int, int | None], None] | None = None,
) -> SlotInGear:
    """Clean up the slot of one side of an engine, and find the events that each proposal gives.

    Whatever the setup's condition says of the slot makes way for the readings, and of the die, with each proposal, for
    the new one; what else is worn stays. The valve is set afresh with each slot, where there is a rule for that: the
    gear is apart.

    Parameters
    ----------
    setup, readings : SideState, SlotReadings
        The side; what was read along its slot's faces.
    width, die_length : float
        Of the slot as drawn between its faces; of the die block along it, mm.
    limits, clearance, allowance
        As for :func:`~.cleanup.clean_up`.
    datum : str
        From which places are told, as for :func:`datum_of`.
    tools : Tools
        With what is cut; what suits no slot of these is refused.
    progress : callable, optional
        Called with the number of proposals tried in the gear, and how many there are.

    Raises
    ------
    SlotError
        No slot, or readings or tools that cannot be used.
    """
    origin = datum_of(setup.gear, datum)
    done = clean_up(drawn_slot(setup.gear, width, die_length), readings, limits, clearance, allowance)
    own = done.proposals
    tools.see(min(p.width for p in own), min(p.die.width for p in own), done.drawing.length)
    good = replace(setup.condition, slot=(), die_clearance=0.0, die_offset=0.0)
    found = setup.altered(condition=replace(setup.condition, slot=_losses_of(readings), die_length=die_length))
    setup = setup.altered(condition=good)
    after, plain, stuck = {}, {}, {}
    for number, proposal in enumerate(own):
        if progress is not None:
            progress(number, len(own) + 1)
        try:
            after[proposal.name] = events_after(setup, proposal.path)
            plain[proposal.name] = events_after(setup, proposal.plain_path)
        except LinkageError as error:
            stuck[proposal.name] = str(error)
    try:
        worn = assess_side(found, standing=found.on_reassembly)
    except LinkageError:
        worn = None
    before = assess_side(setup, standing=setup.on_reassembly)
    return SlotInGear(done, datum, origin, before, worn, after, plain, stuck, pins_of(setup.gear), tools)


def gauge_of(figures: Mapping[str, Any]) -> tuple[float, float, float]:
    """How sure the gauge is: a reading by itself, its zero, its tilt; one sigma, mm.

    Parameters
    ----------
    figures : dict
        Of a [cleanup] table, "gauge" among them; for "gauge_zero" and "gauge_tilt" that stands in.
    """
    own: float = figures["gauge"]
    return own, figures.get("gauge_zero", own), figures.get("gauge_tilt", own)


def _losses_of(readings: SlotReadings) -> tuple[FaceLoss, ...]:
    """Both faces' losses at every place where one of them was read."""
    places = np.unique(np.concatenate([readings.on(face).averaged[0] for face in FACES]))
    front, back = (np.interp(places, *readings.on(face).averaged) for face in FACES)
    return tuple(FaceLoss(*map(float, each)) for each in zip(places, front, back, strict=True))
