"""The engine's side: the drawing, its figures to be entered, and what follows from them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from linkmotion.bench.figures_of_parts import layer_words, parts
from linkmotion.bench.quadrant import quadrant
from linkmotion.bench.screen import Answered, Asked, Screen
from linkmotion.engine import AS_IT_STANDS, DRAWING
from linkmotion.engine_layers import layer_at
from linkmotion.files.faults import FileError
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.standing import Stand
from linkmotion.valve import ENDS
from linkmotion.views.standing_words import told_of
from linkmotion.views.tables import Shown


def answer(asked: Asked) -> Answered:
    """The figures of every part, and how the state stands with them."""
    told = followed(asked)
    told["parts"] = parts(asked.work, asked.state, asked.side)
    told["layer"] = layer_words(layer_at(asked.state, asked.side), asked.engine)
    told["is_drawing"] = asked.state == DRAWING
    told["drawn_alike"] = not asked.engine.sides_drawn
    told["correcting"] = asked.options.get("correct") == "yes"
    return Answered((), told)


def followed(asked: Asked, tried: Stand | None = None) -> dict[str, Any]:
    """What follows from the figures as they are: the verdict, the notch's figures, or why it cannot be turned.

    Parameters
    ----------
    asked : Asked
        The state, side and notch.
    tried : Stand, optional
        How the state would stand with a figure that is only tried; before is then as it stands.
    """
    try:
        stand = tried or asked.work.stand(asked.state)
    except FileError as error:
        return {"fault": error, "verdict": "", "out": True, "rows": [], "drives": "", "was_known": False,
                "quadrant": None}  # fmt: skip
    shown, side = asked.shown, asked.sides[0]
    before = _before(asked) if tried is None else _stand(asked, asked.state)
    drawn = _stand(asked, DRAWING) if asked.state != DRAWING else None
    own = next(each for each in stand.assessment.sides if each.side == side)
    number = own.notches.index(asked.notch)
    return {
        "fault": None,
        "whose": side_words(side),
        "verdict": f"{asked.state}, {AS_IT_STANDS}: {told_of(stand, shown)}.",
        "out": bool(stand.out),
        "rows": list(_rows(own, number, _of(before, side), _of(drawn, side), shown)),
        "drives": own.drives[number],
        "quadrant": quadrant(own, asked.notch),
        "was_known": before is not None,
        "drawn_known": drawn is not None,
    }


def _stand(asked: Asked, state: str) -> Stand | None:
    try:
        return asked.work.stand(state)
    except FileError:
        return None


def _before(asked: Asked) -> Stand | None:
    """How the state stood before the last change, where that is at hand."""
    journal = asked.work.kept.journal
    if journal.number < 1 or len(journal.changes) < 2:
        return None
    return asked.work.stood(asked.state, journal.changes[-1].before)


def _of(stand: Stand | None, side: str) -> SideEvents | None:
    return None if stand is None else next(own for own in stand.assessment.sides if own.side == side)


def _rows(
    own: SideEvents, number: int, was: SideEvents | None, drawn: SideEvents | None, shown: Shown
) -> Iterator[dict[str, Any]]:
    """Leads and cutoffs of a notch, beside what they were, and what the drawing has."""
    notch = own.notches[number]
    for way in own.driven(number):
        for end in ENDS:
            for what, unit in (("lead", shown.unit), ("cutoff", "%")):
                value = _value(own, notch, way, end, what)
                before, plan = (
                    None if other is None else _value(other, notch, way, end, what) for other in (was, drawn)
                )

                def told(figure: float | None, length: bool = what == "lead") -> str:
                    return shown.length(figure) if length else shown.percent(figure)

                yield {
                    "way": way, "end": end, "what": what, "unit": unit, "now": told(value),
                    "was": told(before) if was is not None else "",
                    "drawn": told(plan) if drawn is not None else "",
                    "moved": was is not None and told(before) != told(value),
                }  # fmt: skip


def _value(side: SideEvents, notch: str, way: str, end: str, what: str) -> float | None:
    if notch not in side.notches:
        return None
    number, own = side.notches.index(notch), side.events[way][end]
    value = float(own.lead[number] if what == "lead" else own.percent["cutoff"][number])
    return None if value != value else value


SCREEN = Screen(
    "side",
    "The engine's side",
    "What does it measure, and what follows?",
    answer,
    place=0,
    chooses=("state", "side", "both", "notch"),
    template="side.html",
)
