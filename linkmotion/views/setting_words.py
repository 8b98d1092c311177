"""Setting advice in the words of the shop."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import numpy as np

from linkmotion.files.lengths import UNITS, format_length
from linkmotion.sides import side_words
from linkmotion.studies.figures.figure import MM, PERCENT, Reading
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.setting.advice import Advice, Work
from linkmotion.studies.setting.choices import Choices
from linkmotion.studies.setting.foreseen import DIAGNOSIS, DRAWING, Foreseen
from linkmotion.studies.setting.goals import Goal
from linkmotion.studies.setting.side import Off
from linkmotion.studies.tolerances.tolerance import kind_of
from linkmotion.valve import ENDS
from linkmotion.views.setting_reasons import at_first, barred, in_service, mended, of_sides

_BASES = {
    DIAGNOSIS: "the gear as estimated from the readings",
    DRAWING: "what was read, and the change that the gear as its file has it gives",
    "state": "the gear as its file has it; nothing was read",
}
_DIGITS = {"mm": 2, "in": 3, "ft": 4, "thou": 0}
_MOST_MORE = 6  # digits more than usual, to tell what is over a target from the target
_FELT = {MM: 0.02, PERCENT: 0.05}  # a change that is less is not worth telling


class Words:
    """How figures of an advice are written.

    Parameters
    ----------
    choices, advice : Choices, Advice
        All of them; the one that is told.
    unit, shop : str
        Of readings; of what is altered (the readings' unless given).
    once_mended : bool
        Whether it is given for the engine once what no adjustment puts back is mended.
    """

    def __init__(self, choices: Choices, advice: Advice, unit: str, shop: str = "", once_mended: bool = False) -> None:
        self.choices, self.advice, self.once_mended = choices, advice, once_mended
        self.unit, self.shop = unit, shop or unit
        self.gear = advice.problem.sides[0].side.gear
        own = {each.key for each in advice.problem.adjustments}
        own |= {off.key for estimate in advice.problem.estimates for off in estimate.off}
        own |= {repair.off.key for repair in choices.repairs}
        self.angles = {key for key in own if kind_of(self.gear, key) == "angle"}

    def amount(self, adjustment: Adjustment, size: float) -> str:
        """An amount of an adjustment with its unit, without sign.

        Parameters
        ----------
        adjustment, size : Adjustment, float
            mm or degrees; in inches by 64ths where it is a whole number of them.
        """
        size = abs(size)
        if adjustment.key in self.angles:
            return self._degrees(size)
        return self._length(size)

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

    def kind(self, work: Work) -> str:
        """What the work is for."""
        return "put back" if work.undoes is not None else "trim"

    def more_than_drawn(self, off: Off) -> str:
        """By how much a dimension is off its drawing."""
        size = (self._degrees if off.key in self.angles else self._length)(abs(off.by))
        return f"{size} {'more' if off.by > 0 else 'less'} than drawn"

    def hours(self, hours: float) -> str:
        """So many hours."""
        return f"{hours:g} h"

    @property
    def other_choices(self) -> str:
        """What else may be chosen, in one line."""
        told = (
            f"{' and '.join(own.names)}: {len(own.out(own.held_after))} targets out, {self.hours(own.hours)}"
            for own in self.choices.every
            if own is not self.advice
        )
        return "; ".join(told)

    @property
    def hours_assumed(self) -> str:
        """The works whose hours are assumed."""
        own = [work.adjustment for advice in self.choices.every for work in advice.works]
        assumed = {each.work.name: f"{each.work.name} {self.hours(each.hours)}" for each in own if each.hours_assumed}
        if not assumed:
            return ""
        told = ", ".join(assumed.values())
        return f"Assumed: hours of work (common practice, from memory, no source; give cost): {told}."

    def _degrees(self, size: float) -> str:
        return f"{size:.2f}".rstrip("0").rstrip(".") + "°"

    def _length(self, size: float) -> str:
        sixtyfourths = size / float(UNITS["in"]) * 64
        if self.shop != "mm" and abs(sixtyfourths - round(sixtyfourths)) < 1e-6:
            return format_length(size, "in", fraction_of=64)
        return format_length(size, self.shop)

    def done(self, own: Adjustment, steps: int) -> str:
        """So many steps of an adjustment, in the words of the shop."""
        return own.words(steps).format(self.amount(own, steps * own.step))

    def where(self, work: Work) -> str:
        """On which side."""
        return side_words(work.adjustment.side)

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

    def size(self, unit: str, value: float, more: int = 0) -> str:
        """A figure with its unit; a dash where there is none.

        Parameters
        ----------
        unit, value : str, float
            "mm", "percent" or "degrees".
        more : int
            Digits more than usual.
        """
        if not np.isfinite(value):
            return "–"
        if unit == MM:
            return format_length(value, self.unit, digits=_DIGITS[self.unit] + more)
        return f"{value:.{1 + more}f} %" if unit == PERCENT else f"{value:.{1 + more}f}°"

    def reading(self, reading: Reading, value: float, whole: bool = False) -> str:
        """A figure of a reading; a dash where there is none.

        Parameters
        ----------
        reading, value : Reading, float
            Whose unit the value has.
        whole : bool
            With its unit.
        """
        text = self.size(reading.unit, value)
        return text if whole or text == "–" else text.removesuffix(f" {self.unit}").removesuffix(" %").removesuffix("°")

    def unit_of(self, reading: Reading) -> str:
        """Unit of a reading as shown."""
        return {MM: self.unit, PERCENT: "%"}.get(reading.unit, "°")

    def goal(self, goal: Goal) -> str:
        """A target in words."""
        return f"{side_words(goal.side)}: {goal.hold}" if goal.side else str(goal.hold)

    def held(self, goal: Goal, *values: float) -> list[str]:
        """What a target allows, then what it holds, to so many digits that what is over it reads so.

        Without sign unless it is a lead against the one wanted.

        Parameters
        ----------
        goal, values : Goal, floats
            In its unit.
        """
        unit, told = goal.hold.unit, [value if goal.hold.between == "" else abs(value) for value in values]
        over = [i for i, value in enumerate(values, 1) if abs(value) > goal.limit * (1 + 1e-6)]
        for more in range(_MOST_MORE):
            found = [self.size(unit, value, more) for value in (goal.limit, *told)]
            if all(found[i] != found[0] for i in over):
                break
        return found

    def when(self, foreseen: list[Foreseen]) -> str:
        """When the targets are looked at before the work."""
        mended = "once what is told below is mended" if self.once_mended else ""
        warm = "in service" if any(own.in_service is not None for own in foreseen) else ""
        return ", ".join(part for part in (mended, warm) if part) or "as it stands"

    def sentences(self, foreseen: list[Foreseen], most: int = 4) -> Iterator[str]:
        """What the advice comes to, in plain words; of the targets that stay out the ``most`` that are worst."""
        advice = self.advice
        before, after, count = (len(advice.out(advice.held_before)), len(advice.out(advice.held_after)),
                                len(advice.goals))  # fmt: skip
        when = self.when(foreseen)
        if not count:
            yield "No target can be looked at: the readings say nothing of any figure that a target is set for."
            return
        if not advice.works:
            told = f"Leave it alone: all {count} targets of lead and cutoff are met {when}."
            if before:
                told = f"{before} of {count} targets of lead and cutoff are out {when}, and nothing that may be moved "
                told += "makes it better."
            elif self.once_mended:
                told = f"Nothing is to be set {when}: all {count} targets of lead and cutoff are then met."
            yield told
        else:
            now, then = (str(number) if number else "none" for number in (before, after))
            yield f"Of {count} targets of lead and cutoff {now} are out {when}; after the work {then}."
        yield from at_first(self)
        yield from mended(self, foreseen)
        if later := [str(number) for number, work in enumerate(advice.works, 1) if work.if_need_be]:
            yield (
                f"Do {' and '.join(later)} only if need be: what {'they mend' if later[1:] else 'it mends'} is less "
                "than these readings can see (the doubt in the table). Do what comes before, read again, and go on "
                "only if a target is still out."
            )
        yield from self._short(most)
        yield from self._one_alone()
        yield from in_service(self, foreseen)
        if len(advice.figures) < len(self.gear.sides):
            yield "Only one side is looked at: what alters both sides (the reach rod) is left alone."
        bases = ((own, f"by {_BASES[own.basis]}{f'; {own.note}' if own.note else ''}.") for own in foreseen)
        yield from of_sides((own.side, basis) for own, basis in bases)

    def _one_alone(self) -> Iterator[str]:
        """Where one side alone drives, so that no target is looked at."""
        own: list[set[tuple[str, str]]] = [
            {(each.notch, each.direction) for each in figures} for figures in self.advice.figures.values()
        ]
        alone = sorted(own[0].union(*own) - own[0].intersection(*own))
        if alone:
            told = "; ".join(f"{notch}, running {direction}" for notch, direction in alone)
            yield f"Not looked at here, since one side alone drives there: {told} (linkmotion check tells it)."

    def _short(self, most: int) -> Iterator[str]:
        """What cannot be met, by how much, and why."""
        advice, new = self.advice, set(self.advice.newly_out)
        out = advice.out(advice.held_after)[:most]
        told = of_sides((advice.goals[k].side, self._over(k)) for k in out)
        yield from (f"✗ {sentence}" for sentence in told)
        more = len(advice.out(advice.held_after)) - most
        if more > 0:
            yield f"and {more} more"
        if new:
            mended = len(set(advice.out(advice.held_before)) - set(advice.out(advice.held_after)))
            yield f"{len(new)} of these {'was' if len(new) == 1 else 'were'} within before; {mended} others are mended."
        if held := sum(goal.by_drawing for goal in advice.goals):
            yield f"Held to what the drawing gives, since it misses them itself: {held} target{'s' * (held > 1)}."
        yield from barred(self)
        if advice.at_limit:
            alone = () if len(self.gear.sides) == 1 else self.gear.sides
            names = [f"{each.work.name}{f' ({each.side})' * (each.side in alone)}" for each in advice.at_limit]
            yield f"Taken as far as it goes: {', '.join(names)}."

    def _over(self, k: int) -> str:
        """A target that stays out, whichever side it is of."""
        goal, value = self.advice.goals[k], float(self.advice.held_after[k])
        if not np.isfinite(value):
            return f"{goal.hold}: it does not occur at both"
        allowed, held = self.held(goal, value)
        over, nothing = (self.size(goal.hold.unit, size) for size in (abs(value) - goal.limit, 0.0))
        told = "" if over == nothing else f": over by {over}"
        return (
            f"{goal.hold}: {held}, {allowed} is allowed"
            f"{' (the drawing itself has as much)' if goal.by_drawing else ''}{told}"
            f"{'; it was within its target before' if k in self.advice.newly_out else ''}"
        )


def _more(what: str, size: float) -> str:
    if what == "lead":
        return "more" if size > 0 else "less"
    return "later" if size > 0 else "earlier"
