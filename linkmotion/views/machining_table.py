"""A slot clean-up for a terminal: the proposals side by side, and the events that each gives."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from linkmotion.engine import Targets
from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.studies.slot.cleanup_rows import AS_DRAWN, AS_READ, changes, event_rows, proposal_row, slots_of
from linkmotion.studies.slot.in_gear import SlotInGear
from linkmotion.studies.slot.parts import Limits, Proposal
from linkmotion.views.grid import Column, Grid
from linkmotion.views.machining_words import Figures
from linkmotion.views.printout import OUT
from linkmotion.views.tables import PLACE, Shown

_HAIR = 1e-6  # mm
_MACHINED = (  # what is told, and where it stands in a proposal's row
    ("cut, front face, most", "cut_front_most"),
    ("cut, back face, most", "cut_back_most"),
    ("cut, mean of both", "cut_mean"),
    ("left low, front face", "left_low_front"),
    ("left low, back face", "left_low_back"),
    ("slot finished, width", "slot_width"),
    ("front face, x at mid slot", "ahead_front"),
    ("back face, x at mid slot", "ahead_back"),
    ("lean of both, °", "lean"),
    ("front face, radius", "radius_front"),
    ("back face, radius", "radius_back"),
    ("centre of both, x", "centre_x"),
    ("centre of both, y", "centre_y"),
    ("die block, width", "die_width"),
    ("pin hole ahead of its middle", "die_pin_ahead"),
    ("pin path off the drawn, most", "path_off_drawn"),
    ("… with the hole in the middle", "path_off_drawn_hole_in_middle"),
    ("metal left, front face", "wall_left_front"),
    ("metal left, back face", "wall_left_back"),
)


def proposals_table(work: SlotInGear, title: str, targets: Targets, unit: str) -> Grid:
    """What each proposal takes, leaves and gives; ✗ where a limit, or the target of the ends, is passed.

    Parameters
    ----------
    work, title, targets, unit : SlotInGear, str, Targets, str
        A clean-up in its gear; what stands over it; what it is held against; of lengths.
    """
    show, told = Figures(unit), [proposal_row(work, proposal) for proposal in work.done.proposals]
    names = [*(row["proposal"] for row in told), AS_DRAWN, AS_READ]
    heads = [Column(_stacked(name), _stacked(name, " ")) for name in names]
    first = Column(f"{UNIT_NAMES[unit]}, from the {work.datum}", key=True)
    table = Grid(title, [first, Column("limit"), *heads])
    for words, key in _MACHINED:
        own = [row[key] for row in told]
        if all(value is None for value in own):
            continue
        drawn = {"slot_width": show(work.done.drawing.width)}.get(key, "")
        low, limit = key.startswith("left_low"), _limit(work.done.limits, key)
        sign = "≤" if limit > 0 else "≥"
        allowed = f"{sign} {show(abs(limit))}" if np.isfinite(limit) and limit else ""
        cells = (
            "clean"
            if low and not v
            else "–"
            if v is None
            else f"{f'{OUT} ' * _offends(v, limit)}{_shown(key, v, show)}"
            for v in own
        )
        table.row(words, allowed, *cells, drawn, "")
    for words, *given in _event_cells(work, names, targets, Shown(unit)):
        table.row(words, "", *given)
    return table


def machined(work: SlotInGear, proposal: Proposal, unit: str) -> list[tuple[str, str, str]]:
    """What a proposal takes, leaves and makes: in words, the figure, and what is allowed of it.

    Parameters
    ----------
    work, proposal, unit : SlotInGear, Proposal, str
        One of the clean-up's own; of lengths.
    """
    show, row, found = Figures(unit), proposal_row(work, proposal), []
    for words, key in _MACHINED:
        value = row[key]
        if value is None or key.startswith("left_low") or key.startswith("path_off"):
            continue
        limit = _limit(work.done.limits, key)
        allowed = f"{'≤' if limit > 0 else '≥'} {show(abs(limit))}" if np.isfinite(limit) and limit else ""
        found.append((words, _shown(key, value, show), allowed))
    return found


def _shown(key: str, value: float, show: Figures) -> str:
    return f"{value:.4f}" if key == "lean" else show(value)


def _stacked(name: str, at: str = ", ") -> str:
    """A slot's name over several lines."""
    return name.replace(at, f"{at.rstrip()}\n")


def _limit(limits: Limits, key: str) -> float:
    """What is allowed of a figure; what is wanted of one at least, with its sign turned."""
    if key.startswith("wall_left"):
        return -limits.least_wall
    known = {"cut_front_most": limits.cut_front, "cut_back_most": limits.cut_back}
    return 0.0 if key.startswith("left_low") else known.get(key, np.inf)


def _offends(value: float, limit: float) -> bool:
    return -value > limit + _HAIR if limit < 0 else value > limit + _HAIR if np.isfinite(limit) else False


def _event_cells(work: SlotInGear, names: list[str], targets: Targets, shown: Shown) -> Iterator[list[str]]:
    """Greatest changes of lead and cutoff over the notches, slot by slot."""
    found = {name: changes(work, name) for name in slots_of(work)}
    rows: tuple[tuple[str, str, Callable[[Any], str], float], ...] = (
        ("lead off the drawn, most", "lead_changed", shown.length, np.inf),
        ("lead, front less back, most", "lead_front_against_back", shown.length, targets.lead_difference),
        ("cutoff off the drawn, most, %", "cutoff_percent_changed", shown.percent, np.inf),
        ("cutoff, front less back, %", "cutoff_percent_front_against_back", shown.percent,
         targets.cutoff_difference),
    )  # fmt: skip
    for words, key, show, limit in rows:
        cells = [words]
        for name in names:
            value = found.get(name, {}).get(key, np.nan)
            if np.isnan(value) or (name == AS_DRAWN and key.endswith("changed")):
                cells.append("" if name == AS_DRAWN else "–")
            else:
                cells.append(f"{f'{OUT} ' if abs(value) > limit else ''}{show(value + 0.0)}")
        yield cells


def events_table(work: SlotInGear, unit: str) -> Grid:
    """Lead and cutoff with every slot, notch by notch."""
    slots, shown = slots_of(work), Shown(unit)
    names = list(slots)
    heads = [
        Column(head, short, over=_stacked(name))
        for name in names
        for head, short in ((f"lead\n{unit}", ""), ("cutoff\n%", "cut.\n%"))
    ]
    table = Grid(f"Events with each slot, the valve {next(iter(slots.values())).standing}", [*PLACE, *heads])
    for row in event_rows(work):
        cells = [(shown.length(row["lead"][name]), shown.percent(row["cutoff_percent"][name])) for name in names]
        table.row(row["notch"], row["direction"], row["end"], *(cell for pair in cells for cell in pair))
    return table
