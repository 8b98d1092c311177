"""Marks on the wheel that the telephone's page asks for: made by the trammel, two to a pair, about a dead centre."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from linkmotion.files.readings_form import Asked
from linkmotion.files.readings_method import NOT_NOTED
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.setting.tram_marks import BACKWARD, FORWARD, TOWARD
from linkmotion.studies.wheel_places import wheel_place
from linkmotion.valve import ENDS
from linkmotion.views.phone.asked_for import Screen
from linkmotion.views.tram_view import TURNED_WORDS

MARK = "mark"
_PAIRS = 2  # of each end, as the form for marks has them
_AWAY = 18.0  # degrees from the dead centre: where the crosshead moves fast enough for its line to be told
_STANDS = (
    "Crosshead on its line, short of {} dead centre: mark the tyre by the trammel.",
    "Crosshead back on that line, past {} dead centre: mark the tyre again.",
)
_TURNED = {
    NOT_NOTED: ("Say how the wheel is turned to it.",) * 2,
    FORWARD: ("Come to it turning forward.", "Turn on forward to it."),
    BACKWARD: ("Turn on backward: this is made second.", "Come to it turning backward: this is made first."),
    TOWARD: ("Come to it turning forward.", "Turn on well past it, and come back to it."),
}
_HOW = "Along the tyre from a datum mark, as marks come to the trammel running forward."


@dataclass(frozen=True)
class MarkScreen(Screen):
    """One mark of a pair: ``pair`` from 0, ``which`` 0 or 1."""

    pair: int = 0
    which: int = 0

    @property
    def key(self) -> str:
        """By which the page keeps it."""
        return f"{MARK} {self.pair} {self.which}"

    @property
    def title(self) -> str:
        """Which mark of which pair."""
        return f"{self.end.capitalize()} dead centre, pair {self.pair + 1}: {('first', 'second')[self.which]} mark"


def mark_screens(side: SideEvents) -> list[MarkScreen]:
    """A screen for each mark, a pair of each end first, then the same again."""
    notch = side.notches[0]
    return list(_of_pairs(side, notch))


def _of_pairs(side: SideEvents, notch: str) -> Iterator[MarkScreen]:
    for number in range(_PAIRS):
        for place, end in enumerate(ENDS):
            dead = wheel_place(side, notch, MARK, FORWARD, end)
            pair = len(ENDS) * number + place
            for which, away in enumerate((-_AWAY, _AWAY)):
                wheel = replace(dead, angle=(dead.angle + away) % 360)
                yield MarkScreen(-1, "", side.side, Asked(notch, MARK, FORWARD), end, wheel, pair, which)


def mark_data(screens: list[MarkScreen], lengths: list[str], first: int) -> dict[str, Any]:
    """What the page's scripts are told of them: steps, and the pairs that they make.

    Parameters
    ----------
    screens, lengths, first : list of MarkScreen, list of str, int
        As asked for; units of a length; the number of the first among the drawings.

    Returns
    -------
    dict
        "steps", "pairs", and "ways": how the wheel may have been turned, with its words; the first until it is said.
    """
    tyre = {
        "key": "tyre", "title": "Diameter of the tyre", "of": "wheel marks", "stands": "Where the marks are made.",
        "how": "Over the tyre, or its length round by a tape, less what the tape is thick, over 3.1416.",
        "units": lengths,
    }  # fmt: skip
    steps = [
        {"key": own.key, "title": own.title, "of": side_words(own.side), "notch": own.own.notch,
         "stands": _STANDS[own.which].format(own.end), "how": _HOW, "pair": own.pair,
         "turned": {way: words[own.which] for way, words in _TURNED.items()}, "units": lengths, "drawn": first + number}
        for number, own in enumerate(screens)
    ]  # fmt: skip
    pairs = [
        {"number": own.pair, "end": own.end, "marks": [own.key, f"{MARK} {own.pair} 1"]}
        for own in screens
        if own.which == 0
    ]
    return {"steps": [tyre, *steps], "pairs": pairs, "ways": list(TURNED_WORDS.items())}
