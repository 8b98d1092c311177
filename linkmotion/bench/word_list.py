"""The trade's words, as they are told where the question arises."""

from __future__ import annotations

WORDS: dict[str, str] = {
    "lead": "How far the port is open to steam at that end's dead centre. Less than nothing: it is still shut.",
    "cutoff": "Where in the stroke the valve shuts the steam off, in percent from that end's dead centre.",
    "dead centre": "The crank in line with the piston rod: the piston at the end of its stroke.",
    "as it stands": "Cold, with its wear and play, the valve where it is on its spindle: what would be read today.",
    "set afresh": "The valve put again where the drawing's rule has it: what setting alone can mend.",
    "state": "The engine as it was at one time: as drawn, as found, as repaired. A state holds only what differs.",
    "notch": "A place in which the reverser can be held.",
    "front, back": "The ends of the cylinder: front is away from the driving axle.",
    "lost motion": "How far the valve can be pushed and pulled with the wheel held still.",
    "weight": "The greatest change that one thing makes alone, as so many times the target it offends.",
    "gain": "What renewing that one thing takes off the weight of everything together.",
    "figures as taken": "Write a figure as it was measured: 31 19/32 in, or 680 mm - 400 mm, or 769.2 ± 0.3 mm with "
    'its doubt (right 19 times in 20), or several takings [ "769.2 mm", "769.5 mm" ].',
}
"""Word or phrase to what it means, in one or two sentences."""
