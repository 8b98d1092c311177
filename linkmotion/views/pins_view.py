"""The schedule of pins and bushes on a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from linkmotion.files.lengths import UNIT_NAMES, format_length
from linkmotion.files.pins_table import Schedule
from linkmotion.views.grid import Column, Grid
from linkmotion.views.printout import OUT, Answer, Aside, Block, Heading, Point, Said
from linkmotion.views.tables import CAUTION
from linkmotion.wear.fits import SOURCES, Span
from linkmotion.wear.pin_schedule import Joint

_PLACES = {"mm": 3, "in": 4, "ft": 6, "thou": 1}


def pins_blocks(found: Schedule) -> Iterator[Block]:
    """All of it, the answer first."""
    unit = found.engine.unit
    yield Answer(answer(found))
    for own in found.joints:
        yield from (Point(words, OUT) for words in remark_words(own, unit))
    yield Heading(f"{found.engine.name}: {found.state}, lengths in {UNIT_NAMES[unit]}")
    yield _grid(found, "To make", ["size", "bore to", "turn to", "fit", "bush", "off"], made)
    if any(own.pin.outer for own in found.joints):
        yield _grid(found, "Bushes", ["housing to", "outside to", "fit", "bore first"], pressed)
    if any(own.found for own in found.joints):
        yield _grid(found, "As found", ["side", "bush", "pin", "loose by"], as_found)
    if found.unsized:
        yield Said(f"No sizes given: {', '.join(found.unsized)}.")
    yield Aside(f"Bore first: the bush's bore before it is pressed in, which closes it. Limits: {sources(found)}.")
    yield Aside(CAUTION)


def answer(found: Schedule) -> str:
    """The answer in a sentence."""
    count = sum(own.pin.quantity for own in found.joints)
    beyond = sum(bool(own.remarks) for own in found.joints)
    kinds = len(found.joints)
    told = f"{kinds} kind{'s' * (kinds != 1)} of pin, {count} in all"
    if not beyond:
        return f"{told}; none was found beyond the size it is to have."
    of = f" of {beyond} of the kinds" if kinds > 1 else ""
    return f"{told}; a pin or bush{of} was found that is not of the size it is to have."


def sources(found: Schedule) -> str:
    """Where the limits are from, of the standards that are used."""
    names = [fit.name for own in found.joints for fit in (own.pin.inner, own.pin.outer) if fit is not None]
    used = {"ANSI B4.1" if name.startswith("RC") else "ISO 286" for name in names}
    return "; ".join(words for name, words in SOURCES.items() if name in used)


def remark_words(own: Joint, unit: str) -> Iterator[str]:
    """What is to be said of a joint."""
    for side, words, size in own.remarks:
        yield f"{own.pin.name}, {side}: {words.format(format_length(size, unit, digits=_PLACES[unit]))}."


def limits(span: Span | None, unit: str) -> str:
    """Least and greatest, without the unit."""
    if span is None:
        return ""
    texts = [format_length(each, unit, digits=_PLACES[unit]).removesuffix(f" {unit}") for each in span]
    return texts[0] if texts[0] == texts[1] else "–".join(texts)


def made(own: Joint, unit: str) -> list[tuple[str, ...]]:
    """Quantity, size, bore, pin, fit, material, metal off."""
    pin = own.pin
    size, off = (limits(Span(each, each), unit) for each in (pin.made_to, pin.metal))
    return [(str(pin.quantity), size, limits(pin.inner.hole, unit), limits(pin.inner.shaft, unit), pin.inner.name,
             pin.material or "none", off if pin.metal else "")]  # fmt: skip


def pressed(own: Joint, unit: str) -> list[tuple[str, ...]]:
    """Quantity, housing, outside of the bush, fit, bore before pressing."""
    outer = own.pin.outer
    if outer is None:
        return []
    before = None if own.pressing is None else own.pressing.bore_before
    return [
        (str(own.pin.quantity), limits(outer.hole, unit), limits(outer.shaft, unit), outer.name, limits(before, unit))
    ]


def as_found(own: Joint, unit: str) -> list[tuple[str, ...]]:
    """Side, bush, pin, clearance."""
    return [
        ("1", side, limits(each.bush, unit), limits(each.pin, unit), limits(Span(each.clearance, each.clearance), unit))
        for side, each in own.found.items()
    ]


def _grid(found: Schedule, title: str, heads: list[str], rows: object) -> Grid:
    assert callable(rows)
    grid = Grid(title, [Column("joint", key=True), *map(Column, ["no.", *heads])])
    for own in found.joints:
        for row in rows(own, found.engine.unit):
            grid.row(own.pin.name, *row)
    return grid
