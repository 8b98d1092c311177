"""What must the shop hold? What ``hold`` says of one notch, with its plots."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linkmotion.bench.answering import entered
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.screen import Answered, Asked, Choice, Plot, Screen
from linkmotion.bench.table_figures import enter, more_of
from linkmotion.bench.tolerances_typed import tolerances_of
from linkmotion.commands.hold import HoldRequest, held
from linkmotion.commands.input import telling
from linkmotion.engine import Engine
from linkmotion.files.faults import FileError
from linkmotion.sides import side_words
from linkmotion.studies.tolerances.spread import SAMPLES
from linkmotion.views.printout import Aside
from linkmotion.views.tolerance_words import hold_blocks

SOUGHT = 4_000
"""Engines made where the loosest set is sought, so that the heaviest gear's is found in some seconds."""


def request_of(asked: Asked) -> HoldRequest:
    """The same as the command is asked it."""
    search = asked.options["seek"] == "loosest"
    samples = SOUGHT if search else SAMPLES
    return HoldRequest(asked.path, asked.state, asked.side, (asked.notch,), samples=samples, search=search)


def answer(asked: Asked) -> Answered:
    """Which share of engines keeps the targets, which tolerances matter, and how wide they may be."""
    request = request_of(asked)
    with telling(asked.engine, asked.path):
        found = held(request, asked.engine, None, lambda _stage: asked.progress)
    from linkmotion.views.tolerance_plots import pictures  # loads matplotlib

    title = f"{asked.engine.name}, {asked.state}"
    blocks = list(hold_blocks(title, found, asked.engine.unit, request.wanted, request.shares, request.setting))
    made = Aside(f"{request.samples:,} engines were made, by a rule of chance that is the same each time.")
    own, of = found.after or found, (asked.engine.name, f"{asked.state}, {side_words(asked.side)}, {asked.notch}")
    drawn = pictures(own.sampled, own.linear, own.kept, asked.engine.unit, of)
    plots = [Plot(_title(name), svg) for name, svg in drawn.items()]
    return Answered((*blocks, made, *plots))


def _title(name: str) -> str:
    """Of a picture, from the name of its file: 01-front-lead-shares.svg."""
    _number, end, *kind, what = name.removesuffix(".svg").split("-")
    told = {"shares": "which tolerances make it", "spread": "how it spreads"}.get(what, what)
    return f"{' '.join(kind).capitalize()} at the {end}: {told}"


def beside(asked: Asked) -> Mapping[str, Any]:
    """Every tolerance as it is written, or what is assumed for it."""
    return {"tolerances": tolerances_of(asked.work, asked.engine, asked.state, asked.side)}


def takes(work: EngineAtWork, wish: Mapping[str, Any]) -> Mapping[str, Any]:
    """A tolerance; what it makes of the events is then told anew."""
    match wish:
        case {"do": "figure", "name": str(name), "value": str(value), "state": str(state),
              "side": str(side), "seen": int(seen)} if _known(work.must(), state, side):  # fmt: skip
            parts = tolerances_of(work, work.must(), state, side)
            part = next((own for own, every in parts.items() if any(each.name == name for each in every)), "")
            change = enter(work, parts.get(part, ()), name, value, seen, f"tolerance of {part}")
            figures = (own for every in tolerances_of(work, work.must(), state, side).values() for own in every)
            return entered(work, change, answer_anew=True, beside=more_of(figures))
    raise FileError("tolerance", "this cannot be understood", "load the page anew")


def _known(engine: Engine, state: str, side: str) -> bool:
    return state in engine.state_names and side in engine.sides


SCREEN = Screen(
    "hold",
    "Tolerances",
    "What must the shop hold?",
    answer,
    place=39,
    chooses=("state", "side", "notch"),
    choices=(
        Choice(
            "seek",
            "Look for",
            lambda _engine: {"present": "what the present ones do", "loosest": "the loosest that will do"},
        ),
    ),
    template="hold.html",
    long=True,
    takes=takes,
    beside=beside,
)
