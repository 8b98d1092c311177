"""A dimension swept over a range, and what follows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from linkmotion.face.dimensions import Change, in_file_unit, is_angle, key_of, spread_over
from linkmotion.face.names import known
from linkmotion.face.notch import FIGURES, kind_of_figure
from linkmotion.face.side import Side
from linkmotion.face.tables import Table, one_line, table
from linkmotion.gears.sensitivity import numbers
from linkmotion.sides import side_words


@dataclass(frozen=True, eq=False, repr=False)
class Sweep:
    """A side with one dimension at several figures.

    Attributes
    ----------
    side : Side
        With the dimension at its own figure.
    dimension : str
        By its key in an engine file.
    values : tuple of float
        Its figures, in the engine file's unit or in degrees.
    sides : tuple of Side
        The side at each.
    """

    side: Side
    dimension: str
    values: tuple[float, ...]
    sides: tuple[Side, ...]

    def of(self, notch: str, figure: str) -> list[float | None]:
        """A figure of a notch at every step.

        Parameters
        ----------
        notch, figure : str
            By name, such as ``sweep.of("full forward", "front.lead")``; in the direction in which the notch drives.

        Returns
        -------
        list
            In the engine file's unit, degrees or percent of the stroke; None where an event does not happen.

        Raises
        ------
        UnknownName
            No such notch or figure; the nearest is told.
        """
        known("figure", figure, FIGURES)
        direction = self.side[notch].direction
        return [side[notch, direction].figure(figure) for side in self.sides]

    def table(self, notch: str, *figures: str) -> Table:
        """Figures of a notch at every step, a row for each.

        Parameters
        ----------
        notch, *figures : str
            As :meth:`of` takes them.
        """
        columns = {figure: self.of(notch, figure) for figure in figures}
        columns[self.dimension] = list(self.values)
        rows = [{name: own[i] for name, own in columns.items()} for i in range(len(self.values))]
        units = {figure: self._unit_of(figure) for figure in figures}
        return table(f"{self.side.engine.name}: {notch}", {self.dimension: self._unit} | units, rows)

    def plot(self, notch: str, *figures: str, ax: Any = None) -> Any:
        """Draw figures of a notch against the dimension, whose own figure is marked.

        Parameters
        ----------
        notch, *figures : str
            As :meth:`of` takes them; figures of one unit.
        ax : matplotlib axes, optional
            New ones unless given.

        Returns
        -------
        matplotlib axes
        """
        from linkmotion.views.style import DASHES, FLAG, INK, axes_or_new

        ax = axes_or_new(ax)
        for figure in figures:
            line = DASHES.get(figure.partition(".")[0], "-")
            ax.plot(self.values, self.of(notch, figure), color=INK, ls=line, label=figure.replace(".", " "))
        ax.axvline(self._now, color=FLAG, lw=1.0)
        ax.set_xlabel(f"{self.dimension}, {self._unit}")
        ax.set_ylabel(f"{' and '.join(name.replace('.', ' ') for name in figures)}, {self._unit_of(figures[0])}")
        ax.set_title(f"{self.side.engine.name}, {self.side.state}, {side_words(self.side.name)}: {notch}")
        if len(figures) > 1:
            ax.legend()
        return ax

    @property
    def _unit(self) -> str:
        gear = self.side.setup.gear
        return "degrees" if is_angle(gear, key_of(gear, self.dimension)) else self.side.unit

    @cached_property
    def _now(self) -> float:
        return self.side.dimension(self.dimension)

    def _unit_of(self, figure: str) -> str:
        return {"percent": "% of stroke", "angle": "degrees", "length": self.side.unit}[kind_of_figure(figure)]

    def __repr__(self) -> str:
        """In one line."""
        first, last = (f"{value:.6g}" for value in (self.values[0], self.values[-1]))
        return one_line("Sweep", self.dimension, [f"{len(self.values)} steps from {first} to {last} {self._unit}"])


def sweep(side: Side, dimension: str, over: str | Sequence[Change], steps: int = 21) -> Sweep:
    """A side with one dimension swept over a range, its valve left where it is on its spindle.

    Sweep ``side.set_afresh()`` and it is set by its rule at every step.

    Parameters
    ----------
    side : Side
        Of an engine in a state.
    dimension : str
        By its key, such as ``"eccentric_rod.length"``.
    over : str or sequence
        How far either way (``"±1/8 in"``), or the departures from its figure, one by one.
    steps : int
        Figures taken over the range.

    Raises
    ------
    UnknownName
        No such dimension; the nearest is told.
    ValueError
        A range that cannot be read.

    Examples
    --------
    >>> import linkmotion as lm
    >>> left = lm.read_engine("examples/dock_shunter.toml")["drawing"].left
    >>> swept = lm.sweep(left, "eccentric_rod.length", "±1/8 in", steps=3)
    >>> [round(lead, 3) for lead in swept.of("full forward", "front.lead")]
    [0.169, 0.124, 0.079]
    """
    gear = side.setup.gear
    key = key_of(gear, dimension)
    now = numbers(gear)[key]
    figures = [
        float(in_file_unit(gear, key, now + by, side.unit)) for by in spread_over(gear, key, over, steps, side.unit)
    ]
    return Sweep(side, dimension, tuple(figures), tuple(side.change({dimension: value}) for value in figures))
