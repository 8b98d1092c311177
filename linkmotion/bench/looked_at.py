"""Which state, side and notch of an engine an address asks for: those that there are, or the nearest sensible."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.files_beside import WORKED_ON
from linkmotion.bench.screen import Asked, Progress, Screen, untold
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.faults import one_line
from linkmotion.sides import BOTH, sides_meant

_LONGEST = 120  # characters of what is typed to be looked at
_LONGEST_NAME = 250  # characters of a file's name


@dataclass(frozen=True)
class LookedAt:
    """What is looked at, and how a page tells it on.

    Attributes
    ----------
    state, side, notch : str
        By name; a side, or "both" for every one.
    options : dict of str
        The screen's own choices, and what the side's page is told besides.
    """

    state: str
    side: str
    notch: str
    options: Mapping[str, str]

    @property
    def query(self) -> str:
        """As the end of an address, on whichever screen: with the files beside the engine's that are worked on."""
        own = {kind: self.options[kind] for kind in WORKED_ON if self.options.get(kind)}
        return urlencode({"state": self.state, "side": self.side, "notch": self.notch, **own})

    @property
    def whole(self) -> str:
        """The same with the screen's own choices."""
        return urlencode({"state": self.state, "side": self.side, "notch": self.notch, **self.options})


def looked_at(engine: Engine, screen: Screen, asked: Mapping[str, str]) -> LookedAt:
    """What an address asks for; what it does not say, or says wrongly, is as a fitter would begin.

    Parameters
    ----------
    engine, screen, asked
        The engine; the screen; the address's own words.
    """
    states = engine.state_names
    usual = next((name for name in states if name != DRAWING), DRAWING)
    state = asked.get("state", usual)
    state = state if state in states else usual
    side = _side(engine, state, asked.get("side", ""), BOTH in screen.chooses)
    notches = list(engine.side_state(state, sides_meant(side, engine.sides)[0]).notches)
    notch = asked.get("notch", notches[0])
    options = {kind: asked[kind][:_LONGEST_NAME] for kind in WORKED_ON if asked.get(kind)}  # it goes with every address
    for choice in screen.choices:
        offered = choice.values(engine)
        first, chosen = next(iter(offered), ""), asked.get(choice.name, "")
        if choice.typed:
            options[choice.name] = one_line(asked.get(choice.name, first), _LONGEST)
        else:
            options[choice.name] = chosen if chosen in offered else first
    if asked.get("correct") == "yes":
        options["correct"] = "yes"
    return LookedAt(state, side, notch if notch in notches else notches[0], options)


def _side(engine: Engine, state: str, asked: str, every: bool) -> str:
    """A side as asked for, or the first; of one cylinder alone what every side has, unless its state names it."""
    if (
        every
        and len(engine.sides) == 1
        and not (engine.sides_drawn if state == DRAWING else engine.sides[0] in engine.states[state].layers)
    ):
        return BOTH
    return asked if asked in engine.sides or (every and asked == BOTH and len(engine.sides) > 1) else engine.sides[0]


def asked_of(work: EngineAtWork, engine: Engine, at: LookedAt, progress: Progress = untold) -> Asked:
    """The same as a screen is asked."""
    return Asked(work, engine, at.state, at.side, at.notch, at.options, progress)


def offered(engine: Engine, screen: Screen, at: LookedAt) -> list[dict[str, Any]]:
    """A screen's own choices, as a page shows them."""
    return [
        {"name": own.name, "words": own.words, "offered": own.values(engine), "typed": own.typed,
         "chosen": at.options.get(own.name, "")}
        for own in screen.choices
    ]  # fmt: skip
