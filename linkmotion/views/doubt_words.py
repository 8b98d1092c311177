"""Doubts to the end: which targets are met as surely as 19 in 20, and what to measure better."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from linkmotion.events import EVENTS
from linkmotion.files.lengths import UNITS, format_length
from linkmotion.sides import SIDE_NAMES, side_words
from linkmotion.studies.doubts.event_doubts import EventDoubts
from linkmotion.studies.doubts.judged import OUT, UNTOLD, WITHIN, Better, DoubtfulState, Judged
from linkmotion.studies.figures.figure import Figure, end_figure
from linkmotion.studies.figures.play import LOST
from linkmotion.valve import ENDS
from linkmotion.views.finding_words import dimension_in_words, where
from linkmotion.views.grid import Column, Grid
from linkmotion.views.printout import Answer, Block, Point, Said
from linkmotion.views.tables import PLACE, Shown
from linkmotion.views.taken_words import with_doubt

_MOST = 4  # of what cannot be told, in words
_KINDS = ("lead", *EVENTS, "opening")


def doubt_verdict(state: str, standing: str, found: DoubtfulState) -> Answer:
    """How many targets are met as surely as 19 in 20, how many passed as surely, and how many cannot be told."""
    return Answer(f"{state}, {standing}, {surely(found)}")


def surely(found: DoubtfulState) -> str:
    """The same of a state that has been named, in a sentence."""
    counts = {told: len(found.of(told)) for told in (WITHIN, OUT, UNTOLD)}
    head, what = "as surely as 19 in 20: ", _judged(found)
    if counts[WITHIN] == len(found.judged):
        return f"{head}{what} within their targets."
    told = [f"{counts[WITHIN]} of {len(found.judged)} targets of {what} within", f"{counts[OUT]} out"]
    return f"{head}{', '.join(told)}; {counts[UNTOLD]} cannot be told."


def _judged(found: DoubtfulState) -> str:
    """What the targets are of."""
    lost = any(own.finding.what == LOST for own in found.judged)
    return "leads, cutoffs and lost motion" if lost else "leads and cutoffs"


def doubts_in_all(found: DoubtfulState, shown: Shown) -> str:
    """The same after the greatest doubts of leads and cutoffs, where they cannot stand at each."""
    most = dict.fromkeys(("lead", "cutoff"), 0.0)
    for own in found.doubts.values():
        for figure in own.model.figures:
            if figure.kind in most:
                most[figure.kind] = max(most[figure.kind], own.doubt(figure))
    leads, cutoffs = _doubt("lead", most["lead"], shown), _doubt("cutoff", most["cutoff"], shown)
    told = surely(found)
    return (
        f"Doubts by how its figures were taken: leads within ± {leads} {shown.unit}, cutoffs within ± {cutoffs} % at "
        f"the notches; {told}"
    )


def doubt_words(doubts: EventDoubts | None, figure: Figure, shown: Shown) -> str:
    """A figure's doubt, such as ``± 0.20``; "" where it has none.

    Parameters
    ----------
    doubts, figure, shown : EventDoubts or None, Figure, Shown
        Of the figure's side; which figure; how lengths are told.
    """
    if doubts is None or figure not in doubts.model.figures or not (doubt := doubts.doubt(figure)):
        return ""
    words = _doubt(figure.kind, doubt, shown)
    least = f"{words[:-1]}1"
    return f"± {words}" if any(sign in "123456789" for sign in words) else f"± < {least}"


def untold(found: DoubtfulState, shown: Shown) -> Iterator[Said | Point]:
    """What cannot be told, the worst first, and what to measure better before metal is cut for it."""
    those = sorted(found.of(UNTOLD), key=lambda own: -own.doubt / own.finding.limit)
    if not those:
        return
    yield Said("Not to be told with the doubts of these figures:")
    for own in those[:_MOST]:
        yield Point(f"{where(own.finding)}: {_size(own, shown)}: {_advice(own, shown)}")
    if len(those) > _MOST:
        yield Said(f"And {len(those) - _MOST} more (--json has them).")


def before_cutting(found: DoubtfulState | None, shown: Shown) -> str:
    """What to measure better before metal is cut, in a sentence; "" where all can be told.

    Parameters
    ----------
    found, shown : DoubtfulState or None, Shown
        None where no doubts are known.
    """
    those = [] if found is None else sorted(found.of(UNTOLD), key=lambda own: -own.doubt / own.finding.limit)
    if found is None or not those:
        return ""
    told = f"{len(those)} of {len(found.judged)} targets of {_judged(found)} cannot be told as surely as 19 in 20"
    finest: dict[str, Better] = {}
    for one in (one for own in those for one in own.better):
        if one.dimension not in finest or one.to < finest[one.dimension].to:
            finest[one.dimension] = one
    if not finest:
        return f"Before metal is cut: with the doubts of these figures {told}, and no measuring would tell them."
    words = ", ".join(better_words([*finest.values()][:_MOST], shown))
    return f"Before metal is cut, measure better: {words}; with the doubts of these figures {told}."


def _size(judged: Judged, shown: Shown) -> str:
    finding = judged.finding
    if finding.unit == "mm":
        size = with_doubt(finding.size, judged.doubt, "mm", shown)
        allowed = format_length(finding.limit, shown.unit, fraction_of=shown.fraction_of)  # as findings tell it
        return f"{LOST} {size}, {allowed} allowed" if finding.what == LOST else f"leads {size} apart, {allowed} allowed"
    return f"cutoffs {finding.size:.1f} ± {judged.doubt:.1f} % apart, {finding.limit:.1f} allowed"


def _advice(judged: Judged, shown: Shown) -> str:
    if not judged.better:
        return "too near its target to be told by measuring"
    return "measure " + " and ".join(better_words(judged.better, shown))


def better_words(better: Iterable[Better], shown: Shown) -> list[str]:
    """What to measure better, each with the doubt that is enough.

    Parameters
    ----------
    better, shown : iterable of Better, Shown
        What; how lengths are told.
    """
    return [f"{_named(one.dimension)} to {_to(one, shown)}" for one in better]


def _named(dimension: str) -> str:
    """A dimension in words, and after it the side of which alone it is."""
    side, _, own = dimension.partition(" ")
    return f"{dimension_in_words(own)} ({side})" if side in SIDE_NAMES else dimension_in_words(dimension)


def _to(better: Better, shown: Shown) -> str:
    """A doubt in the reader's unit, two figures of it, cut so that it is enough."""
    scale, mark = (float(UNITS[shown.unit]), f" {shown.unit}") if better.unit == "mm" else (1.0, "°")
    size = better.to / scale
    places = max(1 - math.floor(math.log10(size)), 0)
    return f"± {math.floor(size * 10**places) / 10**places:.{places}f}{mark}"


def doubts_of_events(found: DoubtfulState, title: str, alike: bool, shown: Shown) -> Iterator[Block]:
    """Doubts of every lead, event and opening, a table for each side, or one for both where they are alike."""
    for side, own in found.doubts.items():
        heads = [Column(f"{kind}\n± {shown.unit if kind in ('lead', 'opening') else '%'}") for kind in _KINDS]
        grid = Grid(f"{title}, {side_words(side, alike=alike)}: doubts, 19 in 20", [*PLACE, *heads])
        for notch, way in dict.fromkeys((f.notch, f.direction) for f in own.model.figures if f.direction):
            for end in ENDS:
                doubts = {kind: own.doubt(end_figure(kind, notch, way, end)) for kind in _KINDS}
                grid.row(notch, way, end, *(_doubt(kind, doubt, shown) for kind, doubt in doubts.items()))
        yield grid


def _doubt(kind: str, doubt: float, shown: Shown) -> str:
    if not doubt:
        return "–"
    return shown.length(doubt) if kind in ("lead", "opening") else f"{doubt:.1f}"
