"""A file that is no engine yet, or no longer: its drawing's figures, so that what is wanted or wrong can be entered."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import MISSING, dataclass, fields, replace
from typing import Any

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import Place, read_tables, typed
from linkmotion.files.pattern import pattern
from linkmotion.files.rules_proposed import Proposal, proposals
from linkmotion.files.source import BLANK
from linkmotion.files.usual_keys import still_asked
from linkmotion.gears import GEARS, Gear
from linkmotion.gears.layering import table_types
from linkmotion.gears.layout_rules import rules_of
from linkmotion.gears.letters import letters
from linkmotion.views.tables import Shown
from linkmotion.views.taken_words import with_doubt

LEAD: Place = ("targets", "lead")


@dataclass(frozen=True)
class Blank:
    """A figure of the drawing.

    Attributes
    ----------
    place : tuple of str
        Table and key.
    words, unit : str
        What it is; of a bare number.
    value : str
        What stands there, "" while nothing does.
    needed : bool
        Whether it is still to be given: it cannot be left out, and nothing stands instead of it.
    choices : tuple of str
        The words of which one stands there, where it is no figure.
    letter : str
        As on the drawing, or "".
    rule : Proposal or None
        What a rule of the trade proposes, where there is one.
    proposed : str
        The same in words, with its doubt; "" while it cannot be told.
    must : bool
        Whether its key stands in every file, if only as a blank.
    instead : bool
        Whether it is shown though it may be left out: it alone can stand instead of another that is usual, as the
        stroke of the crank's radius, or it is a choice that such a gear usually makes.
    """

    place: Place
    words: str
    unit: str
    value: str
    needed: bool = True
    choices: tuple[str, ...] = ()
    letter: str = ""
    rule: Proposal | None = None
    proposed: str = ""
    must: bool = False
    instead: bool = False

    @property
    def name(self) -> str:
        """By which a page knows it."""
        return ".".join(self.place)


def blanks(work: EngineAtWork) -> dict[str, list[Blank]]:
    """The figures of a file's drawing by part, as far as they can be read; none where it is no engine file at all."""
    _ = work.engine  # the file as it is now
    return work.once(("blanks",), lambda: _read(work))


def _read(work: EngineAtWork) -> dict[str, list[Blank]]:
    try:
        document = read_tables(work.kept.text)
        gear, unit = GEARS[document["engine"]["gear"]], str(document["engine"]["unit"])
    except (ValueError, RecursionError, KeyError, TypeError):
        return {}
    found, notches = {}, _notches(document, gear)
    for name in (table.name for table in fields(gear)):
        given = document.get(name, {})
        own = list(_of_table(name, gear, given, unit, notches)) if isinstance(given, Mapping) else []
        if own:
            found[name.replace("_", " ")] = own
    if rules_of(gear):
        lead = _at(document, LEAD)
        words = "lead for which it was laid out, where it is known: rules work from it, and it is looked at as wanted"
        found["targets"] = [Blank(LEAD, words, unit, typed(lead), False)]
        _propose(found, document, unit)
    return found


def _at(document: Mapping[str, Any], place: Place) -> Any:
    table = document.get(place[0], {})
    return table.get(place[1]) if isinstance(table, Mapping) else None


def _propose(found: dict[str, list[Blank]], document: Mapping[str, Any], unit: str) -> None:
    """Put beside each figure what a rule proposes for it."""
    try:
        ruled = proposals(document)
    except (
        FileError,
        ValueError,
        TypeError,
        AttributeError,
    ):
        return  # something that is given is no figure, and is told there
    shown = Shown(unit)
    for part, every in found.items():
        for number, own in enumerate(every):
            rule = ruled.get((own.place[0], ".".join(own.place[1:])))
            if rule is not None:
                kind = "degrees" if own.unit == "°" else "mm"
                words = "" if rule.value is None else with_doubt(rule.value, rule.doubt, kind, shown)
                found[part][number] = replace(own, rule=rule, proposed=words)


def _of_table(
    name: str, gear: type[Gear], given: Mapping[str, Any], unit: str, notches: tuple[str, ...]
) -> Iterator[Blank]:
    lettered = letters(gear)
    there = [key for key, value in given.items() if value != BLANK]
    asked = set(still_asked(gear.name, name, there))
    table = table_types(gear)[name]
    either = {those[0] for those, _instead in getattr(table, "INSTEAD", ()) if len(those) == 1}
    drawn = pattern(gear.name)
    usual = drawn.drawing.get(name, {}) if drawn else {}
    for key in fields(table):
        kind, words = key.metadata["kind"], key.metadata["meaning"]
        value, place, letter = given.get(key.name), (name, key.name), lettered.get((name, key.name), "")
        stands = "" if value == BLANK else typed(value)
        needed, must = not stands and (value == BLANK or key.name in asked), key.default is MISSING
        if kind in ("length", "angle"):
            own = "°" if kind == "angle" else unit
            yield Blank(place, words, own, stands, needed, (), letter, must=must, instead=key.name in either)
        elif kind == "words":
            yield Blank(
                place,
                words,
                "",
                stands,
                needed,
                tuple(key.metadata["choices"]),
                letter,
                must=must,
                instead=key.name in usual,
            )
        elif kind == "notches":
            die = "; or the die: die 2 1/4 in above the middle, minus below" if key.metadata["die_places"] else ""
            for notch, each in (value if isinstance(value, Mapping) else {}).items():
                told = "arm in {}, 0 pointing forward, + up{}" if die else key.metadata["meaning"] + ": {}"
                own = "" if each == BLANK else typed(each)
                yield Blank((*place, notch), told.format(notch, die), "°", own, not own, (), letter, must=True)
        elif kind == "setting":
            yield Blank(place, words, "", _set_words(value), needed, tuple(_settings(notches)), letter)


def _notches(document: Mapping[str, Any], gear: type[Gear]) -> tuple[str, ...]:
    """Notches in which a rule can set the valve: those of the file, else those that a bare gear has."""
    own = document.get("reversing", {})
    own = own.get("notches") if isinstance(own, Mapping) else None
    if isinstance(own, Mapping):
        return tuple(own)
    drawn = pattern(gear.name)
    return (*(drawn.gear().notches if drawn else ()), "fixed")


def _settings(notches: tuple[str, ...]) -> Iterator[str]:
    for notch in notches:
        for direction in ("forward", "backward"):
            yield _set_words({"notch": notch, "direction": direction})


def _set_words(value: Any) -> str:
    if isinstance(value, Mapping) and {"notch", "direction"} <= set(value):
        return f"{value['notch']}, running {value['direction']}"
    return "" if value in (None, BLANK) else typed(value)
