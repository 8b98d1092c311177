"""A diagnosis in plain words, and its tables."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from rich.markup import escape
from rich.table import Table

from linkmotion.files.lengths import format_length
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.diagnosis.next_reading import NextReading
from linkmotion.studies.diagnosis.result import (
    DOUBTFUL,
    FIRST,
    NOT_APART,
    NOT_SEEN,
    STANDS_OUT,
    Diagnosis,
    Suspect,
)
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.figure import MM, PERCENT, Reading
from linkmotion.studies.tolerances.rows import name_of
from linkmotion.views.tables import bare_table

_LISTED = 12  # suspects in the table
_NAMED = 8  # dimensions named in a sentence
_STEP = 25.4 / 32  # mm: the amount in which alike lengths are told in a file of inches
_TELLS, _TELLS_WELL = 0.02, 0.15  # of the chance of naming the right explanation
_WORTH = 0.05  # of the interval: a reading that narrows it less is not worth taking


class Words:
    """How figures of a diagnosis are written: lengths in a unit."""

    def __init__(self, found: Diagnosis, unit: str, angles: frozenset[Key]) -> None:
        self.found, self.unit, self.angles = found, unit, angles

    def departure(self, key: Key, size: float) -> str:
        """How far a dimension is off, with its sign."""
        if key in self.angles:
            return f"{size:+.2f}°"
        text = format_length(size, self.unit)
        return text if text.startswith("-") or size == 0 else f"+{text}"

    def reading(self, reading: Reading, value: float) -> str:
        """A figure of a reading, in its own unit."""
        if np.isnan(value):
            return "–"
        if reading.unit == MM:
            return format_length(value, self.unit)
        return f"{value:.1f} %" if reading.unit == PERCENT else f"{value:.1f}°"

    def sentences(self) -> Iterator[str]:
        """What was found, in plain words."""
        yield from self._fit()
        yield from self._first()
        yield from self._not_apart()
        yield from self._next()
        yield from self._alike()
        yield from self._not_seen()
        yield from self._left_apart()

    def _first(self) -> Iterator[str]:
        first = self.found.explanations[0]
        if not first.keys:
            yield (
                "Nothing need be wrong: the readings agree with the gear as its file has it, every dimension within "
                f"its tolerance (likelier than any one or two faults; {_percent(self._sound())} sure)."
            )
            return
        told = " and ".join(self._amount(self.found.suspect(key)) for key in first.keys)
        yield f"Likeliest wrong: {told}."

    def _sound(self) -> float:
        return self.found.explanations[0].probability

    def _amount(self, suspect: Suspect) -> str:
        low, high = (self.departure(suspect.key, size) for size in (suspect.low, suspect.high))
        size = self.departure(suspect.key, suspect.estimate)
        stands = ""
        if suspect.key == CENTRAL:
            stands = f", the valve standing {'back' if suspect.estimate > 0 else 'forward'} of where it should"
        return f"{named(suspect.key)}, off its figure by {size} (19 in 20: {low} to {high}){stands}"

    def _not_apart(self) -> Iterator[str]:
        others = [own for own in self.found.suspects if own.standing == NOT_APART]
        if not others:
            return
        listed = "; ".join(f"{named(own.key)} {self.departure(own.key, own.estimate)}" for own in others[:_NAMED])
        rest = f"; and {len(others) - _NAMED} more" if len(others) > _NAMED else ""
        if self.found.first:
            yield f"These readings cannot tell it from: {listed}{rest}. Measure these parts before any is altered."
        else:
            yield f"Nor can these readings rule out: {listed}{rest}."

    def _fit(self) -> Iterator[str]:
        found, count = self.found, len(self.found.readings)
        size = f"misfit {found.misfit:.0f} where about {count} is usual"
        if not found.fits:
            yield (
                f"THESE READINGS DO NOT FIT THIS GEAR ({size}), whichever two of its dimensions are wrong: a reading, "
                "the engine file, or more than two parts must be wrong. Conclude nothing from what follows until the "
                "readings have been taken again."
            )
            if (reading := found.would_fit_without) is not None:
                yield f"Without one of them the rest would fit: {reading}{_line(reading)}. Take that one again first."
                return
        elif found.fit < DOUBTFUL:
            yield f"The readings fit badly ({size}): take those that stand out again before anything is altered."
        for i in np.argsort(-np.abs(found.stands_out), kind="stable"):
            if abs(found.stands_out[i]) < STANDS_OUT:
                break
            reading = found.readings[i]
            read, fitted = (self.reading(reading, value) for value in (reading.value, float(found.fitted[i])))
            where = f"{reading}{_line(reading)}"
            yield f"{where}: read {read}, where with the others it comes out as {fitted}: take it again."

    def _next(self) -> Iterator[str]:
        told = [own for own in self.found.next if own.chance - own.now > _TELLS]
        if told:
            first, asked = told[0], "; ".join(self._asked(own) for own in told[:3])
            head = "To tell the explanations apart, read next"
            if first.chance - first.now < _TELLS_WELL:
                head = "No one reading would tell the explanations well apart, measuring the parts would; the best are"
            chances = f"from {_percent(first.now)} to {_percent(first.chance)}"
            yield f"{head}: {asked}. The first raises the chance of naming the right one {chances}."
            return
        narrows = [own for own in self.found.next if own.narrows > _WORTH]
        if narrows and self.found.first:
            asked = "; ".join(f"{own.reading} (narrows it by {_percent(own.narrows)})" for own in narrows[:3])
            yield f"To know the amount better, read next: {asked}."
        elif self.found.first:
            yield "No other reading of the valve would tell much more: measure the part itself."

    def _asked(self, own: NextReading) -> str:
        first = self.reading(own.reading, own.reading.value)
        other = self.reading(own.reading, own.other_value)
        if own.other == self.found.first:
            return f"{own.reading} (about {first} to be expected)"
        return f"{own.reading} ({first} if {_names(self.found.first)}, {other} if {_names(own.other)})"

    def _alike(self) -> Iterator[str]:
        for group in self.found.alike:
            step = 1.0 if group.keys[0] in self.angles or self.unit == "mm" else _STEP
            pairs = zip(group.keys[:_NAMED], group.rates, strict=False)
            same = ", ".join(f"{named(key)} {self.departure(key, step * rate)}" for key, rate in pairs)
            yield f"Alike to these readings, which cannot tell one from another: {same}."

    def _not_seen(self) -> Iterator[str]:
        names = [named(own.key) for own in self.found.suspects if own.standing == NOT_SEEN]
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
    """A dimension in words."""
    return "valve: place on its spindle" if key == CENTRAL else name_of(key)


def _percent(share: float) -> str:
    if share > 0.995:
        return "more than 99 %"
    return f"{100 * share:.0f} %" if share >= 0.01 else "less than 1 %"


def _names(keys: tuple[Key, ...]) -> str:
    return " and ".join(named(key) for key in keys) or "nothing is wrong"


def suspects_table(words: Words) -> Table:
    """The suspects, likeliest first."""
    table = bare_table("Suspects")
    table.add_column("dimension", no_wrap=True)
    for head in ("wrong", "off its figure\nif wrong", "19 in 20\nfrom", "\nto"):
        table.add_column(head, justify="right", no_wrap=True)
    table.add_column("standing")
    listed = [own for own in words.found.suspects if own.standing != NOT_SEEN][:_LISTED]
    for own in listed:
        sizes = [words.departure(own.key, size) for size in (own.estimate, own.low, own.high)]
        style = "bold" if own.standing == FIRST else ""
        table.add_row(escape(named(own.key)), _percent(own.probability), *sizes, own.standing, style=style)
    return table


def readings_table(words: Words) -> Table:
    """Every reading beside what the gear as figured and as estimated would have given."""
    table = bare_table("Readings")
    table.add_column("reading")
    for head in ("read", "±", "gear as\nits file", "gear as\nestimated", "left over\nin ±"):
        table.add_column(head, justify="right", no_wrap=True)
    found = words.found
    for i, reading in enumerate(found.readings):
        fitted = float(found.fitted[i])
        figures = (reading.value, 2 * reading.sigma, float(found.expected[i]), fitted)
        left = (reading.value - fitted) / (2 * reading.sigma)
        cells = [words.reading(reading, figure) for figure in figures]
        style = "bold" if abs(found.stands_out[i]) >= STANDS_OUT else ""
        table.add_row(escape(str(reading)), *cells, f"{left:+.1f}", style=style)
    return table
