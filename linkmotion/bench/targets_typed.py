"""What the figures are held against, typed on the bench: the file's [targets]."""

from __future__ import annotations

from dataclasses import dataclass

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import GONE, as_typed, figure_at, typed
from linkmotion.files.journal import Change
from linkmotion.targets import Targets

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


@dataclass(frozen=True)
class Target:
    """One target: its key, words and unit, what was written for it, and what holds where nothing was."""

    key: str
    words: str
    unit: str
    value: str
    usual: str


def targets_of(work: EngineAtWork) -> list[Target]:
    """Every target, as the file has it."""
    engine, shown = work.must(), work.shown
    usual, made = Targets(), []
    for key, words in _WORDS.items():
        percent = "cutoff" in key
        held: float | None = getattr(usual, key)
        common = "" if held is None else f"{held:g}" if percent else shown.length(held)
        value = typed(figure_at(work.document, ("targets", key)))
        made.append(Target(key, words, "%" if percent else engine.unit, value, common))
    return made


def enter_target(work: EngineAtWork, key: str, value: str, seen: int) -> Change | None:
    """Write one target; one that is left empty is as is commonly held.

    Raises
    ------
    FileError
        There is no such target, or it cannot be what was typed; the file is as it was.
    """
    if key not in _WORDS:
        raise FileError(key, "there is no such target", "load the page anew")
    place, entered = ("targets", key), as_typed(value) if value.strip() else GONE
    words = f"target: {_WORDS[key].lower()} {value.strip() or 'what is common'}"
    return work.change_figure(place, entered, words, seen, key)
