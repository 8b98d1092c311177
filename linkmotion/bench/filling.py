"""A drawing filled in on the bench, step by step: what is asked, how far it is, and each figure as it is typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from linkmotion.bench.blanks import LEAD, Blank, blanks
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import GONE, Place, as_typed, figure_at, read_tables
from linkmotion.files.gathered import Gathered
from linkmotion.files.journal import Change
from linkmotion.files.lines_edit import with_figure
from linkmotion.files.schema import table_model, targets_model
from linkmotion.files.source import BLANK, BOM, Source, dotted
from linkmotion.files.validated import validated
from linkmotion.gears import GEARS, Gear
from linkmotion.gears.layering import table_types

_LONGEST_NAME = 40  # characters of a notch's name


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

    @property
    def names(self) -> set[str]:
        """Of its figures."""
        return {own.name for part in self.parts.values() for own in part}


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
        else table_model(table_types(GEARS[head["gear"]])[place[0]], unit, False)
    )  # fmt: skip
    try:
        validated(Source(text.lstrip(BOM), work.path.name), model, table, place[:1], Gathered())
    except FileError as error:
        if error.key == dotted(place):
            raise
