"""Setting advice, printed."""

from __future__ import annotations

from collections.abc import Iterator

from linkmotion.sides import side_words
from linkmotion.studies.setting.foreseen import Foreseen
from linkmotion.views.diagnosis_tables import READING, reading_cells
from linkmotion.views.grid import Column, Grid
from linkmotion.views.printout import OUT, Answer, Aside, Block, Heading, Point
from linkmotion.views.setting_reasons import DEAD_CENTRES
from linkmotion.views.setting_words import Words
from linkmotion.views.tables import CAUTION

_STAGES, _GOALS = 5, 12  # pieces of work shown one by one; targets listed
_ASSUMED = (
    "Assumed: what can be altered, its least steps and limits (common practice, no source); give the file adjustments "
    "of its own."
)
_LEGEND = (
    "Do the work in this order, one piece at a time, and read again after each: the figures under its number are what "
    "should then be read. Of what must be done the valve on its spindle comes last, for everything before it moves it."
)


def advice_blocks(title: str, words: Words, foreseen: list[Foreseen], assumed: bool) -> Iterator[Block]:
    """What to do, what will be read, and the targets that were or are out."""
    answer, *sentences = words.sentences(foreseen)
    yield Answer(_answer(words, answer))
    if words.advice.works:
        yield Heading(f"{title}: work, in order")
        yield Point(DEAD_CENTRES, "0.")
        yield from _work_lines(words)
        yield Aside(_LEGEND)
    else:
        yield Heading(title)
    for sentence in sentences:
        yield Point(sentence.removeprefix(f"{OUT} "), OUT if sentence.startswith(OUT) else "·")
    if assumed:
        yield Point(_ASSUMED)
    if words.hours_assumed and any(advice.works for advice in words.choices.every):
        yield Point(words.hours_assumed)
    yield from _choices_table(words)
    for own in foreseen:
        yield readings_table(words, own)
    yield from _goals_table(words)
    yield Aside(CAUTION)


def _answer(words: Words, told: str) -> str:
    """What to do first, how much more there is, and what comes of it."""
    if not words.advice.works:
        return told
    first, *rest = words.advice.works
    more = f" ({len(rest)} more piece{'s' * (len(rest) > 1)} of work below)" if rest else ""
    need = "if need be, " * first.if_need_be
    done = words.done(first.adjustment, first.steps)
    return f"{words.where(first)[0].upper()}{words.where(first)[1:]}: {need}{done}{more}; {told[0].lower()}{told[1:]}"


def _work_lines(words: Words) -> Iterator[Point]:
    """The work, in order: what to do, and what it gives by itself."""
    for number, work in enumerate(words.advice.works, 1):
        done, by_itself = words.work(work), words.effect(work)
        hours = words.hours(work.adjustment.hours)
        kind = words.kind(work) + (f" ({words.more_than_drawn(work.undoes)})" if work.undoes else "")
        told = f"{words.where(work)}, {kind}, {hours}: {done}. By itself: {by_itself}."
        yield Point(told, f"{number}.")


def _choices_table(words: Words) -> Iterator[Block]:
    """The choices side by side, where they differ; and the work of those that are not told here."""
    every = words.choices.every
    if len(every) == 1:
        return
    columns = [Column("choice", key=True), *map(Column, ("targets\nout", "newly\nout", "pieces\nof work", "hours"))]
    table = Grid(f"Choices (told here: {words.advice.names[0]}; --choice takes another)", columns)
    for own in every:
        figures = (len(own.out(own.held_after)), len(own.newly_out), len(own.works))
        table.row(" and ".join(own.names), *map(str, figures), f"{own.hours:g}", bold=own is words.advice)
    yield table
    for own in every:
        if own is not words.advice:
            works = "; ".join(f"{words.where(work)}: {words.done(work.adjustment, work.steps)}" for work in own.works)
            yield Point(f"{' and '.join(own.names)}: {works or 'nothing is done'}.")


def readings_table(words: Words, own: Foreseen) -> Grid:
    """Readings of a side, and what should be read after each piece of work that alters it."""
    stages, estimated = stages_of(words, own), own.basis == "diagnosis"
    columns = [Column("", left=True), Column("\n".join(own.given.rsplit(" ", 1)))]
    if estimated:
        columns.append(
            Column("\n".join(own.estimated.rsplit(" ", 1)), "once\nmended" if own.mended else "esti-\nmated")
        )
    cold = "cold, " * (own.in_service is not None)
    columns += [Column(f"{cold}after\n{stage}") for stage in stages]
    columns += [Column("in\nservice")] if own.in_service is not None else []
    table = Grid(f"{side_words(own.side)}: what should be read", [*READING, *columns])
    for i, reading in enumerate(own.readings):
        cells = [words.reading(reading, reading.value)]
        cells += [words.reading(reading, float(own.expected[0, i]))] if estimated else []
        cells += [words.reading(reading, float(own.expected[stage, i])) for stage in stages]
        cells += [] if own.in_service is None else [words.reading(reading, float(own.in_service[-1, i]))]
        table.row(*reading_cells(reading), words.unit_of(reading), *cells)
    return table


def stages_of(words: Words, own: Foreseen) -> list[int]:
    """Numbers of the pieces of work that alter a side; the last alone where they are many."""
    found = [n for n, work in enumerate(words.advice.works, 1) if work.adjustment.on(own.side)]
    return found if len(found) <= _STAGES else found[-1:]


def _goals_table(words: Words) -> Iterator[Grid]:
    advice = words.advice
    still = advice.out(advice.held_after)
    listed = [*still, *(k for k in advice.out(advice.held_before) if k not in still)]
    if not listed:
        return
    more = max(len(listed) - max(_GOALS, len(still)), 0)
    now = "once\nmended" if words.once_mended else "as it\nstands"
    heads = ("allowed", now, "after all\nthe work", "doubt\n(95 %)")
    table = Grid(
        f"Targets that are out, {now.replace(chr(10), ' ')} or after" + (f" (worst; {more} more)" if more else ""),
        [Column("target", key=True, shared="{}"), *map(Column, heads)],
    )
    out = set(still)
    for k in listed[: max(_GOALS, len(still))]:
        goal = advice.goals[k]
        doubt = 2 * float(advice.problem.doubt[k])
        allowed, *held = words.held(goal, float(advice.held_before[k]), float(advice.held_after[k]))
        cells = [allowed + "*" * goal.by_drawing, *held]
        cells.append(f"± {words.size(goal.hold.unit, doubt)}" if doubt else "–")
        table.row(words.goal(goal), *cells, bold=k in out)
    yield table
