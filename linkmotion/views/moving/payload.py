"""The moving page's data: layouts of parts, motions packed small, events as the program has them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import numpy as np

from linkmotion.engine import DRAWING
from linkmotion.events import BACKWARD, FORWARD
from linkmotion.events import EVENTS as EVENTS_IN_ORDER
from linkmotion.files.lengths import UNITS
from linkmotion.gears.frame import CROSSHEAD_PIN
from linkmotion.gears.reverser import Arm, DieHeld, Stop
from linkmotion.sides import BOTH, side_words
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.doubts.judged import DoubtfulState
from linkmotion.studies.motion_table import FIGURES, LOST_ANGLES, Motion
from linkmotion.studies.page_case import PageCase
from linkmotion.studies.page_data import PageData
from linkmotion.studies.row_figures import plain
from linkmotion.studies.standing import MOVED
from linkmotion.views.doubt_words import doubts_in_all
from linkmotion.views.moving.drawn import drawn
from linkmotion.views.moving.packed_motion import COARSE, FINE, FREE, chebyshev, packed, series
from linkmotion.views.moving.page_words import EVENTS, why
from linkmotion.views.moving.tour import tour
from linkmotion.views.tables import Shown

DIGITS = {"mm": 2, "in": 3, "ft": 4, "thou": 0}


def payload(moving: PageData, doubts: Mapping[str, DoubtfulState] | None = None) -> dict[str, Any]:
    """Everything the page needs, as plain JSON values.

    Parameters
    ----------
    moving : PageData
        What moves.
    doubts : dict of DoubtfulState, optional
        By state, of those of which doubts are known.
    """
    engine = moving.engine
    layouts: list[dict[str, Any]] = []
    shapes: list[tuple[Any, ...]] = []  # what a drawing goes by: the parts, and the edges of valve and ports
    drawings: list[dict[str, Any]] = []
    cases = []
    for case in moving.cases:
        layout = _layout(case)
        if layout not in layouts:
            layouts.append(layout)
        shape = (case.quantities, case.gear.valve.admission, *case.motion.figures[2:7])
        if shape not in shapes:
            shapes.append(shape)
            drawings.append(drawn(case, engine))
        more = {"layout": layouts.index(layout), "drawing": shapes.index(shape), "span": _span(moving, case)}
        cases.append(_case(case, moving.reverser) | more)
    notes = {state.name: state.note for state in engine.states.values() if state.note}
    return {
        "engine": engine.name,
        "gear": engine.gear_type.name,
        "note": engine.note,
        "unit": engine.unit,
        "scale": 1 / float(UNITS[engine.unit]),
        "digits": DIGITS[engine.unit],
        "reverser": {Arm: "arm", DieHeld: "die"}.get(moving.reverser, "stop"),
        "nodes": moving.nodes.tolist(),
        "steps": {"fine": FINE, "coarse": COARSE, "free": FREE},
        "figures": list(FIGURES),
        "lost_angles": LOST_ANGLES,
        "tour": tour(drawings[0]["named"], moving.reverser),
        "sides": engine.sides,
        "right_ahead": engine.wheels.ahead("right", 1),
        "layouts": layouts,
        "drawings": drawings,
        "cases": cases,
        "notes": notes,
        "surely": {state: f" {doubts_in_all(own, Shown(engine.unit))}" for state, own in (doubts or {}).items()},
        "left_out": {state: why(reason, engine.unit) for state, reason in moving.left_out.items()},
        "events": EVENTS,
        "drawing": DRAWING,
    }


def as_script(data: dict[str, Any]) -> str:
    r"""JSON that can stand inside a script element whatever its texts hold.

    >>> as_script({"engine": "</script>"})
    '{"engine":"\\u003c/script\\u003e"}'
    """
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def _span(moving: PageData, shown: PageCase) -> dict[str, float] | None:
    """Reverser positions at the ends of its scale and in its middle; None where there is nothing to be moved.

    Forward is where the side as drawn drives forward; the middle is the notch of that name, or else that which drives
    neither way, or else midway between the outermost.
    """
    case = moving.drawn(shown.sides[0])
    least, most = float(moving.nodes.min()), float(moving.nodes.max())
    if moving.reverser is Stop or least == most:
        return None
    at: dict[str, list[float]] = {FORWARD: [], BACKWARD: [], "both": []}
    for u, drives in zip(case.notches.values(), case.side.drives, strict=True):
        at[drives].append(u)
    halfway = (least + most) / 2
    ahead = np.mean(at[FORWARD] or [halfway]) >= np.mean(at[BACKWARD] or [halfway])
    mid = case.notches.get("mid", (*at["both"], halfway)[0])
    forward, backward = (most, least) if ahead else (least, most)
    return {FORWARD: forward, "mid": mid, BACKWARD: backward}


def _case(case: PageCase, kind: type[Any]) -> dict[str, Any]:
    def packed_motion(motion: Motion) -> dict[str, Any]:
        return _motion(motion, case.quantities, kind)

    items = [
        {"name": item.name, "amount": item.amount, "angle": item.angle} | packed_motion(item.change)
        for item in case.items
    ]
    return {
        "state": case.state,
        "sides": list(case.sides),
        "whose": side_words(case.sides[0] if len(case.sides) == 1 else BOTH),
        "admission": case.gear.valve.admission,
        "moves": abs(float(case.motion.figures[0] - case.motion.figures[-1])) > MOVED,
        "events": {notch: _events(case.side, i) for i, notch in enumerate(case.side.notches)},
        "notches": case.notches,
        "play": {joint: float(c) for joint, c in case.side.condition.clearance.items() if c},
        "items": items,
        "rest": None if case.rest is None else packed_motion(case.rest),
    } | packed_motion(case.motion)


def _events(side: SideEvents, notch: int) -> dict[str, list[dict[str, Any]]]:
    """Events of a notch, its play in motion, by direction of running: what the page shows where all is as it stands."""
    return {
        way: [
            {
                "end": end,
                "lead": float(own.lead[notch]),
                "angle": {event: at for event in EVENTS_IN_ORDER if (at := plain(own.angle[event][notch])) is not None},
                "percent": {
                    event: at for event in EVENTS_IN_ORDER if (at := plain(own.percent[event][notch])) is not None
                },
            }
            for end, own in ends.items()
        ]
        for way, ends in side.events.items()
    }


def _motion(motion: Motion, quantities: tuple[str, ...], kind: type[Any]) -> dict[str, Any]:
    """Everything that moves; of an eccentric on its stops the stops themselves, not a series through them."""
    over = (lambda values: values) if kind is Stop else chebyshev
    lost = np.diff(np.round(over(motion.lost) / FREE).astype(np.int64), axis=-1, prepend=0)
    return {
        "series": series(over(motion.series), (FINE if _told(name) else COARSE for name in quantities)),
        "figures": [float(figure) for figure in motion.figures],
        "lost": packed(lost.ravel()) if np.any(motion.lost) else None,
    }


def _told(quantity: str) -> bool:
    """Whether figures are told of it: of the valve, the die, the link, and the piston; other pins are only drawn."""
    return quantity in ("spindle", "die", "link", f"{CROSSHEAD_PIN} x", f"{CROSSHEAD_PIN} y")


def _layout(case: PageCase) -> dict[str, Any]:
    """What is found where in a case's motion, and how far the slot reaches."""
    slot = case.gear.slot
    reach = None if slot is None else {"top": float(slot.top), "bottom": float(slot.bottom)}
    return {"quantities": list(case.quantities), "slot": reach}
