"""Readings carried back beside those that are there, in a sentence and as a table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from linkmotion.sides import side_words
from linkmotion.studies.carried_back import CONTRADICTS, KEPT, NEW, SAME, Met
from linkmotion.studies.figures.figure import MM, PERCENT, Reading
from linkmotion.views.grid import Column, Grid
from linkmotion.views.printout import OUT, Answer, Block, Point
from linkmotion.views.tables import Shown

_ORDER = (CONTRADICTS, NEW, SAME, KEPT)


def carried_words(found: Sequence[Met], shown: Shown) -> Iterator[Block]:
    """The answer first; then what contradicts, each in words; then every figure, what contradicts before what is new.

    Parameters
    ----------
    found : sequence of Met
        Of :func:`linkmotion.studies.carried_back.met`.
    shown : Shown
        How lengths are shown.
    """
    count = {verdict: sum(own.verdict == verdict for own in found) for verdict in _ORDER}
    brought = sum(own.brought is not None for own in found)
    told = f"{brought} figure{'s were' if brought != 1 else ' was'} carried back: {count[NEW]} new, {count[SAME]} as "
    told += f"they are there, {count[CONTRADICTS]} that contradict{'s' if count[CONTRADICTS] == 1 else ''}."
    yield Answer(told)
    for own in found:
        if own.verdict == CONTRADICTS:
            assert own.kept is not None
            apart = f"{_figure(own.kept, abs(own.apart), shown)} apart, {_figure(own.kept, own.allowed, shown)}"
            yield Point(f"{side_words(own.either.side)}, {own.either}: {apart} would be within both doubts.", OUT)
    grid = Grid(
        "What was read, beside what is there",
        [Column("side", key=True), Column("figure", key=True), Column("there"), Column("carried back"),
         Column("is", key=True)],
    )  # fmt: skip
    for own in sorted(found, key=lambda own: _ORDER.index(own.verdict)):
        cells = (_with_doubt(each, shown) for each in (own.kept, own.brought))
        grid.row(own.either.side, str(own.either), *cells, own.verdict, bold=own.verdict == CONTRADICTS)
    yield grid


def _with_doubt(own: Reading | None, shown: Shown) -> str:
    return "–" if own is None else f"{_figure(own, own.value, shown, False)} ± {_figure(own, 2 * own.sigma, shown)}"


def _figure(own: Reading, value: float, shown: Shown, unit: bool = True) -> str:
    if own.unit == MM:
        return f"{shown.length(value)}{f' {shown.unit}' if unit else ''}"
    return f"{value:.2f}{(' %' if own.unit == PERCENT else '°') if unit else ''}"
