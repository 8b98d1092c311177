"""Setting advice in the words of the shop."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import numpy as np

from linkmotion.files.lengths import UNITS, format_length
from linkmotion.studies.figures.figure import MM, PERCENT, Reading
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.setting.advice import GEAR, RANGE, STEPS, Advice, Work
from linkmotion.studies.setting.foreseen import DIAGNOSIS, DRAWING, Foreseen
from linkmotion.studies.setting.goals import Goal
from linkmotion.studies.tolerances.tolerance import kind_of
from linkmotion.valve import ENDS
from linkmotion.views.diagnosis_view import named as suspect_named

_BASES = {
    DIAGNOSIS: "the gear as estimated from the readings",
    DRAWING: "what was read, and the change that the gear as its file has it gives",
    "state": "the gear as its file has it; nothing was read",
}
_DIGITS = {"mm": 2, "in": 3, "ft": 4, "thou": 0}
_SURE = 0.8  # that a dimension is wrong, before it is said which work puts it right
_FELT = {MM: 0.02, PERCENT: 0.05}  # a change that is less is not worth telling
_WHY = {
    STEPS: "Finer steps would do it: the least steps given are too coarse.",
    RANGE: "More of these adjustments would do it than their limits allow.",
    GEAR: "These adjustments cannot do it, however far they are taken, while the leads and cutoffs of every notch stay "
    "near the drawing's: something else is not as it should be.",
}


class Words:
    """How figures of an advice are written: readings in one unit, what is altered in that of the steps (``shop``)."""

    def __init__(self, advice: Advice, unit: str, shop: str = "") -> None:
        self.advice, self.unit, self.shop = advice, unit, shop or unit
        gear = advice.problem.sides[0].side.gear
        self.angles = {each.key for each in advice.problem.adjustments if kind_of(gear, each.key) == "angle"}

    def amount(self, adjustment: Adjustment, size: float) -> str:
        """An amount of an adjustment, without sign."""
        size = abs(size)
        if adjustment.key in self.angles:
            return f"{size:.2f}".rstrip("0").rstrip(".") + "°"
        sixtyfourths = size / float(UNITS["in"]) * 64
        if self.shop != "mm" and abs(sixtyfourths - round(sixtyfourths)) < 1e-6:
            return format_length(size, "in", fraction_of=64)
        return format_length(size, self.shop)

    def steps(self, work: Work) -> str:
        """How many steps, of how much."""
        own, count = work.adjustment, abs(work.steps)
        if own.turn:
            turns = Fraction(own.turn).limit_denominator(64) * count
            whole, part = divmod(turns, 1)
            text = " ".join(str(each) for each in (whole, part) if each)
            return f"{text} turn{'s' if turns > 1 else ''} of the thread"
        return f"{count} step{'s' if count > 1 else ''} of {self.amount(own, own.step)}"

    def work(self, work: Work) -> str:
        """What is to be done, in one sentence."""
        done = f"{self.done(work.adjustment, work.steps)} ({self.steps(work)})"
        return f"If need be: {done}" if work.if_need_be else f"{done[0].upper()}{done[1:]}"

    def done(self, own: Adjustment, steps: int) -> str:
        """So many steps of an adjustment, in the words of the shop."""
        return own.words(steps).format(self.amount(own, steps * own.step))

    def where(self, work: Work) -> str:
        """On which side."""
        return "both sides" if work.adjustment.side == "both" else f"{work.adjustment.side} side"

    def effect(self, work: Work) -> str:
        """What it will do by itself: the greatest change of lead and of cutoff, and what the other end does there."""
        told = [self._most(work, what) for what in ("lead", "cutoff")]
        return "; ".join(each for each in told if each) or "little by itself"

    def _most(self, work: Work, what: str) -> str:
        name = work.adjustment.side if work.adjustment.side in work.alone else next(iter(work.alone))
        figures, change = self.advice.figures[name], np.nan_to_num(work.alone[name])
        own = [i for i, figure in enumerate(figures) if figure.kind == what]
        best = figures[max(own, key=lambda i: abs(change[i]))]
        sizes = {end: float(change[figures.index(replace(best, end=end))]) for end in ENDS}
        if max(abs(size) for size in sizes.values()) < _FELT[best.unit]:
            return ""
        ends = [f"{end} {self.size(best.unit, abs(size))} {_more(what, size)}" for end, size in sizes.items()]
        return f"{what} {', '.join(ends)}, in {best.notch}"

    def size(self, unit: str, value: float) -> str:
        """A figure with its unit."""
        if not np.isfinite(value):
            return "–"
        if unit == MM:
            return format_length(value, self.unit, digits=_DIGITS[self.unit])
        return f"{value:.1f} %" if unit == PERCENT else f"{value:.1f}°"

    def reading(self, reading: Reading, value: float, whole: bool = False) -> str:
        """A figure of a reading; with its unit only where ``whole``."""
        text = self.size(reading.unit, value)
        return text if whole or text == "–" else text.removesuffix(f" {self.unit}").removesuffix(" %").removesuffix("°")

    def unit_of(self, reading: Reading) -> str:
        """Unit of a reading as shown."""
        return {MM: self.unit, PERCENT: "%"}.get(reading.unit, "°")

    def goal(self, goal: Goal) -> str:
        """A target in words."""
        return f"{goal.side + ' side: ' if goal.side else ''}{goal.hold}"

    def held(self, goal: Goal, value: float) -> str:
        """What a target holds, without sign unless it is a lead against the one wanted."""
        return self.size(goal.hold.unit, value if goal.hold.between == "" else abs(value))

    def sentences(self, foreseen: list[Foreseen]) -> Iterator[str]:
        """What the advice comes to, in plain words."""
        advice = self.advice
        before, after, count = (len(advice.out(advice.held_before)), len(advice.out(advice.held_after)),
                                len(advice.goals))  # fmt: skip
        if not count:
            yield "No target can be looked at: the readings say nothing of any figure that a target is set for."
            return
        if not advice.works:
            yield (
                f"Leave it alone: all {count} targets looked at are met."
                if not before
                else f"{before} of {count} targets are out, and none of these adjustments makes it better."
            )
        else:
            now, then = (str(number) if number else "none" for number in (before, after))
            yield f"Of {count} targets looked at {now} are out as it stands; after the work {then}."
        if later := [str(number) for number, work in enumerate(advice.works, 1) if work.if_need_be]:
            yield (
                f"Do {' and '.join(later)} only if need be: what {'they mend' if later[1:] else 'it mends'} is less "
                "than these readings can see (the doubt in the table). Do what comes before, read again, and go on "
                "only if a target is still out."
            )
        for own in foreseen:
            yield from mending(self, own.side)
        yield from self._short()
        if len(advice.figures) == 1:
            yield "Only one side is looked at: what alters both sides (the reach rod) is left alone."
        for own in foreseen:
            yield f"{own.side} side: by {_BASES[own.basis]}{f'; {own.note}' if own.note else ''}."

    def _short(self) -> Iterator[str]:
        """What cannot be met, by how much, and why."""
        advice = self.advice
        for k in advice.out(advice.held_after)[:4]:
            goal, value = advice.goals[k], float(advice.held_after[k])
            over = self.size(goal.hold.unit, abs(value) - goal.limit)
            yield (
                f"✗ {self.goal(goal)}: {self.held(goal, value)}, {self.size(goal.hold.unit, goal.limit)} is allowed: "
                f"over by {over}"
            )
        more = len(advice.out(advice.held_after)) - 4
        if more > 0:
            yield f"and {more} more, see the table"
        if advice.barrier:
            yield f"These targets cannot all be met. {_WHY[advice.barrier]}"
        if advice.at_limit:
            names = [f"{each.work.name}{'' if each.side == 'both' else f' ({each.side})'}" for each in advice.at_limit]
            yield f"Taken as far as it goes: {', '.join(names)}."


def mending(words: Words, side: str) -> Iterator[str]:
    """Which work puts right what is nearly surely wrong with a side, and which only makes up for it."""
    problem, works = (
        words.advice.problem,
        [(n, w) for n, w in enumerate(words.advice.works, 1) if w.adjustment.on(side)],
    )
    estimate = next(own for own in problem.estimates if own.side.side == side)
    for key, by in estimate.faults[0].items() if estimate.faults else ():
        sure = estimate.sure[key]
        if sure < _SURE:
            continue
        found = f"{side} side: what is wrong is, {100 * min(sure, 0.99):.0f} % sure, {suspect_named(key)}"
        others = " and ".join(str(n) for n, work in works if work.adjustment.key != key)
        makes_up = f"; {others} only make{'' if ' and ' in others else 's'} up for it" if others else ""
        mends = [
            n for n, work in works if work.adjustment.key == key and work.steps * work.adjustment.per_step * by < 0
        ]
        own = next((each for each in problem.adjustments if each.key == key and each.on(side)), None)
        if mends:
            rest = makes_up.replace("for it", "for what is left")
            yield f"{found}: {mends[0]} puts that itself right{rest}."
        elif own is None:
            yield f"{found}, which none of these adjustments alters: mend the part itself, and read again{makes_up}."
        elif steps := round(-by / own.per_step):
            yield f"{found}. To put that itself right: {words.done(own, steps)}{makes_up}."


def _more(what: str, size: float) -> str:
    if what == "lead":
        return "more" if size > 0 else "less"
    return "later" if size > 0 else "earlier"
