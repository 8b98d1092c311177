"""States side by side: what ``compare`` says, with its plots."""

from __future__ import annotations

from linkmotion.bench.screen import Answered, Asked, Choice, Plot, Screen
from linkmotion.commands.compare import blocks
from linkmotion.commands.input import telling
from linkmotion.engine import DRAWING, Engine
from linkmotion.sides import SIDE_NAMES, side_words
from linkmotion.studies.compare import compare
from linkmotion.views.printout import Answer, Said

_TITLES = {
    "leads": "Leads", "cutoffs": "Cutoffs", "cutoffs-apart": "Cutoffs, front less back",
    **{f"openings-{side}": f"Openings of the {side_words(side)}" for side in SIDE_NAMES},
}  # fmt: skip


def states_of(asked: Asked) -> tuple[str, ...]:
    """Those that stand side by side; the last is judged."""
    others = dict.fromkeys((asked.options["beside"], asked.options["and"]))
    return (*(name for name in others if name not in ("", asked.state)), asked.state)


def answer(asked: Asked) -> Answered:
    """The verdict on the state, then every figure beside those of the others."""
    states = states_of(asked)
    if len(states) < 2:
        words = "is compared with itself: choose another to stand beside it"
        return Answered((Answer(f"The {asked.state} {words}."), Said("A new state is begun on the engine's side.")))
    with telling(asked.engine, asked.path):
        found = compare(asked.engine, states, progress=asked.stage(0, 2))
    asked.progress(1, 2)
    from linkmotion.views.compare_plots import compared_pictures  # loads matplotlib

    made = list(blocks(asked.engine, found, asked.options["more"] == "yes"))
    drawn = compared_pictures(found, asked.engine)
    plots = [Plot(f"{_TITLES[name.removesuffix('.svg')]}: {', '.join(states)}", svg) for name, svg in drawn.items()]
    return Answered((*made, *plots))


def _others(engine: Engine) -> dict[str, str]:
    return {name: name for name in engine.state_names}


SCREEN = Screen(
    "compare",
    "Side by side",
    "What is different from state to state?",
    answer,
    place=30,
    chooses=("state",),
    choices=(
        Choice("beside", "Beside", lambda engine: {DRAWING: DRAWING} | _others(engine)),
        Choice("and", "And", lambda engine: {"": "no other"} | _others(engine)),
        Choice("more", "Figures", lambda _engine: {"no": "leads and cutoffs", "yes": "every event"}),
    ),
    long=True,
)
