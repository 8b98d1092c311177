"""What the figures are held against, typed on the bench: the file's [targets]."""

from __future__ import annotations

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.table_figures import TableFigure, value_at
from linkmotion.targets import Targets, targets_for

_WORDS = {
    "lead_difference": "Leads may differ between the ends by",
    "cutoff_difference": "Cutoffs may differ between the ends by",
    "side_lead_difference": "Leads may differ between the sides by",
    "side_cutoff_difference": "Cutoffs may differ between the sides by",
    "mid_cutoff_difference": "Cutoffs, where a notch drives neither way, by",
    "lost_motion": "Lost motion at the spindle, at most",
    "lead": "Lead wanted, if it is to be looked at",
    "lead_within": "The lead wanted is to be met within",
}


def targets_of(work: EngineAtWork) -> list[TableFigure]:
    """Every target, as the file has it; one that is not written is as is commonly held."""
    engine, shown = work.must(), work.shown
    usual, made = Targets(), []
    for key, words in ((key, words) for key, words in _WORDS.items() if key in targets_for(engine.sides)):
        percent = "cutoff" in key
        held: float | None = getattr(usual, key)
        unit = "%" if percent else engine.unit
        common = "" if held is None else f"{held:g}" if percent else shown.length(held)
        more = f"commonly {common} {unit}" if common else "not looked at unless given"
        made.append(TableFigure(("targets", key), words, unit, value_at(work, ("targets", key)), more))
    return made
