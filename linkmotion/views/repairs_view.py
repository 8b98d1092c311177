"""Repairs weighed: the best set for the hours, what each gains, and what more hours buy."""

from __future__ import annotations

from collections.abc import Iterator

from linkmotion.engine import Engine
from linkmotion.files.lengths import UNIT_NAMES, format_length
from linkmotion.studies.doubts.judged import doubtful
from linkmotion.studies.repairs.choice import Choices, Gain, Weighed
from linkmotion.studies.repairs.weigher import Result, in_order
from linkmotion.views.doubt_words import before_cutting
from linkmotion.views.grid import Column, Grid
from linkmotion.views.printout import OUT, Answer, Aside, Block, Heading, Point, Said
from linkmotion.views.tables import CAUTION, Shown

HOW = (
    "Out: findings out of target. Worst: the greatest difference of leads, cutoffs or lost motion as a multiple of its "
    "target. Lost: lost motion at the spindle. Alone: with what it needs and nothing else. Per 10 h: what is mended in "
    "ten hours of it. Best less it: the best set without it and what needs it."
)


def letters_of(engine: Engine) -> dict[str, str]:
    """A letter for each repair, in the order of the file."""
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    names = list(engine.repairs)
    return {name: alphabet[i] if i < 26 else f"A{alphabet[i - 26]}" for i, name in enumerate(names)}


def repairs_blocks(engine: Engine, state: str, standing: str, found: Choices, hours: float | None) -> Iterator[Block]:
    """All of it, the answer first."""
    shown, letters = Shown(engine.unit), letters_of(engine)
    yield Answer(answer(engine, found, hours))
    first = None if found.before.result is None else doubtful(found.before.result.assessment)
    if told := before_cutting(first, shown):
        yield Point(told, OUT)
    yield Heading(f"{engine.name}: {state}, {standing}; lengths in {UNIT_NAMES[engine.unit]}")
    for name, own in engine.repairs.items():
        yield Point(f"{name} ({own.hours:g} h): {own.what}", letters[name])
    yield _gains(engine, found, shown, letters)
    yield _sets(engine, found, shown, letters)
    yield Said(exactness(found))
    yield Aside(HOW)
    yield Aside(CAUTION)


def answer(engine: Engine, found: Choices, hours: float | None) -> str:
    """The answer in a sentence or two."""
    best, before = found.best, found.before
    within = "" if hours is None else f"With {hours:g} h: "
    if best.result is None or before.result is None:
        return f"{within}the gear cannot be put together before these repairs are done; choose one that mends that."
    if not best.chosen:
        return f"{within}no repair gains anything; {before.result.out} of the targets are out."
    names = ", ".join(in_order(engine.repairs, best.chosen))
    words = f"{within}{names} ({best.hours:g} h)"
    left = "none" if best.result.out == 0 else str(best.result.out)
    remain = "remains" if best.result.out == 1 else "remain"
    lost = [format_length(own.lost, engine.unit) for own in (before.result, best.result)]
    return (
        f"{words}: of {before.result.out} findings out of target {left} {remain}, the worst at {best.result.worst:.2f} "
        f"of its target ({before.result.worst:.2f} now); lost motion {lost[0]} to {lost[1]}."
    )


def exactness(found: Choices) -> str:
    """How surely the best is the best."""
    if found.exact_up_to is None:
        return f"All {found.weighed} sets that can be done were weighed: none is better."
    return (
        f"{found.weighed} sets were weighed: every one of up to {found.exact_up_to} repairs, and larger ones grown "
        f"from the best of those. A better set of more than {found.exact_up_to} may exist; no set whatever leaves "
        f"fewer than {found.least_out} out."
    )


def _gains(engine: Engine, found: Choices, shown: Shown, letters: dict[str, str]) -> Grid:
    heads = ["needs", "h", "out", "worst", f"lost\n{shown.unit}", "mended\nper 10 h", "lost less\nper 10 h"]
    columns = [Column("repair", key=True), *map(Column, heads)]
    columns += [Column(head, over="best less it", spare=1) for head in ("out", "worst")]
    grid = Grid("What each gains alone", columns)
    grid.row("none", "", "0", *_cells(found.before.result, shown), "", "", "", "")
    for own in found.gains:
        needs = "".join(letters[name] for name in own.whole if name != own.name)
        chosen = own.name in found.best.chosen
        less = ("–", "–") if chosen and own.without is None else ("", "")
        if own.without is not None:
            less = (str(own.without.out), f"{own.without.worst:.2f}")
        row = (
            letters[own.name],
            needs,
            f"{own.hours:g}",
            *_cells(own.alone, shown),
            *per_ten_hours(own, found, shown),
            *less,
        )
        grid.row(*row, bold=chosen)
    return grid


def per_ten_hours(own: Gain, found: Choices, shown: Shown) -> tuple[str, str]:
    """Findings mended, and lost motion taken away, in ten hours of a repair and what it needs."""
    if own.alone is None or found.before.result is None or not own.hours:
        return "", ""
    mended, less = found.before.result.out - own.alone.out, found.before.result.lost - own.alone.lost
    return f"{10 * mended / own.hours:.1f}", shown.length(10 * less / own.hours)


def _cells(result: Result | None, shown: Shown) -> tuple[str, str, str]:
    if result is None:
        return "–", "–", "–"
    return str(result.out), f"{result.worst:.2f}", shown.length(result.lost)


def _sets(engine: Engine, found: Choices, shown: Shown, letters: dict[str, str]) -> Grid:
    columns = [Column("h", key=True), *(Column(head) for head in ("cost", f"metal\n{shown.unit}", "repairs", "out"))]
    grid = Grid("What more hours buy", [*columns, Column("worst"), Column(f"lost\n{shown.unit}")])
    for own in found.cheapest:
        row = (f"{own.hours:g}", f"{own.cost:g}", shown.length(own.metal), set_letters(engine, own, letters))
        grid.row(*row, *_cells(own.result, shown), bold=own.chosen == found.best.chosen)
    return grid


def set_letters(engine: Engine, own: Weighed, letters: dict[str, str]) -> str:
    """A set by its letters, in order of work."""
    return " ".join(letters[name] for name in in_order(engine.repairs, own.chosen)) or "–"
