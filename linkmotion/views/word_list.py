"""The trade's words, in one list: the bench tells them where the question arises, lessons show them, README has some.

What a part does and what an event is stands in :mod:`linkmotion.views.moving.page_words`, as the moving page tells it;
here are the other words, and all of them together.
"""

from __future__ import annotations

from linkmotion.views.moving.page_words import EVENTS, PARTS

TERMS: dict[str, str] = {
    "lap": "How far the valve's steam edge overlaps the port's edge with the valve in its middle place.",
    "lead": "How far the port is open to steam at that end's dead centre. Less than nothing: it is still shut.",
    "dead centre": "The crank in line with the piston rod: the piston at the end of its stroke.",
    "stroke": "The piston's whole path from one end to the other. Events are told in percent of it.",
    "steam port": "An opening in the valve's seat, one for each end of the cylinder, by which steam goes in and out.",
    "piston valve": "Two pistons on one rod in place of a slide; steam mostly comes in between them.",
    "inside admission": "Steam comes in at the valve's inner edges, as with most piston valves; outside: at its outer.",
    "valve travel": "The valve's whole movement, end to end, in one turn of the wheel.",
    "opening": "How far the port is open at its widest in a turn, by the valve's edge.",
    "angular advance": "By how much the eccentric stands past the right angle from the crank: for lap and lead.",
    "crank pin": "The pin in the crank that the connecting rod turns about.",
    "foot": "The pin of the link that the eccentric rod drives.",
    "full gear": "The reverser all the way over: steam is shut off latest.",
    "mid gear": "The reverser in its middle: the engine drives neither way.",
    "notch": "A place in which the reverser can be held.",
    "notching up": "Bringing the reverser toward the middle: steam is shut off earlier and works by expanding.",
    "die slip": "How far the die block moves along its slot in one turn of the wheel.",
    "backset": "How far the link's foot stands behind the line of the slot, toward the axle.",
    "virtual eccentric": "The one eccentric that would move the valve as the gear does in that notch.",
    "polar diagram": "The valve's distance from its middle, drawn along the crank as it goes round.",
    "assembly": "Which way the parts bend where they could be put together in two ways.",
    "front, back": "The ends of the cylinder: front is away from the driving axle.",
    "lost motion": "How far the valve can be pushed and pulled with the wheel held still.",
    "clearance": "Room between a pin and its bush, across the whole: bush less pin.",
    "bow": "How far a rod has bent out of straight, at its middle.",
    "drawing": "The engine as its maker meant it: what every state is compared with.",
    "state": "The engine as it was at one time: as drawn, as found, as repaired. A state holds only what differs.",
    "as it stands": "Cold, with its wear and play, the valve where it is on its spindle: what would be read today.",
    "set afresh": "The valve put again where the drawing's rule has it: what setting alone can mend.",
    "in service": "As it stands, but warm: what it does on the road.",
    "target": "What a figure is held against: how far apart leads, cutoffs and sides may be.",
    "doubt": "How far a figure may be off: right 19 times in 20.",
    "by rule": "Nobody has the figure: the trade's rule for laying gears out proposes it, with a doubt.",
    "figures as taken": "Write a figure as it was measured: 31 19/32 in, or 680 mm - 400 mm, or 769.2 ± 0.3 mm with "
    'its doubt (right 19 times in 20), or several takings [ "769.2 mm", "769.5 mm" ].',
    "tolerance": "How far a new part may be off its figure, either way.",
    "weight": "The greatest change that one thing makes alone, as so many times the target it offends.",
    "gain": "What renewing that one thing takes off the weight of everything together.",
    "clean-up": "Taking the least metal off a worn slot that leaves its faces true.",
    "reading": "A figure read on the engine, with how near it was read.",
    "tram": "A bar with two points, by which the wheel is set again to the same marks: so dead centres are found.",
    "suspect": "A dimension that would explain what was read, if it were off by so much.",
    "put back": "Undo what a dimension is off its drawing, before anything is trimmed.",
    "trim": "Move the valve on its spindle, or a rod by its adjustment, for the last of it.",
}
"""Word or phrase to what it means, in one or two sentences."""
WORDS: dict[str, str] = {**PARTS, **{name: f"{told[:1].upper()}{told[1:]}." for name, told in EVENTS.items()}, **TERMS}
"""Every word: parts, events, and the terms, which hold where a part of some gear is called the same."""
_SHOWN_ON = {
    "lap": "valve", "lead": "valve", "steam port": "cylinder", "valve travel": "valve", "opening": "valve",
    "admission": "valve", "cutoff": "valve", "release": "valve", "compression": "valve", "stroke": "piston",
    "dead centre": "crank", "notch": "notches", "full gear": "notches", "mid gear": "notches",
    "notching up": "notches", "die slip": "die", "backset": "expansion link", "lost motion": "valve",
    "clean-up": "expansion link", "angular advance": "eccentric",
}  # fmt: skip


def shown_on(word: str) -> str:
    """The part of the drawing on which a word is shown; "" where it is shown on none.

    >>> shown_on("lead"), shown_on("radius rod"), shown_on("gain")
    ('valve', 'radius rod', '')
    """
    return word if word in PARTS else _SHOWN_ON.get(word, "")
