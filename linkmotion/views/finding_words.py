"""Findings in plain words: the furthest out first, and one line for what is the same in several notches."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from linkmotion.files.lengths import format_length
from linkmotion.files.results import sentence
from linkmotion.studies.findings import Finding
from linkmotion.views.printout import OUT, Answer, Point
from linkmotion.views.tables import Shown


def where(finding: Finding) -> str:
    """Where a finding holds, in words."""
    side = {"both": "both sides", "": "between the sides"}.get(finding.side, f"{finding.side} side")
    return ", ".join(part for part in (side, _place(finding)) if part)


def _place(finding: Finding) -> str:
    return ", ".join(part for part in (finding.notch, finding.direction and f"running {finding.direction}") if part)


def verdict(state: str, found: Sequence[Finding], shown: Shown) -> Answer:
    """Whether a state is right, and what is furthest out, in one sentence."""
    out = [finding for finding in found if finding.out]
    if not out:
        remarks = f" ({len(found)} remark{'s' * (len(found) > 1)} below)" if found else ""
        return Answer(f"{state}: all within the targets{remarks}.")
    worst = max(out, key=_times)
    told = f"{where(worst)}: {sentence(worst, shown.unit, shown.fraction_of)}"
    return Answer(f"{state}: {len(out)} out of target{', worst' if len(out) > 1 else ''}: {told}.")


def finding_lines(found: Sequence[Finding], shown: Shown) -> Iterator[Point]:
    """Every finding: what is out first, the same thing in several notches in one line, the worst of them in front."""
    groups: dict[tuple[object, ...], list[Finding]] = {}
    for one in found:
        groups.setdefault((not one.out, one.side, one.words, one.limit), []).append(one)
    for group in sorted(groups.values(), key=lambda group: not group[0].out):
        first, *others = sorted(group, key=lambda one: -one.size)
        told = f"{where(first)}: {sentence(first, shown.unit, shown.fraction_of)}"
        if others:
            told += f". The same in {'; '.join(_besides(one, shown) for one in others)}"
        yield Point(told, OUT if first.out else "·")


def _besides(finding: Finding, shown: Shown) -> str:
    """Where else, and how much there."""
    return f"{_place(finding)}{f' ({_size(finding, shown)})' if '{size}' in finding.words else ''}"


def _size(finding: Finding, shown: Shown) -> str:
    if finding.unit == "percent":
        return f"{finding.size:.1f} %"
    return format_length(finding.size, shown.unit, fraction_of=shown.fraction_of)


def _times(finding: Finding) -> float:
    """How many times its target; what has none, such as a die past its slot's end, comes before all."""
    return finding.size / finding.limit if finding.limit else math.inf
