"""A file that is no engine yet, or no longer: its drawing's figures, so that what is wanted or wrong can be entered."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, dataclass, fields, replace
from typing import Any, get_type_hints

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import GONE, Place, as_typed, figure_at, read_tables, typed, with_figure
from linkmotion.files.gathered import Gathered
from linkmotion.files.journal import Change
from linkmotion.files.pattern import pattern
from linkmotion.files.rules_proposed import Proposal, proposals
from linkmotion.files.schema import table_model, targets_model
from linkmotion.files.source import BLANK, BOM, Source, dotted
from linkmotion.files.usual_keys import still_asked
from linkmotion.files.validated import validated
from linkmotion.gears import GEARS, Gear
from linkmotion.gears.layout_rules import rules_of
from linkmotion.gears.letters import letters
from linkmotion.views.tables import Shown
from linkmotion.views.taken_words import with_doubt

LEAD: Place = ("targets", "lead")
_LONGEST_NAME = 40  # characters of a notch's name
_DIE = re.compile(r"die\s+(?:at\s+)?(?P<height>.+)", re.IGNORECASE)


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
        Whether it alone can stand instead of another that is usual, such as the stroke of the crank's radius.
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


@dataclass(frozen=True)
class Step:
    """A step in which a drawing is filled in: its title, what it asks for, and the figures by part."""

    title: str
    words: str
    parts: Mapping[str, list[Blank]]

    @property
    def wanted(self) -> int:
        """How many of its figures are still to be given."""
        return sum(own.needed for part in self.parts.values() for own in part)


def steps(work: EngineAtWork) -> list[Step]:
    """The figures of a drawing in the order in which they are asked; none where it is no engine file at all."""
    found = blanks(work)
    if not found:
        return []
    shared = {table.name.replace("_", " ") for table in fields(Gear)} | {"targets"}
    ruled = {part: [own for own in every if own.rule] for part, every in found.items()}
    plain = {part: [own for own in every if not own.rule] for part, every in found.items()}
    made = (
        ("First the crank, the rod and the valve", "Whatever the gear, these are asked first.",
         {part: own for part, own in plain.items() if part in shared}),
        ("Then the parts of this gear", "Measured, or taken from a drawing. The letters show where each lies.",
         {part: own for part, own in plain.items() if part not in shared}),
        ("The rest, as the trade lays gears out",
         "Measure these too where you can, and write what you measured. Where you cannot, take what the rule proposes: "
         "it stays marked, and its doubt goes into all that follows.", ruled),
    )  # fmt: skip
    return [Step(title, words, own) for title, words, parts in made if (own := {k: v for k, v in parts.items() if v})]


def blanks(work: EngineAtWork) -> dict[str, list[Blank]]:
    """The figures of a file's drawing by part, as far as they can be read; none where it is no engine file at all."""
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
    table = get_type_hints(gear)[name]
    either = {those[0] for those, _instead in getattr(table, "INSTEAD", ()) if len(those) == 1}
    for key in fields(table):
        kind, words = key.metadata["kind"], key.metadata["meaning"]
        value, place, letter = given.get(key.name), (name, key.name), lettered.get((name, key.name), "")
        stands = "" if value == BLANK else typed(value)
        needed, must = not stands and (value == BLANK or key.name in asked), key.default is MISSING
        if kind in ("length", "angle"):
            own = "°" if kind == "angle" else unit
            yield Blank(place, words, own, stands, needed, (), letter, must=must, instead=key.name in either)
        elif kind == "words":
            yield Blank(place, words, "", stands, needed, tuple(key.metadata["choices"]), letter, must=must)
        elif kind == "notches":
            die = "; or the die: die 2 1/4 in above the middle, minus below" if key.metadata["die_places"] else ""
            for notch, each in (value if isinstance(value, Mapping) else {}).items():
                told = "arm in {}, 0 pointing forward, + up{}" if die else key.metadata["meaning"] + ": {}"
                own = "" if each == BLANK else _die(each)
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


