"""Is it right to bolt up? What ``check`` says, with the report's matrix; and what it is held against."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linkmotion.bench.answering import entered
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.screen import Answered, Asked, Screen
from linkmotion.bench.table_figures import enter
from linkmotion.bench.targets_typed import targets_of
from linkmotion.commands.check import blocks, doubts_of
from linkmotion.commands.input import telling
from linkmotion.files.faults import FileError
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
    told = {
        "matrix": matrix,
        "wanted": asked.engine.targets.lead is not None,
        "several": len(asked.engine.sides) > 1,
        "targets": targets_of(asked.work),
    }
    return Answered(made, told)


def takes(work: EngineAtWork, wish: Mapping[str, Any]) -> Mapping[str, Any]:
    """A target; the answer is then shown anew."""
    match wish:
        case {"do": "figure", "name": str(name), "value": str(value), "seen": int(seen)}:
            change = enter(work, targets_of(work), name, value, seen, "target")
            return entered(work, change, anew=["answer"])
    raise FileError("target", "this cannot be understood", "load the page anew")


SCREEN = Screen(
    "check",
    "Check",
    "Is it right to bolt up?",
    answer,
    place=10,
    chooses=("state", "side", "both"),
    template="check.html",
    takes=takes,
)
