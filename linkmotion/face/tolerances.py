"""Tolerances turned into the spread of the events of gears made to them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS
from linkmotion.face.names import known
from linkmotion.face.side import Side
from linkmotion.face.tables import Table, one_line, table
from linkmotion.files.adjustments_table import adjustments_of_file
from linkmotion.files.lengths import UNITS
from linkmotion.files.results import in_unit
from linkmotion.files.tolerances_read import read_tolerances
from linkmotion.studies.figures.figure import MM, TRAVEL, Figure, end_figure
from linkmotion.studies.tolerances.after_setting import AfterSetting
from linkmotion.studies.tolerances.held import hold
from linkmotion.studies.tolerances.limits import Kept
from linkmotion.studies.tolerances.rows import spread_rows
from linkmotion.studies.tolerances.spread import Sampled, Spread, toleranced_side

FIGURES = ("travel", *(f"{end}.{kind}" for end in ("front", "back") for kind in ("lead", *EVENTS, "opening")))


@dataclass(frozen=True, eq=False, repr=False)
class Held:
    """Gears made at random to their tolerances, and their events.

    Attributes
    ----------
    side : Side
        At its figures.
    sampled : Sampled
        Every gear's figures, mm and percent of stroke.
    linear : Spread
        The same by derivatives.
    kept : Kept
        How many keep the targets as made.
    after : AfterSetting or None
        The gears once set by the file's [adjustments], if it has any for this side.
    """

    side: Side
    sampled: Sampled
    linear: Spread
    kept: Kept
    after: AfterSetting | None = None

    @property
    def share(self) -> float:
        """Of engines that keep every target as made, 0 to 1."""
        return self.kept.share

    @property
    def share_after_setting(self) -> float | None:
        """Of engines that keep every target once set, 0 to 1; None where there is nothing to set this side by."""
        return self.after.kept.share if self.after else None

    @property
    def set_at_erection(self) -> tuple[str, ...]:
        """Dimensions whose tolerances setting takes up, as "table.key"."""
        return tuple(".".join(key) for key in self.after.set_at_erection) if self.after else ()

    def values(
        self, notch: str, figure: str, direction: str | None = None, *, after_setting: bool = False
    ) -> NDArray[np.float64]:
        """A figure of every gear made, shape (samples,), in the engine file's unit or percent of the stroke.

        For quantities of one's own: ``held.values("mid", "front.lead") - held.values("mid", "back.lead")``.

        Raises
        ------
        ValueError
            After setting, where there is nothing to set this side by.
        """
        wanted = self._figure(notch, known("figure", figure, FIGURES), direction)
        if after_setting and self.after is None:
            raise ValueError(
                f"{self.side.name}: nothing to set it by; give the engine file [adjustments] for this side"
            )
        gears = self.after.sampled if after_setting and self.after else self.sampled
        column = gears.values[:, gears.figures.index(wanted)]
        return np.asarray(column / float(UNITS[self.side.unit]) if wanted.unit == MM else column)

    def _figure(self, notch: str, name: str, direction: str | None) -> Figure:
        known("notch", notch, dict.fromkeys(each.notch for each in self.sampled.figures))
        if name == "travel":
            return Figure(kind=TRAVEL, notch=notch)
        end, kind = name.split(".")
        looked_at = dict.fromkeys(each.direction for each in self.sampled.figures if each.notch == notch and each.end)
        way = next(iter(looked_at)) if direction is None else known("direction", direction, looked_at)
        return end_figure(kind, notch, way, end)

    def table(self) -> Table:
        """One row for a figure: as drawn, mean, standard deviation, limits that hold 95 %, what governs it.

        Where the side can be set, the same after setting.
        """
        found = in_unit(spread_rows(self.sampled, self.linear, self.after), self.side.unit)
        rows = [row | {"figure": f"{row['end']} {row['what']}".strip()} for row in found]
        names = ["notch", "direction", "figure", "unit", "drawn", "mean", "std", "low", "high", "governs", "share"]
        if self.after:
            names += [f"{name}_after_setting" for name in ("mean", "std", "low", "high")]
        return table(f"{self.side.engine.name}, {self.side.state}: tolerances", dict.fromkeys(names, ""), rows)

    def rows(self) -> list[dict[str, Any]]:
        """The figures, a dict each."""
        return self.table().rows()

    def to_frame(self) -> Any:
        """The figures as a pandas DataFrame."""
        return self.table().to_frame()

    def plot(self, notch: str | None = None, figure: str = "front.lead", ax: Any = None) -> Any:
        """Histogram of a figure with its linear estimate.

        Parameters
        ----------
        notch, figure : str
            As for :meth:`values`; the first notch unless given.
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.views.tolerance_plots import plot_spread

        first = next(each.notch for each in self.sampled.figures)
        wanted = self._figure(notch or first, known("figure", figure, FIGURES), None)
        return plot_spread(self.sampled, wanted, self.linear, ax=ax)

    def __repr__(self) -> str:
        """In one line."""
        told = [f"{len(self.sampled.values)} gears", f"{100 * self.share:.1f} % keep every target"]
        if self.after:
            told.append(f"{100 * self.after.kept.share:.1f} % after setting")
        return one_line("Held", self.side.name, told)

    def _repr_html_(self) -> str:
        return self.table()._repr_html_()


def held(
    side: Side, notches: tuple[str, ...], samples: int, seed: int, tables: Mapping[str, Any] | None, setting: bool
) -> Held:
    """Make gears to their tolerances; see :meth:`Side.hold`."""
    names = [known("notch", name, side.notches) for name in notches] or list(side.notches)
    own, engine = toleranced_side(side.setup, names), side.engine
    tolerances = read_tolerances(engine, own, tables=tables)
    given = adjustments_of_file(engine, engine.name, own.gear, own.settings[0]) if setting else ()
    found = hold(side.setup, own, tolerances, engine.targets, given, names, samples=samples, seed=seed, search=False)
    return Held(side, found.sampled, found.linear, found.kept, found.after)
