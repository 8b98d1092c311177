"""What each part does and what each event means, in plain words."""

from __future__ import annotations

from linkmotion.files.lengths import format_length
from linkmotion.linkage import LinkageError
from linkmotion.sides import PAIR
from linkmotion.studies.assess import NotchError

PARTS: dict[str, str] = {
    "wheel": "The driving wheel. Take it with mouse or finger and turn it.",
    "cylinder": "Cast with the chest above it: passages lead from the ports under the valve to both ends.",
    "piston": "Steam pushes it to and fro, now on one side, now on the other.",
    "piston rod": "Carries the piston's push out through the cylinder's cover to the crosshead.",
    "valve": "Slides over the ports: it lets live steam to one end of the cylinder and lets the other end exhaust.",
    "notches": "Where the reverser can be held: each notch is a cutoff and a direction.",
    "crank": "Fixed on the driving axle. The connecting rod pushes and pulls its pin and so turns the wheel.",
    "connecting rod": "Joins the crosshead to the crank pin: it turns the wheel.",
    "slidebars": "Straight bars that keep the crosshead on the cylinder's centre line.",
    "crosshead": "The end of the piston rod, guided by the slidebars: it moves exactly as the piston does.",
    "return crank": "A small crank fixed on the end of the crank pin. Its own pin goes round nearly a quarter "
    "turn from the crank: an eccentric by another name.",
    "eccentric": "A disc set off the middle of the axle: it moves its rod like a very short crank.",
    "forward eccentric": "The eccentric that drives the engine forward. How far it stands from the crank sets lead and "
    "cutoff.",
    "backward eccentric": "The eccentric that drives the engine backward.",
    "eccentric rod": "Takes the turning of the eccentric (or return crank) to the next part as a to and fro.",
    "forward eccentric rod": "From the forward eccentric to its end of the link.",
    "backward eccentric rod": "From the backward eccentric to the other end of the link.",
    "expansion link": "The slotted link. Its middle hardly moves to and fro, its ends move most: where the die stands "
    "in the slot decides how much of that reaches the valve, and which way round.",
    "die": "The block in the slot. It takes up the movement of the link at the place where it stands.",
    "radius rod": "Carries the die's movement forward. Raising or lowering it shifts the die in the slot.",
    "combination lever": "Adds two movements: most from the radius rod, and a little from the crosshead that makes up "
    "lap and lead. So the valve opens a little at dead centre in every notch.",
    "union link": "Joins the crosshead's arm to the foot of the combination lever.",
    "lifting arm": "An arm on the weighshaft. The reverser turns it, and what hangs on it rises or falls.",
    "rod lifting arm": "The weighshaft's second arm: it moves the radius rod while the other moves the link.",
    "lifting link": "Hangs from the lifting arm and carries the link or rod, leaving it free to swing.",
    "rod lifting link": "Hangs from the second arm and carries the radius rod.",
    "swivel block": "A block at the arm's end in which the radius rod's tail slides while it swings.",
    "suspension link": "Hangs the link from a fixed point: here the link stays at its height.",
    "hanger": "A swinging link that carries the end of the rod.",
    "rocker": "A two-armed lever on a fixed shaft: it carries the movement across, and may turn it about.",
    "spindle rod": "Drives the valve spindle.",
    "spindle block": "A block that slides square to the spindle, so that only the movement along it passes on.",
    "spindle block's die": "Turns on the rocker's pin and slides up and down in the spindle block.",
    "slide": "A slotted guide on the weighshaft: the further the reverser tilts it, the more of the die's rise and "
    "fall becomes movement to and fro.",
    "swinging link": "Hangs from the reversing arm and leads its pin on an arc. The further the arm tilts that arc, "
    "the more of the pin's rise and fall becomes movement to and fro.",
    "reversing arm": "An arm on the weighshaft. The reverser turns it, and with it the point about which the swinging "
    "link swings.",
    "valve rod": "Carries the movement on to the valve spindle.",
    "valve lever": "Adds two movements: a little from its foot, which makes up lap and lead, and the rest from the "
    "block or link that leads it. Its upper end drives the valve rod.",
    "correcting link": "Hangs from the connecting rod and is led at its other end, so that the foot of the valve lever "
    "rises and falls evenly.",
    "anchor link": "Holds the far end of the correcting link, leaving it free to swing.",
    "anchor pin": "The fixed point about which the anchor link swings.",
    "anchor": "Fixed bars that lead the far end of the correcting link.",
    "foot": "The block at the far end of the correcting link: it slides between fixed bars.",
    "gear connecting rod": "Swung at its foot by the eccentric rod and led in its middle by the radius bars: it rises "
    "as it swings, as far as the yoke is turned.",
    "radius bars": "Hang from the reversing yoke and lead the middle of the gear connecting rod on an arc.",
    "reversing yoke": "The reverser turns it about its trunnion, and with it the arc on which the radius bars swing.",
    "bell crank": "Turns a movement up and down into one along the engine.",
    "bell-crank shaft": "The fixed shaft on which the bell crank turns.",
    "stationary link": "Bolted to the frame: the reverser shifts a block along it, from which the radius hanger hangs.",
    "radius hanger": "Hangs from the block and carries the eccentric rod near its front end.",
    "yoke": "Takes the rise and fall of the eccentric rod's front end to the bell crank.",
    "other crank": "The other side's crank, a right angle from this one.",
    "other connecting rod": "The other side's connecting rod.",
    "other crosshead": "The other side's crosshead: its arm works this side's link.",
    "other crosshead pin": "The pin that joins the other side's connecting rod and crosshead.",
    "other slidebars": "Guide the other side's crosshead.",
    "drive rod": "From the other side's crosshead to the foot of this side's link: it rocks the link.",
    "2:1 lever": "Turns on the frame, ahead of the cylinders; drawn as it is seen from above. One outside spindle "
    "works its long arm; its short arm goes half as far, the other way.",
    "equal lever": "Floats on the short arm of the 2:1 lever. The other outside spindle works one end, and the other "
    "end the middle valve: as far as both together, the other way.",
    "valve pin": "The pin that drives the valve's spindle.",
    "crosshead pin": "The pin that joins the connecting rod and the crosshead.",
    "long-arm link": "From an outside spindle to the long arm of the 2:1 lever.",
    "outer-arm link": "From the other outside spindle to the equal lever.",
    "middle-arm link": "From the equal lever to the middle valve's spindle.",
    "2:1 lever pivot": "The pin of the frame on which the 2:1 lever turns. Play here counts threefold at the valve.",
    "spindle crosshead": "The front end of an outside valve spindle, whose pin works the levers.",
    "trunnion": "The link's own bearing on the frame: the link rocks about it.",
    "weighshaft": "The reversing shaft. The driver's lever or screw turns it, and its arm raises or lowers the gear.",
    "rocker shaft": "The fixed shaft on which the rocker turns.",
    "link hanger": "The fixed point from which the link hangs.",
    "hanger pivot": "The fixed point from which the swinging link hangs.",
    "axle": "The driving axle. Everything here gets its movement from it.",
    "valve guide": "Guides the valve spindle on its straight line. What arrives here is what the valve does.",
}
_BY_GEAR: dict[tuple[str, str], str] = {
    (
        "walschaerts",
        "expansion link",
    ): "The slotted link, rocked about its trunnions by the eccentric rod. At the middle "
    "of the slot there is no movement, at the ends most, and above and below the middle it is opposite: so the die's "
    "place decides cutoff and direction.",
    ("walschaerts", "eccentric rod"): "From the return crank to the foot of the link: it rocks the link.",
    (
        "walschaerts",
        "radius rod",
    ): "From the die to the combination lever. The reverser raises or lowers it, and with it the die in the slot.",
    ("eccentric walschaerts", "eccentric rod"): "From the eccentric to the foot of the link: it rocks the link.",
    (
        "crosshead driven",
        "expansion link",
    ): "The slotted link, rocked about its trunnions by the other side's crosshead: the die's place decides cutoff and "
    "direction.",
    ("baker", "eccentric rod"): "From the return crank to the foot of the gear connecting rod: it swings it.",
    ("baker", "combination lever"): "Adds two movements: most from the valve rod, and a little from the crosshead that "
    "makes up lap and lead. So the valve opens a little at dead centre in every notch.",
    ("baker", "valve rod"): "From the bell crank to the combination lever.",
    ("southern", "eccentric rod"): "From the return crank past the radius hanger's pin to the yoke: a lever about that "
    "pin, and its front end's rise and fall works the valve.",
    (
        "southern",
        "die",
    ): "The block in the stationary link. The reverser shifts it; it stands still in running.",
    (
        "stephenson",
        "expansion link",
    ): "Rocked by two eccentric rods, one at each end, and raised or lowered as a whole. "
    "The die does not rise with it: it takes the movement of whatever part of the link stands opposite.",
    (
        "gooch",
        "expansion link",
    ): "Rocked by two eccentric rods and hung from a fixed point. Only the radius rod's die is "
    "raised and lowered in it, so the lead stays the same in every notch.",
    (
        "allan",
        "expansion link",
    ): "A straight link, rocked by two eccentric rods. Link and radius rod are moved opposite "
    "ways by one weighshaft, so the slot need not be curved.",
    (
        "hackworth",
        "eccentric rod",
    ): "From the eccentric to the die that leads its end. The pin between the two drives the valve rod: part of the "
    "eccentric's own movement, and part of what the slide adds.",
    ("hackworth", "die"): "The block at the end of the eccentric rod. It rises and falls along the slide.",
    (
        "marshall",
        "eccentric rod",
    ): "From the eccentric to the pin that the swinging link leads. Another of its pins drives the valve rod.",
    (
        "joy",
        "connecting rod",
    ): "Joins the crosshead to the crank pin: it turns the wheel. A pin along it rises and falls with every turn, and "
    "from that the valve gets its movement: there is no eccentric.",
    ("joy", "die"): "The block on the valve lever. It rises and falls along the slide.",
    (
        "plain eccentric",
        "eccentric rod",
    ): "From the eccentric straight to the valve (or its rocker): nothing here can be notched up.",
}
EVENTS: dict[str, str] = {
    "admission": "the valve opens the port to steam",
    "cutoff": "the valve shuts the steam off; what is shut in goes on pushing as it expands",
    "release": "the port opens to exhaust; the steam has done its work here, and goes with a beat up the chimney",
    "compression": "the exhaust is shut; what is left is pressed together as a cushion",
}


def why(reason: LinkageError | str, unit: str) -> str:
    """Why a gear cannot be shown, its lengths in this unit."""
    return reason.words(lambda mm: format_length(mm, unit)) if isinstance(reason, NotchError) else str(reason)


def does(gear: str, part: str, ends: tuple[str, ...] = ()) -> str:
    """What a part of a gear does.

    >>> does("gooch", "union link")
    "Joins the crosshead's arm to the foot of the combination lever."
    >>> does("feed pump", "drop link", ("crosshead pin", "lever foot"))
    'Joins crosshead pin and lever foot.'
    """
    told = _BY_GEAR.get((gear, part)) or PARTS.get(part) or PARTS.get(_of_no_side(part))
    if told is not None:
        return told
    return f"Joins {', '.join(ends[:-1])} and {ends[-1]}." if len(ends) > 1 else "A part of this gear."


def _of_no_side(part: str) -> str:
    """A part's name without the side of the engine, where it has one."""
    side, _, own = part.partition(" ")
    return own if side in PAIR else part
