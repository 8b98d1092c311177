"""Within a target as surely as 19 in 20, out of it as surely, or not to be told; and what to measure better then."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from linkmotion.engine import Engine
from linkmotion.engine_layers import parted
from linkmotion.measuring.taken import DEGREES, MM, Part, Source, Taken, coverage
from linkmotion.sides import BOTH
from linkmotion.studies.as_taken import Path
from linkmotion.studies.assess import Assessment
from linkmotion.studies.compared import Compared, every_compared
from linkmotion.studies.doubts.event_doubts import EventDoubts, bent, event_doubts
from linkmotion.studies.findings import Finding

WITHIN, OUT, UNTOLD = "within", "out", "cannot be told"
_SPARE = 0.97  # of a margin: a little is left for what slopes do not say
_FINEST = {MM: 0.01, DEGREES: 0.01}  # no dimension of a gear is measured nearer in a shop


@dataclass(frozen=True)
class Better:
    """A dimension to measure better: its key, and the doubt (mm or degrees, 19 in 20) that would do."""

    dimension: str
    to: float
    unit: str


@dataclass(frozen=True)
class Judged:
    """A difference held against its target with its doubt.

    Attributes
    ----------
    finding : Finding
        What is compared, where, its size and limit.
    doubt : float
        Of the size, right 19 times in 20, in the finding's unit.
    told : str
        "within" or "out" as surely, or "cannot be told".
    better : tuple of Better
        What to measure better so that it can be told, all of them; none where no measuring would do.
    """

    finding: Finding
    doubt: float
    told: str
    better: tuple[Better, ...] = ()


@dataclass(frozen=True, eq=False)
class DoubtfulState:
    """A state with the doubts of its figures.

    Attributes
    ----------
    doubts : dict of EventDoubts
        By side; sides that are alike share one.
    judged : tuple of Judged
        Every target of leads and cutoffs, and of lost motion where there is any.
    """

    doubts: dict[str, EventDoubts]
    judged: tuple[Judged, ...]

    def of(self, told: str) -> list[Judged]:
        """Those of which something is told."""
        return [own for own in self.judged if own.told == told]


def doubtful(assessment: Assessment) -> DoubtfulState | None:
    """What the doubts of figures as taken make of an assessment; None where its file gives none."""
    engine = assessment.engine
    found = {side.side: event_doubts(engine, side) for side in assessment.distinct_sides}
    doubts = {side: own for side, own in found.items() if own is not None}
    if not doubts:
        return None
    return DoubtfulState(doubts, tuple(_judged(engine, doubts, own) for own in every_compared(assessment)))


def _judged(engine: Engine, doubts: dict[str, EventDoubts], compared: Compared) -> Judged:
    finding, amounts = compared.finding, defaultdict[Source, float](float)
    freedoms: dict[Source, float] = {}
    for side, figure, sign in compared.figures:
        for source, part in doubts[side].parts(figure).items() if side in doubts else ():
            amounts[source] += sign * part.amount
            freedoms[source] = part.freedom
    taken = Taken(finding.size, {source: Part(amount, freedoms[source]) for source, amount in amounts.items()})
    doubt = _drawn(doubts, compared, taken.doubt) if _bends(doubts, compared) else taken.doubt
    if finding.size + doubt <= finding.limit:
        return Judged(finding, doubt, WITHIN)
    if finding.size - doubt > finding.limit:
        return Judged(finding, doubt, OUT)
    return Judged(finding, doubt, UNTOLD, tuple(_better(engine, taken, abs(finding.limit - finding.size))))


def _bends(doubts: dict[str, EventDoubts], compared: Compared) -> bool:
    return any(doubts[side].bends(figure) for side, figure, _sign in compared.figures if side in doubts)


def _drawn(doubts: dict[str, EventDoubts], compared: Compared, by_slopes: float) -> float:
    """The doubt of a difference by the gears drawn, on both sides alike."""
    own = [(doubts[side], figure, sign) for side, figure, sign in compared.figures if side in doubts]
    off = np.sum([sign * each.off(figure) for each, figure, sign in own], axis=0)
    return bent(by_slopes, off, np.sum([sign * each.by_slopes(figure) for each, figure, sign in own], axis=0))


def _better(engine: Engine, taken: Taken, margin: float) -> Iterator[Better]:
    """The fewest dimensions, those that add most, and the doubts to which they must come so that a margin is enough."""
    shares: dict[Path, float] = defaultdict(float)
    for source, part in taken.parts.items():
        shares[tuple(source)[:-1]] += part.amount**2
    wanted = (_SPARE * margin / coverage(taken.freedom)) ** 2
    left, most = sum(shares.values()), sorted(shares, key=lambda path: -shares[path])
    chosen: list[Path] = []
    while most and left >= wanted * 0.9:
        chosen.append(most.pop(0))
        left = sum(shares[path] for path in most)
    room = (wanted - left) / sum(shares[path] for path in chosen) if chosen else 0.0
    found = [
        Better(_name(path, engine), math.sqrt(room) * _own(engine, path), engine.taken[path].unit) for path in chosen
    ]
    if room > 0 and all(own.to >= _FINEST[own.unit] for own in found):
        yield from found


def _own(engine: Engine, path: Path) -> float:
    """A figure's own doubt, without what it takes from others."""
    whole = engine.taken[path]
    own = {source: part for source, part in whole.parts.items() if tuple(source)[:-1] == path}
    return Taken(whole.exact, own).doubt


def _name(path: Path, engine: Engine) -> str:
    """Table and key; of a figure that a layer gives of one side, that side before."""
    layer, own = parted(path)
    alike = not layer or layer[-1] == BOTH or len(engine.sides) == 1
    return ".".join(own) if alike else f"{layer[-1]} {'.'.join(own)}"
