"""What targets hold near one another: every two figures that are compared, whether they pass or not."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from linkmotion.engine import Targets
from linkmotion.sides import BOTH, PAIR, side_words
from linkmotion.studies.assess import Assessment, SideEvents
from linkmotion.studies.figures.figure import Figure, end_figure
from linkmotion.studies.figures.play import GREATEST, LOST
from linkmotion.valve import ENDS


@dataclass(frozen=True)
class Finding:
    """Something to be told.

    Attributes
    ----------
    what : str
        "lead", "cutoff", "lost motion", "die", "port", "sense", "sides".
    out : bool
        True when a target or limit is passed; false for a remark.
    side, notch, direction : str
        Where; side "both" when they are alike, "" when it is between the sides.
    size, limit : float
        Measured figure and target, in ``unit``.
    unit : str
        "mm" or "percent".
    words : str
        The sentence, with ``{size}`` and ``{limit}`` where a view puts the figures in the reader's units.
    end : str
        "front" or "back", where it is of one end.
    """

    what: str
    out: bool
    side: str
    notch: str
    direction: str
    size: float
    limit: float
    unit: str
    words: str
    end: str = ""

    @property
    def place(self) -> tuple[str, ...]:
        """What is found where, whichever of the two it is that has more."""
        return self.what, self.unit, self.side, self.notch, self.direction, self.end


@dataclass(frozen=True)
class Compared:
    """A difference that a target allows so much of.

    Attributes
    ----------
    finding : Finding
        What is told of it where it is more.
    figures : tuple of (str, Figure, int)
        Side, figure and sign of each that makes the difference; none where it is of another kind.
    """

    finding: Finding
    figures: tuple[tuple[str, Figure, int], ...] = ()

    @classmethod
    def of(
        cls, what: str, where: tuple[str, str, str], apart: float, limit: float, unit: str, words: str, end: str = "",
        figures: tuple[tuple[str, Figure, int], ...] = (),
    ) -> Compared:  # fmt: skip
        """A difference, its sign in ``apart``; ``words`` begin the sentence."""
        told = f"{words}; {{limit}} is allowed"
        return cls(Finding(what, abs(apart) > limit, *where, abs(apart), limit, unit, told, end), figures)


def past_target(compared: Iterable[Compared]) -> Iterator[Finding]:
    """What is told of those that pass their targets."""
    return (own.finding for own in compared if own.finding.out)


def every_compared(assessment: Assessment) -> Iterator[Compared]:
    """Every difference of leads and cutoffs that a target is held against, and the lost motion where there is any."""
    targets = assessment.engine.targets
    for side in assessment.distinct_sides:
        own = replace(side, side=BOTH) if assessment.alike else side
        for i in range(len(side.notches)):
            for direction in side.driven(i):
                yield from (_of_side(side.side, one) for one in ends_compared(own, i, direction, targets))
        if side.has_play:
            yield _of_side(side.side, lost_compared(own, targets))
    if len(assessment.distinct_sides) == len(PAIR):
        left, right = assessment.sides
        yield from sides_compared(left, right, targets)


def _of_side(name: str, compared: Compared) -> Compared:
    """The same, its figures those of a side by its name, where it is told of both."""
    return replace(compared, figures=tuple((name, figure, sign) for _, figure, sign in compared.figures))


def ends_compared(side: SideEvents, i: int, direction: str, targets: Targets) -> Iterator[Compared]:
    """The ends of one side in a notch and a direction of running, and its leads with the lead wanted."""
    ends = side.events[direction]
    front, back = ends["front"], ends["back"]
    where = (side.side, side.notches[i], direction)

    def pair(kind: str) -> tuple[tuple[str, Figure, int], ...]:
        both = zip(ENDS, (1, -1), strict=True)
        return tuple((side.side, end_figure(kind, side.notches[i], direction, end), sign) for end, sign in both)

    apart = float(front.lead[i] - back.lead[i])
    words = f"the {_more(apart, ENDS)} end has {{size}} more lead than the other"
    limit = targets.apart("lead", "ends", side.drives[i])
    yield Compared.of("lead", where, apart, limit, "mm", words, figures=pair("lead"))
    if targets.lead is not None:
        for end in ENDS:
            off = float(ends[end].lead[i] - targets.lead)
            words = f"the {end} lead is {{size}} {'above' if off > 0 else 'below'} the lead wanted"
            own = ((side.side, end_figure("lead", side.notches[i], direction, end), 1),)
            yield Compared.of("lead", where, off, targets.lead_within, "mm", words, end, own)
    apart = float(front.percent["cutoff"][i] - back.percent["cutoff"][i])
    words = f"the {_more(apart, ENDS)} end cuts off {{size}} of stroke later than the other"
    limit = targets.apart("cutoff", "ends", side.drives[i])
    yield Compared.of("cutoff", where, apart, limit, "percent", words, figures=pair("cutoff"))


def sides_compared(left: SideEvents, right: SideEvents, targets: Targets) -> Iterator[Compared]:
    """The sides of an engine, end by end."""
    for i, notch in enumerate(left.notches):
        for direction in left.driven(i):
            for end in ENDS:
                one, two, where = left.events[direction][end], right.events[direction][end], ("", notch, direction)

                def pair(
                    kind: str, notch: str = notch, way: str = direction, end: str = end
                ) -> tuple[tuple[str, Figure, int], ...]:
                    figure = end_figure(kind, notch, way, end)
                    return ((PAIR[0], figure, 1), (PAIR[1], figure, -1))

                apart = float(one.lead[i] - two.lead[i])
                words = f"{end} end: the {side_words(_more(apart, PAIR))} has {{size}} more lead than the other"
                limit = targets.apart("lead", "sides", left.drives[i])
                yield Compared.of("sides", where, apart, limit, "mm", words, end, pair("lead"))
                apart = float(one.percent["cutoff"][i] - two.percent["cutoff"][i])
                words = (
                    f"{end} end: the {side_words(_more(apart, PAIR))} cuts off {{size}} of stroke later than the other"
                )
                limit = targets.apart("cutoff", "sides", left.drives[i])
                yield Compared.of("sides", where, apart, limit, "percent", words, end, pair("cutoff"))


def lost_compared(side: SideEvents, targets: Targets) -> Compared:
    """The lost motion of a side, where it is greatest."""
    most = side.lost.max(axis=-1)
    worst = int(np.argmax(most))
    where, words = (side.side, side.notches[worst], ""), "the spindle has {size} of lost motion with the wheel held"
    figures = ((side.side, Figure(kind=GREATEST, notch=side.notches[worst]), 1),)
    return Compared.of(LOST, where, float(most[worst]), targets.lost_motion, "mm", words, figures=figures)


def _more(apart: float, pair: tuple[str, str]) -> str:
    return pair[0] if apart > 0 else pair[1]
