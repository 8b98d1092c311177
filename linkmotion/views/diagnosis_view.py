"""A diagnosis in plain words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from linkmotion.gears.keys import key_in_words
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.diagnosis.next_reading import NextReading
from linkmotion.studies.diagnosis.result import NOT_APART, NOT_SEEN, STANDS_OUT, Diagnosis, Suspect
from linkmotion.studies.diagnosis.worn_place import WORN_SLOT
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.figure import MM, PERCENT, Reading
from linkmotion.views.tables import Shown

_NAMED = 8  # dimensions named in a sentence
_STEP = 25.4 / 32  # mm: the amount in which alike lengths are told in a file of inches
_TELLS, _TELLS_WELL = 0.02, 0.15  # of the chance of naming the right explanation
_WORTH = 0.05  # of the interval: a reading that narrows it less is not worth taking


class Words:
    """How figures of a diagnosis are written: lengths in a unit.

    Parameters
    ----------
    found, unit : Diagnosis, str
        Of one side; "mm", "in", "ft" or "thou".
    angles : set of (table, key)
        Those of its dimensions that are angles.
    """

    def __init__(self, found: Diagnosis, unit: str, angles: frozenset[Key]) -> None:
        self.found, self.unit, self.angles = found, unit, angles

    def departure(self, key: Key, size: float) -> str:
        """How far a dimension is off, with its sign and unit.

        Parameters
        ----------
        key, size : (table, key), float
            Of the dimension; mm or degrees.
        """
        if key in self.angles:
            return f"{size:+.2f}°"
        text = self._size(size)
        return text if text.startswith("-") or size == 0 else f"+{text}"

    def reading(self, reading: Reading, value: float) -> str:
        """A figure of a reading with its unit; a dash for NaN.

        Parameters
        ----------
        reading, value : Reading, float
            Whose unit the value has: mm, percent or degrees.
        """
        if np.isnan(value):
            return "–"
        if reading.unit == MM:
            return self._size(value)
        return f"{value:.1f} %" if reading.unit == PERCENT else f"{value:.1f}°"

    def sentences(self) -> Iterator[str]:
        """What was found, in plain words, the answer first: what is wrong, or that the readings do not fit."""
        fits = self.found.fits
        answers = (self._first, self._fit, self._retake) if fits else (self._fit, self._retake, self._first)
        for answer in answers:
            yield from answer()
        yield from self._stands()
        yield from self._next()
        yield from self._alike()
        yield from self._not_seen()
        yield from self._hidden()
        yield from self._left_apart()

    def _first(self) -> Iterator[str]:
        found = self.found
        if not found.first:
            yield (
                "Nothing stands out: the readings agree with the gear as its file has it, every dimension within its "
                f"tolerance ({percent(found.sound)} sure)."
            )
            yield from self._ruled_out()
            return
        doubted, besides = set(found.instead), found.besides
        order = [*(key for key in found.first if key not in doubted), *(key for key in found.first if key in doubted)]
        told = " and ".join(self._amount(found.suspect(key)) for key in order)
        others = [own for own in found.accused if own.key not in (*found.first, *besides)]
        it = "them" if len(doubted) > 1 else "it"
        many = f"one of {len(others)} that look like" if len(others) > 1 else "one that looks like"
        alike = f", or {many} {it}" if others else ""
        yield f"Likeliest wrong ({percent(found.sure)} sure): {told}{alike}."
        if others:
            which = it if len(order) == len(doubted) else names_of(tuple(order[-len(doubted) :]))
            yield (
                f"These readings cannot tell {which} from: {self._listed(others)}. Measure these parts before any is "
                "altered."
            )
        less = [own for own in found.explanations if own.keys and set(own.keys) < set(found.first)]
        if less:
            told = " or ".join(f"{names_of(own.keys)} alone ({percent(own.probability)})" for own in less)
            yield f"It may also be less that is wrong: {told}."
        if besides:
            more = self._listed([found.suspect(key) for key in besides])
            yield f"Nor can these readings rule out that besides this is wrong too: {more}."

    def _ruled_out(self) -> Iterator[str]:
        if others := [own for own in self.found.suspects if own.standing == NOT_APART]:
            yield f"Nor can these readings rule out: {self._listed(others)}."

    def _off(self, suspect: Suspect) -> str:
        if suspect.key[0] == WORN_SLOT:
            way = "ahead" if suspect.estimate > 0 else "back"
            return f"{named(suspect.key)} {self._size(abs(suspect.estimate))} {way}"
        return f"{named(suspect.key)} {self.departure(suspect.key, suspect.estimate)}"

    def _listed(self, others: list[Suspect]) -> str:
        listed = "; ".join(self._off(own) for own in others[:_NAMED])
        return listed + (f"; and {len(others) - _NAMED} more" if len(others) > _NAMED else "")

    def _amount(self, suspect: Suspect) -> str:
        low, high = (self.departure(suspect.key, size) for size in (suspect.low, suspect.high))
        size = self.departure(suspect.key, suspect.estimate)
        if suspect.key[0] == WORN_SLOT:
            return f"the {self._off(suspect)} (19 in 20, if it is: {low} to {high})"
        return f"{named(suspect.key)}, off its figure by {size} (19 in 20, if it is: {low} to {high})"

    def _fit(self) -> Iterator[str]:
        found = self.found
        grown = f"{found.grown:.1f} times as far as stated of them (within)"
        if not found.fits:
            yield (
                f"THESE READINGS DO NOT FIT THIS GEAR: they scatter {grown} or more, whichever two of its dimensions "
                "are wrong: more than one reading, the engine file, or more than two parts must be wrong. Conclude "
                "nothing from what follows until the readings have been taken again."
            )
        elif found.grown > 1.0:
            yield (
                f"The readings scatter {grown}: the figures here are reckoned with that. Say so in the file, or take "
                "those again that stand out."
            )

    def _retake(self) -> Iterator[str]:
        """Which readings to take again: those misread, and those that stand out from all others."""
        found = self.found
        for own in found.misread:
            i = found.readings.index(own.reading)
            sure = f", {percent(own.probability)} sure"
            yield f"Take again first: {self._comes_out(i)}; it looks misread{sure}, and is reckoned without."
        told = {found.readings.index(own.reading) for own in found.misread}
        for i in np.argsort(-np.abs(found.stands_out), kind="stable").tolist():
            if abs(found.stands_out[i]) < STANDS_OUT:
                break
            if i not in told:
                yield f"Take again: {self._comes_out(i)}."

    def _comes_out(self, i: int) -> str:
        reading = self.found.readings[i]
        read, fitted = (self.reading(reading, value) for value in (reading.value, float(self.found.fitted[i])))
        return f"{reading}{_line(reading)}: read {read}, where with the others it comes out as {fitted}"

    def _stands(self) -> Iterator[str]:
        """Where the valve stands and what the fitter's method did, as far as the readings tell it."""
        for own in self.found.disturbances:
            if abs(own.estimate) <= own.within or own.within > 0.7 * own.before:
                continue
            by, near = abs(own.estimate), own.within
            if own.name == "valve on its spindle":
                way = "forward" if own.estimate < 0 else "back"
                yield (
                    f"The valve stands {self._size(by)} {way} of where its file has it (within {self._size(near)}), "
                    "which is its setting, no fault of a part."
                )
            elif own.unit == MM:
                way = "above" if own.estimate > 0 else "below"
                yield f"The axle stood {self._size(by)} {way} its running height (within {self._size(near)})."
            else:
                way = "past" if own.estimate > 0 else "short of"
                yield (
                    f"The {own.name} was taken {by:.2f}° {way} the true one, running forward (within {near:.2f}°): "
                    "find it by trammel."
                )

    def _size(self, mm: float) -> str:
        """With its unit, and as many decimals as any other."""
        return f"{Shown(self.unit).length(mm)} {self.unit}"

    def _hidden(self) -> Iterator[str]:
        """How far a reading could be misread and not be noticed: the most, by kind."""
        most: dict[str, tuple[float, Reading]] = {}
        for reading, size in zip(self.found.readings, self.found.hidden.tolist(), strict=True):
            most[reading.kind] = max(most.get(reading.kind, (0.0, reading)), (size, reading), key=lambda own: own[0])
        if most:
            told = ", ".join(f"{kind} {self.reading(reading, size)}" for kind, (size, reading) in most.items())
            yield f"One figure misread by less than this would not show: {told}."

    def _next(self) -> Iterator[str]:
        told = [own for own in self.found.next if own.chance - own.now > _TELLS]
        if told:
            first, asked = told[0], "; ".join(self._asked(own) for own in told[:3])
            head = "To tell the explanations apart, read next"
            if first.chance - first.now < _TELLS_WELL:
                head = "No one reading would tell the explanations well apart, measuring the parts would; the best are"
            chances = f"from {percent(first.now)} to {percent(first.chance)}"
            yield f"{head}: {asked}. The first raises the chance of naming the right one {chances}."
            return
        narrows = [own for own in self.found.next if own.narrows > _WORTH]
        if narrows and self.found.first:
            asked = "; ".join(f"{own.reading} (narrows it by {percent(own.narrows)})" for own in narrows[:3])
            yield f"To know the amount better, read next: {asked}."
        elif self.found.first:
            yield "No other reading of the valve would tell much more: measure the part itself."

    def _asked(self, own: NextReading) -> str:
        first = self.reading(own.reading, own.reading.value)
        other = self.reading(own.reading, own.other_value)
        if own.other == self.found.first:
            return f"{own.reading} (about {first} to be expected)"
        return f"{own.reading} ({first} if {names_of(self.found.first)}, {other} if {names_of(own.other)})"

    def _alike(self) -> Iterator[str]:
        told = []
        for group in self.found.alike:
            step = 1.0 if group.keys[0] in self.angles or self.unit == "mm" else _STEP
            pairs = zip(group.keys[:_NAMED], group.rates, strict=False)
            told.append(", ".join(f"{named(key)} {self.departure(key, step * rate)}" for key, rate in pairs))
        if told:
            yield f"Alike to these readings, which cannot tell one from another: {'; nor: '.join(told)}."

    def _not_seen(self) -> Iterator[str]:
        if alike := {own.key for own in self.found.as_valve}:
            told = "Not told by these readings from the valve standing elsewhere on its spindle, which is no fault"
            yield f"{told}: {', '.join(sorted(map(named, alike)))}. Measure the part itself, a rod between its pins."
        names = [named(own.key) for own in self.found.suspects if own.standing == NOT_SEEN and own.key not in alike]
        if names:
            yield f"Not seen by these readings, right or wrong: {', '.join(sorted(names))}."

    def _left_apart(self) -> Iterator[str]:
        for reading, expected in self.found.apart:
            if reading.kind == "lost motion":
                read, by_file = (self.reading(reading, value) for value in (reading.value, expected))
                yield f"{reading}: read {read}; by the clearances in the engine file it is {by_file}."
            else:
                yield f"{reading}: read, but on the gear as its file has it this does not happen; it was left out."


def _line(reading: Reading) -> str:
    return f" (line {reading.line})" if reading.line else ""


def named(key: Key) -> str:
    """A dimension in words; or a slot worn in one place."""
    if key[0] == WORN_SLOT:
        return f"slot, worn where the die works in {key[1]}: centre line"
    return "valve: place on its spindle" if key == CENTRAL else key_in_words(key)


def percent(share: float) -> str:
    """A probability in words."""
    if share > 0.995:
        return "more than 99 %"
    return f"{100 * share:.0f} %" if share >= 0.01 else "less than 1 %"


def names_of(keys: tuple[Key, ...]) -> str:
    """What an explanation takes to be wrong."""
    return " and ".join(named(key) for key in keys) or "nothing is wrong"
