"""A history in words: entries by their day, what changed between two days, what was altered since it was recorded."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from linkmotion.engine import DRAWING
from linkmotion.files.engine_history import History
from linkmotion.files.figure_edit import as_typed
from linkmotion.files.lengths import format_length
from linkmotion.files.photographs import missing
from linkmotion.files.seals import Seal
from linkmotion.files.since_recorded import Altered
from linkmotion.sides import MIDDLE, side_words
from linkmotion.studies.figures.figure import MM
from linkmotion.studies.record_history import Entry, WrittenFigure
from linkmotion.views.finding_words import dimension_in_words
from linkmotion.views.printout import OUT, Answer, Aside, Block, Heading, Point, Said


def history_blocks(found: History) -> Iterator[Block]:
    """All of it for a terminal; the answer first."""
    yield Answer(answer(found))
    for words in alteration_words(found):
        yield Point(words, OUT)
    for problem, remedy in missing(found.photos):
        yield Point(f"{problem}: {remedy}.", OUT)
    yield from (Point(words) for words in recorded_again(found))
    yield Heading(title(found))
    for own in found.entries:
        yield Heading(f"{day_words(own)}: {place(own)}")
        yield from (Said(words) for words in record_words(own))
        yield from figure_points(own.figures, found.engine.unit)
    if found.between is not None:
        yield Heading(between_words(found))
        yield from figure_points(found.changed, found.engine.unit)
    if found.outside:
        yield Said(f"{_many(found.outside, 'entry', 'entries')} of other days (leave out --since and --until).")
    if found.recorded:
        yield Said(
            f"Recorded now in {found.record.name}: {', '.join(_what(own) for own in found.recorded)}.",
            found.record.name,
        )
    yield Aside(
        "A day marked * is that of the state or file, since the place gives none itself. A change since recording is a "
        "notice and no proof: whoever can write the engine file can write the record beside it."
    )


def title(found: History) -> str:
    """What it is the history of."""
    return f"{found.engine.name}: {found.part.replace('_', ' ') or 'the whole gear'}"


def answer(found: History) -> str:
    """The answer in a sentence."""
    days = [own.on for own in found.entries if own.on is not None]
    undated = len(found.entries) - len(days)
    told = _many(len(found.entries), "entry", "entries")
    if days:
        told += f" from {min(days)} to {max(days)}" if min(days) != max(days) else f" of {days[0]}"
    told += f", {undated} of them undated" * bool(undated and days) + ", none with a day" * (not days)
    silent = sum(own.again is None for own in found.altered) + len(found.unsound)
    lacking = sum(bool(own.problem) for own in found.photos)
    ends = [f"{_many(silent, 'thing was', 'things were')} changed since recorded"] if silent else []
    ends += [f"{_many(lacking, 'photograph', 'photographs')} cannot be shown"] if lacking else []
    return f"{told}; {' and '.join(ends) or 'nothing has been changed since it was recorded'}."


def alteration_words(found: History) -> Iterator[str]:
    """What was changed since it was recorded, and not recorded again."""
    yield from (_altered(own) for own in found.altered if own.again is None)
    yield from found.unsound


def recorded_again(found: History) -> Iterator[str]:
    """What was recorded again, with its changes."""
    yield from (f"{_altered(own)} (recorded again on {own.again})" for own in found.altered if own.again is not None)


def _altered(own: Altered) -> str:
    head = f"{_what(own.seal)}: changed since recorded on {own.seal.recorded}:"
    if not own.key:
        return f"{head} it is gone"
    if own.was is None:
        return f"{head} {own.key} is {own.now}, and was not there"
    return f"{head} {own.key} was {own.was}, {'is gone' if own.now is None else f'is {own.now}'}"


def _what(seal: Seal) -> str:
    return seal.what + (f" of {seal.dated}" if seal.dated else "")


def day_words(own: Entry) -> str:
    """The day of an entry; * where it is the state's."""
    return "undated" if own.on is None else f"{own.on}{'' if own.own_day else '*'}"


def place(own: Entry) -> str:
    """Where it is."""
    side = side_words(own.side) if own.side else ""
    table = own.table if own.file else own.table.replace("_", " ").replace(".", ", ")
    return ", ".join(each for each in (own.file, own.state, side, table) if each)


def record_words(own: Entry) -> Iterator[str]:
    """Who, with what, the note, and whatever else the place says."""
    record = own.record
    told = [f"by {record.by}"] if record.by else []
    told += [f"with {record.instrument}"] if record.instrument else []
    told += [f"from engine {record.from_engine}"] if record.from_engine else []
    told += [f"starts from {own.based_on}"] if own.based_on else []
    told += ["valves set afresh"] if own.set_afresh else []
    if told:
        yield f"{', '.join(told)}."
    if record.note:
        yield " ".join(record.note.split())
    if record.photos:
        yield f"Photographs: {', '.join(record.photos)}."


def between_words(found: History) -> str:
    """What the changes are between."""
    assert found.between is not None
    before, after = found.between
    since, until = found.days
    when = f"{f'since {since}' if since else 'from the beginning'}{f' until {until}' if until else ''}"
    names = f"from {_named(before)} to {_named(after)}"
    return f"Changed {when}, {names}" + ("" if found.changed else ": nothing")


def _named(state: str) -> str:
    return "the drawing" if state == DRAWING else f"{state!r}"


def figure_points(figures: Iterable[WrittenFigure], unit: str) -> Iterator[Point]:
    """A line for each figure."""
    for own in figures:
        side, name, written, before, by = cells(own, unit)
        told = f" (before: {', '.join(each for each in (before, by) if each)})" if before else ""
        yield Point(f"{f'{side}, ' * bool(side)}{name}: {written}{told}")


def cells(own: WrittenFigure, unit: str) -> tuple[str, str, str, str, str]:
    """Side, figure, as written, before, and by how much more."""
    by = ""
    if own.by is not None:
        by = format_length(own.by, unit) if own.unit == MM else f"{own.by:.4g}°"
        by = by if by.startswith(("-", "−")) or own.by == 0 else f"+{by}"
    side = "" if own.side in MIDDLE else own.side  # where there is one alone, its name tells nothing
    return side, dimension_in_words(own.dimension), _spoken(own.written) or "–", _spoken(own.before), by


def _spoken(written: str) -> str:
    """A figure as written, its small tables and lists in words."""
    return _in_speech(as_typed(written)) if written.startswith(("{", "[")) else written


def _in_speech(value: object) -> str:
    match value:
        case Mapping():
            return ", ".join(f"{key.replace('_', ' ')} {_in_speech(own)}" for key, own in value.items())
        case list():
            return "; ".join(map(_in_speech, value))
        case _:
            return str(value)


def _many(count: int, one: str, more: str) -> str:
    return f"{count} {one if count == 1 else more}"
