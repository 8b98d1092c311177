"""Setting advice, printed."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from linkmotion.studies.setting.foreseen import Foreseen
from linkmotion.views.setting_words import Words
from linkmotion.views.tables import CAUTION, bare_table, wide_console

_STAGES, _GOALS = 5, 12  # pieces of work shown one by one; targets listed
_LEGEND = (
    "Do the work in this order, one piece at a time, and read again after each: the figures under its number are what "
    "should then be read. Of what must be done the valve on its spindle comes last, for everything before it moves it."
)


def print_advice(title: str, words: Words, foreseen: list[Foreseen], assumed: bool) -> None:
    """Print what to do, what will be read, and the targets that were or are out."""
    console = wide_console(124)
    console.print(title, style="bold", markup=False)
    for line in words.sentences(foreseen):
        console.print(f" · {line}", markup=False, soft_wrap=True)
    if assumed:
        told = (
            "assumed: what can be altered, its least steps and limits (common practice, no source); give [adjustments]"
        )
        console.print(f" · {told}", markup=False, soft_wrap=True)
    if words.advice.works:
        console.print(work_table(words))
    for own in foreseen:
        console.print(readings_table(words, own))
    _print_goals(console, words)
    if words.advice.works:
        console.print(_LEGEND, markup=False)
    console.print(CAUTION, style="dim", markup=False)


def work_table(words: Words) -> Table:
    """The work, in order."""
    table = bare_table("Work, in order")
    table.add_column("", justify="right")
    table.add_column("side", no_wrap=True)
    table.add_column("do", ratio=3)
    table.add_column("by itself it gives", ratio=4)
    for number, work in enumerate(words.advice.works, 1):
        side = work.adjustment.side
        table.add_row(str(number), side, escape(words.work(work)), escape(words.effect(work)))
    return table


def readings_table(words: Words, own: Foreseen) -> Table:
    """Readings of a side, and what should be read after each piece of work that alters it."""
    stages = stages_of(words, own)
    table = bare_table(f"{own.side} side: what should be read")
    table.add_column("reading")
    table.add_column("", no_wrap=True)
    table.add_column("read" if own.basis != "state" else "by the\nfile", justify="right", no_wrap=True)
    if own.basis == "diagnosis":
        table.add_column("gear as\nestimated", justify="right", no_wrap=True)
    for stage in stages:
        table.add_column(f"after\n{stage}", justify="right", no_wrap=True)
    for i, reading in enumerate(own.readings):
        cells = [words.reading(reading, reading.value)]
        cells += [words.reading(reading, float(own.expected[0, i]))] if own.basis == "diagnosis" else []
        cells += [words.reading(reading, float(own.expected[stage, i])) for stage in stages]
        table.add_row(escape(str(reading)), words.unit_of(reading), *cells)
    return table


def stages_of(words: Words, own: Foreseen) -> list[int]:
    """Numbers of the pieces of work that alter a side; the last alone where they are many."""
    found = [n for n, work in enumerate(words.advice.works, 1) if work.adjustment.on(own.side)]
    return found if len(found) <= _STAGES else found[-1:]


def _print_goals(console: Console, words: Words) -> None:
    advice = words.advice
    still = advice.out(advice.held_after)
    listed = [*still, *(k for k in advice.out(advice.held_before) if k not in still)]
    if not listed:
        return
    more = max(len(listed) - max(_GOALS, len(still)), 0)
    table = bare_table("Targets that are out, as it stands or after" + (f" (worst; {more} more)" if more else ""))
    table.add_column("target")
    for head in ("allowed", "as it\nstands", "after all\nthe work", "doubt\n(95 %)"):
        table.add_column(head, justify="right", no_wrap=True)
    out = set(still)
    for k in listed[: max(_GOALS, len(still))]:
        goal = advice.goals[k]
        doubt = 2 * float(advice.problem.doubt[k])
        cells = [words.size(goal.hold.unit, goal.limit)]
        cells += [words.held(goal, float(held[k])) for held in (advice.held_before, advice.held_after)]
        cells.append(f"± {words.size(goal.hold.unit, doubt)}" if doubt else "–")
        table.add_row(escape(words.goal(goal)), *cells, style="bold" if k in out else "")
    console.print(table)
