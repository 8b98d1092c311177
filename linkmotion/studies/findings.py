"""Findings in plain words: what is out, by how much, against which target."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from linkmotion.events import BACKWARD, FORWARD
from linkmotion.sides import BOTH, PAIR
from linkmotion.studies.assess import Assessment, SideEvents
from linkmotion.studies.compared import Finding as Finding
from linkmotion.studies.compared import ends_compared, lost_compared, past_target, sides_compared
from linkmotion.valve import ENDS

_BEYOND = 0.5  # mm: the foot of a depth gauge is not set nearer to a place


def findings(assessment: Assessment) -> list[Finding]:
    """Everything worth telling of an assessment, what is out of target first.

    Parameters
    ----------
    assessment : Assessment
        Of one side or both; sides that are alike are told once.
    """
    found: list[Finding] = []
    targets = assessment.engine.targets
    for side in assessment.distinct_sides:
        side = replace(side, side=BOTH) if assessment.alike else side
        for i in range(len(side.notches)):
            for direction in side.driven(i):
                found += past_target(ends_compared(side, i, direction, targets))
                found += _ports(side, i, direction)
            found += _die(side, i)
            found += _sense(side, i)
        found += past_target([lost_compared(side, targets)])
        found += _blind(side)
        found += binding(side)
        found += slot_remarks(side)
    if len(assessment.distinct_sides) == len(PAIR):
        left, right = assessment.sides
        found += past_target(sides_compared(left, right, targets))
    return sorted(found, key=lambda finding: not finding.out)


def _sense(side: SideEvents, i: int) -> Iterator[Finding]:
    """A notch whose name says the one direction, and that drives in the other."""
    name, drives = side.notches[i].lower(), side.drives[i]
    other = {FORWARD: "back", BACKWARD: "for"}.get(drives, " never ")
    named = re.search(rf"\b{other}", name) and not re.search(rf"\b{drives[:3]}", name)
    if named:
        words = (
            f"drives {drives}: look at the signs of admission, of the eccentrics or return crank, and of the notches"
        )
        yield Finding("sense", True, side.side, side.notches[i], "", 0.0, 0.0, "mm", words)


def _blind(side: SideEvents) -> Iterator[Finding]:
    """At both dead centres of every notch the valve stands on the wrong side of central."""
    wrong = [np.all(own.lead < -side.ports.edge("steam", end).lap) for end, own in side.events[FORWARD].items()]
    if all(wrong):
        words = "the valve covers both ports at their dead centres in every notch: is admission the right way about?"
        yield Finding("sense", True, side.side, "", "", 0.0, 0.0, "mm", words)


def binding(side: SideEvents) -> Iterator[Finding]:
    """A twist out of the link's plane: no question of events (second order, t²/2L), but the die may bind.

    Parameters
    ----------
    side : SideEvents
        With its condition's twist, die length and side clearance.
    """
    worn, slot = side.condition, side.gear.slot
    if slot is None or not worn.twist:
        return
    length = slot.top + slot.bottom
    over = worn.twist * worn.die_length / length
    parts = 2 * (length / worn.twist) ** 2
    words = (
        "the twist of the link does not bear on the events (it shortens the link by one "
        f"part in {parts:,.0f}), but over the die it is {{size}}, and its side clearance is {{limit}}: the die "
        f"{'binds' if over > worn.die_side_clearance else 'goes'}"
    )
    binds = over > worn.die_side_clearance
    yield Finding("die", binds, side.side, "", "", over, worn.die_side_clearance, "mm", words)


def slot_remarks(side: SideEvents) -> Iterator[Finding]:
    """How a worn slot was taken: the die's length, the faces between their readings and beyond the last of them."""
    worn, slot = side.condition, side.gear.slot
    if slot is None or not worn.slot:
        return
    between = "between two readings a face is taken as a smooth curve that overshoots neither"
    words = f"the worn slot is felt by a die block {{size}} long, which lies across its hollows; {between}"
    if not worn.die_length:
        words = (
            "the worn slot is felt by a die taken as a point, which goes down into every hollow: give die_length, and "
            f"a block of that length lies across them; {between}"
        )
    yield Finding("die", False, side.side, "", "", worn.die_length, 0.0, "mm", words)
    low, high = side.motion.die_reach
    half = worn.die_length / 2
    for end, over in (("top", high + half - worn.slot[-1].at), ("bottom", worn.slot[0].at - low + half)):
        worst = int(np.argmax(over))
        if over[worst] > _BEYOND:
            words = (
                f"the die runs {{size}} beyond the last reading of the faces at the {end} of the slot: the loss there"
            )
            words += " is taken as at that reading"
            where = (side.side, side.notches[worst], "")
            yield Finding("die", False, *where, float(over[worst]), 0.0, "mm", words, end)


def _ports(side: SideEvents, i: int, direction: str) -> Iterator[Finding]:
    where = (side.side, side.notches[i], direction)
    for end in ENDS:
        own = side.events[direction][end]
        for flow, told in own.missing.items():
            if told[i]:
                port = "to steam" if flow == "steam" else "to exhaust"
                yield Finding(
                    "port", told[i] != "just touches", *where, 0.0, 0.0, "mm", f"the {end} port, {port}: {told[i]}", end
                )
        if own.lead[i] < 0:
            yield Finding(
                "lead",
                False,
                *where,
                -float(own.lead[i]),
                0.0,
                "mm",
                f"the {end} port is still blind by {{size}} at its dead centre",
                end,
            )


def _die(side: SideEvents, i: int) -> Iterator[Finding]:
    link = side.gear.slot
    if link is None:
        return
    low, high = side.motion.die_reach
    where = (side.side, side.notches[i], "")
    for end, over in (("top", float(high[i] - link.top)), ("bottom", float(-low[i] - link.bottom))):
        if over > 0:
            yield Finding(
                "die", True, *where, over, 0.0, "mm", f"the die runs {{size}} past the {end} end of the slot", end
            )
