"""One way of cleaning up a slot, with its figures and the side that follows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from linkmotion.face.names import known
from linkmotion.face.notched import StudiedSide
from linkmotion.face.tables import Table, one_line, table
from linkmotion.files.lengths import UNITS
from linkmotion.files.results import in_unit
from linkmotion.studies.slot.in_gear import SlotInGear
from linkmotion.studies.slot.machining_rows import measure_row, station_row
from linkmotion.studies.slot.measures import measures
from linkmotion.studies.slot.parts import Proposal
from linkmotion.studies.slot.stations import stations
from linkmotion.studies.slot.workpiece import Workpiece, workpiece
from linkmotion.wear.slot_drawing import FACES


@dataclass(frozen=True, eq=False, repr=False)
class SlotProposal:
    """A proposal for a slot; lengths in the engine file's unit.

    Attributes
    ----------
    found : SlotInGear
        All proposals, and the gear with each; mm.
    proposal : Proposal
        This one; mm.
    unit, of : str, str
        Of its lengths; whose slot it is.
    """

    found: SlotInGear
    proposal: Proposal
    unit: str
    of: str = ""

    @property
    def name(self) -> str:
        """About which centre or line, and whether within limits: "drawn centre", "worn line, limited"."""
        return self.proposal.name

    @property
    def mean_cut(self) -> float:
        """Metal cut, mean over both faces along the slot."""
        return self.proposal.mean_cut / self._scale

    @property
    def deepest_cuts(self) -> dict[str, float]:
        """Face → deepest cut below the worn surface."""
        return {cut.face: float(cut.cut.max()) / self._scale for cut in self.proposal.faces}

    @property
    def clean(self) -> bool:
        """Whether both faces clean up everywhere."""
        return all(cut.clean for cut in self.proposal.faces)

    @property
    def slot_width(self) -> float:
        """Of the finished slot between its faces."""
        return self.proposal.width / self._scale

    @property
    def die_width(self) -> float:
        """Of the die block to be made, between its faces."""
        return self.proposal.die.width / self._scale

    @property
    def die_pin_ahead(self) -> float:
        """Pin hole ahead of the middle of the die block (negative: behind)."""
        return self.proposal.die.pin_offset / self._scale

    @property
    def path_off_drawn(self) -> float:
        """Greatest distance of the pin's path from the drawn centre line, with that die."""
        return self.proposal.residual / self._scale

    @property
    def path_off_drawn_hole_in_middle(self) -> float:
        """The same with a die that has its pin hole in the middle."""
        return self.proposal.plain_residual / self._scale

    def depth(self, face: str, place: float = 0.0) -> float:
        """Depth of the finished face below the drawn one, in the file's unit; negative: above it.

        Parameters
        ----------
        face : str
            "front" or "back".
        place : float
            Along the slot from its middle, + up, in the file's unit.

        Raises
        ------
        UnknownName
            No such face.
        """
        cut = self.proposal.faces[FACES.index(known("face", face, FACES))]
        return float(self.found.done.drawing.depth(face, place * self._scale, cut.course)) / self._scale

    @property
    def cleaned(self) -> StudiedSide:
        """The side with the die as proposed.

        Raises
        ------
        ValueError
            The gear cannot pass so.
        """
        return self._side(self.found.after, self.name)

    @property
    def hole_in_middle(self) -> StudiedSide:
        """The side with a die that has its pin hole in the middle; raises as :attr:`cleaned`."""
        return self._side(self.found.plain, f"{self.name}, pin hole in the middle")

    def plot(self, ax: Any = None) -> Any:
        """The slot to scale: as drawn, as read, as it is to be cut, with the die block in it.

        Parameters
        ----------
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.views.machining_plots import plot_cleanup

        return plot_cleanup(self.found.done, self.proposal, unit=self.unit, ax=ax)

    def plot_face(self, face: str, ax: Any = None) -> Any:
        """A face magnified across: worn surface, finished surface, and the cut between.

        Parameters
        ----------
        face : str
            "front" or "back" (else UnknownName).
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.views.machining_plots import plot_face_cut

        return plot_face_cut(self.found.done, self.proposal, known("face", face, FACES), self.unit, ax)

    def plot_machining(self, ax: Any = None) -> Any:
        """The machining drawing: the slot in its link and the die block, with every dimension, limits and notes.

        Parameters
        ----------
        ax : matplotlib axes, optional
            New ones, of 7.2 by 9 inches, unless given; returned.
        """
        from linkmotion.views.machining_drawing import plot_machining

        return plot_machining(self._piece, self.of, self.unit, ax)

    def measures(self) -> Table:
        """What the machining drawing says: every dimension with its limits; in the file's unit, a lean in degrees."""
        piece = self._piece
        rows = [in_unit(measure_row(piece, own, self.unit), self.unit) for own in measures(piece)]
        headings = {key: "" for key in ("key", "words", "of", "kind", "unit", "value", "least", "most")}
        return table(f"{self.of}: {self.name}", headings, rows)

    def stations(self) -> Table:
        """Ordinates from the datum along both faces: x, cut, what stays low, x of the cutter's centre."""
        rows = [in_unit(station_row(own), self.unit) for own in stations(self._piece, self.unit)]
        headings = {key: "" if key == "station" else self.unit for key in rows[0]}
        return table(f"{self.of}: {self.name}", headings, rows)

    @property
    def _piece(self) -> Workpiece:
        return workpiece(self.found, self.proposal, self.unit)

    def _side(self, sides: Any, what: str) -> StudiedSide:
        if self.name not in sides:
            raise ValueError(f"{self.name}: the gear cannot pass: {self.found.stuck[self.name]}")
        return StudiedSide(what, sides[self.name], self.unit)

    @property
    def _scale(self) -> float:
        return float(UNITS[self.unit])

    def __repr__(self) -> str:
        """In one line."""
        told = [f"slot {self.slot_width:.5g} {self.unit} wide", f"mean cut {self.mean_cut:.3g} {self.unit}"]
        return one_line("SlotProposal", self.name, [*told, "clean" if self.clean else "left low"])
