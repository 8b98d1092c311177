"""A side by its notches: what the sides of a state, an estimate and a clean-up have in common."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import DIRECTIONS, FORWARD
from linkmotion.face.names import known
from linkmotion.face.notch import FIGURES, Notch
from linkmotion.face.pictures import SidePictures
from linkmotion.face.series import SideSeries
from linkmotion.face.tables import Table, one_line, table
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents

if TYPE_CHECKING:
    from linkmotion.face.eccentric import EquivalentEccentric
    from linkmotion.face.lost_motion import LostMotion


class NotchedSide(SidePictures, SideSeries):
    """A side in motion in every notch; lengths in the engine file's unit."""

    @property
    def notches(self) -> tuple[str, ...]:
        """Names of the reverser's positions, in file order."""
        return self.assessed.notches

    def __getitem__(self, notch: str | tuple[str, str]) -> Notch:
        """A notch by its name, in the direction in which it drives (forward, where it drives in both).

        ``left["mid", "backward"]`` names the direction too.
        """
        name, direction = notch if isinstance(notch, tuple) else (notch, None)
        number = self.notches.index(known("notch", name, self.notches))
        if direction is None:
            drives = self.assessed.drives[number]
            return Notch(self.assessed, number, drives if drives in DIRECTIONS else FORWARD, self.unit)
        return Notch(self.assessed, number, known("direction", direction, DIRECTIONS), self.unit)

    def figure(self, notch: str, name: str) -> float | None:
        """A figure of a notch by name: ``left.figure("mid", "front.lead")``.

        Parameters
        ----------
        notch, name : str
            The notch, in the direction in which it drives; the figure, as :meth:`linkmotion.Notch.figure` takes it.

        Raises
        ------
        UnknownName
            No such notch or figure; the nearest is told.
        """
        return self[notch].figure(name)

    def figures(self, name: str, direction: str | None = None) -> NDArray[np.float64]:
        """A figure of every notch, shape (notches,); NaN where it does not occur.

        Parameters
        ----------
        name : str
            As :meth:`figure` takes it: ``"front.lead"``, ``"travel"``.
        direction : str, optional
            "forward" or "backward"; as each notch drives unless given.

        Raises
        ------
        UnknownName
            No such figure or direction.
        """
        known("figure", name, FIGURES)
        own = [self[notch] if direction is None else self[notch, direction] for notch in self.notches]
        return np.array([notch.figure(name) for notch in own], float)

    def lost_motion(self, notch: str) -> LostMotion:
        """Free movement of the valve at places round the wheel, from each joint, with the wheel held.

        Exact to first order in the clearances; what is neglected goes by their square.

        Parameters
        ----------
        notch : str
            By name.

        Raises
        ------
        UnknownName
            No such notch.
        """
        from linkmotion.face.lost_motion import lost_motion_of

        return lost_motion_of(self.assessed, self._at(notch, None)[1], self.unit)

    def equivalent_eccentric(self, notch: str) -> EquivalentEccentric:
        """The single eccentric that would drive the valve most nearly alike.

        Parameters
        ----------
        notch : str
            By name.

        Raises
        ------
        UnknownName
            No such notch.
        """
        from linkmotion.face.eccentric import equivalent_eccentric_of

        return equivalent_eccentric_of(self.assessed, self._at(notch, None)[1], self.unit)

    def lead_errors(self, out_by: float = 1.0) -> Table:
        """What leads are read wrong by when the wheel stands off the true dead centre.

        One row for a notch: for each end the lead read less the true one, with the wheel past the dead centre
        (``front_past``) and short of it (``front_short``) in forward running.

        Parameters
        ----------
        out_by : float
            How far it stands off, degrees.
        """
        from linkmotion.studies.setting.lead_errors import lead_errors

        found, rows = lead_errors(self.assessed, out_by), []
        for number, notch in enumerate(self.notches):
            past = {f"{end}_past": own[number] / self._scale for end, own in found.after.items()}
            short = {f"{end}_short": own[number] / self._scale for end, own in found.before.items()}
            rows.append({"notch": notch} | past | short)
        units = {name: "" if name == "notch" else self.unit for name in rows[0]}
        title = f"{self.assessed.state}, {side_words(self.assessed.side)}: lead errors, wheel {out_by:g}° off"
        return table(title, units, rows)


@dataclass(frozen=True, eq=False, repr=False)
class StudiedSide(NotchedSide):
    """A side as a study takes it to be: as estimated from readings, or with its slot cleaned up.

    Attributes
    ----------
    what : str
        How it is taken to be, in words.
    assessed : SideEvents
        The side in motion in every notch (mm and degrees).
    unit : str
        Of every length.
    """

    what: str
    assessed: SideEvents
    unit: str

    def dimension(self, name: str) -> float:
        """A length (in the unit) or an angle (degrees).

        Parameters
        ----------
        name : str
            Its key, such as ``"eccentric_rod.length"``.

        Raises
        ------
        UnknownName
            No such dimension.
        """
        from linkmotion.face.dimensions import figure_of

        return figure_of(self.assessed.gear, name, self.unit)

    def __repr__(self) -> str:
        """In one line."""
        return one_line("StudiedSide", self.assessed.side, [self.what, f"{len(self.notches)} notches"])
