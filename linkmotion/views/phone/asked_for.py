"""What the telephone's page asks for: a screen for each figure, in the order in which the wheel comes to them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from linkmotion.engine import DRAWING
from linkmotion.files.readings_form import Asked, asked
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.wheel_places import WheelPlace, in_one_turn, wheel_place
from linkmotion.valve import ENDS
from linkmotion.views.readings_sheet import HOW_READ

_SIGNED = {"lead": "−: it still overlaps", "die height": "−: below"}
"""Kinds that may be less than nothing, and what that means."""
ROW = "    { "
"""How a row of the form begins."""


@dataclass(frozen=True)
class Screen:
    """One figure to be read.

    Attributes
    ----------
    line, cell : int, str
        Where it goes in the form: number of the line from 0, and "front", "back" or "reads".
    side, own, end : str, Asked, str
        Of which side; what is asked for; at which end, or "".
    wheel : WheelPlace
        Where the wheel stands.
    """

    line: int
    cell: str
    side: str
    own: Asked
    end: str
    wheel: WheelPlace

    @property
    def title(self) -> str:
        """Kind and end, and in which direction of running, where it is asked for."""
        running = f", running {self.own.direction}" if self.own.direction else ""
        return f"{f'{self.end} {self.own.kind}'.strip().capitalize()}{running}"

    @property
    def sign(self) -> str:
        """What a minus sign means; "" where there is none."""
        return _SIGNED.get(self.own.kind, "")

    def stands(self, side: SideEvents) -> str:
        """Where the wheel is to stand, in words."""
        drawn = "as drawn" if side.state == DRAWING else f"as in “{side.state}”"
        wheel, about = self.wheel, f"crank about {self.wheel.angle:.0f}° past front dead centre {{}}"
        match self.own.kind:
            case "lead":
                return f"Wheel on {self.end} dead centre, come up to running {wheel.direction}."
            case "opening":
                return f"Turn {wheel.direction} to the greatest opening: {about.format(drawn)}."
            case "cutoff" if wheel.found:
                return f"Turn {wheel.direction} until the {self.end} port just closes: {about.format(drawn)}."
            case "cutoff":
                return f"Turn {wheel.direction} until the {self.end} port just closes; {drawn} it does not."
        return "Wheel on front dead centre."

    def how(self, side: SideEvents) -> str:
        """What is read, in the words of the readings sheet."""
        words = HOW_READ[self.own.kind].format(die=side.gear.die_read)
        return f"{words[0].upper()}{words[1:]}."


def screens(sides: Sequence[SideEvents], notches: tuple[str, ...], form_text: str) -> list[Screen]:
    """A screen for each figure of a form.

    Parameters
    ----------
    sides : sequence of SideEvents
        Those that are read, each as its own gear has it.
    notches, form_text : tuple of str, str
        As for :func:`linkmotion.files.readings_form.form`, which made the text by the first of them.
    """
    rows = iter([number for number, line in enumerate(form_text.split("\n")) if line.startswith(ROW)])
    found: list[Screen] = []
    for side in sides:
        own = list(_of_side(side, asked(sides[0], notches), rows))
        found += [own[number] for number in in_one_turn(screen.wheel for screen in own)]
    return found


def _of_side(side: SideEvents, asked_for: Iterable[Asked], rows: Iterator[int]) -> Iterator[Screen]:
    for own in asked_for:
        line = next(rows)
        for end in ENDS if own.ended else ("",):
            wheel = wheel_place(side, own.notch, own.kind, own.direction, end)
            yield Screen(line, end or "reads", side.side, own, end, wheel)
