"""What is told about a card model: what is wanted, how it goes together, what to look for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from linkmotion.gears.frame import CRANK
from linkmotion.studies.card.card_model import CardModel
from linkmotion.studies.card.latch import PEG
from linkmotion.studies.card.layers import Joint
from linkmotion.studies.card.link import PAD, PADS, PIN_PLATE, SLOT_PLATE
from linkmotion.studies.card.packing import upright
from linkmotion.studies.card.shapes import CARD, HOLE, SLIT, STICK
from linkmotion.studies.card.wheel import BOSS_DISC, SHEAVE, WEB

CARE = (
    "Scissors, knives, awls and the ends of fasteners are sharp: cut away from the hand, on a board, a grown-up with "
    "young classes, nothing small within reach of small children. The model is made to learn from. Its figures guide, "
    "they certify nothing; the engine itself is set by its own rules and by those in charge of it."
)


@dataclass(frozen=True)
class Named:
    """Numbers of the pieces and letters of the joints, as printed on the sheets."""

    numbers: Mapping[str, str]
    letters: Mapping[str, str]

    @classmethod
    def of(cls, model: CardModel) -> Named:
        """Pieces in the order in which they are put on, then what is glued; joints from the board up."""
        names = [*(piece.name for piece in model.moving), *dict.fromkeys(piece.name for piece in model.loose)]
        pins = [joint.name for joint in model.joints if not joint.name.startswith(PEG)]
        return cls({name: f"{i}" for i, name in enumerate(names, 1)}, dict(zip(pins, _letters(), strict=False)))

    def piece(self, name: str) -> str:
        """A piece's number and name."""
        return f"{self.numbers[name]} {name}"


def _letters() -> Iterator[str]:
    plain = [chr(c) for c in range(ord("A"), ord("Z") + 1) if chr(c) not in "IO"]
    yield from plain
    yield from (2 * letter for letter in plain)


def ratio(scale: float) -> str:
    """A scale as it is said.

    Examples
    --------
    >>> ratio(8.0), ratio(2.5)
    ('1:8', '1:2.5')
    """
    return f"1:{scale:g}"


def wanted(model: CardModel, named: Named, sheets: int) -> list[str]:
    """What to have at hand."""
    pins = sum(how(model, joint, named).startswith("fastener") for joint in model.joints)
    pads = any(piece.name.startswith(PAD) for piece in model.loose)
    listed = [
        f'{sheets} sheets of A4, printed at 100 % ("actual size", no fitting to the page). Measure the 100 mm bar at '
        "the foot of a sheet before anything is cut.",
        f"Thin card under the pieces, about {CARD:g} mm thick (a cereal box, or print on card of 250 g); stiff card or "
        "a drawing board under the board.",
        f"{pins} paper fasteners of the small kind: through a {2 * HOLE:g} mm hole, heads not over 8 mm, legs 15 mm or "
        "longer.",
        f"Cocktail sticks ({2 * STICK:g} mm) to guide the gluing and as pegs; a drinking straw cut in slices, or card "
        "washers, as spacers; glue, scissors, a knife for slots, a punch or awl.",
    ]
    if pads:
        listed.append(f"A scrap of corrugated box card about {PADS:g} mm thick for the {_slotted(model)}'s pads.")
    return listed


def _slotted(model: CardModel) -> str:
    """What the gear's slotted part is called: a slide is tilted, a link rocks."""
    slot = model.motion.gear.slot
    return "slide" if slot is not None and slot.works else "link"


def how(model: CardModel, joint: Joint, named: Named) -> str:
    """How a joint is made."""
    if joint.name.startswith(PEG):
        return "a loose peg"
    if WEB in joint.members and any(f"{joint.name} {SHEAVE}" == piece.name for piece in model.loose):
        return "no fastener: the strap turns on its sheave, under the keeper"
    if joint.name == CRANK[2] and len(joint.members) > 2:
        return "no fastener: the big end turns on the boss"
    told = "fastener, head " + ("in front" if model.head_in_front(joint) else "behind")
    gaps = model.spacers(joint)
    if gaps:
        told += "; spacer " + ", ".join(f"{long:.1f} mm on {_under(named, low)}" for low, long in gaps.items())
    return told


def _under(named: Named, low: str) -> str:
    return named.numbers.get(low, "the board")


def stack(model: CardModel, joint: Joint, named: Named) -> str:
    """Pieces of a joint from the board up."""
    order = [piece.name for piece in model.moving if piece.name in joint.members]
    return " + ".join((["board"] if joint.on_board else []) + [named.piece(name) for name in order])


