"""The guided tour: five plain sentences for one who knows nothing of valve gear, told of the gear's own parts."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from linkmotion.gears.reverser import Stop

PISTON, VALVE, CYLINDER = "piston", "valve", "cylinder"  # bodies of the section
_CAUSE = (PISTON, "piston rod", "crosshead", "connecting rod", "wheel", CYLINDER)
_TIMERS = ("return crank", "forward eccentric", "backward eccentric", "eccentric")
_LINK = ("expansion link", "die", "radius rod", "weighshaft", "lifting arm", "lifting link")
_YOKE = ("reversing yoke", "radius bars", "gear connecting rod", "bell crank")
_OUTSIDE = ("left expansion link", "right expansion link", "left lifting arm", "right lifting arm")
_TWO_LEVERS = ("2:1 lever", "equal lever", "long-arm link", "outer-arm link", "middle-arm link")
_LEVER = ("combination lever", "union link")


def tour(bodies: Iterable[str], reverser: type[Any]) -> list[dict[str, Any]]:
    """Five steps: what it is called, one sentence, the bodies spoken of, and the crank angle at which to look.

    >>> for step in tour(["valve", "piston", "wheel", "connecting rod", "eccentric", "eccentric rod"], Stop):
    ...     print(step["title"], step["parts"])
    Steam pushes the piston ['piston', 'connecting rod', 'wheel']
    The valve lets it in ['valve']
    The eccentric times it ['eccentric', 'eccentric rod']
    The eccentric turns it round ['eccentric']
    Lap and lead ['valve', 'eccentric']
    """
    there = set(bodies)

    def step(title: str, words: str, lit: Iterable[str], angle: float | None = None) -> dict[str, Any]:
        return {"title": title, "words": words, "parts": [part for part in lit if part in there], "angle": angle}

    pushes = step(
        "Steam pushes the piston",
        "Steam pushes the piston to and fro, and through the connecting rod the piston turns the crank and the wheel.",
        _CAUSE,
        60.0,
    )
    lets = step(
        "The valve lets it in",
        "The valve slides over the ports: it lets live steam into one end of the cylinder and exhaust, which has done "
        "its work, out of the other.",
        (VALVE, CYLINDER),
        60.0,
    )
    return [pushes, lets, step(*_times(there)), step(*_reverses(there, reverser)), step(*_laps(there), 0.0)]


def _times(there: set[str]) -> tuple[str, str, list[str]]:
    timers = [part for part in _TIMERS if part in there]
    rods = [part for part in sorted(there) if part.endswith("eccentric rod")]
    if "return crank" in there:
        words = (
            "A small crank on the end of the crank pin, the return crank, goes round about a quarter turn from the "
            "crank: so the valve moves fastest where the piston stands still."
        )
        return "The return crank times it", words, timers + rods
    if "2:1 lever" in there:
        words = (
            "The outside cranks stand a third of a turn either side of this one, so that the outside valves' movements "
            "added up and turned about by the levers are those of a valve for this cylinder."
        )
        return "The outside valves time it", words, list(_TWO_LEVERS)
    if "other crosshead" in there:
        words = (
            "The other side's crank stands a quarter turn from this one, so its crosshead moves the valve fastest "
            "where this side's piston stands still."
        )
        return "The other crosshead times it", words, ["other crosshead", "other connecting rod", "drive rod"]
    if len(timers) > 1:
        words = (
            "Two eccentrics on the axle, one for each direction of running, go round with the wheel about a quarter "
            "turn from the crank: so the valve moves fastest where the piston stands still."
        )
        return "The eccentrics time it", words, timers + rods
    if timers:
        words = (
            "The eccentric on the axle goes round with the wheel about a quarter turn from the crank: so the valve "
            "moves fastest where the piston stands still."
        )
        return "The eccentric times it", words, timers + rods
    rest = sorted(there - {VALVE, *_CAUSE, "slidebars"})
    return "The gear times it", "These parts carry the movement of the wheel or of the crosshead to the valve.", rest


def _reverses(there: set[str], reverser: type[Any]) -> tuple[str, str, list[str]]:
    if "expansion link" in there:
        words = (
            "Near the end of the link the die takes much of its movement, near the middle little, so that less steam "
            "is let in at each stroke; on the other side of the middle the engine runs the other way."
        )
        return "The link reverses and shortens it", words, list(_LINK)
    if "2:1 lever" in there:
        words = (
            "Nearer to the middle of the outside links the outside valves move less, and this one with them; on the "
            "other side of the middle all run the other way."
        )
        return "The outside links reverse and shorten it", words, list(_OUTSIDE)
    if "reversing yoke" in there:
        words = (
            "The further the reversing yoke is turned from its middle place, the more the gear connecting rod rises as "
            "it swings, and the longer steam is let in; turned the other way the engine runs the other way."
        )
        return "The yoke reverses and shortens it", words, list(_YOKE)
    if "stationary link" in there:
        words = (
            "The further the block stands from the middle of the stationary link, the further the valve goes and the "
            "longer steam is let in; on the other side of the middle the engine runs the other way."
        )
        return "The block reverses and shortens it", words, ["stationary link", "die", "radius hanger"]
    if "slide" in there or "swinging link" in there:
        own = "slide of the die" if "slide" in there else "arm that carries the swinging link"
        words = (
            f"The further the {own} is turned from its middle place, the further the valve goes and the longer "
            "steam is let in; turned the other way the engine runs the other way."
        )
        return "The slide reverses and shortens it", words, ["slide", "die", "swinging link", "reversing arm"]
    if "eccentric" in there and reverser is Stop:
        words = (
            "Without a link the valve always moves as far: to run the other way the eccentric itself has to stand "
            "otherwise on the axle."
        )
        return "The eccentric turns it round", words, ["eccentric"]
    return "Nothing shortens it", "Without a link the valve always moves as far, and the same way round.", [VALVE]


def _laps(there: set[str]) -> tuple[str, str, list[str]]:
    begins = (
        "In its middle place the valve covers the ports and a little more, the lap, so that steam is shut in to push "
        "by spreading out; "
    )
    if "combination lever" in there:
        words = (
            "the combination lever adds some of the piston's own movement, so that here, where the piston turns, the "
            "port is already open, by the lead."
        )
        return "Lap and lead", begins + words, [VALVE, CYLINDER, *_LEVER]
    if "2:1 lever" in there:
        words = (
            "the outside combination levers add some of their pistons' movement, and so the levers some of this one's: "
            "here, where the piston turns, the port is already open, by the lead."
        )
        return "Lap and lead", begins + words, [VALVE, CYLINDER, "left combination lever", "right combination lever"]
    if "stationary link" in there:
        words = (
            "the return crank's own rise and fall moves the valve so far that the port is already open, by the lead, "
            "when the piston turns."
        )
        return "Lap and lead", begins + words, [VALVE, CYLINDER, "return crank", "eccentric rod"]
    timers = [part for part in _TIMERS if part in there]
    if timers:
        plural = len(timers) > 1
        words = (
            f"the eccentric{'s are' if plural else ' is'} set off the quarter turn by so much that here, where the "
            "piston turns, the port is already open, by the lead."
        )
        return "Lap and lead", begins + words, [VALVE, CYLINDER, *timers]
    words = "and yet here, where the piston turns, the port is already open, by the lead."
    return "Lap and lead", begins + words, [VALVE, CYLINDER]