def _die(value: Any) -> str:
    """A notch as it is typed: an arm's angle, or where the die stands."""
    return f"die {typed(value['die'])}" if isinstance(value, Mapping) and set(value) == {"die"} else typed(value)


def wanted(work: EngineAtWork) -> int:
    """How many figures that cannot be left out are still wanted."""
    return sum(own.needed for part in blanks(work).values() for own in part)


def filled(work: EngineAtWork) -> dict[str, Any]:
    """How far it is filled in: figures wanted, in all and by step, and what the rules propose now ("": nothing yet)."""
    found = steps(work)
    every = [own for step in found for part in step.parts.values() for own in part]
    return {
        "wanted": sum(own.needed for own in every), "steps": [step.wanted for step in found],
        "proposed": {own.name: own.proposed for own in every if own.rule},
    }  # fmt: skip


def fill(work: EngineAtWork, name: str, value: str, seen: int) -> Change | None:
    """Write one figure of a file that is being filled in.

    Raises
    ------
    FileError
        There is no such figure, or it cannot be what was typed; the file is as it was.
    """
    known = {own.name: own for part in blanks(work).values() for own in part}
    blank = known.get(name)
    if blank is None:
        raise FileError(name, "there is no such figure to fill in", "load the page anew")
    entered = _entered(blank, value.strip())

    def made(text: str) -> str:
        try:
            new = with_figure(text, blank.place, entered)
        except ValueError as error:
            raise FileError(work.path.name, str(error), "nothing was changed", key=name) from None
        if value.strip():
            _see(work, new, blank.place, entered)
        return new

    return work.kept.change(made, f"{blank.words}: {value.strip() or 'left open'}", seen, (blank.place,))


def add_notch(work: EngineAtWork, name: str, seen: int) -> Change | None:
    """One more notch of the reverser, to be filled in.

    Raises
    ------
    FileError
        It cannot be a notch's name, or there is one; the file is as it was.
    """
    name = " ".join(name.split())
    if not name or len(name) > _LONGEST_NAME or not name.isprintable() or '"' in name:
        raise FileError("notch", "a notch needs a name", "such as: forward 50")
    place = ("reversing", "notches", name)
    if figure_at(read_tables(work.kept.text), place) is not None:
        raise FileError(name, "there is a notch of this name already", "choose another name")
    if not isinstance(figure_at(read_tables(work.kept.text), place[:2]), Mapping):
        raise FileError("notch", "this gear has no reverser with notches", "leave it as it is")

    def made(text: str) -> str:
        try:
            return with_figure(text, place, BLANK)
        except ValueError as error:
            raise FileError(work.path.name, str(error), "write it into the file by hand") from None

    return work.kept.change(made, f"one more notch: {name}", seen, (place,))


def _entered(blank: Blank, value: str) -> Any:
    """What was typed, as it stands in the file."""
    if not value:
        return BLANK if blank.must else GONE
    die = _DIE.fullmatch(value) if blank.place[1:2] == ("notches",) else None
    if die is not None:
        return {"die": as_typed(die["height"])}
    if blank.place[1:] == ("set_in",) and value in blank.choices:
        notch, _comma, direction = value.rpartition(", running ")
        return {"notch": notch, "direction": direction}
    return as_typed(value)


def _see(work: EngineAtWork, text: str, place: Place, wanted: Any) -> None:
    """Refuse a figure that cannot be one, whatever the others are."""
    head = read_tables(text)["engine"]
    table: Any = wanted
    for step in reversed(place[1:]):
        table = {step: table}
    unit = str(head["unit"])
    model = (
        targets_model(unit) if place == LEAD
        else table_model(get_type_hints(GEARS[head["gear"]])[place[0]], unit, False)
    )  # fmt: skip
    try:
        validated(Source(text.lstrip(BOM), work.path.name), model, table, place[:1], Gathered())
    except FileError as error:
        if error.key == dotted(place):
            raise