def steps(model: CardModel, named: Named) -> Iterator[str]:
    """How it is put together."""
    names = set(named.numbers)
    yield (
        "Glue the sheets to card and let them dry flat. Cut along the full lines. Punch the crossed circles: large "
        f"ones {2 * HOLE:g} mm for fasteners, small ones {2 * STICK:g} mm for a cocktail stick. Slots are {SLIT:g} mm "
        "wide: cut them with a knife; a fastener must run in them freely from end to end. Hatched places are for glue."
    )
    yield (
        "Board: cut the sheets along the heavy edges, glue each over the hatched edge of its neighbour so that the "
        "lozenges meet, and glue the whole to stiff card. Punch its holes."
    )
    if any(upright(one.piece) is None for one in model.moving):
        yield (
            "Long pieces come in parts: peg the two small holes of each lap with cocktail sticks, glue, and take the "
            "sticks out."
        )
    yield from _wheel_steps(model, named)
    if PIN_PLATE in names:
        pads = " and ".join(sorted(named.numbers[name] for name in names if name.startswith(PAD)))
        yield (
            f"{_slotted(model).capitalize()}: first put the fasteners of {named.piece(PIN_PLATE)} and of "
            f"{named.piece(SLOT_PLATE)} through, their flat heads toward each other. Glue the pads {pads} on the "
            "hatched places of the one plate and the other plate on the pads, cocktail sticks through the small holes: "
            "the heads must pass one another between the plates."
        )
    straps = sorted(int(named.numbers[name]) for name in names if name.startswith("strap"))
    yield (
        f"Straps ({', '.join(map(str, straps))}): each strip runs under its straps; glue only their ends, on the "
        f"hatched places that bear their number.{_high(model, named)}"
    )
    glued = f"the wheel or the {_slotted(model)}" if PIN_PLATE in names else "the wheel"
    yield (
        "Put the pieces on in the order of their numbers, 1 first, and join the holes of one letter as the table says. "
        f"What is glued to {glued} comes on with it: bend its rods aside until their turn comes. Open the legs of a "
        "fastener just so far that the joint still turns freely, and lay them along the piece."
    )
    yield from _reverser_step(model, named)


def _reverser_step(model: CardModel, named: Named) -> Iterator[str]:
    """How the notch is chosen."""
    arms = dict.fromkeys(name for joint in model.joints if joint.name.startswith(PEG) for name in joint.members)
    several = [
        (one.name, hole.pin)
        for one in model.moving
        for hole in one.piece.holes
        if hole.note and hole.pin in named.letters
    ]
    if arms:
        yield (
            f"Reverser: turn {' and '.join(named.piece(name) for name in arms)} until one of its small holes lies over "
            "the hole of the notch wanted, and push a cocktail stick through both."
        )
    elif several:
        piece, pin = several[0]
        yield f"Reversing: move the fastener {named.letters[pin]} to another of its holes in {named.piece(piece)}."


def _high(model: CardModel, named: Named) -> str:
    """Strips that run over other pieces, and by how many thicknesses of card their straps are raised."""
    told = ""
    for _at, name in dict.fromkeys((0, name) for _at, name in model.board.feet):
        layers = round(model.height[name] / CARD)
        if layers:
            thick = "a thickness" if layers == 1 else f"{layers} thicknesses"
            told += f" {named.piece(name)} runs high: put {thick} of card under the feet of its straps."
    return told


def _wheel_steps(model: CardModel, named: Named) -> Iterator[str]:
    if BOSS_DISC not in named.numbers:
        return
    crank = next(joint for joint in model.joints if joint.name == CRANK[2])
    wheel, rod, web = (one.name for one in model.moving if one.name in crank.members)
    yield (
        f"Wheel: push a fastener through the axle hole of {named.piece(wheel)}, head in front, before it is covered. "
        f"Glue the two boss discs ({named.numbers[BOSS_DISC]}) on each other and on the hatched ring, a cocktail stick "
        f"through all three. Lay the big end of {named.piece(rod)} over the boss. Glue {named.piece(web)} on the boss "
        "only, cocktail sticks through its holes into the small holes of the wheel beneath, so that it sits at its "
        "true angle. A fastener whose head is behind it (see the table) goes in before."
    )
    sheaves = [piece.name for piece in model.loose if piece.name.endswith(SHEAVE)]
    if sheaves:
        yield (
            f"Eccentrics ({', '.join(named.piece(name) for name in sheaves)}, two of each): their dashed lines point "
            f"to the crank pin. On {named.piece(web)}, cocktail sticks through both small holes: glue the two sheaves "
            "of the eccentric rod that is put on first, lay its strap round them, glue its keeper on top; then the "
            "other eccentric in the same way."
        )


def to_try(model: CardModel) -> Iterator[str]:
    """What a class may look for, with the program's own figures."""
    side = model.motion.side
    for i, notch in enumerate(side.notches):
        if notch in model.left_out:
            continue
        for direction in side.driven(i):
            ends = side.events[direction]
            cutoff = [ends[end].percent["cutoff"][i] for end in ("front", "back")]
            if np.all(np.isfinite(cutoff)):
                travel = float(side.travel[direction][i]) / model.scale
                yield f"{notch}, running {direction}|{travel:.1f} mm|{cutoff[0]:.0f} %|{cutoff[1]:.0f} %"


_QUESTIONS = (
    "Set the crank on 0. Which port is open, and by how much? That opening is the lead.",
    "Turn on slowly. Where does the port close to steam? Read the piston's scale: that is the cutoff.",
)
_OF_THE_REVERSER = (
    "Bring the reverser nearer mid gear and turn again. What happens to the valve's travel and to the cutoff?",
    "Hold the crank on 0 and move the reverser from end to end. Does the valve move? And with the crank on 90?",
)
_OF_A_SLIP = ("Put the eccentric's pin into its other hole, and turn backward. What has become of lead and cutoff?",)
_OF_PATHS = (
    "Fine lines on the board, with letters, are paths of pins in the first notch of the table: do yours follow them?",
)


def questions(model: CardModel) -> list[str]:
    """What a class may find out."""
    found = [*_QUESTIONS]
    if any(joint.name.startswith(PEG) for joint in model.joints):
        found += _OF_THE_REVERSER
    elif len(model.motion.side.notches) > 1:
        found += _OF_A_SLIP if model.motion.gear.slot is None else ()
    return [*found, *(_OF_PATHS if model.board.paths else ())]
