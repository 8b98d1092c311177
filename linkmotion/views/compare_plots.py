"""Pictures of states side by side: leads and cutoffs notch by notch, and the ports of the notch that changed most."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any

import numpy as np

from linkmotion.engine import Engine
from linkmotion.sides import side_words, sides_words
from linkmotion.studies.compare import Compared
from linkmotion.views.lettering import Head, figure_key
from linkmotion.views.notch_rows import OUT, Rows, Series, plot_cutoffs, plot_cutoffs_apart, plot_leads, said_of
from linkmotion.views.pictures import CURVES
from linkmotion.views.plots import plot_openings
from linkmotion.views.style import FULL, HALF, INK, as_svg, notch_colour, on

_SHAPES = ("o", "s", "D", "^", "v", "p", "h")
_FIRST = "#98917f"


def compared_pictures(result: Compared, engine: Engine) -> dict[str, bytes]:
    """SVG by name: leads, cutoffs, cutoffs of the ends apart, and the openings of each side."""
    sides = [_series(result, number) for number in range(len(result.assessments[0].sides))]
    if _alike(result):
        sides = sides[:1]
    targets, unit = engine.targets, engine.unit
    states = " and ".join(result.states)
    of = (engine.name, f"{states}, {_whose(result, sides)}, every notch")
    drawn = {
        "leads": ("Leads of each state", partial(plot_leads, unit=unit, targets=targets)),
        "cutoffs": ("Cutoffs of each state", partial(plot_cutoffs, targets=targets)),
        "cutoffs-apart": ("Cutoffs, front less back", partial(plot_cutoffs_apart, targets=targets)),
    }
    files = {f"{name}.svg": _abreast(sides, Head(title, of), plot) for name, (title, plot) in drawn.items()}
    return files | dict(_openings(result, engine, sides))


def _alike(result: Compared) -> bool:
    """Whether one side stands for both, in every state."""
    return all(found.alike for found in result.assessments)


def _whose(result: Compared, sides: Sequence[Sequence[Series]]) -> str:
    """The sides that are drawn, in words."""
    names = [series[0].side.side for series in sides]
    return side_words(names[0], alike=True) if _alike(result) else sides_words(names)


def _series(result: Compared, number: int) -> list[Series]:
    """One side in every state, the first grey, the last dark."""
    count = len(result.states)
    return [
        Series(state, found.sides[number], colour=_colour(k, count),
               shape=_SHAPES[k % len(_SHAPES)])
        for k, (state, found) in enumerate(zip(result.states, result.assessments, strict=True))
    ]  # fmt: skip


def _colour(index: int, count: int) -> Any:
    return _FIRST if index == 0 else INK if index == count - 1 else notch_colour(index, count)


def _abreast(sides: Sequence[Sequence[Series]], head: Head, plot: partial[Any]) -> bytes:
    """The sides beside one another on one scale."""

    def draw(axes: Any) -> None:
        flat = np.atleast_1d(axes)
        for ax, series in zip(flat, sides, strict=True):
            plot(series, ax=ax, say=len(sides) == 1)
            ax.set_title(side_words(series[0].side.side) if len(sides) > 1 else "")
        for ax in flat[1:]:
            ax.set(ylabel="", yticklabels=[])
        low, high = (find(end for ax in flat for end in ax.get_xlim()) for find in (min, max))
        for ax in flat:
            ax.set_xlim(low, high)
        if len(flat) > 1:
            apart = plot.func is plot_cutoffs_apart
            said = said_of(sides[0], "within the target", ends=not apart)
            figure_key(flat[0].figure, [*said, ("out of target", OUT)] if apart else said)

    rows, states = len(Rows(sides[0][0].side).names), len(sides[0])
    high = (0.06 + 0.12 * states) * rows + 0.8
    return as_svg(draw, (FULL if len(sides) > 1 else 1.3 * HALF, high), (1, len(sides)), head=head)


def _openings(result: Compared, engine: Engine, sides: Sequence[Sequence[Series]]) -> Iterator[tuple[str, bytes]]:
    """The ports of each side in the notch in which the last state differs most from the first."""
    notch, way = most_changed(result, engine)
    for series in sides:
        first, last = series[0].side, series[-1].side
        which = side_words(last.side, alike=_alike(result))
        of = (engine.name, f"{last.state} against {first.state}, {which}; {last.notches[notch]}, running {way}")
        draw = partial(plot_openings, last, notch, way, engine.unit, against=first)
        head = Head("Ports round the wheel, where most has changed", of)
        yield (
            f"openings-{last.side}.svg",
            as_svg(on(draw), (HALF, 2.35), head=head, margins=CURVES),
        )


def most_changed(result: Compared, engine: Engine) -> tuple[int, str]:
    """Number of the notch, and direction, whose leads and cutoffs have changed most, weighed by their targets."""
    targets = engine.targets

    def weight(row: dict[str, Any]) -> float:
        held = (("lead", targets.lead_difference), ("cutoff_percent", targets.cutoff_difference))
        pairs = [(row[name][0], row[name][-1], within) for name, within in held]
        return max((abs(now - was) / within for was, now, within in pairs if None not in (was, now)), default=0.0)

    row = max(result.rows, key=weight)
    return result.assessments[0].sides[0].notches.index(row["notch"]), row["direction"]
