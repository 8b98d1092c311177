"""``linkmotion pins``: a schedule of pins and bushes for the whole gear."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linkmotion.commands.input import engine_with
from linkmotion.engine import Engine
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import Outputs
from linkmotion.files.pins_table import Schedule, drawn_joints, found_diameters, read_pins
from linkmotion.files.source import Source
from linkmotion.studies.row_figures import Length
from linkmotion.views.paper import PaperPage
from linkmotion.views.printout import Said, print_json, show
from linkmotion.wear.fits import Span
from linkmotion.wear.pin_schedule import Found, Joint, Pin, joint
from linkmotion.wear.rings import BushError


@dataclass(frozen=True)
class PinsRequest:
    """What the user asked for: the engine file and state, a page (HTML, and PDF for a paper), or JSON."""

    engine: Path
    state: str
    sheet: Path | None = None
    paper: str = ""
    replace: bool = False
    json: bool = False


def run_pins(request: PinsRequest) -> int:
    """Print the schedule; 1 when a pin or bush that was found is beyond the size it is to have, else 0.

    Raises
    ------
    FileError
        Wrong input.
    """
    page = (
        PaperPage.into(request.sheet, Outputs((request.engine,), request.replace), request.paper)
        if request.sheet
        else None
    )
    if request.paper and page is None:
        raise FileError("--paper", "a paper for no page", "give --sheet too: the page that is to be printed")
    engine = engine_with(request.engine, [request.state])
    found = schedule(request, engine)
    if page is not None:
        from linkmotion.views.pins_sheet import pins_sheet

        page.write(pins_sheet(found))
    if request.json:
        print_json("pins", engine.unit, _data(found))
    else:
        from linkmotion.views.pins_view import pins_blocks

        show(pins_blocks(found))
        if request.sheet is not None:
            show([Said(f"Schedule: {request.sheet}", str(request.sheet))])
    return int(found.wrong)


def schedule(request: PinsRequest, engine: Engine) -> Schedule:
    """The schedule of pins and bushes of a file.

    Parameters
    ----------
    request, engine : PinsRequest, Engine
        What was asked for, and of what.

    Raises
    ------
    FileError
        The file has no pins, or their figures cannot be.
    """
    source = Source(engine.text, str(request.engine))
    pins = read_pins(engine, source)
    if not pins:
        raise FileError(str(request.engine), "no sizes of pins are given", '[pins."die pin"] with pin = "1 3/8 in"')
    by_side = {side: found_diameters(engine, request.state, side) for side in engine.sides}
    joints = [
        pressed_joint(pin, {side: own[name] for side, own in by_side.items() if name in own}, source)
        for name, pin in pins.items()
    ]
    unsized = tuple(name for name in drawn_joints(engine) if name not in pins)
    return Schedule(engine, request.state, tuple(joints), unsized)


def pressed_joint(pin: Pin, found: Mapping[str, Found], source: Source) -> Joint:
    """A line of the schedule; FileError where its bush cannot be so.

    Parameters
    ----------
    pin, found, source : Pin, dict of Found, Source
        As it is to be; as found, by side; the file, for faults.
    """
    try:
        return joint(pin, found)
    except BushError as error:
        raise source.fault(("pins", pin.name), str(error), "H7/r6 pressed and H8/f7 running are usual") from None


def _data(found: Schedule) -> dict[str, Any]:
    return {
        "engine": found.engine.name, "state": found.state, "joints": [joint_row(own) for own in found.joints],
        "without_sizes": list(found.unsized),
    }  # fmt: skip


def joint_row(own: Joint) -> dict[str, Any]:
    """A pin and its bush as data."""

    def pair(span: Span | None) -> list[Length] | None:
        return None if span is None else [Length(value) for value in span]

    pin = own.pin
    before = None if own.pressing is None else own.pressing.bore_before
    return {
        "joint": pin.name, "quantity": pin.quantity, "drawn": Length(pin.size), "made_to": Length(pin.made_to),
        "metal": Length(pin.metal), "running": pin.inner.name, "bore": pair(pin.inner.hole),
        "turn": pair(pin.inner.shaft), "clearance": pair(pin.inner.clearance),
        "press": None if pin.outer is None else pin.outer.name,
        "housing_bore": pair(None if pin.outer is None else pin.outer.hole),
        "bush_outside": pair(None if pin.outer is None else pin.outer.shaft),
        "bore_before_pressing": pair(before), "material": pin.material or None,
        "found": [
            {"side": side, "bush": pair(each.bush), "pin": pair(each.pin), "clearance": Length(each.clearance)}
            for side, each in own.found.items()
        ],
        "remarks": [
            {"side": side, "words": words.format("as it was found"), "size": Length(size)}
            for side, words, size in own.remarks
        ],
    }  # fmt: skip
