"""Findings in plain words: what is out, by how much, against which target."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from linkmotion.engine import Targets
from linkmotion.events import BACKWARD, FORWARD
from linkmotion.studies.assess import Assessment, SideEvents
from linkmotion.valve import ENDS


@dataclass(frozen=True)
class Finding:
    """Something to be told.

    Attributes
    ----------
    what : str
        "lead", "cutoff", "die", "port", "sense", "sides".
    out : bool
        True when a target or limit is passed; false for a remark.
    side, notch, direction : str
        Where; side "both" when they are alike, "" when it is between the sides.
    size, limit : float
        Measured figure and target, in ``unit``.
    unit : str
        "mm" or "percent".
    words : str
        The sentence, with ``{size}`` and ``{limit}`` where a view puts the figures in the reader's units.
    """

    what: str
    out: bool
    side: str
    notch: str
    direction: str
    size: float
    limit: float
    unit: str
    words: str


def findings(assessment: Assessment) -> list[Finding]:
    """Everything worth telling of an assessment, what is out of target first."""
    found: list[Finding] = []
    targets = assessment.engine.targets
    alike = len(assessment.distinct_sides) < len(assessment.sides)
    for side in assessment.distinct_sides:
        side = replace(side, side="both") if alike else side
        for i in range(len(side.notches)):
            for way in side.driven(i):
                found += _ends(side, i, way, targets)
                found += _ports(side, i, way)
            found += _die(side, i)
            found += _sense(side, i)
        found += _blind(side)
    if len(assessment.distinct_sides) == 2:
        left, right = assessment.sides
        found += _sides(left, right, targets)
    return sorted(found, key=lambda finding: not finding.out)


def _ends(side: SideEvents, i: int, way: str, targets: Targets) -> Iterator[Finding]:
    ends = side.events[way]
    front, back = ends["front"], ends["back"]
    where = (side.side, side.notches[i], way)
    apart = float(front.lead[i] - back.lead[i])
    if abs(apart) > targets.lead_difference:
        more = "front" if apart > 0 else "back"
        yield Finding(
            "lead",
            True,
            *where,
            abs(apart),
            targets.lead_difference,
            "mm",
            f"the {more} end has {{size}} more lead than the other; {{limit}} is allowed",
        )
    if targets.lead is not None:
        for end in ENDS:
            off = float(ends[end].lead[i] - targets.lead)
            if abs(off) > targets.lead_within:
                yield Finding(
                    "lead",
                    True,
                    *where,
                    abs(off),
                    targets.lead_within,
                    "mm",
                    f"the {end} lead is {{size}} {'above' if off > 0 else 'below'} the lead wanted; "
                    "{limit} is allowed",
                )
    apart = float(front.percent["cutoff"][i] - back.percent["cutoff"][i])
    if abs(apart) > targets.cutoff_difference:
        later = "front" if apart > 0 else "back"
        yield Finding(
            "cutoff",
            True,
            *where,
            abs(apart),
            targets.cutoff_difference,
            "percent",
            f"the {later} end cuts off {{size}} of stroke later than the other; {{limit}} is allowed",
        )


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


def _ports(side: SideEvents, i: int, way: str) -> Iterator[Finding]:
    where = (side.side, side.notches[i], way)
    for end in ENDS:
        own = side.events[way][end]
        for flow, told in own.missing.items():
            if told[i]:
                port = "to steam" if flow == "steam" else "to exhaust"
                yield Finding(
                    "port", told[i] != "just touches", *where, 0.0, 0.0, "mm", f"the {end} port, {port}: {told[i]}"
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
            )


def _die(side: SideEvents, i: int) -> Iterator[Finding]:
    link = side.gear.slot
    if link is None:
        return
    low, high = side.turned.die_reach
    where = (side.side, side.notches[i], "")
    for end, over in (("top", float(high[i] - link.top)), ("bottom", float(-low[i] - link.bottom))):
        if over > 0:
            yield Finding("die", True, *where, over, 0.0, "mm", f"the die runs {{size}} past the {end} end of the slot")


def _sides(left: SideEvents, right: SideEvents, targets: Targets) -> Iterator[Finding]:
    for i, notch in enumerate(left.notches):
        for way in left.driven(i):
            for end in ENDS:
                one, two = left.events[way][end], right.events[way][end]
                apart = float(one.lead[i] - two.lead[i])
                if abs(apart) > targets.side_lead_difference:
                    yield Finding(
                        "sides",
                        True,
                        "",
                        notch,
                        way,
                        abs(apart),
                        targets.side_lead_difference,
                        "mm",
                        f"{end} end: the {'left' if apart > 0 else 'right'} side has {{size}} more lead than "
                        "the other; {limit} is allowed",
                    )
                apart = float(one.percent["cutoff"][i] - two.percent["cutoff"][i])
                if abs(apart) > targets.side_cutoff_difference:
                    yield Finding(
                        "sides",
                        True,
                        "",
                        notch,
                        way,
                        abs(apart),
                        targets.side_cutoff_difference,
                        "percent",
                        f"{end} end: the {'left' if apart > 0 else 'right'} side cuts off {{size}} of stroke "
                        "later than the other; {limit} is allowed",
                    )
