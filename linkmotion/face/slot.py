"""A worn slot cleaned up, from a state's readings along its faces."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from linkmotion.face.dimensions import length_of
from linkmotion.face.names import UnknownName, known
from linkmotion.face.notched import StudiedSide
from linkmotion.face.proposal import SlotProposal
from linkmotion.face.side import Side
from linkmotion.face.tables import Table, one_line, table
from linkmotion.files.faults import nearest
from linkmotion.files.lengths import format_length
from linkmotion.files.results import in_unit
from linkmotion.files.schema import cleanup_model
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.slot.cleanup_rows import clean_within, proposal_row
from linkmotion.studies.slot.in_gear import MID_SLOT, SlotInGear, clean_up_in_gear, gauge_of, slot_of
from linkmotion.studies.slot.parts import Limits, Tools
from linkmotion.studies.slot.remarks import remarks
from linkmotion.wear.slot_drawing import FACES, SlotError
from linkmotion.wear.slot_faces import FaceReadings, SlotReadings

LIMITS = ("cut_front", "cut_back", "wall_front", "wall_back", "least_wall")
TOOLS = ("cutter", "station_step", "die_hole")


@dataclass(frozen=True, eq=False, repr=False)
class SlotCleanUp:
    """Proposals for cleaning up a worn slot.

    Attributes
    ----------
    side : Side
        Whose link.
    found : SlotInGear
        The proposals with the events that follow; mm.
    """

    side: Side
    found: SlotInGear

    @property
    def proposals(self) -> tuple[str, ...]:
        """Their names."""
        return tuple(proposal.name for proposal in self.found.done.proposals)

    def table(self) -> Table:
        """One row for a proposal: its figures in the engine file's unit, and whether it is clean within the limits."""
        rows = []
        for proposal in self.found.done.proposals:
            row = in_unit(proposal_row(self.found, proposal), self.side.unit)
            rows.append(row | {"within_limits": clean_within(self.found, proposal)})
        headings = {key: self.side.unit if isinstance(value, float) else "" for key, value in rows[0].items()}
        plain = {key: unit for key, unit in headings.items() if not isinstance(rows[0][key], dict)}
        return table(f"{self._of}: slot", plain, rows)

    def rows(self) -> list[dict[str, Any]]:
        """The proposals, a dict each."""
        return self.table().rows()

    def to_frame(self) -> Any:
        """The proposals as a pandas DataFrame."""
        return self.table().to_frame()

    def __getitem__(self, proposal: str) -> SlotProposal:
        """A proposal by its name."""
        own = self.found.done.proposals[self.proposals.index(known("proposal", proposal, self.proposals))]
        return SlotProposal(self.found, own, self.side.unit, self._of)

    @property
    def as_drawn(self) -> StudiedSide:
        """The side with its slot as drawn."""
        return self._side("slot as drawn", self.found.before)

    @property
    def worn(self) -> StudiedSide:
        """The side with its slot as read, the pin midway between the faces.

        Raises
        ------
        ValueError
            The gear cannot pass so.
        """
        return self._side("slot as read", self.found.worn)

    def sentences(self) -> list[str]:
        """What is to be said of the readings and the proposals, warnings first."""
        return [
            remark.words.format(*(format_length(size, self.side.unit, digits=3) for size in remark.sizes))
            for remark in remarks(self.found.done)
        ]

    def plot(self, ax: Any = None) -> Any:
        """The slot to scale with the last proposal; see :meth:`SlotProposal.plot` for the others.

        Parameters
        ----------
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        return self[self.proposals[-1]].plot(ax)

    @property
    def _of(self) -> str:
        return f"{self.side.engine.name}: {self.side.state}, {side_words(self.side.name)}"

    def _side(self, what: str, side: SideEvents | None) -> StudiedSide:
        if side is None:
            raise ValueError(f"{what}: the gear cannot pass")
        return StudiedSide(what, side, self.side.unit)

    def __repr__(self) -> str:
        """In one line."""
        return one_line("SlotCleanUp", self.side.name, [f"{len(self.proposals)} proposals", ", ".join(self.proposals)])

    def _repr_html_(self) -> str:
        return self.table()._repr_html_()


def clean_up(side: Side, readings: Mapping[str, Any] | None, given: Mapping[str, Any]) -> SlotCleanUp:
    """Clean up the slot of a side; see :meth:`Side.clean_up`.

    Parameters
    ----------
    side : Side
        Whose link.
    readings, given : dict
        As :meth:`Side.clean_up` takes them: depth readings (None: the state's own), figures of [cleanup].

    Raises
    ------
    ValueError
        No readings of the slot's faces, no slot_width or gauge, or readings that cannot be used.
    """
    figures = {**side.engine.cleanup, **_read(given, side.unit)}
    condition = side.setup.condition
    slot_of(side.setup.gear)
    if readings is None and not condition.slot:
        raise ValueError(f"no depth readings of the slot ({side.state}, {side_words(side.name)})")
    for key in ("slot_width", "gauge"):
        if key not in figures:
            meaning = cleanup_model(side.unit).model_fields[key].description
            raise ValueError(f"{key} is missing: give {key}=…, or [cleanup] in the engine file ({meaning})")
    try:
        found = clean_up_in_gear(
            side.setup,
            SlotReadings(*_faces(side, readings), *gauge_of(figures)),
            figures["slot_width"],
            figures.get("die_length", condition.die_length),
            Limits(**{key: figures[key] for key in LIMITS if key in figures}),
            figures.get("clearance", 0.1),
            figures.get("allowance", 0.0),
            figures.get("datum", MID_SLOT),
            Tools(**{key: figures[key] for key in TOOLS if key in figures}),
        )
    except SlotError as error:
        raise ValueError(f"slot: {error}; {error.remedy}") from None
    return SlotCleanUp(side, found)


def _faces(side: Side, readings: Mapping[str, Any] | None) -> tuple[FaceReadings, FaceReadings]:
    """Both faces' readings: those given, or the state's own."""
    if readings is None:
        slot = side.setup.condition.slot
        at = [reading.at for reading in slot]
        front, back = (FaceReadings(at, [getattr(reading, face) for reading in slot]) for face in FACES)
        return front, back
    wanted = ("at", *FACES)
    for name in readings:
        known("list of readings", name, wanted)
    for name in wanted:
        if name not in readings:
            raise ValueError(f"readings: {name!r} is missing: give {', '.join(map(repr, wanted))}")
    lists = {name: [length_of(f"readings, {name}", own, side.unit) for own in readings[name]] for name in wanted}
    front, back = (FaceReadings(lists["at"], lists[face]) for face in FACES)
    return front, back


def _read(given: Mapping[str, Any], unit: str) -> dict[str, Any]:
    """Figures of the [cleanup] table as a user writes them."""
    from pydantic import ValidationError

    model = cleanup_model(unit)
    for key in given:
        if key not in model.model_fields:
            raise UnknownName(f"there is no figure {key!r} for a clean-up: {nearest(key, list(model.model_fields))}")
    try:
        read = model.model_validate(dict(given))
    except ValidationError as error:
        first = error.errors()[0]
        raise ValueError(f"{first['loc'][0]}: {first['ctx']['error']}") from None
    return {key: getattr(read, key) for key in given}
