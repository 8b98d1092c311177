"""Tables of a diagnosis: suspects, explanations, readings."""

from __future__ import annotations

from linkmotion.studies.diagnosis.result import FIRST, NOT_SEEN, STANDS_OUT
from linkmotion.studies.figures.figure import Reading
from linkmotion.views.diagnosis_view import Words, named, names_of, percent
from linkmotion.views.grid import Column, Grid

READING = (Column("notch", key=True, shared="{}"), Column("reading", key=True))
"""What names a reading: the first columns of a table of readings."""
_LISTED = 12  # suspects in the table
_EXPLAINED = 6  # explanations in theirs


def reading_cells(reading: Reading) -> tuple[str, str]:
    """A reading's notch, and what was read there."""
    way = f", {reading.direction}" if reading.direction else ""
    at = "" if reading.at is None else f", crank at {reading.at:g}°"
    return reading.notch, f"{reading.end} {reading.what}{way}{at}".strip()


def suspects_table(words: Words) -> Grid:
    """The suspects, likeliest first."""
    table = Grid("Suspects", [
        Column("dimension", key=True, shared="{}"), Column("wrong"),
        Column("off its figure\nif wrong", "off\nif wrong"),
        Column("from", over="19 in 20", spare=1), Column("to", over="19 in 20", spare=1), Column("standing", left=True),
    ])  # fmt: skip
    for own in [own for own in words.found.suspects if own.standing != NOT_SEEN][:_LISTED]:
        sizes = [words.departure(own.key, size) for size in (own.estimate, own.low, own.high)]
        table.row(named(own.key), percent(own.probability), *sizes, own.standing, bold=own.standing == FIRST)
    return table


def explanations_table(words: Words) -> Grid:
    """What is wrong together, likeliest first: limits of how far off each dimension is, if just these are wrong."""
    found = words.found.explanations
    many = f"the {_EXPLAINED} likeliest of {len(found)}" if len(found) > _EXPLAINED else "likeliest first"
    table = Grid(f"Explanations, {many}", [
        Column("wrong", key=True), Column("likely"),
        Column("from", over="if just these are"), Column("to", over="if just these are"),
    ])  # fmt: skip
    for number, own in enumerate(found[:_EXPLAINED]):
        likely = percent(own.probability)
        if not own.keys:
            table.row(names_of(own.keys), likely, "", "", bold=number == 0)
        for i, key in enumerate(own.keys):
            sizes = [words.departure(key, size) for size in (own.low[i], own.high[i])]
            and_, share = ("", likely) if i == 0 else ("and ", "")
            table.row(f"{and_}{named(key)}", share, *sizes, bold=number == 0)
    return table


def readings_table(words: Words) -> Grid:
    """Every reading beside what the gear as figured and as estimated would have given."""
    heads = ("read", "±", "gear as\nits file", "gear as\nestimated", "left over\nin ±")
    shorter = ("read", "±", "by the\nfile", "esti-\nmated", "left\nover")
    spare = (0, 1, 0, 0, 0)
    figures = [Column(head, short, spare=k) for head, short, k in zip(heads, shorter, spare, strict=True)]
    table = Grid("Readings", [*READING, *figures])
    found = words.found
    for i, reading in enumerate(found.readings):
        fitted = float(found.fitted[i])
        left = (reading.value - fitted) / (2 * reading.sigma)
        cells = [
            words.reading(reading, figure)
            for figure in (reading.value, 2 * reading.sigma, float(found.expected[i]), fitted)
        ]
        bold = abs(found.stands_out[i]) >= STANDS_OUT
        table.row(*reading_cells(reading), *cells, f"{left:+.1f}", bold=bold)
    return table
