"""Findings in plain words: the furthest out first, and one line for what is the same in several notches."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from linkmotion.files.lengths import format_length
from linkmotion.files.results import sentence
from linkmotion.gears.keys import key_in_words
from linkmotion.sides import side_words
from linkmotion.studies.findings import Finding
from linkmotion.views.printout import OUT, Point
from linkmotion.views.tables import Shown
from linkmotion.wear.condition import wear_in_words

_FEW = 2  # places of a finding that are named beside the worst
_ORDER = ("sense", "die", "port", "lost motion", "lead", "cutoff", "sides")  # as a fitter goes at them


def where(finding: Finding) -> str:
    """Where a finding holds, in words."""
    return ", ".join(part for part in (side_words(finding.side), _place(finding)) if part)


def _place(finding: Finding) -> str:
    return ", ".join(part for part in (finding.notch, finding.direction and f"running {finding.direction}") if part)


def worst(out: Sequence[Finding]) -> Finding:
    """What is furthest out, in limits; what has no target, such as a die past its slot's end, comes before all.

    Parameters
    ----------
    out : sequence of Finding
        One at least.
    """
    return max(out, key=_times)


def finding_lines(
    found: Sequence[Finding], shown: Shown, besides: Callable[[Sequence[Finding]], str] | None = None
) -> Iterator[Point]:
    """Every finding in a fitter's order: what is out first, the same thing in several notches in one line.

    Parameters
    ----------
    found : sequence of Finding
        What is to be told; the worst notch of a line stands in front.
    shown : Shown
        The reader's unit.
    besides : callable
        What else is to be said of findings that are told in one line, the worst first; "" for nothing.
    """
    groups: dict[tuple[object, ...], list[Finding]] = {}
    for one in found:
        groups.setdefault((not one.out, one.side, one.words, one.limit), []).append(one)
    for group in sorted(groups.values(), key=lambda group: (not group[0].out, _ORDER.index(group[0].what))):
        first, *others = sorted(group, key=lambda one: -one.size)
        told = f"{where(first)}: {sentence(first, shown.unit, shown.fraction_of)}{_more([first, *others], besides)}"
        yield Point(told + _elsewhere(others, shown), OUT if first.out else "·")


def _more(findings: Sequence[Finding], besides: Callable[[Sequence[Finding]], str] | None) -> str:
    words = besides(findings) if besides is not None else ""
    return f" ({words})" if words else ""


def _elsewhere(others: Sequence[Finding], shown: Shown) -> str:
    """Where else the same is found: place by place, or of many only how many and between which sizes."""
    if not others:
        return ""
    if len(others) <= _FEW or "{size}" not in others[0].words:
        return f". The same in {'; '.join(_besides(one, shown) for one in others)}"
    least, most = _size(others[-1], shown), _size(others[0], shown)
    return f". The same in {len(others)} more places, {f'{most} each' if least == most else f'{least} to {most}'}"


def _besides(finding: Finding, shown: Shown) -> str:
    """Where else, and how much there."""
    return f"{_place(finding)}{f' ({_size(finding, shown)})' if '{size}' in finding.words else ''}"


def _size(finding: Finding, shown: Shown) -> str:
    if finding.unit == "percent":
        return f"{finding.size:.1f} %"
    return format_length(finding.size, shown.unit, fraction_of=shown.fraction_of)


def _times(finding: Finding) -> float:
    return finding.size / finding.limit if finding.limit else math.inf


def dimension_in_words(dimension: str) -> str:
    """A figure's place in an engine file, in words.

    Parameters
    ----------
    dimension : str
        Dotted path in the drawing, or in a side of a state.

    Examples
    --------
    >>> dimension_in_words("eccentric_rods.forward"), dimension_in_words("wear.clearance.arm pin")
    ('eccentric rods: forward', 'clearance at the arm pin')
    """
    table, _, key = dimension.partition(".")
    if table != "wear":
        return key_in_words((table, key)) if key else table.replace("_", " ")
    kind, _, name = key.partition(".")
    return wear_in_words(kind, name)
