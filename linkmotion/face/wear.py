"""What is not as drawn on a side, ranked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from linkmotion.engine import DRAWING
from linkmotion.face.names import known
from linkmotion.face.side import Side
from linkmotion.face.tables import Table, one_line, table
from linkmotion.files.lengths import UNITS
from linkmotion.sides import side_words
from linkmotion.studies.which_wear import WhichWear, which_wear


@dataclass(frozen=True, eq=False, repr=False)
class Wear:
    """Items that are not as drawn, in order of what they do to the valve events.

    Attributes
    ----------
    side : Side
        Whose.
    found : WhichWear
        As weighed; mm and percent of stroke.
    """

    side: Side
    found: WhichWear

    @property
    def first(self) -> str | None:
        """What matters most, in words; None where nothing is amiss."""
        return self.found.items[0].name if self.found.items else None

    def changes(self, item: str) -> dict[str, float]:
        """What an item does alone: figure to greatest change, in the engine file's unit or percent of the stroke.

        Parameters
        ----------
        item : str
            By its name in the table.

        Raises
        ------
        UnknownName
            No such item.
        """
        from linkmotion.views.wear_view import is_length

        items = {own.name: own for own in self.found.items}
        scale = float(UNITS[self.side.unit])
        found = items[known("item", item, items)].changes
        return {name: size / (scale if is_length(name) else 1.0) for name, (size, _notch) in found.items()}

    def sentences(self) -> list[str]:
        """What each item does, in plain words, what matters most first."""
        from linkmotion.views.tables import Shown
        from linkmotion.views.wear_view import sentence

        return [sentence(item, self.found, Shown(self.side.unit)) for item in self.found.items]

    def table(self) -> Table:
        """Items: weight (greatest change as a multiple of the target it offends), gain of renewing, lost motion."""
        scale = float(UNITS[self.side.unit])
        rows = [
            {
                "item": each.name,
                "weight": each.weight,
                "gain": each.gain,
                "worst": each.worst,
                "lost": each.lost / scale,
            }
            for each in self.found.items
        ]
        headings = {"item": "", "weight": "× target", "gain": "× target", "worst": "", "lost": self.side.unit}
        return table(f"{self.side.engine.name}, {self.side.state}, {side_words(self.side.name)}: wear", headings, rows)

    def rows(self) -> list[dict[str, Any]]:
        """The items, a dict each."""
        return self.table().rows()

    def to_frame(self) -> Any:
        """The items as a pandas DataFrame."""
        return self.table().to_frame()

    def plot(self, ax: Any = None) -> Any:
        """Weight of every item alone, and what renewing it would gain.

        Parameters
        ----------
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.views.wear_plots import plot_which_wear

        return plot_which_wear(self.found, ax)

    def __repr__(self) -> str:
        """In one line."""
        return one_line("Wear", self.side.name, [f"{len(self.found.items)} items, first: {self.first or 'none'}"])

    def _repr_html_(self) -> str:
        return self.table()._repr_html_()


def wear_of(side: Side) -> Wear:
    """Weigh what is not as drawn on a side of a state.

    Parameters
    ----------
    side : Side
        As its file has it.

    Raises
    ------
    ValueError
        The drawing itself, or a side that was changed in Python.
    """
    if side.changes:
        raise ValueError("wear is weighed of a state as its file has it, not of a side that was changed")
    if side.state == DRAWING:
        raise ValueError("nothing of the drawing departs from the drawing: choose a state")
    return Wear(side, which_wear(side.engine, side.state, side.name))
