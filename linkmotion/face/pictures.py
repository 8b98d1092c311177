"""Pictures of a side: each method draws one plot into axes (new ones unless given) and returns them."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from linkmotion.face.notch import Notch
    from linkmotion.face.notched import NotchedSide
    from linkmotion.studies.assess import SideEvents


class SidePictures:
    """The plots of a side, its lengths in the engine file's unit; ``direction`` as the notch drives unless given."""

    if TYPE_CHECKING:

        @property
        def unit(self) -> str:
            """Of every length."""

        @property
        def assessed(self) -> SideEvents:
            """The side turned in every notch."""

        def __getitem__(self, notch: str | tuple[str, str]) -> Notch:
            """A notch by its name."""

    def plot_openings(self, notch: str, direction: str | None = None, ax: Any = None) -> Any:
        """Port openings, to steam and to exhaust, against the crank angle.

        Parameters
        ----------
        notch : str
            By name; UnknownName tells the nearest.
        direction : str, optional
            "forward" or "backward"; as the notch drives unless given.
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.views.plots import plot_openings

        return plot_openings(*self._at(notch, direction), self.unit, ax)

    def plot_openings_by_piston(
        self, notch: str, end: str = "front", direction: str | None = None, ax: Any = None
    ) -> Any:
        """Port openings of one end against the piston's place.

        Parameters
        ----------
        notch, direction, ax
            As for :meth:`plot_openings`.
        end : str
            "front" or "back".
        """
        from linkmotion.face.names import known
        from linkmotion.valve import ENDS
        from linkmotion.views.plots import plot_openings_by_piston

        side, number, way = self._at(notch, direction)
        return plot_openings_by_piston(side, number, known("end", end, ENDS), way, self.unit, ax)

    def plot_displacement(self, notch: str, direction: str | None = None, ax: Any = None) -> Any:
        """The valve from central, with its laps and events, against the crank angle.

        Parameters
        ----------
        notch, direction, ax
            As for :meth:`plot_openings`.
        """
        from linkmotion.views.plots import plot_displacement

        return plot_displacement(*self._at(notch, direction), self.unit, ax)

    def plot_polar(self, notch: str, direction: str | None = None, ax: Any = None) -> Any:
        """The valve from central as a polar diagram over the crank's turn.

        Parameters
        ----------
        notch, direction, ax
            As for :meth:`plot_openings`.
        """
        from linkmotion.views.polar import plot_polar

        return plot_polar(*self._at(notch, direction), self.unit, ax)

    def plot_valve_on_ports(self, displacement: float = 0.0, half_travel: float | None = None, ax: Any = None) -> Any:
        """The valve on its ports in section.

        Parameters
        ----------
        displacement : float
            From central, + forward, in the file's unit.
        half_travel : float, optional
            For which room is left to either side, in the file's unit; lap and port together unless given.
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.files.lengths import UNITS
        from linkmotion.views.valve_section import plot_valve_on_ports

        scale, half = float(UNITS[self.unit]), half_travel
        room = None if half is None else half * scale
        return plot_valve_on_ports(self.assessed.gear.valve, displacement * scale, room, self.unit, ax)

    def plot_valve_section(self, notch: str, crank_angle: float, direction: str | None = None, ax: Any = None) -> Any:
        """The valve on its ports in section, as it stands at a crank angle.

        Parameters
        ----------
        notch, direction, ax
            As for :meth:`plot_openings`.
        crank_angle : float
            From front dead centre in the direction of running, degrees.
        """
        from linkmotion.views.valve_section import plot_valve_section

        side, number, direction = self._at(notch, direction)
        return plot_valve_section(side, number, crank_angle, direction, self.unit, ax)

    def plot_gear(
        self,
        notch: str,
        crank_angle: float = 45.0,
        names: bool = True,
        ax: Any = None,
        *,
        around: Collection[str] = (),
        marked: Mapping[str, str] | None = None,
        ghost: NotchedSide | None = None,
        factor: float = 1.0,
    ) -> Any:
        """The gear from the side, to scale, with cylinder and valve in section.

        The axes are in the file's unit, the axle at their origin.

        Parameters
        ----------
        notch, ax
            As for :meth:`plot_openings`.
        crank_angle : float
            From front dead centre in forward running, degrees.
        names : bool
            Name the parts beside them.
        around : collection of str, optional
            Parts to which the picture is held (``("union link", "combination lever")``); the whole gear unless given.
        marked : dict, optional
            Parts drawn heavier, and what is said of each.
        ghost : Side or StudiedSide, optional
            Laid over it in broken lines: the same engine in another state, changed, or as estimated.
        factor : float
            By how much the ghost's difference is enlarged; the picture says it.

        Raises
        ------
        UnknownName
            No such part; the nearest is told.
        """
        from linkmotion.face.gear_picture import gear_picture

        return gear_picture(self, notch, crank_angle, names, ax, around, dict(marked or {}), ghost, factor)  # type: ignore[arg-type]

    def plot_dimensions(self, part: str = "", ax: Any = None) -> Any:
        """Where each dimension lies, by its letter: of the whole gear, or of a part; the valve stands central.

        Parameters
        ----------
        part : str
            Its table in the engine file, such as "expansion_link"; UnknownName tells the nearest.
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.face.names import known
        from linkmotion.gears.letters import part_letters
        from linkmotion.views.dimension_plot import plot_dimensions
        from linkmotion.views.measuring_parts import Drawing

        drawing = Drawing.of_side(self.assessed)
        marks = list(drawing.marks.values())
        if not part:
            return plot_dimensions(drawing.elevation, drawing.places, marks, ax, unit=self.unit)
        table = known("part", part, tuple(part_letters(type(self.assessed.gear))))
        own = [mark for mark in marks if mark.key[0] == table]
        bodies = {mark.body for mark in own}
        return plot_dimensions(drawing.elevation, drawing.places, own, ax, unit=self.unit, bodies=bodies)

    def plot_events(self, ax: Any = None) -> Any:
        """The four events of every notch.

        Parameters
        ----------
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.views.notch_plots import plot_events_by_notch

        return plot_events_by_notch(self.assessed, ax)

    def plot_leads(self, ax: Any = None) -> Any:
        """The leads of every notch.

        Parameters
        ----------
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.views.notch_rows import plot_leads

        return plot_leads(self.assessed, self.unit, ax=ax)

    def plot_die(self, ax: Any = None) -> Any:
        """Where the die moves in the slot, in every notch.

        Parameters
        ----------
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.views.die_plot import plot_die

        return plot_die(self.assessed, self.unit, ax)

    def plot_ellipses(self, ax: Any = None) -> Any:
        """The valve against the piston, in every notch.

        Parameters
        ----------
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.views.notch_plots import plot_ellipses

        return plot_ellipses(self.assessed, self.unit, ax)

    def _at(self, notch: str, direction: str | None) -> tuple[SideEvents, int, str]:
        own = self[notch] if direction is None else self[notch, direction]
        return self.assessed, own.number, own.direction
