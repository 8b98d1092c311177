"""Which wear matters? What ``wear`` says, with its plots."""

from __future__ import annotations

from linkmotion.bench.screen import Answered, Asked, Plot, Screen
from linkmotion.commands.input import telling
from linkmotion.commands.wear import WearRequest, blocks
from linkmotion.engine import DRAWING
from linkmotion.studies.which_wear import which_wear
from linkmotion.views.printout import Answer, Said


def answer(asked: Asked) -> Answered:
    """What is off the drawing, by how much it matters, and what renewing it gains."""
    if asked.state == DRAWING:
        first = Answer("The drawing is what wear is compared with: choose a state.")
        return Answered(
            (first, Said("What was measured and what the gauge found is entered in a state, such as as found."))
        )
    sides = asked.sides
    request = WearRequest(asked.path, asked.state, asked.side, drag_known=False)
    results = []
    with telling(asked.engine, asked.path):
        for number, side in enumerate(sides):
            stage = asked.stage(number, len(sides) + 1)
            results.append(which_wear(asked.engine, asked.state, side, progress=stage))
    asked.progress(len(sides), len(sides) + 1)
    made = list(blocks(results, request, asked.engine.unit))
    from linkmotion.views.wear_plots import wear_svg  # loads matplotlib

    head = (asked.engine.name, f"{asked.state}, against the drawing")
    plots = (
        [Plot("Which wear matters", wear_svg(results, asked.engine.unit, head))]
        if any(r.items for r in results)
        else []
    )
    return Answered((*made, *plots))


SCREEN = Screen(
    "wear",
    "What matters",
    "Which wear matters, and what would renewing it gain?",
    answer,
    place=20,
    chooses=("state", "side", "both"),
    long=True,
)
