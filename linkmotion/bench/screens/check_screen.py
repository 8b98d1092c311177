"""Is it right to bolt up? What ``check`` says, with the report's matrix."""

from __future__ import annotations

from linkmotion.bench.screen import Answered, Asked, Screen
from linkmotion.commands.check import blocks, doubts_of
from linkmotion.commands.input import telling
from linkmotion.studies.standing import how_it_stands
from linkmotion.views.report_matrix import matrix_of
from linkmotion.views.request import Request


def answer(asked: Asked) -> Answered:
    """The verdict, every figure that has a target at one glance, and the events."""
    request = Request(asked.path, (asked.state,), asked.side, output="tables")
    with telling(asked.engine, asked.path):
        found = [how_it_stands(asked.engine, asked.state, asked.sides)]
    made = list(blocks(request, asked.engine, found, doubts_of(asked.engine, found)))
    matrix = matrix_of(found[0].stands.assessment, asked.shown)
    return Answered(made, {"matrix": matrix, "wanted": asked.engine.targets.lead is not None})


SCREEN = Screen(
    "check",
    "Check",
    "Is it right to bolt up?",
    answer,
    place=10,
    chooses=("state", "side", "both"),
    template="check.html",
)
